package check_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
)

// What plays something else comes behind what changes nothing of the sound,
// and before accepting the finding or leaving something out; the catalogue has
// what it plays as a stand-in and its words for the cost, and after it the
// piece says what stands for what. Of what there is none of nothing is offered.
func TestStandInsComeBehindAndSayWhatTheyCost(t *testing.T) {
	offered, most := 0, 0
	for _, m := range allMarkers(t) {
		for _, p := range m.pieces {
			r := m.folder.check(p)
			for i := range r.Findings {
				f := &r.Findings[i]
				at, here := 0, 0
				for _, fix := range r.Fixes(f) {
					rank := 0
					switch {
					case strings.HasSuffix(fix.Title, "with your reason"):
						rank = 2
					case strings.Contains(fix.Title, " instead ("):
						rank = 1
						here++
						standsIn(t, r, fix)
					}
					assert.GreaterOrEqual(t, rank, at, "%s, %s: %q comes too late", m.path, p.name, fix.Title)
					at = rank
				}
				assert.LessOrEqual(t, here, 3, "%s, %s: %s", m.path, p.name, f.Message())
				offered, most = offered+here, max(most, here)
			}
		}
	}
	assert.Greater(t, offered, 20)
	assert.Equal(t, 3, most)
	t.Logf("%d stand-ins offered", offered)
}

// standsIn holds a fix against the catalogue and against what the piece says
// once it is made.
func standsIn(t *testing.T, r *check.Result, fix check.Fix) {
	assert.True(t, fix.Judgement, fix.Title)
	after, ok := r.After(fix.Edits)
	if !assert.True(t, ok, fix.Title) {
		return
	}
	was, is := stoodFor(r.Score), stoodFor(after.Score)
	for k, n := range is {
		if n <= was[k] {
			continue
		}
		by, instead := after.Score.Catalogue.Instrument(k[0]), after.Score.Catalogue.Instrument(k[1])
		costs, ok := after.Score.Catalogue.StandsIn(by, instead)
		assert.True(t, ok, "%s: the %s does not stand for the %s", fix.Title, k[0], k[1])
		assert.Contains(t, fix.Title, "the "+by.Name()+" ", "%s", fix.Title)
		assert.Contains(t, fix.Title, "("+costs)
		if g := after.Score.GearOf(by); g != nil {
			assert.NotZero(t, g.Count, "%s: there is none", fix.Title)
		}
		return
	}
	t.Errorf("%q: nothing stands for anything after it", fix.Title)
}

// stoodFor counts which instruments are played for which others.
func stoodFor(s *score.Score) map[[2]string]int {
	out := map[[2]string]int{}
	for _, p := range s.Players {
		for _, c := range p.Cues {
			if c.For != nil && c.For != c.Item.Inst {
				out[[2]string{c.Item.Inst.ID, c.For.ID}]++
			}
		}
	}
	return out
}
