package sheet

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/math/fixed"
	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/check"
)

// random writes a piece for two players with whatever stands in parts: meters,
// groups of all lengths, rolls over bar lines, small notes, dynamics, rests and
// marks. It is made up for the tests.
func random(r *rand.Rand) string {
	meters := []struct {
		text  string
		beats int
	}{{"4/4", 4}, {"3/4", 3}, {"2/4", 2}, {"6/8", 2}, {"5/4", 5}, {"7/8 in 2+2+3", 3}, {"2/2", 2}, {"12/8", 4}}
	m := meters[r.IntN(len(meters))]
	compound := strings.Contains(m.text, "/8")
	bars := 4 + r.IntN(24)
	var b strings.Builder
	fmt.Fprintf(&b, "title \"A Piece of Chance\"\nmeter %s\ntempo %d\nbars %d\n", m.text, 50+r.IntN(90), bars)
	for n := 1; n < bars; n += 3 + r.IntN(9) {
		if n > 1 {
			fmt.Fprintf(&b, "mark M%d at %d\n", n, n)
		}
	}
	things := []string{"snare-drum", "woodblock", "bass-drum", "triangle", "suspended-cymbal", "cowbell", "tambourine"}
	aims := map[string][]string{ // notes and drums, near and far, with all accidentals
		"timpani":       {"F2", "Bb2", "B2", "C3", "Eb3", "E3", "D2", "F2+C3", "1"},
		"glockenspiel":  {"F3", "Gb3", "C4", "C#4", "D4", "Db4", "E4+F4", "C5", "Cx5", "Cb5", "Bb5", "C6", "G4+A4+B4", "Eb4+F#4"},
		"marimba":       {"A2", "Bb2", "C3", "C#3", "Ebb3", "F3+G3", "C4", "E4", "F#4+G#4", "A5", "C7", "Bb2+B2", "A2+C7"},
		"xylophone":     {"F3", "F4", "F#4", "G4", "Ab4+Bb4", "C7", "Bb6", "D5+E5+F5"},
		"tom-toms":      {"low", "middle-low", "middle-high", "high", "low+high", "2", ""},
		"congas":        {"high", "low", "high+low"},
		"temple-blocks": {"low", "middle", "high", "1", "5"},
	}
	if r.IntN(2) == 0 {
		things = append(things, "timpani", "glockenspiel", "marimba", "xylophone", "tom-toms", "congas", "temple-blocks")
	}
	aim := func(thing, beat string) string {
		list := aims[thing]
		if list == nil || r.IntN(12) == 0 {
			return beat
		}
		words := strings.Fields(beat)
		for i, w := range words {
			if a := list[r.IntN(len(list))]; a != "" && !strings.Contains(w, "x") {
				words[i] = w + ":" + a
			}
		}
		return strings.Join(words, " ")
	}
	beat := func(n int) string {
		list := []string{"%d", "%d", "", "", "%[1]d %[1]d&", "%[1]d&", "%[1]d>", "'%d", "''%d", "%dx", "%d."}
		if compound {
			list = []string{"%d", "%d", "", "", "%d>", "'%d"}
		} else {
			list = append(list, "%[1]d %[1]de %[1]d& %[1]da", "%[1]d %[1]d& %[1]da", "%[1]d %[1]dt %[1]dl", "%[1]de %[1]da")
		}
		f := list[r.IntN(len(list))]
		if f == "" {
			return ""
		}
		return strings.Split(fmt.Sprintf(f, n), "%!")[0]
	}
	for _, player := range []string{"Ann", "Ben"} {
		fmt.Fprintf(&b, "\nplayer %s\n", player)
		for at := 1 + r.IntN(3); at < bars; {
			length := 1 + r.IntN(6)
			length = min(length, bars-at+1)
			fmt.Fprintf(&b, "  from %d\n", at)
			limbs := []string{"R", "L"}
			if r.IntN(5) == 0 {
				limbs = []string{"RL"}
			}
			for _, limb := range limbs {
				if r.IntN(4) == 0 {
					continue
				}
				thing := things[r.IntN(len(things))]
				fmt.Fprintf(&b, "  %s %s", limb, thing)
				last := ""
				for range length {
					var words []string
					for n := 1; n <= m.beats; n++ {
						if w := beat(n); w != "" {
							words = append(words, aim(thing, w))
						}
					}
					if len(words) > 0 && r.IntN(4) == 0 {
						words[0] = []string{"p ", "mf ", "ff ", "sfz ", "cresc ", "p cresc ", "dim "}[r.IntN(7)] + words[0]
					}
					bar := strings.Join(words, " ")
					switch {
					case last != "" && !strings.Contains(last, "~") && r.IntN(3) == 0:
						bar = last
					case len(words) == 0:
						bar = "-"
					case r.IntN(8) == 0:
						bar = aim(thing, "1~") + []string{"", "", " cresc", " dim"}[r.IntN(4)]
					}
					if strings.Contains(last, "~") && !strings.Contains(last, "~2") && r.IntN(2) == 0 { // it goes on
						bar = []string{"~", "cresc ~", "f ~", "dim ~", "ff ~2", "p ~2 dim"}[r.IntN(6)]
					}
					last = bar
					b.WriteString(" | " + bar)
				}
				b.WriteString("\n")
			}
			at += length + []int{0, 0, 1, 3, 6}[r.IntN(5)]
		}
	}
	return b.String()
}

// Of hundreds of pieces on every paper: no word lies on another one, no stem,
// beam, head or rest on a word, no rest on a head, and no stem in a head that is
// not its own; and whatever is struck later stands further on. HANDFUL_FILES
// has so many times as many, and HANDFUL_SEED others.
func TestNothingOfARandomPieceCollides(t *testing.T) {
	pieces, stream := 300, uint64(17)
	if testing.Short() {
		pieces = 60
	}
	if by, err := strconv.Atoi(os.Getenv("HANDFUL_FILES")); err == nil && by > 0 {
		pieces *= by
	}
	if n, err := strconv.ParseUint(os.Getenv("HANDFUL_SEED"), 10, 64); err == nil {
		stream = n
	}
	strokes := 0
	for n := range pieces {
		strokes += nothingCollides(t, n, stream)
	}
	assert.Greater(t, strokes, 50*pieces/2)
}

// What once lay on something else: two changes of a hand that go on from the line
// before, the accidental of a note after a head that stands aside, clefs of staves
// below one another, the names of drums in a bar that is drawn smaller.
func TestWhatOnceCollidedDoesNot(t *testing.T) {
	for _, was := range []struct {
		piece  int
		stream uint64
	}{{7, 2027}, {29, 2027}, {115, 2027}, {207, 2027}, {297, 2027}, {266, 4051}, {46, 8888}, {284, 8888}} {
		nothingCollides(t, was.piece, was.stream)
	}
}

// nothingCollides draws a piece up on one of the papers, and looks at it.
func nothingCollides(t *testing.T, n int, stream uint64) (strokes int) {
	text := random(rand.New(rand.NewPCG(uint64(n), stream)))
	result := checked("random", text)
	require.Empty(t, faultsOf(result), "%d:\n%s", n, text)
	paper := Papers()[n%len(Papers())]
	opt := Options{Paper: paper, For: distance(n / 4 % 3), Unfolded: n%5 == 0}
	for i, m := range result.Motions {
		strokes += len(newPart(result, i, standardFaces()).strokes)
		if what := collisionIn(result, i, &opt); what != "" {
			t.Errorf("piece %d of %d, %s, %s for %s: %s\n%s", n, stream, m.Player.Name, paper.Name, Distances()[opt.For], what, text)
		}
	}
	return strokes
}

// The pieces that every law is tried on have what those have not: repeats, jumps,
// bars that are left out, feet, what is taken and laid at set places.
func TestNothingOfALawsPieceCollides(t *testing.T) {
	madeup.Try(t, 100, func(rt *rapid.T) {
		text := madeup.Draw(rt, madeup.Options{Players: 2, Roads: true, Actions: true, Notes: true}).Text()
		result := checked("law", text)
		opt := Options{Paper: rapid.SampledFrom(Papers()).Draw(rt, "paper"), For: distance(rapid.IntRange(0, 2).Draw(rt, "for")), Unfolded: rapid.Bool().Draw(rt, "unfolded")}
		for i, m := range result.Motions {
			if what := collisionIn(result, i, &opt); what != "" {
				rt.Fatalf("%s, %s for %s: %s\n%s", m.Player.Name, opt.Paper.Name, Distances()[opt.For], what, text)
			}
		}
	})
}

// collisionIn names two things on a player's cue sheet that lie on one another.
func collisionIn(r *check.Result, player int, opt *Options) string {
	v := newPart(r, player, standardFaces())
	v.unfolded = opt.Unfolded
	doc := v.cuesFor(opt)
	for _, p := range doc.Pages {
		if what := collision(p); what != "" {
			return what
		}
	}
	return ""
}

func faultsOf(r *check.Result) (out []string) {
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Rule.Name == "syntax" {
			out = append(out, f.Message())
		}
	}
	return out
}

// collision names two things on a page that lie on one another.
func collision(p *Page) string {
	var words, stems, beams, heads, rests, signs, pins, dots []*item
	for i := range p.Items {
		it := &p.Items[i]
		switch {
		case it.Kind == wording && strings.TrimSpace(it.Text) != "":
			words = append(words, it)
		case it.Part == stemArt:
			stems = append(stems, it)
		case it.Part == beamArt:
			beams = append(beams, it)
		case it.Part == pinArt:
			pins = append(pins, it)
		case it.Kind == disc && it.Part == repeatArt:
			dots = append(dots, it)
		case it.Part == signArt:
			signs = append(signs, it)
		case (it.Part == strokeArt || it.Part == noteArt || it.Part == cueArt) && it.Kind == outlined:
			heads = append(heads, it)
		case it.Part == restArt:
			rests = append(rests, it)
		}
	}
	body := func(it *item) Rect {
		r := it.Rect
		switch {
		case it.Kind == wording:
			r = tight(it)
			if !strings.ContainsFunc(it.Text, unicode.IsLetter) { // numbers have no tails
				r.H = 0.74 * it.Size
			}
			return r
		case it.Kind == line && it.W == 0:
			r = Rect{it.X - it.Thick/2, min(it.Y, it.Y+it.H), it.Thick, math.Abs(it.H)}
		case it.Kind == line:
			r = Rect{it.X, min(it.Y, it.Y+it.H) - it.Thick/2, it.W, math.Abs(it.H) + it.Thick}
		}
		return r
	}
	apart := func(what string, as, bs []*item, own func(a, b *item) bool) string {
		for i, a := range as {
			for k, b := range bs {
				if a == b || len(as) == len(bs) && &as[0] == &bs[0] && k >= i || own != nil && own(a, b) {
					continue
				}
				if body(a).meets(body(b)) {
					return fmt.Sprintf("%s: %s: %q %v and %q %v", p.Title, what, a.Text, body(a), b.Text, body(b))
				}
			}
		}
		return ""
	}
	near := func(a, b *item) bool { return math.Abs(b.X+b.W/2-a.X) < b.W/2+0.5 }
	for _, c := range []string{
		apart("word on word", words, words, nil),
		apart("stem on word", stems, words, nil),
		apart("beam on word", beams, words, nil),
		apart("head on word", heads, words, nil),
		apart("rest on word", rests, words, nil),
		apart("rest on head", rests, heads, nil),
		apart("rest on stem", stems, rests, nil),
		apart("head on head", heads, heads, func(a, b *item) bool { return math.Abs(a.X-b.X) < b.W+0.1 }),
		apart("hairpin on word", pins, words, nil),
		apart("hairpin on stem", pins, stems, nil),
		apart("hairpin on head", pins, heads, nil),
		apart("hairpin on beam", pins, beams, nil),
		apart("accidental on word", signs, words, nil),
		apart("accidental on head", signs, heads, nil),
		apart("accidental on rest", signs, rests, nil),
		apart("stem in accidental", stems, signs, nil),
		apart("accidental on accidental", signs, signs, nil),
		apart("stem in another head", stems, heads, near),
		apart("dot of a repeat on word", dots, words, nil),
		apart("dot of a repeat on head", dots, heads, nil),
		apart("dot of a repeat on rest", dots, rests, nil),
		apart("dot of a repeat in accidental", dots, signs, nil),
	} {
		if c != "" {
			return c
		}
	}
	return ""
}

// What is read while playing is 9 minutes of arc and more at a metre, in a pit,
// and 6.5 on a stand: small letters by their own height, capitals and numbers by
// theirs. So are the words of what stands beside it, but for tables, captions and
// cautions, which are read before. (What is wanted is a demand of the house; reading
// research, from memory, has fluent reading at about 12.)
func TestWordsThatMatterCanBeReadAtAMetre(t *testing.T) {
	f := standardFaces().weights[0]
	metrics, err := f.font.Metrics(&f.buf, fixed.I(unitsPerEm), font.HintingNone)
	require.NoError(t, err)
	small, capital := float64(metrics.XHeight)/64/unitsPerEm, float64(metrics.CapHeight)/64/unitsPerEm
	require.Greater(t, small, 0.3)
	for distance, least := range map[distance]float64{Pit: 9, Stand: 6.5} {
		seen := map[string]int{}
		for _, name := range []string{"ferry-landing", "salt-market", "harbour-march", "weir"} {
			text, err := os.ReadFile("../../examples/" + name + ".handful")
			require.NoError(t, err)
			r := checked(name, string(text))
			for _, paper := range Papers() {
				for _, doc := range Docs([]*check.Result{r}, Options{Paper: paper, For: distance}) {
					if paper.Name == "A5" && name == "weir" && (doc.Kind == "cues" || doc.Kind == "practice") {
						continue // one bar of it is wider than that page, and is drawn smaller
					}
					if !slices.Contains([]string{"cues", "plan", "practice"}, doc.Kind) {
						continue // read in the hand
					}
					for _, p := range doc.Pages {
						for _, it := range p.Items {
							if it.Kind != wording || it.Part == smallPrint {
								continue
							}
							height := capital
							if strings.ContainsFunc(it.Text, unicode.IsLower) {
								height = small
							}
							mm := it.Size * p.Scale * height * 25.4 / 72
							assert.GreaterOrEqual(t, math.Atan(mm/1000)*180/math.Pi*60, least, "%s: %q in %.1f points", p.Title, it.Text, it.Size*p.Scale)
							seen[doc.Kind]++
						}
					}
				}
			}
		}
		for kind, least := range map[string]int{"cues": 200, "plan": 50, "practice": 50} {
			assert.Greater(t, seen[kind], least, kind)
		}
	}
}

// How many pages a part takes, and what of it stands where no hand is free to
// turn.
func TestPartsTakeFewPages(t *testing.T) {
	for name, most := range map[string]map[string]int{
		"ferry-landing": {"Nell": 1, "Tam": 1},
		"salt-market":   {"Marta": 2, "Joris": 1},
	} {
		text, err := os.ReadFile("../../examples/" + name + ".handful")
		require.NoError(t, err)
		r := checked(name, string(text))
		for player, n := range most {
			doc, ok := cues(r, player, Papers()[0])
			require.True(t, ok)
			assert.LessOrEqual(t, len(doc.Pages), n, "%s, %s", name, player)
			for _, p := range doc.Pages {
				for _, s := range p.Said {
					assert.NotContains(t, s.Text, "no hand is free", "%s, %s", name, player)
				}
			}
		}
	}
}

// Of a piece of 400 bars for four players, in which hands hardly rest, eleven pages
// ended where no hand was free before two pages lay beside one another and breaks
// were searched for; a third of that is what may be left.
func TestPagesAreTurnedWhereAHandIsFree(t *testing.T) {
	r := checked("long", long(400))
	pages, without := 0, 0
	for i := range r.Motions {
		doc := newPart(r, i, standardFaces()).cuesFor(&Options{Paper: Papers()[0]})
		pages += len(doc.Pages)
		for k, p := range doc.Pages {
			turned := false
			for _, s := range p.Said {
				if strings.Contains(s.Text, "no hand is free") {
					without++
				}
				turned = turned || strings.Contains(s.Text, "urn") || strings.Contains(s.Text, "lies beside this one")
			}
			assert.True(t, turned || k == len(doc.Pages)-1, "%s says how it goes on", p.Title)
		}
	}
	assert.Greater(t, pages, 20)
	assert.LessOrEqual(t, without, 11/3)
}
