package check_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/tools/txtar"
)

// withoutNotes holds made-up pieces in which no stroke says what it strikes, and all that
// is found in each of them. The pieces are kept as text, so that they are the same
// whatever makes pieces up by now. Some were found so by the build of before there were
// any notes; the map for developers says how many. Write what is found anew with
// -update, and read the change: what has to do with notes alone changes nothing here.
const withoutNotes = "testdata/found/without-notes.txtar"

// foundIn is all that is found in a piece, a line each.
func foundIn(text string) string {
	r := at(text, 1)
	var out []string
	for i := range r.Findings {
		f := &r.Findings[i]
		out = append(out, fmt.Sprintf("%d %s %s %s %s\n", f.Where.Line+1, f.Severity, f.Rule.Name, f.Player, f.Message()))
	}
	slices.Sort(out)
	return strings.Join(out, "")
}

// A piece without notes is found as it was.
func TestWhatIsFoundWithoutNotesIsAsItWas(t *testing.T) {
	data, err := os.ReadFile(withoutNotes)
	require.NoError(t, err)
	a := txtar.Parse(data)
	pieces, findings, rules := 0, 0, map[string]bool{}
	for i := 0; i+1 < len(a.Files); i += 2 {
		piece, found := &a.Files[i], &a.Files[i+1]
		require.Equal(t, strings.TrimSuffix(piece.Name, ".handful")+".found", found.Name)
		for _, p := range at(string(piece.Data), 1).Score.Players {
			for _, c := range p.Cues {
				require.Nil(t, c.Struck, "%s says what is struck", piece.Name)
			}
		}
		is := foundIn(string(piece.Data))
		if *update {
			found.Data = []byte(is)
		}
		if d := differ(strings.Split(string(found.Data), "\n"), strings.Split(is, "\n")); d != "" {
			t.Errorf("%s: %s", piece.Name, d)
		}
		pieces++
		for l := range strings.Lines(is) {
			findings++
			rules[strings.Fields(l)[2]] = true
		}
	}
	if *update {
		require.NoError(t, os.WriteFile(withoutNotes, txtar.Format(a), 0o644))
	}
	assert.GreaterOrEqual(t, pieces, 80, "none was taken out")
	assert.GreaterOrEqual(t, findings, 500)
	assert.GreaterOrEqual(t, len(rules), 20)
	t.Logf("%d pieces, %d findings of %d rules", pieces, findings, len(rules))
}
