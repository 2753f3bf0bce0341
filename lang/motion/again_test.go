package motion

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// otherwise puts something else into a bar of some line, or writes in a player's block, also
// what was there at first.
func otherwise(rnd *rand.Rand, text, first string) string {
	lines := strings.Split(text, "\n")
	var may []int
	for i, l := range lines {
		if strings.Contains(l, "|") {
			may = append(may, i)
		}
	}
	if at := slices.IndexFunc(lines, func(l string) bool { return strings.HasPrefix(l, "tempo ") }); at >= 0 && rnd.IntN(8) == 0 {
		lines[at] = fmt.Sprintf("tempo %d", 60+rnd.IntN(2))
		return strings.Join(lines, "\n")
	}
	if rnd.IntN(3) == 0 {
		return strings.Join(inABlock(rnd, lines, strings.Split(first, "\n")), "\n")
	}
	if len(may) == 0 {
		return text
	}
	i := may[rnd.IntN(len(may))]
	bars := strings.Split(lines[i], "|")
	k := 1 + rnd.IntN(len(bars)-1)
	is := []string{" 1 ", " 2 ", " 1 2 ", " - ", " 1~ ", " 1 2& 3 ", " > 1 ", " 1~2 ", " % ", " 2. ", " 3. 3& ", " r1 ", " gg2 ", " 1 1e 1& 1a 2 2e 2& 2a ", " ff 1 3 ", " 1x 2 "}
	bars[k] = is[rnd.IntN(len(is))]
	lines[i] = strings.Join(bars, "|")
	return strings.Join(lines, "\n")
}

// inABlock puts a line of a player's block in, takes one out, gives it another limb or
// what another one is for, writes it twice or moves it, or puts a remark in.
func inABlock(rnd *rand.Rand, lines, first []string) []string {
	may := blockLines(lines)
	if len(may) == 0 {
		return lines
	}
	lines = slices.Clone(lines)
	i := may[rnd.IntN(len(may))]
	switch rnd.IntN(7) {
	case 0:
		return slices.Delete(lines, i, i+1)
	case 1:
		return slices.Insert(lines, i, lines[i])
	case 2:
		return slices.Insert(lines, i, "  # a remark")
	case 3:
		first = append(first[:len(first):len(first)], "  R suspended-cymbal with yarn-mallet | - | 1 | 3") // what nobody has at hand as yet
		had := append(blockLines(first), len(first)-1)
		return slices.Insert(lines, i, first[had[rnd.IntN(len(had))]])
	case 4:
		limbs := []string{"R", "L", "R+L", "RL", "any", "RF", "LF"}
		if said, rest, ok := strings.Cut(strings.TrimSpace(lines[i]), " "); ok && slices.Contains(limbs, said) {
			lines[i] = "  " + limbs[rnd.IntN(len(limbs))] + " " + rest
		}
	case 5:
		if head, _, ok := strings.Cut(lines[may[rnd.IntN(len(may))]], "|"); ok {
			if _, bars, ok := strings.Cut(lines[i], "|"); ok {
				lines[i] = head + "|" + bars
			}
		}
	default:
		lines[i] = lines[i][:max(2, len(lines[i])-1-rnd.IntN(4))]
	}
	return lines
}

// blockLines are the lines in players' blocks.
func blockLines(lines []string) (in []int) {
	block := false
	for i, l := range lines {
		if strings.HasPrefix(l, "player ") {
			block = true
		} else if l != "" && !strings.HasPrefix(l, " ") {
			block = false
		}
		if block && strings.HasPrefix(l, "  ") {
			in = append(in, i)
		}
	}
	return in
}

// sameStages requires that the stages that a path went by are those that are laid from nothing.
func sameStages(t *testing.T, s *score.Score, p *score.Player, got *Result) {
	if fresh := SolveAfter(nil, s, p, nil); fresh.course != nil && got.course != nil {
		require.Equal(t, fresh.course.stages, got.course.stages, p.Name)
	}
}

// waysKept counts what is kept of ways of playing.
func waysKept(r *Result) (n [4]int) {
	if c := r.course; c != nil {
		n = [4]int{len(c.demands), len(c.moments), len(c.alone)}
		for _, list := range c.alone {
			if list != nil {
				n[3]++
			}
		}
	}
	return n
}

// A path that goes on from what is kept of the one before an edit is the one that is
// found from nothing, to the last field, however often it is done.
func TestAPathFromTheOneBeforeIsTheOneFromNothing(t *testing.T) {
	defer func(n int) { haltEvery = n }(haltEvery)
	names, err := filepath.Glob("../../examples/*.handful")
	require.NoError(t, err)
	var texts []string
	for _, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		texts = append(texts, string(text))
	}
	drawn := rapid.Custom(func(t *rapid.T) string {
		return madeup.Draw(t, madeup.Options{Players: 2, Roads: true, Actions: true, Notes: rapid.IntRange(0, 4).Draw(t, "notes") == 0, Quick: rapid.Bool().Draw(t, "quick")}).Text()
	})
	pieces, seeds := 300, 6
	if testing.Short() {
		pieces, seeds = 40, 1
	}
	for n := range pieces {
		texts = append(texts, drawn.Example(n))
	}
	for range 20 { // where what one bar says decides how others are played
		texts = append(texts, "tempo 60\nplayer Ida\n  R suspended-cymbal | 1 | 2 3 | 1 | 4\n  L snare-drum | 2 | 3 | 1 | 1 2\n  from 5\n  R triangle | 1 2 | 3\n  L suspended-cymbal | 1 | 3\n",
			"tempo 60\nplayer Ida\n  R holds egg-shaker\n  R egg-shaker | 1 2 | 3 | 1 | -\n  R woodblock with snare-stick | 3 | 1 2 | 2 | 1\n  from 5\n  R egg-shaker | 1 | 2 3\n  R woodblock with snare-stick | 3 | 1\n",
			"tempo 60\nplayer Ida\n  RF bass-drum-pedal | 1 | 2 | 1 3 | 1\n  R snare-drum | 2 | 1 | - | 1\n  from 5\n  LF bass-drum-pedal | 1 2 | 3\n  R cowbell | 1 | 2\n",
			"tempo 60\nplayer Ida\n  R vibraphone | 1 2 | - | 1 | 2\n",
			"tempo 60\nplayer Ida\n  R suspended-cymbal | 1 | 1~ | 1 | 1 | 2\n  L woodblock with snare-stick | 2 | 2 | 2 | 2 | 2\n  R snare-drum | 3 | 3 | 3 4 | 3 | 3\n",
			"tempo 60\nplayer Ida\n  R vibraphone | 1 2. | 3. | 1 2. | 2\n  RF bass-drum-pedal | 1 | 2\n  LF bass-drum-pedal | 2 | 1\n  from 5\n  R vibraphone | 1. 3. | 2.\n",
			"tempo 60\nplayer Ida\n  L damps triangle at 2.1\n  L damps triangle at 4.2\n  R triangle | 1 2 | - | 1 | -\n  R cowbell clamped | 3 | 1 | 2 | 2\n  from 5\n  R triangle | 1 2 | 3\n  L cowbell clamped | - | 1\n",
			"tempo 60\nplayer Ida\n  kit\n    tom-toms:low at right 70 ahead 20\n    tom-toms:high at left 60 ahead 20\n    cowbell clamped at right 40 ahead 60\n  R tom-toms with snare-stick | 1 | 2 3 | 1 | 4\n  L cowbell | 2 | 3 | 1 | 1\n  from 5\n  L tom-toms with snare-stick | 1 | 2\n  from 9\n  RL tom-toms with snare-stick | 1 2 | 3\n")
	}
	for n, text := range texts {
		for seed := range seeds {
			rnd := rand.New(rand.NewPCG(uint64(n), uint64(seed)))
			haltEvery = 1 + (n+seed)%7
			file := syntax.Parse(text)
			last := score.Bind("t", file, nil, score.Options{Remember: true})
			were := make([]*Result, len(last.Players))
			for i, p := range last.Players {
				were[i] = SolveAfter(nil, last, p, nil)
			}
			for range 6 {
				file = syntax.Reparse(otherwise(rnd, file.Text(), text), file)
				now := score.Bind("t", file, nil, score.Options{Remember: true, Earlier: last})
				for i, p := range now.Players {
					kept := waysKept(were[i])
					fresh, got := Solve(now, p), SolveAfter(were[i], now, p, nil)
					require.Equal(t, kept, waysKept(were[i]), "others may go on from it too\n%s", file.Text())
					were[i] = got
					sameStages(t, now, p, got)
					got = &Result{}
					*got = *were[i]
					got.course = nil
					if !reflect.DeepEqual(fresh, got) {
						require.Equal(t, fresh.Changes, got.Changes, "%s\n%s", p.Name, file.Text())
						t.Fatalf("%s has another path in\n%s", p.Name, file.Text())
					}
				}
				last = now
			}
		}
	}
}

// Of a long part in which one bar is another, nearly all of what was found is taken over.
func TestAPathGoesOnFromTheOneBefore(t *testing.T) {
	text := "tempo 30\nplayer Ida\n  kit\n    woodblock clamped at left 20 ahead 40\n    cowbell clamped at right 20 ahead 40\n"
	for i := range 60 {
		text += fmt.Sprintf("  from %d\n  R woodblock with snare-stick | 1 2 3 | - x3\n  L cowbell with snare-stick | - | 2 | -\n  R cowbell with snare-stick | - x2 | 2 3 | 4\n", 1+4*i)
	}
	file := syntax.Parse(text)
	last := score.Bind("t", file, nil, score.Options{Remember: true})
	was := SolveAfter(nil, last, last.Players[0], nil)
	require.Empty(t, was.Conflicts)
	at := strings.Index(text[len(text)/2:], "| 1 2 3 |") + len(text)/2
	now := score.Bind("t", syntax.Reparse(text[:at]+"| 1 2& 3 |"+text[at+len("| 1 2 3 |"):], file), nil, score.Options{Remember: true, Earlier: last})
	is := SolveAfter(was, now, now.Players[0], nil)
	require.NotNil(t, is.course)
	kept := 0
	require.NotContains(t, was.course.steps, (*step)(nil))
	require.NotContains(t, is.course.steps, (*step)(nil))
	require.Len(t, is.course.layers, len(was.course.layers))
	for i, l := range is.course.layers {
		if &l[0] == &was.course.layers[i][0] {
			kept++
		}
	}
	require.Greater(t, len(is.course.layers), 100)
	require.Greater(t, kept, len(is.course.layers)-12)
}
