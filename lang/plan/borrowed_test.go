package plan

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Of what takes two people or wheels to bring there is one, as a rule: a plan that
// needs a second one says so, and one for a file that says how many there are has no
// more of it.
func TestASecondOneOfWhatIsHardToBringIsSaid(t *testing.T) {
	const music = `tempo 96
part "A"
  bass-drum | 1 2 3 4 | % x3
part "B"
  bass-drum | 1~2 3 4 | % x3
player Ida
  hands R
player Per
  hands R
`
	p := planned(t, music, Options{Sentences: true})
	clean(t, p)
	assert.Empty(t, p.Lost)
	assert.Equal(t, []string{"a second concert bass drum"}, p.Borrowed)
	assert.Contains(t, p.Sentences[0], "it needs a second concert bass drum, which would have to be borrowed")
	for _, gear := range []string{"gear\n  2 bass-drum\n", "gear\n  1 bass-drum\n"} {
		p := planned(t, gear+music, Options{Sentences: true})
		clean(t, p)
		assert.Empty(t, p.Borrowed, gear)
		assert.NotContains(t, p.Sentences[0], "borrowed", gear)
	}
}

// What would have to be borrowed is no part of a plan: of what is hard to bring there is one, or as
// many as are written at once or as people have already; what another one would bring back is said,
// and it may be asked for.
func TestNothingHasToBeBorrowedUnlessThatIsAskedFor(t *testing.T) {
	const music = `tempo 96
part "A"
  bass-drum | 1 2 3 4 | % | % | %
part "B"
  cowbell | 1 2 3 4 | % | - | -
  triangle | - | - | 1 2 3 4 | %
player Ida
  hands R
  never cowbell
player Per
  hands R
  never triangle
`
	p := planned(t, music, Options{Sentences: true})
	clean(t, p)
	assert.NotEmpty(t, p.Lost)
	assert.Empty(t, p.Borrowed)
	assert.Contains(t, p.Sentences[2], "a second concert bass drum, everything given away anew (--borrow): all of it")

	q := planned(t, music, Options{Sentences: true, Borrow: true})
	clean(t, q)
	assert.Empty(t, q.Lost)
	assert.Equal(t, []string{"a second concert bass drum"}, q.Borrowed)
	assert.Contains(t, q.Sentences[0], "it needs a second concert bass drum, which would have to be borrowed")

	kept := planned(t, q.Text, Options{}) // who has it already has it
	clean(t, kept)
	assert.Empty(t, kept.Lost)

	gear := planned(t, "gear\n  2 bass-drum\n"+music, Options{})
	clean(t, gear)
	assert.Empty(t, gear.Lost)
}
