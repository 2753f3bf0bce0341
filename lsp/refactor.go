package lsp

import (
	"fmt"
	"strings"

	"github.com/aymanbagabas/go-udiff"
	"go.lsp.dev/protocol"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A refactor is something that may be done with some lines.
type refactor struct {
	kind  protocol.CodeActionKind
	title string
	edits []check.Edit
	// same says that the piece must mean exactly what it meant.
	same bool
}

// refactors lists what may be done at a range.
func refactors(d *document, r *check.Result, at protocol.Range) []refactor {
	f := d.parsed()
	from, _ := d.at(at.Start)
	to, col := d.at(at.End)
	if to > from && col == 0 {
		to-- // whole lines end at the start of the next
	}
	var out []refactor
	add := func(kind protocol.CodeActionKind, title string, same bool, edits ...check.Edit) {
		out = append(out, refactor{kind, title, edits, same})
	}
	for line := from; line <= to && line-from < 200; line++ {
		if e, ok := folded(f.Lines[line], line); ok {
			add(protocol.CodeActionKindRefactorRewrite, "fold equal bars into similes", true, e)
		}
	}
	cues := cuesOf(r.Score, from, to)
	for _, c := range cues {
		if e, ok := writtenOut(f, r.Score, c); ok && c.AsWritten {
			add(protocol.CodeActionKindRefactorRewrite, "write the bars out", true, e)
		}
	}
	if edits := swapped(f, cues); edits != nil {
		title := "swap the hands of this line"
		if len(edits) > 1 {
			title = fmt.Sprintf("swap the hands of these %d lines", len(edits))
		}
		add(protocol.CodeActionKindRefactorRewrite, title, false, edits...)
	}
	if len(cues) > 0 {
		out = append(out, handedOver(f, r.Score, cues)...)
	}
	if edits, ok := sharedKit(f, from); ok {
		add(protocol.CodeActionKindRefactorExtract, "make this kit everybody's", false, edits...)
	}
	return out
}

// cuesOf are the cues that stand in some lines of the document.
func cuesOf(sc *score.Score, from, to int) []*score.Cue {
	var out []*score.Cue
	for _, p := range sc.Players {
		for _, c := range p.Cues {
			if l := int(c.Where.Line); c.Where.File == 0 && from <= l && l <= to {
				out = append(out, c)
			}
		}
	}
	return out
}

// harmless makes a refactor in memory and says whether nothing is lost by it:
// no rule finds more errors, and as much of what is written is covered.
func harmless(r *check.Result, re refactor) bool {
	after, ok := r.After(re.edits)
	if !ok || after.Stopped || syntax.LostComment(r.File.Text(), after.File.Text()) != "" {
		return false
	}
	a, b := r.Score.Coverage, after.Score.Coverage
	if a.Written != b.Written || a.Covered+a.Substituted > b.Covered+b.Substituted {
		return false
	}
	if re.same && (a.Covered != b.Covered || strokeCount(r) != strokeCount(after)) {
		return false
	}
	for _, rule := range check.Rules() {
		if after.Count(rule, check.Error) > r.Count(rule, check.Error) {
			return false
		}
	}
	return true
}

func strokeCount(r *check.Result) int {
	n := 0
	for _, m := range r.Motions {
		n += len(m.Events)
	}
	return n
}

// folded writes equal neighbouring bars as similes and neighbouring rests as
// one.
func folded(l *syntax.Line, line int) (check.Edit, bool) {
	if l.Bars == nil || l.Broken || len(l.Problems) > 0 || len(l.Bars.Cells) < 2 {
		return check.Edit{}, false
	}
	is := syntax.Fold(l)
	was := l.Text[l.Bars.Span.Start:l.Bars.Span.End]
	if strings.Count(is, "|") >= strings.Count(strings.TrimRight(was, " |\t"), "|") {
		return check.Edit{}, false
	}
	return check.Edit{Line: line, Start: l.Bars.Span.Start, End: l.Bars.Span.End, Text: is}, true
}

// writtenOut puts the strokes that a cue takes from the parts into its line.
func writtenOut(f *syntax.File, s *score.Score, c *score.Cue) (check.Edit, bool) {
	line := int(c.Where.Line)
	l := f.Lines[line]
	ll, ok := l.Stmt.(*syntax.LimbLine)
	if !ok || ll.Cue == nil || ll.Cue.AsWritten == nil || l.Broken {
		return check.Edit{}, false
	}
	bars, ok := s.WriteBars(c)
	if !ok {
		return check.Edit{}, false
	}
	start := ll.Cue.AsWritten.Pos.Offset
	return check.Edit{Line: line, Start: start, End: len(l.Code()), Text: bars}, true
}

// swapped gives every line to the other hand.
func swapped(f *syntax.File, cues []*score.Cue) []check.Edit {
	var edits []check.Edit
	for _, c := range cues {
		other := c.Limb.Other()
		ll, isLine := f.Lines[c.Where.Line].Stmt.(*syntax.LimbLine)
		if isLine && other != c.Limb && kit.KindOf(c.Limb) == kit.Hand {
			edits = append(edits, check.Edit{Line: int(c.Where.Line), Start: ll.Limb.Span().Start, End: ll.Limb.Span().End, Text: other.String()})
		}
	}
	return edits
}

// handedOver gives lines to another player, in the same section, and offers to
// give a line's second half.
func handedOver(f *syntax.File, s *score.Score, cues []*score.Cue) []refactor {
	var out []refactor
	giver := cues[0].Player
	for _, c := range cues {
		if c.Player != giver {
			return nil
		}
	}
	for _, taker := range s.Players {
		if taker == giver || taker.Where.File != 0 {
			continue
		}
		var gone []check.Edit
		text := ""
		for _, c := range cues {
			line := int(c.Where.Line)
			text += "\n" + sectionLine(c) + "\n  " + strings.TrimSpace(f.Lines[line].Text)
			gone = append(gone, check.Edit{Line: line, Whole: true})
			for _, more := range f.GoesOn(line) {
				text += "\n    " + strings.TrimSpace(f.Lines[more].Text)
				gone = append(gone, check.Edit{Line: more, Whole: true})
			}
		}
		last := lastLine(f, int(taker.Where.Line))
		at := len(f.Lines[last].Text)
		title := "hand this line to " + taker.Name
		if len(cues) > 1 {
			title = fmt.Sprintf("hand these %d lines to %s", len(cues), taker.Name)
		}
		out = append(out, refactor{protocol.CodeActionKindRefactorRewrite, title, append(gone, check.Edit{Line: last, Start: at, End: at, Text: text}), false})
		if e, middle, ok := halved(f, s, cues); ok {
			half := check.Edit{Line: last, Start: at, End: at, Text: "\n" + sectionLine(cues[0]) + "\n  " + e[1]}
			out = append(out, refactor{
				protocol.CodeActionKindRefactorRewrite, fmt.Sprintf("split it: from bar %d on %s has it", middle, taker.Name),
				[]check.Edit{{Line: int(cues[0].Where.Line), Start: 0, End: len(f.Lines[cues[0].Where.Line].Text), Text: e[0]}, half}, false,
			})
		}
	}
	return out
}

// sectionLine is the from line of the section that a cue belongs to.
func sectionLine(c *score.Cue) string {
	from := &syntax.From{Place: syntax.Bar(c.From)}
	if c.Pass > 0 {
		from.Pass = new(syntax.Number(float64(c.Pass)))
	}
	return "  " + syntax.Print(from)
}

// halved parts an as-written line in two: what stays, and what goes.
func halved(f *syntax.File, s *score.Score, cues []*score.Cue) (halves [2]string, middle int, ok bool) {
	c := cues[0]
	l := f.Lines[c.Where.Line]
	ll, isLine := l.Stmt.(*syntax.LimbLine)
	if len(cues) != 1 || !c.AsWritten || !isLine || len(l.Problems) > 0 || ll.Cue == nil || ll.Cue.AsWritten == nil || ll.Cue.AsWritten.In != nil || len(c.Strokes) < 2 {
		return halves, 0, false
	}
	first, last := int(c.Strokes[0].Bar), int(c.Strokes[len(c.Strokes)-1].Bar)
	middle = first + (last-first+1)/2
	for _, m := range s.Marks { // better where the music has a seam
		if m.Bar > first && m.Bar <= last {
			middle = m.Bar
		}
	}
	if middle <= first {
		return halves, 0, false
	}
	half := func(from, to int) string {
		line, cue, written := *ll, *ll.Cue, *ll.Cue.AsWritten
		line.Cue, cue.AsWritten, written.In = &cue, &written, []syntax.Atom{syntax.BarsBetween(from, to)}
		return syntax.Print(&line)
	}
	halves[0] = strings.TrimRight("  "+half(c.From, middle-1)+" "+l.Comment(), " ")
	halves[1] = half(middle, max(middle, c.To))
	return halves, middle, true
}

// lastLine is the last line of a block that says something.
func lastLine(f *syntax.File, owner int) int {
	last := owner
	for i, seat := range f.Seats() {
		if seat.Owner == owner && f.Lines[i].Stmt != nil {
			last = i
		}
	}
	return last
}

// sharedKit moves a player's kit in front of the first player, where it is
// everybody's.
func sharedKit(f *syntax.File, line int) ([]check.Edit, bool) {
	seats := f.Seats()
	kit := seats[line].Inner
	if kit < 0 {
		return nil, false
	}
	first := -1
	for i, l := range f.Lines {
		if _, ok := l.Stmt.(*syntax.Player); ok {
			first = i
			break
		}
	}
	last := kit // what is said behind it belongs to what follows
	for i, l := range f.Lines {
		if seats[i].Inner == kit && l.Stmt != nil {
			last = i
		}
	}
	var text strings.Builder
	var edits []check.Edit
	for i := range last + 1 {
		if seats[i].Inner == kit && (f.Lines[i].Stmt != nil || f.Lines[i].Comment() != "") {
			indent := "  "
			if i == kit {
				indent = ""
			}
			text.WriteString(indent + strings.TrimSpace(f.Lines[i].Text) + "\n")
			edits = append(edits, check.Edit{Line: i, Whole: true})
		}
	}
	return append([]check.Edit{{Line: first, Text: text.String() + "\n"}}, edits...), first >= 0
}

// difference is the edits that make one text of another, by whole lines.
func difference(r *check.Result, text string) []check.Edit { return differenceOf(r.File, text) }

func differenceOf(f *syntax.File, text string) []check.Edit {
	var out []check.Edit
	if !strings.HasSuffix(f.Text(), "\n") { // its last line has no end: all of it anew
		out = append(out, check.Edit{Text: text})
		for line := range f.Lines {
			out = append(out, check.Edit{Line: line, Whole: true})
		}
		return out
	}
	idx := newIndex(f.Text(), utf8Columns)
	for _, e := range udiff.Lines(f.Text(), text) {
		from, to := idx.position(e.Start), idx.position(e.End)
		if e.New != "" { // first: what is put in may not stand within what goes
			out = append(out, check.Edit{Line: int(from.Line), Text: e.New})
		}
		for line := int(from.Line); line < int(to.Line); line++ {
			out = append(out, check.Edit{Line: line, Whole: true})
		}
	}
	return out
}
