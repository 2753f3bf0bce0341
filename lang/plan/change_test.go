package plan

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// TestAHopTakesAsLongAsThePath asks for changes with things in many places twice: of what one
// hand was found to do before, with things elsewhere, and of the whole path.
func TestAHopTakesAsLongAsThePath(t *testing.T) {
	hopsTakeAsLong(t, band(6, 16, 0.9, 3), 5)
}

// TestAHopOfAnyInstrumentTakesAsLong does the same with all the instruments that there are, of
// which a part has one stroke each: what is struck alike is hopped to alike.
func TestAHopOfAnyInstrumentTakesAsLong(t *testing.T) {
	var text strings.Builder
	text.WriteString("tempo 60\nbars 8\npart \"One\"\n")
	for _, in := range kit.Standard().Instruments() {
		fmt.Fprintf(&text, "  %s | 1 | - | - | 1 | - | - | - | 1\n", in.ID)
	}
	every := 97
	if testing.Short() {
		every = 997
	}
	hopsTakeAsLong(t, text.String(), every)
}

func hopsTakeAsLong(t *testing.T, text string, every int) {
	j, err := newJob(context.Background(), "x.handful", syntax.Parse(text), Options{Players: 2}, true)
	require.NoError(t, err)
	c := j.people[0].changer
	c.set = &setUp{byName: map[string]*thing{}} // nothing of which has a place
	spots := spots()
	known := 0
	for from := range j.stock.manners {
		for to := range j.stock.manners {
			n := from*7 + to*3
			if (from*len(j.stock.manners)+to)%every > 0 {
				continue
			}
			c.set.crowded = n%2 == 0
			k := asking{from, to, n / 2 % 2, spots[n%len(spots)], spots[(n/3+1)%len(spots)], tableSpot(), c.set.crowded}
			a, b := j.stock.manners[from], j.stock.manners[to]
			if k.hand == 1 && (a.divided() || b.divided()) {
				k.hand = 0
			}
			want := c.askAt(a, b, k.hand, k.a, k.b, k.table)
			got := c.hop(k, a, b)
			require.Equal(t, want.moves, got.moves, "%v to %v, %+v", a, b, k)
			require.InDelta(t, want.Floor, got.Floor, 1e-9, "%v to %v, %+v", a, b, k)
			require.InDelta(t, want.Steady, got.Steady, 1e-9, "%v to %v, %+v", a, b, k)
			p, _, _ := c.alone(a, b, k.a, k.b, k.table)
			h := c.hops[j.stock.alike(k)]
			if _, ok := c.stock.inquiry.hand.In(&h, p); ok && a != b && !a.leavesOpen() && !b.leavesOpen() && k.a != (body.Point{}) {
				known++
			}
		}
	}
	require.Greater(t, known, 100)
}
