package room_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
)

// within says whether a point lies in a body as seen from above, by turning the
// point back instead of the body.
func within(b room.Body, right, ahead float64) bool {
	x, y := right-b.At.Right, ahead-b.At.Ahead
	if b.Round {
		return x*x+y*y < b.Wide*b.Wide/4
	}
	a := b.Turn * math.Pi / 180 // clockwise
	u := x*math.Cos(a) - y*math.Sin(a)
	v := x*math.Sin(a) + y*math.Cos(a)
	return math.Abs(u) < b.Wide/2 && math.Abs(v) < b.Deep/2
}

// meet says whether two bodies share a point of a fine raster.
func meet(a, b room.Body) bool {
	far := max(math.Hypot(a.Wide, a.Deep), a.Wide)
	for x := a.At.Right - far; x <= a.At.Right+far; x += 0.4 {
		for y := a.At.Ahead - far; y <= a.At.Ahead+far; y += 0.4 {
			if within(a, x, y) && within(b, x, y) {
				return true
			}
		}
	}
	return false
}

func randomBody(r *rand.Rand) room.Body {
	b := room.Body{At: body.Point{Right: r.Float64()*60 - 30, Ahead: r.Float64() * 50}, Wide: 10 + r.Float64()*35, Low: 0, High: 80}
	b.Deep, b.Round = b.Wide, true
	if r.IntN(3) > 0 {
		b.Round, b.Deep, b.Turn = false, 8+r.Float64()*30, float64(r.IntN(24)*15)
	}
	return b
}

// The oracle looks at points and knows nothing of axes: whoever moves the one
// body by what Into says, in the best direction, frees it, and nobody frees it
// by less.
func TestOverlapIsTheShortestMoveThatFrees(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	overlaps := 0
	for range 40 {
		a, b := randomBody(r), randomBody(r)
		into := a.Into(b)
		assert.InDelta(t, into, b.Into(a), 1e-9)
		if into < -1 {
			assert.False(t, meet(a, b), "%v %v", a, b)
			continue
		}
		if into < 1.5 {
			continue // the raster cannot tell
		}
		overlaps++
		assert.True(t, meet(a, b), "%v %v", a, b)
		freed := false
		for d := range 45 {
			sin, cos := math.Sincos(float64(d*8) * math.Pi / 180)
			assert.True(t, meet(a, b.Moved((into-1.5)*sin, (into-1.5)*cos)), "freed by less, towards %d: %v %v", d*8, a, b)
			if !freed && !meet(a, b.Moved((into+0.6)*sin, (into+0.6)*cos)) {
				freed = true
			}
		}
		assert.True(t, freed, "%g cm do not free them: %v %v", into, a, b)
	}
	require.Greater(t, overlaps, 12)
}

func TestTurningAndMirroringChangesNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	for range 500 {
		a, b := randomBody(r), randomBody(r)
		was := a.Into(b)
		turn := func(x room.Body, by float64) room.Body {
			sin, cos := math.Sincos(by * math.Pi / 180)
			x.At.Right, x.At.Ahead = x.At.Right*cos+x.At.Ahead*sin, -x.At.Right*sin+x.At.Ahead*cos
			x.Turn += by
			return x
		}
		mirror := func(x room.Body) room.Body {
			x.At.Right, x.Turn = -x.At.Right, -x.Turn
			return x
		}
		assert.Equal(t, was > 0, turn(a, 37).Into(turn(b, 37)) > 0)
		if was > 0 {
			assert.InDelta(t, was, turn(a, 37).Into(turn(b, 37)), 1e-6)
			assert.InDelta(t, was, mirror(a).Into(mirror(b)), 1e-6)
		}
	}
}

func of(t *testing.T, id string, mount kit.Mount, right, ahead float64) room.Body {
	t.Helper()
	list := room.Of(kit.Standard().Instrument(id), mount, room.Spot{At: body.Point{Right: right, Ahead: ahead}})
	require.Len(t, list, 1, id)
	return list[0]
}

func TestHangingOver(t *testing.T) {
	snare := of(t, "snare-drum", kit.OnStand, 0, 50)
	// 18 cm of a drum's radius and 22.5 of a cymbal's, of which 18 may hang over.
	_, in := room.Check(snare, of(t, "suspended-cymbal", kit.OnStand, 23, 50))
	assert.False(t, in)
	c, in := room.Check(snare, of(t, "suspended-cymbal", kit.OnStand, 19, 50))
	require.True(t, in)
	assert.Equal(t, 2, c.Hangs)
	assert.InDelta(t, 3.5, c.Deep, 1e-9)
	assert.False(t, c.Sure)
	// The post of its stand goes nowhere through a drum.
	c, in = room.Check(of(t, "suspended-cymbal", kit.OnStand, 2, 50), snare)
	require.True(t, in)
	assert.True(t, c.Sure)
	// A drum as high as another one hangs over nothing.
	c, in = room.Check(snare, of(t, "field-drum", kit.OnStand, 20, 50))
	require.True(t, in)
	assert.True(t, c.Sure)
	assert.Zero(t, c.Hangs)
	// A block clamped to a bass drum's hoop.
	_, in = room.Check(of(t, "bass-drum", kit.OnStand, 0, 60), of(t, "woodblock", kit.Clamped, 0, 45))
	assert.False(t, in)
	c, in = room.Check(of(t, "bass-drum", kit.OnStand, 0, 60), of(t, "woodblock", kit.Clamped, 0, 60))
	require.True(t, in)
	assert.False(t, c.Sure)
	assert.Equal(t, 2, c.Hangs)
}

// Nothing that stays as high as it is lies over what is struck: a stick comes as high as
// strokes do. What a cymbal's stand raises is raised.
func TestNothingLiesInTheWayOfAStroke(t *testing.T) {
	at := body.Point{Right: 30, Ahead: 50}
	table := func(up float64) room.Body {
		at.Up = up
		return room.Table(at, 0)
	}
	snare := of(t, "snare-drum", kit.OnStand, 0, 50)
	for _, up := range []float64{0, 5, 14} { // 80, 85 and 94 cm high, beside 80 cm of drum
		c, in := room.Check(table(up), snare)
		require.True(t, in, "%g", up)
		assert.Equal(t, 1, c.Hangs)
		assert.InDelta(t, 8, c.Deep, 1e-9)
		assert.False(t, c.Sure, "nobody says how large a table is")
	}
	_, in := room.Check(table(15), snare)
	assert.False(t, in, "the strokes go beneath it")
	_, in = room.Check(table(0), of(t, "bass-drum-pedal", kit.Floor, 0, 15))
	assert.False(t, in, "a drum that a foot strikes far below")
	_, in = room.Check(of(t, "tambourine", kit.Padded, 25, 50), snare)
	assert.True(t, in, "it lies where it lies")
	cymbal := func(up float64) room.Body {
		list := room.Of(kit.Standard().Instrument("suspended-cymbal"), kit.OnStand, room.Spot{At: body.Point{Right: 30, Ahead: 50, Up: up}, Raised: true})
		require.Len(t, list, 1)
		return list[0]
	}
	_, in = room.Check(cymbal(0), snare)
	assert.True(t, in, "somebody said that it is so low")
	_, in = room.Check(cymbal(5), snare)
	assert.False(t, in)
}

func TestWhatTakesNoRoom(t *testing.T) {
	for _, mount := range []kit.Mount{kit.Held, kit.OnBody} {
		assert.Empty(t, room.Of(kit.Standard().Instrument("tambourine"), mount, room.Spot{}), mount.String())
	}
	table := room.Table(body.Point{Right: 30, Ahead: 40}, 0)
	laid := of(t, "tambourine", kit.Padded, 30, 40)
	assert.Negative(t, laid.Into(table), "what is laid lies on a table")
	assert.Negative(t, table.Into(laid))
	assert.True(t, room.Shares(kit.Standard().Instrument("snare-drum"), kit.Standard().Instrument("snare-rim-click")))
}

// A thing is as high as it is said to be; else it is set lower for who sits,
// but not what has its own legs.
func TestHeights(t *testing.T) {
	block := kit.Standard().Instrument("woodblock")
	assert.Equal(t, block.Height, room.Height(block, kit.Clamped, room.Spot{}))
	assert.Equal(t, block.Height+40, room.Height(block, kit.Clamped, room.Spot{At: body.Point{Up: 40}, Raised: true, Seated: true}))
	assert.Less(t, room.Height(block, kit.Clamped, room.Spot{Seated: true}), block.Height)
	marimba := kit.Standard().Instrument("marimba")
	assert.Equal(t, marimba.Height, room.Height(marimba, kit.OnStand, room.Spot{Seated: true}))
	assert.Greater(t, room.Height(kit.Standard().Instrument("tambourine"), kit.Padded, room.Spot{}), room.TableHeight)
}

// Nobody stands in what they play.
func TestAThingIsNotWhereThePlayerIs(t *testing.T) {
	for _, in := range kit.Standard().Instruments() {
		for _, ahead := range []float64{5, 20, 45, 90} {
			list := room.Of(in, kit.OnStand, room.Spot{At: body.Point{Ahead: ahead}})
			require.NotEmpty(t, list)
			near := room.NearOf(list, body.Point{})
			assert.GreaterOrEqual(t, near, min(room.Toes, ahead-max(in.Deep, in.Wide)/2)-1e-9, in.ID)
			assert.Positive(t, near, in.ID)
		}
	}
}

// What is given a place leaves whoever plays it the room for hips and elbows, at either side, and
// so does a table. The oracle knows discs and boxes by their middles and sizes alone.
func TestWhatFindsAPlaceIsNotWhereAnElbowIs(t *testing.T) {
	in := func(b *room.Body, right float64) bool {
		dx, dy := math.Abs(b.At.Right-right), math.Abs(b.At.Ahead)
		if b.Round {
			return math.Hypot(dx, dy) < b.Wide/2
		}
		return dx < b.Wide/2 && dy < b.Deep/2
	}
	free := func(body.Point, []room.Body) bool { return true }
	use := room.Use{Arms: room.ArmsOf(body.Experienced(), false), Hands: 3, Unturned: true}
	found := 0
	for _, want := range []body.Point{{Right: 20}, {Right: -20}, {Right: 34, Ahead: -8}, {Right: -45, Ahead: 12}, {Right: 5, Ahead: 5}} {
		for _, inst := range kit.Standard().Instruments() {
			p := use.Find(inst, inst.Usual().Mount, want, 1, 1, free)
			if p.Serves >= room.OutOfReach {
				continue
			}
			found++
			for i := range p.Bodies {
				for right := -18.0; right <= 18; right++ {
					assert.False(t, in(&p.Bodies[i], right), "%s at %v, %g cm to the right", inst.ID, p.At, right)
				}
			}
		}
		table, ok := room.FindTable(want, body.Point{}, 1, func(room.Body) bool { return true })
		require.True(t, ok)
		for right := -18.0; right <= 18; right++ {
			assert.False(t, in(&table, right), "a table at %v, %g cm to the right", table.At, right)
		}
	}
	assert.Greater(t, found, 400)
}

func TestTheLeastMoveIsTheLeast(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 40 {
		x, y, rad := float64(r.IntN(60)-30), float64(r.IntN(60)-30), float64(5+r.IntN(20))
		well := func(right, ahead float64) bool { return math.Hypot(right-x, ahead-y) >= rad && right*3+ahead > -20 }
		right, ahead, ok := room.LeastMove(1, well)
		require.True(t, ok)
		best := math.Inf(1)
		for a := -80.0; a <= 80; a++ {
			for b := -80.0; b <= 80; b++ {
				if well(a, b) {
					best = min(best, math.Hypot(a, b))
				}
			}
		}
		assert.InDelta(t, best, math.Hypot(right, ahead), 1e-9)
		assert.True(t, well(right, ahead))
	}
	_, _, ok := room.LeastMove(7, func(float64, float64) bool { return false })
	assert.False(t, ok)
}

func TestEveryMoveIsTriedOnce(t *testing.T) {
	for _, step := range []int{1, 6} {
		seen := map[[2]float64]bool{}
		last := 0.0
		room.LeastMove(step, func(right, ahead float64) bool {
			p := [2]float64{right, ahead}
			assert.False(t, seen[p])
			seen[p] = true
			d := math.Hypot(right, ahead)
			assert.GreaterOrEqual(t, d, last-1e-9)
			last = d
			return false
		})
		n := 0
		most := float64(room.MostMoved / step)
		for x := -most; x <= most; x++ {
			for y := -most; y <= most; y++ {
				if x*x+y*y <= most*most {
					n++
				}
			}
		}
		assert.Len(t, seen, n)
	}
}

var arms = room.ArmsOf(body.Experienced(), false)

func stick(t *testing.T, id string) float64 {
	im := kit.Standard().Implement(id)
	require.NotNil(t, im)
	return room.Stick(im)
}

func TestReach(t *testing.T) {
	snareStick := stick(t, "snare-stick")
	reaches := func(hand int, right, ahead, up, with float64) bool {
		return arms.Missing(hand, body.Point{}, room.Target{At: body.Point{Right: right, Ahead: ahead, Up: up}, Zone: 8}, with, true) <= 0
	}
	// Two things 145 cm apart, each on its own hand's side.
	assert.True(t, reaches(room.Right, 85, 30, 95, snareStick))
	assert.True(t, reaches(room.Left, -60, 40, 90, snareStick))
	assert.False(t, reaches(room.Left, 85, 30, 95, room.Stick(nil)), "and not across")
	// A block of a house's height, and one above the head.
	assert.False(t, reaches(room.Right, 10, 40, 260, snareStick))
	assert.True(t, reaches(room.Right, 10, 40, 190, snareStick))
	// A stick reaches further than the hand.
	assert.True(t, reaches(room.Right, 60, 80, 85, snareStick))
	assert.False(t, reaches(room.Right, 60, 80, 85, room.Stick(nil)))
	// Who stands bends down; who sits does not reach the floor there.
	sits := arms
	sits.Seated = true
	low := room.Target{At: body.Point{Right: 20, Ahead: 60}, Zone: 8}
	assert.LessOrEqual(t, arms.Missing(room.Right, body.Point{}, low, room.Stick(nil), true), 0.0)
	assert.Positive(t, sits.Missing(room.Right, body.Point{}, low, room.Stick(nil), true))
}

func TestReachObeysItsLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	for range 2000 {
		at := body.Point{Right: r.Float64()*300 - 150, Ahead: r.Float64()*200 - 50, Up: r.Float64() * 220}
		tg := room.Target{At: at, Zone: 5 + r.Float64()*30}
		a := arms
		a.Seated = r.IntN(2) == 0
		miss := func(a room.Arms, hand int, t room.Target, stick float64, lean bool) float64 {
			return a.Missing(hand, body.Point{}, t, stick, lean)
		}
		mirrored := tg
		mirrored.At.Right = -at.Right
		assert.InDelta(t, miss(a, room.Right, tg, 20, true), miss(a, room.Left, mirrored, 20, true), 1e-9, "mirrored")
		assert.InDelta(t, miss(a, room.Right, tg, 20, true)+5, miss(a, room.Right, tg, 15, true), 1e-9, "a longer stick")
		assert.Less(t, miss(a, room.Right, tg, 20, true), miss(a, room.Right, tg, 20, false), "leaning")
		wider := tg
		wider.Zone += 4
		assert.Less(t, miss(a, room.Right, wider, 20, true), miss(a, room.Right, tg, 20, true), "a wider zone")
		if at.Up > 150 {
			higher := tg
			higher.At.Up += 10
			assert.Greater(t, miss(a, room.Right, higher, 20, true), miss(a, room.Right, tg, 20, true), "higher")
		}
		long := a
		long.Reach, long.Lean = long.Reach+10, long.Lean+10
		assert.InDelta(t, 10, miss(a, room.Left, tg, 9, false)-miss(long, room.Left, tg, 9, false), 1e-9, "longer arms")
		// Half way there is never further; the shoulders turn, so a hair is allowed.
		side := 1.0
		if at.Right < 0 {
			side = -1
		}
		hand := room.Right
		if side < 0 {
			hand = room.Left
		}
		further := tg
		further.At.Right, further.At.Ahead = at.Right*1.2, at.Ahead*1.2
		if math.Hypot(at.Right, at.Ahead) > 40 {
			assert.GreaterOrEqual(t, miss(a, hand, further, 9, true), miss(a, hand, tg, 9, true)-1e-9, "further")
		}
	}
}

func TestHandsThatCross(t *testing.T) {
	s := stick(t, "snare-stick")
	crossed := func(r, l body.Point) (float64, bool) { return arms.Crossed(body.Point{}, r, l, s, s) }
	// The hi-hat under the right hand, the snare drum under the left.
	by, uneasy := crossed(body.Point{Right: -42, Ahead: 38, Up: 90}, body.Point{Ahead: 35, Up: 80})
	assert.Positive(t, by)
	assert.False(t, uneasy)
	// Arms that meet at one height, and arms a forearm across.
	_, uneasy = crossed(body.Point{Right: -25, Ahead: 40, Up: 95}, body.Point{Right: 25, Ahead: 40, Up: 95})
	assert.True(t, uneasy)
	_, uneasy = crossed(body.Point{Right: -40, Ahead: 40, Up: 80}, body.Point{Right: 40, Ahead: 40, Up: 95})
	assert.True(t, uneasy)
	by, uneasy = crossed(body.Point{Right: 20, Ahead: 40, Up: 80}, body.Point{Right: -20, Ahead: 40, Up: 80})
	assert.Negative(t, by)
	assert.False(t, uneasy)
	// Seen in a mirror, with the hands exchanged, it is the same.
	r := rand.New(rand.NewPCG(4, 4))
	for range 500 {
		p := body.Point{Right: r.Float64()*120 - 60, Ahead: 20 + r.Float64()*50, Up: 60 + r.Float64()*60}
		q := body.Point{Right: r.Float64()*120 - 60, Ahead: 20 + r.Float64()*50, Up: 60 + r.Float64()*60}
		by, uneasy := crossed(p, q)
		p.Right, q.Right = -p.Right, -q.Right
		by2, uneasy2 := crossed(q, p)
		assert.InDelta(t, by, by2, 1e-9)
		assert.Equal(t, uneasy, uneasy2)
	}
}

// The kettles of the usual four stand round whoever plays them, from the largest on
// the left, free of one another, and each is struck inside its rim.
func TestKettlesStandRoundThePlayer(t *testing.T) {
	in := kit.Standard().Instrument("timpani")
	you := body.Point{Right: 20, Ahead: -5}
	for _, turn := range []float64{0, 30, -40} {
		spot := room.Spot{At: body.Point{Right: 20, Ahead: 55}, Turn: turn, You: you}
		list := room.Of(in, kit.Floor, spot)
		require.Len(t, list, len(in.Kettles))
		for i, b := range list {
			assert.True(t, b.Round)
			assert.Equal(t, in.Kettles[i].Across, b.Wide)
			k, ok := in.Member(i + 1)
			require.True(t, ok)
			sin, cos := math.Sincos(turn * math.Pi / 180)
			struck := body.Point{Right: spot.At.Right + k.Right*cos + k.Ahead*sin, Ahead: spot.At.Ahead + k.Ahead*cos - k.Right*sin}
			assert.InDelta(t, -10, b.Near(struck), 0.01, "a hand's width inside the rim")
			assert.Greater(t, b.Near(you), 20.0, "and before the player")
			for _, o := range list[:i] {
				assert.LessOrEqual(t, b.Into(o), 0.0)
			}
		}
		if turn == 0 {
			assert.Less(t, list[0].At.Right, list[3].At.Right)
		}
	}
	assert.Len(t, room.Of(kit.Standard().Instrument("snare-drum"), kit.OnStand, room.Spot{}), 1)
}
