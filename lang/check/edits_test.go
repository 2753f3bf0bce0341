package check

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// told is all that people are told of what was found.
func told(r *Result) string {
	var b strings.Builder
	for i := range r.Findings {
		f := &r.Findings[i]
		fmt.Fprintf(&b, "%+v %s %s %s %s %s: %s\n", f.Where, f.Severity, f.Rule.Name, f.Player, f.Limb, f.Place(), f.Message())
		for _, n := range f.Related {
			fmt.Fprintf(&b, "  %+v %s\n", n.Where, n.Message())
		}
	}
	fmt.Fprintf(&b, "%d accepted\n", r.Accepted)
	return b.String()
}

// putIn are lines that people put into a piece.
var putIn = []string{
	"meter 3/4", "meter 6/8 from 3", "pickup 1/4", "bars 9", "bars 2", "tempo 40", "tempo 1/4 = 200", "tempo 60 to 150 over 2-4", "tempo 1/4 = 96 from 3",
	"mark Z at 2", "mark A at 3", "repeat 1-2", "repeat 2-3 x3", "ending 1 2-2", "vamp 2-2", "order 1-2 1-2", "pause 2.1", "break 3",
	"title \"Another\"", "note \"breathe\" at 2", "printed \"11\" at 1", "kit", "part \"Percussion 2\"", "part \"Another\"", "player P2", "player Another",
	"profile professional", "reach 40", "  from 2", "  from A", "  from 3 pass 2", "  woodblock clamped at left 30 ahead 40", "  snare-drum at right 20 ahead 40", "  sd is snare-drum",
	"  woodblock | 1 2 | % | -", "  triangle | mf 1 2& 3 | 1~ | ~2", "    | 1 | 2", "  R woodblock with snare-stick as written", "  L triangle clipped | 1 | 2 | 3",
	"  RL snare-drum | 1 1& 2 2& | 1~", "  R holds snare-stick", "  L takes yarn-mallet at 2.1", "  R lays it at 3", "  E turns page at 2.3", "  RF bass-drum | 1 3 | 1 3",
	"omit triangle in 2-3 because \"too much\"", "accept short-change because \"rehearsed\"", "accept too-fast at 2 because \"x\"", "together snare-drum in 1-2", "gear", "  2 snare-drum",
	"instrument box is woodblock", "implement twig is snare-stick", "use \"other.handful\"", "Woodblok | 1 | 2", "\"", "| 1", "from",
}

// An edit changes a text as people do: in the music, in the head, in a kit, in
// what means nothing.
func edited(rnd *rand.Rand, text string) string {
	all := strings.Split(text, "\n")
	i := rnd.IntN(len(all))
	put := func(at int, lines ...string) { all = slices.Insert(all, at, lines...) }
	line := all[i]
	switch rnd.IntN(19) {
	case 16, 17, 18:
		all = tuned(rnd, all)
	case 0, 1:
		put(i, "")
	case 2:
		put(i, strings.Repeat(" ", rnd.IntN(4))+"# a remark")
	case 3:
		all[i] += []string{" ", " # why", "# ", "\t"}[rnd.IntN(4)]
	case 4: // what means nothing goes
		for k, l := range all {
			if code, _, has := strings.Cut(l, "#"); has && !strings.Contains(code, "|") || l == "" && k > i {
				all = slices.Delete(all, k, k+1)
				break
			}
		}
	case 5:
		all = slices.Delete(all, i, i+1)
	case 6, 7:
		put(i, putIn[rnd.IntN(len(putIn))])
	case 8:
		put(i, line)
	case 9: // Enter, anywhere
		at := rnd.IntN(len(line) + 1)
		all[i] = line[:at]
		put(i+1, line[at:])
	case 10:
		if i+1 < len(all) {
			all[i] += all[i+1]
			all = slices.Delete(all, i+1, i+2)
		}
	case 11:
		if k := rnd.IntN(len(all)); true {
			all[i], all[k] = all[k], all[i]
		}
	case 12:
		all[i] = strings.NewReplacer("  R ", "  L ", "  L ", "  R ").Replace(line)
	case 13: // another digit
		if at := strings.IndexAny(line, "0123456789"); at >= 0 {
			all[i] = line[:at] + string(rune('1'+rnd.IntN(6))) + line[at+1:]
		}
	case 14: // a letter less, or one typed
		if at := rnd.IntN(len(line) + 1); at < len(line) && rnd.IntN(2) == 0 {
			all[i] = line[:at] + line[at+1:]
		} else {
			all[i] = line[:at] + string("1 2&|-%~aR#"[rnd.IntN(11)]) + line[at:]
		}
	case 15:
		if at := strings.Index(line, "|"); at >= 0 {
			all[i] = line[:at] + "| 1 2& 4 " + line[at:]
		}
	}
	return strings.Join(all, "\n")
}

// tuned changes one of the lines that say how things are, in the head, in a kit, of a
// person, or a mark: a number, a side, how a thing is fixed; or takes it away.
func tuned(rnd *rand.Rand, all []string) []string {
	var may []int
	for i, l := range all {
		word, _, _ := strings.Cut(strings.TrimSpace(l), " ")
		if slices.Contains([]string{"meter", "tempo", "bars", "mark", "repeat", "ending", "vamp", "pause", "pickup", "profile", "reach", "accept", "omit", "from"}, word) ||
			strings.Contains(l, " at ") || strings.Contains(l, " ahead ") || strings.Contains(l, " as written") {
			may = append(may, i)
		}
	}
	if len(may) == 0 {
		return all
	}
	i := may[rnd.IntN(len(may))]
	line := all[i]
	switch rnd.IntN(5) {
	case 0:
		return slices.Delete(all, i, i+1)
	case 1:
		all[i] = strings.NewReplacer(" left ", " right ", " right ", " left ", " clipped ", " hung ", " clamped ", " ", " as written", " as written in 1-2").Replace(line)
	case 2: // another blank: all that stands behind it stands elsewhere
		if at := strings.LastIndex(line, " "); at >= 0 {
			all[i] = line[:at] + " " + line[at:]
		}
	default:
		var digits []int
		for k, c := range line {
			if c >= '0' && c <= '9' {
				digits = append(digits, k)
			}
		}
		if len(digits) > 0 {
			at := digits[rnd.IntN(len(digits))]
			all[i] = line[:at] + string(rune('0'+rnd.IntN(10))) + line[at+1:]
		}
	}
	return all
}

// pieces are the texts that edits begin with: the rules' own examples, those of
// the project, and one that is longer.
func pieces(t *testing.T) []string {
	out := []string{band(16)}
	for _, r := range Rules() {
		out = append(out, r.Trips, r.Passes)
	}
	names, err := filepath.Glob("../../examples/*.handful")
	require.NoError(t, err)
	for _, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		out = append(out, string(text))
	}
	return out
}

// Whatever is edited in whatever piece, checking again finds what a check afresh
// finds, and what is moved along is what a check afresh tells.
func TestAnyEditsAreAsAFreshCheck(t *testing.T) {
	all, seeds := pieces(t), 3000
	if testing.Short() {
		seeds = 250
	}
	moved := 0
	for seed := range seeds {
		rnd := rand.New(rand.NewPCG(uint64(seed), 20))
		moved += editing(t, rnd, all[(seed*7)%len(all)], 6)
	}
	if moved < seeds/2 {
		t.Errorf("only %d of %d edits that say nothing were found to say nothing", moved, 6*seeds)
	}
}

func editing(t *testing.T, rnd *rand.Rand, text string, edits int) (moved int) {
	last := Check("edits.handful", syntax.Parse(text), Options{Score: score.Options{Remember: true}})
	for range edits {
		text = edited(rnd, text)
		file := syntax.Reparse(text, last.File)
		fresh := checkText(text)
		fresh.Name = last.Name
		if m := Moved(last, file); m != nil {
			moved++
			require.Equal(t, told(fresh), told(m), "moved along:\n%s", text)
			if rnd.IntN(3) > 0 {
				continue // as a server does, for which the last check stays the last
			}
		}
		last = Recheck(last, file)
		require.Equal(t, lines(fresh), lines(last), "taken over:\n%s", text)
		require.Equal(t, told(fresh), told(last), "taken over:\n%s", text)
	}
	return moved
}

// FuzzAnyEdits is the same for any chances.
func FuzzAnyEdits(f *testing.F) {
	f.Add(uint64(1), uint64(2), "tempo 60\nplayer Ida\n  R woodblock | 1 | 2\n")
	f.Fuzz(func(t *testing.T, a, b uint64, text string) {
		if len(text) > 4096 || score.Bind("fuzz.handful", syntax.Parse(text), nil, score.Options{}).Time.PlayedBars() > 1000 {
			return
		}
		editing(t, rand.New(rand.NewPCG(a, b)), text, 4)
	})
}
