package exchange

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/internal/outside"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// loudness is a step of loudness, an accent one more, as a key is struck.
func loudness(st *score.Stroke) int {
	dyn := st.Dyn
	if dyn == 0 {
		dyn = kit.MF
	}
	if st.Has(score.Accent) {
		dyn++
	}
	return int(dyn)
}

// heldByMIDI is what a MIDI file has a place for: what is struck when, on which
// note, by which limb of whom, how hard, and what is rolled; marks, and when
// bars begin. A roll and what is struck on the same note where it ends are one
// run of strokes there.
func heldByMIDI(s *score.Score, hairpins bool) (out []string) {
	rolled := map[string]string{} // where the last roll ends, by what it is on
	one := func(who, id string, st *score.Stroke, keys string) {
		id = strings.TrimSuffix(id, "-pedal") // which is a key there, whatever strikes it
		what := who + id + keys
		on := rolled[what] == st.At.String()
		if delete(rolled, what); st.Has(score.Roll) {
			rolled[what] = st.End.String()
		}
		if st.Has(score.Stop) || on {
			return
		}
		loud := ""
		if !hairpins {
			loud = fmt.Sprint(loudness(st))
		}
		out = append(out, fmt.Sprintf("%s %s %s roll=%t %s %s", who, id, st.At, st.Has(score.Roll), keys, loud))
	}
	for _, p := range s.Players {
		for _, c := range p.Cues {
			for i := range c.Strokes {
				one(p.Name+", "+c.Limb.Name(), c.Item.Inst.ID, &c.Strokes[i], keysOf(c.StruckAt(i)))
			}
		}
	}
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			for i := range l.Strokes {
				one(p.Name, l.Inst.ID, &l.Strokes[i], keysOf(l.StruckAt(i)))
			}
		}
	}
	for bar := s.Grid.First(); bar <= s.Grid.Last(); bar++ {
		out = append(out, fmt.Sprintf("bar %d, %s, begins %.2f", bar, s.Grid.Length(bar), s.Tempo.Between(s.Grid.Start(s.Grid.First()), s.Grid.Start(bar+1))))
	}
	for _, m := range s.Marks {
		out = append(out, fmt.Sprintf("mark %s at %d", m.Name, m.Bar))
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// A piece for several players that goes out as MIDI and comes in again is the
// same in what such a file can hold; what it cannot is words, stops and signs.
func TestAnEnsembleComesBackFromMIDI(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		text := ensemble(t)
		was, back, lost := throughMIDI(t, text)
		if was == nil {
			return // nothing to hear
		}
		if strings.Contains(fmt.Sprint(lost), "read as a pickup") && !strings.Contains(text, "pickup") {
			return // a first bar that is shorter than the second is taken for one, and that is said
		}
		is := score.Bind("is.handful", syntax.Parse(back), nil, score.Options{})
		if len(is.Problems) > 0 {
			t.Fatalf("%v\n%s", is.Problems, back)
		}
		hairpins := strings.Contains(text, " cresc ") || strings.Contains(text, " dim ")
		a, b := heldByMIDI(was.Score, hairpins), heldByMIDI(is, hairpins)
		if diff := unlike(a, b); len(diff) > 0 {
			t.Fatalf("%s\n%v\n%s\n%s", strings.Join(diff, "\n"), lost, text, back)
		}
	})
}

// A roll is a run of strokes there, and ends at the count where its next one
// would be, or where a stroke of the same run ends it, however coarse the other
// counts of that bar are.
func TestARollInMIDIEndsWhereItEnds(t *testing.T) {
	for bars, want := range map[string]string{
		"1&~2t 2t~3e 3e~4a 4a | 1~2": "1&~4a | 1~2",
		"1~3e | -":                   "1~3e",
		"1~2t | 4":                   "1~2t | 4",
		"1~2l 2l | 3":                "1~2l | 3",
		"1~3 3 | -":                  "1~3",
		"3~ | 2":                     "3~ | 2",
	} {
		_, back, _ := throughMIDI(t, "meter 4/4\ntempo 66\nbars 2\nplayer P\n  R suspended-cymbal with yarn-mallet | "+bars+"\n")
		assert.Contains(t, back, "suspended-cymbal | mf "+want+"\n", bars)
	}
}

// What is heard of such pieces, by Debian's python3-mido, is every stroke that
// is not a roll, at its time, and nothing where nothing is struck or rolled.
func TestAnEnsembleIsHeardByAnother(t *testing.T) {
	draw := rapid.Custom(ensemble)
	for seed := range 12 {
		text := draw.Example(seed)
		r := check.Check("x.handful", syntax.Parse(text), check.Options{})
		data, _, err := MIDI(r, MIDIOptions{})
		if err != nil {
			t.Fatal(err)
		}
		heard := outside.Mido(t, data, false)
		near := func(at float64) bool {
			return slices.ContainsFunc(heard, func(h outside.Heard) bool { return h.T > at-0.002 && h.T < at+0.002 })
		}
		for _, at := range ours(r) {
			if !near(at) {
				t.Errorf("nothing is heard at %.3f s\n%s", at, text)
			}
		}
		for _, h := range heard {
			there := false
			for _, m := range r.Motions {
				for i := range m.Events {
					e := &m.Events[i]
					there = there || e.Cue != nil && !e.Kind.Stops() && h.T > e.T0-0.002 && h.T < max(e.T0, e.T1)+0.002
				}
			}
			if !there {
				t.Errorf("something is heard at %.3f s\n%s", h.T, text)
			}
		}
	}
}

// throughMIDI takes a piece out as MIDI and in again; was is nil where it has
// nothing to hear.
func throughMIDI(t rapid.TB, text string) (was *check.Result, back string, lost []written.Loss) {
	was = check.Check("was.handful", syntax.Parse(text), check.Options{})
	if len(was.Score.Problems) > 0 {
		t.Fatalf("%v\n%s", was.Score.Problems, text)
	}
	if !slices.ContainsFunc(was.Score.Players, func(p *score.Player) bool {
		return slices.ContainsFunc(p.Cues, func(c *score.Cue) bool { return len(c.Strokes) > 0 })
	}) {
		return nil, "", nil
	}
	data, _, err := MIDI(was, MIDIOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if back, lost, err = written.Text(data, written.Options{}); err != nil {
		t.Fatalf("%v %v\n%s", err, lost, text)
	}
	return was, back, lost
}
