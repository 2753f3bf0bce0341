package slab

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Whatever is taken in between, each list keeps what was put in it, begins empty and has
// the room that was asked for; and zeros are zeros.
func TestListsHaveNothingToDoWithOneAnother(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		for _, s := range []*Of[int]{nil, new(Of[int])} {
			for range rapid.IntRange(1, 4).Draw(t, "texts") {
				var lists [][]int
				for k := range rapid.IntRange(1, 40).Draw(t, "lists") {
					n := rapid.IntRange(0, 200).Draw(t, "room")
					list := s.List(n)
					require.Empty(t, list)
					require.Equal(t, n, cap(list))
					if rapid.Bool().Draw(t, "zeros") {
						list = s.Zeros(n)
						require.Equal(t, make([]int, n), list)
						list = list[:0]
					}
					if rapid.Bool().Draw(t, "one") {
						require.Zero(t, *s.New())
					}
					for range rapid.IntRange(0, n+3).Draw(t, "values") {
						list = append(list, k+1)
					}
					lists = append(lists, list)
				}
				for k, list := range lists {
					for _, v := range list {
						require.Equal(t, k+1, v)
					}
				}
				s.Clear()
			}
		}
	})
}

// The room that a text had is there for the next one, unless that is very much.
func TestRoomIsLentOn(t *testing.T) {
	s := new(Of[uint64])
	first := s.Zeros(1000)
	s.Clear()
	assert.Same(t, &first[0], &s.Zeros(1)[0])
	s.List(most/8 + 1)
	s.Clear()
	assert.Zero(t, cap(s.block))
	var none *Of[uint64]
	none.Clear()
	assert.NotSame(t, none.New(), none.New())
}
