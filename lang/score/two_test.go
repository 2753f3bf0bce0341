package score

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// One hand may hold two sticks or mallets of different kinds, where the text
// says so.
func TestTwoThingsInOneHand(t *testing.T) {
	s := bindText(`bars 4
player Ida
  R holds snare-stick and yarn-mallet
  L takes a triangle beater together with a soft mallet at 2
  L lays triangle-beater at 3
  R snare-drum with snare-stick and yarn-mallet | 1
`)
	assert.Empty(t, s.Problems)
	p := s.Players[0]
	require.NotNil(t, p.Holds[Right].Beside)
	assert.Equal(t, "yarn-mallet", p.Holds[Right].Beside.ID)
	assert.Equal(t, "triangle-beater", p.Actions[0].Implement.ID)
	assert.Equal(t, "soft-mallet", p.Actions[0].Beside.ID)
	assert.Nil(t, p.Actions[1].Beside)
	assert.Equal(t, "snare-stick", p.Cues[0].With[0].Implement)
	assert.Equal(t, "yarn-mallet", p.Cues[0].Beside.ID)
}

// What one hand cannot hold is said where it stands, and the rest of the line
// holds.
func TestWhatOneHandCannotHold(t *testing.T) {
	for line, want := range map[string]string{
		"R holds snare-stick and yarn-mallet and brass-mallet": "a hand holds two things at the most: leave out one of the 3, or let it be taken later",
		"R holds snare-stick and snare-stick":                  "two of one kind are written 2 snare-sticks",
		"R holds 2 snare-sticks and yarn-mallet":               "a hand holds two things at the most: two of one kind, or one of each",
		"R holds snare-stick and 2 yarn-mallets":               "a hand holds two things at the most: two of one kind, or one of each",
		"R holds triangle and snare-stick":                     "a hand that holds an instrument has no room for a second thing",
		"R holds bell and snare-stick":                         "a hand that holds an instrument has no room for a second thing",
		"R holds snare-stick and triangle":                     "an instrument takes the hand for itself: give it to the other hand, or let it be taken later",
		"R holds snare-stick and bass-drum-beater":             "a hand does not hold the bass drum beater and another thing: it is too heavy for that",
		"R holds bow and snare-stick":                          "a hand does not hold the bow and another thing: it takes the hand for itself",
		"R holds nothing and snare-stick":                      "name both things that the hand holds, or write nothing alone",
		"R holds fingers and snare-stick":                      "a hand does not hold the fingers and another thing: the bare hand holds nothing, and nothing beside it",
		"R takes snare-stick and spoon at 2":                   "no implement is called “spoon”",
		"R damps triangle and bell at 2":                       "one thing is damped in a line: give each its own",
		"RL snare-drum with snare-stick and yarn-mallet | 1":   "two different things are held in one hand: write R, L or any before them, and a line for the other hand",
		"R snare-drum with snare-stick and snare-stick | 1":    "two of one kind are written 2 snare-sticks",
		"L lays it and snare-stick at 2":                       "name both things that the hand holds, or write it alone",
		"L snare-drum with snare-stick and thimbles | 1":       "a hand does not hold the thimbles and another thing: it takes the hand for itself",
		"mouth whistle with snare-stick and yarn-mallet | 1":   "two different things are held in one hand: write R, L or any before them, and a line for the other hand",
	} {
		s := bindText("bars 4\nplayer Ida\n  kit\n    bell is triangle clipped at ahead 40\n  " + line + "\n")
		if assert.Len(t, s.Problems, 1, line) {
			assert.Equal(t, want, s.Problems[0].Message, line)
			assert.EqualValues(t, 4, s.Problems[0].Where.Line, line)
			assert.Less(t, s.Problems[0].Where.Start, s.Problems[0].Where.End, line)
		}
		for _, h := range s.Players[0].Holds {
			assert.Nil(t, h.Beside, line)
		}
		for _, c := range s.Players[0].Cues {
			assert.Nil(t, c.Beside, line)
			assert.NotEmpty(t, c.With, "what stands before it is still read: %s", line)
		}
	}
}
