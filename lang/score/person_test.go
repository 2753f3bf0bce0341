package score

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/body"
	"example.org/handful/lang/syntax"
)

func personOf(t *testing.T, lines ...string) (*Player, *Score) {
	t.Helper()
	s := Bind("p.handful", syntax.Parse("tempo 96\nplayer Ida\n  "+strings.Join(lines, "\n  ")+"\n"), nil, Options{})
	require.Len(t, s.Players, 1)
	return s.Players[0], s
}

func TestNothingSaidIsAnybody(t *testing.T) {
	p, s := personOf(t, "profile student")
	assert.Empty(t, s.Problems)
	assert.Equal(t, body.Hands, p.Person.Hands())
	assert.True(t, SamePerson(&Person{}, &p.Person))
}

func TestWhatIsSaidOfAPlayer(t *testing.T) {
	p, s := personOf(t, "hands L", "leads left", "seated", "reach 55", "rolls one-handed no", "holds four mallets no",
		"damps with forearm no", `never timpani, keyboards because "no ear for it"`, "likes triangles woods")
	assert.Empty(t, s.Problems)
	who := &p.Person
	assert.Equal(t, body.L, who.Hands())
	assert.True(t, who.LeadsLeft && who.Seated)
	assert.Equal(t, [3]Ability{Cannot, Cannot, Cannot}, [3]Ability{who.OneHandRoll, who.FourMallets, who.ForearmDamps})
	assert.Equal(t, 55.0, p.Profile.Reach)
	in := s.Catalogue.Instrument
	for name, never := range map[string]bool{"timpani": true, "marimba": true, "glockenspiel": true, "triangle": false, "snare-drum": false} {
		assert.Equal(t, never, who.Refuses(in(name)) != nil, name)
	}
	assert.Equal(t, "no ear for it", who.Refuses(in("marimba")).Reason)
	assert.NotNil(t, who.Prefers(in("triangle")))
	assert.NotNil(t, who.Prefers(in("woodblock")))
	assert.Nil(t, who.Prefers(in("marimba")))
}

// What is said of a player is found again where it is said, and otherwise where
// the player's name is.
func TestWhereItIsSaid(t *testing.T) {
	p, s := personOf(t, "profile student")
	line := func(w Where) string {
		text := s.Sources[0].File.Lines[w.Line].Text
		return text[w.Start:w.End]
	}
	wheres := func() []string {
		return []string{line(p.WhereHands()), line(p.WhereSeated()), line(p.WhereRolls()), line(p.WhereMallets()), line(p.WhereForearms())}
	}
	assert.Equal(t, []string{"Ida", "Ida", "Ida", "Ida", "Ida"}, wheres())
	assert.Empty(t, p.Person.Words())
	said := []string{"hands L", "seated", "rolls one-handed no", "holds four mallets no", "damps with forearm no"}
	p, s = personOf(t, said...)
	assert.Equal(t, said, wheres())
	assert.Equal(t, []string{"the left hand alone for playing", "seated: never walks, never stoops", "no one-hand rolls", "one mallet in a hand",
		"does not damp with the forearm"}, p.Person.Words())
	p, _ = personOf(t, "hands none", "leads right", "never timpani, keyboards", "likes triangle")
	assert.Equal(t, []string{"neither hand for playing", "never plays timpani, keyboard instruments", "likes triangle"}, p.Person.Words())
	p, _ = personOf(t, "leads left", "holds four mallets yes")
	assert.Equal(t, []string{"leads with the left hand", "two mallets in a hand"}, p.Person.Words())
}

// Two people are alike when all is alike that is said of them.
func TestTheSamePerson(t *testing.T) {
	lines := []string{"seated", "hands R", "leads left", "rolls one-handed no", "rolls one-handed yes", "holds four mallets no", "damps with forearm no", "likes timpani", "never timpani", "never woods"}
	for i, a := range lines {
		for k, b := range lines {
			p, _ := personOf(t, "profile student", a)
			o, _ := personOf(t, "profile professional", b)
			assert.Equal(t, i == k, SamePerson(&p.Person, &o.Person), a+" / "+b)
		}
	}
}

func TestHandsThereAre(t *testing.T) {
	for word, want := range map[string]body.Limbs{"R": body.R, "L": body.L, "both": body.Hands, "RL": body.Hands, "none": 0} {
		p, s := personOf(t, "hands "+word)
		assert.Empty(t, s.Problems, word)
		assert.Equal(t, want, p.Person.Hands(), word)
	}
}

// What is wrong or contradicts itself is said at its place, once, and the rest
// of the block stands.
func TestWhatIsWronglySaidOfAPlayer(t *testing.T) {
	for _, c := range []struct {
		lines []string
		rule  string
		says  string
	}{
		{[]string{"hands three"}, "value", "is no hand"},
		{[]string{"hands R", "hands L"}, "value", "says twice"},
		{[]string{"seated", "seated"}, "value", "says twice"},
		{[]string{"rolls one-handed no", "rolls one-handed yes"}, "value", "says twice"},
		{[]string{"leads both"}, "value", "does not lead"},
		{[]string{"hands R", "leads left"}, "value", "lets the other one lead"},
		{[]string{"leads left", "hands R"}, "value", "lets the other one lead"},
		{[]string{"hands L", "holds four mallets yes"}, "value", "take two hands"},
		{[]string{"holds four mallets maybe"}, "value", "neither yes nor no"},
		{[]string{"damps with forearm 3"}, "syntax", "does not fit here"},
		{[]string{"rolls no"}, "syntax", "does not fit here"},
		{[]string{"never timpanni"}, "unknown-name", "did you mean timpani"},
		{[]string{`never with brass-mallet because "no"`}, "syntax", "without with"},
		{[]string{"never keyboards", "likes keyboards"}, "value", "and never plays it"},
		{[]string{"never keyboards", "likes marimba"}, "value", "and never plays it"},
		{[]string{"never"}, "syntax", "stops short"},
		{[]string{"reach 0"}, "value", "how far"},
	} {
		p, s := personOf(t, append(c.lines, "R snare-drum | 1 2")...)
		require.Len(t, s.Problems, 1, c.lines)
		assert.Equal(t, c.rule, s.Problems[0].Rule, c.lines)
		assert.Equal(t, int32(0), s.Problems[0].Where.File, c.lines)
		assert.Contains(t, s.Problems[0].Message(), c.says, c.lines)
		assert.Len(t, p.Cues, 1, "the rest of the block is there")
	}
	p, _ := personOf(t, "hands R", "hands L")
	assert.Equal(t, body.R, p.Person.Hands(), "the first line counts")
	p, _ = personOf(t, "leads left", "hands R", "never keyboards, marimba", "likes wood")
	assert.Len(t, p.Person.Never, 2)
}

func gearOf(t *testing.T, text string) *Score {
	t.Helper()
	return Bind("p.handful", syntax.Parse(text), nil, Options{})
}

func TestGearCountsWhatThereIs(t *testing.T) {
	s := gearOf(t, `tempo 96
gear
  2 snare-drum, 1 bass-drum "the hall's"
  4 snare-sticks, 6 clamp
  1 snare-drum "Ida's"
  0 timpani
part "P"
  snare-drum | 1
`)
	assert.Empty(t, s.Problems)
	in, im := s.Catalogue.Instrument, s.Catalogue.Implement
	assert.Equal(t, 3, s.GearOf(in("snare-drum")).Count, "two lines about one thing add")
	assert.Equal(t, []string{"Ida's"}, s.GearOf(in("snare-drum")).Whose)
	assert.Equal(t, []string{"the hall's"}, s.GearOf(in("bass-drum")).Whose)
	assert.Equal(t, 4, s.GearOfImplement(im("snare-stick")).Count)
	assert.Equal(t, 6, s.gearOfHardware("clamp").Count)
	assert.Equal(t, 0, s.GearOf(in("timpani")).Count)
	assert.Nil(t, s.GearOf(in("triangle")), "of what is not named nothing is said")
	assert.Nil(t, s.gearOfHardware("stand"))
}

func TestGearThatIsWrong(t *testing.T) {
	for _, c := range []struct{ line, rule, says string }{
		{"2 snare-drmu", "unknown-name", "did you mean snare-drum"},
		{"2 kettle-of-fish", "unknown-name", "there is no"},
		{"-1 clamp", "syntax", "cannot begin a line"},
		{"2x clamp", "value", "whole number"},
		{"99999999999999999999 clamp", "value", "whole number"},
		{"1.5 clamp", "value", "whole number"},
		{"2", "syntax", "2 snare-drum"},
		{"2 3", "syntax", "2 snare-drum"},
		{"2 clamp, stand", "syntax", "2 snare-drum"},
		{"2 clamp,stand", "syntax", "stands before each thing"},
	} {
		s := gearOf(t, "tempo 96\ngear\n  "+c.line+"\n  3 stand\n")
		require.Len(t, s.Problems, 1, c.line)
		assert.Equal(t, c.rule, s.Problems[0].Rule, c.line)
		assert.Contains(t, s.Problems[0].Message(), c.says, c.line)
		require.NotNil(t, s.gearOfHardware("stand"), "the next line is read")
		assert.Equal(t, 3, s.gearOfHardware("stand").Count)
	}
	s := gearOf(t, "tempo 96\n2 snare-drum\n")
	require.Len(t, s.Problems, 1)
	assert.Contains(t, s.Problems[0].Message(), "belongs under  gear")
	assert.Empty(t, s.Gear)
}

// What there is may stand in a file that the piece uses.
func TestGearOfAUsedFile(t *testing.T) {
	house := "gear\n  2 snare-drum \"the hall's\"\n"
	load := func(_, path string) (string, *syntax.File, error) { return path, syntax.Parse(house), nil }
	s := Bind("p.handful", syntax.Parse("tempo 96\nuse \"house.handful\"\ngear\n  1 snare-drum \"ours\"\n"), load, Options{})
	assert.Empty(t, s.Problems)
	g := s.GearOf(s.Catalogue.Instrument("snare-drum"))
	assert.Equal(t, 3, g.Count)
	assert.ElementsMatch(t, []string{"the hall's", "ours"}, g.Whose)
}
