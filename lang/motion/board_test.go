package motion_test

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/score"
)

// Where bars, drums and kettles lie, worked out apart: from the published table
// of ranges, widths of bars and kettles, and from how long and deep an instrument
// is in the catalogue. Nothing here asks the catalogue where a bar is, nor the
// path which kettle reaches what.

// sizes are the rows of the table.
type sizes struct {
	bars    map[string]bars
	kettles [][2]int // the lowest and the highest note of each, from the left
	text    string   // of the piece, where its kit may have drums of a set in lines of their own
}

// bars are those of a keyboard: its lowest and highest note, as keys of MIDI, and
// how wide they are there, in cm.
type bars struct {
	low, high  int
	wide, last float64
}

func readSizes(t testing.TB) sizes {
	rows := tableRows(t, "../kit/testdata/pitched.csv")
	key := func(s string) int {
		p, ok := pitch.Parse(s)
		if !ok {
			t.Fatalf("%s is no note", s)
		}
		return p.Semitone()
	}
	out := sizes{bars: map[string]bars{}}
	for _, row := range rows[1:] {
		if strings.HasPrefix(row[0], "timpani-") {
			out.kettles = append(out.kettles, [2]int{key(row[1]), key(row[2])})
			continue
		}
		b := bars{low: key(row[1]), high: key(row[2])}
		b.wide, _ = strconv.ParseFloat(row[4], 64)
		b.last, _ = strconv.ParseFloat(row[5], 64)
		out.bars[row[0]] = b
	}
	return out
}

// A spotted is a bar or a drum: how far right and away of the middle of the whole
// it is, and how wide.
type spotted struct {
	name              string
	right, away, wide float64
}

// black says whether a key of MIDI is one of the second row.
func black(key int) bool { return strings.Contains(" 1 3 6 8 10 ", " "+strconv.Itoa(key%12)+" ") }

// bar goes along a keyboard from its lowest bar: the first row takes nine tenths of
// the frame, with a gap behind each bar, of at least 2 mm; the second one stands
// over the gaps. The rows are a fifth of the depth apart.
func (z *sizes) bar(in *kit.Instrument, key int) spotted {
	b, ok := z.bars[in.ID]
	if !ok || b.wide == 0 || key < b.low || key > b.high {
		panic("the table has no such bar of the " + in.ID)
	}
	var widths []float64
	for k := b.low; k <= b.high; k++ {
		if !black(k) {
			widths = append(widths, 0)
		}
	}
	sum := 0.0
	for i := range widths {
		widths[i] = b.wide - (b.wide-b.last)*float64(i)/float64(len(widths)-1)
		sum += widths[i]
	}
	gap := math.Max(0.2, (0.9*in.Wide-sum)/float64(len(widths)))
	out := spotted{}
	x, i := 0.0, 0 // the left end of the next bar of the first row, and which that is
	for k := b.low; k <= b.high; k++ {
		switch {
		case black(k) && k == key:
			out = spotted{right: x, away: 0.1 * in.Deep, wide: widths[i-1]}
		case black(k):
		default:
			if k == key {
				out = spotted{right: x + (widths[i]+gap)/2, away: -0.1 * in.Deep, wide: widths[i]}
			}
			x += widths[i] + gap
			i++
		}
	}
	out.right -= x / 2
	return out
}

// drum is the n-th of so many, from the left: side by side, or on a circle of 75 cm
// round the player where that is more than one and a half metres long.
func (z *sizes) drum(in *kit.Instrument, n, of int) spotted {
	each := in.Wide / float64(of)
	x := (float64(n)-0.5)*each - in.Wide/2
	out := spotted{right: x, wide: math.Min(in.Zone, each)}
	if in.Members > 2 && in.Wide > 150 {
		out.right, out.away = 75*math.Sin(x/75), 75*math.Cos(x/75)-75
	}
	return out
}

// kettleFor is the kettle of which a note is nearest to the middle, from 1.
func (z *sizes) kettleFor(key, kettles int) int {
	best, least := 0, math.Inf(1)
	for i, k := range z.kettles[:kettles] {
		if off := math.Abs(float64(key) - float64(k[0]+k[1])/2); key >= k[0] && key <= k[1] && off < least {
			best, least = i+1, off
		}
	}
	return best
}

// struckBy is what a hand strikes or stops in an event: the notes of the stroke from
// the text, each where it lies, turned as the instrument is, from left to right,
// and of a chord for both hands the left hand's share. Which kettle has a note is
// what the result says of the stroke.
func (z *sizes) struckBy(r *motion.Result, e *motion.Event, h int) []spotted {
	if e.Cue == nil {
		return nil
	}
	st := e.Cue.StruckAt(int(e.Stroke))
	if st == nil {
		return nil
	}
	in := e.Cue.Item.Inst
	kettles := r.KettlesOf(e)
	if e.Kind.Stops() { // what was struck is stopped
		for i := range r.Events {
			if o := &r.Events[i]; o.Cue == e.Cue && o.Stroke == e.Stroke && o.Span == e.Span && !o.Kind.Stops() {
				kettles = r.KettlesOf(o)
			}
		}
	}
	type inOrder struct {
		spotted
		place float64 // from left to right along the instrument, or across it from its end
	}
	var list []inOrder
	sin, cos := math.Sincos(e.Cue.Item.Facing / 180 * math.Pi)
	alone := byThemselves(z.text, e.Cue.Item.Inst)
	for i, k := range st.Keys {
		s, n := z.key(in, k, kettles, i)
		turned := spotted{k.String(), s.right*cos + s.away*sin, s.away*cos - s.right*sin, s.wide}
		if at, ok := alone[n]; ok { // in the kit, and so turned by nothing
			turned.right, turned.away = at[0]-e.Cue.Item.At.Right, at[1]-e.Cue.Item.At.Ahead
			s.right = turned.right*cos - turned.away*sin
		}
		place := turned.right
		if math.Abs(sin) <= math.Abs(cos) {
			place = math.Copysign(s.right, s.right*cos)
		}
		list = append(list, inOrder{turned, place})
	}
	slices.SortStableFunc(list, func(a, b inOrder) int { return cmp.Compare(a.place, b.place) })
	out := make([]spotted, len(list))
	for i := range list {
		out[i] = list[i].spotted
	}
	if e.Limbs&both == both && len(out) > 1 && e.Left > 0 {
		if h == 1 {
			return out[:e.Left]
		}
		return out[e.Left:]
	}
	return out
}

// key is where one note or drum of a stroke lies, and which drum that is, from 1.
func (z *sizes) key(in *kit.Instrument, k score.Key, kettles []int, i int) (spotted, int) {
	n, of := 0, len(in.Kettles)
	switch {
	case k.Pitch.None() && k.Name != "":
		n, of = 1+slices.Index(in.MemberNames, k.Name), len(in.MemberNames)
	case k.Pitch.None():
		n, of = k.N, max(len(in.MemberNames), in.Members)
	case len(in.Kettles) == 0:
		return z.bar(in, k.Pitch.Semitone()), 0
	case i < len(kettles) && kettles[i] > 0:
		n = kettles[i]
	default:
		n = z.kettleFor(k.Pitch.Semitone(), len(in.Kettles))
	}
	return z.drum(in, n, of), n
}

// byThemselves is where the drums of a set stand that have lines of their own in a
// kit, as the text says it: how far right of the player and how far ahead.
func byThemselves(text string, in *kit.Instrument) map[int][2]float64 {
	out := map[int][2]float64{}
	for line := range strings.Lines(text) {
		words := strings.Fields(line)
		if len(words) < 2 || words[1] != "at" {
			continue
		}
		set, which, ok := strings.Cut(words[0], ":")
		if !ok || set != in.ID {
			continue
		}
		n, err := strconv.Atoi(which)
		if err != nil {
			n = 1 + slices.Index(in.MemberNames, which)
		}
		var at [2]float64
		for i := 2; i+1 < len(words); i += 2 {
			cm, _ := strconv.ParseFloat(words[i+1], 64)
			switch words[i] {
			case "right":
				at[0] += cm
			case "left":
				at[0] -= cm
			case "ahead":
				at[1] += cm
			}
		}
		out[n] = at
	}
	return out
}

// middle is where a hand is that strikes some bars or drums: between the first and
// the last; and how wide the narrowest is.
func middle(list []spotted) (right, away, wide float64) {
	first, last := list[0], list[len(list)-1]
	wide = math.Inf(1)
	for _, s := range list {
		wide = math.Min(wide, s.wide)
	}
	return (first.right + last.right) / 2, (first.away + last.away) / 2, wide
}

// leapOf is how far a hand goes from one to another, and how wide the narrowest
// is there.
func leapOf(a, b []spotted) (cm, wide float64) {
	x, y, _ := middle(a)
	u, v, wide := middle(b)
	return math.Hypot(u-x, v-y), wide
}
