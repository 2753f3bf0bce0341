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

// A changingPart is a drawn part for one player that says in words what he
// plays, as part-books do.
type changingPart struct {
	bars    []string
	strokes []string // "bar.twelfths instrument marks"
	said    []change
}

// A change is the bar in which words begin to hold, the words, and for what.
type change struct {
	bar      int
	words    string
	playedOn string
}

// drawChanging knows what is played by its own list of words, and where
// everything is by its own arithmetic, in twelfths of a quarter.
func drawChanging(t *rapid.T) *changingPart {
	d := &changingPart{}
	rarely := func(name string) bool { return rapid.IntRange(0, 6).Draw(t, name) == 0 }
	names := map[string]string{"Tri.": "triangle", "Triangle": "triangle", "to W.B.": "woodblock", "take Cowbell": "cowbell", "muta in Tamb.": "tambourine", "S.D.": "snare-drum", "change to Glock.": "glockenspiel", "play Castanets": "castanets", "to Vibraslap": "vibraslap"}
	words := make([]string, 0, len(names))
	for w := range names {
		words = append(words, w)
	}
	slices.Sort(words)
	now, pending := "snare-drum", ""
	var before []string // what was struck in the bar before
	for bar := 1; bar <= rapid.IntRange(2, 7).Draw(t, "bars"); bar++ {
		var b strings.Builder
		if bar > 1 && rarely("bar repeat") {
			b.WriteString(`<attributes><measure-style><measure-repeat type="start">1</measure-repeat></measure-style></attributes><forward><duration>48</duration></forward><attributes><measure-style><measure-repeat type="stop"/></measure-style></attributes>`)
			for _, s := range before {
				d.strokes = append(d.strokes, fmt.Sprintf("%d.%s", bar, s))
			}
			d.bars = append(d.bars, b.String())
			continue
		}
		before = nil
		for slot := range 4 {
			if rarely("words") {
				w := rapid.SampledFrom(words).Draw(t, "which")
				b.WriteString(said("<words>" + w + "</words>"))
				if names[w] != now {
					now, pending = names[w], w
				}
			}
			if rapid.IntRange(0, 2).Draw(t, "rest") == 0 {
				b.WriteString(rst(12))
				continue
			}
			if pending != "" { // what is changed to and not struck before the next change is no change
				d.said = append(d.said, change{bar, pending, now})
				pending = ""
			}
			marks, more := "", ""
			if rarely("open") {
				marks, more = `"o"`, "<notations><technical><open/></technical></notations>"
			}
			grace := ""
			if rarely("grace") {
				grace = `<note><grace/><unpitched/></note>`
			}
			b.WriteString(grace)
			if rarely("tremolo") {
				more += "<notations><ornaments><tremolo>1</tremolo></ornaments></notations>"
				before = append(before, fmt.Sprintf("%d& %s %s", slot+1, now, marks))
			}
			fmt.Fprintf(&b, `<note><unpitched/><duration>12</duration>%s</note>`, more)
			before = append(before, fmt.Sprintf("%d %s %s", slot+1, now, marks))
		}
		for _, s := range before {
			d.strokes = append(d.strokes, fmt.Sprintf("%d.%s", bar, s))
		}
		d.bars = append(d.bars, b.String())
	}
	return d
}

// A part that says in words what is played from there on comes in with each
// stroke on what it is for, and with each change in the list and in the text.
func TestWordsForInstrumentsAreAccountedFor(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		d := drawChanging(t)
		if len(d.strokes) == 0 {
			return // there is no part in it then
		}
		data := measures(d.bars...)
		data = strings.Replace(data, `<score-instrument id="T"><instrument-name>Triangle</instrument-name></score-instrument>`, "", 1)
		text, lost, err := Text(data, Options{})
		if err != nil {
			t.Fatal(err)
		}
		s := score.Bind("x.handful", syntax.Parse(text), nil, score.Options{})
		if len(s.Problems) > 0 {
			t.Fatalf("%v\n%s", s.Problems, text)
		}
		var got []string
		for _, l := range s.Parts[0].Lines {
			for _, st := range l.Strokes {
				bar, count := s.Grid.Place(st.At)
				marks := ""
				for _, w := range l.Words {
					if w.At == st.At && w.Text == "o" {
						marks += `"o"`
					}
				}
				got = append(got, fmt.Sprintf("%d.%s %s %s", bar, count, l.Inst.ID, marks))
			}
		}
		slices.Sort(got)
		slices.Sort(d.strokes)
		if !slices.Equal(got, d.strokes) {
			t.Fatalf("played %v\nwritten %v\n%v\n%s\n%s", got, d.strokes, lost, text, data)
		}
		for _, w := range d.said {
			name := "taken for the " + strings.ReplaceAll(w.playedOn, "-", " ")
			if !slices.ContainsFunc(lost, func(l Loss) bool {
				return strings.Contains(strings.ToLower(l.What), name) && (l.Bar == w.bar || l.More > 0 && l.Bar < w.bar)
			}) {
				t.Fatalf("bar %d: the words %q are not in the list\n%v\n%s\n%s", w.bar, w.words, lost, text, data)
			}
			if !strings.Contains(text, `"`+w.words+`"`) {
				t.Fatalf("the words %q are not in the text\n%s", w.words, text)
			}
		}
	})
}
