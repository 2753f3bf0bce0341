package body

import (
	"slices"
	"strconv"
	"strings"
	"sync"
)

// A Technique is one way of making strokes again and again, as a row of
// tables/rates.csv gives it. Its times are from stroke to stroke, in seconds,
// of an experienced player; 0 is not known.
type Technique struct {
	Word string // what the motion is called, also in a catalogue: stick, shake, scrape
	Limb string // what makes it: one hand, two hands, double, one foot …
	What string // in a player's words
	On   string // on what

	Comfortable float64
	Fast        float64 // as fast as people make it on average when they do their utmost
	Least       float64 // quicker than anybody is known to make a few of them
	Kept        float64 // what is kept for a whole song, where that is less than Fast

	Bare    bool // the hand that makes it has no stick in it
	HowLong string
	Source  string

	fastSeen, leastSeen bool       // a published or reported figure stands behind the time
	hand                bool       // a hand makes it by motions of its own
	limb                *Technique // the row of the same limb on what throws a stick back best
}

// Limbs of the table that others ask for.
const (
	OneHand      = "one hand"
	TwoHands     = "two hands"
	TwoHandsHard = "two hands hard"
	BothHands    = "both hands"
	Double       = "double"
	Triple       = "triple"
	OpenRoll     = "open roll"
	AtOnce       = "together"
	OneFoot      = "one foot"
	TwoFeet      = "two feet"
	ByMouth      = "mouth"
)

// Motions that stand for what is not said.
const (
	Stick  = "stick"      // a stick or mallet on what throws it back
	Bare   = "fingertips" // a hand that has nothing in it
	Pair   = "pair"       // two mallets in a hand
	Pedal  = "pedal"      // a foot
	Tongue = "tongue"     // the mouth
	Grace  = "grace"      // grace strokes, by how many there are
	Touch  = "touch"      // what stops a ring
)

// seen says whether a published or reported figure stands behind the fast time
// or the least one, rather than common practice alone.
func (t *Technique) seen() bool { return t.fastSeen || t.leastSeen }

type techniqueKey struct{ word, limb string }

// rateTable is the table, and the rows that are asked for all the time.
type rateTable struct {
	rows                                         map[techniqueKey]*Technique
	same, turn, foot, feet, mallets, bothMallets *Technique
}

// techniques reads the table once.
var techniques = sync.OnceValue(func() *rateTable {
	out := map[techniqueKey]*Technique{}
	for _, row := range rows("rates.csv") {
		if len(row) < 12 || row[0] == "word" {
			continue
		}
		ms := func(i int) float64 { v, _ := strconv.ParseFloat(row[i], 64); return v / 1000 }
		out[techniqueKey{row[0], row[1]}] = &Technique{
			Word: row[0], Limb: row[1], Bare: row[2] == "bare", What: row[3], On: row[4],
			Comfortable: ms(5), Fast: ms(6), Least: ms(7), Kept: ms(8), HowLong: row[10], Source: row[11],
			fastSeen: strings.Contains(row[9], "f"), leastSeen: strings.Contains(row[9], "l"),
		}
	}
	of := func(word, limb string) *Technique { return out[techniqueKey{word, limb}] }
	t := &rateTable{rows: out, same: of(Stick, OneHand), turn: of(Stick, TwoHands), foot: of(Pedal, OneFoot), feet: of(Pedal, TwoFeet),
		mallets: of(Pair, OneHand), bothMallets: of(Pair, AtOnce)}
	// What nobody does on what throws a stick back best, nobody does elsewhere.
	for _, row := range out {
		switch row.Limb {
		case OneHand, BothHands:
			row.limb, row.hand = t.same, true
		case Double, Triple:
			row.limb = t.same
		case TwoHands, TwoHandsHard:
			row.limb, row.hand = t.turn, true
		case OpenRoll:
			row.limb = t.turn
		case OneFoot:
			row.limb = t.foot
		case TwoFeet:
			row.limb = t.feet
		}
	}
	return t
})

// TechniqueOf is the row of a motion and a limb, or nil.
func TechniqueOf(word, limb string) *Technique { return techniques().rows[techniqueKey{word, limb}] }

// Techniques are all rows, in the order of their words and limbs.
func allTechniques() []*Technique {
	var out []*Technique
	for _, t := range techniques().rows {
		out = append(out, t)
	}
	slices.SortFunc(out, func(a, b *Technique) int {
		if c := strings.Compare(a.Word, b.Word); c != 0 {
			return c
		}
		return strings.Compare(a.Limb, b.Limb)
	})
	return out
}

// How many strokes in a row each of the three limits of a repetition is for,
// and the share of the fast time that the longer ones are. A few may be as
// quick as anybody has been seen to make them; some thirty are a phrase; more
// than that are kept up. Derived in shares_test.go.
const (
	Few         = 4
	Phrase      = 30
	phraseShare = 0.8
	keptShare   = 0.9
)

// asQuick is from which share of another row's fast time on a row counts as no
// quicker than it.
const asQuick = 0.95

// Rate is the pace of so many strokes of a technique in a row, from stroke to
// stroke.
//
// The limit of a few is the least time that anybody has been seen to make, and
// of a phrase and of more a share of the fast time. It is never quicker for
// more strokes than for fewer. A row that is common practice alone makes no
// limit of its own: it has that of its limb, at any length where it is itself
// no quicker, else at a few. What a profile is slower or quicker than an
// experienced player it is so on the whole row; but nobody is quicker than the
// least time.
func (p Profile) Rate(t *Technique, strokes int) Pace {
	slower := p.SameFloor / ordinaryFloor
	said := p.Fastest > 0 && t.hand
	if said {
		slower = p.handFloor() / ordinaryFloor
	}
	pace := Pace{Floor: t.Fast * slower, Steady: t.Comfortable * p.SameSteady / ordinarySteady * p.margin()}
	if t == techniques().same { // the profile's own
		pace.Floor, pace.Steady = p.handFloor(), p.SameSteady*p.margin()
	}
	if said { // below what is the player's fastest there is nothing
		pace.Limit = pace.Floor
	} else {
		pace.Limit = p.least(t, strokes, slower)
	}
	pace.Floor = max(pace.Floor, pace.Limit)
	pace.Steady = max(pace.Steady, pace.Floor)
	return pace
}

func (p Profile) least(t *Technique, strokes int, slower float64) float64 {
	base := t.limb
	fast := t.Kept
	if fast == 0 && t.fastSeen {
		fast = t.Fast
	}
	few := t.Least
	if base != nil && !t.leastSeen {
		few = min(few, base.Least)
	}
	few *= max(1, slower)
	switch {
	case fast == 0 && base != nil && base != t && t.Fast >= asQuick*base.Fast:
		return p.least(base, strokes, slower)
	case fast == 0 || strokes <= Few:
		return few
	case strokes <= Phrase:
		return max(few, phraseShare*fast*slower)
	}
	return max(few, keptShare*fast*slower)
}

// graceRow is the row of so many grace strokes.
func graceRow(n int) *Technique {
	return TechniqueOf(Grace, [...]string{"one", "two", "three"}[min(max(n, 1), 3)-1])
}

// GraceStrokes is the pace from the stroke before to one that has so many
// grace strokes: their spacings, and before the first of them what two hands
// in turn need. The limit is that of a single pair of strokes.
func (p Profile) GraceStrokes(n int, turn *Technique) Pace {
	row := graceRow(n)
	slower, calmer := p.SameFloor/ordinaryFloor, p.SameSteady/ordinarySteady*p.margin()
	k := float64(n)
	first := p.Rate(turn, 2)
	pace := Pace{
		Limit:  k*row.Least*max(1, slower) + first.Limit,
		Floor:  k*row.Fast*slower + first.Floor,
		Steady: k*row.Comfortable*calmer + first.Steady,
	}
	pace.Floor = max(pace.Floor, pace.Limit)
	pace.Steady = max(pace.Steady, pace.Floor)
	return pace
}
