package syntax_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/internal/compose"
	"example.org/handful/lang/syntax"
)

// formats says what is wrong with how a text is formatted: a word lost, a layout
// that is not the last one, or a line that was right and is not.
func formats(text string) string {
	f := syntax.Parse(text)
	out, lost := syntax.Format(f)
	if lost != nil {
		return "the gate: " + lost.Error()
	}
	g := syntax.Parse(out)
	if again, _ := syntax.Format(g); again != out {
		return "formatting again changes it:\n" + out + "\n" + again
	}
	if a, b := troubles(f), troubles(g); a != b {
		return "before:\n" + a + "after:\n" + b
	}
	if a, b := loose(text), loose(out); a != b && troubles(f) == "" && !f.Refused {
		return "letters are lost:\n" + a + "\n" + b
	}
	return ""
}

func troubles(f *syntax.File) string {
	var b strings.Builder
	for _, l := range f.Lines {
		for _, p := range l.Problems {
			b.WriteString(p.Rule + " " + p.Message() + "\n")
		}
	}
	return b.String()
}

// loose is how many comments, quotes and bar lines a text has: a count that knows
// nothing of what words mean.
func loose(text string) string {
	n := map[byte]int{}
	for _, c := range []byte("|\"#") {
		n[c] = strings.Count(text, string(c))
	}
	return strings.Repeat("#", n['#'])
}

// Whatever is composed keeps every word when it is formatted.
func TestFormattingKeepsEveryWord(t *testing.T) {
	seeds := uint64(6000)
	if testing.Short() {
		seeds = 1500
	}
	for seed := range seeds {
		text := compose.Text(rand.New(rand.NewPCG(seed, 2)))
		if wrong := formats(text); wrong != "" {
			t.Fatalf("seed %d: %s\n%s", seed, wrong, text)
		}
	}
}

func FuzzKeepsEveryWord(f *testing.F) {
	f.Add([]byte("any bytes"))
	f.Fuzz(func(t *testing.T, data []byte) {
		text := compose.Text(compose.Bytes(data))
		if wrong := formats(text); wrong != "" {
			t.Fatalf("%s\n%s", wrong, text)
		}
	})
}

// The gate sees what is lost, added and changed, and nothing else.
func TestTheGate(t *testing.T) {
	for _, c := range [][2]string{
		{"R  triangle\twith fingers clipped as  written", "  R triangle clipped with fingers as written"},
		{"L+R triangle | 1  2 |", "R+L triangle | 1 2"},
		{"tempo 96\r\n\r\nbars 4", "tempo 96\nbars 4\n"},
		{"RH snare drum with sticks | 1e&a", "R snare-drum with snare-stick | 1 1e 1& 1a"},
		{`note "C:\music"`, `note "C:\\music"`},
		{"x | 2+2/4", "x | 2&"},
	} {
		assert.Nil(t, syntax.Same(c[0], c[1]), c[0])
	}
	for _, c := range [][3]string{
		{"R tambourine with yarn-mallet with fingers | 1", "R tambourine with fingers | 1", "yarn-mallet"},
		{"tempo 96 # a remark", "tempo 96", "a remark"},
		{"tempo 96\n# a remark", "tempo 96", "a remark"},
		{"tempo 96", "tempo 96\nbars 4", "bars 4"},
		{"R x as written in 1 in 1-2", "R x as written in 1-2", "in 1"},
		{"R x with a for b as written", "R x with b for a as written", "with"},
		{`x | "C:\x" 1`, `x | "C:x" 1`, `C:`},
		{"x | 1 2", "x | 1 2.", "2"},
		{"tempo 96\nbars 4", "bars 4\ntempo 96", "tempo"},
	} {
		d := syntax.Same(c[0], c[1])
		require.NotNil(t, d, c[0])
		assert.Contains(t, d.Before+d.After, c[2], c[0])
		assert.NotEmpty(t, d.Error())
	}
}

// What a line says twice is an error where it stands the second time, and
// formatting keeps both.
func TestAClauseStandsOnce(t *testing.T) {
	for line, second := range map[string]string{
		"R tambourine with yarn-mallet with fingers | 1":     "with",
		"R triangle clipped padded with triangle-beater | 1": "padded",
		"R triangle on stand on body | 1":                    "on body",
		"R triangle for claves for woodblock | 1":            "for",
		"R triangle as written in 1 in 1-1":                  "in",
		`R triangle as written of "Q" in 2 of "P"`:           "of",
		"R triangle as written on 1 on 3":                    "on",
		`omit x in 1 of "P" in 2 because "y"`:                "in",
		`accept syntax at 1 at 2 because "y"`:                "at",
		`accept syntax for Ida in 2 for Jo because "y"`:      "for",
	} {
		l := syntax.ParseLine(line)
		require.Len(t, l.Problems, 1, line)
		p := l.Problems[0]
		assert.Equal(t, second, line[p.Span.Start:p.Span.End], line)
		assert.Equal(t, strings.LastIndex(line, second), p.Span.Start, line)
		assert.Contains(t, p.Message(), "second time")
		assert.Equal(t, line, strings.TrimSpace(syntax.Formatted(line)))
	}
}

// A text in another encoding is refused as a whole and stays as it is.
func TestOtherEncodingsAreRefusedWhole(t *testing.T) {
	wide := func(text string, mark string, big bool) string {
		var b strings.Builder
		b.WriteString(mark)
		for _, c := range []byte(text) {
			if big {
				b.WriteString("\x00" + string(rune(c)))
			} else {
				b.WriteString(string(rune(c)) + "\x00")
			}
		}
		return b.String()
	}
	const piece = "tempo 96\nplayer Ida\n  R snare-drum | 1 2\n"
	for name, c := range map[string][2]string{
		"UTF-16 with a mark":             {wide(piece, "\xff\xfe", false), "UTF-16"},
		"UTF-16, the other way":          {wide(piece, "\xfe\xff", true), "UTF-16"},
		"UTF-16 without one":             {wide(piece, "", false), "UTF-16"},
		"UTF-16, the other way, without": {wide(piece, "", true), "UTF-16"},
		"UTF-32":                         {"\xff\xfe\x00\x00t\x00\x00\x00", "UTF-32"},
		"Latin-1":                        {"tempo 96\ntitle \"Caf\xe9\"\n", "Latin-1"},
	} {
		f := syntax.Parse(c[0])
		require.Len(t, f.Problems, 1, name)
		assert.Contains(t, f.Problems[0].Message(), c[1], name)
		assert.Contains(t, f.Problems[0].Message(), "save it as UTF-8", name)
		for _, l := range f.Lines {
			assert.Empty(t, l.Problems, name)
			assert.Nil(t, l.Stmt, name)
		}
		out, lost := syntax.Format(f)
		assert.Nil(t, lost)
		assert.Equal(t, c[0], out, name)
		again := syntax.Reparse(piece, f)
		assert.False(t, again.Refused)
		assert.IsType(t, &syntax.Player{}, again.Lines[1].Stmt, name)
		assert.True(t, syntax.Reparse(c[0], again).Refused)
	}
	assert.Equal(t, 1, syntax.Parse("tempo 96\ntitle \"Caf\xe9\"\n").Problems[0].Line)
}
