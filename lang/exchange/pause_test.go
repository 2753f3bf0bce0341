package exchange

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/internal/outside"
	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

var (
	oneNote   = regexp.MustCompile(`(?s)<note.*?</note>`)
	pauseSign = regexp.MustCompile(`<fermata/>|<caesura/>`)
)

// Fermatas and caesuras stand on rests where nobody strikes, on a second voice
// where the first has nothing there, on a roll that is divided for them, and in
// bars in which nothing is played; and they come in again where they were.
func TestPausesStandOnRestsToo(t *testing.T) {
	for what, c := range map[string]struct {
		head, lines string
		want        string // what the signs stand on, in order
	}{
		"over a rest":               {"hold 1.2", "  R snare-drum with snare-stick | 1 | 1\n", "rest fermata"},
		"over a silent bar":         {"hold 2.1", "  R snare-drum with snare-stick | 1 | - | 1\n", "rest fermata"},
		"in a silent bar":           {"hold 2.2&", "  R snare-drum with snare-stick | 1 | - | 1\n", "rest fermata"},
		"behind a silent bar":       {"break 3.1", "  R snare-drum with snare-stick | 1 | - | 1\n", "rest caesura"},
		"behind a rest":             {"break 1.3", "  R snare-drum with snare-stick | 1 3 | 1\n", "rest caesura"},
		"in the second voice":       {"hold 1.3", "  R snare-drum with snare-stick | 1 | 1\n  L triangle clipped with triangle-beater | 3 | -\n", "note fermata"},
		"in the midst of a roll":    {"hold 1.3&", "  R suspended-cymbal with yarn-mallet | 1~ | 1\n", "note fermata"},
		"both at one place":         {"hold 1.2\nbreak 1.3", "  R snare-drum with snare-stick | 1 2 3 | 1\n", "note fermata, note caesura"},
		"behind the last bar but 1": {"break 3.1", "  R snare-drum with snare-stick | 1 | 1 | -\n", "rest caesura"},
		"in a pickup":               {"pickup 2\nhold 0.3", "  from 0\n  R snare-drum with snare-stick | 4 | 1\n", "rest fermata"},
		"where none plays at all":   {"hold 2.3\nbreak 2.1", "  R snare-drum with snare-stick | - x3\n", "rest caesura, rest fermata"},
	} {
		text := "meter 4/4\ntempo 96\nbars 3\n" + c.head + "\nplayer Ida\n" + c.lines
		r := check.Check("x.handful", syntax.Parse(text), check.Options{})
		require.Empty(t, r.Score.Problems, what)
		data, told, err := MusicXML(r, MusicXMLOptions{})
		require.NoError(t, err, what)
		assert.NotContains(t, fmt.Sprint(told), "fermata", what)
		assert.NotContains(t, fmt.Sprint(told), "caesura", what)
		var got []string
		for _, n := range oneNote.FindAllString(string(data), -1) {
			for _, sign := range pauseSign.FindAllString(n, -1) {
				on := "note "
				if strings.Contains(n, "<rest") {
					on = "rest "
				}
				got = append(got, on+strings.Trim(sign, "</>"))
			}
		}
		assert.Equal(t, c.want, strings.Join(got, ", "), "%s\n%s", what, data)
		if strings.Contains(c.lines, "- x3") {
			continue // without a stroke it is no part for percussion to a reader
		}
		back, lost, err := written.Text(data, written.Options{})
		require.NoError(t, err, what)
		assert.Empty(t, lost, what)
		is := score.Bind("is.handful", syntax.Parse(back), nil, score.Options{})
		assert.Equal(t, places(r.Score), places(is), "%s\n%s", what, back)
		assert.Equal(t, played(r.Score), ofParts(is), "%s\n%s", what, back)
	}
}

// places are where a piece has its pauses.
func places(s *score.Score) string {
	var out []string
	for _, p := range s.Pauses {
		out = append(out, fmt.Sprintf("%s break=%t", p.At, p.Break))
	}
	return sorted(out)
}

// Wherever a pause stands, it comes in again at its place, or it is told.
func TestPausesComeBackOrAreTold(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		text := piece(t)
		bars := strings.Count(strings.SplitN(strings.SplitN(text, "  R ", 2)[1], "\n", 2)[0], "|")
		var head strings.Builder
		for range rapid.IntRange(1, 3).Draw(t, "pauses") {
			fmt.Fprintf(&head, "%s %d.%d%s\n", rapid.SampledFrom([]string{"hold", "break"}).Draw(t, "word"), rapid.IntRange(1, bars).Draw(t, "bar"),
				rapid.IntRange(1, 3).Draw(t, "count"), rapid.SampledFrom([]string{"", "&", "t", "+2/5"}).Draw(t, "behind"))
		}
		text = strings.Replace(text, "player Ida", head.String()+"player Ida", 1)
		was, is, told, back := thereAndBack(t, text)
		if is == nil {
			return
		}
		there := map[string]bool{}
		for line := range strings.Lines(places(is)) {
			there[strings.TrimSpace(line)] = true
		}
		left := map[string]bool{}
		for _, p := range was.Score.Pauses {
			if at := fmt.Sprintf("%s break=%t", p.At, p.Break); !there[at] {
				left[at] = true
			}
		}
		if missing := strings.Count(fmt.Sprint(told), "no part has a note or a rest for it"); missing != len(left) {
			t.Fatalf("%d are told, and not there are %v\n%s\n%s", missing, left, text, back)
		}
	})
}

// A caesura before everything has nothing that it could stand behind: it is
// listed with its bar.
func TestAPauseThatHasNoPlaceIsTold(t *testing.T) {
	text := "meter 4/4\ntempo 96\nbars 2\nprinted \"5\" at 1\nbreak 1.1\nplayer Ida\n  R snare-drum with snare-stick | 1 | 1\n"
	r := check.Check("x.handful", syntax.Parse(text), check.Options{})
	require.Empty(t, r.Score.Problems)
	_, told, err := MusicXML(r, MusicXMLOptions{})
	require.NoError(t, err)
	assert.Contains(t, told, "left out: the caesura at bar 1 (in print 5), count 1: no part has a note or a rest for it")
}

// With signs on rests and in rests of their own a part is valid all the same.
func TestPausesOnRestsAreValid(t *testing.T) {
	outside.Need(t, "xmllint")
	text := "meter 4/4\ntempo 96\nbars 4\nhold 2.2&\nbreak 3.1\nhold 3.3\nplayer Ida\n  R snare-drum with snare-stick | 1 | - | 1> | -\n"
	data, _, err := MusicXML(check.Check("x.handful", syntax.Parse(text), check.Options{}), MusicXMLOptions{})
	require.NoError(t, err)
	valid(t, "pauses", data)
}
