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

// inAnotherTime says another tempo in a text, and mostly as many as before.
func inAnotherTime(rnd *rand.Rand, text string) string {
	lines := strings.Split(text, "\n")
	var said []int
	for i, l := range lines {
		if strings.HasPrefix(l, "tempo ") {
			said = append(said, i)
		}
	}
	if len(said) == 0 || len(said) < 3 && rnd.IntN(10) == 0 {
		more := []string{"tempo 80", "tempo 90 from 3", "tempo 60 to 120 over 2-4"}[rnd.IntN(3)]
		return strings.Join(slices.Insert(lines, min(1, len(lines)-1), more), "\n")
	}
	if strings.HasPrefix(lines[0], "#") && rnd.IntN(8) == 0 || slices.Contains(lines, "repeat 2-3") {
		also := "repeat 2-3"
		if at := slices.Index(lines, also); at >= 0 {
			lines[at] = "# as it goes"
		} else {
			lines[0] = also
		}
		return strings.Join(lines, "\n")
	}
	at := said[rnd.IntN(len(said))]
	place := ""
	for _, word := range []string{" from ", " over "} {
		if _, where, ok := strings.Cut(lines[at], word); ok {
			place = word + where
		}
	}
	lines[at] = fmt.Sprintf("tempo %d", []int{20, 40, 60, 61, 90, 120, 150, 190, 240, 300, 420}[rnd.IntN(11)])
	if strings.HasPrefix(place, " over ") {
		lines[at] += fmt.Sprintf(" to %d", 40+rnd.IntN(200))
	}
	lines[at] += place
	return strings.Join(lines, "\n")
}

// timesTexts are pieces in which much depends on how long there is.
func timesTexts(t *testing.T, pieces int) []string {
	names, err := filepath.Glob("../../examples/*.handful")
	require.NoError(t, err)
	var texts []string
	for _, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		texts = append(texts, string(text))
	}
	drawn := rapid.Custom(func(t *rapid.T) string {
		return madeup.Draw(t, madeup.Options{Players: 2, Roads: rapid.Bool().Draw(t, "roads"), Actions: rapid.IntRange(0, 3).Draw(t, "actions") == 0, Quick: rapid.Bool().Draw(t, "quick")}).Text()
	})
	for n := range pieces {
		texts = append(texts, drawn.Example(n))
	}
	for range 8 {
		texts = append(texts,
			"tempo 90\nplayer Ida\n  kit\n    woodblock clamped at ahead 35\n    table at right 250 ahead 40\n  R holds snare-stick\n  L holds nothing\n  R woodblock clamped with snare-stick | 1 | - | - | 2 4\n  L woodblock clamped with snare-stick | - | 1 3 | - | 3\n  from 5\n  L congas with fingers | 1 | 4\n  R woodblock clamped with snare-stick | 3 | 1\n",
			"tempo 90\nplayer Ida\n  kit\n    station far at right 200\n    woodblock clamped at ahead 35\n    bass-drum-pedal at far ahead 30\n    hi-hat at ahead 30\n  R woodblock clamped with snare-stick | 1 | - | 2 | -\n  RF bass-drum-pedal | 3 | 2 | 4 | 1\n  LF hi-hat | - | 4 | - | 3\n  from 5\n  RF bass-drum-pedal | 3 | 2 | 4 | 1\n  LF hi-hat | 1 | 4 | 2 | 3\n",
			"tempo 90\nplayer Ida\n  kit\n    cajon at ahead 20\n    triangle hung at right 30 ahead 40\n    snare-drum on stand at left 30 ahead 40\n  R cajon with hands | 1 2 | - | 1 | 4\n  L snare-drum on stand with snare-stick | 4 | 1 | 3 | 1\n  R triangle hung | 4 | 3 | - | 2\n",
			"tempo 90\nplayer Ida\n  R snare-drum | 1~1& 3 | 1~1& 3~3& | 2~2& | 1~1e 2\n  L triangle | 1. 3 | 1. 3. | 2. | 1.\n  from 5\n  R woodblock | 1~1& 4 | 3\n  L suspended-cymbal | 1. 3 | 2. 4\n",
			"tempo 90\nplayer Ida\n  kit\n    woodblock at left 20 ahead 40\n    cowbell at left 160 ahead 40\n    triangle at right 200 ahead 40\n  R snare-drum | 1~1& 3 | 1~1& 3~3& | 2~2& | 1~1e 2\n  L triangle | 1. 3 | 1. 3. | 2. | 1.\n  from 5\n  R cowbell | 1~1& 4 | 3\n  L woodblock | 1 3 | 2 4\n",
			"tempo 90\nplayer Ida\n  L holds egg-shaker\n  L egg-shaker | 1 2 3& 4 | 1 2 | 1 2 3 4 | 1\n  R triangle | 1 2 | 1 3 | 2 | 4\n  L damps triangle at 1.3\n  L damps triangle at 2.4\n  L damps triangle at 3.2\n",
			"tempo 90\nplayer Ida\n  kit\n    bass-drum-pedal at left 200 ahead 40\n    hi-hat at right 150 ahead 40\n    woodblock at right 20 ahead 40\n  RF bass-drum-pedal | 2 | 1 4 | 3 | 2\n  R woodblock | 1 3 | 2 | 1 4 | -\n  LF hi-hat | - | 3 | 2 | 4\n  L triangle | 1 | - | - | 1\n",
			"tempo 90\nplayer Ida\n  R cajon | 1 2 | - | 1 | 4\n  L triangle | 4 | 1 2 | 3 | 1\n  from 5\n  R snare-drum | 1 | 2\n  L cajon | 3 | 1\n  R marimba | 4 | 3\n",
			"tempo 90\nplayer Ida\n  R vibraphone | 1 2. 4 | 3. 4 | 1 2. | 2\n  RF bass-drum-pedal | 1 | 2 | 3 4\n  LF bass-drum-pedal | 1 2 | 3 | 2 4\n  RF hi-hat | 1 2 | 2 4 | 3\n  LF hi-hat | 3 4 | 3 | 4\n  L xylophone | 1 2 | 1 | 4 | 1\n",
			"tempo 90\nplayer Ida\n  R holds egg-shaker\n  R egg-shaker | 1 2 | 3 | 1 2 | -\n  R woodblock with snare-stick | 1 | 1 2 | 2 | 1\n  L triangle | 1 | 3 | 2 | 1\n  M whistle | 1 | 3 | 2 | 1\n",
			"tempo 90\nplayer Ida\n  R suspended-cymbal | 1~2 | 2 3 | 1~ | 4\n  L snare-drum | 2 | 3 | 1~3 | 1 2\n  from 5\n  R triangle | 1 2 | 3\n  L suspended-cymbal | 1. | 3\n  RL snare-drum | 3 4 | 2~3\n",
			"tempo 90\nplayer Ida\n  R suspended-cymbal | 1. | 1. 2 | 1. | 1. 4\n  L triangle | 3 | 1. | 2 | 1.\n  from 5\n  R cowbell | 1 | 2& 3\n  L bass-drum | 1. | 2.\n",
			"tempo 90\nplayer Ida\n  holds snare-stick in R\n  R woodblock with snare-stick | 1 | 3 | 1 2 | 2\n  L triangle with triangle-beater | 2 | 1 2 | 3 | 1\n  from 5\n  L woodblock with snare-stick | 1 2 | 3 | 1\n  R triangle with triangle-beater | 4 | 1 | 2\n",
			"tempo 90\nplayer Ida\n  kit\n    table at right 60 ahead 0\n    woodblock at left 150 ahead 40\n    snare-drum at right 180 ahead 40\n    tam-tam at left 200 ahead 100\n  R woodblock | 1 | - | 2 | 4\n  L snare-drum | - | 1 3 | 4 | 2\n  R tam-tam | 3 | 4 | - | 1\n",
			"tempo 90\nplayer Ida\n  kit\n    xylophone at left 20 ahead 40\n    vibraphone at right 100 ahead 60\n    bass-drum-pedal at right 10 ahead 50\n  R vibraphone | 1 2. | 3. | 1 2. | 2\n  RF bass-drum-pedal | 1 | 2 | 3 4\n  L xylophone | 3 | 1 | 4 | 1\n  LF hi-hat | 2 4 | 2 4\n",
			"tempo 90\nplayer Ida\n  R egg-shaker | 1 2 3 4 | 1 2 | - | 1\n  L cowbell | 1 3 | 2 | 1 | 2\n  L whistle | 2 | - | 1 | 1\n  from 5\n  R whip | 1 | 2\n  R crash-cymbals | 3 | 4\n",
			"tempo 90\nplayer Ida\n  damps triangle at 2.1\n  turns page at 3.4\n  R triangle | 1 2 | - | 1. | -\n  L suspended-cymbal | 3. | 1x | 2 | 2.\n  from 5\n  L triangle | 1 2. | 3.\n")
	}
	return texts
}

// sameWay says whether two ways are of the same cue in two times, and played by as much.
func sameWay(a, b Chosen) bool {
	return a.First.index == b.First.index && a.Cue == b.Cue && a.Way == b.Way && a.Choice == b.Choice && a.Count == b.Count && a.Rolled == b.Rolled && a.Substitute == b.Substitute
}

// A path in another time is the one that is found from nothing, to the last field, whatever is
// edited between; and mostly nothing is tried anew for it.
func TestAPathInAnotherTimeIsTheOneFromNothing(t *testing.T) {
	defer func(n, options int) { haltEvery, tooManyOptions = n, options }(haltEvery, tooManyOptions)
	pieces, seeds := 300, 4
	if testing.Short() {
		pieces, seeds = 60, 1
	}
	slower, others, stages, kept := 0, 0, 0, 0
	alike, different := 0, 0 // who plays all as before, and who does not
	for n, text := range timesTexts(t, pieces) {
		for seed := range seeds {
			rnd := rand.New(rand.NewPCG(uint64(n), 41+uint64(seed)))
			haltEvery, tooManyOptions = 1+(n+seed)%7, []int{4096, 4096, 4096, -1000}[(n+seed)%4]
			text = "# as it goes\n" + text
			file := syntax.Parse(text)
			last := score.Bind("t", file, nil, score.Options{Remember: true})
			were := make([]*Result, len(last.Players))
			for i, p := range last.Players {
				were[i] = SolveAfter(nil, last, p, nil)
			}
			for range 8 {
				other := inAnotherTime(rnd, file.Text())
				if rnd.IntN(5) == 0 {
					other = otherwise(rnd, file.Text(), text)
				}
				file = syntax.Reparse(other, file)
				now := score.Bind("t", file, nil, score.Options{Remember: true, Earlier: last})
				for i, p := range now.Players {
					ways := waysKept(were[i])
					fresh, got := Solve(now, p), SolveAfter(were[i], now, p, nil)
					require.Equal(t, ways, waysKept(were[i]), "others may go on from it too\n%s", file.Text())
					sameStages(t, now, p, got)
					if was, is := were[i], got.course; tooManyOptions > 0 && was != nil && was.course != nil && is != nil && was.Player == p && len(is.steps) > 0 && len(is.steps) == len(was.course.steps) && !was.course.time.Equal(now.Time) {
						others++
						if is.steps[0] == was.course.steps[0] && is.steps[0] != nil {
							slower++
							for si := range is.steps {
								stages++
								if is.steps[si] == was.course.steps[si] && is.steps[si] != nil {
									kept++
								}
							}
						}
					}
					if was := were[i]; was != nil && was.Player == p {
						switch as := got.PlaysAs(was); {
						case as:
							require.True(t, slices.EqualFunc(was.Chosen, got.Chosen, sameWay), "%s plays otherwise in\n%s", p.Name, file.Text)
							alike++
						case !slices.EqualFunc(was.Chosen, got.Chosen, sameWay):
							different++
						}
					}
					were[i] = got
					got = &Result{}
					*got = *were[i]
					got.course = nil
					if !reflect.DeepEqual(fresh, got) {
						require.Equal(t, fresh.Changes, got.Changes, "%s\n%s", p.Name, file.Text())
						require.Equal(t, fresh.Cannot, got.Cannot, "%s\n%s", p.Name, file.Text())
						t.Fatalf("%s has another path in\n%s", p.Name, file.Text())
					}
				}
				were = were[:len(now.Players)]
				last = now
			}
		}
	}
	t.Logf("%d of %d in another time, %d of %d stages", slower, others, kept, stages)
	t.Logf("%d play all as before, %d do not", alike, different)
	require.Greater(t, alike, others/4)
	require.Greater(t, different, others/8)
	require.Greater(t, slower*2, others, "few went on in another time")
	require.Greater(t, kept*2, stages, "few stages were kept")
}
