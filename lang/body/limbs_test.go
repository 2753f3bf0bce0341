package body

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestEveryLimbIsFoundByItsWord(t *testing.T) {
	for l := range AnyHand + 1 {
		got, ok := LimbNamed(l.String())
		assert.True(t, ok, l)
		assert.Equal(t, l, got)
		assert.NotEmpty(t, l.Name())
		assert.NotEmpty(t, l.Means())
		assert.Equal(t, l, l.Other().Other())
	}
	_, ok := LimbNamed("knee")
	assert.False(t, ok)
}

func TestASetOfLimbs(t *testing.T) {
	for l, want := range map[Limb][]Limb{
		Right: {Right}, Left: {Left}, RightFoot: {RightFoot}, LeftFoot: {LeftFoot}, Mouth: {Mouth},
		Together: {Right, Left}, RightFirst: {Right, Left}, LeftFirst: {Right, Left}, AnyHand: {Right},
	} {
		s := Of(l)
		assert.Equal(t, want, slices.Collect(s.Each()), l)
		assert.Equal(t, want[0], s.First(), l)
		assert.True(t, s.Has(l), l)
	}
	assert.Equal(t, "R+LF+M", (R | LF | M).Letters())
	assert.Empty(t, Limbs(0).Letters())
	assert.Equal(t, [3]Limb{Left, RightFoot, RightFirst}, [3]Limb{Right.Other(), LeftFoot.Other(), LeftFirst.Other()})
	assert.False(t, Limbs(0).Has(Right))
	assert.False(t, (L | Feet).Has(Mouth))
	for l := range (R | L).Each() {
		assert.Equal(t, Right, l)
		break
	}
}
