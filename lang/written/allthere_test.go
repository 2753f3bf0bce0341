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

// A thing that a drawn score has: the bar that it stands in, as the notation
// counts bars, and how it reads where it is in the text and where it is listed.
type writtenThing struct {
	bar    int
	inText string // "" where the text can never have it
	inList string
}

// A fullScore is a drawn score in two parts, with what must come of it.
type fullScore struct {
	parts   [2][]string // bars of each
	strokes []string    // "part bar.twelfths instrument"
	things  []writtenThing
	words   int
}

// A hit is a stroke in its bar: after how many quarters, and what with which hand.
type hit struct {
	slot int
	what string // … and how it is marked
}

// An openEnd is the end of a hairpin at which no dynamic stands yet, and how
// much has been struck since.
type openEnd struct{ bar, struck int }

// rareness is how seldom a sign is drawn.
const rareness = 9

// drawFull composes two parts from everything that may stand in them. It knows
// where everything is by its own arithmetic, in twelfths of a quarter.
func drawFull(t *rapid.T) *fullScore {
	d := &fullScore{}
	rarely := func(name string) bool { return rapid.IntRange(0, rareness).Draw(t, name) == 0 }
	bars := rapid.IntRange(2, 5).Draw(t, "bars")
	lengths := make([]int, bars) // in quarters
	for i := range lengths {
		lengths[i] = 4
		if rarely("odd bar") {
			lengths[i] = rapid.SampledFrom([]int{1, 2, 3, 5, 6}).Draw(t, "length")
		}
	}
	first := 1
	if lengths[0] < 4 {
		first = 0
	}
	jumps := map[string]int{} // the bar of a sign that is for all, where it stands first
	type way struct {
		kind string
		bar  int
	}
	var ways []way // back to the beginning or a sign
	for part := range d.parts {
		instruments := []string{"S", "T"}
		changed := false
		stops := ""      // the end of a repeat sign, at the beginning of the next bar
		var before []hit // what was struck in the bar before, for a sign that repeats it
		var ends []openEnd
		struckNow := func(n int) {
			for k := range ends {
				ends[k].struck += n
			}
		}
		signed := func() { // where a dynamic may stand, what a hairpin goes on to is known
			for _, e := range ends {
				if e.struck > 1 {
					d.things = append(d.things, writtenThing{e.bar, "", "the end of a hairpin"})
				}
			}
			ends = nil
		}
		for i := range bars {
			var b strings.Builder
			b.WriteString(stops)
			stops = ""
			bar := first + i
			add := func(inText, inList string) { d.things = append(d.things, writtenThing{bar, inText, inList}) }
			word := func(kind string) string {
				d.words++
				return fmt.Sprintf("%s%dq", kind, d.words)
			}
			if !changed && rarely("instrument change") && i > 0 {
				changed = true
				b.WriteString(`<sound><instrument-change id="T"><instrument-sound>wood.wood-block</instrument-sound></instrument-change></sound>`)
			}
			names := map[string]string{"S": "snare-drum", "T": "triangle"}
			if changed {
				names["T"] = "woodblock"
			}
			if i > 0 && lengths[i] == lengths[i-1] && rarely("bar repeat") {
				b.WriteString(`<attributes><measure-style><measure-repeat type="start">1</measure-repeat></measure-style></attributes>`)
				fmt.Fprintf(&b, `<forward><duration>%d</duration></forward>`, 12*lengths[i])
				const stop = `<attributes><measure-style><measure-repeat type="stop"/></measure-style></attributes>`
				if stops = ""; rapid.Bool().Draw(t, "ends in the next bar") {
					stops = stop
				} else {
					b.WriteString(stop)
				}
				for _, s := range before {
					half, what := "", s.what
					for _, sign := range []string{"&", "+7/8"} {
						if rest, ok := strings.CutPrefix(what, sign+" "); ok {
							half, what = sign, rest
						}
					}
					d.strokes = append(d.strokes, fmt.Sprintf("%d %d.%d%s %s", part, bar, s.slot+1, half, what))
				}
				struckNow(len(before))
				d.parts[part] = append(d.parts[part], b.String())
				continue // before stays as it is
			}
			before = nil
			if rarely("fermata on the bar line") {
				b.WriteString(`<barline location="right"><fermata/></barline>`)
				add("", "a fermata on the bar line")
			}
			if part == 1 && rarely("a repeat") {
				b.WriteString(`<barline location="left"><repeat direction="forward"/></barline>`)
				add("", "a repeat that the first part does not have")
			}
			if rarely("many bars of rest") {
				b.WriteString(`<attributes><measure-style><multiple-rest>1</multiple-rest></measure-style></attributes>`)
				w := word("tacet")
				fmt.Fprintf(&b, `%s<note><rest measure="yes"/><duration>%d</duration></note>`, words(w), 12*lengths[i])
				add(w, w)
				d.parts[part] = append(d.parts[part], b.String())
				continue
			}
			if lengths[i] == 4 && rarely("beat repeat") {
				b.WriteString(words("L") + n("S", 12) + `<attributes><measure-style><beat-repeat type="start" slashes="1"/></measure-style></attributes><forward><duration>36</duration></forward>`)
				for slot := range 4 {
					before = append(before, hit{slot, "snare-drum L"})
					d.strokes = append(d.strokes, fmt.Sprintf("%d %d.%d snare-drum L", part, bar, slot+1))
				}
				struckNow(len(before))
				d.parts[part] = append(d.parts[part], b.String())
				continue
			}
			under := "" // what is still rolled on here
			for slot := range lengths[i] {
				endsBefore := len(ends)
				count := slot + 1
				if bar == 0 {
					count += 4 - lengths[0]
				}
				place := fmt.Sprintf("%d.%d", bar, count)
				if rarely("words") {
					w := word("word")
					b.WriteString(words(w))
					add(w, w)
				}
				sticking := ""
				if rarely("sticking") {
					sticking = rapid.SampledFrom([]string{"R", "L"}).Draw(t, "hand")
					b.WriteString(words(sticking))
				}
				if rarely("end of a hairpin") {
					b.WriteString(said(`<wedge type="stop"/>`))
					ends = append(ends, openEnd{bar: bar})
				}
				if rarely("dynamic") {
					signed()
					dyn := rapid.SampledFrom([]string{"ppp", "ff", "sfz", "n", "sfffz"}).Draw(t, "which")
					b.WriteString(said("<dynamics><" + dyn + "/></dynamics>"))
					add(" "+dyn+" ", dyn)
				}
				if rarely("spelt dynamic") {
					signed()
					w := word("sub")
					b.WriteString(said("<dynamics><other-dynamics>" + w + "</other-dynamics></dynamics>"))
					add("", w)
				}
				if rarely("hairpin") {
					signed()
					b.WriteString(said(`<wedge type="crescendo"/>`))
					add(" cresc ", "cresc")
				}
				if rarely("sign") {
					kind := rapid.SampledFrom([]string{"pedal", "octave-shift", "scordatura"}).Draw(t, "which")
					b.WriteString(said("<" + kind + ` type="start"/>`))
					add("", kind)
				}
				damped := rarely("damp before everything") && part == 0 && i == 0 && slot == 0
				if damped {
					b.WriteString(words("damp"))
				}
				if rarely("jump") {
					kind := rapid.SampledFrom([]string{"Fine", "D.C.", "D.S."}).Draw(t, "which")
					b.WriteString(words(kind))
					if kind != "Fine" && len(ways) > 0 && ways[0] != (way{kind, bar}) {
						add("", "a second way back")
					}
					if at, ok := jumps["Fine"]; ok && kind == "Fine" && at != bar {
						add("", "a second Fine")
					}
					if kind != "Fine" {
						ways = append(ways, way{kind, bar})
					} else if _, ok := jumps[kind]; !ok {
						jumps[kind] = bar
					}
				}
				if rarely("coda") {
					b.WriteString(said("<coda/>"))
					// As the sign, or as where one goes to it, which may be the bar before.
					d.things = append(d.things, writtenThing{-1, "\norder ", "oda"})
				}
				hold := ""
				if rarely("fermata") {
					hold = "<notations><fermata/></notations>"
					add("hold "+place+"\n", "a fermata")
				}
				if rarely("caesura") && slot < lengths[i]-1 {
					hold += "<notations><articulations><caesura/></articulations></notations>"
					add(fmt.Sprintf("break %d.%d\n", bar, count+1), "a caesura")
				}
				inst := under
				if inst == "" {
					inst = rapid.SampledFrom(append(instruments, "")).Draw(t, "instrument")
				}
				if inst == "" {
					more := []string{hold}
					if damped {
						add("", `"damp" where nothing has been struck yet`)
					}
					if sticking != "" {
						add("", `the sticking "`+sticking+`" where no note stands`)
					}
					if rarely("lyric") {
						more = append(more, "<lyric><text>"+word("sung")+"</text></lyric>")
						add("", "lyrics")
					}
					if rarely("dynamic at a rest") {
						signed()
						more = append(more, "<notations><dynamics><ffff/></dynamics></notations>")
						add(" ffff ", "ffff")
					}
					if rarely("mark") {
						more = append(more, "<notations><technical><open/></technical></notations>")
						add("", "the mark o at a rest")
					}
					if rarely("finger") {
						more = append(more, "<notations><technical><fingering>4</fingering></technical></notations>")
						add("", "fingering 4")
					}
					fmt.Fprintf(&b, "<note><rest/><duration>12</duration>%s</note>", strings.Join(more, ""))
					continue
				}
				more := []string{hold}
				if rarely("grace") {
					sign := ""
					if rarely("sign of a grace note") {
						sign = "<notations><articulations><tenuto/></articulations></notations>"
						add("", "tenuto")
					}
					fmt.Fprintf(&b, `<note><grace/><unpitched/><instrument id="%s"/>%s</note>`, inst, sign)
				}
				if slot > 0 && rarely("grace on another") {
					other := map[string]string{"S": "T", "T": "S"}[inst]
					fmt.Fprintf(&b, `<note><grace/><unpitched/><instrument id="%s"/></note>`, other)
					add("", fmt.Sprintf("a grace stroke on the %s before a note on the %s", names[other], names[inst]))
					before = append(before, hit{slot - 1, "+7/8 " + names[other] + " "})
					d.strokes = append(d.strokes, fmt.Sprintf("%d %d.%d+7/8 %s ", part, bar, count-1, names[other]))
					for k := range ends[:min(endsBefore, len(ends))] {
						ends[k].struck++ // it is struck before what ends here ends
					}
				}
				if rarely("lyric") {
					more = append(more, "<lyric><text>"+word("sung")+"</text></lyric>")
					add("", "lyrics")
				}
				marks := ""
				if rarely("head") {
					more = append(more, "<notehead>diamond</notehead>")
					marks += `"diamond head"`
				}
				if rarely("ghost") && marks == "" {
					more = append(more, `<notehead parentheses="yes">normal</notehead>`)
					marks += `"( )"`
				}
				if rarely("open or stopped") {
					m := rapid.SampledFrom([][2]string{{"open", `"o"`}, {"stopped", `"+"`}}).Draw(t, "which")
					more = append(more, "<notations><technical><"+m[0]+"/></technical></notations>")
					marks = m[1] + marks
				}
				if rarely("articulation") {
					a := rapid.SampledFrom([]string{"doit", "breath-mark", "stress"}).Draw(t, "which")
					more = append(more, "<notations><articulations><"+a+"/></articulations></notations>")
					add("", a)
				}
				if rarely("fingering") {
					h := rapid.SampledFrom([]string{"R", "L"}).Draw(t, "hand")
					more = append(more, "<notations><technical><fingering>"+h+"</fingering></technical></notations>")
					if sticking != "" && sticking != h {
						add("", `the sticking "`+sticking+`" at a note that has the other hand already`)
					}
					sticking = h
				}
				if under != "" {
					add("", "a roll on the "+names[inst]+" that goes on under another stroke")
					under = ""
				}
				if rarely("bare tie") {
					more = append(more, `<tie type="stop"/>`)
					add("", "a tie that begins nowhere")
				}
				struckNow(1)
				choked := ""
				if damped && inst == "T" {
					choked = "." // what rings, and stands where the word does
				} else if damped {
					add("", `"damp" where nothing has been struck yet`)
				}
				before = append(before, hit{slot, names[inst] + " " + sticking + marks + choked})
				d.strokes = append(d.strokes, fmt.Sprintf("%d %s %s %s%s%s", part, place, names[inst], sticking, marks, choked))
				if choked == "" && slot < lengths[i]-1 && !strings.Contains(strings.Join(more, ""), "<tie") && hold == "" && rarely("roll that is cut") {
					under = inst
					b.WriteString(n(inst, 24, append(more, tremolo3)...) + "<backup><duration>12</duration></backup>")
					continue
				}
				if !strings.Contains(strings.Join(more, ""), "<tie") && rarely("measured tremolo") {
					more = append(more, "<notations><ornaments><tremolo>1</tremolo></ornaments></notations>")
					struckNow(1)
					before = append(before, hit{slot, "& " + names[inst] + " " + sticking + marks})
					d.strokes = append(d.strokes, fmt.Sprintf("%d %s& %s %s%s", part, place, names[inst], sticking, marks))
				}
				b.WriteString(n(inst, 12, more...))
			}
			d.parts[part] = append(d.parts[part], b.String())
		}
		signed()
	}
	if at, ok := jumps["Fine"]; ok && len(ways) == 0 {
		d.things = append(d.things, writtenThing{at, "", "a Fine to which nothing goes back"})
	}
	if len(ways) > 0 {
		d.things = append(d.things, writtenThing{-1, "\norder ", "an order"})
		if ways[0].kind == "D.S." {
			d.things = append(d.things, writtenThing{ways[0].bar, "", "back to a sign that stands nowhere"})
		}
	}
	return d
}

// file is the score part by part, or bar by bar.
func (d *fullScore) file(timewise bool) string {
	one, two := measures(d.parts[0]...), measures(d.parts[1]...)
	i := strings.Index(two, "<part id")
	two = strings.Replace(strings.TrimSuffix(two[i:], "</score-partwise>"), `id="P1"`, `id="P2"`, 1)
	head, body, _ := strings.Cut(strings.TrimSuffix(one, "</score-partwise>"), `<part id="P1">`)
	listed := head[strings.Index(head, "<score-part "):strings.Index(head, "</part-list>")]
	head = strings.Replace(head, "</part-list>", strings.NewReplacer(`"P1"`, `"P2"`, "Percussion", "Second").Replace(listed)+"</part-list>", 1)
	if !timewise {
		return head + `<part id="P1">` + body + two + "</score-partwise>"
	}
	bars := func(body string) []string {
		list := strings.SplitAfter(strings.TrimSuffix(body, "</part>"), "</measure>")
		return list[:len(list)-1]
	}
	_, body2, _ := strings.Cut(two, ">")
	others := bars(body2)
	var b strings.Builder
	b.WriteString(strings.Replace(head, "partwise", "timewise", 1))
	for i, m := range bars(body) {
		open, inside, _ := strings.Cut(strings.TrimSuffix(m, "</measure>"), ">")
		_, other, _ := strings.Cut(strings.TrimSuffix(others[i], "</measure>"), ">")
		b.WriteString(open + `><part id="P1">` + inside + `</part><part id="P2">` + other + "</part></measure>")
	}
	return b.String() + "</score-timewise>"
}

// Of two parts with everything that they may have each stroke is played where it
// stood, with its hand, and every other thing is in the text or in the list: if
// it is there, with its bar.
func TestEverythingInTwoPartsIsAccountedFor(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		d := drawFull(t)
		data := d.file(rapid.Bool().Draw(t, "bar by bar"))
		for _, part := range []string{"0 ", "1 "} {
			if !slices.ContainsFunc(d.strokes, func(s string) bool { return strings.HasPrefix(s, part) }) {
				return // a part in which nothing is struck is another matter
			}
		}
		w, err := Read([]byte(data), Options{})
		if err != nil {
			t.Fatal(err)
		}
		text, lost, err := Text([]byte(data), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if laid := syntax.Formatted(text); laid != text {
			t.Fatalf("laid out otherwise than the formatter does:\n%s\n%s", text, laid)
		}
		var body strings.Builder // the text without the list that stands in it
		for line := range strings.Lines(text) {
			if !strings.HasPrefix(line, "#") {
				body.WriteString(strings.ReplaceAll(line, "|", " | "))
			}
		}
		for _, x := range d.things {
			in := x.inText != "" && strings.Contains(body.String(), x.inText)
			listed := slices.ContainsFunc(lost, func(l Loss) bool {
				return strings.Contains(l.What, x.inList) && (x.bar < 0 || l.Bar == x.bar || l.More > 0 && l.Bar < x.bar)
			})
			if !in && !listed {
				t.Fatalf("bar %d: %q, %q is nowhere\n%v\n%s\n%s", x.bar, x.inText, x.inList, lost, text, data)
			}
		}
		s := score.Bind("x.handful", syntax.Parse(text), nil, score.Options{})
		if len(s.Problems) > 0 {
			t.Fatalf("%v\n%s", s.Problems, text)
		}
		var got []string
		for i, p := range s.Parts {
			for _, l := range p.Lines {
				for _, st := range l.Strokes {
					bar, count := s.Grid.Place(st.At)
					hand := ""
					if st.Hand != 0 {
						hand = string(st.Hand)
					}
					if !st.Has(score.Stop) {
						for _, w := range l.Words {
							if w.At == st.At && slices.Contains([]string{"o", "+", "( )", "diamond head"}, w.Text) {
								hand += `"` + w.Text + `"`
							}
						}
						if st.Has(score.Short) {
							hand += "."
						}
						got = append(got, fmt.Sprintf("%d %d.%s %s %s", i, bar, count, l.Inst.ID, hand))
					}
				}
			}
		}
		slices.Sort(got)
		slices.Sort(d.strokes)
		if !slices.Equal(got, d.strokes) {
			t.Fatalf("played %v\nwritten %v\n%v\n%s\n%s", got, d.strokes, w.Lost, text, data)
		}
	})
}
