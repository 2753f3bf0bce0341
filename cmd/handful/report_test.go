package main

import (
	"os"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/check"
)

func TestTheMarkStandsUnderItsRange(t *testing.T) {
	for name, c := range map[string]struct {
		text       string
		start, end int
		source     string
		mark       string
	}{
		"plain":                {"  R snorkel | 1", 4, 11, "R snorkel | 1", "  ^^^^^^^"},
		"under tabs":           {"\tR\tsnorkel", 3, 10, "R\tsnorkel", " \t^^^^^^^"},
		"a range with a tab":   {"a\tb", 0, 3, "a\tb", "^\t^"},
		"wide letters":         {"日本 x", 7, 8, "日本 x", "     ^"},
		"a wide range":         {"日本 x", 0, 6, "日本 x", "^^^^"},
		"combining marks":      {"e\u0301 x", 4, 5, "e\u0301 x", "  ^"},
		"on a combining mark":  {"ae\u0301", 2, 4, "ae\u0301", " ^"},
		"nothing, in the line": {"R x", 2, 2, "R x", "  ^"},
		"the end of the line":  {"R x", 3, 3, "R x", "   ^"},
		"only a tab":           {"R\tx", 1, 2, "R\tx", " ^"},
		"not UTF-8":            {"a\xffb", 2, 3, "a\ufffdb", "  ^"},
		"control characters":   {"a\x1b[b", 2, 3, "a\ufffd[b", "  ^"},
		"writing direction":    {"a\u202eb", 4, 5, "a\ufffdb", "  ^"},
		"beyond the line":      {"ab", 7, 9, "ab", "  ^"},
		"an empty line":        {"", 0, 0, "", "^"},
	} {
		source, mark := excerpt(c.text, c.start, c.end)
		assert.Equal(t, c.source, source, name)
		assert.Equal(t, c.mark, mark, name)
	}
}

func TestALongLineIsCutAroundItsRange(t *testing.T) {
	text := strings.Repeat("a", 400) + "HERE" + strings.Repeat("b", 400)
	source, mark := excerpt(text, 400, 404)
	assert.Equal(t, "…"+strings.Repeat("a", 33)+"HERE"+strings.Repeat("b", 63)+"…", source)
	assert.Equal(t, strings.Repeat(" ", 34)+"^^^^", mark)

	source, mark = excerpt(text, 0, len(text))
	assert.Equal(t, strings.Repeat("a", 100)+"…", source, "a range longer than what is shown begins in sight")
	assert.Equal(t, strings.Repeat("^", 100), mark)

	source, mark = excerpt(text, len(text), len(text))
	assert.Equal(t, "…"+strings.Repeat("b", 33), source)
	assert.Equal(t, strings.Repeat(" ", 34)+"^", mark)
}

// Whatever the line and the range, something is marked, the shown line is of
// bounded length, and tabs stand in both lines alike up to the mark's end.
func TestExcerptsOfAnything(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		text := string(rapid.SliceOfN(rapid.SampledFrom([]byte("ab\t |日\xff\x1b\xcc\x81")), 0, 300).Draw(t, "text"))
		start := rapid.IntRange(0, len(text)+1).Draw(t, "start")
		end := rapid.IntRange(start, len(text)+2).Draw(t, "end")
		source, mark := excerpt(text, start, end)
		if !strings.Contains(mark, "^") {
			t.Fatalf("nothing is marked: %q under %q", mark, source)
		}
		if n := utf8.RuneCountInString(source); n > widest+2 {
			t.Fatalf("%d characters are shown", n)
		}
		if !utf8.ValidString(source) || strings.ContainsRune(source, '\x1b') {
			t.Fatalf("%q is not fit for a terminal", source)
		}
		if strings.Count(mark, "\t") > strings.Count(source, "\t") {
			t.Fatalf("%q has tabs that %q has not", mark, source)
		}
	})
}

func TestColourIsForTerminalsThatWantIt(t *testing.T) {
	tty, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Skip("no terminal can be opened here")
	}
	defer tty.Close()
	t.Setenv("TERM", "xterm")
	t.Setenv("NO_COLOR", "") // remembered, and put back afterwards
	require.NoError(t, os.Unsetenv("NO_COLOR"))
	if !painterFor(&output{to: tty}).on {
		t.Skip("what was opened is no terminal")
	}
	require.NoError(t, os.Setenv("NO_COLOR", ""))
	assert.True(t, painterFor(&output{to: tty}).on, "one that is empty says nothing")
	require.NoError(t, os.Setenv("NO_COLOR", "1"))
	assert.False(t, painterFor(&output{to: tty}).on)
	require.NoError(t, os.Unsetenv("NO_COLOR"))
	t.Setenv("TERM", "dumb")
	assert.False(t, painterFor(&output{to: tty}).on)
}

func TestASeverityIsAWordWithAndWithoutColour(t *testing.T) {
	for _, s := range []check.Severity{check.Error, check.Warning, check.Compromise, check.Info} {
		assert.Equal(t, s.String(), painter{}.severity(s))
		painted := painter{on: true}.severity(s)
		assert.Contains(t, painted, s.String())
		assert.Contains(t, painted, "\x1b[")
	}
	assert.False(t, painterFor(&output{to: &strings.Builder{}}).on, "only a terminal is painted")
}

func TestATempoIsRoundedToWhatStillGoes(t *testing.T) {
	assert.Equal(t, 96.0, check.RoundDown(95.99999999, 1))
	assert.Equal(t, 95.0, check.RoundDown(95.9, 1))
	assert.Equal(t, 0.99, check.RoundDown(0.9999, 100))
	assert.Equal(t, 1.0, check.RoundDown(1-1e-12, 100))
}
