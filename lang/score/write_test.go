package score_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A cue whose bars are written out plays what it played.
func TestWritingACueOutKeepsItsStrokes(t *testing.T) {
	files, err := filepath.Glob("../../examples/*.handful")
	require.NoError(t, err)
	written := 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		was := score.Bind(file, syntax.Parse(string(text)), nil, score.Options{})
		for p, player := range was.Players {
			for k, cue := range player.Cues {
				bars, ok := was.WriteBars(cue)
				if !ok || !cue.AsWritten {
					continue
				}
				written++
				lines := strings.Split(string(text), "\n")
				l := cue.Where.Line
				lines[l] = lines[l][:strings.Index(lines[l], "as written")] + bars
				is := score.Bind(file, syntax.Parse(strings.Join(lines, "\n")), nil, score.Options{})
				assert.Equal(t, plays(cue), plays(is.Players[p].Cues[k]), "%s: %s", file, lines[l])
			}
		}
	}
	assert.Greater(t, written, 20)
}

// plays is what a cue's strokes are, without where they stand in the text.
func plays(c *score.Cue) []score.Stroke {
	var out []score.Stroke
	for _, s := range c.Strokes {
		out = append(out, score.Stroke{At: s.At, End: s.End, Bar: s.Bar, Dyn: s.Dyn, Flags: s.Flags, Grace: s.Grace, Hand: s.Hand})
	}
	return out
}
