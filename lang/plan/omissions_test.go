package plan

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What stands against bars of one phrase is said in one omission; what is one reason with and without figures once,
// and bars that are apart only where the reason is the same.
func TestWhatIsLeftOutOfAPhraseIsSaidOnce(t *testing.T) {
	lost := func(line string, from, to, strokes int, because string, goesOn bool) Loss {
		return Loss{Part: "P", Line: line, Called: line, Rolls: 1, From: from, To: to, Strokes: strokes, Because: because, goesOn: goesOn}
	}
	hand, late := noHand+"shaker", noTime+": Ann's left hand has 0.10 s where it takes 0.20 s, 0.10 s too little"
	got := Omissions([]Loss{
		lost("triangle", 1, 1, 4, hand, false), lost("triangle", 2, 2, 1, noTime, true), lost("triangle", 3, 5, 12, hand, true), lost("triangle", 6, 6, 1, late, true),
		lost("triangle", 7, 7, 2, noGear, false),
		lost("cowbell", 9, 9, 1, noTime, false), lost("cowbell", 11, 12, 2, noTime, false), lost("cowbell", 14, 14, 2, late, false),
		lost("claves", 14, 14, 2, late, false),
	})
	assert.Equal(t, []Omission{
		{"P", "triangle", "triangle", [][2]int{{1, 6}}, 18, 4, hand + "; in 2 and 6 " + late},
		{"P", "triangle", "triangle", [][2]int{{7, 7}}, 2, 1, noGear},
		{"P", "cowbell", "cowbell", [][2]int{{9, 9}, {11, 12}}, 3, 2, noTime},
		{"P", "cowbell", "cowbell", [][2]int{{14, 14}}, 2, 1, late},
		{"P", "claves", "claves", [][2]int{{14, 14}}, 2, 1, late},
	}, got)
	assert.Equal(t, []string{"bars 1 to 6", "bar 7", "bars 9 and 11-12", "bar 14", "bar 14"}, []string{got[0].Where(), got[1].Where(), got[2].Where(), got[3].Where(), got[4].Where()})
	assert.Equal(t, "4 rolls and 14 strokes", got[0].What())
	assert.Equal(t, "1 roll", (&Omission{Strokes: 1, Rolls: 1}).What())
	assert.Equal(t, "2 strokes", (&Omission{Strokes: 2}).What())
	for _, o := range got { // another plan knows them by their words
		assert.True(t, ours(o.Because), o.Because)
	}
	assert.False(t, ours("the leader says so; in 2 "+noTime))
}

// In which bars a line is lost is said in order, each bar once.
func TestBarsAreNamedInOrderAndOnce(t *testing.T) {
	where, one := placesOf([]Loss{{Part: "P", Line: "claves", From: 7, To: 9}, {Part: "Q", Line: "claves", From: 2, To: 2}, {Part: "Q", Line: "claves", From: 9, To: 10}, {Part: "Q", Line: "shaker", From: 4, To: 4}}, "claves")
	assert.Equal(t, []string{"2", "7-10"}, where)
	assert.False(t, one)
	_, one = placesOf([]Loss{{Line: "claves", From: 2, To: 2}, {Part: "Q", Line: "claves", From: 2, To: 2}}, "claves")
	assert.True(t, one)
}

// Bars that ask for the same hands at the same count are named together.
func TestMomentsThatAreAlikeAreSaidTogether(t *testing.T) {
	assert.Equal(t, []string{"bars 3 and 5, count 1: want 9 hands", "bar 4, count 1: want 10 hands"},
		Crowded([]Reason{{Bar: 3, Words: "bar 3, count 1: want 9 hands"}, {Bar: 4, Words: "bar 4, count 1: want 10 hands"}, {Bar: 5, Words: "bar 5, count 1: want 9 hands"}}))
}
