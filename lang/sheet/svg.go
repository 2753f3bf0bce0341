package sheet

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/handful/lang/motion"
)

// greys is how dark each ink is on paper.
var greys = [...]string{NoInk: "none", Black: "#000", Mid: "#444", Pale: "#8a8a8a", Wash: "#dedede", White: "#fff"}

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
}

// use is the number of an outline that begins at nothing.
func (s *shapes) use(path string) int {
	n, ok := s.numbers[path]
	if !ok {
		n = len(s.list)
		s.numbers[path] = n
		s.list = append(s.list, path)
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

func (it *Item) writeSVG(b *strings.Builder, form svgForm) {
	switch it.Kind {
	case Line:
		fmt.Fprintf(b, `<line x1="%s" y1="%s" x2="%s" y2="%s"`, num(it.X), num(it.Y), num(it.X+it.W), num(it.Y+it.H))
		it.paint(b, form)
		b.WriteString("/>\n")
	case Box:
		fmt.Fprintf(b, `<rect x="%s" y="%s" width="%s" height="%s"`, num(it.X), num(it.Y), num(it.W), num(it.H))
		it.paint(b, form)
		b.WriteString("/>\n")
	case Disc:
		if it.Line == NoInk && it.Fill == NoInk {
			return
		}
		fmt.Fprintf(b, `<circle cx="%s" cy="%s" r="%s"`, num(it.X+it.W/2), num(it.Y+it.H/2), num(it.W/2))
		it.paint(b, form)
		b.WriteString("/>\n")
	case Outline:
		if form.shapes != nil && len(it.Path) > 0 {
			x, y := it.Path[0].At[0], it.Path[0].At[1]
			fmt.Fprintf(b, `<use href="#o%d" x="%s" y="%s"`, form.shapes.use(pathFrom(it.Path, x, y)), num(x), num(y))
		} else {
			b.WriteString(`<path d="` + pathFrom(it.Path, 0, 0) + `"`)
		}
		it.paint(b, form)
		b.WriteString("/>\n")
	case Words:
		fmt.Fprintf(b, `<text x="%s" y="%s" font-size="%s"`, num(it.X), num(it.Base), num(it.Size))
		if it.Bold {
			b.WriteString(` font-weight="bold"`)
		}
		if it.W > 0 {
			fmt.Fprintf(b, ` textLength="%s" lengthAdjust="spacingAndGlyphs"`, num(it.W))
		}
		it.paint(b, form)
		b.WriteString(">" + escape(it.Text) + "</text>\n")
	}
}

// pathFrom is an outline as it is written, with a place for its beginning.
func pathFrom(path []Segment, x, y float64) string {
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
func (it *Item) saysWhat(b *strings.Builder, form svgForm) {
	if it.Of != nil && it.Part == StrokeArt && form.strokes != nil {
		v := form.strokes
		bar, count := v.Grid.Place(it.Of.At)
		fmt.Fprintf(b, ` data-bar="%d" data-count="%s" data-hand="%s"`, bar, escape(count.String()), it.Limb.Letter())
		if t, ok := v.seconds(bar, it.Of.At); ok {
			fmt.Fprintf(b, ` data-t="%s"`, strconv.FormatFloat(milli(t), 'f', -1, 64))
		}
	}
	if n, ok := form.changes[it.Makes]; ok && it.Makes != nil {
		fmt.Fprintf(b, ` data-change="%d"`, n)
	}
}

func (it *Item) paint(b *strings.Builder, form svgForm) {
	it.saysWhat(b, form)
	if form.classes {
		fmt.Fprintf(b, ` class="f%d s%d"`, it.Fill, it.Line)
	} else {
		if it.Kind != Line {
			fmt.Fprintf(b, ` fill="%s"`, greys[it.Fill])
		}
		if it.Line != NoInk {
			fmt.Fprintf(b, ` stroke="%s"`, greys[it.Line])
		}
	}
	if it.Line != NoInk {
		fmt.Fprintf(b, ` stroke-width="%s"`, num(it.Thick))
		if it.Dash > 0 {
			fmt.Fprintf(b, ` stroke-dasharray="%s"`, num(it.Dash))
		}
	}
}

// num writes a measure with as many places as a printer can tell.
func num(v float64) string {
	v = math.Round(v*100) / 100
	if v == 0 {
		return "0"
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// escape makes text fit for markup: what would be read as markup, and what
// may not stand in it at all.
func escape(text string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' || r == 0xfffe || r == 0xffff || r == 0x7f {
			return 0xfffd
		}
		return r
	}, strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;").Replace(text))
}
