package beat

import (
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
)

// written is a road as a player would pencil it: bars, and the pass where it
// is not the first; v marks a vamp.
func written(r Road) string {
	var parts []string
	for _, s := range r.Spans {
		p := fmt.Sprintf("%d-%d", s.From, s.To)
		if s.Vamp {
			p += "v"
		}
		if s.Pass > 1 {
			p += fmt.Sprintf(":%d", s.Pass)
		}
		parts = append(parts, p)
	}
	return strings.Join(parts, " ")
}

// said is a problem in words.
type said struct {
	kind    string
	index   int
	message string
}

func inWords(problems []RoadProblem) (out []said) {
	for _, p := range problems {
		out = append(out, said{p.Kind, p.Index, fmt.Sprintf(p.Template, p.Things...)})
	}
	return out
}

func TestUnroll(t *testing.T) {
	for _, c := range []struct {
		name     string
		pickup   bool
		last     int
		repeats  []Repeat
		endings  []Ending
		vamps    []Vamp
		order    []Leg
		limit    int
		want     string
		problems []said
	}{
		{name: "plain", last: 32, want: "1-32"},
		{name: "pickup", pickup: true, last: 8, want: "0-8"},
		{name: "repeat", last: 32, repeats: []Repeat{{9, 16, 2}}, want: "1-16 9-16:2 17-32"},
		{name: "repeat of everything", last: 8, repeats: []Repeat{{1, 8, 2}}, want: "1-8 1-8:2"},
		{name: "repeat that takes the pickup along", pickup: true, last: 8, repeats: []Repeat{{0, 4, 2}}, want: "0-4 0-4:2 5-8"},
		{name: "three times", last: 20, repeats: []Repeat{{9, 16, 3}}, want: "1-16 9-16:2 9-16:3 17-20"},
		{name: "two repeats, given last first", last: 16, repeats: []Repeat{{9, 12, 2}, {1, 4, 2}}, want: "1-4 1-4:2 5-12 9-12:2 13-16"},
		{name: "repeats back to back", last: 8, repeats: []Repeat{{1, 4, 2}, {5, 8, 2}}, want: "1-4 1-4:2 5-8 5-8:2"},
		{name: "first and second ending", last: 24, repeats: []Repeat{{9, 16, 2}},
			endings: []Ending{{[]int{1}, 15, 16}, {[]int{2}, 17, 18}}, want: "1-16 9-14:2 17-24"},
		{name: "endings given second first", last: 24, repeats: []Repeat{{9, 16, 2}},
			endings: []Ending{{[]int{3}, 18, 18}, {[]int{2}, 17, 17}, {[]int{1}, 15, 16}}, want: "1-16 9-14:2 17-17 9-14:3 18-24"},
		{name: "a first ending only", last: 24, repeats: []Repeat{{9, 16, 2}},
			endings: []Ending{{[]int{1}, 15, 16}}, want: "1-16 9-14:2 17-24"},
		{name: "endings 1,2 and 3", last: 20, repeats: []Repeat{{9, 16, 2}},
			endings: []Ending{{[]int{1, 2}, 15, 16}, {[]int{3}, 17, 18}}, want: "1-16 9-16:2 9-14:3 17-20"},
		{name: "endings 1,3 and 2", last: 20, repeats: []Repeat{{9, 16, 3}},
			endings: []Ending{{[]int{1, 3}, 15, 16}, {[]int{2}, 17, 18}}, want: "1-16 9-14:2 17-18 9-14:3 15-16:2 19-20"},
		{name: "two endings over the same bars", last: 20, repeats: []Repeat{{9, 16, 3}},
			endings: []Ending{{[]int{1}, 15, 16}, {[]int{3}, 15, 16}}, want: "1-16 9-14:2 9-14:3 15-16:2 17-20"},
		{name: "bars behind an ending within the repeat", last: 10, repeats: []Repeat{{1, 8, 2}},
			endings: []Ending{{[]int{1}, 5, 6}}, want: "1-8 1-4:2 7-8:2 9-10"},
		{name: "more times than endings", last: 20, repeats: []Repeat{{9, 16, 4}},
			endings: []Ending{{[]int{1, 2, 3}, 15, 16}, {[]int{4}, 17, 18}}, want: "1-16 9-16:2 9-16:3 9-14:4 17-20"},
		{name: "nested", last: 12, repeats: []Repeat{{1, 8, 2}, {3, 4, 2}}, want: "1-4 3-4:2 5-8 1-2:2 3-4:3 3-4:4 5-8:2 9-12"},
		{name: "nested with the same last bar", last: 8, repeats: []Repeat{{1, 8, 2}, {5, 8, 2}}, want: "1-8 5-8:2 1-4:2 5-8:3 5-8:4"},
		{name: "a repeat within an ending", last: 12, repeats: []Repeat{{1, 8, 2}, {6, 7, 2}},
			endings: []Ending{{[]int{1}, 5, 8}}, want: "1-7 6-7:2 8-8 1-4:2 9-12"},
		{name: "D.C. al fine", last: 32, order: []Leg{{1, 32}, {1, 16}}, want: "1-32 1-16:2"},
		{name: "D.S. al coda", last: 40, order: []Leg{{1, 32}, {9, 20}, {33, 40}}, want: "1-32 9-20:2 33-40"},
		{name: "an order with overlapping stretches", last: 32, order: []Leg{{1, 16}, {9, 14}, {9, 32}}, want: "1-16 9-14:2 9-14:3 15-16:2 17-32"},
		{name: "legs that follow on are one stretch", last: 8, order: []Leg{{1, 4}, {5, 8}}, want: "1-8"},
		{name: "an order stands alone", last: 16, repeats: []Repeat{{1, 4, 2}}, endings: []Ending{{[]int{1}, 4, 4}}, order: []Leg{{1, 8}}, want: "1-8"},
		{name: "vamp", last: 16, vamps: []Vamp{{5, 8}}, want: "1-4 5-8v 5-8v:2 9-16"},
		{name: "vamp within a repeat", last: 12, repeats: []Repeat{{1, 8, 2}}, vamps: []Vamp{{5, 6}},
			want: "1-4 5-6v 5-6v:2 7-8 1-4:2 5-6v:3 5-6v:4 7-8:2 9-12"},
		{name: "repeat within a vamp", last: 8, repeats: []Repeat{{5, 6, 2}}, vamps: []Vamp{{5, 8}},
			want: "1-4 5-6v 5-6v:2 7-8v 5-6v:3 5-6v:4 7-8v:2"},
		{name: "vamp within an order", last: 16, vamps: []Vamp{{5, 8}}, order: []Leg{{1, 12}, {3, 6}}, want: "1-4 5-8v 5-8v:2 9-12 3-4:2 5-6:3"},
		{name: "a vamp that the order never reaches", last: 16, vamps: []Vamp{{5, 8}}, order: []Leg{{1, 6}}, want: "1-6",
			problems: []said{{"vamp", 0, "no stretch of the order holds all of bars 5 to 8, so this vamp is never repeated"}}},
		{name: "crossing repeats", last: 16, repeats: []Repeat{{5, 12, 2}, {1, 8, 2}}, want: "1-8 1-8:2 9-16",
			problems: []said{{"repeat", 0, "bars 5 to 12 overlap the repeat of bars 1 to 8 without lying inside it, so this one is left out"}}},
		{name: "the same repeat twice", last: 8, repeats: []Repeat{{1, 4, 2}, {1, 4, 2}}, want: "1-4 1-4:2 5-8",
			problems: []said{{"repeat", 1, "bars 1 to 4 have this repeat already, so this one is left out"}}},
		{name: "a vamp that crosses an ending", last: 20, repeats: []Repeat{{9, 16, 2}}, endings: []Ending{{[]int{1}, 15, 16}}, vamps: []Vamp{{13, 15}}, want: "1-16 9-14:2 17-20",
			problems: []said{{"vamp", 0, "bars 13 to 15 reach over the edge of an ending at bar 14, so this one is left out"}}},
		{name: "overlapping endings", last: 20, repeats: []Repeat{{9, 16, 2}}, endings: []Ending{{[]int{1}, 13, 16}, {[]int{2}, 15, 18}}, want: "1-16 9-12:2 17-20",
			problems: []said{{"ending", 1, "bars 15 to 18 overlap the ending of bars 13 to 16, so this one is left out"}}},
		{name: "what is not in the piece", last: 8, repeats: []Repeat{{5, 9, 2}, {4, 2, 2}, {0, 3, 2}, {1, 2, 1}}, vamps: []Vamp{{9, 9}}, want: "1-8",
			problems: []said{
				{"vamp", 0, "bars 9 to 9 are not all in this piece, which has bars 1 to 8"},
				{"repeat", 0, "bars 5 to 9 are not all in this piece, which has bars 1 to 8"},
				{"repeat", 1, "bars 4 to 2 run backwards"},
				{"repeat", 2, "bars 0 to 3 are not all in this piece, which has bars 1 to 8"},
				{"repeat", 3, "a repeat plays its bars 2 times or more, not 1"},
			}},
		{name: "endings of nothing", last: 20, repeats: []Repeat{{1, 4, 2}}, endings: []Ending{{[]int{1}, 15, 16}, {[]int{0}, 3, 4}, {nil, 3, 4}, {[]int{1}, 4, 3}}, want: "1-4 1-4:2 5-20",
			problems: []said{
				{"ending", 1, "an ending says on which passes it is played, from 1"},
				{"ending", 2, "an ending says on which passes it is played, from 1"},
				{"ending", 3, "bars 4 to 3 run backwards"},
				{"ending", 0, "bars 15 to 16 end no repeat: an ending lies in a repeat, behind its first bar, or just behind it"},
			}},
		{name: "a leg outside the piece", last: 8, order: []Leg{{1, 4}, {7, 12}, {5, 8}}, want: "1-8",
			problems: []said{{"order", 1, "bars 7 to 12 are not all in this piece, which has bars 1 to 8"}}},
		{name: "limit in the middle of a pass", last: 8, repeats: []Repeat{{5, 6, 2}, {1, 4, math.MaxInt}}, limit: 10, want: "1-4 1-4:2 1-2:3",
			problems: []said{{"repeat", 1, "as played this piece is longer than 10 bars or 5000 stretches: only the first part is checked"}}},
		{name: "limit between two passes", last: 8, repeats: []Repeat{{1, 4, 9}}, limit: 8, want: "1-4 1-4:2",
			problems: []said{{"repeat", 0, "as played this piece is longer than 8 bars or 5000 stretches: only the first part is checked"}}},
		{name: "exactly at the limit", last: 4, repeats: []Repeat{{1, 4, 2}}, limit: 8, want: "1-4 1-4:2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			first := 1
			if c.pickup {
				first = 0
			}
			road, problems := Unroll(first, c.last, c.repeats, c.endings, c.vamps, c.order, c.limit)
			assert.Equal(t, c.want, written(road))
			assert.Equal(t, c.problems, inWords(problems))
		})
	}
}

func TestAbsurdRoadsStop(t *testing.T) {
	deep := make([]Repeat, 0, 100)
	for i := range 100 {
		deep = append(deep, Repeat{1 + i, 300 - i, 2})
	}
	staircase := make([]Leg, 0, 1000)
	for i := range 1000 {
		staircase = append(staircase, Leg{1, 1 + i})
	}
	for name, c := range map[string]struct {
		repeats []Repeat
		endings []Ending
		order   []Leg
		kind    string
	}{
		"one bar again and again":    {repeats: []Repeat{{1, 1, math.MaxInt}}, kind: "repeat"},
		"an ending for a far pass":   {repeats: []Repeat{{1, 2, 2}}, endings: []Ending{{[]int{math.MaxInt}, 2, 2}}, kind: "repeat"},
		"a hundred repeats deep":     {repeats: deep, kind: "repeat"},
		"stretches that come apart":  {order: staircase, kind: "order"},
		"more signs than stretches":  {repeats: make([]Repeat, maxSpans+1), kind: "repeat"},
		"more stretches than are ok": {order: again(Leg{7, 7}, 6000), kind: "order"},
	} {
		t.Run(name, func(t *testing.T) {
			road, problems := Unroll(1, 1000, c.repeats, c.endings, nil, c.order, 0)
			require.NotEmpty(t, problems)
			assert.Equal(t, c.kind, problems[len(problems)-1].Kind)
			assert.LessOrEqual(t, len(road.Spans), maxSpans)
			assert.NotEmpty(t, road.Spans)
		})
	}
}

func again(l Leg, times int) []Leg {
	legs := make([]Leg, times)
	for i := range legs {
		legs[i] = l
	}
	return legs
}

// Passes counted bar by bar must be those that the spans say.
func assertRoad(t require.TestingT, first, last, limit int, r Road) {
	played := map[int]int{}
	bars := 0
	for i, s := range r.Spans {
		require.LessOrEqual(t, first, s.From)
		require.LessOrEqual(t, s.From, s.To)
		require.LessOrEqual(t, s.To, last)
		for bar := s.From; bar <= s.To; bar++ {
			played[bar]++
			bars++
			require.Equal(t, played[bar], s.Pass, "bar %d of span %d", bar, i)
		}
		if i > 0 {
			before := r.Spans[i-1]
			require.False(t, !s.Vamp && !before.Vamp && before.To+1 == s.From && before.Pass == s.Pass, "spans %d and %d are one", i-1, i)
		}
	}
	require.LessOrEqual(t, bars, limit)
}

func TestEveryBarIsPlayedUnlessAnEndingIsNot(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		last := rapid.IntRange(1, 40).Draw(t, "last")
		bar := rapid.IntRange(0, 42)
		var repeats []Repeat
		for i := rapid.IntRange(0, 6).Draw(t, "repeats"); i > 0; i-- {
			repeats = append(repeats, Repeat{bar.Draw(t, "from"), bar.Draw(t, "to"), rapid.IntRange(0, 4).Draw(t, "times")})
		}
		var vamps []Vamp
		for i := rapid.IntRange(0, 3).Draw(t, "vamps"); i > 0; i-- {
			vamps = append(vamps, Vamp{bar.Draw(t, "from"), bar.Draw(t, "to")})
		}
		road, problems := Unroll(1, last, repeats, nil, vamps, nil, 1_000_000)
		for _, p := range problems {
			if p.Template == longerAsPlayed {
				return
			}
		}
		assertRoad(t, 1, last, 1_000_000, road)
		played := map[int]bool{}
		for _, s := range road.Spans {
			for b := s.From; b <= s.To; b++ {
				played[b] = true
			}
		}
		assert.Len(t, played, last)
	})
}

func FuzzUnroll(f *testing.F) {
	f.Add([]byte{9, 16, 2, 0, 15, 16, 1, 1, 17, 18, 2, 1})
	f.Add([]byte{5, 8, 0, 2, 1, 16, 0, 3, 9, 14, 0, 3})
	f.Add([]byte{1, 1, 255, 0})
	f.Fuzz(func(t *testing.T, data []byte) {
		const last, limit = 60, 3000
		var (
			repeats []Repeat
			endings []Ending
			vamps   []Vamp
			order   []Leg
		)
		for ; len(data) >= 4; data = data[4:] {
			from, to, n := int(int8(data[0])), int(int8(data[1])), int(int8(data[2]))
			if n == 127 {
				n = math.MaxInt
				from = int(int64(binary.LittleEndian.Uint32(data)) << 32)
			}
			switch data[3] % 8 {
			case 0, 4, 5:
				repeats = append(repeats, Repeat{from, to, n})
			case 1, 6:
				endings = append(endings, Ending{[]int{n, 1 + n%3}, from, to})
			case 2, 7:
				vamps = append(vamps, Vamp{from, to})
			case 3:
				order = append(order, Leg{from, to})
			}
		}
		road, problems := Unroll(0, last, repeats, endings, vamps, order, limit)
		assertRoad(t, 0, last, limit, road)
		for _, p := range inWords(problems) {
			n, known := map[string]int{"repeat": len(repeats), "ending": len(endings), "vamp": len(vamps), "order": max(1, len(order))}[p.kind]
			if !known || p.index < 0 || p.index >= n || p.message == "" || strings.Contains(p.message, "%!") {
				t.Fatalf("a problem that points nowhere: %+v", p)
			}
		}
		twice, _ := Unroll(0, last, repeats, endings, vamps, order, limit)
		assert.Equal(t, road, twice)
	})
}

func BenchmarkUnroll(b *testing.B) {
	repeats := []Repeat{{9, 16, 2}, {33, 64, 3}, {40, 41, 8}}
	endings := []Ending{{[]int{1}, 15, 16}, {[]int{2}, 17, 18}}
	b.ReportAllocs()
	for b.Loop() {
		Unroll(1, 128, repeats, endings, []Vamp{{70, 73}}, nil, MaxPlayedBars)
	}
}

func BenchmarkUnrollToTheLimit(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		Unroll(1, 8, []Repeat{{1, 8, math.MaxInt}, {2, 3, 5}}, nil, nil, nil, MaxPlayedBars)
	}
}
