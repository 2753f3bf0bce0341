package sheet

import (
	"encoding/binary"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"

	"example.org/handful/lang/motion"
)

// greys is how dark each ink is on paper.
var greys = [...]string{noInk: "none", black: "#000", middling: "#444", pale: "#8a8a8a", wash: "#dedede", white: "#fff"}

// fontStack is for viewers that do not read the font in the file.
const fontStack = "'Handful Sheet', 'Handful More', Verdana, 'DejaVu Sans', sans-serif"

// SVG is one page as a picture that stands alone, on white.
func (p *Page) SVG() string {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	p.writeSVG(&b, svgForm{sized: true, id: "page"})
	return b.String()
}

// svgForm is how a picture is written: alone, or inside a page of HTML, where
// inks are classes that the page's style decides on.
type svgForm struct {
	sized   bool
	classes bool
	id      string
	shapes  *shapes                // what is drawn many times stands once; nil: everything where it is
	strokes *part                  // whose strokes say what they are; nil: none do
	changes map[*motion.Change]int // and the numbers of the changes
}

// shapes are the outlines of a page of HTML, each once, by what it looks like.
type shapes struct {
	numbers map[string]int
	list    []string
	key     []byte // being looked for
}

// use is the number of an outline that begins at nothing.
func (s *shapes) use(path []segment, x, y float64) int {
	s.key = s.key[:0]
	for i := range path {
		s.key = append(s.key, path[i].Op)
		for k := range points(path[i].Op) * 2 {
			from := x
			if k%2 == 1 {
				from = y
			}
			s.key = binary.AppendVarint(s.key, hundredths(path[i].At[k]-from))
		}
	}
	n, ok := s.numbers[string(s.key)]
	if !ok {
		n = len(s.list)
		s.numbers[string(s.key)] = n
		s.list = append(s.list, pathFrom(path, x, y))
	}
	return n
}

// write puts the outlines into the page, where nobody sees them.
func (s *shapes) write(b *strings.Builder) {
	b.WriteString(`<svg class="shapes" width="0" height="0" aria-hidden="true"><defs>`)
	for n, path := range s.list {
		fmt.Fprintf(b, `<path id="o%d" d="%s"/>`, n, path)
	}
	b.WriteString("</defs></svg>\n")
}

func (p *Page) writeSVG(b *strings.Builder, form svgForm) {
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s"`, num(p.W), num(p.H))
	if form.sized {
		fmt.Fprintf(b, ` width="%spt" height="%spt"`, num(p.W*p.Scale), num(p.H*p.Scale))
	}
	fmt.Fprintf(b, ` role="img" aria-labelledby="%s-title" font-family="%s">`+"\n", form.id, fontStack)
	fmt.Fprintf(b, `<title id="%s-title">%s</title>`+"\n", form.id, escape(p.Title))
	if form.sized {
		b.WriteString("<style>" + fontFaces(p) + "</style>\n")
		fmt.Fprintf(b, `<rect width="%s" height="%s" fill="#fff"/>`+"\n", num(p.W), num(p.H))
	}
	for i := range p.Items {
		p.Items[i].writeSVG(b, form)
	}
	b.WriteString("</svg>\n")
}

func (it *item) writeSVG(b *strings.Builder, form svgForm) {
	switch it.Kind {
	case line:
		at(b, `<line x1="`, it.X, `" y1="`, it.Y, `" x2="`, it.X+it.W, `" y2="`, it.Y+it.H)
	case box:
		at(b, `<rect x="`, it.X, `" y="`, it.Y, `" width="`, it.W, `" height="`, it.H)
	case disc:
		if it.Line == noInk && it.Fill == noInk {
			return
		}
		at(b, `<circle cx="`, it.X+it.W/2, `" cy="`, it.Y+it.H/2, `" r="`, it.W/2, "", 0)
	case outlined:
		if form.shapes != nil && len(it.Path) > 0 {
			x, y := it.Path[0].At[0], it.Path[0].At[1]
			b.WriteString(`<use href="#o` + strconv.Itoa(form.shapes.use(it.Path, x, y)))
			at(b, `" x="`, x, `" y="`, y, "", 0, "", 0)
		} else {
			b.WriteString(`<path d="` + pathFrom(it.Path, 0, 0) + `"`)
		}
	case wording:
		at(b, `<text x="`, it.X, `" y="`, it.Base, `" font-size="`, it.Size, "", 0)
		if it.Bold {
			b.WriteString(` font-weight="bold"`)
		}
		if it.W > 0 {
			b.WriteString(` textLength="` + num(it.W) + `" lengthAdjust="spacingAndGlyphs"`)
		}
		it.paint(b, form)
		b.WriteString(">" + escape(it.Text) + "</text>\n")
		return
	}
	it.paint(b, form)
	b.WriteString("/>\n")
}

// at writes measures behind what each is called, and closes the last one.
func at(b *strings.Builder, k1 string, v1 float64, k2 string, v2 float64, k3 string, v3 float64, k4 string, v4 float64) {
	for _, m := range [...]struct {
		key string
		v   float64
	}{{k1, v1}, {k2, v2}, {k3, v3}, {k4, v4}} {
		if m.key != "" {
			b.WriteString(m.key)
			b.WriteString(num(m.v))
		}
	}
	b.WriteByte('"')
}

// pathFrom is an outline as it is written, with a place for its beginning.
func pathFrom(path []segment, x, y float64) string {
	var b strings.Builder
	for _, s := range path {
		b.WriteByte(s.Op)
		for k := range points(s.Op) * 2 {
			from := x
			if k%2 == 1 {
				from = y
			}
			if k > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(num(s.At[k] - from))
		}
	}
	return b.String()
}

// saysWhat is what an item of a page that plays is: which stroke of which hand,
// at what place and when it is first played, or which change.
func (it *item) saysWhat(b *strings.Builder, form svgForm) {
	if it.Of != nil && it.Part == strokeArt && form.strokes != nil {
		v := form.strokes
		bar, count := v.Grid.Place(it.Of.At)
		b.WriteString(` data-bar="` + strconv.Itoa(bar) + `" data-count="` + escape(count.String()) + `" data-hand="` + it.Limb.Letter() + `"`)
		if t, ok := v.seconds(bar, it.Of.At); ok {
			b.WriteString(` data-t="` + num(t) + `"`)
		}
	}
	if n, ok := form.changes[it.Makes]; ok && it.Makes != nil {
		fmt.Fprintf(b, ` data-change="%d"`, n)
	}
}

func (it *item) paint(b *strings.Builder, form svgForm) {
	it.saysWhat(b, form)
	if form.classes {
		b.WriteString(` class="f` + string(rune('0'+it.Fill)) + ` s` + string(rune('0'+it.Line)) + `"`)
	} else {
		if it.Kind != line {
			fmt.Fprintf(b, ` fill="%s"`, greys[it.Fill])
		}
		if it.Line != noInk {
			fmt.Fprintf(b, ` stroke="%s"`, greys[it.Line])
		}
	}
	if it.Line != noInk {
		b.WriteString(` stroke-width="` + num(it.Thick) + `"`)
		if it.Dash > 0 {
			fmt.Fprintf(b, ` stroke-dasharray="%s"`, num(it.Dash))
		}
	}
}

// hundredths is a measure with as many places as a printer can tell.
func hundredths(v float64) int64 { return int64(math.Round(v * 100)) }

// num writes a measure with as many places as a printer can tell.
func num(v float64) string {
	n := hundredths(v)
	var space [24]byte
	b := space[:0]
	if n < 0 {
		b = append(b, '-')
		n = -n
	}
	b = strconv.AppendInt(b, n/100, 10)
	if part := n % 100; part > 0 {
		b = append(b, '.', byte('0'+part/10))
		if part%10 > 0 {
			b = append(b, byte('0'+part%10))
		}
	}
	return string(b)
}

// markup is what would be read as markup, and how it is written.
var markup = sync.OnceValue(func() *strings.Replacer {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;")
})

// escape makes text fit for markup: what would be read as markup, and what
// may not stand in it at all.
func escape(text string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' || r == 0xfffe || r == 0xffff || r == 0x7f {
			return 0xfffd
		}
		return r
	}, markup().Replace(text))
}
