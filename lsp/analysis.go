package lsp

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"sync"

	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
)

// An analysis is the check of one version of a document. It is done once, by
// whoever needs it first, and given up when a newer version has come and
// nobody waits for it.
type analysis struct {
	s       *session
	src     *source
	name    string
	near    *neighbours
	load    score.Loader
	conf    config
	lineage *lineage

	mu         sync.Mutex
	superseded bool
	waiting    int
	running    chan struct{} // closed at the end of the run that is going on
	result     *check.Result
	moved      *check.Result // what was found before, where it stands now: for showing, while nobody needs the result
	failed     error
	faults     []*check.Fault // in other work on the document
	shown      *shown
	quiet      *shown // of it, while somebody writes
	fixes      map[int][]check.Fix
}

var errSuperseded = errors.New("a newer edit has come")

func (s *session) newAnalysis(w *world, d *document, line *lineage) *analysis {
	a := &analysis{s: s, src: d.source, name: d.name, conf: s.confOf(w, d.root, d.name), lineage: line, failed: d.lost}
	a.near, a.load = s.loader(d)
	return a
}

// supersede says that a newer version has come.
func (a *analysis) supersede() {
	a.mu.Lock()
	a.superseded = true
	a.mu.Unlock()
}

// wait is the result, for somebody who needs this very version.
func (a *analysis) wait(ctx context.Context) (*check.Result, error) {
	a.mu.Lock()
	a.waiting++
	defer func() {
		a.mu.Lock()
		a.waiting--
		a.mu.Unlock()
	}()
	for {
		switch {
		case a.result != nil:
			defer a.mu.Unlock()
			return a.result, nil
		case a.failed != nil:
			defer a.mu.Unlock()
			return nil, a.failed
		}
		running := a.start()
		a.mu.Unlock()
		select {
		case <-running:
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-a.s.ctx.Done():
			return nil, a.s.ctx.Err()
		}
		a.mu.Lock()
	}
}

// run sees to it that there is something to show: not needed when a newer version
// has come. Of a text that says what an earlier one said it is what was found there,
// and the check waits until somebody needs it.
func (a *analysis) run() error {
	a.mu.Lock()
	if a.superseded {
		a.mu.Unlock()
		return errSuperseded
	}
	a.mu.Unlock()
	if a.unchanged() {
		return nil
	}
	a.mu.Lock()
	running := a.start()
	a.mu.Unlock()
	<-running
	a.mu.Lock()
	defer a.mu.Unlock()
	switch {
	case a.failed != nil:
		return a.failed
	case a.superseded || a.result == nil:
		return errSuperseded
	}
	return nil
}

// unchanged says whether the text says what an earlier one said, so that what was
// found there can be shown where it stands now.
func (a *analysis) unchanged() bool {
	a.mu.Lock()
	known := a.failed != nil || a.result != nil || a.running != nil
	moved := a.moved
	a.mu.Unlock()
	if known || moved != nil {
		return moved != nil
	}
	old, file := a.earlier(), a.src.parsed()
	if old == nil || a.src.bad != nil || check.Contained(func() { moved = check.Moved(old, file) }) != nil || moved == nil {
		return false // a check says what is wrong
	}
	a.mu.Lock()
	a.moved = moved
	a.mu.Unlock()
	return true
}

// earlier is an earlier version's result, if it was checked as this one is to be.
func (a *analysis) earlier() *check.Result {
	a.lineage.mu.Lock()
	defer a.lineage.mu.Unlock()
	if old := a.lineage.last; old != nil && a.lineage.conf == a.conf.key() && old.Name == a.name {
		return old
	}
	return nil
}

// known is what there is to show; a.mu is held.
func (a *analysis) known() *check.Result { return cmp.Or(a.result, a.moved) }

// start begins a run unless one is going on or the result is there; a.mu is
// held.
func (a *analysis) start() chan struct{} {
	if a.running != nil {
		return a.running
	}
	a.running = make(chan struct{})
	running := a.running
	if a.result != nil || a.failed != nil {
		close(running)
		a.running = nil
		return running
	}
	a.s.work.Add(1)
	go func() {
		defer a.s.work.Done()
		a.near.begin(a.s.begun(a))
		r := a.safely()
		a.near.end()
		a.s.ended(a, r)
		a.mu.Lock()
		if !r.Stopped {
			a.result = r
		}
		a.running = nil
		a.mu.Unlock()
		close(running)
	}()
	return running
}

// safely makes the check; a failure of the program is a finding of the document.
// If it came of taking something over from the check before, a check from
// nothing tells it from one that the text itself leads to.
func (a *analysis) safely() (r *check.Result) {
	fault := a.s.contained("checking", a.name, func() { r = a.check() })
	if fault == nil {
		return r
	}
	a.lineage.mu.Lock()
	had := a.lineage.last != nil
	a.lineage.last = nil
	a.lineage.mu.Unlock()
	if had {
		fault = a.s.contained("checking", a.name, func() { r = a.check() })
	}
	if fault != nil {
		return check.Failed(a.name, a.src.parsed(), fault)
	}
	return r
}

// contained does a piece of work on one file. A failure of the program in it
// is told to whoever reads the log, with its stack, and returned.
func (s *session) contained(work, name string, f func()) *check.Fault {
	fault := check.Contained(func() {
		if s.opt.failing != nil {
			s.opt.failing(work, name)
		}
		f()
	})
	if fault != nil {
		s.log.Printf("%s %s: %s\n%s", work, name, fault.Panic, fault.Stack)
	}
	return fault
}

// blame shows a failure in work on the document among its findings, once.
func (a *analysis) blame(fault *check.Fault) error {
	a.mu.Lock()
	had := slices.ContainsFunc(a.faults, func(f *check.Fault) bool { return f.Place == fault.Place })
	if !had {
		a.faults = append(a.faults, fault)
		a.shown, a.quiet = nil, nil
	}
	a.mu.Unlock()
	if !had {
		a.s.queue(a.src.key)
		a.s.refresh()
	}
	return refuse("%s", fault.Message())
}

// check makes the check itself.
func (a *analysis) check() (r *check.Result) {
	stopped := false
	stop := func() bool {
		if !stopped {
			a.mu.Lock()
			stopped = a.superseded && a.waiting == 0
			a.mu.Unlock()
			stopped = stopped || a.s.ctx.Err() != nil
		}
		return stopped
	}
	opt := check.Options{
		Score: a.conf.options(),
		Load:  a.load,
		Stop:  stop,
	}
	opt.Score.Remember = true
	old := a.earlier()
	file := a.src.parsed()
	if a.src.bad != nil {
		panic(a.src.bad)
	}
	if old != nil {
		r = check.RecheckWith(old, file, opt)
	} else {
		r = check.Check(a.name, file, opt)
	}
	if stopped {
		r.Stopped = true
		return r
	}
	r = r.Until(nil)
	a.lineage.mu.Lock()
	if a.lineage.last == nil || !a.isSuperseded() {
		a.lineage.last, a.lineage.conf = r, a.conf.key()
	}
	a.lineage.mu.Unlock()
	return r
}

func (a *analysis) isSuperseded() bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.superseded
}
