package plan

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
