package lsp

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

// mostReasons is how many findings of a line are told at once.
const mostReasons = 3

// reason says what is found at a place of a line and, where nothing is, what the
// tightest change of its cue takes. All of a cue speaks for it, so that nobody
// has to look for the spot that does; what is under the cursor comes first, and
// a stroke has its own change.
func (h *hover) reason(col int, stroke bool) (text string, at syntax.Span) {
	var here []*check.Finding
	under := func(f *check.Finding) bool { return int(f.Where.Start) <= col && col <= int(f.Where.End) }
	cue := h.cue()
	for i := range h.r.Findings {
		f := &h.r.Findings[i]
		if f.Where.File == 0 && int(f.Where.Line) == h.line && h.d.analysis.conf.severity(f) != off && (under(f) || cue != nil) {
			here = append(here, f)
		}
	}
	slices.SortStableFunc(here, func(a, b *check.Finding) int {
		if under(a) != under(b) {
			if under(a) {
				return -1
			}
			return 1
		}
		return int(a.Severity) - int(b.Severity)
	})
	var out []string
	told, beside := false, h.beside()
	for i, f := range here {
		if i == mostReasons {
			out = append(out, fmt.Sprintf("… and %d more in this line", len(here)-i))
			break
		}
		if !under(f) || !beside {
			out = append(out, fmt.Sprintf("**%s %s** · %s", f.Severity, f.Rule.Name, md(findingWords(f))))
		}
		if f.Timed {
			told, h.told = true, h.told || under(f)
			out = append(out, arithmetic(f.Sums, f.Need, f.Window))
		}
		if i == 0 {
			at = syntax.Span{Start: int(f.Where.Start), End: int(f.Where.End)}
		}
	}
	if !told && !stroke && cue != nil {
		for _, m := range h.r.Motions {
			if ch := tightest(m, func(ch *motion.Change) bool { return ch.To.Cue == cue && timed(ch) }); ch != nil {
				out = append(out, h.r.Score.Place(ch.To.At())+" – "+changeWords(ch))
				if len(out) == 1 {
					at = syntax.Span{Start: int(cue.Where.Start), End: int(cue.Where.End)}
				}
			}
		}
	}
	return strings.Join(out, "\n\n"), at
}

// beside says whether the client shows the sentences of what is under the cursor
// by itself, beside what is answered here.
func (h *hover) beside() bool {
	return h.s.can.tellsFindings && (h.d.pen == nil || h.d.pen.rests.Load())
}

// cue is the cue whose line it is, or nil.
func (h *hover) cue() *score.Cue {
	for _, p := range h.r.Score.Players {
		for _, c := range p.Cues {
			if c.Where.File == 0 && int(c.Where.Line) == h.line {
				return c
			}
		}
	}
	return nil
}

// changeWords is a change with its arithmetic.
func changeWords(ch *motion.Change) string {
	var sums []check.Sum
	for _, m := range ch.Motions {
		sums = append(sums, check.Sum{Words: m.Words, Code: m.Code, Seconds: m.Pace, Source: m.Source})
	}
	return fmt.Sprintf("The %s has %s to %s: %s\n\n%s", ch.Hand.Name(), words.Seconds(ch.Window), md(check.Doing(ch)), check.Spare(ch), arithmetic(sums, ch.Need, ch.Window))
}

// arithmetic is what something takes and what there is: the outcome first, then
// each motion, and each source once.
func arithmetic(sums []check.Sum, need body.Pace, window float64) string {
	rows := [][]string{
		{"", "limit", "fastest", "steady", "from"},
		{"to spare", words.SignedSeconds(window - need.Limit), words.SignedSeconds(window - need.Floor), words.SignedSeconds(window - need.Steady), ""},
		{"needed", words.Seconds(need.Limit), words.Seconds(need.Floor), words.Seconds(need.Steady), ""},
		{"there is", words.Seconds(window), words.Seconds(window), words.Seconds(window), ""},
	}
	var sources []string
	for _, m := range sums {
		rows = append(rows, []string{md(m.Words), words.Seconds(m.Seconds.Limit), words.Seconds(m.Seconds.Floor), words.Seconds(m.Seconds.Steady), md(m.Code)})
		if m.Source != "" && !slices.Contains(sources, m.Source) {
			sources = append(sources, m.Source)
		}
	}
	told := aligned(rows)
	if sources != nil {
		told += "\nfrom: " + md(strings.Join(sources, "; ")) + "\n"
	}
	return told
}

// aligned is a table of Markdown, the first row its head, in columns that also
// stand below one another where it is shown as it is written.
func aligned(rows [][]string) string {
	wide := make([]int, len(rows[0]))
	for _, r := range rows {
		for i, cell := range r {
			wide[i] = max(wide[i], 3, utf8.RuneCountInString(cell))
		}
	}
	var b strings.Builder
	for n, r := range rows {
		for i, cell := range r {
			fmt.Fprintf(&b, "| %-*s ", wide[i], cell)
		}
		b.WriteString("|\n")
		if n == 0 {
			for _, w := range wide {
				b.WriteString("| " + strings.Repeat("-", w) + " ")
			}
			b.WriteString("|\n")
		}
	}
	return b.String()
}
