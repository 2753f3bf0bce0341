package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/syntax"
)

// A form is how a report is written: what one file needs is made as soon as it
// is checked; files are told in their order, as soon as all before them are;
// and then what is said of all together.
type form interface {
	render(c *checked, p *page)
	next(w io.Writer, p *page) error
	all(w io.Writer, pages []page) error
}

// checkAll checks every file, several at once, and hands on each in its order.
func checkAll(ctx context.Context, inputs []input, how checking, form form, next func(*page)) []page {
	pages := make([]page, len(inputs))
	lib := folder.NewLibrary()
	order := inOrder{done: make([]bool, len(inputs)), hand: func(i int) {
		if next != nil {
			next(&pages[i])
		}
	}}
	var todo atomic.Int64
	var rooms motion.Rooms
	var drawn *purse
	if how.fixes == soonFixes {
		drawn = newPurse(len(inputs))
	}
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(inputs)) {
		workers.Go(func() {
			var known *syntax.Known
			var room *check.Room
			if len(inputs) > 1 {
				known, room = syntax.NewKnown(), check.NewRoom()
			}
			for i := int(todo.Add(1)) - 1; i < len(inputs); i = int(todo.Add(1)) - 1 {
				if ctx.Err() == nil {
					pages[i] = checkOne(ctx, inputs[i], lib, how, form, job{i, drawn, known, &rooms, room})
				} else {
					drawn.settle(i, 0)
				}
				order.finish(i)
			}
		})
	}
	workers.Wait()
	if order.fault != nil {
		panic(order.fault) // where whoever called can contain it
	}
	return pages
}

// inOrder hands on what is finished in any order, one after the other. Whoever
// finishes something hands on what is due, so that nobody has to be waited for.
type inOrder struct {
	mu      sync.Mutex
	done    []bool
	next    int
	handing bool
	hand    func(i int)
	fault   *check.Fault // of the program, in handing on
}

func (o *inOrder) finish(i int) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.done[i] = true
	if o.handing {
		return
	}
	o.handing = true
	for o.next < len(o.done) && o.done[o.next] {
		at := o.next
		o.mu.Unlock()
		fault := check.Contained(func() { o.hand(at) })
		o.mu.Lock()
		if o.next++; fault != nil {
			o.fault, o.next = fault, len(o.done)
		}
	}
	o.handing = false
}

// A telling is a report on its way out.
type telling struct {
	form     form
	to       io.Writer
	held     bool // nothing is told before all is checked
	progress *progress
	cut      bool // a file was not checked to its end: none behind it is told yet
	err      error
	buf      *bufio.Writer
	flushed  time.Time
}

// atOnce is how long what is told may wait for more.
const atOnce = 20 * time.Millisecond

// next tells a file, unless one before it was not checked to its end.
func (t *telling) next(p *page) {
	t.progress.step()
	if t.held || t.cut || t.err != nil {
		return
	}
	if !p.done {
		t.cut = true
		return
	}
	t.tell(p)
}

func (t *telling) tell(p *page) {
	if p.told || t.err != nil || p.err != nil {
		return
	}
	p.told = true
	if t.buf == nil {
		t.buf = bufio.NewWriterSize(t.to, 64<<10)
	}
	t.err = t.form.next(t.buf, p)
	if now := time.Now(); now.Sub(t.flushed) > atOnce && t.err == nil {
		t.progress.away()
		t.err = t.buf.Flush()
		t.flushed = now
	}
}

// all tells what was not told yet, and what is said of all together.
func (t *telling) all(pages []page) error {
	for i := range pages {
		t.tell(&pages[i])
	}
	if t.err == nil && t.buf != nil {
		t.progress.away()
		t.err = t.buf.Flush()
	}
	if t.err != nil {
		return t.err
	}
	return t.form.all(t.to, pages)
}

// early reports as far as the check came when it was interrupted. A program
// that reads the report gets none, or one without its end: it could take it
// for a whole one.
func (t *telling) early(pages []page) error {
	var done []page
	for _, p := range pages {
		if p.done {
			done = append(done, p)
		}
	}
	if _, ok := t.form.(textForm); ok && len(done) > 0 {
		if err := t.all(done); err != nil {
			return err
		}
	}
	return unfinished{share(len(done), len(pages), "files were checked; what is said above is not the whole answer")}
}

// progress says on a terminal how far a long check is, in a line that goes
// away again. A nil one says nothing.
type progress struct {
	to        io.Writer
	done, of  int
	shown     bool
	everyNths int
}

// fewestTold is from how many files on it is worth saying.
const fewestTold = 20

// progress is for people who wait: where standard error is a terminal.
func (s *streams) progress(files int) *progress {
	if files < fewestTold || !s.err.terminal() || os.Getenv("TERM") == "dumb" {
		return nil
	}
	return &progress{to: s.err.to, of: files, everyNths: max(1, files/200)}
}

func (p *progress) step() {
	if p == nil {
		return
	}
	if p.done++; p.done%p.everyNths == 0 {
		fmt.Fprintf(p.to, "\r\x1b[K%d of %d files", p.done, p.of)
		p.shown = true
	}
}

// away takes the line from the screen, before something else is written.
func (p *progress) away() {
	if p != nil && p.shown {
		fmt.Fprint(p.to, "\r\x1b[K")
		p.shown = false
	}
}

func (p *progress) end() { p.away() }

// choice is which files of the folders are meant.
func (v *checkVerb) choice() (folder.Choice, error) {
	c := folder.Choice{Root: workingFolder(), Ignored: v.Ignored}
	for _, of := range []struct {
		flag  string
		lines []string
		to    *[]folder.Pattern
	}{{"--include", v.Include, &c.Include}, {"--exclude", v.Exclude, &c.Exclude}} {
		for _, line := range of.lines {
			p, err := folder.ParsePattern(line)
			if err != nil {
				return c, fmt.Errorf("%s %w", of.flag, err)
			}
			*of.to = append(*of.to, p)
		}
	}
	return c, nil
}
