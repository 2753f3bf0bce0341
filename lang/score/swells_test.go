package score

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// What is said about loudness where nothing is struck is kept: in a roll at the bar line
// over which it goes on, behind the last stroke of a bar from that stroke on, and a level
// behind a roll where it ends. What stands before a stroke is that stroke's.
func TestDynamicsWithinRollsAreKept(t *testing.T) {
	for bars, want := range map[string]string{
		"p 1~ | cresc ~ | ~ | f ~4":           "[cresc 2.1] [f 4.1]",
		"p cresc 1~ | f ~2 3":                 "[f 2.1]",
		"p 1~ cresc | ~ | f 1":                "[cresc 1.1]",
		"1~ | ~ dim | p ~4":                   "[dim 2.1] [p 3.1]",
		"p 1~3 f":                             "[f 1.3]",
		"1 2 cresc | 3 | f 1":                 "[cresc 1.2]",
		"1 2 f | 3 | mf 1 p 2":                "", // for what comes
		"cresc | 1~ \"soft\" | mf ~ f 2":      "[mf 3.1]",
		"1~ | cresc \"grow\" ~ | \"x\" ff ~4": "[cresc 2.1] [ff 3.1]",
		"p 1~ | % | 2":                        "",
		"p 1~ | cresc ~ | % | f ~2":           "[cresc 2.1] [cresc 3.1] [f 4.1]",
	} {
		s := Bind("x.handful", syntax.Parse("meter 4/4\ntempo 80\nbars 5\npart \"P\"\n  snare-drum | "+bars+"\nplayer Ida\n  RL snare-drum as written\n"), nil, Options{})
		got := ""
		require.Len(t, s.Players[0].Cues, 1, bars)
		for _, w := range s.Players[0].Cues[0].Swells() {
			if got != "" {
				got += " "
			}
			got += fmt.Sprintf("[%s %s]", w.Text, s.Place(w.At))
		}
		assert.Equal(t, want, got, bars)
	}
}
