package room_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
)

// Whoever has room before and beside the body has nothing behind it, and a long thing
// at the side is turned so that its left end is at the left of who turns to it.
func TestThingsStandBeforeWhoPlaysThem(t *testing.T) {
	use := room.Use{Arms: room.ArmsOf(body.Experienced(), false), Hands: 3}
	toms := kit.Standard().Instrument("tom-toms")
	wall := func(at body.Point, there []room.Body) bool { // nothing stands more than 10 cm ahead
		for _, b := range there {
			if b.At.Ahead > 55 || math.Abs(b.At.Right) < 20 {
				return false
			}
		}
		return true
	}
	for want, turn := range map[body.Point]float64{{Right: 40, Ahead: -20}: 90, {Right: -40, Ahead: -20}: 270} {
		p := use.Find(toms, kit.OnStand, want, 4, 1, wall)
		require.Less(t, p.Serves, room.Behind)
		assert.Equal(t, turn, p.Turn)
		require.Len(t, p.Bodies, 4)
		// Who turns to the side has the first of them, the left one, at the left.
		first, last := p.Bodies[0].At.Ahead, p.Bodies[3].At.Ahead
		assert.Equal(t, want.Right > 0, first > last, "%v: %v %v", want, first, last)
		angle := math.Abs(math.Atan2(p.At.Right, p.At.Ahead)) * 180 / math.Pi
		assert.LessOrEqual(t, angle, 110.0)
	}
	// Where there is room behind alone, it is taken; where there is none, that is said.
	p := use.Find(toms, kit.OnStand, body.Point{Ahead: 50}, 4, 1, func(at body.Point, _ []room.Body) bool { return at.Ahead < -20 && math.Abs(at.Right) < 20 })
	assert.Equal(t, room.Behind, p.Serves)
	p = use.Find(toms, kit.OnStand, body.Point{Ahead: 50}, 4, 1, func(body.Point, []room.Body) bool { return false })
	assert.Equal(t, room.NoPlace, p.Serves)
	assert.Empty(t, p.Bodies)
}

func TestATableIsBesideWhoTakesFromIt(t *testing.T) {
	you := body.Point{Right: 200}
	want := body.Point{Right: 205, Ahead: -40}
	b, ok := room.FindTable(want, you, 4, func(room.Body) bool { return true })
	require.True(t, ok)
	assert.LessOrEqual(t, math.Abs(math.Atan2(b.At.Right-you.Right, b.At.Ahead))*180/math.Pi, 110.0)
	b, ok = room.FindTable(want, you, 4, func(b room.Body) bool { return b.At.Ahead < -38 })
	require.True(t, ok, "better behind than nowhere")
	assert.Less(t, b.At.Ahead, -38.0)
	_, ok = room.FindTable(want, you, 4, func(room.Body) bool { return false })
	assert.False(t, ok)
}
