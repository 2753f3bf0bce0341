package check_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// A hand has its way to go whoever else could have struck: that both hands are allowed a
// stroke, one of which reaches it only with a shift of weight, brings neither hand anywhere.
func TestAShiftOfWeightCarriesNoHand(t *testing.T) {
	for _, limb := range []string{"R", "RL"} {
		text := `meter 4/4
tempo 129
bars 1
part "P3"
  bass-drum | 1
part "P4"
  triangle | 1& 2& 3& 4&
player One
  kit
    triangle  clipped  at right 31 ahead 49
    bass-drum on stand at right 93 ahead 33
    table              at right 24 ahead 26
  R triangle clipped with snare-stick as written
  ` + limb + ` bass-drum on stand with snare-stick as written
`
		r := check.Check("x.handful", syntax.Parse(text), check.Options{})
		assert.Equal(t, 1, faults(r, func(f *check.Finding) bool { return f.Rule.Name == "short-change" }), "%s: %v", limb, said(r))
	}
}
