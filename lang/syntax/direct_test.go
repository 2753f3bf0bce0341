package syntax_test

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/internal/compose"
	"example.org/handful/lang/syntax"
)

// manyLines are the lines of the shipped files, of the samples and of composed
// texts, and each of them with words taken out, said twice, and put elsewhere.
func manyLines(t testing.TB) []string {
	seen := map[string]bool{}
	var out []string
	add := func(text string) {
		for _, l := range strings.Split(text, "\n") {
			if l != "" && !seen[l] {
				seen[l] = true
				out = append(out, l)
			}
		}
	}
	for _, glob := range []string{"../../examples/*.handful", "../kit/catalogue/*.handful"} {
		names, _ := filepath.Glob(glob)
		require.NotEmpty(t, names)
		for _, name := range names {
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			add(string(text))
		}
	}
	for _, f := range append(syntax.Forms(), syntax.Wordless()...) {
		add(f.Sample)
	}
	for seed := range uint64(200) {
		add(compose.Text(rand.New(rand.NewPCG(seed, 11))))
	}
	d := rand.New(rand.NewPCG(5, 5))
	plain := slices.Clone(out)
	words := strings.Fields(strings.Join(plain, " "))
	for _, l := range plain {
		w := strings.Fields(l)
		if len(w) == 0 {
			continue
		}
		for range 4 {
			i, j := d.IntN(len(w)), d.IntN(len(w))
			add(strings.Join(slices.Delete(slices.Clone(w), i, i+1), " "))
			add(strings.Join(slices.Insert(slices.Clone(w), i, w[j]), " "))
			add(strings.Join(slices.Insert(slices.Clone(w), i, words[d.IntN(len(words))]), " "))
		}
	}
	return out
}

// What is read by the productions that are written by hand is what the grammar
// reads, and what it refuses is not read by them.
func TestDirectReadsWhatTheGrammarReads(t *testing.T) {
	byHand, whole := 0, 0
	for _, l := range manyLines(t) {
		got, want, written, err := syntax.BothWays(l)
		if !written {
			continue
		}
		if err == nil {
			whole++
		}
		if got == nil {
			continue
		}
		byHand++
		if err != nil {
			t.Fatalf("%s\nis read, but the grammar says: %v", l, err)
		}
		require.Equal(t, want, got, l)
	}
	t.Logf("%d lines of these statements, %d of them read by hand", whole, byHand)
	assert.Greater(t, byHand, whole*9/10, "most lines are read by hand")
}
