package guide

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/handful/lang/words"
)

// Width is how many characters a line of prose has in a terminal, without what
// stands before it.
const Width = 88

// lines is a text that is put together line by line.
type lines struct{ strings.Builder }

func (l *lines) put(before, text string) {
	l.WriteString(strings.TrimRight(before+text, " ") + "\n")
}

// wrap puts a paragraph, its first line behind one thing and the others behind
// another.
func (l *lines) wrap(first, others, text string) {
	for i, line := range words.Wrap(text, Width) {
		if i > 0 {
			first = others
		}
		l.put(first, line)
	}
}

func (l *lines) verbatim(before, text string) {
	for _, line := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		l.put(before, line)
	}
}

// Text is the topic for a terminal.
func (t *Topic) Text() string {
	out := &lines{}
	out.put("", t.Title)
	out.put("", strings.Repeat("=", utf8.RuneCountInString(t.Title)))
	out.put("", "")
	out.wrap("", "", t.Says)
	for i := range t.nodes {
		out.put("", "")
		t.nodes[i].write(out)
	}
	return out.String()
}

func (n *node) write(out *lines) {
	switch n.kind {
	case heading:
		title := bare(n.text)
		out.put("", title)
		if n.level < 3 {
			out.put("", strings.Repeat("-", utf8.RuneCountInString(title)))
		}
	case fenced:
		n.block.write(out)
	case bullets:
		for _, item := range n.items {
			out.wrap("- ", "  ", bare(item))
		}
	case numbers:
		for i, item := range n.items {
			mark := fmt.Sprintf("%d. ", i+1)
			out.wrap(mark, strings.Repeat(" ", len(mark)), bare(item))
		}
	case terms:
		for i, t := range n.terms {
			if i > 0 {
				out.put("", "")
			}
			out.put("", bare(t[0]))
			out.wrap("  ", "  ", bare(t[1]))
		}
	case caution:
		out.wrap("  ! ", "    ", bare(n.text))
	default:
		out.wrap("", "", bare(n.text))
	}
}

func (b *Block) write(out *lines) {
	switch b.Kind {
	case "table":
		table := tableOf(b.File)
		rows := table.rows
		if n := len(table.head); n > 0 && table.head[n-1] == forExample { // too much for columns
			for _, r := range rows {
				out.put("", r[0])
				out.wrap("    ", "    ", r[1])
				out.put("    as in  ", r[2])
			}
			return
		}
		if len(table.head) > 0 {
			rows = append([][]string{table.head}, rows...)
		}
		writeTable(out, rows)
		return
	case "handful", "edit":
		if b.File != "" {
			out.put("", map[string]string{"handful": "In ", "edit": "Change in "}[b.Kind]+b.File+":")
			out.put("", "")
		}
	}
	out.verbatim("    ", b.Text)
	if len(b.Finds) > 0 {
		out.put("", "")
		out.put("    ", finds(b.Finds))
	}
}

// finds says what a check of a block finds.
func finds(rules []string) string { return "A check finds: " + strings.Join(rules, ", ") }

// writeTable puts rows whose first columns are as wide as they need to be and
// whose last is wrapped.
func writeTable(out *lines, rows [][]string) {
	if len(rows) == 0 {
		return
	}
	last := len(rows[0]) - 1
	width := make([]int, last)
	for _, r := range rows {
		for i := range width {
			width[i] = max(width[i], min(40, utf8.RuneCountInString(r[i])))
		}
	}
	sum := 0
	for _, w := range width {
		sum += w + 2
	}
	for _, r := range rows {
		var head strings.Builder
		wide := false
		for i, w := range width {
			n := utf8.RuneCountInString(r[i])
			head.WriteString(r[i] + strings.Repeat(" ", max(0, w-n)+2))
			wide = wide || n > w
		}
		first := head.String()
		if wide { // what is longer than its column has a line of its own
			out.put("", first)
			first = strings.Repeat(" ", sum)
		}
		for i, line := range words.Wrap(r[last], max(30, Width-sum)) {
			if i > 0 {
				first = strings.Repeat(" ", sum)
			}
			out.put(first, line)
		}
	}
}

// A Hit is a place of the handbook in which words were found.
type Hit struct {
	Kind, Name string // topic, rule, instrument or implement, and what it is asked for by
	Says       string // what that is
	Line       string // where the words stand; "" where it is only the whole that has them all
	weight     int
}

// Search finds what has all of the words, in any order: first what is called
// so, then what says so in one line, then what says so at all. A word may be
// the beginning of one.
func Search(query string) []Hit {
	wanted := strings.Fields(fold(query))
	if len(wanted) == 0 {
		return nil
	}
	var out []Hit
	for _, e := range Entries() {
		body := e.Text()
		if !holds(e.Name+" "+e.Says+" "+body, wanted) {
			continue
		}
		h := Hit{Kind: e.Kind, Name: e.Name, Says: e.Says}
		switch {
		case holds(e.Name, wanted):
			h.weight = 3
		case holds(e.Says, wanted):
			h.weight = 2
		default:
			for _, line := range strings.Split(body, "\n") {
				if holds(line, wanted) {
					h.Line, h.weight = strings.TrimSpace(line), 1
					break
				}
			}
		}
		out = append(out, h)
	}
	slices.SortStableFunc(out, func(a, b Hit) int { return b.weight - a.weight })
	return out
}

// holds says whether a text has words that begin with each of those wanted.
func holds(text string, wanted []string) bool {
	text = " " + fold(text)
	for _, w := range wanted {
		if !strings.Contains(text, " "+w) {
			return false
		}
	}
	return true
}

// fold is a text in small letters, words parted by single blanks.
func fold(text string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return r < '0' || r > '9' && r < 'a' || r > 'z' && r < 0x80
	}), " ")
}
