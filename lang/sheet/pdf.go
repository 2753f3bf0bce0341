package sheet

import (
	"bytes"
	"fmt"
	"strings"

	"codeberg.org/go-pdf/fpdf"
)

// PDFOptions are what a PDF needs besides the pages.
type PDFOptions struct {
	// Date dates the file; this package asks no clock. Without it the file is
	// dated when it is made.
	Date func(*fpdf.Fpdf)
}

// PDF is documents bound together: real text, the fonts inside, a bookmark
// for each document. The same pages with the same date are the same bytes.
func PDF(docs []Doc, opt PDFOptions) (data []byte, err error) {
	faces := standardFaces()
	if len(docs) > 0 {
		faces = docs[0].f
	}
	defer func() {
		if r := recover(); r != nil && faces.more != nil { // a font from outside may be broken in ways nobody foresaw
			data, err = nil, fmt.Errorf("the font cannot be put into a PDF: %v", r)
		} else if r != nil {
			panic(r)
		}
	}()
	f := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "pt", Size: fpdf.SizeType{Wd: 595.28, Ht: 841.89}})
	f.SetCatalogSort(true)
	f.SetAutoPageBreak(false, 0)
	f.SetMargins(0, 0, 0)
	f.SetCellMargin(0)
	f.SetProducer("Handful", true)
	f.SetLang("en")
	if opt.Date != nil {
		opt.Date(f)
	}
	f.AddUTF8FontFromBytes("sheet", "", bytes.Clone(faces.weights[0].ttf))
	f.AddUTF8FontFromBytes("sheet", "B", bytes.Clone(faces.weights[1].ttf))
	if faces.more != nil {
		f.AddUTF8FontFromBytes("more", "", bytes.Clone(faces.more.ttf))
	}
	if len(docs) > 0 {
		title := docs[0].Piece
		if docs[0].Player != "" {
			title += " – " + docs[0].Player
		}
		f.SetTitle(printable(faces, title), true)
		f.SetSubject(printable(faces, docs[0].heading()), true)
	}
	for i := range docs {
		docs[i].bind(f, faces)
	}
	var out bytes.Buffer
	if err := f.Output(&out); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// bind adds the pages of a document, with its bookmarks.
func (doc *Doc) bind(f *fpdf.Fpdf, faces *faces) {
	for k, p := range doc.Pages {
		f.AddPageFormat("P", fpdf.SizeType{Wd: p.W * p.Scale, Ht: p.H * p.Scale})
		if k == 0 {
			f.Bookmark(printable(faces, doc.heading()), 0, 0)
		}
		for _, m := range doc.marksOn(k) {
			f.Bookmark(printable(faces, m.name), 1, m.y*p.Scale)
		}
		w := pdfPage{f, faces, p.Scale}
		for n := range p.Items {
			w.item(&p.Items[n])
		}
	}
}

// printable is text in the characters that the fonts have; a square stands
// for any other.
func printable(f *faces, text string) string {
	return strings.Map(func(r rune) rune {
		if f.source(r) < 0 {
			return '□'
		}
		return r
	}, text)
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
var greyLevels = [...]int{noInk: 255, black: 0, middling: 0x44, pale: 0x8a, wash: 0xde, white: 255}

type pdfPage struct {
	*fpdf.Fpdf
	faces *faces
	k     float64
}

func (w pdfPage) item(it *item) {
	style := ""
	if it.Fill != noInk {
		g := greyLevels[it.Fill]
		w.SetFillColor(g, g, g)
		style = "F"
	}
	if it.Line != noInk {
		g := greyLevels[it.Line]
		w.SetDrawColor(g, g, g)
		w.SetLineWidth(it.Thick * w.k)
		style += "D"
	}
	if style == "" {
		return
	}
	k := w.k
	switch it.Kind {
	case line:
		if it.Dash > 0 {
			w.SetDashPattern([]float64{it.Dash * k}, 0)
			defer w.SetDashPattern(nil, 0)
		}
		w.Line(it.X*k, it.Y*k, (it.X+it.W)*k, (it.Y+it.H)*k)
	case box:
		w.Rect(it.X*k, it.Y*k, it.W*k, it.H*k, style)
	case disc:
		w.Circle((it.X+it.W/2)*k, (it.Y+it.H/2)*k, it.W/2*k, style)
	case outlined:
		w.outline(it)
	case wording:
		w.words(it)
	}
}

func (w pdfPage) outline(it *item) {
	k := w.k
	for i, s := range it.Path {
		a := s.At
		switch s.Op {
		case 'M':
			if i > 0 {
				w.ClosePath()
			}
			w.MoveTo(a[0]*k, a[1]*k)
		case 'L':
			w.LineTo(a[0]*k, a[1]*k)
		case 'Q':
			w.CurveTo(a[0]*k, a[1]*k, a[2]*k, a[3]*k)
		case 'C':
			w.CurveBezierCubicTo(a[0]*k, a[1]*k, a[2]*k, a[3]*k, a[4]*k, a[5]*k)
		}
	}
	w.ClosePath()
	w.DrawPath("F")
}

func (w pdfPage) words(it *item) {
	style := ""
	if it.Bold {
		style = "B"
	}
	g := greyLevels[it.Fill]
	w.SetTextColor(g, g, g)
	x := it.X
	for _, run := range runs(w.faces, it.Text) {
		if run.more {
			w.SetFont("more", "", it.Size*w.k)
		} else {
			w.SetFont("sheet", style, it.Size*w.k)
		}
		w.Text(x*w.k, it.Base*w.k, run.text)
		x += w.faces.width(run.text, it.Size, it.Bold)
	}
}

// A run is text that one font draws.
type run struct {
	text string
	more bool
}

func runs(f *faces, text string) []run {
	var out []run
	for _, r := range printable(f, text) {
		more := f.source(r) == 1
		if n := len(out); n > 0 && out[n-1].more == more {
			out[n-1].text += string(r)
			continue
		}
		out = append(out, run{string(r), more})
	}
	return out
}
