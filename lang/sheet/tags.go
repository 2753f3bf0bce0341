package sheet

import (
	"strings"

	"example.org/handful/lang/pdf"
)

// A tag is what a part of a page is, for whoever has it read aloud: a heading, a
// paragraph, a cell of a table, a picture with what is said in its place.
type tag struct {
	kind   string
	alt    string
	up     int  // the tag that it is in, from 1; 0: none
	column bool // of a heading of a table: whether it heads its column
}

// apart is the kind of what is not read: running heads, numbers of pages.
const apart = ""

// under lets what is drawn from now on, until the end, be of a kind.
func (p *Page) under(kind string) (end func()) { return p.tagged(tag{kind: kind}) }

// pictured lets it be one picture, for which words stand.
func (p *Page) pictured(alt string) (end func()) { return p.tagged(tag{kind: pdf.Figure, alt: alt}) }

func (p *Page) tagged(t tag) (end func()) {
	t.up = p.tag
	p.tags = append(p.tags, t)
	p.tag = len(p.tags)
	return func() { p.tag = t.up }
}

// A tagger makes the elements of a page as what is drawn comes to them.
type tagger struct {
	p     *Page
	page  *pdf.Page
	made  []*pdf.Element // by tag; the first is the section
	next  int
	boxes map[int]Rect
}

func (p *Page) tagger(section *pdf.Element, page *pdf.Page) *tagger {
	return &tagger{p, page, []*pdf.Element{section}, 0, p.boxes()}
}

// until makes the elements of the tags up to one: also those that nothing stands
// in, as an empty cell is one.
func (t *tagger) until(last int) {
	for ; t.next < last; t.next++ {
		next := t.p.tags[t.next]
		up := t.made[next.up]
		if next.kind == apart || up == nil {
			t.made = append(t.made, nil)
			continue
		}
		e := up.Add(next.kind)
		switch next.kind {
		case pdf.Head:
			e.Heads(next.column)
		case pdf.Figure:
			e.Alt(next.alt)
			b, k := t.boxes[t.next+1], t.p.Scale
			e.Within(t.page, b.X*k, b.Y*k, b.W*k, b.H*k)
		}
		t.made = append(t.made, e)
	}
}

// of is what an item is a part of; nil for what is not read. Outside of pictures
// only words are, and words that are under nothing are a paragraph each, lest they
// be lost to somebody.
func (t *tagger) of(it *item) *pdf.Element {
	t.until(it.tag)
	e := t.made[it.tag]
	switch {
	case e == nil || it.Kind != wording && !it.pictured:
		return nil
	case it.tag == 0:
		return e.Add(pdf.Paragraph)
	}
	return e
}

// boxes is where each picture of a page is.
func (p *Page) boxes() map[int]Rect {
	out := map[int]Rect{}
	for i := range p.Items {
		it := &p.Items[i]
		r := it.Rect
		if r.W < 0 {
			r.X, r.W = r.X+r.W, -r.W
		}
		if r.H < 0 {
			r.Y, r.H = r.Y+r.H, -r.H
		}
		if was, ok := out[it.tag]; ok {
			x, y := min(r.X, was.X), min(r.Y, was.Y)
			r = Rect{x, y, max(r.X+r.W, was.X+was.W) - x, max(r.Y+r.H, was.Y+was.H) - y}
		}
		out[it.tag] = r
	}
	return out
}

// words is a table as it is read out: for each row what it is about, and of each
// column what is there.
func (t *table) words() string {
	var b strings.Builder
	b.WriteString(t.Caption + ".")
	for _, r := range t.Rows {
		var cells []string
		for i := t.Lead; i < len(r); i++ {
			if r[i] != "" {
				cells = append(cells, t.Head[i]+": "+r[i])
			}
		}
		if len(cells) > 0 {
			b.WriteString(" " + capital(strings.Join(r[:t.Lead], ", ")) + ": " + strings.Join(cells, "; ") + ".")
		}
	}
	return b.String()
}
