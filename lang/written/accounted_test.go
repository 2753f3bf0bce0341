package written

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A drawn score, with what it must leave in the text or in the list.
type drawnScore struct {
	bars    []string
	strokes []string // "bar.sixteenth instrument", in the notation's numbers; a chord of two instruments is two
	tokens  []string // words that nobody else writes
	dyns    []string
	signs   []string
}

// drawScore composes bars of 4/4 from everything that a part may have. It counts
// with its own arithmetic, in twelfths of a quarter.
func drawScore(t *rapid.T) *drawnScore {
	d := &drawnScore{}
	token := func(kind string) string {
		d.tokens = append(d.tokens, fmt.Sprintf("%s%dq", kind, len(d.tokens)))
		return d.tokens[len(d.tokens)-1]
	}
	rarely := func(name string) bool { return rapid.IntRange(0, 7).Draw(t, name) == 0 }
	bars := rapid.IntRange(1, 5).Draw(t, "bars")
	for bar := 1; bar <= bars; bar++ {
		var b strings.Builder
		if rarely("mark") {
			b.WriteString(said("<rehearsal>" + token("Mark") + "</rehearsal>"))
		}
		for slot := 0; slot < 4; slot++ {
			if rarely("words") {
				b.WriteString(words(token("word")))
			}
			if rarely("pictogram") {
				b.WriteString(said("<percussion><beater>" + token("beater") + "</beater></percussion>"))
			}
			if rarely("dynamic") {
				dyn := rapid.SampledFrom([]string{"ppp", "p", "mf", "ff", "sfz", "fp", "n", "sfffz"}).Draw(t, "which")
				b.WriteString(said("<dynamics><" + dyn + "/></dynamics>"))
				d.dyns = append(d.dyns, dyn)
			}
			if rarely("hairpin") {
				kind := rapid.SampledFrom([]string{"crescendo", "diminuendo"}).Draw(t, "which")
				b.WriteString(said(`<wedge type="` + kind + `"/>`))
				d.dyns = append(d.dyns, map[string]string{"crescendo": "cresc", "diminuendo": "dim"}[kind])
			}
			if rarely("sign") {
				kind := rapid.SampledFrom([]string{"pedal", "octave-shift", "scordatura"}).Draw(t, "which")
				b.WriteString(said("<" + kind + ` type="start"/>`))
				d.signs = append(d.signs, kind)
			}
			inst := rapid.SampledFrom([]string{"S", "T", ""}).Draw(t, "instrument")
			if inst == "" {
				b.WriteString(rst(12))
				continue
			}
			var more []string
			if rarely("grace") {
				fmt.Fprintf(&b, `<note><grace/><unpitched/><instrument id="%s"/></note>`, inst)
			}
			if rarely("lyric") {
				more = append(more, "<lyric><text>"+token("sung")+"</text></lyric>")
				d.signs, d.tokens = append(d.signs, "lyrics"), d.tokens[:len(d.tokens)-1]
			}
			if rarely("head") {
				h := rapid.SampledFrom([][2]string{{"diamond", `"diamond head"`}, {"x", `"x head"`}, {"slash", "noteheads that are slashes"}, {"other", "noteheads of the form other"}}).Draw(t, "which")
				more = append(more, "<notehead>"+h[0]+"</notehead>")
				d.tokens = append(d.tokens, h[1])
			}
			if rarely("articulation") {
				a := rapid.SampledFrom([]string{"tenuto", "doit", "breath-mark", "stress"}).Draw(t, "which")
				more = append(more, "<notations><articulations><"+a+"/></articulations></notations>")
				d.signs = append(d.signs, a)
			}
			if rarely("finger") {
				more = append(more, "<notations><technical><fingering>4</fingering></technical></notations>")
				d.signs = append(d.signs, "fingering 4")
			}
			if rarely("tremolo") {
				more = append(more, tremolo3)
			}
			stroke := func(quarter int, inst string) {
				d.strokes = append(d.strokes, fmt.Sprintf("%d.%d %s", bar, quarter+1, map[string]string{"S": "snare-drum", "T": "triangle"}[inst]))
			}
			b.WriteString(n(inst, 12, more...))
			stroke(slot, inst)
			if rarely("chord") {
				other := map[string]string{"S": "T", "T": "S"}[inst]
				fmt.Fprintf(&b, `<note><chord/><unpitched/><duration>12</duration><instrument id="%s"/></note>`, other)
				stroke(slot, other)
			}
		}
		d.bars = append(d.bars, b.String())
	}
	return d
}

// Nothing of a written part is both absent from the text and from the list:
// every stroke is played where it stood, and every word, dynamic and sign is in
// the one or in the other.
func TestEverythingIsAccountedFor(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		d := drawScore(t)
		text, lost, err := Text([]byte(measures(d.bars...)), Options{})
		if len(d.strokes) == 0 {
			return // there is no part in it then
		}
		if err != nil {
			t.Fatal(err)
		}
		var list strings.Builder
		for _, l := range lost {
			fmt.Fprintln(&list, l)
		}
		var body strings.Builder // the text without the list that stands in it
		for line := range strings.Lines(text) {
			if !strings.HasPrefix(line, "#") {
				body.WriteString(line)
			}
		}
		both := body.String() + list.String()
		for _, w := range d.tokens {
			if !strings.Contains(both, w) {
				t.Fatalf("%s is nowhere\n%s", w, both)
			}
		}
		for _, s := range d.signs {
			if !strings.Contains(list.String(), s) {
				t.Fatalf("%s is not listed\n%s", s, both)
			}
		}
		for _, dyn := range d.dyns {
			if !slices.Contains(strings.Fields(strings.NewReplacer(",", " ", ":", " ", "\"", " ").Replace(both)), dyn) {
				t.Fatalf("the dynamic %s is nowhere\n%s", dyn, both)
			}
		}
		s := score.Bind("x.handful", syntax.Parse(text), nil, score.Options{})
		if len(s.Problems) > 0 {
			t.Fatalf("%v\n%s", s.Problems, text)
		}
		var got []string
		for _, p := range s.Parts {
			for _, l := range p.Lines {
				for _, st := range l.Strokes {
					bar, count := s.Grid.Place(st.At)
					got = append(got, fmt.Sprintf("%d.%s %s", bar, count, l.Inst.ID))
				}
			}
		}
		slices.Sort(got)
		slices.Sort(d.strokes)
		if !slices.Equal(got, d.strokes) {
			t.Fatalf("played %v\nwritten %v\n%s", got, d.strokes, text)
		}
	})
}
