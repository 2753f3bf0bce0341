package syntax

import (
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A text that is read in the room of others, with the lines that they have in common, is
// read as by itself; and so is what is kept of the lines of one before.
func TestALentRoomHasNothingOfTheTextBefore(t *testing.T) {
	names, err := filepath.Glob("../../examples/*.handful")
	require.NoError(t, err)
	more, err := filepath.Glob("../../examples/library/*/*.handful")
	require.NoError(t, err)
	require.NotEmpty(t, names)
	var texts []string
	for _, name := range slices.Concat(names, more) {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		texts = append(texts, string(text), strings.ReplaceAll(string(text), "2", "?| "), strings.ReplaceAll(string(text), " ", " # | "))
	}
	known := NewKnown()
	bars, kept := 0, 0
	for range 2 {
		for _, text := range texts {
			own, lent := Parse(text), known.Parse(text)
			require.True(t, reflect.DeepEqual(own, lent), text)
			for _, l := range lent.Lines {
				if l.Bars != nil {
					bars++
				}
				if known.lines[l.Text] == l {
					kept++
				}
			}
			known.Clear()
		}
	}
	require.Greater(t, bars, 500)
	require.Greater(t, kept, 500)
}
