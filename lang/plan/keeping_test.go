package plan

import (
	"context"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/internal/compose"
	"example.org/handful/lang/syntax"
)

const remarked = `tempo 60
bars 8
part "A"
  snare-drum | mf 1 2 3 4 | % x3 | -4
part "B"
  suspended-cymbal | f 1 | - | 1 | - | 1 | - | 1 | -
part "C"
  woodblock | -4 | mf 1 3 | % x3
player Nell  # left-handed: ask her first
  profile student  # her first year
  # sticks are in the left bag
  note "bring the long cable"
  R holds snare-stick
  kit  # by the wall
    suspended-cymbal on stand at right 40 ahead 40  # the good one
  R snare-drum as written  # softly
  L damps suspended-cymbal at 2.3  # with the sleeve
  L turns page at 4.4
  from 5 on pass 1
  L turns page at 8.4
  # end of hers
player Joe  # late on Mondays
  R takes yarn-mallet at 7.1
`

// What a player's block says besides its cues stays when the cues are given away
// anew, every remark with it.
func TestABlockKeepsWhatItSaysBesidesCues(t *testing.T) {
	p := planned(t, remarked, Options{})
	clean(t, p)
	nell, joe, ok := strings.Cut(p.Text, "player Joe")
	require.True(t, ok)
	for _, want := range []string{
		"player Nell  # left-handed: ask her first", "profile student  # her first year", "# sticks are in the left bag", `note "bring the long cable"`,
		"kit  # by the wall", "# the good one", "# softly", "damps suspended-cymbal at 2.3  # with the sleeve", "L turns page at 4.4", "L turns page at 8.4", "# end of hers",
		"R holds snare-stick",
	} {
		assert.Contains(t, nell, want)
	}
	assert.Contains(t, joe, "  # late on Mondays")
	assert.Contains(t, joe, "R takes yarn-mallet at 7.1")
	assert.Empty(t, unsaid(syntax.Parse(remarked), p.Text, func(string) bool { return true }))
}

// Who does not play goes; what was remarked there stays.
func TestRemarksOutliveWhoIsIll(t *testing.T) {
	p := planned(t, remarked, Options{Without: []string{"Nell"}})
	clean(t, p)
	assert.Empty(t, syntax.LostComment(remarked, p.Text))
	assert.NotContains(t, p.Text, "player Nell")
}

// Whatever was composed: no plan loses a remark, or what a block says besides
// its cues.
func TestPlansLoseNothingThatIsNoCue(t *testing.T) {
	seeds := uint64(120)
	if testing.Short() {
		seeds = 25
	}
	planned := 0
	for seed := range seeds {
		r := rand.New(rand.NewPCG(seed, 3))
		text := compose.Planned(r)
		f := syntax.Parse(text)
		p, err := File(context.Background(), "x.handful", f, Options{Players: 1 + r.IntN(3)})
		if err != nil {
			assert.NotContains(t, err.Error(), "would lose", "seed %d\n%s", seed, text)
			continue
		}
		planned++
		assert.Empty(t, syntax.LostComment(text, p.Text), "seed %d\n%s\n%s", seed, text, p.Text)
	}
	assert.Greater(t, planned, int(seeds)/2)
	t.Logf("%d of %d texts could be planned", planned, seeds)
}

// What is added to a block that stays never ends what is open in it, and is played
// on every pass and in every section.
func TestWhatIsAddedEndsNothingThatIsOpen(t *testing.T) {
	fair := `title "Lantern Fair"
tempo 104
mark A at 9
part "Percussion 1"
  snare-drum | mf 1 2& 3 4 | % x7
  from A
  snare-drum | f 1 1& 2 3 3& 4 | % x6 | 1>
part "Percussion 2"
  tambourine    | mf 2 4 | % x6 | -
  from A
  suspended-cymbal | f 1 | - | % x2 | 1 | - | % | f 1>
part "Percussion 3"
  bass-drum | mf 1 3 | % x14 | 1>
player Ada
  kit
    snare-drum on stand at ahead 45
    table               at right 30 ahead 30
  RL snare-drum with snare-stick as written
player Bea
  R tambourine held as written
  from A
  R suspended-cymbal as written
player Cas
  kit
    bass-drum on stand at ahead 60
    table              at left 30 behind 15
  R bass-drum with bass-drum-beater as written
`
	p := planned(t, fair, Options{Without: []string{"Bea"}, Keep: true})
	clean(t, p)
	assert.Empty(t, p.Lost)
	assert.Contains(t, p.Text, "\n  RL snare-drum with snare-stick as written\n")
	assert.Contains(t, p.Text, "\n  R bass-drum with bass-drum-beater as written\n")
	p = planned(t, `tempo 90
bars 4
mark B at 3
part "A"
  vibraphone | 1 3 | % x3
part "B"
  temple-blocks | - | - | 1 | 1
player Nell
  kit
    temple-blocks on stand at left 31 ahead 49
    table at right 24 ahead 26
  from B
  L temple-blocks with rubber-mallet as written
`, Options{Keep: true})
	clean(t, p)
	assert.Empty(t, p.Lost)
	assert.Contains(t, p.Text, "  from B\n  L temple-blocks with rubber-mallet as written\n")
}

// What the file already plays with one motion, an egg in the palm beside a stick,
// a plan does not take apart where no hand is left for that, and its bound knows
// that it takes no hand of its own.
func TestAnEggAndAStickStayInOneHand(t *testing.T) {
	for _, egg := range []string{"shaker", "seed-pod"} {
		text := `tempo 80
instrument seed-pod
  called "Seed pod"
  family shaken
  zone 8
  way held takes 1 hand shaken keeps light
part "P"
  ` + egg + `     | mf 1 1& 2 2& 3 3& 4 4& | % x3
  woodblock  | mf 1 2 3 4 | % x3
  snare-drum | mf 1 2 3 4 | % x3
player Ida
  R holds snare-stick
  R ` + egg + ` held as written
  R woodblock clamped with snare-stick as written
  L snare-drum with snare-stick as written
`
		p := planned(t, text, Options{})
		clean(t, p)
		assert.Zero(t, p.Value, egg)
		assert.Zero(t, p.Moved, egg)
	}
}

// What one cue plays the first time and another the second time is played, and kept; what the second
// time leaves out is lost.
func TestWhatIsPlayedByPassIsNotLeftOut(t *testing.T) {
	const text = `tempo 60
bars 4
repeat 3-4
part "P"
  triangle | 1 | 1 | - | -
  woodblock | - | - | 1 2 | 1
player Nell
  kit
    triangle clipped at right 31 ahead 49
  from 3 on pass 1
  R woodblock with rubber-mallet as written
  from 3 on pass 2
  kit
    woodblock clamped at ahead 50
`
	p := planOf(t, text+"  L woodblock with rubber-mallet as written\n", Options{Keep: true})
	assert.Empty(t, p.Lost)
	assert.Zero(t, p.Value)
	assert.NotContains(t, p.Text, "omit")
	assert.Contains(t, p.Text, "R triangle")
	for _, l := range strings.Split(text, "\n") {
		assert.Contains(t, strings.Split(p.Text, "\n"), l)
	}

	const second = "player Max\n  from 3 on pass 2\n  R woodblock with rubber-mallet as written\n"
	both := strings.Replace(text, "  from 3 on pass 2\n  kit\n    woodblock clamped at ahead 50\n", "", 1) + second
	assert.Empty(t, planOf(t, both, Options{Keep: true}).Lost)
	assert.NotEmpty(t, planOf(t, both, Options{Keep: true, Without: []string{"Max"}}).Lost, "who played it the second time is not there")

	p = planOf(t, text+"  L woodblock with rubber-mallet | 1 | 1\n", Options{Keep: true})
	require.Len(t, p.Lost, 1)
	assert.Equal(t, 3, p.Lost[0].From)
	assert.Equal(t, 3, p.Lost[0].To)
}
