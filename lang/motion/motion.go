// Package motion finds how each player gets through the music: what every
// hand holds, where it is and where the body stands, through all strokes in
// played order.
//
// In comes a bound [score.Score]. Out comes, for every player, a [Result]:
// the cheapest lawful line of spells and changes, each change with its
// motions, the seconds it needs and the seconds there are. The line is a
// shortest path over what both hands hold, where they are and where the body
// stands; no hand is ever served greedily. Where no lawful path exists, the
// cheapest unlawful one is kept and says which cues conflict and by how much.
//
// The package never decides what is worth reporting, and never changes the
// score.
package motion

import (
	"math"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// Limits, reported as [Result.Truncated] when met.
const (
	// maxEvents is how many played strokes of one player are followed.
	maxEvents = 1_000_000
	// maxStates bounds how many situations are kept at one moment. It is far
	// above what music needs (a dozen); the cheapest are kept.
	maxStates = 512
	// maxOptions bounds in how many ways one moment may be played.
	maxOptions = 4096
)

// restGap is the silence after which a hand may do something else between two
// strokes on the same instrument. It is counted in the music, not in seconds,
// so that a tempo changes how long things are and never what is possible.
var restGap = beat.R(1, 2)

// EventKind says what happens.
type EventKind uint8

const (
	Strike EventKind = iota
	RollOn           // lasts from T0 to T1
	Stop             // stops a ring
	PageTurn
	Set   // an implement is taken or laid at a set place
	Choke // stops the ring of a stroke that is marked short
)

// Stops says whether the event stops a ring and strikes nothing.
func (k EventKind) Stops() bool { return k == Stop || k == Choke }

// An Event is one thing a player does, in played order.
type Event struct {
	T0, T1 float64 // seconds from the start as played
	Cue    *score.Cue
	Action *score.Action // instead of a cue
	Stroke int32         // of the cue
	Span   int32         // of the time line
	// Limbs strike, blow or damp. A stop that the text gives to no limb has
	// none until the path has chosen one.
	Limbs body.Limbs
	// Grace is the other hand, where it plays the grace strokes.
	Grace body.Limbs
	Kind  EventKind
	// Left is how many notes of a chord for both hands the left hand has, from the
	// left; 0 where each hand strikes all.
	Left  uint8
	index int32 // in the result's events
}

// Hands is every hand that the event itself takes.
func (e *Event) Hands() body.Limbs { return (e.Limbs | e.Grace) & body.Hands }

// Index is where the event stands in its result's Events.
func (e *Event) Index() int { return int(e.index) }

// At is the written place of the event.
func (e *Event) At() beat.Rat {
	if e.Cue == nil {
		return e.Action.At
	}
	return e.Cue.Strokes[e.Stroke].At
}

// Bar is the written bar of the event.
func (e *Event) Bar() int {
	if e.Cue == nil {
		return e.Action.Bar
	}
	return int(e.Cue.Strokes[e.Stroke].Bar)
}

// Where is the text that the event comes from.
func (e *Event) Where() score.Where {
	if e.Cue == nil {
		return e.Action.Where
	}
	return e.Cue.Strokes[e.Stroke].Where()
}

// Item is the instrument, or nil for a page turn.
func (e *Event) Item() *score.Item {
	if e.Cue == nil {
		return e.Action.Item
	}
	return e.Cue.Item
}

// A Grip is what one hand holds.
type Grip struct {
	Implement *kit.Implement // nil: none
	Count     int            // of implements: 2 is a two-mallet grip
	Butt      bool           // held the other way round: the butt end plays
	Inst      *score.Item    // a held instrument; in the palm, where Implement is in the fingers
	// Kept is a light implement that the hand has and does not play with: in the
	// fingers of a hand that is bare otherwise, or beside Implement.
	Kept *kit.Implement
	Set  bool // false: not known, at the very start
}

// Two says whether the hand has two implements of different kinds.
func (g *Grip) Two() bool { return g.Implement != nil && g.Kept != nil }

// Both says whether the hand has an instrument in the palm and a stick in the
// fingers. Either plays, without a change.
func (g *Grip) Both() bool { return g.Inst != nil && g.Implement != nil }

// Of is how many of an implement the hand has.
func (g *Grip) Of(im *kit.Implement) int {
	n := 0
	if im != nil && g.Implement == im {
		n = max(1, g.Count)
	}
	if im != nil && g.Kept == im {
		n++
	}
	return n
}

// without is what one grip has and another one has not.
func (g Grip) without(o Grip) Grip {
	left := Grip{Set: g.Set}
	if g.Inst != o.Inst {
		left.Inst = g.Inst
	}
	if n := g.Of(g.Implement) - o.Of(g.Implement); n > 0 {
		left.Implement, left.Count = g.Implement, n
	}
	switch {
	case g.Of(g.Kept) <= o.Of(g.Kept):
	case left.Implement == nil && g.Implement != nil:
		left.Implement, left.Count = g.Kept, 1
	default:
		left.Kept = g.Kept
	}
	return left
}

// within says whether another grip has all that this one has.
func (g *Grip) within(o *Grip) bool {
	left := g.without(*o)
	return left.Implement == nil && left.Inst == nil && left.Kept == nil
}

// Words says what the hand holds.
func (g Grip) Words() string {
	switch {
	case g.Both():
		return "the " + g.plays() + " and the " + g.Inst.Called()
	case g.Inst != nil:
		return "the " + g.Inst.Called()
	case g.Two():
		return "the " + g.plays() + " and the " + g.Kept.Name()
	case g.Implement != nil && g.Count == 2:
		return "two " + g.Implement.Name() + "s"
	case g.Implement != nil:
		return "the " + g.plays()
	case g.Kept != nil:
		return "the " + g.Kept.Name() + " in the fingers"
	}
	return "nothing"
}

// plays is what of the implement plays.
func (g *Grip) plays() string {
	if g.Butt {
		return "butt of the " + g.Implement.Name()
	}
	return g.Implement.Name()
}

// A Change is what one limb has to do between two things.
type Change struct {
	From, To  *Event // From is nil at the start of the piece
	Motions   []body.Motion
	Need      body.Pace
	Start     float64 // when the limb is free
	Window    float64 // seconds until To
	Before    Grip
	After     Grip
	LetGo     float64 // seconds of the window for which a roll is let go of early
	Ratio     float64 // tempo factor at which the window equals the limit
	EdgeRatio float64 // tempo factor at which the window equals the floor
	Hand      body.Limb
	Lays      bool
	Takes     bool
	Walks     bool
	// BodyBound: the window is counted from when the body could leave, not
	// from when the hand was free.
	BodyBound bool
	// Retunes is the kettle that a foot gives another note, and nothing else is
	// done then.
	Retunes *Retuning
}

// Laid is what the hand puts down, and Taken what it takes up: of what it has
// before and after only what is not in both.
func (c *Change) Laid() Grip  { return beyond(c.Before, c.After) }
func (c *Change) Taken() Grip { return beyond(c.After, c.Before) }

// beyond is what one grip has beyond another; where that is nothing, a thing was
// laid and taken again, and it is all.
func beyond(a, b Grip) Grip {
	if left := a.without(b); left != (Grip{Set: left.Set}) {
		return left
	}
	return a
}

// Spare is the seconds left over at the steady pace; less than 0 is tight.
func (c *Change) Spare() float64 { return c.Window - c.Need.Steady }

// Band is how a need stands to the time there is.
type Band uint8

const (
	Steady  Band = iota // at an easy pace
	Tight               // not at an easy pace
	AtEdge              // faster than people do it on average
	Missing             // below the limit: nobody does it reliably
)

// BandOf says in which band a window lies.
func BandOf(need body.Pace, window float64) Band {
	switch {
	case need.Limit > window+eps:
		return Missing
	case need.Floor > window+eps:
		return AtEdge
	case need.Steady > window+eps:
		return Tight
	}
	return Steady
}

// Band is how much time the change has.
func (c *Change) Band() Band { return BandOf(c.Need, c.Window) }

// Short says whether even the limit does not fit.
func (c *Change) Short() bool { return c.Band() == Missing }

// Tight says whether it fits, but not at the steady pace.
func (c *Change) Tight() bool { b := c.Band(); return b == Tight || b == AtEdge }

// AtEdge says whether it is faster than people do it on average.
func (c *Change) AtEdge() bool { return c.Band() == AtEdge }

// eps is far below anything a body or a clock can tell, in seconds and in cm.
const eps = 1e-6

// A Conflict is two things that cannot be done at once.
type Conflict struct {
	A, B *Event // A is already going on when B begins
	Full *Event // which of the two fills both hands; nil: neither, or both
	Kind ConflictKind
	// Hands is the hands that both want; what they have to do on the way to
	// and from here depends on which of the two they would leave.
	Hands body.Limbs
}

// ConflictKind says why they conflict.
type ConflictKind uint8

const (
	SameLimb    ConflictKind = iota // one limb is booked twice
	BothHands                       // the instrument fills both hands
	NeedsTwo                        // a roll that needs both hands
	TwoStations                     // two limbs are needed at two places
	NoHand                          // no hand, foot or knee is free for a stop
	TwoSeats                        // sitting and standing, or on two seats
	NoFoot                          // the feet that a way of playing takes are on other pedals
)

// A Spell is what a hand holds from one moment on.
type Spell struct {
	From  float64
	Event *Event
	Grip  Grip
	Place int
}

// Chosen is a way of playing that the path uses for a cue.
type Chosen struct {
	Cue    *score.Cue
	Way    *kit.Way
	Choice kit.Choice // what the striking hand holds
	Count  int        // strokes and rolls played that way
	First  *Event
	Rolled bool
	Roll   *Event // the first that is a roll, or nil
	// Substitute says that the wanted implement is in no way of playing; Way
	// is then the nearest one.
	Substitute bool
}

// A Place is somewhere the body stands.
type Place struct {
	Name    string
	At      body.Point
	Implied bool // a side step from a station, for what is out of reach there
}

// A Result is one player's way through the piece.
type Result struct {
	Player    *score.Player
	Events    []Event
	Changes   []Change
	Conflicts []Conflict
	Spells    [2][]Spell
	Chosen    []Chosen
	Places    []Place
	OutOf     []*score.Item // instruments beyond reach from everywhere
	AnyHands  map[*score.Cue]body.Limb
	// Unseated is where both feet first play at once and nothing says that the
	// body sits, or nil.
	Unseated *Event
	// Truncated says what was cut because there is too much of it, in words,
	// each once; nothing is cut otherwise.
	Truncated []string
	// Tunings is how each set of kettles is tuned, Retunings where a kettle gets
	// another note, in the order in which they are needed, and Crowds where there
	// are too few. Nothing where no stroke on kettles says its note.
	Tunings   []Tuning
	Retunings []Change
	Crowds    []Crowd
	kettles   []onKettles // of each event; nil where nothing is known
	rates     *rateList   // nil in one that is not finished
	laid      []*laid     // likewise, what it strikes
	course    *course     // nil where nobody will go on from it
	hits      int         // how many different places those are
	Cost      int64
	// Cannot is the highest tempo factor at which no change is below its
	// limit, over all lawful paths; Edge is the highest at which none is below
	// its floor.
	Cannot, Edge Ceiling
}

// A Ceiling is a tempo factor: +Inf where nothing limits it, and 0 where no
// tempo would do. At is the change that sets it, or nil.
type Ceiling struct {
	Factor float64
	At     *Change
}

func inf() float64 { return math.Inf(1) }
