package sheet

import (
	"context"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/plan"
	"example.org/handful/lang/syntax"
)

// The page without somebody: one page, on which nothing lies on anything else, and
// which says all that the plan does; behind it the sheets of who plays something new.
func TestThePageWithoutSomebodyIsOnePage(t *testing.T) {
	text, err := os.ReadFile("../../examples/ferry-landing.handful")
	require.NoError(t, err)
	for _, name := range []string{"Nell", "Tam"} {
		if testing.Short() && name == "Nell" {
			continue
		}
		a, err := plan.Absent(context.Background(), "ferry-landing.handful", syntax.Parse(string(text)), plan.Options{Without: []string{name}})
		require.NoError(t, err)
		for _, paper := range Papers() {
			doc := Absent(a, Options{Paper: paper})
			if paper.Name == "A4" || paper.Name == "Letter" {
				assert.Len(t, doc.Pages, 1, "%s on %s", name, paper.Name)
			}
			for _, p := range doc.Pages {
				assert.Empty(t, collision(p), "%s on %s", name, paper.Name)
			}
			page := strings.Join(strings.Fields(doc.Text()), " ")
			assert.Contains(t, page, "ithout "+name)
			for _, l := range a.Plan.Lost {
				assert.Contains(t, page, named(a.Plan.Result.Score, l.Line))
			}
			for _, n := range a.New {
				assert.Contains(t, page, n.Player)
				assert.Contains(t, page, n.Instrument)
			}
			for _, c := range a.Carry {
				assert.Contains(t, page, c.What)
			}
		}
		kinds := map[string]int{}
		for _, d := range AbsentDocs(a, Options{}) {
			assert.NotEqual(t, name, d.Player)
			kinds[d.Kind]++
		}
		assert.Equal(t, map[string]int{"without": 1, "cues": 1, "plan": 1, "practice": 1}, kinds)
	}
}

// Bars that follow one another are said as one stretch, wherever they come from.
func TestStretchesOfBarsAreJoined(t *testing.T) {
	assert.Equal(t, "bars 1–17, 19, 25–37", placesWords([][2]int{{1, 1}, {5, 8}, {2, 4}, {9, 9}, {10, 17}, {19, 19}, {25, 36}, {30, 31}, {37, 37}}))
	assert.Equal(t, "bar 7", placesWords([][2]int{{7, 7}, {7, 7}}))
	assert.Equal(t, "bars 7–8", placesWords([][2]int{{8, 8}, {7, 7}}))
}
