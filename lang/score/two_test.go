package score

import (
	"example.org/handful/lang/body"
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
	require.NotNil(t, p.Holds[body.Right].Beside)
	assert.Equal(t, "yarn-mallet", p.Holds[body.Right].Beside.ID)
	assert.Equal(t, "triangle-beater", p.Actions[0].Implement.ID)
	assert.Equal(t, "soft-mallet", p.Actions[0].Beside.ID)
	assert.Nil(t, p.Actions[1].Beside)
	assert.Equal(t, "snare-stick", p.Cues[0].With[0].Implement)
	assert.Equal(t, "yarn-mallet", p.Cues[0].Beside.ID)
}

// What is small enough to lie in the palm is held beside a light stick, whichever
// of the two is named first.
func TestAnEggAndAStickInOneHand(t *testing.T) {
	s := bindText(`bars 4
player Ida
  R holds snare-stick and shaker
  L holds egg-shaker and thin-stick
  R lays shaker at 2
  R takes shaker and thin-stick at 3
  R takes yarn-mallet and egg-shaker at 4
  R snare-drum with snare-stick | 1
`)
	assert.Empty(t, s.Problems)
	p := s.Players[0]
	for _, h := range p.Holds {
		require.NotNil(t, h.Implement)
		require.NotNil(t, h.Inst)
		assert.Nil(t, h.Beside)
		assert.Equal(t, "shaker", h.Inst.Inst.ID)
	}
	for _, a := range p.Actions[1:] {
		require.NotNil(t, a.Implement)
		assert.Nil(t, a.Beside)
		assert.Equal(t, p.Holds[body.Right].Inst, a.Item, "it is one shaker")
	}
}

// What one hand cannot hold is said where it stands, and the rest of the line
// holds.
func TestWhatOneHandCannotHold(t *testing.T) {
	for line, want := range map[string]string{
		"R holds snare-stick and yarn-mallet and brass-mallet": "a hand holds two things at the most: leave out one of the 3, or let it be taken later",
		"R holds snare-stick and snare-stick":                  "two of one kind are written 2 snare-sticks",
		"R holds 2 snare-sticks and yarn-mallet":               "a hand holds two things at the most: two of one kind, or one of each",
		"R holds snare-stick and 2 yarn-mallets":               "a hand holds two things at the most: two of one kind, or one of each",
		"R holds triangle and snare-stick":                     "no stick has room in the hand beside the triangle: give one of the two to the other hand, or let it be taken later",
		"R holds bell and snare-stick":                         "no stick has room in the hand beside the triangle: give one of the two to the other hand, or let it be taken later",
		"R holds snare-stick and triangle":                     "no stick has room in the hand beside the triangle: give one of the two to the other hand, or let it be taken later",
		"R holds shaker and triangle":                          "a hand that holds an instrument has no room for a second thing but a light stick",
		"R holds maracas and snare-stick":                      "no stick has room in the hand beside the maracas: give one of the two to the other hand, or let it be taken later",
		"R holds bass-drum-beater and shaker":                  "a hand does not hold the bass drum beater and another thing: it is too heavy for that",
		"R snare-drum with snare-stick and shaker | 1":         "that a hand has the shaker beside the snare stick is said where it takes them: write  R holds snare-stick and shaker",
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
			assert.Equal(t, want, s.Problems[0].Message(), line)
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

// A cue may be played with the other end of its stick, where that plays
// something.
func TestTheButtEnd(t *testing.T) {
	s := bindText("player Ida\n  R woodblock with the butt end of a yarn mallet | 1\n  L woodblock with butt of snare-stick and yarn-mallet | 1\n")
	assert.Empty(t, s.Problems)
	for i, want := range []string{"yarn-mallet", "snare-stick"} {
		c := s.Players[0].Cues[i]
		assert.Equal(t, want, c.With[0].Implement)
		assert.True(t, c.With[0].Butt)
		assert.Equal(t, "snare-stick", s.Catalogue.PlaysAs(c.With[0]))
	}
	for line, want := range map[string]string{
		"R woodblock with butt of snare-stick and butt of yarn-mallet | 1": "which end plays is said where it plays, as in  R woodblock with butt of yarn-mallet",
		"R woodblock with butt of bow | 1":                                 "the bow has no butt end to play with",
		"R woodblock with 2 butt of snare-stick | 1":                       "of two in a hand the butt end does not play: write  butt of snare-stick",
		"R takes butt of snare-stick at 1":                                 "which end plays is said where it plays, as in  R woodblock with butt of snare-stick",
	} {
		s := bindText("bars 4\nplayer Ida\n  " + line + "\n")
		if assert.Len(t, s.Problems, 1, line) {
			assert.Equal(t, want, s.Problems[0].Message(), line)
		}
	}
	s = bindText("implement spoon\n  weighs light\n  butt as fork costs \"thin\"\nimplement ladle\n  butt as snare-stick\nplayer Ida\n  R woodblock | 1\n")
	if assert.Len(t, s.Problems, 2) {
		assert.Equal(t, `butt as snare-stick does not say what the sound pays: … costs "thin and dry"`, s.Problems[0].Message())
		assert.Equal(t, "no implement is called “fork”", s.Problems[1].Message())
	}
}
