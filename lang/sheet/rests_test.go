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
			require.Len(t, open, 1)
			assert.True(t, open[0].lone)
			for _, it := range v.cues(Papers()[0]).Pages[0].Items {
				assert.NotEqual(t, cueArt, it.Part, "there is no room for who it is")
			}
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
		// On the page: a small note for each stroke where its time is, the numbers, and who it is.
		doc := v.cues(Papers()[0])
		small, numbers, who := 0, map[string]int{}, 0
		for _, it := range doc.Pages[0].Items {
			switch {
			case it.Part == cueArt:
				small++
			case it.Part == countArt && it.Bold:
				numbers[it.Text]++
			case strings.HasPrefix(it.Text, "Per: ") || strings.HasPrefix(it.Text, "cue: Per, "):
				who++
			}
		}
		assert.Equal(t, 4, small, "of %d", bars)
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

// A bar of rest that the right hand counts while the left one has a line of its own, or
// that both have, opens with what others play in it too, and says what that is.
func TestABarOfRestIsCuedWhereItHasRoom(t *testing.T) {
	r := checked("rests", "tempo 90\nplayer Ida\n  R snare-drum | 1 2 3 4 | - | 1 2 3 4 | - | 1\n  L woodblock | 1 2 3 4 | - | 1 2 3 4 | - | 1\nplayer Per\n  L triangle | f 1 | 1 2& 3 4 4& | 1 | 1 3 | 1\n")
	require.Empty(t, r.Score.Problems)
	v := newPart(r, 0, standardFaces())
	doc := v.cues(Papers()[0])
	heads, who, numbers := 0, 0, 0
	for _, it := range doc.Pages[0].Items {
		switch {
		case it.Part == cueArt:
			heads++
			assert.Equal(t, outlined, it.Kind, "a note and no ring")
		case it.Part == countArt && it.Bold:
			numbers++
		case strings.HasPrefix(it.Text, "Per: Tri."):
			who++
		}
	}
	assert.Equal(t, []int{7, 1, 0}, []int{heads, who, numbers}, "notes, who it is once, and nothing to count down")
}

// What others play is written in note values: where each begins its time is, and the
// values are those of its rhythm.
func TestCuesAreNotes(t *testing.T) {
	r := checked("cues", "tempo 90\nplayer Ida\n  R snare-drum | 1 | - | - | 1\nplayer Per\n  L triangle | 1 | f 1 2& 3 3& 4~ | 1~ | 1\n")
	require.Empty(t, r.Score.Problems)
	v := newPart(r, 0, standardFaces())
	var values []string
	for _, b := range v.blocks() {
		if b.cue == nil {
			continue
		}
		w := v.cueVoice(&b)
		require.True(t, w.ok)
		for _, n := range w.bar.Notes {
			if n.Rest() {
				continue
			}
			text := fmt.Sprint(b.from, ":", w.place(&n).Sub(b.start), "/", 1<<max(0, n.Value.Base))
			if w.tones[n.Event].at.Less(w.tones[n.Event].end) {
				text += "~"
			}
			values = append(values, text)
		}
	}
	assert.Equal(t, []string{"2:0/4", "2:3/8/8", "2:1/2/8", "2:5/8/8", "2:3/4/4~", "3:0/1~"}, values)
}

// Bars of rest are counted down to the entry, through marks and changes of tempo, and
// not through where the road turns.
func TestRestsAreCountedDownToTheEntry(t *testing.T) {
	for _, was := range []struct{ head, downs string }{
		{"mark A at 6\ntempo 80 from 8\n", "2-5:8 7 6 5|6-7:4 3|8-9:2 1"},
		{"repeat 1-5\n", "2-5:4 3 2 1|6-9:4 3 2 1"},
		{"mark A at 3\n", "2-2:8|3-9:7 6 5 4 3 2 1"},
	} {
		r := checked("rests", was.head+"tempo 90\nplayer Ida\n  R snare-drum | 1 2 3 4 | -8 | 1\n")
		var got []string
		for _, b := range newPart(r, 0, standardFaces()).blocks() {
			if b.rest || b.left > 0 {
				var down []string
				for n := b.to - b.from + 1 + b.left; n > b.left; n-- {
					down = append(down, fmt.Sprint(n))
				}
				got = append(got, fmt.Sprintf("%d-%d:%s", b.from, b.to, strings.Join(down, " ")))
			}
		}
		assert.Equal(t, was.downs, strings.Join(got, "|"), was.head)
	}
}

// Bars that come again fold with a bar of rest among them, and with words that only come
// again; other words are never folded away.
func TestPhrasesWithARestFold(t *testing.T) {
	folds := func(text string) (out []string) {
		r := checked("folds", text)
		require.Empty(t, r.Score.Problems, text)
		for _, b := range newPart(r, 0, standardFaces()).blocks() {
			if b.fold > 0 {
				out = append(out, fmt.Sprintf("%d-%d by %d", b.from, b.to, b.fold))
			}
		}
		return out
	}
	const others = "player Per\n  R triangle | 1 | 1 | 1 | 1 | 1 | 1 | 1 | 1\n"
	assert.Equal(t, []string{"3-8 by 2"}, folds("tempo 90\nplayer Ida\n  R snare-drum | 1 2 | - | 1 2 | - | 1 2 | - | 1 2 | - | 1 2 3\n"+others))
	assert.Equal(t, []string{"3-8 by 2"}, folds("tempo 90\npart \"P\"\n  snare-drum | \"rim\" 1 | 1 2 | %2 x3\nplayer Ida\n  R snare-drum as written\n"))
	assert.Equal(t, []string{"3-6 by 2"}, folds("tempo 90\nplayer Ida\n  kit\n    snare-drum on stand at ahead 40\n    triangle clipped at left 30 ahead 40\n    table at right 30 ahead 20\n  R snare-drum | - | 1 | - | 1 | - | 1 | - | 1 | - | -\n  from 11\n  R triangle with triangle-beater | 1\n"), "what begins on the first count of a bar breaks the fold")
	assert.Equal(t, []string{"2-3 by 1", "5-9 by 1"}, folds("tempo 90\npart \"P\"\n  snare-drum | \"rim\" 1 | 1 | 1 | \"head\" 1 | 1 | % x4\nplayer Ida\n  R snare-drum as written\n"))
}
