package plan

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// What has to be played with the wrong beater in the one bar to which no hand comes with the right
// one gets that in all other bars, however long it goes on.
func TestOnlyTheBarsThatMustCostSound(t *testing.T) {
	const text = `meter 4/4
tempo 150
bars 52
part "A"
  snare-drum | f 1 2 3 4 4& | % x3
part "B"
  xylophone  | f 1 2 3 4 4& | % x3
part "C"
  triangle   | -4 | mp 1 3 | % x47
`
	j, err := newJob(context.Background(), "x.handful", syntax.Parse(text), Options{Players: 1}, false)
	require.NoError(t, err)
	j.search = newSearch(j.piece, j.people, 12)
	with := map[string]string{"snare-drum": "snare-stick", "xylophone": "rubber-mallet", "triangle": "snare-stick"}
	hand := map[string]uint8{"snare-drum": 1, "xylophone": 2, "triangle": 1}
	all := make([]plays, len(j.passages))
	for i, q := range j.passages {
		at := slices.IndexFunc(q.options, func(o option) bool {
			return o.with.Implement == with[q.track.name] && slices.Contains(o.slots, hand[q.track.name])
		})
		require.GreaterOrEqual(t, at, 0, q.track.name)
		all[i] = plays{0, int8(at), hand[q.track.name]}
	}
	j.search.listening(func() { j.search.tidy(context.Background(), all) })
	var dull []int
	for i, q := range j.passages {
		require.Zero(t, all[i].player)
		if o := &q.options[all[i].option]; q.track.name == "triangle" && o.with.Implement != "triangle-beater" {
			dull = append(dull, q.bar)
		}
	}
	assert.NotEmpty(t, dull, "no hand has time for the beater")
	assert.LessOrEqual(t, len(dull), 2, "%v", dull)
}

// A plan keeps the number of a way of playing in a byte: however many ways come to a passage while a plan
// is made easier, no more are added than there are numbers for, and one that is shared by the hands with an
// implement that the passage has no way for adds none.
func TestNoPassageHasMoreWaysThanThereAreNumbers(t *testing.T) {
	const text = `meter 4/4
tempo 100
bars 1
part "A"
  snare-drum | f 1 2 3 4
`
	j, err := newJob(context.Background(), "x.handful", syntax.Parse(text), Options{Players: 1}, false)
	require.NoError(t, err)
	q := j.passages[0]
	shared := q.options[0]
	shared.split, shared.slots = []uint8{right, left, right, left}, []uint8{hands}
	before := len(q.options)
	assert.False(t, splitAlike(q, &shared, kit.Choice{Implement: "gong-mallet"}), "nobody plays it so")
	assert.Len(t, q.options, before)
	for n := 0; splitAlike(q, &shared, shared.with); n++ {
		require.Less(t, n, 1000)
		require.GreaterOrEqual(t, int8(len(q.options)-1), int8(0))
	}
	assert.Greater(t, len(q.options), before)
	all := []plays{{0, int8(len(q.options) - 1), hands}}
	j.search = newSearch(j.piece, j.people, 12)
	assert.NotPanics(t, func() { j.search.costs(all) })
}
