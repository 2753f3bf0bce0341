package pdf

import (
	"fmt"
	"strings"
)

// An Element is what a part of the pages is: a heading, a paragraph, a table, a
// picture (14.7, 14.8). What is read aloud comes in the order of the elements.
type Element struct {
	file  *File
	up    *Element
	kind  string
	ref   ref
	alt   string
	attrs string
	kids  []string
	on    *Page // of the first thing that it has on a page
}

// Kinds of elements (14.8.4), as far as they are used.
const (
	Section   = "Sect"
	Heading1  = "H1"
	Heading2  = "H2"
	Paragraph = "P"
	Table     = "Table"
	Caption   = "Caption"
	Row       = "TR"
	Head      = "TH"
	Cell      = "TD"
	Figure    = "Figure"
)

// Root is the document, which everything else is in.
func (f *File) Root() *Element { return f.root }

// Add puts an element into another, behind what is there.
func (e *Element) Add(kind string) *Element {
	kid := &Element{file: e.file, up: e, kind: kind, ref: e.file.reserve()}
	e.kids = append(e.kids, kid.ref.String())
	e.file.all = append(e.file.all, kid)
	return kid
}

// Alt is what is said in place of a picture.
func (e *Element) Alt(words string) { e.alt = words }

// Heads says what a heading of a table is for: its column, or else its row.
func (e *Element) Heads(column bool) {
	scope := "Row"
	if column {
		scope = "Column"
	}
	e.attrs = "<</O/Table/Scope/" + scope + ">>"
}

// Within is where a picture is on its page, in points from the upper left.
func (e *Element) Within(p *Page, x, y, w, h float64) {
	e.attrs = fmt.Sprintf("<</O/Layout/BBox[%s %s %s %s]>>", num(x), num(p.h-y-h), num(x+w), num(p.h-y))
}

// structure writes the elements, and which of them each piece of a page belongs
// to (14.7.4.4).
func (f *File) structure() {
	for _, e := range append([]*Element{f.root}, f.all...) {
		up := f.tree
		if e.up != nil {
			up = e.up.ref
		}
		var b strings.Builder
		fmt.Fprintf(&b, "<</Type/StructElem/S/%s/P %v", e.kind, up)
		if e.on != nil {
			fmt.Fprintf(&b, "/Pg %v", e.on.ref)
		}
		if e.alt != "" {
			b.WriteString("/Alt " + text(e.alt))
		}
		if e.attrs != "" {
			b.WriteString("/A" + e.attrs)
		}
		b.WriteString("/K[" + strings.Join(e.kids, " ") + "]>>")
		f.objects[e.ref-1].dict = b.String()
	}
	var parents strings.Builder
	for n, p := range f.pages {
		fmt.Fprintf(&parents, "%d[", n)
		for _, e := range p.owners {
			fmt.Fprintf(&parents, "%v ", e.ref)
		}
		parents.WriteString("]")
	}
	f.objects[f.tree-1].dict = fmt.Sprintf("<</Type/StructTreeRoot/K %v/ParentTree<</Nums[%s]>>/ParentTreeNextKey %d>>", f.root.ref, parents.String(), len(f.pages))
}
