package sheet

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/beat"
)

// Whatever is about a place is in the part that is looked at, in any order of the
// list; and of things in a row that part is short.
func TestAnExtentLosesNothing(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		place := func(name string) beat.Rat { return beat.R(rapid.Int64Range(0, 40).Draw(t, name), 4) }
		n := rapid.IntRange(0, 20).Draw(t, "n")
		list := make([][2]beat.Rat, n)
		for i := range list {
			list[i] = [2]beat.Rat{place("a"), place("b")}
		}
		s := extentOf(n, func(i int) (a, b beat.Rat) { return list[i][0], list[i][1] })
		from := place("from")
		to := from.Add(place("long"))
		lo, hi := s.about(from, to)
		for i, of := range list {
			first, last := of[0], of[1]
			if last.Less(first) {
				first, last = last, first
			}
			if !last.Less(from) && !to.Less(first) {
				assert.True(t, lo <= i && i < hi, "%d of %v from %s to %s", i, list, from, to)
			}
		}
	})
	row := extentOf(100, func(i int) (a, b beat.Rat) { return beat.R(int64(i), 1), beat.R(int64(i)+1, 1) })
	lo, hi := row.about(beat.R(50, 1), beat.R(51, 1))
	assert.Equal(t, []int{49, 52}, []int{lo, hi})
}
