package score

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// What is kept by line, page by page, is what a list would keep; and whoever goes on from
// an earlier one changes nothing of that.
func TestWhatIsKeptByPagesIsWhatAListKeeps(t *testing.T) {
	type both struct {
		paged *paged[int]
		list  []int
	}
	for seed := range 60 {
		rnd := rand.New(rand.NewPCG(uint64(seed), 20))
		all := []both{{newPaged[int](150), make([]int, 150)}}
		for step := range 60 {
			was := all[rnd.IntN(len(all))]
			lines := len(was.list) + rnd.IntN(40)
			now := both{was.paged.with(lines), append(slices.Clone(was.list), make([]int, lines-len(was.list))...)}
			for range 1 + rnd.IntN(3) {
				switch at := rnd.IntN(lines); rnd.IntN(3) {
				case 0:
					now.paged.set(at, step+1)
					now.list[at] = step + 1
				case 1:
					*now.paged.mine(at) += 1000
					now.list[at] += 1000
				case 2:
					to := at + rnd.IntN(lines-at+1)
					now.paged.clear(at, to)
					clear(now.list[at:to])
				}
			}
			all = append(all, now)
		}
		for _, b := range all {
			for line, want := range b.list {
				require.Equal(t, want, b.paged.at(line), "seed %d, line %d", seed, line)
			}
			require.Zero(t, b.paged.at(len(b.list)+pageSize))
		}
	}
	require.Zero(t, (*paged[int])(nil).at(7))
}

// Of whoever has more voices than are looked through, anything may be stirred; of others
// only what they have.
func TestOfManyVoicesAnyMayBeStirred(t *testing.T) {
	var v voices
	b := &binder{stirred: &stirred{}}
	b.stirred.stir("another", 1, 2)
	for i := range mostVoices {
		v.add(fmt.Sprint(i))
		v.add("0")
	}
	require.False(t, b.concerns(v))
	v.add("0")
	require.Len(t, v.few, mostVoices)
	b.stirred.stir("7", 1, 2)
	require.True(t, b.concerns(v))
	b.stirred = &stirred{}
	v.add("one more")
	require.True(t, b.concerns(v))
	v.add("0")
	require.True(t, b.concerns(v))
}
