package sheet

import "example.org/handful/lang/pdf"

// A flow sets headings, paragraphs and tables one below the other, over as
// many pages as it takes.
type flow struct {
	doc  *Doc
	d    pen
	y    float64
	who  string
	what string
}

const (
	paraSize  = 10.2
	paraLead  = 13.0
	tableSize = 9.5
	tableLead = 12.0
	cellPad   = 4.0
)

// newFlow begins a document with its title.
func newFlow(doc *Doc, subtitle, what string) *flow {
	fl := &flow{doc: doc, who: doc.Player, what: what}
	fl.page()
	fl.y = margin0 + 16
	end := fl.d.under(pdf.Heading1)
	fl.y = fl.d.title(doc.Piece, fl.y)
	fl.d.words(margin0, fl.y+1, fl.d.f.fit(subtitle, 14, true, fl.room()), 14, true, black)
	end()
	fl.y += 9
	fl.d.line(margin0, fl.y, fl.d.W-margin0, fl.y, 1.2, black)
	fl.y += 6
	return fl
}

func (fl *flow) page() {
	fl.d.Page = newPage(fl.doc)
	fl.doc.Pages = append(fl.doc.Pages, fl.d.Page)
	if len(fl.doc.Pages) > 1 {
		fl.y = runningHead(fl.d, fl.doc.Piece, fl.who, fl.what)
	}
}

func (fl *flow) room() float64   { return fl.d.W - 2*margin0 }
func (fl *flow) bottom() float64 { return fl.d.H - margin0 - 10 }

// nobody stands reversed in a table: what is written there, nobody plays.
const nobody = "nobody"

// need goes to a new page when there is less room than that.
func (fl *flow) need(h float64) {
	if fl.y+h > fl.bottom() {
		fl.page()
	}
}

func (fl *flow) heading(text string) {
	fl.need(60)
	fl.y += 22
	defer fl.d.under(pdf.Heading2)()
	fl.d.words(margin0, fl.y, fl.d.f.fit(text, 12, true, fl.room()), 12, true, black)
	fl.y += 3
	fl.d.sayHeading(text)
}

func (fl *flow) para(text string, bold bool) { fl.indented(text, 0, bold) }

// paraHeight is how high a paragraph is.
func (fl *flow) paraHeight(text string) float64 {
	return 2 + paraLead*float64(len(fl.d.f.wrap(text, paraSize, false, fl.room())))
}

// bullet is a paragraph with a box before it to tick off.
func (fl *flow) bullet(text string) {
	fl.need(paraLead + 4)
	fl.d.box(Rect{margin0 + 1, fl.y + 6, 7, 7}, black, noInk, 0.8)
	fl.indented(text, 15, false)
}

func (fl *flow) indented(text string, indent float64, bold bool) {
	fl.y += 2
	page, end := fl.d.Page, func() {}
	for i, line := range fl.d.f.wrap(text, paraSize, bold, fl.room()-indent) {
		if fl.need(paraLead); i == 0 || fl.d.Page != page { // it may go on on another page
			end()
			page, end = fl.d.Page, fl.d.under(pdf.Paragraph)
		}
		fl.y += paraLead
		fl.d.words(margin0+indent, fl.y-1.5, line, paraSize, bold, black)
	}
	end()
	fl.d.say(text)
}

// table sets a table whose columns share the room by their weights. Rows keep
// together; the head comes again on every page.
func (fl *flow) table(t table, weights ...float64) {
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	x := make([]float64, len(weights)+1)
	x[0] = margin0
	for i, w := range weights {
		x[i+1] = x[i] + fl.room()*w/sum
	}
	said := table{Caption: t.Caption, Head: t.Head, Lead: t.Lead}
	fl.y += 8
	fl.need(3 * tableLead)
	end := fl.d.under(pdf.Table)
	fl.row(t.Head, x, true, t.Lead)
	for _, r := range t.Rows {
		h := fl.rowHeight(r, x)
		if fl.y+h > fl.bottom() && fl.y > fl.d.H/4 {
			fl.d.sayTable(said)
			said.Rows = nil
			end()
			fl.page()
			end = fl.d.under(pdf.Table)
			fl.row(t.Head, x, true, t.Lead)
		}
		fl.row(r, x, false, t.Lead)
		said.Rows = append(said.Rows, r)
	}
	end()
	fl.d.sayTable(said)
}

func (fl *flow) cell(r []string, i int, x []float64, bold bool) []string {
	if i >= len(r) {
		return nil
	}
	return fl.d.f.wrap(r[i], tableSize, bold, x[i+1]-x[i]-cellPad)
}

func (fl *flow) rowHeight(r []string, x []float64) float64 {
	lines := 1
	for i := range len(x) - 1 {
		lines = max(lines, len(fl.cell(r, i, x, false)))
	}
	return float64(lines)*tableLead + 4
}

// row sets a row: its head, or cells of which the first ones say what it is about.
func (fl *flow) row(r []string, x []float64, head bool, lead int) {
	lines := 1
	defer fl.d.under(pdf.Row)()
	for i := range len(x) - 1 {
		kind := tag{kind: pdf.Cell}
		if head || i < lead {
			kind = tag{kind: pdf.Head, column: head}
		}
		end := fl.d.tagged(kind)
		lines = max(lines, fl.rowCell(r, i, x, head))
		end()
	}
	fl.y += float64(lines)*tableLead + 3
	ink, thick := pale, 0.5
	if head {
		ink, thick = black, 0.9
	}
	fl.d.line(margin0, fl.y, fl.d.W-margin0, fl.y, thick, ink)
	fl.y++
}

// rowCell sets a cell, and says how many lines it takes.
func (fl *flow) rowCell(r []string, i int, x []float64, head bool) (lines int) {
	if !head && i < len(r) && r[i] == nobody { // told from everything else at a glance
		w := fl.d.f.width(nobody, tableSize, true)
		fl.d.box(Rect{x[i] - 1, fl.y + 1.5, w + 6, tableLead - 0.5}, noInk, black, 0)
		fl.d.words(x[i]+2, fl.y+tableLead-1, nobody, tableSize, true, white).Part = smallPrint
		return 1
	}
	for k, line := range fl.cell(r, i, x, head) {
		fl.d.words(x[i], fl.y+float64(k+1)*tableLead-1, line, tableSize, head, black).Part = smallPrint
		lines = k + 1
	}
	return lines
}

// care is the cautions, small, together at the end.
func (fl *flow) care(texts ...string) {
	const size, lead = 8.5, 10.5
	h := 24.0
	for _, t := range texts {
		h += lead*float64(len(fl.d.f.wrap(t, size, false, fl.room()))) + 2
	}
	fl.need(h)
	fl.y += 18
	end := fl.d.under(pdf.Heading2)
	fl.d.words(margin0, fl.y, "Take care", 9.5, true, black).Part = smallPrint
	end()
	fl.y += 2
	fl.d.sayHeading("Take care")
	for _, t := range texts {
		end := fl.d.under(pdf.Paragraph)
		for _, line := range fl.d.f.wrap(t, size, false, fl.room()) {
			fl.y += lead
			fl.d.words(margin0, fl.y, line, size, false, black).Part = smallPrint
		}
		end()
		fl.y += 2
		fl.d.say(t)
	}
}
