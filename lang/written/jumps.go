package written

import (
	"slices"
	"strconv"
	"strings"

	"handful/lang/beat"
)

// jumps are the signs that say in which order bars are played, with what else
// has to wait until the bars are known.
type jumps struct {
	repeats  []beat.Repeat
	endings  []beat.Ending
	open     []int // forward repeats that no backward one has met
	segno    *int
	coda     *int
	toCoda   *int
	fine     *int
	back     *int // the bar after which it goes back
	toSegno  bool // … to the segno, not to the beginning
	tempos   []tempoAt
	marks    []Mark
	holds    []place
	ends     []int // bars with a fermata on their bar line
	endStart int
	endNums  []int
}

// mark notes the bar of a sign; the first part's signs are everybody's.
func (j *jumps) mark(sign **int, bar int, taken bool) {
	if *sign == nil && !taken {
		*sign = &bar
	}
}

func (j *jumps) repeat(bar int, direction string, times int, taken bool) {
	if taken {
		return
	}
	switch direction {
	case "forward":
		j.open = append(j.open, bar)
	case "backward":
		from := 0
		if n := len(j.repeats); n > 0 {
			from = j.repeats[n-1].To + 1
		}
		if n := len(j.open); n > 0 {
			from, j.open = j.open[n-1], j.open[:n-1]
		}
		// A second ending belongs to the repeat before it.
		if n := len(j.repeats); n > 0 && len(j.endNums) > 0 && from > j.repeats[n-1].To && slices.Max(j.endNums) > 1 && j.endStart == j.repeats[n-1].To+1 {
			j.repeats[n-1].To, j.repeats[n-1].Times = bar, max(j.repeats[n-1].Times, slices.Max(j.endNums)+1)
			return
		}
		if from <= bar && len(j.repeats) < 2000 {
			j.repeats = append(j.repeats, beat.Repeat{From: from, To: bar, Times: max(2, min(times, 99))})
		}
	}
}

func (j *jumps) ending(bar int, kind, numbers string, taken bool) {
	if taken {
		return
	}
	switch kind {
	case "start":
		j.endStart, j.endNums = bar, nil
		for _, f := range strings.FieldsFunc(numbers, func(r rune) bool { return r < '0' || r > '9' }) {
			if n, err := strconv.Atoi(f); err == nil && n > 0 && n < 100 && len(j.endNums) < 20 {
				j.endNums = append(j.endNums, n)
			}
		}
		if j.endNums == nil {
			j.endNums = []int{1}
		}
	case "stop", "discontinue":
		if j.endNums != nil && bar >= j.endStart && len(j.endings) < 2000 {
			j.endings = append(j.endings, beat.Ending{Numbers: j.endNums, From: j.endStart, To: bar})
		}
		j.endNums = nil
	}
}

// road gives the work its order: signs for repeats, and where the music goes
// back to the beginning or a sign, the whole way spelled out. first is the
// number of the file's first bar.
func (j *jumps) road(w *Work, first int) {
	for i := range j.repeats {
		j.repeats[i].From += first
		j.repeats[i].To += first
	}
	for i := range j.endings {
		j.endings[i].From += first
		j.endings[i].To += first
	}
	w.Repeats, w.Endings = j.repeats, j.endings
	if j.back == nil {
		return
	}
	bar := func(p *int, none int) int {
		if p == nil {
			return none
		}
		return *p + first
	}
	back := bar(j.back, w.Last)
	var before []beat.Repeat
	for _, r := range w.Repeats {
		if r.To <= back {
			before = append(before, r)
		}
	}
	var ends []beat.Ending
	for _, e := range w.Endings {
		if e.To <= back {
			ends = append(ends, e)
		}
	}
	var legs []beat.Leg
	road, _ := beat.Unroll(first, back, before, ends, nil, nil, beat.MaxPlayedBars)
	for _, s := range road.Spans {
		legs = append(legs, beat.Leg{From: s.From, To: s.To})
	}
	again := first
	if j.toSegno {
		again = bar(j.segno, first)
	}
	// The second time repeats are not taken, and last endings are.
	second := func(from, to int) {
		for from <= to {
			stop := to
			next := to + 1
			for _, e := range w.Endings {
				if e.From >= from && e.From <= stop && !lastEnding(w.Endings, e) {
					stop, next = e.From-1, e.To+1
				}
			}
			if from <= stop {
				legs = append(legs, beat.Leg{From: from, To: stop})
			}
			from = next
		}
	}
	switch {
	case j.toCoda != nil && j.coda != nil:
		second(again, bar(j.toCoda, w.Last))
		second(bar(j.coda, w.Last), w.Last)
	case j.fine != nil:
		second(again, bar(j.fine, w.Last))
	default:
		second(again, back)
		if back < w.Last {
			second(back+1, w.Last)
		}
	}
	if len(legs) > 0 && len(legs) <= 500 {
		w.Order, w.Repeats, w.Endings = legs, nil, nil
		return
	}
	w.lose(Loss{Bar: back, What: "the way back to the beginning or the sign: there are more legs than an order has"})
}

// lastEnding says whether no other ending follows upon one.
func lastEnding(all []beat.Ending, e beat.Ending) bool {
	return !slices.ContainsFunc(all, func(o beat.Ending) bool { return o.From == e.To+1 })
}
