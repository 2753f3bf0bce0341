package proof

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

const three = `meter 4/4
tempo 120
bars 2
part "P1"
  snare-drum | f 1 2 3 4 | 1
part "P2"
  woodblock | f 1 | -
part "P3"
  cowbell | f 1 1& | -
`

// certificateOf is a true one of three: at the first count three hands are wanted.
func certificateOf(text string) *Certificate {
	c := &Certificate{
		Format: Format, SHA256: Sum(syntax.Parse(text)), Cast: Cast{Players: []string{"Ida"}},
		Weights: Weights{Stroke: 1, Exposed: 2, Driving: 1.5, Climax: 3, Doubled: 0.25},
		Moments: []Moment{{Bar: 1, LostAtLeast: 1, Strokes: []Stroke{
			{Part: "P1", Line: "snare-drum", Nth: 1, Hands: 1, Weight: 1.5},
			{Part: "P2", Line: "woodblock", Nth: 1, Hands: 1, Weight: 1},
			{Part: "P3", Line: "cowbell", Nth: 1, Hands: 1, Weight: 1},
		}}},
	}
	c.Claim.LostAtLeast = 1
	return c
}

func verdictOf(t *testing.T, text string, c *Certificate) Verdict {
	t.Helper()
	v, err := Verify(context.Background(), "x.handful", syntax.Parse(text), c, Options{})
	require.NoError(t, err)
	return v
}

func TestATrueCertificateHolds(t *testing.T) {
	c := certificateOf(three)
	v := verdictOf(t, three, c)
	assert.True(t, v.Proven(c), v.Against)
	assert.Equal(t, 1.0, v.LostAtLeast)
	var out bytes.Buffer
	require.NoError(t, c.Write(&out))
	again, err := Read(&out)
	require.NoError(t, err)
	assert.Equal(t, c, again)
}

// Whatever is changed in it so that it claims more than is true, the verifier says so.
func TestAFalseCertificateDoesNotHold(t *testing.T) {
	for what, forge := range map[string]func(c *Certificate){
		"more than the strokes count":   func(c *Certificate) { c.Moments[0].LostAtLeast, c.Claim.LostAtLeast = 2, 2 },
		"more than the moments come to": func(c *Certificate) { c.Claim.LostAtLeast = 3 },
		"a stroke heavier than it is":   func(c *Certificate) { c.Moments[0].Strokes[1].Weight = 5 },
		"a stroke that is not written":  func(c *Certificate) { c.Moments[0].Strokes[1].Nth = 2 },
		"a line that is not written":    func(c *Certificate) { c.Moments[0].Strokes[1].Line = "triangle" },
		"a moment twice": func(c *Certificate) {
			c.Moments = append(c.Moments, c.Moments[0])
			c.Claim.LostAtLeast = 2
		},
		"another bar": func(c *Certificate) { c.Moments[0].Bar = 2 },
		"strokes that one hand can play": func(c *Certificate) { // half a bar apart, with the same stick
			c.Moments[0].Strokes[0].Nth = 4
		},
		"a larger cast": func(c *Certificate) { c.Cast.Players = append(c.Cast.Players, "Max") },
		"four strokes of one line": func(c *Certificate) {
			c.Moments[0].Strokes = []Stroke{{Part: "P1", Line: "snare-drum", Nth: 1}, {Part: "P1", Line: "snare-drum", Nth: 2}, {Part: "P1", Line: "snare-drum", Nth: 3}}
		},
	} {
		c := certificateOf(three)
		forge(c)
		v := verdictOf(t, three, c)
		assert.False(t, v.Proven(c), what)
		assert.NotEmpty(t, v.Against, what)
	}
	// One hand more than a player has, and none that is needed: feet and stand-ins.
	byFoot := strings.Replace(three, "cowbell", "bass-drum", 1) + "player Max\n  RF bass-drum floor | 1\n"
	c := certificateOf(byFoot)
	c.Moments[0].Strokes[2].Line = "bass-drum"
	if v := verdictOf(t, byFoot, c); assert.False(t, v.Proven(c), "what a foot may play, as the file does") {
		assert.Contains(t, v.Against[0], "without a hand")
	}
	// What the file itself leaves out nobody loses, unless it is thought of again.
	left := three + "omit cowbell in 1 because \"it is not liked\"\n"
	c = certificateOf(left)
	assert.False(t, func() bool { v := verdictOf(t, left, c); return v.Proven(c) }())
	c.Anew = []int{strings.Count(left, "\n")}
	assert.True(t, func() bool { v := verdictOf(t, left, c); return v.Proven(c) }())
}

func TestWhatIsNoCertificate(t *testing.T) {
	for text, want := range map[string]string{
		"":                            "no certificate",
		"{":                           "no certificate",
		`{"format":"x"}`:              "its format is",
		`{"format":3}`:                "format",
		`[]`:                          "no certificate",
		`{"format":"` + Format + `"}`: "",
		`{"format":"` + Format + `","moments":[{"bar":"one"}]}`: "bar",
	} {
		c, err := Read(strings.NewReader(text))
		if want == "" {
			require.NoError(t, err)
			_, err = Verify(context.Background(), "x.handful", syntax.Parse(three), c, Options{})
			assert.ErrorContains(t, err, "another text")
			c.SHA256 = Sum(syntax.Parse(three))
			_, err = Verify(context.Background(), "x.handful", syntax.Parse(three), c, Options{})
			assert.ErrorContains(t, err, "nobody")
			continue
		}
		assert.ErrorContains(t, err, want, text)
	}
}
