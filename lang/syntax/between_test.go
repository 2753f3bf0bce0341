package syntax

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Whatever is put in the place of whatever, what is read between what is the same is what
// is read of the whole text; and a line that is the same from the beginning or from the end
// on is the very one of before.
func TestWhatIsReadBetweenIsWhatIsReadOfTheWhole(t *testing.T) {
	words := []string{"\n", "\n", "a", "b", " ", "\n\n", "player Ida\n", "  R woodblock | 1 | 2\n", "  R woodblock | 1 | 2", "# why\n", "tempo 90", "é", "\r\n", "\r", bom, "\xff", "\x00", strings.Repeat("  L triangle | 1 2 3 | 4\n", 60)}
	edited := 0
	for seed := range 4000 {
		rnd := rand.New(rand.NewPCG(uint64(seed), 17))
		word := func() string {
			n := len(words)
			if rnd.IntN(4) > 0 {
				n = 12 // plain ones
			}
			if rnd.IntN(40) == 0 {
				return words[len(words)-1]
			}
			return words[rnd.IntN(n)]
		}
		text := ""
		for range rnd.IntN(12) {
			text += word()
		}
		file := Parse(text)
		for range 6 {
			from := rnd.IntN(len(text) + 1)
			to := min(len(text), from+rnd.IntN(4))
			put := ""
			for range rnd.IntN(3) {
				put += word()
			}
			text = text[:from] + put + text[to:]
			now, whole := Reparse(text, file), Parse(text)
			require.Equal(t, whole.Starts, now.Starts, "%q", text)
			require.Equal(t, whole.Problems, now.Problems, "%q", text)
			require.Equal(t, whole.Refused, now.Refused, "%q", text)
			textOf := func(l *Line) string { return l.Text }
			require.Equal(t, texts(whole.Lines, textOf), texts(now.Lines, textOf), "%q", text)
			if !now.Refused && !file.Refused {
				least := min(len(now.Lines), len(file.Lines))
				for i := 0; i < least && now.Lines[i].Text == file.Lines[i].Text; i++ {
					require.Same(t, file.Lines[i], now.Lines[i], "%q", text)
				}
			}
			if alone := file.Edited(from, to, put); alone != nil {
				require.Equal(t, describeFile(whole), describeFile(alone), "%q", text)
				require.Equal(t, whole.Starts, alone.Starts, "%q", text)
				require.Equal(t, len(text), alone.Size(), "%q", text)
				require.Equal(t, whole.EOL(), alone.EOL(), "%q", text)
				require.False(t, whole.Refused, "%q", text)
				if edited++; rnd.IntN(3) > 0 {
					require.Equal(t, text, alone.Text())
				}
				for i := 0; i < len(file.Lines) && file.Starts[i]+len(file.Lines[i].Text) < from; i++ {
					require.Same(t, file.Lines[i], alone.Lines[i], "%q", text)
				}
				for i := 1; i <= len(file.Lines) && file.Starts[len(file.Lines)-i] > to; i++ {
					require.Same(t, file.Lines[len(file.Lines)-i], alone.Lines[len(alone.Lines)-i], "%q", text)
				}
				now = alone
			}
			file = now
		}
	}
	require.Greater(t, edited, 10_000)
}

func texts(lines []*Line, of func(*Line) string) []string {
	var out []string
	for _, l := range lines {
		out = append(out, of(l))
	}
	return slices.Clip(out)
}

// TestWhatIsEditedKeepsNoEarlierText: a line that somebody wrote an hour ago holds no
// text of that time.
func TestWhatIsEditedKeepsNoEarlierText(t *testing.T) {
	const size, edits = 1 << 20, 64
	for _, end := range []string{"\n", "\r\n"} {
		filler := strings.Repeat("# "+strings.Repeat("so it goes ", 90)+end, size/1000)
		head := make([]string, edits)
		for i := range head {
			head[i] = "title \"Nine\"" + end
		}
		f := Parse(strings.Join(head, "") + filler)
		before := inUse()
		for i := range head {
			head[i] = fmt.Sprintf("credit \"%d\"", i) + end
			f = Reparse(strings.Join(head, "")+filler, f)
		}
		if more := inUse() - before; more > edits*size/4 {
			t.Errorf("%d edits of a text of %d bytes that ends its lines with %q keep %d bytes", edits, len(f.Text()), end, more)
		}
		runtime.KeepAlive(f)
	}
}

// inUse is how much memory is in use.
func inUse() int {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int(m.HeapAlloc)
}
