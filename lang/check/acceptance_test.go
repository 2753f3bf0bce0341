package check

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/handful/lang/syntax"
)

// Checks of the main job against published facts. Each names its source.

func errorsOf(text string) []string {
	var out []string
	for _, f := range Check("test.handful", syntax.Parse(text), Options{}).Findings {
		if f.Severity == Error {
			out = append(out, f.Rule.Name+": "+f.Message())
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

// Gehrkens 1919: and one for triangle, glockenspiel and cymbals.
func TestTriangleGlockenspielAndCymbalsAreOnePlayers(t *testing.T) {
	assert.Empty(t, errorsOf(`tempo 112
part "Small percussion"
  triangle      | p 1 3 | - | -   | -
  glockenspiel  | -     | - | p 1 2 3 4 | -
  crash-cymbals | -     | - | -   | f 3
player One
  R triangle clipped as written
  RL glockenspiel with plastic-mallet as written
  R+L crash-cymbals as written
`))
}

// Solomon 2016 warns never to derive a one-hand rate from the rate of doubles:
// sixteenths at 200 in doubles are comfortable, and nobody makes them with one
// hand.
func TestDoublesSayNothingOfOneHand(t *testing.T) {
	doubles := "tempo 200\nplayer Ida\n  RL snare-drum with snare-stick | 1R 1eR 1&L 1aL 2R 2eR 2&L 2aL 3R 3eR 3&L 3aL 4R 4eR 4&L 4aL |\n"
	assert.Equal(t, fine, quickness(doubles))
	assert.Equal(t, int(Error), quickness("tempo 200\nplayer Ida\n  R snare-drum with snare-stick | 1 1e 1& 1a 2 2e 2& 2a 3 3e 3& 3a 4 4e 4& 4a |\n"))
}

// Fujii et al. 2009–2011: 5 to 7 taps a second for ordinary drummers, about 10
// for the fastest. Seven are an experienced player's fastest, and not at the
// edge; ten are a professional's.
func TestFujiisTaps(t *testing.T) {
	text := func(profile string, hz float64) string {
		return fmt.Sprintf("tempo %.4f\nplayer Ida\n  profile %s\n  R snare-drum with snare-stick | 1 1e 1& 1a 2 2e 2& 2a 3 3e 3& 3a 4 4e 4& 4a | %% x3\n", 15*hz, profile)
	}
	edge := func(text string) bool {
		for _, f := range found(checkText(text), tooFast) {
			if f.Severity == Error || strings.Contains(f.Message(), "at the edge") {
				return true
			}
		}
		return false
	}
	assert.False(t, edge(text("experienced", 6.99)))
	assert.True(t, edge(text("experienced", 7.1)))
	assert.False(t, edge(text("professional", 9.99)))
	assert.True(t, edge(text("professional", 10.1)))
	assert.NotEmpty(t, errorsOf(text("professional", 11.2)), "and eleven are nobody's for as long as this")
}
