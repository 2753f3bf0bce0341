package rhythm

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/beat"
)

func meter(t testing.TB, text string) beat.Meter {
	var upper, lower int
	_, err := fmt.Sscanf(text, "%d/%d", &upper, &lower)
	require.NoError(t, err)
	var groups []int
	if _, in, ok := strings.Cut(text, " in "); ok {
		for _, g := range strings.Split(in, "+") {
			groups = append(groups, int(g[0]-'0'))
		}
	}
	m, err := beat.NewMeter(upper, lower, groups)
	require.NoError(t, err)
	return m
}

// struck makes events of places in parts of a whole note; 0-16 lasts.
func struck(t testing.TB, parts int64, text string) (out []Event) {
	for _, w := range strings.Fields(text) {
		var a, b int64
		if n, _ := fmt.Sscanf(w, "%d-%d", &a, &b); n < 2 {
			b = a
		}
		out = append(out, Event{At: beat.R(a, parts), End: beat.R(b, parts)})
	}
	return out
}

// spelt says a bar in letters: w h q e s t x for note values from the whole one
// on, r before a rest, . a dot, ~ a tie, [ ] where the first beam begins and
// ends, and a tuplet as 3:2{ }.
func spelt(b Bar) string {
	var out strings.Builder
	for i, n := range b.Notes {
		for _, t := range b.Tuplets {
			if t.First == i {
				fmt.Fprintf(&out, "%d:%d{", t.Actual, t.Normal)
			}
		}
		if len(n.Beams) > 0 && n.Beams[0] == Begin {
			out.WriteString("[")
		}
		if n.Rest() {
			out.WriteString("r")
		}
		if n.Bar {
			out.WriteString("bar")
		} else {
			out.WriteByte("whqestx"[n.Value.Base])
		}
		out.WriteString(strings.Repeat(".", int(n.Value.Dots)))
		if n.TieStart {
			out.WriteString("~")
		}
		if len(n.Beams) > 0 && n.Beams[0] == End {
			out.WriteString("]")
		}
		for _, t := range b.Tuplets {
			if t.Last == i {
				out.WriteString("}")
			}
		}
		out.WriteString(" ")
	}
	return strings.TrimSpace(out.String())
}

// Rhythms as a player expects to see them.
func TestAsPlayersReadIt(t *testing.T) {
	for _, c := range []struct {
		meter  string
		parts  int64
		events string
		want   string
	}{
		{"4/4", 4, "", "rbar"},
		{"4/4", 4, "0 1 2 3", "q q q q"},
		{"4/4", 4, "0 2", "q rq q rq"},
		{"4/4", 4, "0", "q rq rh"},
		{"4/4", 4, "3", "rh rq q"},
		{"4/4", 8, "0 1 2 3 4 5 6 7", "[e e e e] [e e e e]"},
		{"4/4", 8, "1 3 5 7", "re e re e re e re e"},
		{"4/4", 16, "0 1 2 3 4 6 8 12", "[s s s s] [e e] q q"},
		{"4/4", 16, "0 3 6 10 12", "[e. s] re e re e q"},
		{"4/4", 16, "0 1", "[s e.] rq rh"},
		{"4/4", 16, "0 1 3", "[s e s] rq rh"},
		{"4/4", 16, "1", "rs e. rq rh"},
		{"4/4", 32, "0 1 2 3 4 5 6 7", "[t t t t t t t t] rq rh"},
		{"4/4", 12, "0 1 2", "3:2{[e e e]} rq rh"},
		{"4/4", 12, "2", "3:2{rq e} rq rh"},
		{"4/4", 24, "0 1 2 3 4 5", "3:2{[s s s} 3:2{s s s]} rq rh"},
		{"4/4", 24, "0 3 4 5", "[e 3:2{s s s]} rq rh"},
		{"4/4", 20, "0 1 2 3 4", "5:4{[s s s s s]} rq rh"},
		{"4/4", 28, "0 1 2 3 4 5 6", "7:4{[s s s s s s s]} rq rh"},
		{"4/4", 6, "0 1 2", "3:2{q q q} rh"},
		{"4/4", 3, "0 1 2", "3:2{h h h}"},
		{"4/4", 1, "0-1", "w"},
		{"4/4", 4, "0-3", "h. rq"},
		{"4/4", 4, "1-4", "rq q~ h"},
		{"4/4", 4, "1-3", "rq q~ q rq"},
		{"4/4", 8, "1-4 4", "re e~ q q rq"},
		{"3/4", 4, "0", "q rq rq"},
		{"3/4", 8, "0 1 2 3 4 5", "[e e e e e e]"},
		{"3/4", 8, "0 1 2", "[e e] q rq"},
		{"3/4", 4, "0-3", "h."},
		{"2/4", 8, "0 1 2 3", "[e e e e]"},
		{"2/2", 8, "0 1 2 3 4 6", "[e e e e] q q"},
		{"6/8", 8, "0 1 2 3 4 5", "[e e e] [e e e]"},
		{"6/8", 8, "0 2 3 5", "q e q e"},
		{"6/8", 8, "0 3", "q. q."},
		{"6/8", 8, "0", "q. rq."},
		{"6/8", 16, "0 3 4 6", "[e. s e] q."},
		{"6/8", 8, "0-6", "h."},
		{"12/8", 8, "0", "q. rq. rh."},
		{"9/8", 8, "0 1 2 3 6 7 8", "[e e e] q. [e e e]"},
		{"3/8", 8, "0 1 2", "[e e e]"},
		{"5/8", 8, "0 1 2 3 4", "[e e e] [e e]"},
		{"7/8", 8, "0 1 2 3 4 5 6", "[e e] [e e] [e e e]"},
		{"7/8 in 3+2+2", 8, "0 1 2 3 4 5 6", "[e e e] [e e] [e e]"},
		{"8/8 in 3+3+2", 8, "0 3 6", "q. q. q"},
		{"5/4", 4, "0 1 2 3 4", "q q q q q"},
		{"6/4", 4, "0 1 2 3", "q q q h."},
	} {
		m := meter(t, c.meter)
		b, ok := Spell(m, beat.Rat{}, m.Length(), struck(t, c.parts, c.events))
		assert.True(t, ok)
		assert.Equal(t, c.want, spelt(b), "%s: %s of %d", c.meter, c.events, c.parts)
	}
}

// Where beams end, by meter: E. Gould, Behind Bars (2011), chapter 5, from
// memory.
func TestBeamsEndWithTheGroups(t *testing.T) {
	for text, groups := range map[string][]int64{ // of eighths
		"2/4": {4}, "3/4": {6}, "4/4": {4, 4}, "3/8": {3}, "6/8": {3, 3}, "9/8": {3, 3, 3}, "12/8": {3, 3, 3, 3}, "5/8": {3, 2}, "7/8": {2, 2, 3},
		"7/8 in 2+3+2": {2, 3, 2}, "8/8": {3, 3, 2}, "10/8 in 3+2+2+3": {3, 2, 2, 3}, "2/2": {4, 4}, "3/2": {4, 4, 4}, "5/4": {2, 2, 2, 2, 2},
	} {
		m := meter(t, text)
		var events []Event
		for i := range m.Length().MulInt(8).Num() {
			events = append(events, Event{At: beat.R(i, 8), End: beat.R(i, 8)})
		}
		b, ok := Spell(m, beat.Rat{}, m.Length(), events)
		require.True(t, ok)
		var got []int64
		for _, n := range b.Notes {
			if len(n.Beams) > 0 && n.Beams[0] == Begin {
				got = append(got, 0)
			}
			if len(got) > 0 {
				got[len(got)-1]++
			}
		}
		assert.Equal(t, groups, got, text)
	}
}

// A pickup is spelt as the end of a bar.
func TestAPickup(t *testing.T) {
	m := meter(t, "4/4")
	b, ok := Spell(m, beat.R(5, 8), beat.R(3, 8), []Event{{At: beat.R(5, 8), End: beat.R(5, 8)}, {At: beat.R(3, 4), End: beat.R(3, 4)}, {At: beat.R(7, 8), End: beat.R(7, 8)}})
	require.True(t, ok)
	assert.Equal(t, "e [e e]", spelt(b))
}

// drawn is any bar: a meter, and events on grids that are mixed within it.
func drawn(t *rapid.T) (beat.Meter, []Event) {
	upper, lower := rapid.IntRange(1, 12).Draw(t, "upper"), rapid.SampledFrom([]int{2, 4, 8, 16}).Draw(t, "lower")
	m, err := beat.NewMeter(upper, lower, nil)
	if err != nil {
		t.Fatal(err)
	}
	var at []beat.Rat
	for range rapid.IntRange(0, 12).Draw(t, "events") {
		d := rapid.SampledFrom([]int64{4, 8, 16, 32, 12, 24, 20, 28, 36, 6}).Draw(t, "grid")
		p := beat.R(rapid.Int64Range(0, 40).Draw(t, "at"), d)
		if p.Less(m.Length()) {
			at = append(at, p)
		}
	}
	slices.SortFunc(at, beat.Rat.Cmp)
	at = slices.Compact(at)
	var out []Event
	for i, p := range at {
		e := Event{At: p, End: p}
		if rapid.IntRange(0, 3).Draw(t, "lasts") == 0 {
			e.End = m.Length()
			if i+1 < len(at) {
				e.End = at[i+1]
			}
		}
		out = append(out, e)
	}
	return m, out
}

// Whatever the bar: notes follow one another and fill it, each is as long as
// its value and tuplet make it, each event begins one note at its place and
// what lasts is tied to its end, tuplets are whole, and beams stay in a beat
// group and are opened and closed.
func TestEveryBarIsWhole(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		m, events := drawn(t)
		b, ok := Spell(m, beat.Rat{}, m.Length(), events)
		if !ok {
			t.Fatal("no value is short enough")
		}
		if len(events) == 0 {
			return
		}
		at := beat.Rat{}
		begun := map[int]beat.Rat{}
		ends := map[int]beat.Rat{}
		for i, n := range b.Notes {
			if n.At != at {
				t.Fatalf("note %d is at %s and not at %s: %s", i, n.At, at, spelt(b))
			}
			at = at.Add(n.Length)
			shown := n.Value.length()
			if n.Tuplet >= 0 {
				tu := b.Tuplets[n.Tuplet]
				if i < tu.First || i > tu.Last {
					t.Fatalf("note %d is not in its tuplet", i)
				}
				shown = shown.Mul(beat.R(int64(tu.Normal), int64(tu.Actual)))
			}
			if shown != n.Length {
				t.Fatalf("note %d lasts %s and is written %s: %s", i, n.Length, shown, spelt(b))
			}
			if n.Rest() {
				continue
			}
			if _, ok := begun[n.Event]; !ok {
				begun[n.Event] = n.At
			} else if !n.TieStop || !b.Notes[i-1].TieStart {
				t.Fatalf("note %d goes on and is not tied: %s", i, spelt(b))
			}
			ends[n.Event] = at
		}
		if at != m.Length() {
			t.Fatalf("the bar ends at %s", at)
		}
		for i, e := range events {
			if begun[i] != e.At {
				t.Fatalf("event %d begins at %s and not at %s: %s", i, begun[i], e.At, spelt(b))
			}
			if e.lasts() && ends[i] != e.End {
				t.Fatalf("event %d ends at %s and not at %s: %s", i, ends[i], e.End, spelt(b))
			}
		}
		for _, tu := range b.Tuplets {
			var length beat.Rat
			for _, n := range b.Notes[tu.First : tu.Last+1] {
				length = length.Add(n.Length)
			}
			if length != tu.Unit.length().MulInt(int64(tu.Normal)) {
				t.Fatalf("a tuplet of %d lasts %s: %s", tu.Actual, length, spelt(b))
			}
		}
		open := map[int]bool{}
		for i, n := range b.Notes {
			if len(n.Beams) > 0 && len(n.Beams) != n.Value.Flags() {
				t.Fatalf("note %d has %d beams: %s", i, len(n.Beams), spelt(b))
			}
			for level := range 8 {
				has := level < len(n.Beams)
				switch {
				case !has && open[level]:
					t.Fatalf("a beam is open over note %d: %s", i, spelt(b))
				case !has:
				case n.Beams[level] == Begin && !open[level]:
					open[level] = true
				case n.Beams[level] == Continue && open[level]:
				case n.Beams[level] == End && open[level]:
					open[level] = false
				case (n.Beams[level] == Forward || n.Beams[level] == Backward) && !open[level] && level > 0:
				default:
					t.Fatalf("the beam of level %d at note %d: %v: %s", level, i, n.Beams, spelt(b))
				}
			}
		}
		for _, open := range open {
			if open {
				t.Fatalf("a beam stays open: %s", spelt(b))
			}
		}
	})
}

// For a sign that stands where nothing begins, a rest or what lasts is divided;
// one at the beginning or at the end of the bar divides nothing.
func TestWhereSomethingIsToBeginBesides(t *testing.T) {
	for _, c := range []struct{ events, begin, want string }{
		{"", "", "rbar"},
		{"", "0 16", "rbar"},
		{"", "8", "rh rh"},
		{"0", "14", "q rq rq re re"},
		{"0-16", "8", "h~ h"},
	} {
		var begin []beat.Rat
		for _, e := range struck(t, 16, c.begin) {
			begin = append(begin, e.At)
		}
		bar, ok := Spell(meter(t, "4/4"), beat.Rat{}, beat.R(1, 1), struck(t, 16, c.events), begin...)
		require.True(t, ok)
		assert.Equal(t, c.want, spelt(bar), "%s with %s", c.events, c.begin)
	}
}
