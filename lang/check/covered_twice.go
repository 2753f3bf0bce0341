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
	Look: func(c *Context) {
		type pair struct{ by, also *score.Cue }
		type overlap struct {
			score.Doubled
			lastBar int
		}
		found := map[pair]*overlap{}
		var order []*overlap
		for _, d := range c.Score.Coverage.Doubled {
			if d.Also.AsWritten && d.By.AsWritten && d.By.Player == d.Also.Player && d.By.Limb == d.Also.Limb {
				continue // the hand is booked twice: hand-overlap says so
			}
			o := found[pair{d.By, d.Also}]
			if o == nil {
				o = &overlap{Doubled: d}
				found[pair{d.By, d.Also}], order = o, append(order, o)
			}
			o.lastBar = max(o.lastBar, int(d.Line.Strokes[d.Last].Bar))
		}
		for _, o := range order {
			first, line := &o.Line.Strokes[o.First], o.Line
			who, twice := o.By.Player.Name+" and "+o.Also.Player.Name+" both play", ""
			if o.By.Player == o.Also.Player {
				who, twice = o.By.Player.Name+" plays", " twice"
			}
			r, where := c.AtCue(o.Also).When(first.At), fmt.Sprintf(" in bar %d%s", first.Bar, c.Score.InPrint(int(first.Bar)))
			r.f.LastBar = o.lastBar
			if o.lastBar > int(first.Bar) {
				r.f.Times, where = 1, fmt.Sprintf(", from bar %d to bar %d%s", first.Bar, o.lastBar, c.Score.StretchInPrint(int(first.Bar), o.lastBar))
			}
			r.Warning("%s the %s of %s%s%s", who, line.Inst.Name(), line.Part.Name, twice, where).
				Also(o.By.Where, "it is already played here").Or("take this cue out", c.removeCue(o.Also)...).OrAccept()
		}
	},
}
