// Package rhythm spells exact times in the note values that players read.
//
// In come a meter and what begins in one bar, at exact places. Out comes a
// [Bar]: notes and rests one after the other, with values, dots, tuplets, ties
// and beams. Pages and written parts that go out are spelled by it alone.
//
// The package never moves anything to a nearer place, never knows what is
// struck, and never draws.
package rhythm

import (
	"slices"

	"example.org/handful/lang/beat"
)

// An Event is something that begins in a bar or goes on in it. Places are in
// whole notes from where the meter's bar begins.
type Event struct {
	At beat.Rat
	// End is where it ends that lasts, as a roll does, at the bar's end at the
	// latest. What is only struck ends where it begins.
	End beat.Rat
	// Into says that it goes on from the bar before, and On that it goes on into
	// the next one.
	Into, On bool
}

// lasts says whether an event lasts, and is not just struck.
func (e *Event) lasts() bool { return e.At.Less(e.End) }

// A Value is a note value.
type Value struct {
	Base int8 // 0 is a whole note, 1 a half, 2 a quarter, and so on
	Dots int8
}

// finest is the shortest value there is: a 1024th.
const finest = 10

// length is how long a value is, in whole notes.
func (v Value) length() beat.Rat {
	return beat.R(int64(2)<<v.Dots-1, int64(1)<<(int(v.Base)+int(v.Dots)))
}

// Flags is how many flags or beams a note of the value has.
func (v Value) Flags() int { return max(0, int(v.Base)-2) }

// valueOf is the one value of a length, if there is one: with two dots at most.
func valueOf(length beat.Rat) (Value, bool) {
	for dots := int8(0); dots <= 2; dots++ {
		for base := int8(0); base <= finest; base++ {
			if v := (Value{base, dots}); v.length() == length {
				return v, true
			}
		}
	}
	return Value{}, false
}

// A Note is a note, or a rest.
type Note struct {
	At, Length beat.Rat // as it sounds
	Value      Value
	Event      int // its index among the events; a rest has -1
	Tuplet     int // its index among the bar's tuplets, or -1
	// TieStop and TieStart say that it is tied to the note before and behind.
	TieStop, TieStart bool
	// Beams has one entry for each beam, from the one that eighths have; a note
	// that stands alone has none, and has flags.
	Beams []Beam
	// Bar is a rest that fills the bar, of whatever length that is.
	Bar bool
}

// Rest says whether a note is a rest.
func (n *Note) Rest() bool { return n.Event < 0 }

// A Beam is what one beam does at a note.
type Beam uint8

// What a beam does: it begins, goes on, ends, or is a short one at the one side
// or the other.
const (
	Begin Beam = iota
	Continue
	End
	Forward
	Backward
)

// A Tuplet is notes of which Actual take the time of Normal.
type Tuplet struct {
	Actual, Normal int
	Unit           Value
	First, Last    int // of the bar's notes
}

// A Bar is a bar as it is written.
type Bar struct {
	Notes   []Note
	Tuplets []Tuplet
}

// Spell writes one bar of a single voice: length from the place from on, which
// is not 0 in a pickup. Events stand in the order of their places, no two at
// one. At each of the other places a note or a rest begins too, since a sign has
// to stand on it. It is not ok where no note value is short enough.
func Spell(m beat.Meter, from, length beat.Rat, events []Event, begin ...beat.Rat) (bar Bar, ok bool) {
	s := &speller{from: from, to: from.Add(length), events: events, begin: begin}
	for _, p := range begin {
		s.point(p)
	}
	for i := range events {
		s.point(events[i].At)
		if end := s.endOf(i); events[i].lasts() {
			s.point(end)
		}
	}
	slices.SortFunc(s.points, beat.Rat.Cmp)
	s.points = slices.Compact(s.points)
	if len(events) == 0 && len(s.points) == 0 {
		v, _ := valueOf(length)
		return Bar{Notes: []Note{{At: from, Length: length, Value: v, Event: -1, Tuplet: -1, Bar: true}}}, true
	}
	beats := s.beats(m)
	for i := 0; i+1 < len(beats); {
		if n, parts := s.across(beats, i); n > 0 {
			s.tuplet(beats[i], beats[i+n], parts)
			i += n
			continue
		}
		s.cell(beats[i], beats[i+1])
		i++
	}
	s.join(beats)
	s.ties()
	s.beam(m, beats)
	return s.Bar, !s.failed
}

// A speller writes one bar.
type speller struct {
	Bar
	from, to beat.Rat
	events   []Event
	begin    []beat.Rat // where something is to begin besides
	points   []beat.Rat // where something begins or ends, in order
	failed   bool
}

func (s *speller) point(p beat.Rat) {
	if s.from.Less(p) && p.Less(s.to) {
		s.points = append(s.points, p)
	}
}

// endOf is where an event ends here: where the next begins, at the latest.
func (s *speller) endOf(i int) beat.Rat {
	end := s.events[i].End
	if i+1 < len(s.events) && s.events[i+1].At.Less(end) {
		end = s.events[i+1].At
	}
	if s.to.Less(end) {
		end = s.to
	}
	return end
}

// at is the event that begins at a place, or else the one that lasts there;
// -1 is silence.
func (s *speller) at(p beat.Rat) (event int, begins bool) {
	for i := len(s.events) - 1; i >= 0; i-- {
		e := &s.events[i]
		if p.Less(e.At) {
			continue
		}
		switch {
		case e.At == p && (!e.Into || p != s.from):
			return i, true
		case p.Less(s.endOf(i)):
			return i, false
		}
		return -1, false
	}
	return -1, false
}

// inside are the points strictly between two places.
func (s *speller) inside(a, b beat.Rat) []beat.Rat {
	i, found := slices.BinarySearchFunc(s.points, a, beat.Rat.Cmp)
	if found {
		i++
	}
	k, _ := slices.BinarySearchFunc(s.points, b, beat.Rat.Cmp)
	return s.points[i:max(i, k)]
}

// beats are where the beats of a meter begin, and where its bar ends. Beats are
// the counts of the meter where it says them (in 2+2+3); else dotted ones where
// the upper number is a multiple of three above a short value, threes and twos
// for the odd ones, and the lower number. After E. Gould, Behind Bars (2011),
// chapter 5, from memory.
func beats(m beat.Meter) []beat.Rat {
	unit := beat.R(1, int64(m.Lower))
	var groups []int
	switch {
	case len(m.Groups) > 0:
		groups = m.Groups
	case m.Lower >= 8 && m.Upper%3 == 0 || m.Lower == 4 && m.Upper%3 == 0 && m.Upper > 3:
		groups = slices.Repeat([]int{3}, m.Upper/3)
	case m.Lower < 8:
		groups = slices.Repeat([]int{1}, m.Upper)
	case m.Upper == 5:
		groups = []int{3, 2}
	case m.Upper == 8 && m.Lower == 8:
		groups = []int{3, 3, 2}
	default:
		two := 2
		if m.Lower > 8 && m.Upper >= 4 {
			two = m.Lower / 4 // quarters
		}
		left := m.Upper
		for left >= two+2 || left == two {
			groups = append(groups, two)
			left -= two
		}
		if left > 0 {
			groups = append(groups, left)
		}
	}
	out := []beat.Rat{{}}
	for _, g := range groups {
		out = append(out, out[len(out)-1].Add(unit.MulInt(int64(g))))
	}
	return out
}

// beats are the places of the meter's beats that lie in the bar, with its two
// ends.
func (s *speller) beats(m beat.Meter) []beat.Rat {
	out := []beat.Rat{s.from}
	for _, b := range beats(m) {
		if s.from.Less(b) && b.Less(s.to) {
			out = append(out, b)
		}
	}
	return append(out, s.to)
}

// across finds a tuplet that lies over several beats from the i-th on: three,
// five or seven in the time of two or four, with nothing on the beats between.
func (s *speller) across(beats []beat.Rat, i int) (n, parts int) {
	for _, n := range []int{4, 2} {
		if i+n >= len(beats) || i%n != 0 {
			continue
		}
		a, b := beats[i], beats[i+n]
		length := b.Sub(a)
		if length.Num() != 1 { // equal beats make a plain value together
			continue
		}
		inner := s.inside(a, b)
		parts := partsOf(inner, a, length)
		if parts != 3 && parts != 5 && parts != 7 || len(inner) < max(2, parts/2+1) || slices.ContainsFunc(beats[i+1:i+n], func(p beat.Rat) bool { return slices.Contains(inner, p) }) {
			continue
		}
		return n, parts
	}
	return 0, 0
}

// partsOf is the least number of equal parts of a stretch that all the points
// in it fall on.
func partsOf(points []beat.Rat, from, length beat.Rat) int {
	n := int64(1)
	for _, p := range points {
		d := p.Sub(from).Div(length).Den()
		n = n / gcd(n, d) * d
	}
	return int(min(n, 1<<20))
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// plain says whether all the points of a stretch are whole 1024ths away from
// its beginning, so that it needs no tuplet.
func plain(points []beat.Rat, from beat.Rat) bool {
	return !slices.ContainsFunc(points, func(p beat.Rat) bool {
		d := p.Sub(from).Den()
		return d&(d-1) != 0 || d > 1<<finest
	})
}

// cell writes a beat, or a part of one: plainly where that can be, else in
// parts of its own, each with its tuplet or without, else as one tuplet.
func (s *speller) cell(a, b beat.Rat) {
	inner := s.inside(a, b)
	if plain(inner, a) {
		s.plainly(a, b)
		return
	}
	length := b.Sub(a)
	halves := int64(2)
	if length.Num()%3 == 0 {
		halves = 3 // a dotted beat
	}
	part := length.Div(beat.R(halves, 1))
	n, most := partsOf(inner, a, length), 1
	for i := range halves {
		x := a.Add(part.MulInt(i))
		y := x.Add(part)
		most = max(most, partsOf(s.inside(x, y), x, part))
	}
	if n >= int(halves)*most {
		for i := range halves {
			x := a.Add(part.MulInt(i))
			s.cell(x, x.Add(part))
		}
		return
	}
	s.tuplet(a, b, n)
}

// plainly writes a stretch without a tuplet.
func (s *speller) plainly(a, b beat.Rat) {
	x := a
	for _, y := range append(slices.Clone(s.inside(a, b)), b) {
		s.stretch(x, y, a, b.Sub(a), beat.R(1, 1), -1)
		x = y
	}
}

// tuplet writes a stretch as one tuplet of so many parts.
func (s *speller) tuplet(a, b beat.Rat, parts int) {
	length := b.Sub(a)
	normal := 1
	if length.Num()%3 == 0 {
		normal = 3
	}
	for normal*2 <= parts {
		normal *= 2
	}
	unit, ok := valueOf(length.Div(beat.R(int64(normal), 1)))
	if !ok {
		s.failed = true
		return
	}
	index := len(s.Tuplets)
	s.Tuplets = append(s.Tuplets, Tuplet{Actual: parts, Normal: normal, Unit: unit, First: len(s.Notes)})
	shown := beat.R(int64(parts), int64(normal)) // a note is written so many times as long as it sounds
	x := a
	for _, y := range append(slices.Clone(s.inside(a, b)), b) {
		s.stretch(x, y, a, length, shown, index)
		x = y
	}
	s.Tuplets[index].Last = len(s.Notes) - 1
}

// stretch writes what happens from x to y, where nothing else begins: one note
// and rests behind it, tied notes, or rests.
func (s *speller) stretch(x, y, from, length, shown beat.Rat, tuplet int) {
	event, begins := s.at(x)
	lasts := event >= 0 && s.events[event].lasts()
	for first := true; x.Less(y); first = false {
		which := event
		if event >= 0 && !lasts && !(begins && first) {
			which = -1
		}
		v, ok := longest(x.Sub(from).Mul(shown), y.Sub(x).Mul(shown), which < 0)
		if !ok {
			s.failed = true
			return
		}
		sounds := v.length().Div(shown)
		s.Notes = append(s.Notes, Note{At: x, Length: sounds, Value: v, Event: which, Tuplet: tuplet})
		x = x.Add(sounds)
	}
}

// longest is the longest value that can stand at an offset within its beat and
// is no longer than what there is. A note stands on a multiple of half its
// value, so that an eighth may be syncopated among sixteenths; a rest, whose
// place has to be seen, on a multiple of its value, and only with a dot where it
// fills a dotted beat.
func longest(offset, most beat.Rat, rest bool) (Value, bool) {
	for base := int8(0); base <= finest; base++ {
		for dots := int8(1); dots >= 0; dots-- {
			v := Value{base, dots}
			if most.Less(v.length()) {
				continue
			}
			grid := beat.R(1, int64(2)<<base)
			if rest {
				grid = beat.R(1, int64(1)<<base)
				if dots > 0 && (v.length() != most || offset.Sign() > 0 || most.Den() > 8) {
					continue
				}
			}
			if offset.Div(grid).Den() == 1 {
				return v, true
			}
		}
	}
	return Value{}, false
}

// join makes one note of tied ones over several beats, and one rest of several,
// where the middle of the bar stays to be seen.
func (s *speller) join(beats []beat.Rat) {
	old := s.Notes
	var out []Note
	moved := make([]int, len(old)+1) // index before → behind
	for i := 0; i < len(old); {
		k := i + 1
		for n := k; n < len(old) && s.joins(old[i], old[n]) && !slices.Contains(s.begin, old[n].At); n++ {
			length := old[n].At.Add(old[n].Length).Sub(old[i].At)
			if v, ok := valueOf(length); ok && v.Dots < 2 && s.mayStand(old[i], length, beats) {
				k = n + 1
			}
		}
		joined := old[i]
		joined.Length = old[k-1].At.Add(old[k-1].Length).Sub(joined.At)
		if k > i+1 {
			joined.Value, _ = valueOf(joined.Length)
		}
		for ; i < k; i++ {
			moved[i] = len(out)
		}
		out = append(out, joined)
	}
	s.Notes = out
	for i := range s.Tuplets {
		t := &s.Tuplets[i]
		t.First, t.Last = moved[t.First], moved[t.Last]
	}
}

// joins says whether a note goes on in another: both plain, and both silence or
// the same thing that lasts.
func (s *speller) joins(a, b Note) bool {
	return a.Tuplet < 0 && b.Tuplet < 0 && a.Event == b.Event && (a.Rest() || s.events[a.Event].lasts())
}

// mayStand says whether a value may stand at a note's place: within one beat
// nothing changes; over several it begins on a beat and ends on one, and crosses
// the middle of a bar of even beats only from its beginning. Rests of several
// beats fill one half of such a bar.
func (s *speller) mayStand(n Note, length beat.Rat, beats []beat.Rat) bool {
	end := n.At.Add(length)
	first, onBeat := slices.BinarySearchFunc(beats, n.At, beat.Rat.Cmp)
	last, endsOn := slices.BinarySearchFunc(beats, end, beat.Rat.Cmp)
	if !onBeat || !endsOn {
		return false
	}
	even := (len(beats)-1)%2 == 0
	half := (len(beats) - 1) / 2
	if n.Rest() {
		return even && half > 1 && last-first == half && first%half == 0
	}
	return first == 0 || !even || first >= half || last <= half
}

// ties ties the notes of one thing that lasts.
func (s *speller) ties() {
	for i := range s.Notes {
		n := &s.Notes[i]
		if n.Rest() || !s.events[n.Event].lasts() {
			continue
		}
		e := &s.events[n.Event]
		n.TieStop = i > 0 && s.Notes[i-1].Event == n.Event || n.At == s.from && e.Into
		n.TieStart = i+1 < len(s.Notes) && s.Notes[i+1].Event == n.Event || n.At.Add(n.Length) == s.to && e.On
	}
}

// beam joins short notes of a group by beams. Groups are the beats; eighths
// alone go over half a bar of four quarters and over all of one of two or three.
// After E. Gould, Behind Bars (2011), pages 151 to 165, from memory. A rest ends
// a beam.
func (s *speller) beam(m beat.Meter, beats []beat.Rat) {
	groups := s.beamGroups(m, beats)
	for i := 0; i < len(s.Notes); {
		k := i
		group := groupOf(groups, s.Notes[i].At)
		for k < len(s.Notes) && !s.Notes[k].Rest() && s.Notes[k].Value.Flags() > 0 && groupOf(groups, s.Notes[k].At) == group {
			k++
		}
		if k-i > 1 {
			s.beamRun(s.Notes[i:k], groups[group])
		}
		i = max(k, i+1)
	}
}

func groupOf(groups []beat.Rat, at beat.Rat) int {
	i, found := slices.BinarySearchFunc(groups, at, beat.Rat.Cmp)
	if !found {
		i--
	}
	return i
}

func (s *speller) beamGroups(m beat.Meter, beats []beat.Rat) []beat.Rat {
	if m.Lower != 4 || len(m.Groups) > 0 || m.Upper > 4 || s.to.Sub(s.from) != m.Length() {
		return beats
	}
	eighths := func(a, b beat.Rat) bool {
		return !slices.ContainsFunc(s.Notes, func(n Note) bool {
			return !n.At.Less(a) && n.At.Less(b) && (n.Value.Flags() > 1 || n.Value.Dots > 0 && n.Value.Flags() > 0 || n.Tuplet >= 0)
		})
	}
	var out []beat.Rat
	size := m.Upper
	if m.Upper == 4 {
		size = 2
	}
	for i := 0; i+1 < len(beats); i += size {
		if eighths(beats[i], beats[i+size]) {
			out = append(out, beats[i])
		} else {
			out = append(out, beats[i:i+size]...)
		}
	}
	return out
}

// beamRun gives the notes of a run their beams.
func (s *speller) beamRun(run []Note, group beat.Rat) {
	for level := 1; ; level++ {
		any := false
		for i := range run {
			n := &run[i]
			if n.Value.Flags() < level {
				continue
			}
			any = true
			before := i > 0 && run[i-1].Value.Flags() >= level
			behind := i+1 < len(run) && run[i+1].Value.Flags() >= level
			b := Continue
			switch {
			case before && behind:
			case before:
				b = End
			case behind:
				b = Begin
			case i == 0:
				b = Forward
			case i == len(run)-1 || n.At.Sub(group).Div(n.Length.MulInt(2)).Den() != 1:
				b = Backward
			default:
				b = Forward
			}
			n.Beams = append(n.Beams, b)
		}
		if !any {
			return
		}
	}
}
