package check

import "fmt"

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
		for _, d := range c.Score.Coverage.Doubled {
			if d.Also.AsWritten && d.By.AsWritten && d.By.Player == d.Also.Player && d.By.Limb == d.Also.Limb {
				continue // the hand is booked twice: hand-overlap says so
			}
			first, last := &d.Line.Strokes[d.First], &d.Line.Strokes[d.Last]
			where := fmt.Sprintf("in bar %d", first.Bar)
			if first.Bar != last.Bar {
				where = fmt.Sprintf("in bars %d to %d", first.Bar, last.Bar)
			}
			f := Finding{Severity: Warning, Where: d.Also.Where, Player: d.Also.Player.Name, Limb: d.Also.Limb.Name(),
				Message: fmt.Sprintf("%s and %s both play the %s of %s %s", d.By.Player.Name, d.Also.Player.Name, d.Line.Inst.Name(), d.Line.Part.Name, where)}
			if d.By.Player == d.Also.Player {
				f.Message = fmt.Sprintf("%s plays the %s of %s twice %s", d.By.Player.Name, d.Line.Inst.Name(), d.Line.Part.Name, where)
			}
			f.place(c.Score, first.At)
			f.Related = append(f.Related, note(d.By.Where, "it is already played here"))
			got := c.report(f)
			got.propose("take this cue out", true, c.removeCue(d.Also)...)
			c.proposeAccept(got)
		}
	},
}
