package plan

import (
	"fmt"
	"strings"
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

// What a plan has to have borrowed it says the price of: what is lost with one of each; and
// what loses no more with one of each is planned so.
func TestAPlanSaysWhatIsLostWithOneOfEach(t *testing.T) {
	const music = `tempo 96
part "A"
  bass-drum | 1~4 | % x3
part "B"
  bass-drum | 1& 2& 3& | % x3
  cowbell | - | - | - | 1 2
player Ida
  hands R
player Per
  hands R
`
	p := planned(t, music, Options{Sentences: true})
	clean(t, p)
	assert.Equal(t, []string{"a second concert bass drum"}, p.Borrowed)
	one := planned(t, "gear\n  1 bass-drum\n"+music, Options{})
	clean(t, one)
	lost := 0
	for _, l := range one.Lost {
		lost += l.Strokes
	}
	assert.Positive(t, lost)
	assert.Contains(t, p.Sentences[0], fmt.Sprintf("unless  gear  says there is but one: %d strokes are lost then", lost))

	p = planned(t, strings.Replace(music, "1~4 | % x3", "1 | - | 1 | 1", 1), Options{Sentences: true, Players: 1})
	clean(t, p)
	assert.Empty(t, p.Borrowed)
}
