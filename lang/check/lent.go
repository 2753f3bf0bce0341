package check

import (
	"example.org/handful/lang/score"
	"example.org/handful/lang/slab"
)

// A Room lends checks the room that another one had, to whoever checks one piece after the
// other and is done with each before the next. It is not for several goroutines at once.
// Without one each check has its own.
type Room struct {
	score    *score.Room
	findings *slab.Of[Finding]
	once     map[toldOnce]bool
}

// NewRoom is room for one check.
func NewRoom() *Room {
	return &Room{score: score.NewRoom(), findings: new(slab.Of[Finding]), once: map[toldOnce]bool{}}
}

// Clear takes the room back from the result that was found in it, which is good for nothing
// from then on.
func (r *Room) Clear() {
	r.score.Clear()
	r.findings.Clear()
	clear(r.once)
}

// lent is what a check has room in: nothing, if it has to find its own.
func (o *Options) lent() Room {
	if o.Room == nil {
		return Room{}
	}
	return *o.Room
}
