package plan

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// What is taken out of a plan is what a check objects to: every line that is to be
// written stands where the text has it, however the file ends.
func TestLinesOfAPlanStandWhereItsTextHasThem(t *testing.T) {
	const bare = "meter 4/4\ntempo 80\nbars 2\npart \"One\"\n  cowbell | 1 2 | 3\n  claves | 3 | 1"
	const cast = "\nplayer Ida\n  R cowbell | 1 2 | 3"
	for _, text := range []string{bare, bare + cast} {
		for _, end := range []string{"", "\n", "\n\n", "\n\n\n", "\n# said at the end\n", "\n  "} {
			j, err := newJob(context.Background(), "x.handful", syntax.Parse(text+end), Options{Players: 2}, false)
			require.NoError(t, err)
			_, err = j.plan()
			require.NoError(t, err)
			for _, n := range []int{0, 1, len(j.passages)} { // as many are left out
				all := make([]plays, len(j.passages))
				for i := range all {
					if all[i] = nobody; i >= n {
						all[i] = plays{0, 0, j.passages[i].options[0].slots[0]}
					}
				}
				d, err := j.draft(all, nil)
				require.NoError(t, err)
				require.LessOrEqual(t, len(d.out.lines), len(d.result.File.Lines))
				for i, l := range d.out.lines {
					want := l.text
					if l.old >= 0 {
						want = j.file.Lines[l.old].Text
					}
					assert.Equal(t, strings.TrimSpace(want), strings.TrimSpace(d.result.File.Lines[i].Text), "line %d of %q", i, d.result.File.Text())
				}
			}
		}
	}
}

// A block that is remembered is the one that would be written anew, whichever plans were
// tried in between.
func TestRememberedBlocksAreThoseThatWouldBeWritten(t *testing.T) {
	head, parts, players := sample(4)
	j, err := newJob(context.Background(), "x.handful", syntax.Parse(head+strings.Join(parts, "")), Options{Players: players}, false)
	require.NoError(t, err)
	j.search, j.sets = newSearch(j.piece, j.people, 12), make([]*setUp, len(j.people))
	all := make([]plays, len(j.passages))
	for range 3 { // with more and more left out, and the same again
		for left := range j.passages {
			for i, q := range j.passages {
				if all[i] = nobody; i >= left && len(q.options) > 0 {
					all[i] = plays{int8(i % players), 0, q.options[0].slots[0]}
				}
			}
			for _, p := range j.people {
				for _, j.asFile = range []bool{false, true} {
					want, err := j.block(all, p)
					require.NoError(t, err)
					got, err := j.blockOf(all, p)
					require.NoError(t, err)
					require.Equal(t, want, got)
				}
			}
		}
		require.NoError(t, j.layOut(all))
	}
}
