package sheet

import (
	"fmt"

	"example.org/handful/lang/check"
)

// A need is how many of a thing a piece takes.
type need struct {
	Kind string   // instrument, beater or stand
	Name string   // of one
	N    int      // the most that there are of it at one time
	Who  []string // plays it
	Gear int      // how many the piece's gear has; -1 where no gear says
}

// What a Need may be.
const (
	NeedInstrument = "instrument"
	NeedBeater     = "beater"
	NeedStand      = "stand"
)

// Needs are what the packing list of a piece has.
func Needs(r *check.Result) (out []need) {
	l := &load{}
	var views []*part
	for i := range r.Motions {
		views = append(views, newPart(r, i, standardFaces()))
	}
	l.piece(views, r)
	there := map[string]int{}
	for _, s := range l.stock {
		there[s.name] = s.there
	}
	for _, of := range []struct {
		kind string
		list []carried
	}{{NeedInstrument, l.instruments}, {NeedBeater, l.sticks}, {NeedStand, l.gear}} {
		for _, c := range of.list {
			n := need{Kind: of.kind, Name: c.name, N: c.n, Who: c.who, Gear: -1}
			if has, ok := there[c.name]; ok {
				n.Gear = has
			}
			out = append(out, n)
		}
	}
	return out
}

// Tightest is a player's change with least to spare, in words with its place,
// and how many seconds that is; ok is false where nothing is changed.
func Tightest(r *check.Result) (words string, spare float64, ok bool) {
	for _, m := range r.Motions {
		list := drillsOf(r.Score, m) // in the order of what is to spare
		if len(list) == 0 || ok && list[0].Spare() >= spare {
			continue
		}
		d := list[0]
		words, spare, ok = fmt.Sprintf("%s at %d.%s: %s", m.Player.Name, d.Bar, d.Count, check.Doing(d.Change)), d.Spare(), true
	}
	return words, spare, ok
}
