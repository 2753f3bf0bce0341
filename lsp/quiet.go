package lsp

import (
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// A pen is where somebody writes. What is found in that line and may still
// become right, and what the line has not said yet makes wrong elsewhere, waits
// until the line is left, until the pen rests for a while, or until the text is
// saved: who writes a word is not told at each letter that it is none. What is
// wrong whatever follows is shown at once.
//
// What is only not there yet, a stroke that nobody plays or a thing that nobody
// uses, waits for the rest: who goes on writing is about to bring it.
//
// What waits is found all the same: fixes are offered for it, and a plan or a
// sheet is refused because of it.
type pen struct {
	line, col int
	rests     atomic.Bool
	// begun is what was found when the line was begun, and rested when the pen
	// rested last.
	begun, rested *snapshot
}

// A snapshot is what was found before somebody wrote in a line, by what tells one
// finding from another, with what was said of it.
type snapshot struct {
	mu    sync.Mutex
	as    *check.Result // to be read when somebody asks
	found map[string]string
}

func (b *snapshot) was(r *check.Result) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.as, b.found = r, nil
}

// said is what was said of the same finding when the line was begun.
func (b *snapshot) said(line int, f *check.Finding, of *check.Result) (string, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.found == nil {
		b.found = map[string]string{}
		if b.as != nil {
			for i := range b.as.Findings {
				f := &b.as.Findings[i]
				b.found[findingKey(line, f, b.as)] = findingWords(f)
			}
		}
		b.as = nil // it need not be kept any longer
	}
	said, ok := b.found[findingKey(line, f, of)]
	return said, ok
}

// findingKey tells findings apart although lines move. In the line that is
// written in a finding of the text is what it says, and any other is where it
// is in the music.
func findingKey(line int, f *check.Finding, r *check.Result) string {
	where := ""
	switch w := f.Where; {
	case w.File != 0:
		where = fmt.Sprintf("%s:%d", r.Score.Sources[w.File].Name, w.Line)
	case int(w.Line) == line && !f.HasPlace:
		where = f.Message()
	case int(w.Line) != line && int(w.Line) < len(r.File.Lines):
		where = strings.TrimSpace(r.File.Lines[w.Line].Text)
	}
	return strings.Join([]string{f.Rule.Name, f.Player, f.Limb, f.Place(), where}, "\x00")
}

// penAt is the pen after an edit that ends at a byte of the new text, or nil
// where nobody writes letter by letter.
func (s *session) penAt(was *document, idx *index, end int, added string) *pen {
	if s.opt.Quiet == 0 || s.can.pull && !s.can.refreshDiagnostics || strings.Count(added, "\n") > 1 {
		return nil
	}
	line := int(idx.position(end).Line)
	p := &pen{line: line, col: end - idx.starts[line]}
	last := was.analysis.lineage.latest()
	p.begun, p.rested = &snapshot{as: last}, &snapshot{as: last}
	if was.pen != nil && !was.pen.rests.Load() {
		p.rested = was.pen.rested
		if was.pen.line == line && !strings.Contains(added, "\n") {
			p.begun = was.pen.begun
		}
	}
	return p
}

// lacks says whether a finding is of what is not there yet.
func lacks(f *check.Finding) bool {
	return f.Rule.Name == check.RuleUncovered || f.Rule.Name == syntax.RuleUnused
}

// latest is the last check that was made, or nil.
func (l *lineage) latest() *check.Result {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.last
}

// visible is what the client is shown of a document: all that is found but what
// waits for the pen.
func (s *session) visible(d *document) *shown {
	all := d.shown(s)
	if d.pen == nil || d.pen.rests.Load() {
		return all
	}
	left := d.quietly(all)
	if left != all {
		s.wake(d)
	}
	return left
}

// quietly is what the pen leaves of all that is shown. No lock is left held: an
// edit takes the session's first and the analysis's after it.
func (d *document) quietly(all *shown) *shown {
	d.analysis.mu.Lock()
	defer d.analysis.mu.Unlock()
	r := d.analysis.known()
	if r == nil || len(all.of) != len(all.diags) {
		return all
	}
	if d.analysis.quiet == nil {
		d.analysis.quiet = d.pen.leaves(all, r)
	}
	return d.analysis.quiet
}

// leaves is what the pen leaves of what is found.
func (p *pen) leaves(all *shown, r *check.Result) *shown {
	if p.line >= len(r.File.Lines) {
		return all
	}
	l := r.File.Lines[p.line]
	col := min(p.col, len(l.Text))
	done := wordBefore(l.Text, wordBefore(l.Text, col))
	here := func(f *check.Finding) bool { return f.Where.File == 0 && int(f.Where.Line) == p.line }
	blank := strings.TrimSpace(l.Text) == ""
	if blank {
		p.begun.was(r) // a line that says nothing yet makes nothing wrong
	}
	// At its end a line may go on, and what cannot be read is not said yet.
	open := !blank && strings.TrimSpace(l.Text[col:max(col, l.CommentStart())]) == ""
	for i := range r.Findings {
		f := &r.Findings[i]
		open = open || here(f) && !f.HasPlace && !settled(l, f, done)
	}
	out := &shown{diags: []protocol.Diagnostic{}}
	changed := false
	for i, d := range all.diags {
		if k := all.of[i]; k >= 0 && k < len(r.Findings) {
			f := &r.Findings[k]
			before, waits := p.begun, open
			if here(f) {
				waits = !settled(l, f, done) && (open || !f.HasPlace)
			}
			if lacks(f) {
				before, waits = p.rested, true
			}
			if waits {
				said, was := before.said(p.line, f, r)
				if !was {
					changed = true
					continue
				}
				changed = changed || d.Message != protocol.String(said)
				d.Message = protocol.String(said)
			}
		}
		out.diags = append(out.diags, d)
		out.of = append(out.of, all.of[i])
	}
	if !changed {
		return all
	}
	out.id = nextResultID()
	return out
}

// wordBefore is where the last word before a byte begins.
func wordBefore(text string, at int) int {
	head := strings.TrimRight(text[:at], " \t|")
	return strings.LastIndexAny(head, " \t|") + 1
}

// settled says whether a finding of the line that is written in is so whatever
// follows: a word that is wrong and lies a whole word behind the pen. What is
// said of the line as a whole is not.
func settled(l *syntax.Line, f *check.Finding, done int) bool {
	start, end := int(f.Where.Start), int(f.Where.End)
	if end > done {
		return false
	}
	if l.Bars != nil && start >= l.Bars.Span.Start {
		return true
	}
	return !f.HasPlace && strings.TrimSpace(l.Text[:min(start, len(l.Text))]) != ""
}

// wake has all of a document shown once its pen has rested.
func (s *session) wake(d *document) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if now := s.now().docs.get(d.key); now == nil || now.pen != d.pen || s.waking[d.key] != nil {
		return
	}
	id, p := d.key, d.pen
	s.waking[id] = s.after(s.opt.Quiet, func() { s.rest(id, p) })
}

// stir says that somebody writes on; s.mu is held.
func (s *session) stir(id uri.URI) {
	if stop := s.waking[id]; stop != nil {
		stop()
		delete(s.waking, id)
	}
}

// rest shows what has waited for a pen.
func (s *session) rest(id uri.URI, p *pen) {
	s.mu.Lock()
	d := s.now().docs.get(id)
	same := d != nil && d.pen != nil && (p == nil || d.pen == p)
	if same {
		s.stir(id)
		d.pen.rests.Store(true)
	}
	s.mu.Unlock()
	switch {
	case !same:
	case s.can.pull:
		s.background(func() { s.client.DiagnosticRefresh(s.ctx) })
	default:
		s.checkNow(id)
	}
}

func (s *session) after(d time.Duration, f func()) (stop func() bool) {
	if s.opt.after != nil {
		return s.opt.after(d, f)
	}
	return time.AfterFunc(d, f).Stop
}
