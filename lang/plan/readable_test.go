package plan

import (
	"flag"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

var update = flag.Bool("update", false, "write the plans that somebody reads; sign them before you keep them")

// Plans of shipped pieces, made of their written parts alone, that somebody has read as one
// who has to sign them: a line stays with a person, reasons are true, nothing is patched
// together. What changes one of them is read anew. The name of a file says which piece it
// is of, for how many, and whether one thing may be played for another.
func TestPlansReadAsWrittenByAPerson(t *testing.T) {
	files, err := filepath.Glob("testdata/readable/*.handful")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(files), 5)
	for _, file := range files {
		name, standIns := strings.CutSuffix(strings.TrimSuffix(filepath.Base(file), ".handful"), "-stand-ins")
		at := strings.LastIndex(name, "-")
		players, err := strconv.Atoi(name[at+1:])
		require.NoError(t, err)
		piece, err := os.ReadFile(filepath.Join("../../examples", name[:at]+".handful"))
		require.NoError(t, err)
		parts, _, ok := strings.Cut(string(piece), "\nplayer ")
		require.True(t, ok)
		p := planned(t, parts+"\n", Options{Players: players, StandIns: standIns, Sentences: true})
		clean(t, p)
		assert.Zero(t, handOvers(p.Result.Score), "%s: every line stays with one person", file)
		if *update {
			require.NoError(t, os.WriteFile(file, []byte(p.Text), 0o644))
			continue
		}
		want, err := os.ReadFile(file)
		require.NoError(t, err)
		assert.Equal(t, string(want), p.Text, file)
	}
}

// In the set-ups of those plans nothing stands behind whoever plays it, and no table lies
// over what is struck. The oracle has sizes of the catalogue alone.
func TestPlannedSetUpsStandFreeAndInFront(t *testing.T) {
	files, err := filepath.Glob("testdata/readable/*.handful")
	require.NoError(t, err)
	things, drums := 0, 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		for _, p := range check.Check(file, syntax.Parse(string(text)), check.Options{}).Score.Players {
			for _, it := range p.Items {
				if !it.Placed || it.Stands == kit.Held || it.Stands == kit.OnBody {
					continue
				}
				things++
				assert.LessOrEqual(t, math.Abs(math.Atan2(it.At.Right, it.At.Ahead))*180/math.Pi, 110.0, "%s: %s's %s", file, p.Name, it.Name)
				if !it.Inst.Round || it.Inst.Over > 0 {
					continue
				}
				drums++
				for _, table := range p.Tables {
					// From the middle of the drum to the nearest point of a table of 40 by 30 cm.
					right := math.Max(0, math.Abs(it.At.Right-table.At.Right)-20)
					ahead := math.Max(0, math.Abs(it.At.Ahead-table.At.Ahead)-15)
					assert.GreaterOrEqual(t, math.Hypot(right, ahead), it.Inst.Wide/2-0.5, "%s: %s's table and %s", file, p.Name, it.Name)
				}
			}
		}
	}
	assert.GreaterOrEqual(t, things, 12)
	assert.GreaterOrEqual(t, drums, 3)
}

// Who has nothing to play needs no kit.
func TestWhoPlaysNothingHasNoKit(t *testing.T) {
	p := planned(t, "tempo 60\nbars 2\npart \"One\"\n  triangle | 1 | 1\nplayer Ida\n  R triangle held as written\n", Options{Names: []string{"Ida", "Per"}})
	clean(t, p)
	_, per, ok := strings.Cut(p.Text, "player Per\n")
	require.True(t, ok, p.Text)
	assert.Empty(t, per)
}
