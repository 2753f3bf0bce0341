package score

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/syntax"
)

// A Key is one bar of a keyboard or one drum of a set, as the text names it:
// by the note that is written, by the name of its place, or by its place
// counted from the left.
type Key struct {
	Pitch pitch.Pitch
	Name  string
	N     int // from 1
	at    [2]uint16
}

// String is the key as the notation writes it.
func (k Key) String() string {
	switch {
	case !k.Pitch.None():
		return k.Pitch.String()
	case k.Name != "":
		return k.Name
	}
	return strconv.Itoa(k.N)
}

// Member is which drum of an instrument the key names by its place, from 1; 0
// where it names a note, or a place that the instrument does not have.
func (k Key) Member(in *kit.Instrument) int {
	switch {
	case k.Name != "":
		if n, ok := in.MemberNamed(k.Name); ok {
			return n
		}
		return 0
	case k.N > in.Row():
		return 0
	}
	return k.N
}

// Same says whether two keys of an instrument may be one: a note and a place
// may always be, since nothing says what the drum there is tuned to.
func (k Key) Same(o Key, in *kit.Instrument) bool {
	switch {
	case k.Pitch.None() != o.Pitch.None():
		return true
	case !k.Pitch.None():
		return k.Pitch.Semitone() == o.Pitch.Semitone()
	case k.Name == o.Name && k.N == o.N:
		return true
	}
	n := k.Member(in)
	return n > 0 && n == o.Member(in)
}

// Where is the text of the key, on the line of a stroke that is written there.
func (k Key) Where(st *Stroke) Where {
	w := st.Where()
	w.Start, w.End = int32(k.at[0]), int32(k.at[0])+int32(k.at[1])
	return w
}

// A Struck is what one stroke strikes at once. It does not change once it is
// made, and the strokes that a simile repeats share it. Nil is a stroke that
// does not say.
type Struck struct{ Keys []Key }

// Equal says whether two strokes strike the same under the same names.
func (s *Struck) Equal(o *Struck) bool {
	if s == nil || o == nil {
		return s == o
	}
	return slices.EqualFunc(s.Keys, o.Keys, func(a, b Key) bool { return a.Pitch == b.Pitch && a.Name == b.Name && a.N == b.N })
}

// Count is how many strokes it is: as many as a chord has notes.
func (s *Struck) Count() int {
	if s == nil {
		return 1
	}
	return len(s.Keys)
}

// String is what it strikes as the notation writes it, or "".
func (s *Struck) String() string {
	if s == nil {
		return ""
	}
	words := make([]string, len(s.Keys))
	for i, k := range s.Keys {
		words[i] = k.String()
	}
	return strings.Join(words, "+")
}

// aims is what it strikes, for the notation.
func (s *Struck) aims() []syntax.Aim {
	if s == nil {
		return nil
	}
	out := make([]syntax.Aim, len(s.Keys))
	for i, k := range s.Keys {
		out[i] = syntax.Aim{Pitch: k.Pitch, Name: k.Name, N: k.N}
	}
	return out
}

// StruckAt is what a stroke of the line strikes.
func (l *Line) StruckAt(i int) *Struck { return struckAt(l.Struck, i) }

// StruckAt is what a stroke of the cue strikes.
func (c *Cue) StruckAt(i int) *Struck { return struckAt(c.Struck, i) }

func struckAt(list []*Struck, i int) *Struck {
	if i >= len(list) {
		return nil
	}
	return list[i]
}

// Chords is how many strokes more there are than a list has, since each note of
// a chord is one.
func Chords(list []*Struck) int {
	n := 0
	for _, s := range list {
		n += s.Count() - 1
	}
	return n
}

// aim notes what the stroke strikes that was read last.
func (e *expansion) aim(c *syntax.Cell, sign int) {
	if e.aimed.cell != c {
		list, ok := e.known[c]
		if !ok {
			list = struckIn(c)
			if e.known == nil {
				e.known = map[*syntax.Cell][]Struck{}
			}
			e.known[c] = list
		}
		e.aimed = aimed{c, list}
	}
	if e.struck == nil {
		e.struck = make([]*Struck, 0, cap(e.strokes))
	}
	e.struck = append(leveled(e.struck, len(e.strokes)-1), &e.aimed.list[sign])
}

// aimed is what the strokes of a bar strike, by its signs.
type aimed struct {
	cell *syntax.Cell
	list []Struck
}

// struckIn reads what the signs of a bar are for.
func struckIn(c *syntax.Cell) []Struck {
	signs := len(c.Signs())
	list := make([]Struck, signs)
	keys := make([]Key, 0, signs)
	for i := range list {
		from := len(keys)
		for _, a := range c.Aims(i) {
			span := a.Span()
			keys = append(keys, Key{a.Pitch, a.Name, a.N, [2]uint16{uint16(span.Start), uint16(span.End - span.Start)}})
		}
		list[i].Keys = keys[from:len(keys):len(keys)]
	}
	return list
}

// leveled has so many entries, the last of which say nothing.
func leveled(list []*Struck, n int) []*Struck {
	for len(list) < n {
		list = append(list, nil)
	}
	return list
}

// merge puts what a cue takes from several lines in order, and makes one stroke
// of those that come at one time: a chord, where they say different notes.
func (c *Cue) merge() {
	if c.Struck == nil {
		slices.SortStableFunc(c.Strokes, func(x, y Stroke) int { return x.At.Cmp(y.At) })
		c.Strokes = slices.CompactFunc(c.Strokes, sameTime)
		return
	}
	type both struct {
		Stroke
		*Struck
	}
	list := make([]both, len(c.Strokes))
	for i := range list {
		list[i] = both{c.Strokes[i], c.StruckAt(i)}
	}
	slices.SortStableFunc(list, func(x, y both) int { return x.At.Cmp(y.At) })
	c.Strokes, c.Struck = c.Strokes[:0], c.Struck[:0]
	for _, x := range list {
		if n := len(c.Strokes); n > 0 && sameTime(c.Strokes[n-1], x.Stroke) {
			c.Struck[n-1] = c.Struck[n-1].and(x.Struck, c.Item.Inst)
			continue
		}
		c.Strokes, c.Struck = append(c.Strokes, x.Stroke), append(c.Struck, x.Struck)
	}
}

func sameTime(x, y Stroke) bool { return x.At == y.At && x.Has(Stop) == y.Has(Stop) }

// and is a chord of what two strokes strike; what does not say adds nothing.
func (s *Struck) and(o *Struck, in *kit.Instrument) *Struck {
	if s == nil || o == nil {
		return cmp.Or(s, o)
	}
	sum := &Struck{Keys: slices.Clone(s.Keys)}
	for _, k := range o.Keys {
		if !slices.ContainsFunc(s.Keys, func(have Key) bool { return have.Same(k, in) }) {
			sum.Keys = append(sum.Keys, k)
		}
	}
	if len(sum.Keys) == len(s.Keys) {
		return s
	}
	return sum
}

// shares is which of the notes of a written stroke a cue's stroke strikes, a
// bit for each: all, where one of the two does not say.
func shares(is, plays *Struck, in *kit.Instrument) (bits, all uint64) {
	n := min(is.Count(), 63)
	all = 1<<n - 1
	if is == nil || plays == nil {
		return all, all
	}
	for i, k := range is.Keys[:n] {
		for _, o := range plays.Keys {
			if k.Same(o, in) {
				bits |= 1 << i
				break
			}
		}
	}
	return bits, all
}

// A partly is the notes of a line's chords of which somebody plays some only:
// for each stroke, the passes on which each of its notes is played.
type partly map[int][]uint64

// plays notes that some of the notes of a stroke are played on some passes. It
// says on which of those all of them are by now, and whether one was before.
func (l *covered) plays(stroke int, notes, passes uint64) (all uint64, again bool) {
	list := l.partly[stroke]
	if list == nil {
		if l.partly == nil {
			l.partly = partly{}
		}
		list = make([]uint64, l.Struck[stroke].Count())
		for i := range list {
			list[i] = l.passes[stroke]
		}
		l.partly[stroke] = list
	}
	all = passes
	for i := range list {
		if notes&(1<<min(i, 63)) != 0 {
			again = again || list[i]&passes != 0
			list[i] |= passes
		}
		all &= list[i]
	}
	return all, again
}

// lacks is how many notes of a chord nobody plays on all passes.
func (l *covered) lacks(stroke int, all uint64) int {
	n := 0
	for _, passes := range l.partly[stroke] {
		if all&^passes != 0 {
			n++
		}
	}
	if l.missing == nil {
		l.missing = map[int]int{}
	}
	l.missing[stroke] = n
	return n
}

// Missing is how many strokes a stroke is of which nobody plays all: as many as
// it has notes that nobody plays.
func (g *Gap) Missing(stroke int) int {
	if n, ok := g.missing[stroke]; ok {
		return n
	}
	return g.Line.StruckAt(stroke).Count()
}
