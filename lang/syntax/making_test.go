package syntax_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/syntax"
)

// Bars made of signs read as what they were made of, equal ones folded.
func TestBarsAreMade(t *testing.T) {
	on := func(n int) beat.Count { return beat.Count{Beat: n} }
	half := beat.Count{Beat: 2, Frac: beat.R(1, 2)}
	m := syntax.MakeBars(3, 9)
	for _, bar := range []int{3, 4} {
		m.Dynamic(bar, "mf")
		m.Dynamic(bar, "no such")
		m.Put(bar, syntax.Stroke(on(1), 2, 'L', syntax.Accent|syntax.Short))
		m.Put(bar, syntax.Stop(half))
	}
	m.Print(7, `"soft"`)
	m.Put(7, syntax.Stroke(on(4), 0, 0, syntax.Roll))
	m.Put(8, syntax.RollOn().Until(half))
	m.Put(10, syntax.Stop(on(1)))
	assert.Equal(t, `| mf ''1L>. 2&x | % | -2 | "\"soft\"" 4~ | ~2&`, m.Folded(8).Text)
	assert.Equal(t, `| mf ''1L>. 2&x | %`, m.Folded(4).Text)
	assert.False(t, m.Unsaid)
	m.Put(9, syntax.Stroke(beat.Count{Beat: 2, Frac: beat.R(1, 70001)}, 0, 0, 0))
	assert.True(t, m.Unsaid)
	assert.Equal(t, `| mf ''1L>. 2&x | % | -2 | "\"soft\"" 4~ | ~2& | 2`, m.Folded(9).Text)
}
