package check

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"handful/lang/syntax"
)

// Checks of the main job against published facts. Each names its source.

func errorsOf(text string) []string {
	var out []string
	for _, f := range Check("test.handful", syntax.Parse(text), Options{}).Findings {
		if f.Severity == Error {
			out = append(out, f.Rule.Name+": "+f.Message)
		}
	}
	return out
}

// "The glockenspiel is five yards away and there is one bar to get there":
// a turn and six paces by MTM-1 (TBC1 18.6 + 6 × W-P 15.0 TMU) take 3.9 s,
// against 2.0 s at 4/4 = 120 and 4.0 s at 60.
func TestTheGlockenspielFiveYardsAway(t *testing.T) {
	text := `tempo %d
player Ida
  kit
    station bells at right 457
    woodblock    clamped  at ahead 40
    glockenspiel on stand at bells ahead 40
  R woodblock    with plastic-mallet | 1 | -
  R glockenspiel with plastic-mallet | - | 1
`
	assert.NotEmpty(t, errorsOf(fmt.Sprintf(text, 120)))
	assert.Empty(t, errorsOf(fmt.Sprintf(text, 60)))
	c := Check("t", syntax.Parse(fmt.Sprintf(text, 60)), Options{}).Ceilings()[0]
	assert.InDelta(t, 4.0/3.9096, c.Edge.Factor, 1e-6, "it only just fits at 60")
	assert.Equal(t, "2.1", c.Edge.Place)
	assert.InDelta(t, 4.0/(0.65*3.9096), c.Cannot.Factor, 1e-6, "at the limit, people are quicker than on average")
}

// Tchaikovsky, Symphony 4, finale: bass drum, cymbals and triangle at once are
// three people's parts.
func TestTheFinaleForThree(t *testing.T) {
	parts := `tempo 160
part "Triangle"
  triangle | f 1 2 3 4 | %
part "Cymbals"
  crash-cymbals | f 1 2 3 4 | %
part "Bass drum"
  bass-drum | f 1 2 3 4 | %
`
	assert.NotEmpty(t, errorsOf(parts+`player One
  R triangle as written
  R+L crash-cymbals as written
  L bass-drum as written
`))
	assert.NotEmpty(t, errorsOf(parts+`player One
  R triangle clipped as written
  L bass-drum as written
player Two
  R+L crash-cymbals as written
  R triangle as written
`), "two hands full of cymbals hold no triangle")
	assert.Empty(t, errorsOf(parts+`player One
  R triangle as written
player Two
  R+L crash-cymbals as written
player Three
  R bass-drum as written
`))
}

// Grove's Dictionary 1879 and Encyclopædia Britannica 1911: bass drum with
// attached cymbal is played by one.
func TestBassDrumWithAttachedCymbalIsOnePlayers(t *testing.T) {
	assert.Empty(t, errorsOf(`tempo 112
part "Bass drum and cymbals"
  bass-drum-with-attached-cymbal | f 1 2 3 4 | % x7
player One
  R+L bass-drum-with-attached-cymbal as written
`))
	assert.NotEmpty(t, errorsOf(`tempo 112
player One
  R bass-drum | f 1 2 3 4 |
  R+L crash-cymbals | f 1 2 3 4 |
`), "the loose pair is another player's")
}

// Gehrkens 1919: in an orchestra of about a hundred, one player for bass drum
// and snare drum.
func TestBassDrumAndSnareDrumAreOnePlayers(t *testing.T) {
	assert.Empty(t, errorsOf(`tempo 112
part "Drums"
  bass-drum  | f 1 3 | % x3
  snare-drum | f 2 4 | % x3
player One
  R bass-drum as written
  L snare-drum with snare-stick as written
`))
}
