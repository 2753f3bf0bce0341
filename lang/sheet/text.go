package sheet

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"example.org/handful/lang/check"
	"example.org/handful/lang/words"
)

// Text is a player's cue sheet for a terminal; for "" the whole set of sheets
// is listed, one after the other.
func Text(r *check.Result, player string) string {
	return TextPage(Docs([]*check.Result{r}, Options{Player: player}))
}

// TextPage is documents one after the other, for a terminal.
func TextPage(docs []Doc) string {
	var b strings.Builder
	for i := range docs {
		if i > 0 {
			b.WriteString("\n")
		}
		b.WriteString(docs[i].Text())
	}
	return b.String()
}

// textWidth is how wide lines of text are, in characters.
const textWidth = 100

// Text is the document for a terminal.
func (doc *Doc) Text() string {
	var b strings.Builder
	title := doc.heading()
	fmt.Fprintf(&b, "%s\n%s\n", title, strings.Repeat("=", utf8.RuneCountInString(title)))
	for _, p := range doc.Pages {
		for _, s := range p.Said {
			if s.Table != nil {
				s.Table.text(&b)
				continue
			}
			if s.Heading {
				b.WriteString("\n")
			}
			for _, line := range words.Wrap(s.Text, textWidth) {
				b.WriteString(line + "\n")
			}
		}
	}
	return strings.ReplaceAll(b.String(), "\u00a0", " ")
}

// text writes a table: as many columns side by side as there is room for,
// with what each row is about before them.
func (t *table) text(b *strings.Builder) {
	if t.Caption != "" {
		fmt.Fprintf(b, "\n%s\n", t.Caption)
	}
	if len(t.Head) == 0 {
		return
	}
	widths := t.widths()
	lead := 0
	for _, w := range widths[:t.Lead] {
		lead += w + colGap
	}
	for from := t.Lead; from < len(t.Head) || from == t.Lead; {
		sum, to := lead, from
		for to < len(t.Head) && (to == from || sum+widths[to] <= textWidth-2) {
			sum += widths[to] + colGap
			to++
		}
		t.columns(b, widths, from, to)
		if from = to; from >= len(t.Head) {
			return
		}
	}
}

const (
	colGap  = 3
	cellMax = 28 // characters of a column; longer cells are broken
)

func (t *table) widths() []int {
	widths := make([]int, len(t.Head))
	for i := range widths {
		widths[i] = utf8.RuneCountInString(t.Head[i])
		for _, r := range t.Rows {
			if i < len(r) {
				widths[i] = max(widths[i], utf8.RuneCountInString(r[i]))
			}
		}
		widths[i] = min(widths[i], cellMax)
	}
	return widths
}

// columns writes some columns of a table, with the lead before them. A row
// that has nothing there is left out.
func (t *table) columns(b *strings.Builder, widths []int, from, to int) {
	var shown []int
	for i := range t.Head {
		if i < to && (i < t.Lead || i >= from) {
			shown = append(shown, i)
		}
	}
	writeRow(b, t.Head, widths, shown)
	for _, r := range t.Rows {
		if strings.Join(r[from:to], "") != "" {
			writeRow(b, r, widths, shown)
		}
	}
}

// writeRow writes the cells of a row that are shown, each in its width.
func writeRow(b *strings.Builder, cells []string, widths, shown []int) {
	parts := make([][]string, len(cells))
	lines := 1
	for _, i := range shown {
		parts[i] = words.Wrap(cells[i], widths[i])
		lines = max(lines, len(parts[i]))
	}
	for k := range lines {
		var line strings.Builder
		for _, i := range shown {
			text := ""
			if k < len(parts[i]) {
				text = parts[i][k]
			}
			line.WriteString(text + strings.Repeat(" ", max(0, widths[i]-utf8.RuneCountInString(text))+colGap))
		}
		b.WriteString("  " + strings.TrimRight(line.String(), " ") + "\n")
	}
}
