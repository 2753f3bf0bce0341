package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"runtime"
	"sync"

	"example.org/handful/internal/folder"
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
	todo := make(chan int, len(inputs))
	done := make([]chan struct{}, len(inputs))
	for i := range inputs {
		todo <- i
		done[i] = make(chan struct{})
	}
	close(todo)
	var drawn *purse
	if how.fixes == soonFixes {
		drawn = newPurse(len(inputs))
	}
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(inputs)) {
		workers.Go(func() {
			for i := range todo {
				if ctx.Err() == nil {
					pages[i] = checkOne(ctx, inputs[i], lib, how, form, job{i, drawn})
				} else {
					drawn.settle(i, 0)
				}
				close(done[i])
			}
		})
	}
	for i := range inputs {
		<-done[i]
		if next != nil {
			next(&pages[i])
		}
	}
	workers.Wait()
	return pages
}

// A telling is a report on its way out.
type telling struct {
	form     form
	to       io.Writer
	held     bool // nothing is told before all is checked
	progress *progress
	cut      bool // a file was not checked to its end: none behind it is told yet
	err      error
}

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
	if p.told || t.err != nil {
		return
	}
	p.told = true
	t.progress.away()
	t.err = t.form.next(t.to, p)
}

// all tells what was not told yet, and what is said of all together.
func (t *telling) all(pages []page) error {
	for i := range pages {
		t.tell(&pages[i])
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
