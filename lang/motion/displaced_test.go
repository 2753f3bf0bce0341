package motion

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

var placeSaid = regexp.MustCompile(`(left|right|ahead|behind|up|down) \d+`)

// elsewhereInAKit puts something of a kit, a table or a station elsewhere in a text: mostly a
// little, now and then out of reach, higher, or so low that one has to bend.
func elsewhereInAKit(rnd *rand.Rand, text string) string {
	lines := strings.Split(text, "\n")
	var may []int
	for i, l := range lines {
		if strings.HasPrefix(l, "    ") && !strings.Contains(l, "|") && placeSaid.MatchString(l) {
			may = append(may, i)
		}
	}
	if len(may) == 0 {
		return text
	}
	at := may[rnd.IntN(len(may))]
	if rnd.IntN(6) == 0 {
		lines[at] = regexp.MustCompile(` (up|down) \d+`).ReplaceAllString(lines[at], "")
		if rnd.IntN(2) == 0 {
			lines[at] += []string{" up ", " down "}[rnd.IntN(2)] + fmt.Sprint(20+rnd.IntN(60))
		}
		return strings.Join(lines, "\n")
	}
	said := placeSaid.FindAllStringIndex(lines[at], -1)
	where := said[rnd.IntN(len(said))]
	word, number, _ := strings.Cut(lines[at][where[0]:where[1]], " ")
	var n int
	if _, err := fmt.Sscan(number, &n); err != nil {
		return text
	}
	switch rnd.IntN(8) {
	case 0:
		n = rnd.IntN(220)
	case 1:
		word = map[string]string{"left": "right", "right": "left", "ahead": "behind", "behind": "ahead", "up": "up", "down": "down"}[word]
	default:
		n = max(0, n-8+rnd.IntN(17))
	}
	lines[at] = lines[at][:where[0]] + fmt.Sprintf("%s %d", word, n) + lines[at][where[1]:]
	return strings.Join(lines, "\n")
}

// kitOtherwise gives something of a kit another mount, turns it, or adds something to the kit.
func kitOtherwise(rnd *rand.Rand, text string) string {
	lines := strings.Split(text, "\n")
	var may []int
	for i, l := range lines {
		if strings.HasPrefix(l, "    ") && !strings.Contains(l, "|") && placeSaid.MatchString(l) && !strings.Contains(l, "station") {
			may = append(may, i)
		}
	}
	if len(may) == 0 {
		return text
	}
	at := may[rnd.IntN(len(may))]
	switch rnd.IntN(4) {
	case 0:
		lines[at] += " facing " + []string{"left", "right", "behind"}[rnd.IntN(3)]
	case 1:
		return strings.Join(slices.Insert(lines, may[len(may)-1]+1, "    maracas at right 45 ahead 20"), "\n")
	default:
		mount := []string{" clamped", " on stand", " hung", " on floor", ""}
		for _, m := range mount[:4] {
			lines[at] = strings.Replace(lines[at], m+" at", " at", 1)
		}
		lines[at] = strings.Replace(lines[at], " at", mount[rnd.IntN(len(mount))]+" at", 1)
	}
	return strings.Join(lines, "\n")
}

// displacedTexts are pieces in which it matters where things stand, and what is laid where.
var displacedTexts = []string{
	"tempo 90\nplayer Ida\n  kit\n    woodblock clamped at left 20 ahead 40\n    cowbell clamped at right 20 ahead 40\n    triangle hung at right 40 ahead 45\n    table at right 40 ahead 20\n  R woodblock with snare-stick | 1 2 3 | 1 - x2 | 2 4\n  L cowbell with snare-stick | 2 | 1 | 3 | 4\n  from 5\n  R triangle with triangle-beater | 1. 3. | 2.\n  L woodblock with rubber-mallet | 2 | 1 3\n",
	"tempo 140\nplayer Ida\n  kit\n    snare-drum on stand at ahead 40\n    egg-shaker at right 30 ahead 40 down 38\n    cowbell at left 30 ahead 50\n    table at left 40 ahead 30\n  R egg-shaker | 1 2 | - | 1 2 | 3\n  L cowbell | 1 | 2 3 | 4 | 1\n  R snare-drum with snare-stick | 4 | 1 2 | - | 1\n  from 5\n  L egg-shaker | 1 2 | 3\n  R cowbell | 4 | 1\n",
	"tempo 100\nplayer Ida\n  kit\n    bass-drum at left 90 ahead 40\n    tam-tam at right 90 ahead 60\n    tambourine at right 20 ahead 40\n    table at left 20 ahead 50\n  R tam-tam | 1 | - | 2 | 4\n  L bass-drum | 3 | 1~ | 4 | 2\n  R tambourine | 3 | 4 | - | 1\n  damps tam-tam at 2.4\n  turns page at 4.3\n",
	"tempo 100\nplayer Ida\n  kit\n    crash-cymbals on floor at right 40 ahead 30\n    triangle at right 30 ahead 30\n    snare-drum on stand at ahead 40\n    table at right 60 ahead 0 up 60\n  RL crash-cymbals | 1 | - | 3 | -\n  R snare-drum | 4 | 1 2 | - | 1 2\n  L triangle | - | 3 | - | 4\n",
	"tempo 100\nplayer Ida\n  kit\n    tom-toms:low at right 70 ahead 20\n    tom-toms:high at left 60 ahead 20\n    cowbell clamped at right 40 ahead 60\n  R tom-toms with snare-stick | 1 | 2 3 | 1 | 4\n  L cowbell | 2 | 3 | 1 | 1\n",
	"tempo 100\nplayer Ida\n  kit\n    bass-drum-pedal at right 10 ahead 40\n    hi-hat at left 20 ahead 40\n    cajon at ahead 20\n    woodblock at right 40 ahead 50\n  RF bass-drum-pedal | 1 3 | 2 | 1 3 | 4\n  LF hi-hat | 2 4 | 1 | - | 3\n  R woodblock | 1 | 2 | 1 2 | 3\n  L cajon | 2 | - | 3 | 1\n",
	"tempo 100\nplayer Ida\n  kit\n    station far at right 120\n    bass-drum-pedal at right 50 ahead 29\n    hi-hat at right 65 ahead 30\n    woodblock at right 60 ahead 40\n    triangle at far ahead 40\n    cowbell at ahead 40\n  RF bass-drum-pedal | 1 3 | - | 1 3 | 4\n  LF hi-hat | 2 4 | - | 1 | -\n  R woodblock | 1 | 2 | - | 3\n  L triangle | - | 4 | - | 1\n  R cowbell | - | - | 3 | -\n",
	"tempo 160\nplayer Ida\n  kit\n    woodblock clamped at right 20 ahead 40\n    cowbell clamped at right 20 ahead 40\n  R woodblock with snare-stick | 1 - | 3 | 1 | 4\n  R cowbell with snare-stick | 2 4 | - | 2 3 | 2\n  L woodblock with snare-stick | 2 | - | 4 | -\n",
	"tempo 100\nplayer Ida\n  R tom-toms with snare-stick | 1 | 2 3 | 1 | 4\n  kit\n    cowbell clamped at right 40 ahead 60\n    snare-drum at ahead 40\n  L cowbell | 2 | 3 | 1 | 1\n  RL tom-toms with snare-stick | - | - | 2~ | -\n  R snare-drum | - | 4 | - | 2\n",
}

// A path with things that stand elsewhere is the one that is found from nothing, to the last
// field, whatever else is edited between; and mostly nothing is tried anew for it.
func TestAPathWithThingsElsewhereIsTheOneFromNothing(t *testing.T) {
	defer func(n, options int) { haltEvery, tooManyOptions = n, options }(haltEvery, tooManyOptions)
	pieces, seeds := 300, 3
	if testing.Short() {
		pieces, seeds = 60, 1
	}
	texts := timesTexts(t, pieces)
	for range 20 {
		texts = append(texts, displacedTexts...)
	}
	displaced, again, stages, kept := 0, 0, 0, 0
	for n, text := range texts {
		for seed := range seeds {
			rnd := rand.New(rand.NewPCG(uint64(n), 83+uint64(seed)))
			haltEvery, tooManyOptions = 1+(n+seed)%7, []int{4096, 4096, 4096, -1000}[(n+seed)%4]
			file := syntax.Parse(text)
			last := score.Bind("t", file, nil, score.Options{Remember: true})
			were := make([]*Result, len(last.Players))
			for i, p := range last.Players {
				were[i] = SolveAfter(nil, last, p, nil)
			}
			for range 8 {
				other := elsewhereInAKit(rnd, file.Text())
				switch rnd.IntN(12) { // or something else in one go with it
				case 0:
					other = otherwise(rnd, other, text)
				case 1:
					other = inAnotherTime(rnd, other)
				case 2:
					other = kitOtherwise(rnd, other)
				case 3:
					other = otherwise(rnd, file.Text(), text)
				}
				file = syntax.Reparse(other, file)
				now := score.Bind("t", file, nil, score.Options{Remember: true, Earlier: last})
				if len(now.Players) != len(were) {
					break
				}
				for i, p := range now.Players {
					fresh, got := Solve(now, p), SolveAfter(were[i], now, p, nil)
					sameStages(t, now, p, got)
					if was, is := were[i].course, got.course; was != nil && is != nil && tooManyOptions > 0 && was.time.Equal(now.Time) && slightlyElsewhere(was, is) {
						displaced++
						if len(is.steps) > 0 && keptWays(was.steps[:1], is.steps[:1]) == 1 {
							again++
							stages += len(is.steps)
							kept += keptWays(was.steps, is.steps)
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
				last = now
			}
		}
	}
	t.Logf("%d of %d with things elsewhere, %d of %d stages", again, displaced, kept, stages)
	require.Greater(t, again*2, displaced, "few went on with things elsewhere")
	require.Greater(t, kept*2, stages, "few stages were kept")
}

// slightlyElsewhere says whether nothing but where things stand has changed from one course to
// another, and the player stands where it did.
func slightlyElsewhere(was, is *course) bool {
	return !sameSetUp(was.player, is.player) && displacedThings(was.player, is.player) != nil && reflect.DeepEqual(was.places, is.places) && len(was.steps) == len(is.steps)
}

// keptWays is how many steps have the very ways of before.
func keptWays(was, is []*step) (n int) {
	for i, s := range is {
		if w := was[i]; w != nil && s != nil && len(w.ways) > 0 && len(s.ways) > 0 && &w.ways[0] == &s.ways[0] {
			n++
		}
	}
	return n
}
