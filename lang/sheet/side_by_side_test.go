package sheet

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// On the floor of the section who stands at what somebody else stands at is where that says, the
// thing is there once, and all others stand beside them; each set-up plan says who shares it.
func TestWhoStandsAtOneThingStandsThereOnTheFloor(t *testing.T) {
	r := check.Check("x.handful", syntax.Parse(`title "One drum"
tempo 96
kit
  bass-drum
player Ida
  kit
    bass-drum on stand at right 46 ahead 40
    snare-drum on stand at left 24 ahead 46
  R bass-drum | 1 3 | - | - | -
  L snare-drum | 1 3 | - | - | -
player Max
  kit
    cowbell on stand at ahead 50
  R cowbell | 1 3 | - | - | -
player Per
  kit
    bass-drum on stand at left 46 ahead 50
    triangle on stand at right 24 ahead 46
  R bass-drum | - | - | - | 1 3
  R triangle | - | 1 | - | -
`), check.Options{})
	var views []*part
	for i := range r.Motions {
		views = append(views, newPart(r, i, standardFaces()))
	}
	doc := floor(r, views, Options{Paper: Papers()[0]})
	list, wide, deep := sideBySide(views, newFlow(&doc, "", "").d)
	require.Len(t, list, 3)
	ida, other, per := list[0], list[1], list[2]
	assert.InDelta(t, 92, per.right-ida.right, 1e-9)
	assert.InDelta(t, -10, per.ahead-ida.ahead, 1e-9)
	assert.Empty(t, ida.there)
	assert.Equal(t, "bass-drum", per.there[0].Name)
	assert.Greater(t, other.right, per.right, "who shares nothing stands beside both")
	for _, b := range list {
		assert.GreaterOrEqual(t, b.right+b.room.left, besidePlayers-1e-9)
		assert.LessOrEqual(t, b.right+b.room.right, wide-besidePlayers+1e-9)
		assert.GreaterOrEqual(t, b.ahead+b.room.near, behindPlayers-1e-9)
		assert.LessOrEqual(t, b.ahead+b.room.far, deep-beforePlayers+1e-9)
	}
	text := doc.Text()
	assert.Contains(t, text, "right 46, ahead 40, shared")
	assert.Contains(t, text, "on stand 3 · table 3")
}
