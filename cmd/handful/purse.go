package main

import "sync"

// A purse is what a run may spend on looking for fixes. The files draw on it in
// their order, so that what is told does not depend on which of them is checked
// first: a file that has something to mend waits until those before it have had
// their turn, unless nothing is left. What a trial costs is counted in strokes
// and not in seconds, so that each run tells the same.
type purse struct {
	mu      sync.Mutex
	turned  *sync.Cond
	left    int
	next    int // the first file that has not settled
	settled []bool
}

// The whole of a purse, and what a trial costs besides its strokes. A trial is a
// check of the piece with what it keeps of the one before.
const (
	purseful  = 50_000
	trialCost = 100
)

func newPurse(files int) *purse {
	p := &purse{left: purseful, settled: make([]bool, files)}
	p.turned = sync.NewCond(&p.mu)
	return p
}

// draw says what is left when a file's turn has come.
func (p *purse) draw(file int) int {
	p.mu.Lock()
	defer p.mu.Unlock()
	for p.left > 0 && p.next < file {
		p.turned.Wait()
	}
	return p.left
}

// settle says what a file spends: the next may draw. A file may settle again.
func (p *purse) settle(file, spent int) {
	if p == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.left = max(0, p.left-spent)
	p.settled[file] = true
	for p.next < len(p.settled) && p.settled[p.next] {
		p.next++
	}
	p.turned.Broadcast()
}

// any says whether something is left, for all that is known now.
func (p *purse) any() bool {
	if p == nil {
		return false
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.left > 0
}
