package kit

import (
	"slices"
	"strings"
)

// An Ask is what a cue asks of the way in which a thing is played, besides its
// mount and its implement.
type Ask struct {
	OneHand  bool   // in one hand
	TwoInOne bool   // two in one hand
	Foot     bool   // by foot
	Shaken   bool   // shaken
	Named    string // a way's own name
}

// ReadAsk reads the words in which a way is asked for: shaken, in one hand, two
// in one hand, by foot, or a way's own name in quotes. It reads as many as it
// can and says how many those were; 0 is that nothing was asked.
func ReadAsk(words []string) (a Ask, read int) {
	for read < len(words) {
		rest := words[read:]
		starts := func(text string) bool {
			want := strings.Fields(text)
			return len(rest) >= len(want) && slices.Equal(rest[:len(want)], want)
		}
		switch {
		case starts("shaken"):
			a.Shaken = true
			read++
		case starts("two in one hand"):
			a.TwoInOne = true
			read += 4
		case starts("in one hand"):
			a.OneHand = true
			read += 3
		case starts("by foot"):
			a.Foot = true
			read += 2
		case len(rest[0]) > 1 && rest[0][0] == '"' && a.Named == "":
			a.Named = strings.Trim(rest[0], `"`)
			read++
		default:
			return a, read
		}
	}
	return a, read
}

// String is the words in which it is asked for, as a cue has them.
func (a Ask) String() string {
	var out []string
	if a.Shaken {
		out = append(out, "shaken")
	}
	if a.OneHand {
		out = append(out, "in one hand")
	}
	if a.TwoInOne {
		out = append(out, "two in one hand")
	}
	if a.Foot {
		out = append(out, "by foot")
	}
	if a.Named != "" {
		out = append(out, `"`+a.Named+`"`)
	}
	return strings.Join(out, " ")
}

// Fits says whether a way is one that is asked for. A way with a name of its own
// is not meant by words that do not name it, unless nothing else is.
func (a Ask) Fits(w *Way) bool {
	switch {
	case a.OneHand && !(w.Limb == Hand && w.Hands == 1),
		a.TwoInOne && !w.is("two in one hand"),
		a.Foot && w.Limb != Foot,
		a.Shaken && !w.Shaken,
		a.Named != "" && a.Named != w.Named:
		return false
	}
	return true
}

// Asked lists the ways that a cue asks for by mount and words; AnyMount leaves
// the mount open.
func (in *Instrument) Asked(mount Mount, a Ask) []*Way {
	var out, named []*Way
	for _, w := range in.Ways {
		if mount != AnyMount && w.Mount != mount || !a.Fits(w) {
			continue
		}
		if w.Named != "" && a.Named == "" {
			named = append(named, w)
			continue
		}
		out = append(out, w)
	}
	if len(out) == 0 {
		return named
	}
	return out
}

// AskFor is the shortest words that ask for a way among those of its mount:
// those that fit them are it, or differ from it in what the cue says anyhow: the
// implement, the limbs (R and RL of what stands, RF), or that it rolls.
func (in *Instrument) AskFor(w *Way) Ask {
	if w.Named != "" {
		return Ask{Named: w.Named}
	}
	for _, a := range [...]Ask{{}, {Shaken: true}, {OneHand: true}, {TwoInOne: true}, {Foot: true}, {OneHand: true, Shaken: true}} {
		list := in.Asked(w.Mount, a)
		if !slices.Contains(list, w) {
			continue
		}
		if first := slices.IndexFunc(list, func(o *Way) bool { return sameImplement(o, w) }); a == (Ask{}) && list[first] == w {
			return a
		}
		if !slices.ContainsFunc(list, func(o *Way) bool {
			return o != w && sameImplement(o, w) && !toldByLimb(o, w) && (o.Hands != w.Hands || o.Shaken != w.Shaken)
		}) {
			return a
		}
	}
	return Ask{OneHand: w.Limb == Hand && w.Hands == 1, Foot: w.Limb == Foot, Shaken: w.Shaken}
}

// toldByLimb says whether the limbs of the cue leave two ways apart: a hand or a
// foot, and of what is not held one hand or two.
func toldByLimb(a, b *Way) bool {
	return a.Limb != b.Limb || a.Hands != b.Hands && (a.Fixed() || a.Limb == Foot)
}

// sameImplement says whether naming an implement leaves two ways apart or not.
func sameImplement(a, b *Way) bool {
	if len(a.With) == 0 || len(b.With) == 0 {
		return len(a.With) == len(b.With)
	}
	return slices.ContainsFunc(a.With, func(c Choice) bool { return slices.Contains(b.With, c) })
}
