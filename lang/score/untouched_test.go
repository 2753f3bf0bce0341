package score

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// inABlock changes a line in the block of some player, and leaves the number of lines
// as it is: a letter less or more, another number, another player's line, nothing.
func inABlock(rnd *rand.Rand, lines []string, seats []syntax.Seat) {
	var may []int
	for i, s := range seats {
		if (s.Block == syntax.InPlayer || s.Inner >= 0) && i != s.Owner {
			may = append(may, i)
		}
	}
	if len(may) == 0 {
		return
	}
	i := may[rnd.IntN(len(may))]
	l := lines[i]
	at := rnd.IntN(len(l) + 1)
	switch rnd.IntN(8) {
	case 0:
		lines[i] = ""
	case 1:
		lines[i] = lines[may[rnd.IntN(len(may))]]
	case 2:
		lines[i] = l[:at]
	case 3:
		lines[i] = l[:at] + string("abc 1|#:+2"[rnd.IntN(10)]) + l[at:]
	case 4:
		lines[i] = []string{"  from A", "  from 2", "  R cowbell | 1 2 | 3", "  L takes yarn-mallet at A", "  R bodhran as written in 2-A", "    agogo at left 40 ahead 30", "  E turns page at 2.3",
			"  R holds brush", "  profile professional", "  L woodblock for triangle as written", "    sd is snare-drum", "  R sd | 1 | 2", "  reach 70"}[rnd.IntN(13)]
	case 5:
		lines[i] = strings.NewReplacer("  R ", "  L ", "  L ", "  R ", " left ", " right ", " right ", " left ").Replace(l)
	default:
		if at := strings.IndexAny(l, "0123456789"); at >= 0 {
			lines[i] = l[:at] + string(rune('1'+rnd.IntN(8))) + l[at+1:]
		}
	}
}

// Whatever is written in the blocks of players, what is taken over of the others and
// of the parts is as in the score of the whole text, to the last field.
func TestWritingInABlockLeavesTheOthersAsTheyAre(t *testing.T) {
	seeds := 60
	if testing.Short() {
		seeds = 6
	}
	for n, text := range withExamples(t, everything, covering, goingOn, namedInKits, twoBlocks, namedLater) {
		for seed := range seeds {
			rnd := rand.New(rand.NewPCG(uint64(n), 17+uint64(seed)))
			editedAsWhole(t, text, 12, func(lines []string, file *syntax.File) []string {
				for range 1 + rnd.IntN(2) {
					inABlock(rnd, lines, file.Seats())
				}
				return lines
			}, nil)
		}
	}
}

// namedInKits has names of the kits' own, of which one player's cues mean another's,
// and lines that say what cannot be.
const namedInKits = `meter 4/4
tempo 90
bars 8
mark A at 3
mark B at 6
part "P"
  triangle | 1 2 | 3 | 1 | 1 2 3
  clave | 1 | 2 | 3 | 9
  box | 1 | 2 | 3
player Ida
  kit
    box is woodblock at left 30 ahead 40
    triangle at right 20 ahead 50
  R triangle as written in 1-A
  L box | 1 | 2
  L takes yarn-mallet at B
player Eva
  R woodblock for box as written
  L cowbell | 1 | 2 | 9
  L claves for clave as written in A-B
player Tam
  R box as written
  L agogo | 1 | 2
  LF claves | 1
`

// twoBlocks has somebody with two blocks, who has a thing by naming it in the first of
// them or in the second, and somebody in between who means it.
const twoBlocks = `meter 4/4
tempo 90
bars 4
part "P"
  claves | 1 | 2
  agogo | 1 | 2
player Ida
  L agogo | 1 | 2
  R claves | 1 | 2
player Eva
  R woodblock for agogo as written
  L cowbell for claves as written
player Ida
  L agogo | 3 | 4
  R claves | - | 4
`

// namedLater has names that somebody means before others have them in their kits, or by
// naming them in a cue, marks that one line alone names, and a cue that takes but words.
const namedLater = `meter 4/4
tempo 90
mark A at 2
mark B at 3
mark C at 2
mark D at 1
part "P"
  sd | 1 | 2
  bd | 1 | 2
  claves | "dry" 1 2 | 3
player Ida
  R woodblock for sd as written
  L cowbell for bd as written
  from B
  note "here" at C
  R claves | 1
player Eva
  from 4
  L cowbell | 1 | 2
  from 1
  L takes brush at D
  kit
    sd
  R sd | 1 | 2
  from 1
  R cowbell for claves as written on 6
player Tam
  kit
    claves is agogo
  R bd | 3 | 4
  L claves | 1 | 2
`

// Of a piece in which somebody writes in one block, the other players and all parts are
// the very ones of before.
func TestWhoIsNotWrittenAboutIsTakenOver(t *testing.T) {
	for _, c := range []struct{ from, to string }{
		{"triangle at left 40", "triangle at left 41"},
		{"  R woodblock | 1 | 2\n  from A", "  L woodblock | 1 | 2\n  from A"},
		{"  R woodblock | 1 | 2\n  from A", "  R woodbl\n  from A"},
	} {
		file := syntax.Parse(goingOn)
		last := Bind("t", file, nil, Options{Remember: true})
		text := strings.Replace(goingOn, c.from, c.to, 1)
		require.NotEqual(t, goingOn, text)
		now := Bind("t", syntax.Reparse(text, file), nil, Options{Remember: true, Earlier: last})
		require.Equal(t, scored(Bind("t", syntax.Parse(text), nil, Options{})), scored(now))
		for i, p := range now.Players {
			require.Equal(t, p.Name != "Eva", p == last.Players[i], "%s: %s", c.to, p.Name)
			for k, it := range p.Items { // so are the things of who is, unless they stand elsewhere
				require.Equal(t, it.Same(last.Players[i].Items[k]), it == last.Players[i].Items[k], "%s: %s", c.to, it.Name)
			}
			for _, cue := range p.Cues {
				require.True(t, slices.Contains(p.Items, cue.Item), "%s: %s", c.to, cue.Item.Name)
			}
		}
		require.True(t, slices.Equal(last.Parts, now.Parts), c.to)
		require.Same(t, last.Grid, now.Grid, c.to) // nothing else was bound
	}
}
