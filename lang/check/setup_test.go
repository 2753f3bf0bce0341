package check

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// Whatever stands in a set-up can be put elsewhere, and stands there then, and
// nothing else is moved by it but what was only taken to stand somewhere.
func TestWhatIsPutElsewhereStandsThere(t *testing.T) {
	files, err := filepath.Glob("../../examples/*.handful")
	require.NoError(t, err)
	texts := map[string]string{
		"a set of drums": "tempo 90\npart \"P\"\n  tom-toms | 1:low 2:high\nplayer Ida\n  kit\n    tom-toms on stand at ahead 60 # the old ones\n    tom-toms:high at right 60 ahead 40\n  R tom-toms as written\n",
		"no place":       "tempo 90\npart \"P\"\n  snare-drum | 1 2\n  triangle | 1\nplayer Ida\n  kit\n    snare-drum on stand # tuned high\n  R snare-drum as written\n  L triangle clipped as written\n",
		"no kit":         "tempo 90\npart \"P\"\n  snare-drum | 1 2\n  triangle | 1\nplayer Ida\n  R snare-drum as written\n  L triangle clipped as written\n",
		"stations":       "tempo 90\npart \"P\"\n  snare-drum | 1 2 | -\n  tubular-bells | - | 3\nplayer Ida\n  kit\n    station bells at right 300 behind 20\n    snare-drum on stand at left 10 ahead 40\n    tubular-bells on stand at bells right 10 ahead 50 facing 30\n    table at bells left 40\n  R snare-drum as written\n  R tubular-bells as written\n",
		"everybody's":    "tempo 90\nkit\n  snare-drum on stand at ahead 40\npart \"P\"\n  snare-drum | 1 2\nplayer Ida\n  R snare-drum as written\n",
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		texts[filepath.Base(file)] = string(data)
	}
	moved, written := 0, 0
	for name, text := range texts {
		r := Check(name, syntax.Parse(text), Options{})
		for _, p := range r.Score.Players {
			things := r.Things(p)
			assert.NotEmpty(t, things, "%s: %s", name, p.Name)
			for i := range things {
				th := &things[i]
				for _, by := range [][2]float64{{17, -9}, {-260.4, 31.6}} {
					edits := r.Put(p, th, by[0], by[1])
					if !assert.NotEmpty(t, edits, "%s: %s's %s", name, p.Name, th.Name) {
						continue
					}
					after, ok := r.After(edits)
					require.True(t, ok)
					assert.Empty(t, syntax.LostComment(text, after.File.Text()))
					now := after.Things(after.Score.Player(p.Name))
					if !assert.Len(t, now, len(things), "%s: %s's %s: %v", name, p.Name, th.Name, edits) {
						continue
					}
					at := find(now, th.Name, th.Station)
					require.NotNil(t, at, "%s: %s in %v", name, th.Name, edits)
					assert.True(t, at.Written, "%s: %s", name, th.Name)
					assert.LessOrEqual(t, math.Abs(at.At.Right-th.At.Right-by[0]), 0.51, "%s: %s, %v", name, th.Name, edits)
					assert.LessOrEqual(t, math.Abs(at.At.Ahead-th.At.Ahead-by[1]), 0.51, "%s: %s, %v", name, th.Name, edits)
					moved++
					for k := range things {
						if o := find(now, things[k].Name, things[k].Station); k != i && things[k].Written && o != nil {
							assert.Equal(t, things[k].At, o.At, "%s: %s moves with %s", name, o.Name, th.Name)
							written++
						}
					}
				}
			}
		}
	}
	assert.Greater(t, moved, 60)
	assert.Greater(t, written, 100)
}

func find(things []Thing, name string, station int) *Thing {
	for i := range things {
		if things[i].Name == name && things[i].Station == station {
			return &things[i]
		}
	}
	return nil
}
