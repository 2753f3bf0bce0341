package plan

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

const three = `tempo 80
bars 4
part "A"
  snare-drum | mf 1 2 3 4 | % x3
part "B"
  cowbell    | mf 1 2 3 4 | % x3
part "C"
  woodblock  | mf 1 3 | % x3
`

// A plan says at the top of its file what decided it, what is lost and what would
// bring that back, and the next plan puts its own there instead.
func TestAPlanSaysWhyInThreeSentences(t *testing.T) {
	p := planned(t, three, Options{Players: 1, Sentences: true})
	clean(t, p)
	require.Len(t, p.Sentences, 3)
	assert.Contains(t, p.Sentences[0], "3 hands")
	assert.Contains(t, p.Sentences[1], "8 strokes of the woodblock (bars 1-4)")
	assert.Contains(t, p.Sentences[2], "one more player: all of it")
	assert.True(t, strings.HasPrefix(p.Text, remark+"What decided it"), p.Text)
	two := planned(t, three, Options{Players: 2})
	assert.Empty(t, two.Lost, "what is said of one more player is so")

	again := planned(t, p.Text, Options{Sentences: true})
	assert.Equal(t, p.Text, again.Text)
	plain := planned(t, p.Text, Options{})
	assert.NotContains(t, plain.Text, remark)
	c, ok := check.Apply(syntax.Parse(p.Text), plain.Edits)
	require.True(t, ok)
	assert.Equal(t, plain.Text, c)
}

// What one more player would bring is also asked with everything given away anew where beside
// all that is kept it is nothing: of timpani there is one, and whoever has them keeps them.
func TestOneMorePlayerMayNeedEverythingAnew(t *testing.T) {
	const text = `tempo 160
bars 8
part "Timpani"
  timpani | f 1 2 3 4 | % x2 | 1~ | -4
part "Mallets"
  vibraphone | -4 | f 1 2 3 4 | % x3
`
	p := planned(t, text, Options{Players: 1, Sentences: true})
	require.NotEmpty(t, p.Lost)
	assert.Contains(t, p.Sentences[2], "one more player, everything given away anew: all of it")
	assert.NotContains(t, p.Sentences[0], "every line", "there is nobody else")
	assert.Empty(t, planned(t, text, Options{Players: 2}).Lost)
}

// A roll is called one, in all the bars in which it would sound, and instruments by their names.
func TestARollThatIsLostIsCalledOne(t *testing.T) {
	const text = `tempo 100
bars 6
together snare-drum and bass-drum because "one groove"
part "A"
  snare-drum | p 1~ | ~ | ~ | ~4 | 1 | 1
part "B"
  suspended-cymbal | p 1~ | ~ | ~ | ~2 | 1 | -
  bass-drum | -5 | f 1
`
	p := planned(t, text, Options{Players: 1, Sentences: true})
	clean(t, p)
	require.Len(t, p.Lost, 1)
	said := strings.Join(p.Sentences, " ")
	lost := p.Lost[0]
	assert.Equal(t, 1, lost.Rolls)
	assert.Contains(t, said, "What is lost: 1 roll of the "+lost.Called+" (bars 1-4)")
	assert.Contains(t, p.Text, "omit "+lost.Line+" in 1-4 because")
	assert.Contains(t, said, "the snare drum and concert bass drum in bars 1-6 stay with One")
	again := planned(t, p.Text, Options{Sentences: true})
	assert.Equal(t, p.Text, again.Text)
}

// Of lines that are to stay with one person those are said to stay that somebody plays.
func TestWhatStaysWithOnePersonIsWhatIsPlayed(t *testing.T) {
	j, err := newJob(context.Background(), "x.handful", syntax.Parse(`tempo 100
bars 1
together snare-drum and bass-drum because "one groove"
part "A"
  snare-drum | 1
  bass-drum  | 3
`), Options{Players: 2}, false)
	require.NoError(t, err)
	all := []plays{nobody, nobody}
	names, who := j.playedTogether(all, j.score.Together[0])
	assert.Empty(t, names)
	assert.Negative(t, who)
	for _, q := range j.passages {
		if q.track.name == "bass-drum" {
			all[q.id] = plays{1, 0, q.options[0].slots[0]}
		}
	}
	names, who = j.playedTogether(all, j.score.Together[0])
	assert.Equal(t, []string{"concert bass drum"}, names)
	assert.EqualValues(t, 1, who)
}

// What is lost for want of time says by how much, and that is what a check says when it
// is put back.
func TestAReasonSaysHowManySecondsAreMissing(t *testing.T) {
	const text = `tempo 200
bars 4
part "A"
  snare-drum | mf 1 1& 2 2& 3 3& 4 4& | % x3
part "B"
  crash-cymbals | - | f 1 | - | 1
`
	p, err := File(context.Background(), "x.handful", syntax.Parse(text), Options{Players: 1})
	require.NoError(t, err)
	clean(t, p)
	require.NotEmpty(t, p.Lost)
	for _, l := range p.Lost {
		if kindOf(l.Because) == noTime {
			assert.Regexp(t, `hand has \d+\.\d\d s where it takes \d+\.\d\d s, \d+\.\d\d s too little$`, l.Because)
		}
	}
}

// Where all that is lost is lost for want of room, that is what decided it.
func TestWantOfRoomIsSaid(t *testing.T) {
	const text = "tempo 100\nbars 4\npart \"A\"\n  snare-drum | 1 2 3 4 | % x3\npart \"B\"\n  marimba | 1 2 | % x3\n"
	p := planned(t, text, Options{Players: 1, Wide: 120, Deep: 90, Sentences: true})
	require.NotEmpty(t, p.Lost)
	assert.Contains(t, strings.Join(strings.Fields(p.Sentences[0]), " "), "no room on 120 by 90 cm of floor each for all that they would need")
}

// What a trial says would be brought back is brought back where all that was given away is
// kept and the same is allowed.
func TestWhatATrialBringsBackIsBroughtBack(t *testing.T) {
	tried := 0
	for i := range uint64(2) {
		p := planned(t, instance(5, 3, i), Options{Players: 1, Sentences: true})
		clean(t, p)
		require.NotEmpty(t, p.brings, "something is lost")
		var open []string // as the plan is, but for what it says of what is left out
		for line := range strings.Lines(p.Text) {
			if !strings.HasPrefix(line, "omit ") {
				open = append(open, line)
			}
		}
		for _, b := range p.brings {
			opt := Options{Keep: true}
			switch {
			case strings.Contains(b.change, "anew"):
				continue
			case b.change == "one more player":
				opt.Players = 2
			case b.change == "4 % slower":
				opt.TempoFactor = slower
			case strings.Contains(b.change, "--stand-ins"):
				opt.StandIns = true
			default:
				opt.hardware = true
			}
			tried++
			q := planned(t, strings.Join(open, ""), opt)
			assert.Equal(t, b.back, lostOf(&p)-lostOf(&q), "%s\n%s", b.change, p.Text)
		}
	}
	require.GreaterOrEqual(t, tried, 6)
}
