package sheet

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
)

// onPage is the first page of a piece for one player: the heads from left to
// right with what each stands for, and how many half spaces it is above the
// lowest line of the staff; and the accidentals.
func onPage(t *testing.T, text, clefs string) (heads []string, signs int) {
	r := checked("staves", "tempo 60\n"+text)
	require.Empty(t, r.Score.Problems)
	doc, ok := cues(r, "Ida", Papers()[0])
	require.True(t, ok)
	require.Len(t, doc.Pages, 1)
	var lines []float64
	var marks []*item
	for i := range doc.Pages[0].Items {
		switch it := &doc.Pages[0].Items[i]; {
		case it.Kind == line && it.Line == pale && it.H == 0 && it.W == clefW:
			lines = append(lines, it.Y)
		case it.Kind == outlined && (it.Part == strokeArt || it.Part == noteArt):
			marks = append(marks, it)
		case it.Part == signArt:
			signs++
		}
	}
	slices.Sort(lines)
	require.GreaterOrEqual(t, len(lines), 5, "a staff")
	bottom := lines[4]
	slices.SortStableFunc(marks, func(a, b *item) int { return int(10 * (a.X - b.X)) })
	for _, it := range marks {
		heads = append(heads, fmt.Sprintf("%.0f", (bottom-it.Y-it.H/2)/((lines[4]-lines[0])/8)))
	}
	return heads, signs - 1 // of them the clef
}

// Places on a staff as any primer has them: in the treble clef the lowest line is
// E above middle C and the highest F, in the bass clef G and A.
func TestNotesStandOnTheLinesOfTheirClef(t *testing.T) {
	heads, signs := onPage(t, "player Ida\n  R glockenspiel | 1:E4 2:F4 3:G4 4:F5 | 1:C4 2:A5 3:F3 4:B4\n", "G")
	assert.Equal(t, []string{"0", "1", "2", "8", "-2", "10", "-6", "4"}, heads)
	assert.Zero(t, signs)
	heads, signs = onPage(t, "player Ida\n  RL timpani | 1:G2 2:A3 3:D3 4:F2\n", "F")
	assert.Equal(t, []string{"0", "8", "4", "-1"}, heads)
	assert.Zero(t, signs)
}

// An accidental holds to the end of its bar, on its own line, and the next bar
// takes it back; one that nothing changes is not written again.
func TestAccidentalsHoldForABar(t *testing.T) {
	for text, want := range map[string]int{
		"1:F#4 2:F#4 3:F#5":          2,
		"1:F#4 2:F4 3:F4":            2,
		"1:F#4 | 1:F4 2:F4":          2,
		"1:F#4 | 1:F#4":              2,
		"1:F#4 | - | 1:F4":           1,
		"1:Bb4+Eb5":                  2,
		"1:F4 2:G4":                  0,
		"1~:F#4 | ~3 4:F#4":          2,
		"1:F#4 2:Gb4 3:F#4 4:Gb4":    2,
		"1:F#4 | 1:F4 | 1:F4 | 1:F4": 2,
	} {
		_, signs := onPage(t, "player Ida\n  R glockenspiel | "+text+"\n", "G")
		assert.Equal(t, want, signs, text)
	}
}

// A head that would lie on its neighbour stands on the other side of the stem,
// and the mark of the stroke is still where the time is.
func TestSecondsStandBesideTheStem(t *testing.T) {
	r := checked("seconds", "tempo 60\nplayer Ida\n  L marimba with 2 yarn-mallets | 1:E4+F4 3:C4+E4\n")
	require.Empty(t, r.Score.Problems)
	v := newPart(r, 0, standardFaces())
	b := v.blocks()[0]
	w := v.voiceOf(&b, 1)
	aside := func(i int) (out []bool) {
		for _, h := range w.tones[i].heads {
			out = append(out, h.aside)
		}
		return out
	}
	assert.Equal(t, []bool{true, false}, aside(0))
	assert.Equal(t, []bool{false, false}, aside(1))
	doc, _ := cues(r, "Ida", Papers()[0])
	seen := map[*score.Stroke]int{}
	for _, it := range doc.Pages[0].Items {
		if it.Part == strokeArt {
			seen[it.Of]++
		}
	}
	assert.Len(t, seen, 2)
}

// Each drum of a set has its line, the lowest below, and is named once.
func TestDrumsOfASetHaveLines(t *testing.T) {
	r := checked("set", "tempo 60\nplayer Ida\n  R tom-toms | 1:high 2:middle-high 3:middle-low 4:low | 1:low 2:high\n")
	require.Empty(t, r.Score.Problems)
	doc, _ := cues(r, "Ida", Papers()[0])
	at := map[string]float64{}
	words := map[string]int{}
	for _, it := range doc.Pages[0].Items {
		switch {
		case it.Part == strokeArt:
			_, c := r.Score.Grid.Place(it.Of.At)
			at[fmt.Sprintf("%d.%s", it.Of.Bar, c)] = it.Y + it.H/2
		case it.Kind == wording:
			words[it.Text]++
		}
	}
	assert.Less(t, at["1.1"], at["1.2"])
	assert.Less(t, at["1.2"], at["1.3"])
	assert.Less(t, at["1.3"], at["1.4"])
	assert.InDelta(t, at["1.4"], at["2.1"], 0.01)
	assert.InDelta(t, at["1.1"], at["2.2"], 0.01)
	for _, name := range []string{"high", "middle-high", "middle-low", "low"} {
		assert.Equal(t, 1, words[name], name)
	}
}
