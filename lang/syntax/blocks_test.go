package syntax

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A line in a kit that belongs to neither a kit nor a player is wrong by itself: what
// stands below it is in the kit as before.
func TestALineThatFitsNowhereEndsNoKit(t *testing.T) {
	f := Parse("player Odo\n  kit\n    triangle clipped at ahead 72\n    2 clip\n    table at right 24 ahead 26\n  R triangle | 1 |\n")
	seats := f.Seats()
	assert.Equal(t, InKit, seats[4].Block)
	assert.Equal(t, InPlayer, seats[5].Block)
	for i, l := range f.Lines {
		assert.Equal(t, i != 3, seats[i].Fits(l), l.Text)
	}
}
