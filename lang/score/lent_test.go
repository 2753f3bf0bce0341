package score_test

import (
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// Scores that are bound in the room of others are those that each has in its own.
func TestALentRoomHasNothingOfTheScoreBefore(t *testing.T) {
	names, err := filepath.Glob("../../examples/*.handful")
	require.NoError(t, err)
	require.NotEmpty(t, names)
	var texts []string
	for _, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		texts = append(texts, string(text))
	}
	drawn := rapid.Custom(func(t *rapid.T) string {
		return madeup.Draw(t, madeup.Options{Notes: true, Players: 2, Roads: true, Actions: true}).Text()
	})
	for n := range 60 {
		texts = append(texts, drawn.Example(n))
	}
	room := score.NewRoom()
	strokes := 0
	for _, remember := range []bool{false, true} {
		for _, text := range texts {
			f := syntax.Parse(text)
			own := score.Bind("t", f, nil, score.Options{Remember: remember})
			lent := score.Bind("t", f, nil, score.Options{Remember: remember, Room: room})
			require.True(t, reflect.DeepEqual(own, lent), text)
			strokes += lent.Coverage.Written
			room.Clear()
		}
	}
	require.Greater(t, strokes, 1000)
}
