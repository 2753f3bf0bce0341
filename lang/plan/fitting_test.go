package plan

import (
	"context"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// jobOf is a plan under way, with everything given away that can be and nothing standing anywhere yet.
func jobOf(t *testing.T, text string, players int) (*job, []plays) {
	j, err := newJob(context.Background(), "x.handful", syntax.Parse(text), Options{Players: players}, false)
	require.NoError(t, err)
	j.open()
	return j, j.givenBack(j.search.run(j.ctx, func(int) {}))
}

// Where people have more than there is room for around them, everything that is written has somebody in the end who
// has room for it, unless what nobody else has stands in its way with everybody, and nobody keeps what they have no room for.
func TestEverythingHasSomebodyWithRoomForIt(t *testing.T) {
	crammed := 0
	for number := uint64(4); number < 9; number++ {
		j, all := jobOf(t, band(12, 40, 0.9, 900+number), 3)
		require.NoError(t, j.layOut(all))
		if !j.crammed() {
			continue
		}
		crammed++
		all, err := j.withRoomInALongPiece(all)
		require.NoError(t, err)
		assert.False(t, j.crammed(), number)
		fits := j.fittings(all)
		for _, w := range j.wanted(all) {
			has := slices.ContainsFunc(fits, func(f *fitting) bool { return f.has[w.inst] && !f.who.cramped[w.inst] })
			assert.True(t, has || home(w, fits, j.wanted(all)) == nil, "%d: nobody has room for the %s", number, w.inst.Name())
		}
	}
	assert.Greater(t, crammed, 1)
}

// Stretches of a long piece that are given away anew side by side come out the same however many cores there
// are, lose less, and can all be played beside one another.
func TestStretchesFarApartAreGivenAwaySideBySide(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	var first []plays
	for _, cores := range []int{1, 2} {
		runtime.GOMAXPROCS(cores)
		j, all := jobOf(t, band(12, 180, 0.75, 904), 4)
		require.True(t, j.long())
		require.Greater(t, len(j.search.lanes()), 1)
		now, better := j.search.redoOnce(j.ctx, all, 0, everywhere)
		require.True(t, better)
		require.Less(t, j.value(now), j.value(all))
		if first == nil {
			first = now
		}
		require.Equal(t, first, now, "%d cores", cores)
		j.search.count(now)
		for _, q := range j.passages {
			pl := now[q.id]
			if pl.player < 0 {
				continue
			}
			j.search.note(q, pl, -1)
			now[q.id] = nobody
			cost, hit := j.search.meets(now, q, pl)
			now[q.id] = pl
			j.search.note(q, pl, 1)
			require.GreaterOrEqual(t, cost, 0.0)
			require.Empty(t, hit)
		}
	}
}

// What people of a long piece take up only once everything has its place stands where there is room for it, and the ways to
// it are known before: a check has nothing against where things stand, and what it has against times costs little.
func TestWhatIsTakenUpLaterHasRoom(t *testing.T) {
	numbers := []uint64{61, 66}
	if testing.Short() {
		numbers = numbers[:1]
	}
	for _, number := range numbers {
		j, all := jobOf(t, band(12, 180, 0.75, number), 4)
		require.True(t, j.long(), number)
		all, err := j.settle(all)
		require.NoError(t, err)
		d, err := j.draft(all, nil)
		require.NoError(t, err)
		for _, f := range d.errors() {
			assert.NotEqual(t, sameSpace, f.Rule.Name, "%d: %s", number, f.Message())
		}
		before := j.value(all)
		d, err = j.mend(d)
		require.NoError(t, err)
		assert.LessOrEqual(t, j.value(d.all), before+few, number)
	}
}
