package exchange

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// ensemble is a drawn piece for several players, each with a hand for each of
// what they play, with all that stands at bars and strokes.
func ensemble(t *rapid.T) string {
	rarely := func(name string) bool { return rapid.IntRange(0, 6).Draw(t, name) == 0 }
	bars := rapid.IntRange(1, 5).Draw(t, "bars")
	var b strings.Builder
	b.WriteString("title \"Round & <about>\"\nmeter 4/4\ntempo 66\n")
	pickup := rarely("pickup")
	if pickup {
		b.WriteString("pickup 2\n")
	}
	fmt.Fprintf(&b, "bars %d\n", bars)
	if bars > 2 && rarely("meter") {
		b.WriteString("meter 5/4 from 2\nmeter 4/4 from 3\n")
	}
	if rarely("printed") {
		fmt.Fprintf(&b, "printed \"%s\" at %d\n", rapid.SampledFrom([]string{"101", "12a", ""}).Draw(t, "number"), rapid.IntRange(1, bars).Draw(t, "bar"))
	}
	if rarely("mark") {
		fmt.Fprintf(&b, "mark B at %d\n", rapid.IntRange(1, bars).Draw(t, "bar"))
	}
	if rarely("tempo") {
		fmt.Fprintf(&b, "tempo 90 from %d\n", rapid.IntRange(1, bars).Draw(t, "bar"))
	}
	for range rapid.IntRange(0, 2).Draw(t, "pauses") {
		fmt.Fprintf(&b, "%s %d.%d\n", rapid.SampledFrom([]string{"hold", "break"}).Draw(t, "pause"), rapid.IntRange(1, bars).Draw(t, "bar"), rapid.IntRange(1, 4).Draw(t, "count"))
	}
	type line struct {
		text string
		aims []string
		ways []string // how strokes are made
	}
	all := [][]line{
		{{"R snare-drum with snare-stick", []string{""}, []string{"", ">", ""}}, {"L triangle clipped with triangle-beater", []string{""}, []string{"", "x", ">", "."}}},
		{{"R xylophone with rubber-mallet", []string{":C5", ":F#5", ":Bb4"}, []string{"", ">"}}, {"L glockenspiel with plastic-mallet", []string{":G4", ":C6"}, []string{"", ">"}}},
		{{"L timpani with timpani-mallet", []string{":F2", ":Bb2"}, []string{"", "~", ">"}}},
		{{"R suspended-cymbal with yarn-mallet", []string{""}, []string{"", "~", "x"}}, {"RF bass-drum-pedal", []string{""}, []string{"", ">"}}},
	}
	words := 0
	for i, lines := range all {
		if i > 0 && rapid.Bool().Draw(t, "absent") {
			continue
		}
		fmt.Fprintf(&b, "player P%d\n", i)
		if pickup {
			b.WriteString("  from 0\n")
		}
		for _, l := range lines {
			b.WriteString("  " + l.text)
			from := 1
			if pickup {
				from = 0
			}
			dyn, struck := "", false
			for bar := from; bar <= bars; bar++ {
				b.WriteString(" |")
				any := false
				places := []string{"1", "1&", "2", "2t", "3", "3e", "4", "4a"}
				if bar == 0 {
					places = []string{"3", "3&", "4"}
				}
				busy := 0 // how many places a roll goes over
				for k, at := range places {
					if busy > 0 {
						busy--
						continue
					}
					if rapid.IntRange(0, 2).Draw(t, "stroke") > 0 {
						continue
					}
					how := rapid.SampledFrom(l.ways).Draw(t, "how")
					if how == "x" && !struck {
						how = ""
					}
					struck = true
					any = true
					if how == "x" {
						b.WriteString(" " + at + how)
						continue
					}
					if rarely("words") {
						words++
						fmt.Fprintf(&b, " \"say &%d\"", words)
					}
					if rarely("mark") {
						b.WriteString(" " + rapid.SampledFrom(strokeMarks).Draw(t, "which"))
					}
					if d := rapid.SampledFrom([]string{dyn, dyn, dyn, "p", "mf", "ff"}).Draw(t, "dynamic"); d != dyn {
						dyn = d
						b.WriteString(" " + d)
					}
					if rarely("hairpin") {
						b.WriteString(rapid.SampledFrom([]string{" cresc", " dim"}).Draw(t, "which"))
					}
					aim := rapid.SampledFrom(l.aims).Draw(t, "aim")
					if how == "~" && k+2 < len(places) {
						how, busy = "~"+places[k+2], 1
					} else if how == "~" {
						how = ""
					}
					fmt.Fprintf(&b, " %s%s%s", at, how, aim)
				}
				if !any {
					b.WriteString(" -")
				}
			}
			b.WriteString("\n")
		}
	}
	return b.String()
}

// strokeMarks are words at strokes that a note has signs for.
var strokeMarks = []string{`"o"`, `"+"`, `"( )"`, `"diamond head"`, `"mute"`, `"foot"`}

var countSign = regexp.MustCompile(`^'*([0-9]+[tlea&]?)`)

// governs is the count that words stand before in a text in which they are once.
func governs(text, words string) string {
	_, behind, _ := strings.Cut(text, strconv.Quote(words))
	for _, sign := range strings.Fields(behind) {
		if m := countSign.FindStringSubmatch(sign); m != nil && sign != m[1]+`"` {
			return m[1]
		}
	}
	return ""
}

var (
	printedWords = regexp.MustCompile(`"[^"]*"`)
	manyBars     = regexp.MustCompile(`^[-%x]([0-9]+)$`) // that a simile or rest goes over, or how often bars come
)

// hairpins are those of a text in order: whose, on what, in which of its line's
// bars and before which count. Lines here have a bar behind each stroke, but
// for similes, which say nothing of their own.
func hairpins(text string) (out []string) {
	who, base := "", 1
	marks := map[string]int{}
	for line := range strings.Lines(text) {
		words := strings.Fields(line)
		switch {
		case len(words) == 0:
		case words[0] == "player" || words[0] == "part":
			who, base = strings.Trim(words[1], `"`), 1
		case words[0] == "mark":
			marks[words[1]], _ = strconv.Atoi(words[3])
		case words[0] == "from":
			base = marks[words[1]]
			if n, err := strconv.Atoi(words[1]); err == nil {
				base = n
			}
		}
		line = printedWords.ReplaceAllString(line, "")
		head, bars, ok := strings.Cut(line, "|")
		if !ok {
			continue
		}
		of := strings.Fields(head)[0]
		if slices.Contains([]string{"R", "L", "RF"}, of) {
			of = strings.Fields(head)[1]
		}
		bar := base
		for _, b := range strings.Split(bars, "|") {
			signs := strings.Fields(b)
			for i, sign := range signs {
				if sign == "cresc" || sign == "dim" {
					next := countSign.FindString(strings.Join(signs[i+1:i+2], ""))
					out = append(out, fmt.Sprintf("%s %s %s in %d before %s", who, of, sign, bar, next))
				}
			}
			bar++
			if m := manyBars.FindStringSubmatch(signs[len(signs)-1]); m != nil {
				n, _ := strconv.Atoi(m[1])
				bar += n - 1
			}
		}
	}
	slices.Sort(out)
	return out
}

// said is what words are compared by: those at strokes of one thing by where they
// stand, the others by the count that they stand before.
func said(who, id string, w score.Word, text string) string {
	if slices.Contains(strokeMarks, strconv.Quote(w.Text)) {
		return fmt.Sprintf("%s %s marked %q at %s", who, id, w.Text, w.At)
	}
	return fmt.Sprintf("%s words %q in %d before %s", who, w.Text, w.Bar, governs(text, w.Text))
}

// everything is all that is compared, in the same words for what players play
// and for what parts have: strokes with player, note, hand and loudness, words,
// hairpins, pauses, marks, tempo and the numbers of bars.
func everything(s *score.Score, text string) (out []string) {
	one := func(who, id string, st *score.Stroke, keys, hand string) {
		if st.Has(score.Stop) {
			out = append(out, fmt.Sprintf("%s %s %s stop", who, id, st.At))
			return
		}
		out = append(out, fmt.Sprintf("%s %s %s hand=%s short=%t", who, soundWords(id, st), keys, hand, st.Has(score.Short)))
	}
	for _, p := range s.Players {
		for _, c := range p.Cues {
			hand := ""
			if c.Limb.IsHand() {
				hand = c.Limb.String()
			}
			for i := range c.Strokes {
				one(p.Name, c.Item.Inst.ID, &c.Strokes[i], keysOf(c.StruckAt(i)), hand)
			}
			for _, w := range c.Words {
				out = append(out, said(p.Name, c.Item.Inst.ID, w, text))
			}
		}
	}
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			for i := range l.Strokes {
				hand := ""
				if h := l.Strokes[i].Hand; h != 0 {
					hand = string(h)
				}
				one(p.Name, l.Inst.ID, &l.Strokes[i], keysOf(l.StruckAt(i)), hand)
			}
			for _, w := range l.Words {
				out = append(out, said(p.Name, l.Inst.ID, w, text))
			}
		}
	}
	for bar := s.Grid.First(); bar <= s.Grid.Last(); bar++ {
		out = append(out, fmt.Sprintf("bar %d is %q, %s, begins %.3f", bar, s.Printed(bar), s.Grid.Length(bar), s.Tempo.Between(s.Grid.Start(s.Grid.First()), s.Grid.Start(bar+1))))
	}
	for _, m := range s.Marks {
		out = append(out, fmt.Sprintf("mark %s at %d", m.Name, m.Bar))
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// A piece for several players that goes out and comes in again is the same in
// strokes, notes, hands, dynamics, words, marks, tempo and the numbers of bars;
// its pauses are there, or told.
func TestAnEnsembleComesBack(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		text := ensemble(t)
		was := check.Check("was.handful", syntax.Parse(text), check.Options{})
		if len(was.Score.Problems) > 0 {
			t.Fatalf("%v\n%s", was.Score.Problems, text)
		}
		for _, p := range was.Score.Players {
			if !slices.ContainsFunc(p.Cues, func(c *score.Cue) bool { return len(c.Strokes) > 0 }) {
				return // a player with nothing to play is no part for percussion to a reader
			}
		}
		data, told, err := MusicXML(was, MusicXMLOptions{})
		if err != nil {
			t.Fatal(err)
		}
		back, lost, err := written.Text(data, written.Options{})
		if err != nil || len(lost) > 0 {
			t.Fatalf("%v %v\n%s\n%s", err, lost, text, data)
		}
		is := score.Bind("is.handful", syntax.Parse(back), nil, score.Options{})
		if len(is.Problems) > 0 {
			t.Fatalf("%v\n%s", is.Problems, back)
		}
		a, b := everything(was.Score, text), everything(is, back)
		if diff := unlike(a, b); len(diff) > 0 {
			t.Fatalf("%s\n%s\n%s\n%s", strings.Join(diff, "\n"), text, back, data)
		}
		if a, b := hairpins(text), hairpins(back); !slices.Equal(a, b) {
			t.Fatalf("hairpins: %v, and back come %v\n%s\n%s\n%s", a, b, text, back, data)
		}
		for _, h := range was.Score.Pauses {
			bar, count := was.Score.Grid.Place(h.At)
			there := slices.ContainsFunc(is.Pauses, func(o score.Pause) bool { return o.At == h.At && o.Break == h.Break })
			if !there && !strings.Contains(fmt.Sprint(told), fmt.Sprintf("at bar %d%s, count %s", bar, was.Score.InPrint(bar), count)) {
				t.Fatalf("the pause at %d.%s is nowhere: %v\n%s\n%s", bar, count, told, text, back)
			}
		}
	})
}

// unlike are the lines that one list has and the other has not.
func unlike(a, b []string) (diff []string) {
	for _, x := range a {
		if !slices.Contains(b, x) {
			diff = append(diff, "- "+x)
		}
	}
	for _, x := range b {
		if !slices.Contains(a, x) {
			diff = append(diff, "+ "+x)
		}
	}
	return diff
}
