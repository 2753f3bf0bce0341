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

	seen string // which of the times come from a source: c, f, l
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

// Seen says whether a published or reported figure stands behind the fast time
// or the least one, rather than common practice alone.
func (t *Technique) Seen() bool { return strings.ContainsAny(t.seen, "fl") }

type techniqueKey struct{ word, limb string }

// techniques reads the table once.
var techniques = sync.OnceValue(func() map[techniqueKey]*Technique {
	out := map[techniqueKey]*Technique{}
	for _, row := range rows("rates.csv") {
		if len(row) < 12 || row[0] == "word" {
			continue
		}
		ms := func(i int) float64 { v, _ := strconv.ParseFloat(row[i], 64); return v / 1000 }
		out[techniqueKey{row[0], row[1]}] = &Technique{
			Word: row[0], Limb: row[1], Bare: row[2] == "bare", What: row[3], On: row[4],
			Comfortable: ms(5), Fast: ms(6), Least: ms(7), Kept: ms(8), seen: row[9], HowLong: row[10], Source: row[11],
		}
	}
	return out
})

// TechniqueOf is the row of a motion and a limb, or nil.
func TechniqueOf(word, limb string) *Technique { return techniques()[techniqueKey{word, limb}] }

// Techniques are all rows, in the order of their words and limbs.
func Techniques() []*Technique {
	var out []*Technique
	for _, t := range techniques() {
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

// base is the row of the same limb on what throws a stick back best: what
// nobody does there, nobody does elsewhere.
func (t *Technique) base() *Technique {
	switch t.Limb {
	case OneHand, BothHands, Double, Triple:
		return TechniqueOf(Stick, OneHand)
	case TwoHands, TwoHandsHard, OpenRoll:
		return TechniqueOf(Stick, TwoHands)
	case OneFoot:
		return TechniqueOf(Pedal, OneFoot)
	case TwoFeet:
		return TechniqueOf(Pedal, TwoFeet)
	}
	return nil
}

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
	base := Experienced()
	slower := p.SameFloor / base.SameFloor
	said := p.Fastest > 0 && slices.Contains([]string{OneHand, TwoHands, TwoHandsHard, BothHands}, t.Limb)
	if said {
		slower = p.handFloor() / base.SameFloor
	}
	pace := Pace{Floor: t.Fast * slower, Steady: t.Comfortable * p.SameSteady / base.SameSteady * p.margin()}
	if t.Word == Stick && t.Limb == OneHand { // the profile's own
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
	base := t.base()
	fast := t.Kept
	if fast == 0 && strings.Contains(t.seen, "f") {
		fast = t.Fast
	}
	few := t.Least
	if base != nil && !strings.Contains(t.seen, "l") {
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

// GraceStrokes is the pace from the stroke before to one that has so many
// grace strokes: their spacings, and before the first of them what two hands
// in turn need. The limit is that of a single pair of strokes.
func (p Profile) GraceStrokes(n int, turn *Technique) Pace {
	row := TechniqueOf(Grace, [...]string{"one", "two", "three"}[min(max(n, 1), 3)-1])
	slower, calmer := p.SameFloor/Experienced().SameFloor, p.SameSteady/Experienced().SameSteady*p.margin()
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
