package exchange

import (
	"context"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/internal/outside"
	"example.org/handful/lang/check"
	"example.org/handful/lang/plan"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// drawing draws a score with npm's verovio 6.3.0, page by page.
const drawing = `
const { VerovioToolkit } = await import(process.argv[2] + "/verovio/dist/verovio.mjs");
const create = (await import(process.argv[2] + "/verovio/dist/verovio-module.mjs")).default;
const fs = await import("node:fs");
const tk = new VerovioToolkit(await create());
tk.setOptions({ pageWidth: 2100, pageHeight: 2970, scale: 40 });
if (!tk.loadData(fs.readFileSync(process.argv[3], "utf8"))) process.exit(1);
const pages = [];
for (let p = 1; p <= tk.getPageCount(); p++) pages.push(tk.renderToSVG(p));
console.log(JSON.stringify(pages));`

// A drawnText is a text on a page with the box that its letters fill at the
// least: a lower-case letter of a serif face is rarely narrower than two fifths
// of its size, a capital is two thirds of it high and, in bold, wide.
type drawnText struct {
	class, text              string
	left, top, right, bottom float64
}

func (a drawnText) over(b drawnText) bool {
	return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom
}

// bearings are how much narrower a letter is than the room that it takes, left and
// right, and that room, in the metrics of a bold Roman (Adobe's, of Times Bold).
var bearings = map[string][3]float64{"L": {19, 29, 667}, "R": {26, 7, 722}}

// ink is where a letter is black.
func (a drawnText) ink() drawnText {
	if b, ok := bearings[a.text]; ok {
		room := a.right - a.left
		a.left, a.right = a.left+room*b[0]/b[2], a.right-room*b[1]/b[2]
	}
	return a
}

// A drawnHead is a notehead: which staff of its system, how far below the upper
// line in half spaces, of how many lines.
type drawnHead struct {
	staff, lines int
	below        float64
}

// A drawnPage is what the geometry of a page says.
type drawnPage struct {
	heads  []drawnHead
	texts  []drawnText
	stems  []drawnText    // as boxes without a text
	louds  []string       // where dynamics stand
	width  float64        // of the page
	margin float64        // left of where places are counted from
	counts map[string]int // of elements, by class
}

// letter says whether a text is the hand of a stroke: at the head, or by itself.
func (a drawnText) letter() bool {
	return a.class == "fing" || a.class == "dir" && (a.text == "R" || a.text == "L")
}

// readPage reads a drawn page with the standard library's XML reader.
func readPage(t *testing.T, svg string) (p drawnPage) {
	p.counts = map[string]int{}
	d := xml.NewDecoder(strings.NewReader(svg))
	var open []string // classes of the elements that are open
	staff := -1
	var lines []float64
	var text *drawnText
	x, anchor, size := 0.0, "", 0.0
	ends := func() { // a line of a text ends
		text.left, text.right = x, x+text.right
		if half := (text.right - text.left) / 2; anchor == "middle" {
			text.left, text.right = text.left-half, text.right-half
		} else if anchor == "end" {
			text.left, text.right = text.left-2*half, text.right-2*half
		}
		if text.text != "" {
			p.texts = append(p.texts, *text)
		}
	}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return p
		}
		require.NoError(t, err)
		switch e := token.(type) {
		case xml.StartElement:
			attr := map[string]string{}
			for _, a := range e.Attr {
				attr[a.Name.Local] = a.Value
			}
			class := attr["class"]
			around := ""
			if len(open) > 0 {
				around = open[len(open)-1]
			}
			p.counts[class]++
			switch {
			case class == "measure":
				staff = -1
			case class == "staff":
				staff, lines = staff+1, nil
			case e.Name.Local == "path" && around == "staff":
				var x1, y1, x2, y2 float64
				if n, _ := fmt.Sscanf(attr["d"], "M%f %f L%f %f", &x1, &y1, &x2, &y2); n == 4 && y1 == y2 {
					lines = append(lines, y1)
				}
			case e.Name.Local == "use" && around == "notehead":
				var hx, hy float64
				n, _ := fmt.Sscanf(attr["transform"], "translate(%f, %f)", &hx, &hy)
				require.Equal(t, 2, n, attr["transform"])
				require.NotEmpty(t, lines, "a head on no staff")
				const halfSpace = 90 // the library's own unit
				p.heads = append(p.heads, drawnHead{staff, len(lines), (hy - slices.Min(lines)) / halfSpace})
			case class == "definition-scale":
				n, _ := fmt.Sscanf(attr["viewBox"], "0 0 %f", &p.width)
				require.Equal(t, 1, n)
			case class == "page-margin":
				n, _ := fmt.Sscanf(attr["transform"], "translate(%f,", &p.margin)
				require.Equal(t, 1, n)
			case e.Name.Local == "path" && around == "stem":
				var x1, y1, x2, y2 float64
				n, _ := fmt.Sscanf(attr["d"], "M%f %f L%f %f", &x1, &y1, &x2, &y2)
				require.Equal(t, 4, n, attr["d"])
				half, err := strconv.ParseFloat(attr["stroke-width"], 64)
				require.NoError(t, err)
				half /= 2
				p.stems = append(p.stems, drawnText{"stem", "", x1 - half, min(y1, y2), x1 + half, max(y1, y2)})
			case e.Name.Local == "use" && around == "dynam":
				p.louds = append(p.louds, attr["transform"])
			case e.Name.Local == "tspan" && text != nil && attr["y"] != "": // the next line
				ends()
				x, _ = strconv.ParseFloat(attr["x"], 64)
				y, _ := strconv.ParseFloat(attr["y"], 64)
				text = &drawnText{class: text.class, bottom: y}
			case e.Name.Local == "text":
				x, _ = strconv.ParseFloat(attr["x"], 64)
				y, _ := strconv.ParseFloat(attr["y"], 64)
				anchor, text = attr["text-anchor"], &drawnText{class: around, bottom: y}
			case e.Name.Local == "tspan" && strings.HasSuffix(attr["font-size"], "px"):
				size, _ = strconv.ParseFloat(strings.TrimSuffix(attr["font-size"], "px"), 64)
			}
			open = append(open, class)
		case xml.CharData:
			if text != nil {
				if s := strings.TrimSpace(string(e)); s != "" {
					text.text = strings.TrimSpace(text.text + " " + s)
					for _, c := range s {
						if unicode.IsUpper(c) {
							text.right += 0.26 * size
						}
						text.right += 0.4 * size
					}
					text.top = text.bottom - 0.66*size
				}
			}
		case xml.EndElement:
			open = open[:len(open)-1]
			if e.Name.Local == "text" {
				ends()
				text = nil
			}
		}
	}
}

// What goes out, as an engraving library draws it, judged by where things stand
// on the pages: as many heads as strokes, each on a line or in a space; on a
// staff for drums no more places than things; a letter for the hand at every
// stroke, and none on a stem; each dynamic once; the words of the legend; no text
// upon another, and none that runs off the page.
func TestWhatGoesOutIsDrawnAsItShould(t *testing.T) {
	modules := outside.NodeModules(t, "verovio")
	came, _, err := written.Text(parade(t), written.Options{})
	require.NoError(t, err)
	planned, err := plan.File(context.Background(), "parade", syntax.Parse(came), plan.Options{Players: 2})
	require.NoError(t, err)
	dir := t.TempDir()
	main := filepath.Join(dir, "draw.mjs")
	require.NoError(t, os.WriteFile(main, []byte(drawing), 0o600))
	for name, c := range map[string]struct {
		r     *check.Result
		words []string
		once  []string
	}{
		"quay-parade": {check.Check("parade.handful", syntax.Parse(planned.Text), check.Options{}), []string{"from the top: Sus. Cym., Tamb., B.D."}, []string{"A", "E"}},
		"weir":        {checked(t, "../../examples/weir.handful"), []string{"from the top: Toms high, Toms middle-high, Toms middle-low, Toms low", "Ines", "Tomas", "Glock."}, []string{"A", "B"}},
		"groove":      {check.Check("groove.handful", syntax.Parse(groove), check.Options{}), []string{"from the top: H.H., Kick"}, []string{"bell"}},
		"lighthouse":  {checked(t, "../../examples/lighthouse.handful"), []string{"Sol"}, []string{"A", "B"}},
	} {
		t.Run(name, func(t *testing.T) {
			data, _, err := MusicXML(c.r, MusicXMLOptions{})
			require.NoError(t, err)
			file := filepath.Join(dir, name+".musicxml")
			require.NoError(t, os.WriteFile(file, data, 0o600))
			out, err := exec.Command("node", main, modules, file).Output()
			require.NoError(t, err)
			var pages []string
			require.NoError(t, json.Unmarshal(out, &pages))

			strokes, notes := struck(c.r.Score)
			var letters, heads, ties, tempos int
			var said []string
			places := map[int]map[float64]bool{}
			for i, svg := range pages {
				picture(t, fmt.Sprintf("%s-%d.svg", name, i+1), svg)
				p := readPage(t, svg)
				heads, ties, tempos = heads+len(p.heads), ties+p.counts["tie"], tempos+p.counts["tempo"]
				for _, h := range p.heads {
					assert.Equal(t, h.below, float64(int(h.below)), "page %d: a head is on no line and in no space: %v", i+1, h)
					const ledgers = 10 // half spaces
					assert.True(t, h.below >= -ledgers && h.below <= float64(2*h.lines+ledgers), "page %d: a head is far from its staff: %v", i+1, h)
					if places[h.staff] == nil {
						places[h.staff] = map[float64]bool{}
					}
					places[h.staff][h.below] = true
				}
				slices.Sort(p.louds)
				assert.Equal(t, slices.Compact(slices.Clone(p.louds)), p.louds, "page %d: a dynamic is drawn twice", i+1)
				for k, a := range p.texts {
					said = append(said, a.text)
					assert.True(t, a.left+p.margin >= 0 && a.right+p.margin <= p.width, "page %d: %+v runs off it", i+1, a)
					if a.letter() {
						letters++
						for _, stem := range p.stems {
							assert.False(t, a.ink().over(stem), "page %d: %+v stands on a stem, %+v", i+1, a, stem)
						}
					}
					for _, b := range p.texts[:k] {
						assert.False(t, a.over(b), "page %d: %+v stands on %+v", i+1, a, b)
					}
				}
			}
			if name == "groove" {
				heads -= 2 * 4 // brackets, which are drawn as heads are
			}
			assert.Equal(t, strokes, letters, "a letter at every stroke of a hand")
			assert.Equal(t, notes, heads-ties, "a head for every note, but for those that are held over a bar line")
			want := 1
			if name == "quay-parade" {
				want = 3 // 112, 88 at B and 120 at C
			}
			assert.Equal(t, want, tempos, "each tempo stands above the system, once")
			for _, w := range c.once {
				assert.Len(t, slices.DeleteFunc(slices.Clone(said), func(s string) bool { return s != w }), 1, "%s stands above the system, once", w)
			}
			for _, w := range c.words {
				assert.Contains(t, said, w)
			}
			switch name {
			case "quay-parade":
				assert.Len(t, places[0], 3, "three things of the first player: %v", places[0])
				assert.Len(t, places[1], 3, "three things of the second: %v", places[1])
			case "weir":
				assert.Len(t, places[1], 4, "four toms: %v", places[1])
			}
		})
	}
}

// groove is two bars for a drummer with signs at most strokes.
const groove = `title "Ferry groove"
meter 4/4
tempo 80
bars 2
player Nell
  R hi-hat with snare-stick | 1 1& 2 "o" 2& "+" 3 3& 4 "o" 4& | "+" 1 1& 2 2& 3 "o" 3& "+" 4 4&
  RF bass-drum-pedal        | 1 3 3& | 1 3
player Ben
  R ride-cymbal with snare-stick | 1 2 "bell" 3 4 | 1 2 3 4
  L snare-drum with snare-stick  | "( )" 1& 2> "( )" 2a "( )" 3& 4> | "diamond head" 1 2> "( )" 3e 4>
`

// picture keeps a page to be looked at, in the folder that HANDFUL_PICTURES
// names.
func picture(t *testing.T, name, svg string) {
	if dir := os.Getenv("HANDFUL_PICTURES"); dir != "" {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(svg), 0o600))
	}
}

// struck counts what players strike with a hand, and the notes of that: those of a chord and
// those before a flam or a drag are several.
func struck(s *score.Score) (byHand, notes int) {
	for _, p := range s.Players {
		for _, c := range p.Cues {
			for i := range c.Strokes {
				if c.Limb.IsHand() || c.Limb.TwoHands() {
					byHand++
				}
				notes += c.StruckAt(i).Count() + int(c.Strokes[i].Grace)
			}
		}
	}
	return byHand, notes
}
