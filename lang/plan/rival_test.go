package plan

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// What a check has found to be out of one player's reach at one moment is not tried again
// with the same hands, in any bar, neither bar by bar nor when something is given back.
func TestRivalsAreNotTriedAgain(t *testing.T) {
	const text = "meter 4/4\ntempo 60\nbars 4\npart \"One\"\n  cowbell | 1 2 | 1 | 1 3 | 2\n  triangle | 1 | 1 4 | 1 | 4\n"
	j, err := newJob(context.Background(), "x.handful", syntax.Parse(text), Options{Players: 1}, false)
	require.NoError(t, err)
	s := newSearch(j.piece, j.people, 12)
	all := s.run(context.Background(), func(int) {})
	require.Zero(t, j.value(all))
	first := j.bars[0]
	one, other := all[first[0].id], all[first[1].id]
	require.Zero(t, one.slots&other.slots, "a hand for each")
	require.True(t, s.fallOut(all, first[0], first[1]))
	again := s.run(context.Background(), func(int) {})
	for i, bar := range j.bars[:3] {
		p, q := again[bar[0].id], again[bar[1].id]
		assert.False(t, p.player >= 0 && q.player >= 0 && p.slots == one.slots && q.slots == other.slots, "bar %d", i+1)
	}
	s.count(all)
	_, hit := s.meets(all, first[1], other)
	assert.Contains(t, hit, first[0])
	last := j.bars[3]
	_, hit = s.meets(all, last[1], all[last[1].id])
	assert.NotContains(t, hit, last[0], "not at one moment")
}
