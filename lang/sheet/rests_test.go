package sheet

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// However many bars a rest has, from two on, the last two before the entry are open,
// with what is best heard of the others in them, and how many bars are left counts down
// to the entry from the first.
func TestTheLastBarsOfARestAreCued(t *testing.T) {
	for bars := 1; bars <= 9; bars++ {
		text := fmt.Sprintf("tempo 90\nplayer Ida\n  R snare-drum | 1 2 3 4 | -%d | 1\nplayer Per\n  R bass-drum | %s pp 1 2 3 4\n  L triangle | %s f 1 3\n",
			bars, strings.Repeat("pp 1 2 3 4 | ", bars+1), strings.Repeat("f 1 3 | ", bars+1))
		r := checked("rests", text)
		require.Empty(t, r.Score.Problems, text)
		v := newPart(r, 0, standardFaces())
		var open []block
		down := 0
		for _, b := range v.blocks() {
			switch {
			case b.rest:
				assert.Equal(t, bars-2, b.to-b.from+1, "of %d", bars)
				down = b.left
			case b.cue != nil:
				open = append(open, b)
			}
		}
		if bars < restOfMany {
			assert.Empty(t, open, "a bar of rest is counted by itself")
			continue
		}
		require.Len(t, open, 2, "of %d", bars)
		assert.Equal(t, []int{2, 1}, []int{open[0].left, open[1].left})
		assert.Equal(t, bars+1, open[1].from, "the last before the entry")
		if bars > 2 {
			assert.Equal(t, 2, down, "what is left behind the rest that is drawn as one")
		}
		for _, b := range open {
			assert.Equal(t, "triangle", b.cue.cue.Item.Inst.ID, "loud and of metal, and not what is soft and busy")
			assert.Len(t, b.cue.at, 2)
		}
		// On the page: a ring for each stroke where its time is, the numbers, and who it is.
		doc := v.cues(Papers()[0])
		rings, numbers, who := 0, map[string]int{}, 0
		for _, it := range doc.Pages[0].Items {
			switch {
			case it.Part == cueArt:
				rings++
			case it.Part == countArt && it.Bold:
				numbers[it.Text]++
			case strings.HasPrefix(it.Text, "Per: ") || strings.HasPrefix(it.Text, "cue: Per, "):
				who++
			}
		}
		assert.Equal(t, 4, rings, "of %d", bars)
		assert.Equal(t, 1, who, "who it is, once")
		assert.Equal(t, map[string]int{"2": 1, "1": 1}, numbers)
		said := fmt.Sprint(doc.Pages[0].Said)
		for _, s := range doc.Pages[0].Said {
			if s.Table != nil {
				said += strings.Join(s.Table.Head, "\n")
			}
		}
		assert.Contains(t, said, "rest, 1 bar to the entry; Per has the triangle at 1 3")
	}
}

// Where nobody else plays a rest is drawn as one, and so is one that nothing follows.
func TestARestWithoutAnythingToHearIsOne(t *testing.T) {
	for text, rests := range map[string]int{
		"tempo 90\nplayer Ida\n  R snare-drum | 1 | -4 | 1\n":                                                                1,
		"tempo 90\nbars 6\nplayer Ida\n  R snare-drum | 1\nplayer Per\n  R triangle | 1 | 1 | 1 | 1 | 1 | 1\n":               1,
		"tempo 90\nplayer Ida\n  R snare-drum | 1 | -4 | 1\nplayer Per\n  R triangle | 1 | 1 | - | - | - | 1\n":              1,
		"tempo 90\nmark A at 4\nplayer Ida\n  R snare-drum | 1 | -4 | 1\nplayer Per\n  R triangle | 1 | 1 | 1 | 1 | 1 | 1\n": 1,
	} {
		r := checked("rests", text)
		require.Empty(t, r.Score.Problems, text)
		got := 0
		for _, b := range newPart(r, 0, standardFaces()).blocks() {
			if b.rest {
				got++
			}
		}
		assert.Equal(t, rests, got, text)
	}
}
