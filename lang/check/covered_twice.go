package check

import (
	"fmt"

	"example.org/handful/lang/score"
)

var coveredTwice = &Rule{
	Name:       "covered-twice",
	Severities: []Severity{Warning},
	Finds:      "two cues on the same written stroke",
	Means:      `One written line is played by two cues at once: both players took it, or one player wrote it down twice.`,
	Why:        `It is louder than it was written, and a hand is busy that could have been free.`,
	Stands:     `The parts of the file, stroke by stroke.`,
	Trips: `tempo 96
part "Percussion"
  woodblock | 1 2 3 4 | %
player Ida
  R woodblock as written
player Per
  R woodblock as written
`,
	Passes: `tempo 96
part "Percussion"
  woodblock | 1 2 3 4 | %
player Ida
  R woodblock as written on 1 2
player Per
  R woodblock as written on 3 4
`,
	check: func(c *Context) {
		type pair struct{ by, also *score.Cue }
		last := map[pair]*Finding{}
		var order []pair
		for _, d := range c.Score.Coverage.Doubled {
			if d.Also.AsWritten && d.By.AsWritten && d.By.Player == d.Also.Player && d.By.Limb == d.Also.Limb {
				continue // the hand is booked twice: hand-overlap says so
			}
			first, end := &d.Line.Strokes[d.First], &d.Line.Strokes[d.Last]
			k := pair{d.By, d.Also}
			f := last[k]
			if f == nil {
				f = &Finding{Severity: Warning, Where: d.Also.Where, Player: d.Also.Player.Name, Limb: d.Also.Limb.Name(),
					Message: fmt.Sprintf("%s and %s both play the %s of %s", d.By.Player.Name, d.Also.Player.Name, d.Line.Inst.Name(), d.Line.Part.Name)}
				if d.By.Player == d.Also.Player {
					f.Message = fmt.Sprintf("%s plays the %s of %s twice", d.By.Player.Name, d.Line.Inst.Name(), d.Line.Part.Name)
				}
				f.place(c.Score, first.At)
				f.Related = append(f.Related, note(d.By.Where, "it is already played here"))
				last[k] = f
				order = append(order, k)
			}
			f.LastBar = max(f.LastBar, int(end.Bar))
		}
		for _, k := range order {
			f := last[k]
			if f.LastBar > f.Bar {
				f.Message += fmt.Sprintf(", from bar %d to bar %d", f.Bar, f.LastBar)
				f.Times = 1
			} else {
				f.Message += fmt.Sprintf(" in bar %d", f.Bar)
			}
			got := c.report(*f)
			got.propose("take this cue out", true, c.removeCue(k.also)...)
			c.proposeAccept(got)
		}
	},
}
