package plan

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
	"example.org/handful/lang/syntax"
)

// Things and tables stand where the hands have time to come from one to the other: nothing moves
// behind whoever plays it for that, nor into anything else, and nobody plays anything else.
func TestThingsStandWhereHandsAreInTime(t *testing.T) {
	text, err := os.ReadFile("testdata/byhand/mambo-3.handful")
	require.NoError(t, err)
	parts, _, _ := strings.Cut(string(text), "\nplayer ")
	p := planned(t, parts+"\n", Options{Players: 3})
	clean(t, p)
	for i := range p.Result.Findings {
		assert.NotEqual(t, "thin-margin", p.Result.Findings[i].Rule.Name, p.Result.Findings[i].Message())
	}
}

// What is moved goes to where there is room, keeps away from what is struck beside it, and stays
// before its player.
func TestWhatIsMovedHasRoom(t *testing.T) {
	catalogue := check.Check("", syntax.Parse(""), check.Options{}).Score.Catalogue
	stands := func(name string, mount kit.Mount, right, ahead float64) *thing {
		in := catalogue.Instrument(name)
		require.NotNil(t, in, name)
		return &thing{manner: manner{inst: in, name: name, mount: mount}, used: [2]float64{1, 1}, at: body.Point{Right: right, Ahead: ahead}}
	}
	things := []*thing{stands("snare-drum", kit.OnStand, 0, 50), stands("glockenspiel", kit.OnStand, 60, 50), stands("suspended-cymbal", kit.OnStand, -50, 60)}
	s := &setUp{byName: map[string]*thing{}, table: body.Point{Right: -30, Ahead: 10}, tabled: true, things: things, seen: &memory{}}
	for _, x := range things {
		s.byName[x.name] = x
	}
	moved := 0
	for i := range things {
		for right := -90.0; right <= 90; right += 30 {
			for ahead := -60.0; ahead <= 90; ahead += 30 {
				to := s.with(shift{things: []int{i}, to: []body.Point{{Right: right, Ahead: ahead}}}, 0, 0)
				if to == nil {
					continue
				}
				moved++
				here := to.things[i]
				assert.Less(t, room.Round(here.at), room.Behind, here.name)
				assert.GreaterOrEqual(t, here.at.Dist(body.Point{}), float64(nearest), here.name)
				for k, o := range to.things {
					if k == i {
						continue
					}
					assert.Equal(t, things[k].at, o.at, "only one thing is moved")
					assert.GreaterOrEqual(t, here.at.Dist(o.at), float64(closest), "%s beside the %s", here.name, o.name)
					assert.True(t, room.AllFree(room.Of(here.inst, here.mount, here.stands()), room.Of(o.inst, o.mount, o.stands())), "%s in the %s", here.name, o.name)
				}
			}
		}
		assert.Equal(t, things[i].at, s.things[i].at, "what it is moved from stays as it was")
	}
	assert.Greater(t, moved, 20)
}

// Where keyboards are more than there is room for, what is given up for one another is what costs
// least: not one after the other until a check takes the rest.
func TestRoomIsSharedOut(t *testing.T) {
	text, err := os.ReadFile("testdata/tidewater.handful")
	require.NoError(t, err)
	p := planned(t, string(text), Options{Players: 2})
	clean(t, p)
	assert.LessOrEqual(t, p.Value, 28+1e-9, "what is lost")
}
