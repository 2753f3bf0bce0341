package main

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/fatih/color"

	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/words"
)

// painter colours words when the output is a terminal and nobody asked it not
// to; every colour also is a word.
type painter struct{ on bool }

func painterFor(o *output) painter {
	o.colour = os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb" && o.terminal()
	return painter{on: o.colour}
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
	if !p.on {
		return s.String()
	}
	attr := map[check.Severity]color.Attribute{check.Error: color.FgRed, check.Warning: color.FgYellow, check.Compromise: color.FgCyan, check.Info: color.FgBlue}[s]
	return p.paint(s.String(), attr, color.Bold)
}

// textForm reports to people.
type textForm struct {
	painter
	named  bool   // there are several files
	whatIf string // what was supposed, in words
}

// How much room a finding and a ceiling take at first.
const (
	usualFinding = 512
	usualCeiling = 384
)

func (t textForm) render(c *checked, p *page) {
	var out bytes.Buffer
	out.Grow(usualFinding * len(c.result.Findings))
	for _, k := range c.result.ByWeight() {
		var fixes []check.Fix
		if c.fixes != nil {
			fixes = c.fixes[k]
		}
		writeFinding(&out, t.painter, c, &c.result.Findings[k], fixes)
	}
	p.findings = out.Bytes()
	var ends bytes.Buffer
	ends.Grow(usualCeiling * len(c.ceilings))
	writeCeilings(&ends, c, t.named)
	p.ceilings = bytes.Clone(ends.Bytes()) // which wait for the end of the run: no more than they are
}

func (textForm) next(w io.Writer, p *page) error {
	_, err := w.Write(p.findings)
	p.findings = nil
	return err
}

func (t textForm) all(w io.Writer, pages []page) error {
	out := bufio.NewWriter(w)
	for _, p := range pages {
		out.Write(p.ceilings)
	}
	if t.whatIf != "" {
		fmt.Fprintf(out, "supposing it goes %s\n", clean(t.whatIf))
	}
	writeSummary(out, pages)
	return out.Flush()
}

// pathOf is how the file of a place is shown.
func (c *checked) pathOf(w score.Where) string {
	if w.File == 0 {
		return c.path
	}
	abs := filepath.Join(c.root, filepath.FromSlash(c.result.Score.Sources[w.File].Name))
	if rel, err := filepath.Rel(c.wd, abs); err == nil && !filepath.IsAbs(c.path) {
		return rel
	}
	return abs
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

func writeFinding(out *bytes.Buffer, p painter, c *checked, f *check.Finding, fixes []check.Fix) {
	text := c.lineText(f.Where)
	began := out.Len()
	out.WriteString(clean(c.pathOf(f.Where)))
	writeNumber(out, int(f.Where.Line)+1)
	writeNumber(out, column(text, f.Where.Start))
	if p.on {
		at := string(out.Bytes()[began:])
		out.Truncate(began)
		out.WriteString(p.paint(at, color.Bold))
	}
	writeAll(out, "  ", p.severity(f.Severity))
	if f.Rule.Name != f.Severity.String() {
		writeAll(out, " ", f.Rule.Name)
	}
	out.WriteByte('\n')
	said := clean(f.Message())
	if f.HasPlace {
		said = clean(f.Place()) + ": " + said
	}
	for _, line := range words.Wrap(said, 96) {
		writeAll(out, "  ", line, "\n")
	}
	if strings.TrimSpace(text) != "" && !f.WholeFile() {
		source, mark := excerpt(text, int(f.Where.Start), int(f.Where.End))
		writeAll(out, "    ", source, "\n    ", p.paint(mark, color.FgRed), "\n")
	}
	if f.Timed {
		writeSums(out, f)
	}
	item := func(text string) {
		for i, line := range words.Wrap(clean(text), 90) {
			writeAll(out, "    ", [...]string{"", "  "}[min(i, 1)], line, "\n")
		}
	}
	for _, n := range f.Related {
		item(c.pathOf(n.Where) + ":" + strconv.Itoa(int(n.Where.Line)+1) + ": " + n.Message())
	}
	for _, fix := range fixes {
		item("would help: " + fix.Title)
	}
	out.WriteByte('\n')
}

// writeAll writes some texts, one behind the other.
func writeAll(out *bytes.Buffer, texts ...string) {
	for _, text := range texts {
		out.WriteString(text)
	}
}

// writeNumber writes a number behind a colon.
func writeNumber(out *bytes.Buffer, n int) {
	out.WriteByte(':')
	out.Write(strconv.AppendInt(out.AvailableBuffer(), int64(n), 10))
}

// writeSums shows the arithmetic of a finding, motion by motion.
func writeSums(out io.Writer, f *check.Finding) {
	if len(f.Sums) > 0 {
		width, codes := 0, 0
		for _, m := range f.Sums {
			width = max(width, utf8.RuneCountInString(m.Words))
			codes = max(codes, utf8.RuneCountInString(m.Code))
		}
		line := func(words, code, limit, floor, steady string) {
			fmt.Fprintf(out, "      %-*s  %-*s  %8s  %8s  %8s\n", width, words, codes, code, limit, floor, steady)
		}
		width = max(width, len("there is"))
		line("", "", "limit", "fastest", "steady")
		for _, m := range f.Sums {
			line(m.Words, m.Code, words.Seconds(m.Seconds.Limit), words.Seconds(m.Seconds.Floor), words.Seconds(m.Seconds.Steady))
		}
		line("in all", "", words.Seconds(f.Need.Limit), words.Seconds(f.Need.Floor), words.Seconds(f.Need.Steady))
		line("there is", "", words.Seconds(f.Window), words.Seconds(f.Window), words.Seconds(f.Window))
		line("to spare", "", words.SignedSeconds(f.Window-f.Need.Limit), words.SignedSeconds(f.Window-f.Need.Floor), words.SignedSeconds(f.Window-f.Need.Steady))
		return
	}
	fmt.Fprintf(out, "      needs %s at the limit, %s at the fastest, %s steady; there is %s\n", words.Seconds(f.Need.Limit), words.Seconds(f.Need.Floor), words.Seconds(f.Need.Steady), words.Seconds(f.Window))
}

// widest is how much of a source line is shown; the rest is cut around the
// marked range.
const widest = 100

// excerpt is a source line and, under it, a line that marks a range; an empty
// range marks the character behind it. Tabs stay tabs in both, so that they
// line up in any terminal; combining characters take no column and wide ones
// two.
func excerpt(text string, start, end int) (source, mark string) {
	start = max(0, min(start, len(text)))
	end = max(start, min(end, len(text)))
	if start == end && start < len(text) {
		_, size := utf8.DecodeRuneInString(text[start:])
		end += size
	}
	for start > 0 && start < len(text) { // begin at the letter that a combining mark sits on
		if r, _ := utf8.DecodeRuneInString(text[start:]); cells(r) > 0 {
			break
		}
		_, size := utf8.DecodeLastRuneInString(text[:start])
		start -= size
	}
	from, to := window(text, start)
	if shown, marked := text[from:to], min(end, to)-start; to == len(text) && start >= from && marked > 0 && isPlain(shown) && strings.TrimLeft(text[:from], " \t") == "" {
		return shown, strings.Repeat(" ", start-from) + strings.Repeat("^", marked) // nearly all: a column for each byte
	}
	var src, m strings.Builder
	if strings.TrimLeft(text[:from], " \t") != "" {
		src.WriteString("…")
		m.WriteString(" ")
	}
	begin := -1 // where the mark begins in its line
	for i := from; i < to; {
		if i == start {
			begin = m.Len()
		}
		r, size := utf8.DecodeRuneInString(text[i:])
		in := i >= start && i < end
		switch {
		case r == '\t':
			src.WriteByte('\t')
			m.WriteByte('\t')
		case unseen(r):
			src.WriteRune(utf8.RuneError)
			m.WriteString(caret(in, 1))
		default:
			src.WriteRune(r)
			m.WriteString(caret(in, cells(r)))
		}
		i += size
	}
	if to < len(text) {
		src.WriteString("…")
	}
	mark = m.String()
	switch {
	case strings.Contains(mark, "^"):
		mark = strings.TrimRight(mark, " \t")
	case begin >= 0: // nothing but tabs
		mark = mark[:begin] + "^"
	default: // the end of the line
		mark += "^"
	}
	return src.String(), mark
}

// window is the part of a line that is shown: all of it but the indentation,
// or what is around a byte when the line is long.
func window(text string, at int) (from, to int) {
	if utf8.RuneCountInString(text) <= widest {
		return min(at, len(text)-len(strings.TrimLeft(text, " \t"))), len(text)
	}
	from = at
	for range widest / 3 {
		_, size := utf8.DecodeLastRuneInString(text[:from])
		from -= size
	}
	to = from
	for range widest {
		_, size := utf8.DecodeRuneInString(text[to:])
		to += size
	}
	return from, to
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
	case r < 0x300: // nearly all there is
		return 1
	case unicode.In(r, unicode.Mn, unicode.Me), r == '\u200c', r == '\u200d':
		return 0
	case unicode.In(r, unicode.Han, unicode.Hangul, unicode.Hiragana, unicode.Katakana), r >= 0xff01 && r <= 0xff60, r >= 0x1f300 && r <= 0x1faff:
		return 2
	}
	return 1
}

// writeCeilings says how fast each player can take the piece.
func writeCeilings(out *bytes.Buffer, c *checked, named bool) {
	for i := range c.ceilings {
		l := &c.ceilings[i]
		if named {
			writeAll(out, clean(c.path), ": ")
		}
		writeAll(out, clean(l.Player), ": ", clean(c.result.Says(l)), "\n")
	}
}

// writeSummary closes the report with what was read.
func writeSummary(out io.Writer, pages []page) {
	var all page
	for _, p := range pages {
		all.bars += p.bars
		all.players += p.players
		all.strokes += p.strokes
		all.accepted += p.accepted
		all.known += p.known
		all.unsought += p.unsought
		for i, n := range p.by {
			all.by[i] += n
		}
		all.coverage.Written += p.coverage.Written
		all.coverage.Covered += p.coverage.Covered
		all.coverage.Substituted += p.coverage.Substituted
		all.coverage.Omitted += p.coverage.Omitted
	}
	fmt.Fprintf(out, "read %s, %s, %s, %s: %s, %s, %s, %d info",
		words.Count(len(pages), "file", "files"), words.Count(all.bars, "bar", "bars"), words.Count(all.players, "player", "players"), words.Count(all.strokes, "stroke", "strokes"),
		words.Count(all.by[check.Error], "error", "errors"), words.Count(all.by[check.Warning], "warning", "warnings"),
		words.Count(all.by[check.Compromise], "compromise", "compromises"), all.by[check.Info])
	if all.accepted > 0 {
		fmt.Fprintf(out, ", %d accepted", all.accepted)
	}
	if all.known > 0 {
		fmt.Fprintf(out, ", %d known from the baseline", all.known)
	}
	fmt.Fprintln(out)
	if all.unsought > 0 {
		fmt.Fprintf(out, "of %s no fixes were looked for: --fixes looks for all of them\n", words.Count(all.unsought, "finding", "findings"))
	}
	if c := all.coverage; c.Written > 0 {
		fmt.Fprintf(out, "%s written: %d covered, %d substituted, %d left out, %d played by nobody\n", words.Count(c.Written, "stroke", "strokes"),
			c.Covered, c.Substituted, c.Omitted, c.Written-c.Covered-c.Substituted-c.Omitted)
	}
}
