package baseline

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
)

func TestAListComesBack(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		word := rapid.SampledFrom([]string{"a", "b", "é \"x\"", "\n", "::error::", ""})
		var entries []Entry
		for range rapid.IntRange(0, 12).Draw(t, "n") {
			entries = append(entries, Entry{word.Draw(t, "file"), word.Draw(t, "rule"), word.Draw(t, "place"), word.Draw(t, "print")})
		}
		l := New(entries)
		back, err := Parse(string(l.Text()))
		if err != nil {
			t.Fatal(err)
		}
		assert.Equal(t, l.Entries(), back.Entries())
		assert.Equal(t, string(l.Text()), string(back.Text()))
		for _, file := range l.Files() {
			known, gone := back.Known(file, l.Of(file))
			assert.NotContains(t, known, false)
			assert.Empty(t, gone)
		}
	})
}

// However places have moved, of each fingerprint as many are known as there
// were and are.
func TestAsManyAreKnownAsThereWere(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		draw := func(label string) (out []Entry) {
			for range rapid.IntRange(0, 10).Draw(t, label) {
				out = append(out, Entry{"f", "r", rapid.SampledFrom([]string{"1.1", "2.1", "3.1"}).Draw(t, "place"), rapid.SampledFrom([]string{"x", "y"}).Draw(t, "print")})
			}
			return out
		}
		was, now := draw("was"), draw("now")
		known, gone := New(was).Known("f", now)
		for _, print := range []string{"x", "y"} {
			count := func(of []Entry) (n int) {
				for _, e := range of {
					if e.Fingerprint == print {
						n++
					}
				}
				return n
			}
			same := 0
			for i, e := range now {
				if known[i] && e.Fingerprint == print {
					same++
				}
			}
			assert.Equal(t, min(count(was), count(now)), same)
			assert.Equal(t, count(was)-same, count(gone))
		}
	})
}

func TestTheOneAtAnotherPlaceIsNew(t *testing.T) {
	l := New([]Entry{{"f", "r", "4.1", "x"}, {"f", "r", "8.1", "x"}})
	known, gone := l.Known("f", []Entry{{"f", "r", "2.1", "x"}, {"f", "r", "4.1", "x"}, {"f", "r", "8.1", "x"}})
	assert.Equal(t, []bool{false, true, true}, known)
	assert.Empty(t, gone)
	known, gone = l.Known("f", []Entry{{"f", "r", "5.1", "x"}})
	assert.Equal(t, []bool{true}, known, "all has moved by a bar")
	assert.Equal(t, "f: r at 8.1", gone[0].String())
}

func TestWhatIsNoListSaysWhere(t *testing.T) {
	for text, want := range map[string]string{
		"":                                    "1:1: this is no baseline",
		"# Quay":                              "1:1: this is no baseline",
		"{\"handful baseline\": 1,\n \"é\" x": "2:6: this is no baseline",
		"{\"handful baseline\": 2, \"findings\": []}": "1:1: this is no baseline of this version",
		"{}": "1:1: this is no baseline of this version",
		"{\"handful baseline\": 1, \"findings\": [3]}":          "1:39: this is no baseline",
		"{\"handful baseline\": 1, \"findings\": []}\nx":        "1:40: something stands behind",
		"{\"handful baseline\": 1, \"findings\": [], \"y\": 1}": "this is no baseline",
		"\xff": "not UTF-8",
	} {
		_, err := Parse(text)
		require.Error(t, err, text)
		assert.Contains(t, err.Error(), want, text)
		assert.False(t, strings.Contains(err.Error(), "json"), "in plain words")
	}
}

func FuzzParse(f *testing.F) {
	f.Add("{\"handful baseline\": 1, \"findings\": []}")
	f.Fuzz(func(t *testing.T, text string) {
		if l, err := Parse(text); err == nil {
			back, err := Parse(string(l.Text()))
			require.NoError(t, err)
			assert.Equal(t, l.Entries(), back.Entries())
		}
	})
}
