package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const backAndOn = `tempo 100
bars 16
order 1-6 3-6 7-12 9-12 13-16
player Ora
  kit
    snare-drum on stand at ahead 45
    triangle clipped at left 30 ahead 45
    woodblock clamped at right 30 ahead 45
    table at right 60 ahead 10
  R snare-drum with snare-stick | 1 2 3 4 | % x4 | 1 2
  L snare-drum with snare-stick | 1 | 1 | 1 | 1
  L triangle clipped with triangle-beater | - | - | - | - | 1 3 | 1 3
  from 7
  R woodblock with rubber-mallet | 1 3 | 1 3
  from 9
  R woodblock with rubber-mallet | 3 4 | 1 3
  R snare-drum with snare-stick | - | - | 2 3 | 1
  from 13
  R snare-drum with snare-stick | 1 | 1 | 1 | 1
`

// The left hand ends at 6.3, and is wanted again at 3.1 when the road goes back:
// two counts later, which is 1.2 seconds at 100 a minute. The change stands where
// it is made, at the end of bar 6, and every sheet has that time. So for the right
// hand, from 12.1 to 9.3: six counts, and 3.6 seconds.
func TestChangesOverAJumpStandWhereTheyAreMade(t *testing.T) {
	r := checked("jumps", backAndOn)
	require.Empty(t, r.Score.Problems)
	v := newPart(r, 0, standardFaces())
	place := map[string]string{}
	for i := range v.shifts {
		if sh := &v.shifts[i]; sh.lap > 0 {
			place[sh.Hand.Letter()+[]string{"", " out", " in"}[sh.lap]] = r.Score.Place(sh.from) + " to " + r.Score.Place(sh.at)
		}
	}
	assert.Equal(t, map[string]string{"L out": "6.3 to 7.1", "R out": "12.1 to 13.1", "R in": "9.1 to 9.3"}, place)
	doc, _ := cues(r, "Ora", Papers()[0])
	var words []string
	for _, p := range doc.Pages {
		for _, it := range p.Items {
			if it.Kind == wording {
				words = append(words, strings.ReplaceAll(it.Text, "\u00a0", " "))
			}
		}
	}
	all := strings.Join(words, " ")
	assert.Contains(t, all, "back to 3: 2 counts, easy 4½: the tightest")
	assert.Contains(t, all, "back to 9: 6 counts, easy 4")
	text := strings.Join(strings.Fields(strings.ReplaceAll(Text(r, "Ora"), "\u00a0", " ")), " ")
	assert.Contains(t, text, "There is 1.20 s;")
}

// A hand that goes to and fro between two things is told so once, where it begins, and the
// bars that are alike fold.
func TestAWayThatComesEachTimeIsSaidOnce(t *testing.T) {
	r := checked("each time", `tempo 112
bars 16
part "P"
  snare-drum | 1 2& 4 | % x15
  woodblock | 1& 3 | % x15
player Ida
  kit
    snare-drum on stand at left 27 ahead 49
    woodblock clamped at left 31 ahead 25
  R snare-drum with snare-stick as written
  R woodblock with snare-stick as written
`)
	require.Empty(t, r.Score.Problems)
	v := newPart(r, 0, standardFaces())
	reaches := 0
	for i := range v.shifts {
		if isReach(v.shifts[i].Change) {
			reaches++
			assert.True(t, v.shifts[i].again)
		}
	}
	assert.Greater(t, reaches, 0)
	assert.LessOrEqual(t, reaches, 3)
}
