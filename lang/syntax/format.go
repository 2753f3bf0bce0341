package syntax

import (
	"strings"
	"unicode/utf8"

	"github.com/alecthomas/participle/v2/lexer"
)

// Format writes the file in its canonical layout: one blank before a name and
// between words, blocks indented by two, and the bar lines of lines that stand
// together under one another, so that the file looks like a score. Comments,
// the order of lines and the meaning stay as they were. A line with something
// wrong in it keeps its words as they are. What comes out has been compared with
// what came in, word by word ([Same]); if anything were lost, the text stays as it
// is and the difference says what.
func Format(f *File) (string, *Difference) {
	if f.Refused {
		return f.Text(), nil
	}
	out := layOutAll(f)
	if wide(out) != "" { // of a text with zero bytes, one letter less or more decides what it is taken for
		return f.Text(), nil
	}
	if d := Same(f.Text(), out); d != nil {
		return f.Text(), d
	}
	return out, nil
}

// Formatted is a text in its canonical layout, or as it is where something would
// be lost.
func Formatted(text string) string {
	out, _ := Format(Parse(text))
	return out
}

func layOutAll(f *File) string {
	rows := rowsOf(f)
	var b strings.Builder
	b.Grow(len(f.Text()) + len(f.Text())/8)
	eol := f.EOL()
	pending, written := false, false
	for i := range rows {
		r := &rows[i]
		if r.blank {
			pending = written
			continue
		}
		opens := f.Lines[i].Form != nil && f.Lines[i].Form.Opens != 0 && r.indent == 0
		if opens && i > 0 && written && !rows[i-1].loose {
			pending = true
		}
		if pending {
			b.WriteString(eol)
			pending = false
		}
		r.write(&b)
		b.WriteString(eol)
		written = true
	}
	return b.String()
}

// FormatLines writes every line of the file in its canonical layout, without
// adding or taking away blank lines; a line that would lose something stays.
func FormatLines(f *File) []string {
	rows := rowsOf(f)
	out := make([]string, len(rows))
	for i := range rows {
		if !rows[i].blank {
			var b strings.Builder
			rows[i].write(&b)
			out[i] = b.String()
		}
		if saying1(f.Lines[i].Text) != saying1(out[i]) {
			out[i] = f.Lines[i].Text
		}
	}
	return out
}

// rowsOf brings every line into its canonical form, and lines that stand
// together under one another.
func rowsOf(f *File) []row {
	rows := make([]row, len(f.Lines))
	seats := f.Seats()
	for i, l := range f.Lines {
		rows[i] = canonical(l)
		rows[i].indent = indent(l, seats[i])
	}
	for i := len(rows) - 2; i >= 0; i-- { // a comment alone goes with what follows it
		if rows[i].loose && !rows[i+1].blank {
			rows[i].indent = rows[i+1].indent
		}
	}
	align(f, rows, seats)
	alignKits(f, rows)
	return rows
}

// A row is one line on its way to its canonical form.
type row struct {
	indent  int
	head    string
	cells   []string
	starts  []int // bar at which each cell starts, counted from the row's first
	columns []int // where each cell's bar line goes; nil: close up
	comment string
	blank   bool
	loose   bool // a comment alone on its line
	more    bool // goes on from the row above
}

func (r *row) write(b *strings.Builder) {
	at := 0
	put := func(s string) {
		b.WriteString(s)
		at += utf8.RuneCountInString(s)
	}
	put(strings.Repeat(" ", r.indent))
	put(r.head)
	for i, cell := range r.cells {
		if r.columns != nil && r.columns[i] > at {
			put(strings.Repeat(" ", r.columns[i]-at))
		} else if at > r.indent {
			put(" ")
		}
		put("|")
		if cell != "" {
			put(" " + cell)
		}
	}
	if r.comment != "" {
		if at > r.indent {
			put("  ")
		}
		put(r.comment)
	}
}

func indent(l *Line, s Seat) int {
	switch {
	case s.Block == InHead || l.Form != nil && l.Form.Opens != 0 && s.Inner < 0:
		return 0
	case s.Inner >= 0 && (l.Form == nil || l.Form.Opens == 0):
		return 4
	}
	return 2
}

// canonical puts one line's words in order.
func canonical(l *Line) row {
	var r row
	r.comment = l.Comment()
	if l.Form == nil && !l.Broken {
		r.blank = r.comment == ""
		r.loose = !r.blank
		return r
	}
	if l.Broken || len(l.Problems) > 0 {
		r.head = bare(l.Text)
		r.blank = r.head == ""
		r.comment = ""
		return r
	}
	r.head = words(l)
	_, r.more = l.Stmt.(*More)
	if l.Bars == nil {
		return r
	}
	bar := 0
	for k := range l.Bars.Cells {
		c := &l.Bars.Cells[k]
		r.cells = append(r.cells, c.String())
		r.starts = append(r.starts, bar)
		bar += c.Length()
	}
	if len(r.cells) == 0 {
		r.cells, r.starts = []string{""}, []int{0}
	}
	r.starts = append(r.starts, bar)
	return r
}

// bare is a line's text without the blanks around it. A byte order mark at its
// beginning would become that of the file.
func bare(text string) string {
	return strings.TrimRight(strings.TrimLeft(text, " \t"+bom), " \t\r")
}

// words is the line up to its bars, one blank between words; the clauses of a
// cue in their order.
func words(l *Line) string {
	if limb, ok := l.Stmt.(*LimbLine); ok && limb.Cue != nil {
		return limb.cueHead()
	}
	var b strings.Builder
	for r := (reading{text: l.Text}); ; {
		t := r.next()
		if t.kind == lexer.EOF || t.kind == tokBars {
			return b.String()
		}
		if b.Len() > 0 && t.text != "," {
			b.WriteByte(' ')
		}
		b.WriteString(t.text)
	}
}

func (l *LimbLine) cueHead() string {
	line, cue := *l, *l.Cue
	line.Cue, cue.Bars, cue.Asked = &cue, nil, nil
	for _, word := range append(askedWords[:len(askedWords):len(askedWords)], "") { // "" is its own name
		for _, a := range l.Cue.Asked {
			if a.Text == word || word == "" && a.Text[0] == '"' {
				a.Text = a.String()
				cue.Asked = append(cue.Asked, a)
			}
		}
	}
	return Print(&line)
}

// String is what is asked for as the notation writes it.
func (a *Asked) String() string {
	if a.Text[0] == '"' {
		return Quote(unquote(a.Text))
	}
	return a.Text
}

// String is the mount as the notation writes it.
func (m *Mount) String() string { return m.Text }

// String is the cell as the notation writes it.
func (c *Cell) String() string {
	var b strings.Builder
	switch c.Kind {
	case RestCell, SimileCell:
		b.WriteByte("-%"[c.Kind-RestCell])
		if c.N > 1 {
			writeInt(&b, int(c.N))
		}
		if c.Kind == SimileCell && c.Times > 1 {
			b.WriteString(" x")
			writeInt(&b, int(c.Times))
		}
	default:
		signs := c.Signs()
		b.Grow(5 * len(signs))
		for i := range signs {
			if i > 0 {
				b.WriteByte(' ')
			}
			c.write(&b, &signs[i])
			writeAims(&b, c.Aims(i))
		}
	}
	return b.String()
}

// write adds a sign of the cell as the notation writes it.
func (c *Cell) write(b *strings.Builder, it *Sign) {
	switch it.Kind {
	case DynamicSign:
		b.WriteString(c.Text(it))
		return
	case WordsSign:
		b.WriteString(Quote(c.Text(it)))
		return
	case StopSign:
		it.count.write(b)
		b.WriteByte('x')
		return
	case StrokeSign:
		for range it.Grace {
			b.WriteByte('\'')
		}
		it.count.write(b)
		if it.Hand != 0 {
			b.WriteByte(it.Hand)
		}
		if it.Flags.Has(Accent) {
			b.WriteByte('>')
		}
	}
	if it.Flags.Has(Roll) {
		b.WriteByte('~')
	}
	if it.Flags.Has(HasEnd) {
		it.end.write(b)
	}
	if it.Flags.Has(Short) {
		b.WriteByte('.')
	}
}

// write adds a count as [beat.Count] spells it.
func (c shortCount) write(b *strings.Builder) {
	switch {
	case c.up == 0 && c.low > 0:
		writeInt(b, int(c.beat))
	case c.up == 1 && c.low == 2:
		writeInt(b, int(c.beat))
		b.WriteByte('&')
	default:
		b.WriteString(c.count().String())
	}
}

func writeInt(b *strings.Builder, n int) {
	if n >= 10 {
		writeInt(b, n/10)
	}
	b.WriteByte(byte('0' + n%10))
}

// Bounds on alignment: a line that would have to be stretched further than
// this stands close instead.
const (
	widestHead  = 56
	mostPadding = 72
	mostAligned = 64 // rows in one set of columns
)

// align finds the runs of lines that sound together and gives their bar lines
// common columns.
func align(f *File, rows []row, seats []Seat) {
	// The first bar line is common to the whole part or player.
	left := map[int]int{}
	for i := range rows {
		if rows[i].cells != nil {
			if w := rows[i].indent + utf8.RuneCountInString(rows[i].head); w <= widestHead {
				left[seats[i].Owner] = max(left[seats[i].Owner], w)
			}
		}
	}
	for i := 0; i < len(rows); {
		if rows[i].cells == nil {
			i++
			continue
		}
		j := i
		for j < len(rows) && (rows[j].cells != nil || asWritten(f.Lines[j])) {
			j++
		}
		alignRun(rows[i:j], left[seats[i].Owner])
		i = j
	}
}

// alignKits sets what stands where under one another: name, mount, place.
func alignKits(f *File, rows []row) {
	for i := 0; i < len(rows); {
		var columns [][3]string
		for _, l := range f.Lines[i:len(rows)] {
			cut, ok := kitColumns(l)
			if !ok {
				break
			}
			columns = append(columns, cut)
		}
		alignColumns(rows[i:i+len(columns)], columns)
		i += max(1, len(columns))
	}
}

// alignColumns writes the heads of rows, each of three columns. What is too wide
// makes no column wider.
func alignColumns(rows []row, columns [][3]string) {
	var width [2]int
	for _, c := range columns {
		for k := range width {
			if w := utf8.RuneCountInString(c[k]); w <= widestHead {
				width[k] = max(width[k], w)
			}
		}
	}
	for i, c := range columns {
		head := c[0]
		at := 0
		for part := 1; part < 3; part++ {
			if width[part-1] > 0 {
				at += width[part-1] + 1
			}
			if c[part] != "" {
				head += strings.Repeat(" ", max(1, at-utf8.RuneCountInString(head))) + c[part]
			}
		}
		rows[i].head = head
	}
}

// kitColumns parts a kit's line into name, mount and place.
func kitColumns(l *Line) (cut [3]string, ok bool) {
	if l.Broken || len(l.Problems) > 0 || l.Bars != nil {
		return cut, false
	}
	text := words(l)
	placed := false
	switch s := l.Stmt.(type) {
	case *Item:
		cut[0] = s.Name.Text
		if s.Is != nil {
			cut[0] += " is " + s.Is.Text
		}
		if s.Mount != nil {
			cut[1] = s.Mount.String()
		}
		placed = s.Spot != nil || s.Facing != nil
	case *Stand:
		cut[0] = s.Word.Text
		if s.Name != nil {
			cut[0] += " " + s.Name.Text
		}
		placed = s.Spot != nil || s.Facing != nil
	default:
		return cut, false
	}
	if placed {
		cut[2] = strings.TrimSpace(text[len(strings.TrimSpace(cut[0]+" "+cut[1])):])
	}
	return cut, true
}

func asWritten(l *Line) bool {
	limb, ok := l.Stmt.(*LimbLine)
	return ok && !l.Broken && len(l.Problems) == 0 && limb.Cue != nil && limb.Cue.AsWritten != nil
}

func alignRun(run []row, left int) {
	// Rows that begin at the same bar share their columns: a continuation is
	// aligned with the other continuations, not with the lines above it.
	byStart := map[int][]*row{}
	var order []int
	bar := 0
	for i := range run {
		r := &run[i]
		if r.cells == nil {
			continue
		}
		if !r.more {
			bar = 0
		}
		if byStart[bar] == nil {
			order = append(order, bar)
		}
		byStart[bar] = append(byStart[bar], r)
		bar += r.starts[len(r.starts)-1]
	}
	for _, start := range order {
		for rows := byStart[start]; len(rows) > 0; {
			n := min(len(rows), mostAligned)
			layOut(rows[:n], left+1)
			rows = rows[n:]
		}
	}
}

// layOut gives the rows the narrowest common columns, leaving out those that
// would have to be stretched too far.
func layOut(rows []*row, left int) {
	for {
		at := columns(rows, left)
		kept := rows[:0:0]
		for _, r := range rows {
			r.columns = make([]int, len(r.cells))
			padding, end := 0, left
			for i, c := range r.cells {
				r.columns[i] = at[r.starts[i]]
				padding += max(0, r.columns[i]-end)
				end = r.columns[i] + 3 + utf8.RuneCountInString(c)
			}
			if padding <= mostPadding {
				kept = append(kept, r)
				continue
			}
			r.columns = append([]int{left}, make([]int, len(r.cells)-1)...)
		}
		if len(kept) == len(rows) {
			return
		}
		rows = kept
	}
}

// columns places every bar at which some cell starts, in order: a bar stands
// behind the widest of the cells that end there.
func columns(rows []*row, left int) map[int]int {
	at := map[int]int{0: left}
	next := make([]int, len(rows)) // the cell of each row that is laid next
	for {
		bar, found := 0, false
		for i, r := range rows {
			if n := next[i] + 1; n < len(r.cells) && (!found || r.starts[n] < bar) {
				bar, found = r.starts[n], true
			}
		}
		if !found {
			return at
		}
		for i, r := range rows {
			n := next[i] + 1
			if n >= len(r.cells) || r.starts[n] != bar {
				continue
			}
			at[bar] = max(at[bar], at[r.starts[next[i]]]+3+utf8.RuneCountInString(r.cells[next[i]]))
			next[i]++
		}
	}
}
