package check

import (
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

var noSuchNote = &Rule{
	Name:       "no-such-note",
	Severities: []Severity{Error, Warning},
	Finds:      "a note or a drum that the instrument does not have",
	Means: `A stroke says which bar or drum it is for, as in 1:C5, 2:high or 2:3, and the instrument has none such: the note is
outside its range, the set has fewer drums or none of that name, or it has no notes at all. Up to an octave beyond the range it is a
warning, since some instruments are built larger; beyond that nobody has one.`,
	Why: `A player reads a note and finds no bar there. It is most often a slip of the octave, or a part that was written as it
sounds.`,
	Stands: `The ranges and sets in the catalogue (handful instruments NAME shows them), as written and not as they sound; common
practice, builders differ. An instrument block of your own with its range says what you have.`,
	Trips: `tempo 96
player Ida
  R glockenspiel | 1:C5 2:C9
`,
	Passes: `tempo 96
player Ida
  R glockenspiel | 1:C5 2:C6
`,
	Look: func(c *Context) {
		wrong := map[*score.Struck]bool{} // where it is written, so that whoever plays it need not be told as well
		for _, part := range c.Score.Parts {
			for _, l := range part.Lines {
				c.noSuchNotes(l.Inst, l.Strokes, l.Struck, nil, wrong)
			}
		}
		for _, p := range c.Score.Players {
			for _, cue := range p.Cues {
				c.noSuchNotes(cue.Item.Inst, cue.Strokes, cue.Struck, cue, wrong)
			}
		}
	},
}

// noSuchNotes looks through what the strokes of a line or a cue strike.
func (c *Context) noSuchNotes(in *kit.Instrument, strokes []score.Stroke, struck []*score.Struck, cue *score.Cue, wrong map[*score.Struck]bool) {
	if len(struck) == 0 {
		return
	}
	var order []string
	found := map[string]*noteFound{}
	seen := map[*score.Struck]bool{} // that lack something, which similes share
	for i, s := range struck {
		if !lacks(in, s) || seen[s] || cue != nil && cue.AsWritten && wrong[s] {
			continue
		}
		seen[s] = true
		wrong[s] = true
		for _, k := range s.Keys {
			severity, why := lacksKey(in, k)
			if why == "" {
				continue
			}
			name := k.String()
			f := found[name]
			if f == nil {
				f = &noteFound{Report: c.at(&strokes[i], k, cue), severity: severity, why: why, key: k}
				if cue != nil && cue.AsWritten {
					f.Report = f.On(cue.Name)
				}
				found[name] = f
				order = append(order, name)
			}
			f.places = append(f.places, k.Where(&strokes[i]))
		}
	}
	for _, name := range order {
		found[name].tell(in, cue != nil && cue.AsWritten)
	}
}

// lacks says whether an instrument lacks some of what is struck.
func lacks(in *kit.Instrument, s *score.Struck) bool {
	if s == nil {
		return false
	}
	for i := range s.Keys {
		k := &s.Keys[i]
		if has := !k.Pitch.None() && in.Pitched() && in.Reaches(k.Pitch); has {
			continue
		}
		if _, why := lacksKey(in, *k); why != "" {
			return true
		}
	}
	return false
}

// A noteFound is a note that is not there, and everywhere it stands.
type noteFound struct {
	Report
	severity Severity
	why      string
	key      score.Key
	places   []score.Where
}

// tell reports it, with a kettle more that reaches it, and with the notes that may
// have been meant unless it stands elsewhere, in a part.
func (f *noteFound) tell(in *kit.Instrument, elsewhere bool) {
	got := f.through(len(f.places)-1, 0).Says(f.severity, "%s", f.why)
	if len(in.Kettles) > 0 && !f.key.Pitch.None() {
		got.orKettle(in, f.key.Pitch)
	}
	if elsewhere || got.Where.File != 0 {
		return
	}
	for _, other := range nearKeys(in, f.key) {
		var edits []Edit
		for _, w := range f.places {
			edits = append(edits, replace(w, other))
		}
		got.Or("write "+other, edits...)
	}
}

// at begins a report at a bar or a drum that a stroke of a part or a cue names.
func (c *Context) at(st *score.Stroke, k score.Key, cue *score.Cue) Report {
	r := c.In(k.Where(st)).When(st.At)
	if cue != nil {
		r = r.Of(cue.Player).With(cue.Limb.Name())
	}
	return r
}

// lacksKey says why an instrument has no such bar or drum, or "".
func lacksKey(in *kit.Instrument, k score.Key) (Severity, string) {
	switch {
	case k.Pitch.None():
		if why := in.LacksMember(k.Name, k.N); why != "" {
			return Error, why
		}
		return 0, ""
	case !in.Pitched():
		return Error, fmt.Sprintf("the %s has no notes of its own, and no %s", in.Name(), k.Pitch)
	case in.Reaches(k.Pitch):
		return 0, ""
	case in.Range.Has(k.Pitch):
		return Error, fmt.Sprintf("no kettle of the %s reaches %s: they are %s", in.Name(), k.Pitch, kettlesOf(in))
	}
	beyond := max(in.Range.Low.Semitone()-k.Pitch.Semitone(), k.Pitch.Semitone()-in.Range.High.Semitone())
	severity, rare := Error, ""
	if beyond <= 12 && !in.Own {
		severity, rare = Warning, "; some are built larger"
	}
	what := "the instrument's range"
	if len(in.Kettles) > 0 {
		what = "what any kettle reaches"
	}
	return severity, fmt.Sprintf("%s is out of %s: as written, the notes of the %s go from %s%s", k.Pitch, what, in.Name(), in.Range, rare)
}

// kettlesOf says what each kettle of a set reaches.
func kettlesOf(in *kit.Instrument) string {
	var out []string
	for i, k := range in.Kettles {
		out = append(out, fmt.Sprintf("%d, %s to %s", i+1, k.Low, k.High))
	}
	return strings.Join(out, "; ")
}

// nearKeys are what may have been meant by a bar or drum that is not there: the
// note as it would be written if it stands as it sounds, and that of the nearest
// octave that has it; or the names of the set.
func nearKeys(in *kit.Instrument, k score.Key) []string {
	switch {
	case k.Pitch.None() && k.Name != "":
		near := kit.Meant(k.Name, in.MemberNames)
		if len(near) == 0 {
			near = slices.Clone(in.MemberNames)
		}
		return near
	case k.Pitch.None() || !in.Pitched():
		return nil
	}
	var out []string
	if p := k.Pitch.Octaves(-in.Octaves); in.Octaves > 0 && in.Reaches(p) { // written as it sounds
		out = append(out, p.String())
	}
	for n := 1; n <= 10; n++ {
		for _, up := range [2]int{n, -n} {
			if p := k.Pitch.Octaves(up); in.Reaches(p) {
				return appendNew(out, p.String())
			}
		}
	}
	return out
}
