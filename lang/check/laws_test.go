package check_test

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// files is how many pieces each law is tried on.
const files = 400

// a tally says at the end of a law what it was tried on.
type tally struct {
	pieces, strokes, failing, tried int
}

// law tries a property on made-up pieces.
func law(t *testing.T, prop func(t *rapid.T, n *tally)) {
	var n tally
	madeup.Try(t, files, func(t *rapid.T) { prop(t, &n) })
	t.Logf("%d pieces, %d strokes; %d of the pieces have an error; tried %d times", n.pieces, n.strokes, n.failing, n.tried)
}

func at(text string, factor float64) *check.Result {
	defer func() {
		if err := recover(); err != nil { // with the piece, which rapid does not show then
			panic(fmt.Sprintf("%v\n%s", err, text))
		}
	}()
	return check.Check("made-up.handful", syntax.Parse(text), check.Options{Score: score.Options{TempoFactor: factor}})
}

func (n *tally) of(text string) *check.Result {
	r := at(text, 1)
	n.pieces++
	for _, m := range r.Motions {
		n.strokes += len(m.Events)
	}
	if faults(r, nil) > 0 {
		n.failing++
	}
	return r
}

// faults counts the places with errors, those told within others too.
func faults(r *check.Result, want func(*check.Finding) bool) int {
	return faultsIn(r.Findings, want)
}

func faultsIn(list []check.Finding, want func(*check.Finding) bool) int {
	n := 0
	for i := range list {
		f := &list[i]
		if f.Severity == check.Error && (want == nil || want(f)) {
			n += 1 + f.Times
		}
		n += faultsIn(f.Within, want)
	}
	return n
}

// said is a result as a list of lines that do not depend on where in the text
// things stand.
func said(r *check.Result) []string {
	var out []string
	for i := range r.Findings {
		f := &r.Findings[i]
		msg := f.Message()
		place := f.PlaceWords()
		switch f.Rule.Name {
		case "crossed-hands":
			msg, place = "", "" // it always speaks of the right hand first
		case "same-space":
			msg = "" // and this one of what stands first in the kit
		}
		out = append(out, fmt.Sprintf("%s %s %s [%s] [%s] %s", f.Severity, f.Rule.Name, place, f.Player, f.Limb, msg))
	}
	slices.Sort(out)
	return out
}

// worst lists the errors, for a message.
func worst(r *check.Result) string {
	var out []string
	for _, l := range said(r) {
		if strings.HasPrefix(l, "error") {
			out = append(out, l)
		}
	}
	return strings.Join(out, "\n")
}

// differ says what is in one list and not in the other.
func differ(a, b []string) string {
	var out []string
	for _, l := range a {
		if !slices.Contains(b, l) {
			out = append(out, "- "+l)
		}
	}
	for _, l := range b {
		if !slices.Contains(a, l) {
			out = append(out, "+ "+l)
		}
	}
	if len(out) == 0 && len(a) != len(b) {
		return fmt.Sprintf("%d lines and %d, the same ones", len(a), len(b))
	}
	return strings.Join(out, "\n")
}

// unlike says in what two results differ that should be the same. Where two
// lines through the music cost the same, either may be taken: which of two
// hands waits for the other, say. Then what is no error may be said of the one
// and not of the other, and of changes that are too short, the one hand may need what the
// other one does there: in sum that is the same.
func unlike(a, b *check.Result, first, second []string) string {
	d := differ(first, second)
	if d == "" || len(a.Motions) != len(b.Motions) {
		return d
	}
	costs := func(r *check.Result) []string {
		var out []string
		for _, m := range r.Motions {
			out = append(out, fmt.Sprint(m.Player.Name, m.Cost))
		}
		slices.Sort(out)
		return out
	}
	if !slices.Equal(costs(a), costs(b)) {
		return d
	}
	free := func(l string) bool {
		return strings.HasPrefix(l, "warning short-change ") || strings.HasPrefix(l, "warning seam ") || strings.Contains(l, " ring-cut ") || strings.Contains(l, " noisy-change ") || strings.Contains(l, " thin-margin ") || strings.Contains(l, " late-cue ")
	}
	first, second = slices.DeleteFunc(slices.Clone(first), free), slices.DeleteFunc(slices.Clone(second), free)
	was, is := needed(first), needed(second)
	if d := differ(first, second); d != "" {
		return d
	}
	if math.Abs(was-is) > 0.01*float64(len(first)) { // figures are rounded
		return fmt.Sprintf("changes that are too short need %.2f s in sum, and %.2f s", was, is)
	}
	return ""
}

// needed takes out of each line about a change that is too short what that needs and of
// which hand, since of two that are alike one is told, and is the sum.
func needed(lines []string) (sum float64) {
	for i, l := range lines {
		if m := needsAtLeast.FindStringSubmatch(l); m != nil && strings.HasPrefix(l, "error short-change ") {
			seconds, _ := strconv.ParseFloat(m[1], 64)
			sum += seconds
			lines[i] = eitherHand.Replace(needsAtLeast.ReplaceAllString(l, "needs more"))
		}
	}
	slices.Sort(lines)
	return sum
}

var eitherHand = strings.NewReplacer("left hand", "hand", "right hand", "hand")

var needsAtLeast = regexp.MustCompile(`needs at least (\d+\.\d+) s`)

// The generator makes pieces that say what they mean.
func TestMadeUpPiecesAreRead(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := madeup.Draw(t, madeup.Options{Notes: true, Players: 3, Roads: true, Actions: true})
		p.Written = rapid.Bool().Draw(t, "written")
		text := p.Text()
		r := n.of(text)
		n.tried++
		for _, x := range r.Score.Problems {
			t.Fatalf("line %d: %s: %s\n%s", x.Where.Line+1, x.Rule, x.Message(), text)
		}
	})
}

// own says whether a finding is a player's.
func own(name string) func(*check.Finding) bool {
	return func(f *check.Finding) bool { return f.Player == name }
}

// Whoever can play a piece can play it slower, and whoever cannot has no more
// that is impossible.
func TestSlowerNeverAddsAnError(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := madeup.Draw(t, madeup.Options{Notes: true, Players: 2, Roads: true, Actions: true, Quick: true})
		text := p.Text()
		r := n.of(text)
		f := rapid.SampledFrom([]float64{0.999, 0.97, 0.9, 0.75, 0.5, 0.25}).Draw(t, "factor")
		slow := at(text, f)
		n.tried++
		for _, pl := range p.Players {
			if a, b := faults(r, own(pl.Name)), faults(slow, own(pl.Name)); b > a {
				t.Fatalf("%s: %d errors, and %d at %g of the tempo\n%s\nat %g:\n%s\n%s", pl.Name, a, b, f, worst(r), f, worst(slow), text)
			}
		}
	})
}

// Hands, feet, sides and sticking changed over: the same is found, of the
// other side.
func TestMirrored(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := madeup.Draw(t, madeup.Options{Players: 2, Roads: true, Actions: true, Quick: true, NoStops: true})
		a, b := n.of(p.Text()), at(p.Mirror().Text(), 1)
		n.tried++
		first, list := said(a), said(b)
		for i := range list {
			list[i] = mirrorWords.Replace(list[i])
		}
		slices.Sort(list)
		if text := p.Text(); strings.Contains(text, "timpani") || strings.Contains(text, "tom-toms") {
			// Their drums are larger on one side, wherever they stand: what they stand in is not turned round.
			bodies := func(l string) bool { return strings.Contains(l, " same-space ") }
			first, list = slices.DeleteFunc(first, bodies), slices.DeleteFunc(list, bodies)
		}
		if d := unlike(a, b, first, list); d != "" {
			t.Fatalf("%s\n%s", d, p.Text())
		}
	})
}

var mirrorWords = strings.NewReplacer("right hand", "left hand", "left hand", "right hand", "right foot", "left foot", "left foot", "right foot",
	"in the left", "in the right", "the right plays", "the left plays", "to the left", "to the right", "to the right", "to the left")

// What is taken out makes nothing impossible.
func TestLessToPlay(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := madeup.Draw(t, madeup.Options{Notes: true, Players: 1, NoPairs: true, Roads: true, Quick: true})
		q := p.Clone()
		pl := &q.Players[0]
		s := &pl.Sections[rapid.IntRange(0, len(pl.Sections)-1).Draw(t, "section")]
		what := ""
		if len(s.Cues) > 0 {
			i := rapid.IntRange(0, len(s.Cues)-1).Draw(t, "cue")
			c := &s.Cues[i]
			// What one hand has together a cue says, and nobody knows without it.
			together := strings.Contains(c.With, " and ")
			if together && len(c.Strokes) == 1 {
				return
			}
			if !together && rapid.Bool().Draw(t, "the whole cue") {
				what = c.Says() + " in " + fmt.Sprint(s.From)
				s.Cues = slices.Delete(s.Cues, i, i+1)
			} else {
				k := rapid.IntRange(0, len(c.Strokes)-1).Draw(t, "stroke")
				what = fmt.Sprintf("%s of %s in %d", madeup.Count(c.Strokes[k].Pos), c.Says(), s.From+c.Strokes[k].Bar)
				c.Strokes = slices.Delete(c.Strokes, k, k+1)
			}
		}
		a, b := n.of(p.Text()), at(q.Text(), 1)
		n.tried++
		if x, y := faults(a, nil), faults(b, nil); y > x {
			t.Fatalf("without %s: %d errors, and were %d\n%s\nwithout it:\n%s\n%s", what, y, x, worst(a), worst(b), p.Text())
		}
	})
}

// Another player changes for the others only what they share: nothing, where
// everybody has a kit.
func TestAnotherPlayer(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := madeup.Draw(t, madeup.Options{Notes: true, Players: 3, Roads: true, Actions: true, Quick: true})
		last := p.Players[len(p.Players)-1].Name
		q := p.Clone()
		q.Players = q.Players[:len(q.Players)-1]
		a, b := n.of(p.Text()), at(q.Text(), 1)
		n.tried++
		var without []string
		for _, l := range said(a) {
			if !strings.Contains(l, "["+last+"]") {
				without = append(without, l)
			}
		}
		if d := differ(without, said(b)); d != "" {
			t.Fatalf("%s\n%s", d, p.Text())
		}
	})
}

// moved is what a player's limbs do, without the words: when, in how long a
// window, and how long it takes.
func moved(r *check.Result) []string {
	var out []string
	for _, m := range r.Motions {
		for i := range m.Changes {
			c := &m.Changes[i]
			out = append(out, fmt.Sprintf("%s %s at %.4f: %.4f for %.4f/%.4f", m.Player.Name, c.Hand.Name(), c.To.T0, c.Window, c.Need.Floor, c.Need.Steady))
		}
		for _, k := range m.Conflicts {
			out = append(out, fmt.Sprintf("%s conflict %d at %.4f", m.Player.Name, k.Kind, k.B.T0))
		}
	}
	slices.Sort(out)
	return out
}

// A repeat, a vamp or an order says the same as its bars written out as they
// are played.
func TestARoadMapFoldedOut(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := madeup.Draw(t, madeup.Options{Notes: true, Players: 2, NoPairs: true, NoStops: true, Roads: true, Quick: true})
		a := n.of(p.Text())
		q := p.Clone()
		q.Head, q.Bars = nil, 0
		for i := range q.Players {
			q.Players[i].Sections = nil
		}
		for _, span := range a.Score.Time.Spans() {
			for i := range q.Players {
				for _, s := range p.Players[i].Sections {
					to := madeup.Section{}
					for _, c := range s.Cues {
						from, last := max(s.From, span.From), min(s.From+c.Bars-1, span.To)
						if from > last {
							continue
						}
						d := c.Cut(from-s.From, last-from+1)
						for _, st := range d.Strokes {
							if st.Bar == d.Bars-1 && st.Pos+st.Roll >= 4*p.Beats {
								return // a roll that the road cuts at a bar line cannot be written without it
							}
						}
						if len(d.Strokes) == 0 {
							continue
						}
						to.From = q.Bars + from - span.From + 1
						to.Cues = append(to.Cues, d)
					}
					if len(to.Cues) > 0 {
						q.Players[i].Sections = append(q.Players[i].Sections, to)
					}
				}
			}
			q.Bars += span.To - span.From + 1
		}
		n.tried++
		b := at(q.Text(), 1)
		if d := differ(moved(a), moved(b)); d != "" {
			t.Fatalf("%s\n%s\nand\n%s", d, p.Text(), q.Text())
		}
		if x, y := faults(a, nil) > 0, faults(b, nil) > 0; x != y {
			t.Fatalf("%s\nfolded out:\n%s\n%s\nand\n%s", worst(a), worst(b), p.Text(), q.Text())
		}
	})
}

// "As written" says the same as what is written.
func TestWrittenOut(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := madeup.Draw(t, madeup.Options{Notes: true, Players: 3, Roads: true, Actions: true, Quick: true})
		q := p.Clone()
		q.Written = true
		a, b := n.of(p.Text()), at(q.Text(), 1)
		n.tried++
		if d := differ(said(a), said(b)); d != "" {
			t.Fatalf("%s\n%s\nand\n%s", d, p.Text(), q.Text())
		}
		if d := differ(moved(a), moved(b)); d != "" {
			t.Fatalf("%s\n%s\nand\n%s", d, p.Text(), q.Text())
		}
	})
}
