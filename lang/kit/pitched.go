package kit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"example.org/handful/lang/pitch"
	"example.org/handful/lang/syntax"
)

// A Target is what a stroke aims at: a bar of a keyboard, a drum of a set. Its
// place is in cm from the middle of the whole, as whoever plays it stands
// before it.
type Target struct {
	Right, Ahead float64
	Wide         float64 // what may be hit, cm
}

// Turned is the target on an instrument that is turned clockwise by so many degrees.
func (t Target) Turned(degrees float64) Target {
	if degrees == 0 {
		return t
	}
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	t.Right, t.Ahead = t.Right*cos+t.Ahead*sin, t.Ahead*cos-t.Right*sin
	return t
}

// Dist is how far the hand goes from one to the other, cm.
func (t Target) Dist(u Target) float64 { return math.Hypot(t.Right-u.Right, t.Ahead-u.Ahead) }

// A Kettle is one of a set of timpani and what its pedal reaches.
type Kettle struct {
	Across    float64 // cm
	Low, High pitch.Pitch
}

// Reaches says whether the kettle can be tuned to the note.
func (k Kettle) Reaches(p pitch.Pitch) bool {
	return k.Low.Semitone() <= p.Semitone() && p.Semitone() <= k.High.Semitone()
}

// UsualKettles are the sizes that timpani are built in, from the lowest: those of
// the catalogue's sets, of which no other entry is read for it, and the small one
// that is an extra. Common practice, no source.
var UsualKettles = sync.OnceValue(func() []Kettle {
	out := []Kettle{smallKettle}
	for _, e := range Standard().shelf.instruments {
		if !strings.Contains(e.text, "\n  kettle ") {
			continue
		}
		e.load()
		for _, k := range e.in.Kettles {
			if !slices.Contains(out, k) {
				out = append(out, k)
			}
		}
	}
	slices.SortFunc(out, func(a, b Kettle) int {
		return cmp.Or(cmp.Compare(a.Low.Semitone(), b.Low.Semitone()), cmp.Compare(a.Across, b.Across))
	})
	return out
})

var smallKettle = Kettle{Across: 51, Low: pitch.Of('F', 0, 3), High: pitch.Of('C', 0, 4)}

// mostKettles is how many a set may have: more than anybody stands among.
const mostKettles = 16

// A Range is the lowest and the highest note, as written.
type Range struct{ Low, High pitch.Pitch }

// Has says whether the note is in the range.
func (r Range) Has(p pitch.Pitch) bool {
	return !r.Low.None() && r.Low.Semitone() <= p.Semitone() && p.Semitone() <= r.High.Semitone()
}

func (r Range) String() string { return r.Low.String() + " to " + r.High.String() }

// Reaches says whether the instrument has the note: in its range, and of a set of
// timpani on one of its kettles.
func (in *Instrument) Reaches(p pitch.Pitch) bool {
	return in.Range.Has(p) && (len(in.Kettles) == 0 || slices.ContainsFunc(in.Kettles, func(k Kettle) bool { return k.Reaches(p) }))
}

// Pitched says whether the instrument has notes of its own, so that a stroke
// may say which.
func (in *Instrument) Pitched() bool { return !in.Range.Low.None() }

// DryByStroke says whether a stroke on it that is marked short is made so by how it is
// struck: on bars without a damper a dot is a shorter stroke, a dead one, or only a way to
// phrase, and no hand goes back to a bar to stop it. Where the text says to stop the ring,
// a hand does. Common practice, no source.
func (in *Instrument) DryByStroke() bool {
	return in.Family == Keyboard && in.Pitched() && !slices.ContainsFunc(in.StopsBy, func(what string) bool { return StopNamed(what) == StopPedal })
}

// Sounding is how the written note sounds.
func (in *Instrument) Sounding(written pitch.Pitch) pitch.Pitch { return written.Octaves(in.Octaves) }

// keys is what of the length of a keyboard its bars take, and rows how far the
// middles of its two rows are apart, of its depth. Common practice, no source.
const (
	keys = 0.9
	rows = 0.2
)

// Bar is the bar of a keyboard that sounds the note; false where it has none,
// or where nothing says how its bars lie.
func (in *Instrument) Bar(p pitch.Pitch) (Target, bool) {
	if in.Bars == [2]float64{} || !in.Range.Has(p) {
		return Target{}, false
	}
	low, high, at := natural(in.Range.Low.Semitone()), natural(in.Range.High.Semitone()), natural(p.Semitone())
	n := high - low + 1
	wide := func(i float64) float64 {
		if n == 1 {
			return in.Bars[0]
		}
		return in.Bars[0] + (in.Bars[1]-in.Bars[0])*min(max(i, 0), float64(n-1))/float64(n-1)
	}
	gap := max(0.2, (in.Wide*keys-float64(n)*(in.Bars[0]+in.Bars[1])/2)/float64(n))
	begins := func(i float64) float64 { // where the bar begins that stands i-th, and how much all have before it
		return i*(in.Bars[0]+wide(i-1))/2 + i*gap
	}
	whole := begins(float64(n))
	i := float64(at - low)
	t := Target{Right: begins(i) + (wide(i)+gap)/2 - whole/2, Ahead: -in.Deep * rows / 2, Wide: wide(i)}
	if raised(p.Semitone()) { // the second row stands over the gaps of the first one
		t.Right, t.Ahead = begins(i+1)-whole/2, -t.Ahead
	}
	return t, true
}

// natural counts the white keys up to that key, it included; a raised one counts as the
// one below it.
func natural(semitone int) int {
	return semitone/12*7 + [12]int{0, 0, 1, 1, 2, 3, 3, 4, 4, 5, 5, 6}[semitone%12]
}

func raised(semitone int) bool { return slices.Contains([]int{1, 3, 6, 8, 10}, semitone%12) }

// Row is how many drums, blocks or bells stand in it from left to right; 0 is
// one thing, or things that nothing tells apart.
func (in *Instrument) Row() int { return max(len(in.MemberNames), in.Members, len(in.Kettles)) }

// roundYou is how far from the player the middles of drums stand that are bent
// round him, cm. Common practice, no source.
const roundYou = 75

// Member is the n-th of a set from the left, beginning with 1.
func (in *Instrument) Member(n int) (Target, bool) {
	row := in.Row()
	if n < 1 || n > row {
		return Target{}, false
	}
	each := in.Wide / float64(row)
	t := Target{Right: each * (float64(n) - float64(row+1)/2), Wide: min(in.Zone, each)}
	if in.Members > 2 && in.Wide > 2*roundYou { // they stand in an arc
		angle := t.Right / roundYou
		t.Right, t.Ahead = roundYou*math.Sin(angle), roundYou*(math.Cos(angle)-1)
	}
	return t, true
}

// MemberSize is how much room the n-th of a set takes by itself, cm: a drum is
// round, of what is none its share of the row.
func (in *Instrument) MemberSize(n int) (wide, deep float64, round bool) {
	each := in.Wide / float64(max(1, in.Row()))
	switch {
	case n >= 1 && n <= len(in.Kettles):
		return in.Kettles[n-1].Across, in.Kettles[n-1].Across, true
	case in.Family == Membrane:
		return each, each, true
	}
	return each, in.Deep, false
}

// MemberCalled is which of a set a word means, its name or its number from the left,
// from 1; or why none, in words.
func (in *Instrument) MemberCalled(word string) (n int, lacks string) {
	if n, err := strconv.Atoi(word); err == nil {
		return n, in.lacksMember("", n)
	}
	n, _ = in.MemberNamed(word)
	return n, in.lacksMember(word, n)
}

// LacksMember says why a set has none of that name, or, without one, no such number
// from the left; "" where it has.
func (in *Instrument) LacksMember(name string, number int) string {
	if name != "" {
		number, _ = in.MemberNamed(name)
	}
	return in.lacksMember(name, number)
}

func (in *Instrument) lacksMember(name string, n int) string {
	switch row := in.Row(); {
	case 1 <= n && n <= row:
		return ""
	case row == 0 && name != "":
		return fmt.Sprintf("the %s is one thing, and has no %s one", in.Name(), name)
	case row == 0:
		return fmt.Sprintf("the %s is one thing, and has no drums to count", in.Name())
	case name == "":
		return fmt.Sprintf("there is no %d of the %s: from the left there are %d", n, in.Name(), row)
	case len(in.MemberNames) == 0:
		return fmt.Sprintf("none of the %s is called %s: from the left they are 1 to %d", in.Name(), name, row)
	}
	return fmt.Sprintf("none of the %s is called %s: from the left they are %s", in.Name(), name, strings.Join(in.MemberNames, ", "))
}

// MemberWords are the words for the drums of a set, from the left: their names, else
// their numbers.
func (in *Instrument) MemberWords() []string {
	words := make([]string, in.Row())
	for i := range words {
		if words[i] = strconv.Itoa(i + 1); i < len(in.MemberNames) {
			words[i] = in.MemberNames[i]
		}
	}
	return words
}

// MemberName is one of a set by itself, in words.
func (in *Instrument) MemberName(n int) string {
	switch {
	case n >= 1 && n <= len(in.MemberNames):
		return fmt.Sprintf("the %s one of the %s", in.MemberNames[n-1], in.Name())
	case n >= 1 && n <= len(in.Kettles):
		return fmt.Sprintf("kettle %d of the %s", n, in.Name())
	}
	return fmt.Sprintf("number %d of the %s", n, in.Name())
}

// MemberNamed is which of a set has that name, from the left, beginning with 1.
func (in *Instrument) MemberNamed(name string) (int, bool) {
	i := slices.Index(in.MemberNames, name)
	return i + 1, i >= 0
}

// Key is the General MIDI percussion key of the n-th of a set from the left: its
// drums have the first of its keys, each one, and what keys are left over are
// read as one of them. False where the map has none for it.
func (in *Instrument) Key(n int) (int, bool) {
	if row := in.Row(); n < 1 || n > row || len(in.MIDI) < row {
		return 0, false
	}
	return in.MIDI[n-1], true
}

// MemberOn is which of a set sounds on a General MIDI percussion key, from the
// left, beginning with 1; 0 where that says nothing.
func (in *Instrument) MemberOn(key int) int {
	for n := range in.Row() {
		if k, ok := in.Key(n + 1); ok && k == key {
			return n + 1
		}
	}
	return 0
}

// pitches reads what a definition says of notes and of the members of a set;
// false where the statement is another one.
func (in *Instrument) pitches(s *syntax.Words, fault faultFunc) bool {
	switch s.Word.Text {
	case "range":
		if low, high, ok := twoNotes(s, s.Text, fault, "range says its lowest and its highest note as written: range F3 C7"); ok {
			in.Range = Range{low, high}
		}
	case "octaves":
		in.Octaves = int(number(syntax.Num(s.Text[0]), 0, 3, fault))
	case "widths":
		if len(s.Text) != 2 {
			fault(s.Word.Span(), widthsForm)
			return true
		}
		in.Bars = [2]float64{number(syntax.Num(s.Text[0]), 0.5, 50, fault), number(syntax.Num(s.Text[1]), 0.5, 50, fault)}
	case "row":
		for i, a := range s.Text {
			if slices.Contains(atoms(s.Text[:i]), a.Text) {
				fault(a.Span(), twoBarsAlike, a.Text)
				return true
			}
		}
		in.MemberNames = atoms(s.Text)
	case "kettle":
		if low, high, ok := twoNotes(s, s.Text[1:], fault, "kettle says how far across it is, in cm, and its lowest and its highest note: kettle 66 Bb2 F3"); ok {
			if len(in.Kettles) == mostKettles {
				fault(s.Word.Span(), kettlesAtMost, mostKettles)
				return true
			}
			in.Kettles = append(in.Kettles, Kettle{number(syntax.Num(s.Text[0]), 20, 120, fault), low, high})
		}
	default:
		return false
	}
	return true
}

func twoNotes(s *syntax.Words, text []syntax.Atom, fault faultFunc, form string) (low, high pitch.Pitch, ok bool) {
	if len(text) != 2 {
		fault(s.Word.Span(), form)
		return low, high, false
	}
	for i, to := range []*pitch.Pitch{&low, &high} {
		if *to, ok = pitch.Parse(text[i].Text); !ok {
			fault(text[i].Span(), notANote, text[i].Text)
			return low, high, false
		}
	}
	if low.Semitone() > high.Semitone() {
		fault(text[1].Span(), lowerNoteFirst, high, low)
		low, high = high, low
	}
	return low, high, true
}
