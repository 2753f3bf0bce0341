package body

// What players go by and nobody has published: common practice, no source.
// What more than one package goes by stands here, once; what a single rule or
// stage of the work goes by stands beside it.
const (
	// UsualAhead is how far before a player an instrument stands where nobody
	// knows better, in cm.
	UsualAhead = 45.0
	// HandsAhead is how far before the body the hands are when they have
	// nothing to do, and play what they hold, in cm.
	HandsAhead = 30.0
	// FootReach is how far a pedal may be from where the body stands, in cm.
	FootReach = 60.0
	// InSight is how far off the line to the conductor, in degrees, a player
	// still sees the beat while looking at an instrument.
	InSight = 60.0
	// Crowd is from how many things on one table each of them lies among others.
	Crowd = 5
	// pageAway is how far a page is from the hand, in cm.
	pageAway = 40.0
	// PageTurn is how long a hand should be free to turn a page, in seconds: as
	// long as it takes when the page sticks.
	PageTurn = 3.0
	// HandOver is how long it takes to hand a thing to somebody else, in seconds.
	HandOver = 3.0
	// LongRoll is from how many seconds on a roll of one hand strains the
	// forearm.
	LongRoll = 10.0
)

// UsualTable is where the table with the implements stands where nobody says
// so: at the right hand.
func UsualTable() Point { return Point{Right: 20, Ahead: 40} }
