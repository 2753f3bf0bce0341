package lsp

import (
	"slices"
	"strings"
	"sync"
	"time"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

// A foresight is what could be written behind a limb in a line, tried in the
// background while somebody writes there. It holds for as long as the rest of
// the text stays as it is, so that what is typed into the line meets what was
// proven when the line was begun.
type foresight struct {
	line           int
	limb           body.Limb
	before, behind string // the text around the line
	beside         []*syntax.File
	conf           string

	mu    sync.Mutex
	cues  []check.CueLine // not tried yet, in the order in which they are
	holds []check.CueLine // tried, the best first
	done  bool
}

// answersFirst is how long what is asked for ahead waits for the answer to what was
// asked: both want a processor, and nobody types the next letter so soon.
const answersFirst = 5 * time.Millisecond

// of says whether it is of this line of a text, with this limb.
func (f *foresight) of(d *document, line int, limb body.Limb) bool {
	before, behind, ok := around(d, line)
	return ok && f.line == line && f.limb == limb && f.before == before && f.behind == behind && f.conf == d.analysis.conf.key()
}

// around is the text before and behind a line.
func around(d *document, line int) (before, behind string, ok bool) {
	f := d.parsed()
	if line >= len(f.Lines) {
		return "", "", false
	}
	start := f.Starts[line]
	return f.Text()[:start], f.Text()[start+len(f.Lines[line].Text):], true
}

// foresee is what is known of the cues that a limb could have in a line; it is
// worked out in the background. Nothing is known before a first check.
func (s *session) foresee(d *document, line int, limb body.Limb) *foresight {
	l := d.analysis.lineage
	last := l.latest()
	if last == nil {
		return nil
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	beside := filesBeside(last)
	if f := l.ahead; f != nil && f.of(d, line, limb) && slices.Equal(f.beside, beside) {
		return f
	}
	before, behind, ok := around(d, line)
	if !ok {
		return nil
	}
	f := &foresight{line: line, limb: limb, before: before, behind: behind, beside: beside, conf: d.analysis.conf.key()}
	l.ahead = f
	s.background(func() {
		select {
		case <-time.After(answersFirst):
		case <-s.ctx.Done():
			return
		}
		s.contained("looking ahead in", d.name, func() { f.work(s, d, last) })
		l.mu.Lock()
		defer l.mu.Unlock()
		if !f.done && l.ahead == f { // given up: somebody may ask again
			l.ahead = nil
		}
	})
	return f
}

// filesBeside are the files that a check was made with beside the piece's own.
func filesBeside(r *check.Result) []*syntax.File {
	var out []*syntax.File
	for i := range r.Score.Sources[1:] {
		out = append(out, r.Score.Sources[i+1].File)
	}
	return out
}

// work tries the cues one after the other, until somebody writes elsewhere.
func (f *foresight) work(s *session, d *document, last *check.Result) {
	seen, over := d.analysis, false
	stop := func() bool {
		if over || s.ctx.Err() != nil {
			return true
		}
		now := s.now().docs.get(d.key)
		switch {
		case now == nil:
			over = true
		case now.analysis != seen:
			now.analysis.lineage.mu.Lock()
			over = now.analysis.lineage.ahead != f
			now.analysis.lineage.mu.Unlock()
			over = over || !f.of(now, f.line, f.limb)
			seen = now.analysis
		}
		return over
	}
	base := check.Recheck(last.Until(stop), syntax.Reparse(f.before+f.behind, last.File))
	if base.Stopped {
		return
	}
	list := base.CueLines(f.line, f.limb)
	f.mu.Lock()
	f.cues = list
	f.mu.Unlock()
	for range list {
		f.mu.Lock()
		cue := f.cues[0]
		f.mu.Unlock()
		holds := base.Try(f.line, f.limb, &cue)
		if stop() {
			return
		}
		f.mu.Lock()
		f.cues = f.cues[1:]
		if holds {
			f.holds = append(f.holds, cue)
			check.BestFirst(f.holds)
		}
		f.mu.Unlock()
	}
	f.mu.Lock()
	f.done = true
	f.mu.Unlock()
}

// wholeCues offers whole cues behind a limb: those that the check has proven,
// the best first, then those that are not tried yet.
func (c *completion) wholeCues(head string) {
	limb, ok := body.LimbNamed(c.before[0])
	if !ok || !c.last || c.quoted || !c.inPlayer() || saysAll(c.d.parsed().Lines[c.line]) || len(c.d.parsed().GoesOn(c.line)) > 0 {
		return
	}
	f := c.s.foresee(c.d, c.line, limb)
	if f == nil {
		return
	}
	start, written := c.behindFirst(head)
	f.mu.Lock()
	defer f.mu.Unlock()
	for i := range f.holds {
		cue := &f.holds[i]
		c.wholeLine(start, written, textFor(cue, written), "checked: "+saysOf(cue), len(c.items) == 0)
	}
	for i := range f.cues {
		c.wholeLine(start, written, textFor(&f.cues[i], written), "not checked yet"+costing(&f.cues[i]), false)
	}
	c.more = c.more || !f.done
}

// textFor is a cue as it goes on from what is written of it: without its mount,
// where that is left out and need not be said.
func textFor(cue *check.CueLine, written string) string {
	if cue.Short != "" && !strings.HasPrefix(cue.Text, written) {
		return cue.Short
	}
	return cue.Text
}

// saysAll says whether a limb's line is whole as it is.
func saysAll(l *syntax.Line) bool {
	s, ok := l.Stmt.(*syntax.LimbLine)
	return ok && !l.Broken && (s.Cue == nil || s.Cue.AsWritten != nil || s.Cue.Bars != nil)
}

// behindFirst is where what stands behind the first word of the line begins, and
// what is written of it.
func (c *completion) behindFirst(head string) (start int, written string) {
	start = strings.Index(head, c.before[0]) + len(c.before[0])
	start += len(head[start:]) - len(strings.TrimLeft(head[start:], " \t"))
	return start, strings.Join(append(strings.Fields(head[start:]), c.part), " ")
}

// wholeWishes offers what a line could leave out, as far as nobody plays it, and
// the findings that it could accept; the reason is the arranger's to write.
func (c *completion) wholeWishes(head string) {
	if !c.last || c.quoted || slices.Contains(c.before, "because") {
		return
	}
	last := c.d.analysis.lineage.latest()
	if last == nil {
		return
	}
	start, written := c.behindFirst(head)
	switch c.before[0] {
	case "omit":
		for _, gap := range last.Gaps() {
			c.wish(start, written, syntax.Print(&gap.Omit), words.Count(gap.Strokes, "stroke", "strokes")+" that nobody plays")
		}
	case "accept":
		for i := range last.Findings {
			if accept := last.Findings[i].Acceptance(); accept != nil && last.Findings[i].Where.File == 0 {
				c.wish(start, written, syntax.Print(accept), findingWords(&last.Findings[i]))
			}
		}
	}
}

// wish offers a statement that wants a reason, of which the first word is there.
func (c *completion) wish(start int, written, statement, detail string) {
	_, text, _ := strings.Cut(statement, " ")
	c.wholeLine(start, written, text+" because "+syntax.Quote(syntax.NoReasonYet), detail, false)
}

// saysOf is what a cue that holds brings: the tightest first.
func saysOf(cue *check.CueLine) string {
	var said []string
	if cue.Tightest != "" {
		said = append(said, cue.Tightest)
	}
	said = append(said, words.Count(cue.Plays, "stroke", "strokes")+" that nobody plays")
	if cue.Told > 0 {
		said = append(said, words.Count(cue.Told, "remark", "remarks"))
	}
	return strings.Join(said, "; ") + costing(cue)
}

func costing(cue *check.CueLine) string {
	if cue.Costs == "" {
		return "; costs nothing in sound"
	}
	return "; costs: " + cue.Costs
}

// inPlayer says whether the line is among a player's own.
func (c *completion) inPlayer() bool {
	return c.seat.Block == syntax.InPlayer || c.seat.Inner >= 0
}
