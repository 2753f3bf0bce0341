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

// A change that begins in a bar of a repeat is made on the passes that go on to it, and
// says so: at the end of a repeat on the last, and where the hand comes in with something
// else on the first. What begins before the repeat is made once, and says nothing.
func TestChangesOfSomePassesSayWhich(t *testing.T) {
	r := checked("passes", `tempo 112
bars 12
repeat 3-6
repeat 7-8 x3
player Ida
  kit
    snare-drum on stand at ahead 45
    triangle clipped at left 30 ahead 45
    table at right 30 ahead 25
  R snare-drum with snare-stick | 1 | 1 3
  from 3
  R snare-drum with yarn-mallet | 3 | 1 3 | 1 3 | 1
  from 7
  R snare-drum with snare-stick | 3 | 1 3
  from 9
  R triangle with triangle-beater | 3 | 1
`)
	require.Empty(t, r.Score.Problems)
	v := newPart(r, 0, standardFaces())
	got := map[string]string{}
	for i := range v.shifts {
		sh := &v.shifts[i]
		got[r.Score.Place(sh.from)+" to "+r.Score.Place(sh.at)] = strings.ReplaceAll(timesOf(sh.passes), "\u00a0", " ")
		assert.True(t, v.opens(sh), "each is made when what comes is first played, and has its time drawn")
	}
	assert.Equal(t, map[string]string{"2.3 to 3.3": " time", "6.1 to 7.3": "2nd time", "8.3 to 9.3": "3rd time"}, got)
}

// Where a kettle is tuned on one pass only, that stands with it.
func TestRetuningsOfSomePassesSayWhich(t *testing.T) {
	r := checked("passes", `tempo 96
bars 8
repeat 1-4
player Ida
  RL timpani with timpani-mallet | 1:F2 2:Bb2 3:C3 4:Eb3 | 1:F2 | - | - | 1:G2 2:Bb2 3:C3 4:Eb3 | 1:G2 | - | -
`)
	require.Empty(t, r.Score.Problems)
	v := newPart(r, 0, standardFaces())
	require.Len(t, v.tunes, 1)
	assert.Contains(t, v.tunes[0].text, "2nd\u00a0time: tune ")
}
