package sheet

import (
	"fmt"

	"example.org/handful/lang/pdf"
)

// PDFOptions are what a PDF needs besides the pages.
type PDFOptions struct {
	// Date dates the file, as in ISO 8601, 2000-01-01T00:00:00Z; this package asks
	// no clock. Without it the file has no date.
	Date string
}

// PDF is documents bound together: real text, the fonts inside, an outline of
// the documents and their marks, and tags for what everything is. The same pages
// with the same date are the same bytes.
func PDF(docs []Doc, opt PDFOptions) (data []byte, err error) {
	faces := standardFaces()
	if len(docs) > 0 {
		faces = docs[0].f
	}
	defer func() {
		if r := recover(); r != nil && len(faces.more) > 0 { // a font from outside may be broken in ways nobody foresaw
			data, err = nil, fmt.Errorf("the font cannot be put into a PDF: %v", r)
		} else if r != nil {
			panic(r)
		}
	}()
	about := pdf.About{Language: "en", Producer: "Handful", Date: opt.Date}
	if len(docs) > 0 {
		about.Title, about.Subject = docs[0].Piece, docs[0].heading()
		if docs[0].Player != "" {
			about.Title += " – " + docs[0].Player
		}
	}
	b := binder{pdf.New(about), faces, map[int]*pdf.Font{}}
	for i := range docs {
		b.bind(&docs[i])
	}
	return b.Bytes(), nil
}

// A binder puts documents into a file.
type binder struct {
	*pdf.File
	faces *faces
	fonts map[int]*pdf.Font // by source, twice, and one more for bold
}

// bind adds the pages of a document, with its bookmarks.
func (b *binder) bind(doc *Doc) {
	section := b.Root().Add(pdf.Section)
	for k, p := range doc.Pages {
		page := b.Page(p.W*p.Scale, p.H*p.Scale)
		if k == 0 {
			b.Bookmark(doc.heading(), 0, page, 0)
		}
		for _, m := range doc.marksOn(k) {
			b.Bookmark(m.name, 1, page, m.y*p.Scale)
		}
		w := pdfPage{b, page, p.Scale, p.tagger(section, page)}
		for n := range p.Items {
			w.item(&p.Items[n])
		}
		w.tags.until(len(p.tags))
		page.Done()
	}
}

// font is one of the fonts as it is in the file.
func (b *binder) font(source int, bold bool) *pdf.Font {
	key, name := 2*source, "Sheet"
	switch {
	case source > 0:
		name = fmt.Sprintf("Sheet-%d", source)
	case bold:
		key, name = 1, "Sheet-Bold"
	}
	if b.fonts[key] == nil {
		face := b.faces.face(source, bold)
		b.fonts[key] = b.Font(name, face.glyphWidth, func(used map[uint16]bool) []byte { return cutDown(face, used, printTables()) })
	}
	return b.fonts[key]
}

// A leaf is a mark of a cue sheet in the outline of a PDF, and how far down its
// line stands.
type leaf struct {
	name string
	y    float64
}

// marksOn is the marks whose lines stand on a page, in their order.
func (doc *Doc) marksOn(page int) (out []leaf) {
	if doc.part == nil {
		return nil
	}
	for _, m := range doc.part.Marks {
		for i := range doc.lines {
			l := &doc.lines[i]
			if n := len(l.bars); l.page == page && n > 0 && l.bars[0].from <= m.Bar && m.Bar <= l.bars[n-1].to {
				out = append(out, leaf{m.Name, l.Y})
			}
		}
	}
	return out
}

// greyLevels is each ink as a printer has it, 0 black to 255 white.
var greyLevels = [...]int{noInk: -1, black: 0, middling: 0x44, pale: 0x8a, wash: 0xde, white: 255}

type pdfPage struct {
	*binder
	page *pdf.Page
	k    float64
	tags *tagger
}

func (w *pdfPage) item(it *item) {
	if it.Fill == noInk && it.Line == noInk {
		return
	}
	w.page.For(w.tags.of(it))
	look := pdf.Look{Fill: greyLevels[it.Fill], Line: greyLevels[it.Line], Thick: it.Thick * w.k}
	k := w.k
	switch it.Kind {
	case line:
		look.Dash = it.Dash * k
		w.page.Line(it.X*k, it.Y*k, (it.X+it.W)*k, (it.Y+it.H)*k, look)
	case box:
		w.page.Box(it.X*k, it.Y*k, it.W*k, it.H*k, look)
	case disc:
		w.page.Disc((it.X+it.W/2)*k, (it.Y+it.H/2)*k, it.W/2*k, look)
	case outlined:
		w.outline(it)
	case wording:
		w.words(it)
	}
}

func (w *pdfPage) outline(it *item) {
	k := w.k
	o := w.page.Fill(greyLevels[it.Fill])
	for _, s := range it.Path {
		a := s.At
		switch s.Op {
		case 'M':
			o.Move(a[0]*k, a[1]*k)
		case 'L':
			o.To(a[0]*k, a[1]*k)
		case 'Q':
			o.Bend(a[0]*k, a[1]*k, a[2]*k, a[3]*k)
		case 'C':
			o.Curve(a[0]*k, a[1]*k, a[2]*k, a[3]*k, a[4]*k, a[5]*k)
		}
	}
	o.Close()
}

// words sets text. A line of a paragraph ends with a space, so that it does not
// run into the next when it is read.
func (w *pdfPage) words(it *item) {
	text := it.Text
	if it.tag > 0 {
		text += " "
	}
	for _, run := range w.faces.runs(text, it.Bold) {
		w.page.Words(w.font(run.source, it.Bold), it.Size*w.k, (it.X+run.at*it.Size)*w.k, it.Base*w.k, greyLevels[it.Fill], run.glyphs)
	}
}
