package check

import (
	"fmt"
	"slices"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

var noteTwice = &Rule{
	Name:       "note-twice",
	Severities: []Severity{Error},
	Finds:      "a chord that has one bar or one drum twice",
	Means: `Two notes of a chord are the same bar, under one name or under two, as F#4 and Gb4 are, or the same drum by its name and
by its number. One of them is most likely meant to be another.`,
	Why:    `Each note of a chord is a stroke that somebody has to play, with a mallet of its own.`,
	Stands: `Nothing but the chord itself.`,
	Trips: `tempo 96
player Ida
  R+L xylophone | 1:F#4+Gb4
`,
	Passes: `tempo 96
player Ida
  R+L xylophone | 1:F#4+G4
`,
	Look: func(c *Context) {
		seen := map[*score.Struck]bool{} // as a part has it, so has whoever plays it
		for _, part := range c.Score.Parts {
			for _, l := range part.Lines {
				c.notesTwice(l.Inst, l.Strokes, l.Struck, nil, seen)
			}
		}
		for _, p := range c.Score.Players {
			for _, cue := range p.Cues {
				if !cue.AsWritten {
					c.notesTwice(cue.Item.Inst, cue.Strokes, cue.Struck, cue, seen)
				}
			}
		}
	},
}

func (c *Context) notesTwice(in *kit.Instrument, strokes []score.Stroke, struck []*score.Struck, cue *score.Cue, seen map[*score.Struck]bool) {
	for i, s := range struck {
		if s == nil || len(s.Keys) < 2 || seen[s] {
			continue
		}
		seen[s] = true
		for n, k := range s.Keys {
			first := slices.IndexFunc(s.Keys[:n], func(o score.Key) bool { return k.Pitch.None() == o.Pitch.None() && k.Same(o, in) })
			if first >= 0 {
				c.noteTwice(in, c.at(&strokes[i], k, cue), s.Keys[first], k)
			}
		}
	}
}

// noteTwice reports a note of a chord that is another one of it.
func (c *Context) noteTwice(in *kit.Instrument, r Report, o, k score.Key) {
	said := fmt.Sprintf("%s stands twice in this chord", k)
	if k.String() != o.String() {
		said = fmt.Sprintf("%s and %s are one and the same of the %s", o, k, in.Name())
	}
	got := r.Error("%s", said)
	if got.Where.File == 0 {
		out := got.Where // with the plus before it
		out.Start--
		got.Or("strike it once", replace(out, ""))
	}
}
