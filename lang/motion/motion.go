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

	"handful/lang/beat"
	"handful/lang/body"
	"handful/lang/kit"
	"handful/lang/score"
)

// Limits, reported as [Result.Truncated] when met.
const (
	// MaxEvents is how many played strokes of one player are followed.
	MaxEvents = 1_000_000
	// maxStates bounds how many situations are kept at one moment. It is far
	// above what music needs (a dozen); the cheapest are kept.
	maxStates = 512
	// restGap is the silence, in seconds, after which a hand may do something
	// else between two strokes on the same instrument.
	restGap = 1.5
)

// The limbs of an event, as bits.
const (
	R uint8 = 1 << iota
	L
	RF
	LF
	M
	Hands = R | L
)

// EventKind says what happens.
type EventKind uint8

const (
	Strike EventKind = iota
	RollOn           // lasts from T0 to T1
	Stop             // stops a ring
	PageTurn
	Set // an implement is taken or laid at a set place
)

// An Event is one thing a player does, in played order.
type Event struct {
	T0, T1 float64 // seconds from the start as played
	Cue    *score.Cue
	Action *score.Action // instead of a cue
	Stroke int32         // of the cue
	Span   int32         // of the time line
	Limbs  uint8
	Kind   EventKind
	index  int32 // in the result's events
}

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
	return e.Cue.Strokes[e.Stroke].Where
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
	Inst      *score.Item    // a held instrument
	Kept      *kit.Implement // a light implement kept in the fingers meanwhile
	Set       bool           // false: not known, at the very start
}

// Words says what the hand holds.
func (g Grip) Words() string {
	switch {
	case g.Inst != nil:
		return "the " + g.Inst.Inst.Name()
	case g.Implement != nil && g.Count == 2:
		return "two " + g.Implement.Name() + "s"
	case g.Implement != nil:
		return "the " + g.Implement.Name()
	case g.Kept != nil:
		return "the " + g.Kept.Name() + " in the fingers"
	}
	return "nothing"
}

// A Change is what one limb has to do between two things.
type Change struct {
	Hand     score.Limb
	From, To *Event // From is nil at the start of the piece
	Motions  []body.Motion
	Need     body.Pace
	Start    float64 // when the limb is free
	Window   float64 // seconds until To
	Before   Grip
	After    Grip
	Lays     bool
	Takes    bool
	Walks    bool
	// BodyBound: the window is counted from when the body could leave, not
	// from when the hand was free.
	BodyBound bool
	Ratio     float64 // tempo factor at which the window equals the floor
}

// Spare is the seconds left over at the steady pace; less than 0 is tight.
func (c *Change) Spare() float64 { return c.Window - c.Need.Steady }

// Short says whether even the floor does not fit.
func (c *Change) Short() bool { return c.Need.Floor > c.Window+eps }

// Tight says whether it fits, but not at the steady pace.
func (c *Change) Tight() bool { return !c.Short() && c.Need.Steady > c.Window+eps }

// eps is far below anything a body or a clock can tell.
const eps = 1e-6

// A Conflict is two things that cannot be done at once.
type Conflict struct {
	A, B *Event // A is already going on when B begins
	Kind ConflictKind
}

// ConflictKind says why they conflict.
type ConflictKind uint8

const (
	SameLimb    ConflictKind = iota // one limb is booked twice
	BothHands                       // the instrument fills both hands
	NeedsTwo                        // a roll that needs both hands
	TwoStations                     // two limbs are needed at two places
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
	AnyHands  map[*score.Cue]score.Limb
	Truncated bool
	Cost      int64
	// Ceiling is the highest tempo factor at which every change can still be
	// made, over all lawful paths; +Inf where nothing limits it and 0 where no
	// tempo would do. CeilingAt is the change that sets it.
	Ceiling   float64
	CeilingAt *Change
}

func inf() float64 { return math.Inf(1) }
