package plan

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/proof"
	"example.org/handful/lang/syntax"
)

// certified is the certificate of a file, and what the verifier says of it.
func certified(t *testing.T, text string, opt Options) (*proof.Certificate, proof.Verdict) {
	t.Helper()
	f := syntax.Parse(text)
	j, err := newJob(context.Background(), "x.handful", f, opt, false)
	require.NoError(t, err)
	j.bound()
	c := j.certificate()
	assert.InDelta(t, j.lower, c.Claim.LostAtLeast, 1e-6)
	v, err := proof.Verify(context.Background(), "x.handful", f, c, proof.Options{Load: opt.Load, Uses: opt.Uses})
	require.NoError(t, err)
	return c, v
}

// What a plan's bound claims the verifier, which shares no code with the search, shows
// from verdicts of the checker alone: of shipped pieces, and of made-up ones.
func TestBoundsAreProvenFromTheCheckersVerdicts(t *testing.T) {
	texts := map[string]string{"ferry-landing": example(t, "ferry-landing.handful"), "weir": example(t, "weir.handful")}
	more := 4
	if !testing.Short() {
		more = 60
		files, err := filepath.Glob("testdata/byhand/*.handful")
		require.NoError(t, err)
		for _, name := range files {
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			texts[filepath.Base(name)] = string(text)
		}
	}
	for i := range more {
		texts[fmt.Sprint("instance ", i)] = instance(4+i%3, 4, uint64(i))
	}
	moments := 0
	for name, text := range texts {
		for players := 1; players <= 2; players++ {
			c, v := certified(t, text, Options{Players: players})
			assert.True(t, v.Proven(c), "%s for %d: %g of %g, %v", name, players, v.LostAtLeast, c.Claim.LostAtLeast, first(v.Against))
			moments += v.Holds
		}
	}
	t.Logf("%d moments", moments)
	assert.GreaterOrEqual(t, moments, 40)
}

func first(list []string) string { return strings.Join(list[:min(1, len(list))], "") }
