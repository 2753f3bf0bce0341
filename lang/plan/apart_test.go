package plan

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// The drums that the text places one by one stay there, and what a plan places keeps
// off each of them.
func TestAPlanLeavesDrumsWhereTheyArePlaced(t *testing.T) {
	const kit = "    tom-toms:low at ahead 50 # by the stairs\n    tom-toms:high at right 45 ahead 45\n    tom-toms on stand at left 45 ahead 45\n"
	const parts = "tempo 60\nbars 8\npart \"P\"\n  tom-toms | mf 1:high 3:low | % x7\n  snare-drum | 2 | % x7\nplayer Nell\n  kit\n"
	for _, lines := range []string{kit, strings.ReplaceAll(kit, "    tom-toms on stand at left 45 ahead 45\n", "")} {
		p := planned(t, parts+lines, Options{})
		require.NotNil(t, p.Result.Score.Player("Nell").Item("snare-drum"), p.Text)
		for _, l := range strings.Split(strings.TrimSpace(lines), "\n") {
			found := false
			for _, got := range strings.Split(p.Text, "\n") {
				found = found || syntax.Canonical(syntax.ParseLine(got).Code()) == syntax.Canonical(syntax.ParseLine(l).Code())
			}
			assert.True(t, found, "%s\nis gone from\n%s", l, p.Text)
		}
		assert.Contains(t, p.Text, "# by the stairs")
		for _, f := range p.Result.Findings {
			assert.False(t, f.Severity == check.Error || f.Rule.Name == "same-space", p.Text)
		}
	}
}

// What stands in a kit and nobody plays keeps its room, too.
func TestAPlanKeepsOffWhatNobodyPlays(t *testing.T) {
	for _, idle := range []string{"congas on stand at ahead 50", "tom-toms:low at right 20 ahead 26"} {
		p := planned(t, "tempo 60\nbars 4\npart \"P\"\n  snare-drum | mf 1 2 | % x3\nplayer Nell\n  kit\n    "+idle+"\n", Options{})
		for _, f := range p.Result.Findings {
			assert.NotEqual(t, "same-space", f.Rule.Name, p.Text)
		}
	}
}
