package sheet

import (
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
)

// Whoever plays something in a way that is not the usual one finds on the
// set-up plan how that is done, every line and every caution of it, on every
// paper; of the usual ways nothing is said.
func TestHowUnusualWaysAreDoneIsOnThePlan(t *testing.T) {
	text, err := os.ReadFile("testdata/unusual-ways.handful")
	require.NoError(t, err)
	r := checked("unusual.handful", string(text))
	want := map[string]bool{}
	for _, ch := range r.Motions[0].Chosen {
		if in := ch.Cue.Item.Inst; ch.Way != in.Usual() {
			for _, line := range in.How(ch.Way) {
				want[line] = true
			}
		}
	}
	require.Greater(t, len(want), 10)
	cautions := 0
	for _, paper := range Papers() {
		docs := Docs([]*check.Result{r}, Options{Paper: paper, Player: "Ida"})
		k := slices.IndexFunc(docs, func(d Doc) bool { return d.Kind == "plan" })
		require.GreaterOrEqual(t, k, 0)
		var said, drawn []string
		bold := map[string]bool{}
		for _, p := range docs[k].Pages {
			for _, s := range p.Said {
				said = append(said, s.Text)
			}
			for _, it := range p.Items {
				if it.Kind == wording {
					drawn = append(drawn, it.Text)
					bold[it.Text] = it.Bold
				}
			}
		}
		whole := strings.Join(drawn, " ")
		for line := range want {
			assert.Contains(t, said, line)
			assert.Contains(t, whole, line, "%s: it is set line by line, and nothing of it is lost", paper.Name)
			if strings.HasPrefix(line, "!") {
				cautions++
				first := slices.IndexFunc(drawn, func(text string) bool { return strings.HasPrefix(line, text) && len(text) > 1 })
				require.GreaterOrEqual(t, first, 0, line)
				assert.True(t, bold[drawn[first]], "a caution stands out: %s", line)
			}
		}
		assert.NotContains(t, strings.ToLower(strings.Join(said, "\n")), "woodblock, clamped")
	}
	assert.NotZero(t, cautions)
}

// Who plays everything in its usual way is told nothing.
func TestNobodyIsToldTheUsualWay(t *testing.T) {
	r := checked("usual.handful", "tempo 60\nplayer Ida\n  R snare-drum with snare-stick | 1 3\n")
	for _, d := range Docs([]*check.Result{r}, Options{}) {
		for _, p := range d.Pages {
			for _, s := range p.Said {
				assert.NotEqual(t, "How it is done", s.Text, d.Kind)
			}
		}
	}
}
