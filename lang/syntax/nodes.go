package syntax

import (
	"math"
	"strconv"
	"strings"
)

// Leaves for whoever writes notation: the tree is built of them and of the types
// of statements, and [Print] writes it.

// Word is a name, or any word of the notation.
func Word(text string) Name { return Name{Text: text} }

// Quoted is text in quotes.
func Quoted(text string) Str { return Str{Text: Quote(text)} }

// TitleOf is a name that stands in quotes if it is more than a word.
func TitleOf(name string) Title {
	if kind, from, to := nextToken(name, 0); kind == tokWord && from == 0 && to == len(name) {
		return Title{Text: name}
	}
	return Title{Text: Quote(name)}
}

// Number is a number, whole or not.
func Number(v float64) Num { return Num{Text: strconv.FormatFloat(v, 'f', -1, 64)} }

// Bar is a whole bar, as a place or as a range.
func Bar(n int) Atom { return Atom{Text: strconv.Itoa(n)} }

// BarsBetween are the bars from one to another, or the one that it is.
func BarsBetween(from, to int) Atom {
	if from == to {
		return Bar(from)
	}
	return Atom{Text: strconv.Itoa(from) + "-" + strconv.Itoa(to)}
}

// SpotAt is a place in whole centimetres from a station, or from where the player
// stands. How high it is, is said of what is not at its usual height.
func SpotAt(station string, right, ahead, up float64) *Spot {
	s := &Spot{}
	if station != "" {
		s.Station = new(Word(station))
	}
	step := func(v float64, plus, minus string) {
		switch v = math.Round(v); {
		case v > 0:
			s.Steps = append(s.Steps, Step{Atom{Text: plus}, Number(v)})
		case v < 0:
			s.Steps = append(s.Steps, Step{Atom{Text: minus}, Number(-v)})
		}
	}
	step(right, "right", "left")
	step(ahead, "ahead", "behind")
	step(up, "up", "down")
	if s.Station == nil && s.Steps == nil {
		s.Steps = []Step{{Atom{Text: "ahead"}, Number(0)}}
	}
	return s
}

// MemberMark parts the name of a set from which of its drums is meant, in a kit as in
// a bar: tom-toms:high.
const MemberMark = ':'

// Member is the set's name and which of its drums a line of a kit is about; false
// where it is about the whole.
func (i *Item) Member() (set, which Name, ok bool) {
	at := strings.IndexByte(i.Name.Text, MemberMark)
	if at < 0 {
		return i.Name, which, false
	}
	a := Atom(i.Name)
	return Name(a.Cut(0, at)), Name(a.Cut(at+1, len(a.Text))), true
}

// MemberOf is the name of one of a set's drums in a kit.
func MemberOf(set, which string) Name { return Word(set + string(MemberMark) + which) }

// Facing is how far a thing is turned, in whole degrees; nil when it is not.
func Facing(degrees float64) *Num {
	if degrees == 0 {
		return nil
	}
	return new(Number(math.Round(degrees)))
}
