package guide

import (
	"regexp"
	"strings"
	"sync"
)

// The topics are written in as much of Markdown as they need, one block below
// the other: headings, paragraphs, lists with - or 1., terms with : before what
// they mean, cautions with >, and fences. In a line stand `notation`, *stress*,
// **weight** and [words](kind:name), a link to what the handbook has under that
// name. Libraries that read all of Markdown make tables of it whenever the
// program starts, and every verb would be slower by as much.
type node struct {
	kind  nodeKind
	level int         // of a heading
	text  string      // of a heading, a paragraph or a caution
	items []string    // of a list
	terms [][2]string // and what they mean
	block Block
}

type nodeKind uint8

const (
	para nodeKind = iota
	heading
	bullets
	numbers
	terms
	caution
	fenced
)

const fence = "```"

var numbered = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^\d+\. `) })

// read takes a text apart.
func read(text string) []node {
	var out []node
	lines := strings.Split(text, "\n")
	for i := 0; i < len(lines); {
		line := lines[i]
		switch {
		case strings.TrimSpace(line) == "":
			i++
		case strings.HasPrefix(line, fence):
			from := i + 1
			for i++; i < len(lines) && lines[i] != fence; i++ {
			}
			text := strings.Join(lines[from:i], "\n")
			if text != "" {
				text += "\n"
			}
			out = append(out, node{kind: fenced, block: readBlock(line[len(fence):], text)})
			i++
		case strings.HasPrefix(line, "#"):
			level := len(line) - len(strings.TrimLeft(line, "#"))
			out = append(out, node{kind: heading, level: level, text: strings.TrimSpace(line[level:])})
			i++
		default:
			from := i
			for i < len(lines) && strings.TrimSpace(lines[i]) != "" && !strings.HasPrefix(lines[i], fence) {
				i++
			}
			out = append(out, readProse(lines[from:i]))
			if n := len(out); n > 1 && out[n-1].kind == terms && out[n-2].kind == terms {
				out[n-2].terms = append(out[n-2].terms, out[n-1].terms...)
				out = out[:n-1]
			}
		}
	}
	return out
}

// readProse reads lines without a blank one between them.
func readProse(lines []string) node {
	items := func(begins func(string) string) []string {
		var out []string
		for _, l := range lines {
			if mark := begins(l); mark != "" {
				out = append(out, l[len(mark):])
			} else {
				out[len(out)-1] += " " + strings.TrimSpace(l)
			}
		}
		return out
	}
	join := func(lines []string, cut string) string {
		var out []string
		for _, l := range lines {
			out = append(out, strings.TrimSpace(strings.TrimPrefix(l, cut)))
		}
		return strings.Join(out, " ")
	}
	switch {
	case strings.HasPrefix(lines[0], "- "):
		return node{kind: bullets, items: items(func(l string) string {
			if strings.HasPrefix(l, "- ") {
				return "- "
			}
			return ""
		})}
	case numbered().MatchString(lines[0]):
		return node{kind: numbers, items: items(numbered().FindString)}
	case strings.HasPrefix(lines[0], ">"):
		return node{kind: caution, text: join(lines, ">")}
	case len(lines) > 1 && strings.HasPrefix(lines[1], ": "):
		return node{kind: terms, terms: [][2]string{{lines[0], join(lines[1:], ":")}}}
	}
	return node{kind: para, text: join(lines, "")}
}

// A span is a stretch of a line that is written in one way.
type span struct {
	kind spanKind
	text string
	to   string // where a link leads, as kind:name
}

type spanKind uint8

const (
	plain spanKind = iota
	notation
	stress
	weight
	linked
)

var marked = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile("`([^`]+)`|\\*\\*([^*]+)\\*\\*|\\*([^*]+)\\*|\\[([^]]+)\\]\\(([^)]+)\\)")
})

// spans takes a line apart.
func spans(text string) []span {
	var out []span
	at := 0
	for _, m := range marked().FindAllStringSubmatchIndex(text, -1) {
		if m[0] > at {
			out = append(out, span{text: text[at:m[0]]})
		}
		group := func(n int) string { return text[m[2*n]:m[2*n+1]] }
		switch {
		case m[2] >= 0:
			out = append(out, span{kind: notation, text: group(1)})
		case m[4] >= 0:
			out = append(out, span{kind: weight, text: group(2)})
		case m[6] >= 0:
			out = append(out, span{kind: stress, text: group(3)})
		default:
			out = append(out, span{kind: linked, text: group(4), to: group(5)})
		}
		at = m[1]
	}
	return append(out, span{text: text[at:]})
}

// bare is a line without its marks.
func bare(text string) string {
	var b strings.Builder
	for _, s := range spans(text) {
		b.WriteString(s.text)
	}
	return b.String()
}
