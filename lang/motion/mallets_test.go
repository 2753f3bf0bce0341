package motion_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// How many mallets a line names is told once, and both what a hand holds and what it
// reaches without a leap go by it: of one hand all of them, of two hands half.
func TestHowManyMalletsEachHandHas(t *testing.T) {
	for line, want := range map[string]int{
		"R marimba with 2 yarn-mallets | 1 2":                    2,
		"RL marimba with 2 yarn-mallets | 1 2":                   1,
		"RL marimba with 2 yarn-mallets | 1:C4 2:D4":             1,
		"R+L marimba with 2 yarn-mallets | 1 2~4":                1,
		"RL marimba with 4 yarn-mallets | 1:C4 2:D4":             2,
		"RL marimba with 4 yarn-mallets | 1 2~4":                 2,
		"R+L marimba with 2 yarn-mallets | 1:C4+E4":              1,
		"R+L marimba with 2 yarn-mallets | 1:C4+E4+G4+C5":        2,
		"RL woodblock with 2 rubber-mallets | 1 2":               1,
		"RL suspended-cymbal with 2 yarn-mallets | 1 2~4":        1,
		"RL timpani with 2 timpani-mallets | 1:C3 2:E3":          1,
		"LR xylophone with 2 rubber-mallets | 1:C5 1&:E5 2:G5 3": 1,
	} {
		s := score.Bind("made-up.handful", syntax.Parse("tempo 60\nplayer Ida\n  "+line+"\n"), nil, score.Options{})
		require.Empty(t, s.Problems, line)
		m := motion.Solve(s, s.Players[0])
		for _, h := range []body.Limb{body.Right, body.Left} {
			if c := s.Players[0].Cues[0]; c.Limb != h && !c.Limb.TwoHands() {
				continue
			}
			for _, sp := range m.Spells[h] {
				if sp.Grip.Implement != nil {
					assert.Equal(t, want, sp.Grip.Count, "%s: %s", line, h.Name())
				}
			}
		}
	}
}
