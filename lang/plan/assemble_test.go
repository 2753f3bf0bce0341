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
					assert.Equal(t, strings.TrimSpace(want), strings.TrimSpace(d.result.File.Lines[i].Text), "line %d of %q", i, d.result.File.Text)
				}
			}
		}
	}
}
