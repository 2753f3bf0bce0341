package pdf

import (
	"bytes"
	"fmt"
	"math"
)

// A Page is one side of paper. Places are in points from its upper left corner.
type Page struct {
	file   *File
	ref    ref
	w, h   float64
	out    bytes.Buffer
	owners []*Element // by the number of a piece of content
	state  graphics
	now    *Element
	open   bool
}

// graphics is how things are drawn, as far as it was said.
type graphics struct {
	fill, line  int // a grey, 0 to 255
	thick, dash float64
}

// nothing is what is said at the beginning of a page.
var nothing = graphics{-1, -1, -1, 0}

// For says what is drawn from now on belongs to; nil: to nothing that is read.
func (p *Page) For(e *Element) {
	if p.open && p.now == e {
		return
	}
	if e == nil {
		p.Done()
		p.open = true
		p.out.WriteString("/Artifact BMC\n")
		return
	}
	p.begin(e, e.kind, "")
}

// begin begins a piece of an element's content.
func (p *Page) begin(e *Element, kind, more string) {
	p.Done()
	p.open, p.now = true, e
	n := len(p.owners)
	p.owners = append(p.owners, e)
	fmt.Fprintf(&p.out, "/%s<</MCID %d%s>>BDC\n", kind, n, more)
	if e.on == nil {
		e.on = p
	}
	if e.on == p {
		e.kids = append(e.kids, fmt.Sprint(n))
	} else {
		e.kids = append(e.kids, fmt.Sprintf("<</Type/MCR/Pg %v/MCID %d>>", p.ref, n))
	}
}

// Done ends what was begun; a page is done at its end.
func (p *Page) Done() {
	if p.open {
		p.out.WriteString("EMC\n")
	}
	p.open, p.now = false, nil
}

// A Look is how a shape is drawn: greys from 0 to 255, or less for none.
type Look struct {
	Fill, Line  int
	Thick, Dash float64
}

// set says what is said otherwise already, and how the shape is painted.
func (p *Page) set(l Look) (paint string) {
	if l.Fill >= 0 {
		p.ink(l.Fill)
		paint = "f"
	}
	if l.Line < 0 {
		return paint
	}
	if l.Line != p.state.line {
		p.op("G", float64(l.Line)/255)
		p.state.line = l.Line
	}
	if l.Thick != p.state.thick {
		p.op("w", l.Thick)
		p.state.thick = l.Thick
	}
	if l.Dash != p.state.dash {
		if p.state.dash = l.Dash; l.Dash > 0 {
			fmt.Fprintf(&p.out, "[%s]0 d\n", num(l.Dash))
		} else {
			p.out.WriteString("[]0 d\n")
		}
	}
	if paint == "" {
		return "S"
	}
	return "B"
}

func (p *Page) ink(grey int) {
	if grey != p.state.fill {
		p.op("g", float64(grey)/255)
		p.state.fill = grey
	}
}

// op writes an operator behind its numbers.
func (p *Page) op(name string, values ...float64) {
	b := p.out.AvailableBuffer()
	for _, v := range values {
		b = append(appendNum(b, v), ' ')
	}
	b = append(append(b, name...), '\n')
	p.out.Write(b)
}

// Line draws a line.
func (p *Page) Line(x1, y1, x2, y2 float64, l Look) {
	l.Fill = -1
	paint := p.set(l)
	p.op("m", x1, p.h-y1)
	p.op("l", x2, p.h-y2)
	p.op(paint)
}

// Box draws a rectangle.
func (p *Page) Box(x, y, w, h float64, l Look) {
	paint := p.set(l)
	p.op("re", x, p.h-y-h, w, h)
	p.op(paint)
}

// Disc draws a circle, in four curves.
func (p *Page) Disc(x, y, r float64, l Look) {
	paint := p.set(l)
	y = p.h - y
	k := r * 4 * (math.Sqrt2 - 1) / 3
	p.op("m", x+r, y)
	p.op("c", x+r, y+k, x+k, y+r, x, y+r)
	p.op("c", x-k, y+r, x-r, y+k, x-r, y)
	p.op("c", x-r, y-k, x-k, y-r, x, y-r)
	p.op("c", x+k, y-r, x+r, y-k, x+r, y)
	p.op(paint)
}

// An Outline is a path that is filled.
type Outline struct {
	page *Page
	x, y float64
	any  bool
}

// Fill begins an outline.
func (p *Page) Fill(grey int) *Outline {
	p.ink(grey)
	return &Outline{page: p}
}

// Move begins a piece of it.
func (o *Outline) Move(x, y float64) {
	if o.any {
		o.page.op("h")
	}
	o.any, o.x, o.y = true, x, y
	o.page.op("m", x, o.page.h-y)
}

// To goes on in a line.
func (o *Outline) To(x, y float64) {
	o.x, o.y = x, y
	o.page.op("l", x, o.page.h-y)
}

// Bend goes on in a curve with one point that it is drawn to.
func (o *Outline) Bend(cx, cy, x, y float64) {
	o.Curve(o.x+2*(cx-o.x)/3, o.y+2*(cy-o.y)/3, x+2*(cx-x)/3, y+2*(cy-y)/3, x, y)
}

// Curve goes on in a curve with two.
func (o *Outline) Curve(ax, ay, bx, by, x, y float64) {
	h := o.page.h
	o.x, o.y = x, y
	o.page.op("c", ax, h-ay, bx, h-by, x, h-y)
}

// Close ends it.
func (o *Outline) Close() {
	if o.any {
		o.page.op("f")
	}
}
