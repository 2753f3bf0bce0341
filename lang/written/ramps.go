package written

import (
	"math"

	"example.org/handful/lang/beat"
)

// leastSteps is how many tempos in a row, each as much above or below the one
// before, are read as one that changes little by little.
const leastSteps = 4

// foldRamps puts tempos that climb or fall in even steps over whole bars
// together into one that changes evenly. A file can only say such a change
// step by step; the even one has every step's tempo in its middle, so that
// bars last as long as before.
func (w *Work) foldRamps() {
	grid := w.grid()
	var out []Tempo
	for i := 0; i < len(w.Tempos); {
		if n := w.steps(grid, i); n >= leastSteps {
			t := w.Tempos[i : i+n]
			d := (t[n-1].From - t[0].From) / float64(n-1)
			ramp := t[0]
			ramp.From, ramp.To = roundTempo(t[0].From-d/2), roundTempo(t[n-1].From+d/2)
			ramp.Over = t[1].At.Sub(t[0].At).MulInt(int64(n))
			out = append(out, ramp)
			i += n
			continue
		}
		out = append(out, w.Tempos[i])
		i++
	}
	w.Tempos = out
}

// steps is how many tempos from one on make an even change that begins and
// ends at a bar line, where the next tempo or the end is; 0 if they make none.
func (w *Work) steps(grid *beat.Grid, i int) int {
	t := w.Tempos[i:]
	if len(t) < leastSteps || t[0].Over.Sign() > 0 || !onBarLine(grid, t[0].At) {
		return 0
	}
	step, d := t[1].At.Sub(t[0].At), t[1].From-t[0].From
	if step.Sign() <= 0 || math.Abs(d) < 0.02 {
		return 0
	}
	n := 1
	for n < len(t) && t[n].At.Sub(t[n-1].At) == step && t[n].Unit == t[0].Unit && t[n].Over.IsZero() &&
		math.Abs(t[n].From-t[n-1].From-d) <= 0.05*math.Abs(d)+0.02 {
		n++
	}
	for ; n >= leastSteps; n-- { // the last one may be the tempo that is reached
		end := t[n-1].At.Add(step)
		reached := n < len(t) && t[n].At == end || n == len(t) && !end.Less(grid.Start(w.Last+1))
		if reached && onBarLine(grid, end) {
			return n
		}
	}
	return 0
}

func onBarLine(grid *beat.Grid, at beat.Rat) bool {
	bar, _ := grid.Place(at)
	return grid.Start(bar) == at
}

// roundTempo takes away what is only arithmetic.
func roundTempo(v float64) float64 {
	if whole := math.Round(v); math.Abs(v-whole) < 0.15 {
		return whole
	}
	return math.Round(v*10) / 10
}
