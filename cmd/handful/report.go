package main

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/fatih/color"
	"golang.org/x/term"

	"handful/lang/check"
	"handful/lang/score"
)

// painter colours words when the output is a terminal and nobody asked it not
// to; every colour also is a word.
type painter struct{ on bool }

func painterFor(w io.Writer) painter {
	f, ok := w.(*os.File)
	_, no := os.LookupEnv("NO_COLOR")
	return painter{on: ok && !no && os.Getenv("TERM") != "dumb" && term.IsTerminal(int(f.Fd()))}
}

func (p painter) paint(text string, attrs ...color.Attribute) string {
	if !p.on {
		return text
	}
	c := color.New(attrs...)
	c.EnableColor()
	return c.Sprint(text)
}

func (p painter) severity(s check.Severity) string {
	attr := map[check.Severity]color.Attribute{check.Error: color.FgRed, check.Warning: color.FgYellow, check.Compromise: color.FgCyan, check.Info: color.FgBlue}[s]
	return p.paint(s.String(), attr, color.Bold)
}

// writeText reports to people.
func writeText(w io.Writer, all []checked) error {
	out := bufio.NewWriter(w)
	p := painterFor(w)
	for i := range all {
		c := &all[i]
		for k := range c.result.Findings {
			var fixes []check.Fix
			if c.fixes != nil {
				fixes = c.fixes[k]
			}
			writeFinding(out, p, c, &c.result.Findings[k], fixes)
		}
	}
	for i := range all {
		writeCeilings(out, &all[i], len(all) > 1)
	}
	writeSummary(out, all)
	return out.Flush()
}

// pathOf is how the file of a place is shown.
func (c *checked) pathOf(w score.Where) string {
	if w.File == 0 {
		return c.path
	}
	return c.result.Score.Sources[w.File].Name
}

func (c *checked) lineText(w score.Where) string {
	lines := c.result.Score.Sources[w.File].File.Lines
	if int(w.Line) >= len(lines) {
		return ""
	}
	return lines[w.Line].Text
}

// column is the column of a byte of a line, in characters from 1.
func column(text string, at int32) int {
	return utf8.RuneCountInString(text[:min(int(at), len(text))]) + 1
}

func writeFinding(out *bufio.Writer, p painter, c *checked, f *check.Finding, fixes []check.Fix) {
	text := c.lineText(f.Where)
	fmt.Fprintf(out, "%s  %s\n", p.paint(fmt.Sprintf("%s:%d:%d", c.pathOf(f.Where), f.Where.Line+1, column(text, f.Where.Start)), color.Bold),
		p.severity(f.Severity)+" "+f.Rule.Name)
	where := ""
	if f.HasPlace {
		where = "bar " + fmt.Sprint(f.Bar) + ", count " + f.Count + ": "
	}
	for _, line := range wrap(where+f.Message, 96) {
		fmt.Fprintf(out, "  %s\n", line)
	}
	if strings.TrimSpace(text) != "" {
		source, mark := excerpt(text, int(f.Where.Start), int(f.Where.End))
		fmt.Fprintf(out, "    %s\n    %s\n", source, p.paint(mark, color.FgRed))
	}
	if f.Timed {
		writeSums(out, f)
	}
	for _, n := range f.Related {
		fmt.Fprintf(out, "    %s:%d: %s\n", c.pathOf(n.Where), n.Where.Line+1, n.Message)
	}
	for _, fix := range fixes {
		fmt.Fprintf(out, "    would help: %s\n", fix.Title)
	}
	fmt.Fprintln(out)
}

// writeSums shows the arithmetic of a finding, motion by motion.
func writeSums(out *bufio.Writer, f *check.Finding) {
	if len(f.Sums) > 0 {
		width, codes := 0, 0
		for _, m := range f.Sums {
			width = max(width, utf8.RuneCountInString(m.Words))
			codes = max(codes, utf8.RuneCountInString(m.Code))
		}
		line := func(words, code string, floor, steady string) {
			fmt.Fprintf(out, "      %-*s  %-*s  %8s  %8s\n", width, words, codes, code, floor, steady)
		}
		width = max(width, len("there is"))
		line("", "", "fastest", "steady")
		for _, m := range f.Sums {
			line(m.Words, m.Code, secs(m.Seconds.Floor), secs(m.Seconds.Steady))
		}
		line("in all", "", secs(f.Need.Floor), secs(f.Need.Steady))
		line("there is", "", secs(f.Window), secs(f.Window))
		line("to spare", "", signed(f.Window-f.Need.Floor), signed(f.Window-f.Need.Steady))
		return
	}
	fmt.Fprintf(out, "      needs %s at the fastest, %s steady; there is %s\n", secs(f.Need.Floor), secs(f.Need.Steady), secs(f.Window))
}

func secs(s float64) string   { return fmt.Sprintf("%.2f s", s) }
func signed(s float64) string { return fmt.Sprintf("%+.2f s", s) }

// widest is how much of a source line is shown; the rest is cut around the
// marked range.
const widest = 100

// excerpt is a source line and, under it, a line that marks a range. Tabs stay
// tabs in both, so that they line up in any terminal; combining characters
// take no column and wide ones two.
func excerpt(text string, start, end int) (source, mark string) {
	start, end = min(start, len(text)), min(end, len(text))
	from, to := 0, len(text)
	if utf8.RuneCountInString(text) > widest {
		from = start
		for n := 0; from > 0 && n < widest/3; n++ {
			_, size := utf8.DecodeLastRuneInString(text[:from])
			from -= size
		}
		to = from
		for n := 0; to < len(text) && n < widest; n++ {
			_, size := utf8.DecodeRuneInString(text[to:])
			to += size
		}
	} else {
		from = len(text) - len(strings.TrimLeft(text, " \t"))
		from = min(from, start)
	}
	var src, m strings.Builder
	if from > 0 && strings.TrimLeft(text[:from], " \t") != "" {
		src.WriteString("…")
		m.WriteString(" ")
	}
	marked := false
	for i := from; i < to; {
		r, size := utf8.DecodeRuneInString(text[i:])
		in := i >= start && i < end
		switch {
		case r == '\t':
			src.WriteByte('\t')
			m.WriteByte('\t')
		case r == utf8.RuneError && size == 1 || unicode.IsControl(r):
			src.WriteRune('\ufffd')
			m.WriteString(caret(in, 1))
		default:
			src.WriteRune(r)
			m.WriteString(caret(in, cells(r)))
		}
		marked = marked || in
		i += size
	}
	if to < len(text) {
		src.WriteString("…")
	}
	if !marked {
		m.WriteByte('^')
	}
	return src.String(), strings.TrimRight(m.String(), " ")
}

func caret(in bool, n int) string {
	if in {
		return strings.Repeat("^", n)
	}
	return strings.Repeat(" ", n)
}

// cells is how many columns a terminal gives a character: none to a combining
// one, two to the wide ones of East Asian scripts, else one.
func cells(r rune) int {
	switch {
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	case unicode.In(r, unicode.Han, unicode.Hangul, unicode.Hiragana, unicode.Katakana), r >= 0xff01 && r <= 0xff60, r >= 0x1f300 && r <= 0x1faff:
		return 2
	}
	return 1
}

func wrap(text string, width int) []string {
	var lines []string
	line := ""
	for _, w := range strings.Fields(text) {
		if line != "" && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(w) > width {
			lines = append(lines, line)
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += w
	}
	return append(lines, line)
}

// writeCeilings says how fast each player can take the piece.
func writeCeilings(out *bufio.Writer, c *checked, named bool) {
	for _, l := range c.result.Ceilings() {
		prefix := ""
		if named {
			prefix = c.path + ": "
		}
		fmt.Fprintf(out, "%s%s\n", prefix, ceilingWords(c.result, l))
	}
}

func ceilingWords(r *check.Result, l check.Ceiling) string {
	switch {
	case math.IsInf(l.Factor, 1):
		return l.Player + ": nothing here limits the tempo"
	case l.Factor <= 0:
		return fmt.Sprintf("%s: cannot be played at any tempo; see %s", l.Player, l.Place)
	}
	bar, count := r.Score.Grid.Place(l.At)
	unit := r.Score.Grid.Meter(bar).CountLength(count.Beat)
	return fmt.Sprintf("%s plays up to %s = %.0f (%.2f of the written tempo); %s at %s sets it", l.Player, unit, math.Floor(l.CountsPerMinute), l.Factor, l.Words, l.Place)
}

// writeSummary closes the report with what was read.
func writeSummary(out *bufio.Writer, all []checked) {
	var bars, players, strokes, accepted int
	var by [4]int
	var cover score.Coverage
	for _, c := range all {
		s := c.result.Score
		bars += s.Grid.Last()
		players += len(s.Players)
		accepted += c.result.Accepted
		for _, p := range s.Players {
			for _, cue := range p.Cues {
				strokes += len(cue.Strokes)
			}
		}
		for i := range c.result.Findings {
			by[c.result.Findings[i].Severity]++
		}
		cover.Written += s.Coverage.Written
		cover.Covered += s.Coverage.Covered
		cover.Substituted += s.Coverage.Substituted
		cover.Omitted += s.Coverage.Omitted
	}
	fmt.Fprintf(out, "read %s, %s, %s, %s: %s, %s, %s, %d info",
		count(len(all), "file", "files"), count(bars, "bar", "bars"), count(players, "player", "players"), count(strokes, "stroke", "strokes"),
		count(by[0], "error", "errors"), count(by[1], "warning", "warnings"), count(by[2], "compromise", "compromises"), by[3])
	if accepted > 0 {
		fmt.Fprintf(out, ", %d accepted", accepted)
	}
	fmt.Fprintln(out)
	if cover.Written > 0 {
		fmt.Fprintf(out, "%s written: %d covered, %d substituted, %d left out, %d played by nobody\n", count(cover.Written, "stroke", "strokes"),
			cover.Covered, cover.Substituted, cover.Omitted, cover.Written-cover.Covered-cover.Substituted-cover.Omitted)
	}
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
