package syntax

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/alecthomas/participle/v2/lexer"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/beat"
)

// corpus is every shipped file and a few that are wrong on purpose.
func corpus(t testing.TB) []string {
	var out []string
	for _, glob := range []string{"../../examples/*.handful", "../kit/catalogue/*.handful"} {
		names, err := filepath.Glob(glob)
		if err != nil || len(names) == 0 {
			t.Fatalf("no files at %s", glob)
		}
		for _, n := range names {
			text, err := os.ReadFile(n)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, string(text))
		}
	}
	return append(out, "", "\n\n", "player", "R x | 1 2 foo | 3q |", "tempo 96 # a remark", "part \"open\n| 1", "\ufefftitle \"x\"\r\nplayer Ida\r\n  R snare-drum | 1 2 |\r\n",
		"R a | 1+1/0 | 2+3/2 | '''1 ~ | % x999999999 | -999999999", "\x00\xff\xfe", "kit\n  a is b held at left 3 up 9\n  table at right 1")
}

func TestEveryFormsSampleParses(t *testing.T) {
	for _, f := range Forms() {
		l := ParseLine(f.Sample)
		assert.Empty(t, l.Problems, f.Sample)
		assert.Same(t, f, l.Form, f.Sample)
		assert.Contains(t, f.Shape, f.Word)
		assert.NotEmpty(t, f.Says)
		assert.Equal(t, f.Sample, strings.TrimSpace(Formatted(f.Sample)), "samples are canonical")
	}
}

func cell(t *testing.T, text string) *Cell {
	l := ParseLine("x | " + text + " |")
	require.Empty(t, l.Problems, text)
	require.Len(t, l.Bars.Cells, 1)
	require.Len(t, l.Bars.Cells[0].Signs(), 1, text)
	return &l.Bars.Cells[0]
}

func sign(t *testing.T, text string) Sign { return cell(t, text).Signs()[0] }

func says(t *testing.T, text string) string {
	c := cell(t, text)
	return c.Text(&c.Signs()[0])
}

func TestCountsAndStrokes(t *testing.T) {
	for text, want := range map[string]beat.Count{
		"2": {Beat: 2}, "2e": {Beat: 2, Frac: beat.R(1, 4)}, "2&": {Beat: 2, Frac: beat.R(1, 2)}, "2a": {Beat: 2, Frac: beat.R(3, 4)},
		"2t": {Beat: 2, Frac: beat.R(1, 3)}, "2l": {Beat: 2, Frac: beat.R(2, 3)}, "2+3/5": {Beat: 2, Frac: beat.R(3, 5)}, "12": {Beat: 12},
		"2+2/4": {Beat: 2, Frac: beat.R(1, 2)},
	} {
		s := sign(t, text)
		assert.Equal(t, want, s.Count(), text)
		assert.Equal(t, StrokeSign, s.Kind)
	}
	s := sign(t, "''2&L>~3.")
	assert.Equal(t, uint8(2), s.Grace)
	assert.Equal(t, byte('L'), s.Hand)
	assert.True(t, s.Flags.Has(Accent|Roll|HasEnd|Short))
	assert.Equal(t, beat.Count{Beat: 3}, s.End())
	assert.Equal(t, StopSign, sign(t, "3x").Kind)
	assert.Equal(t, CarrySign, sign(t, "~2&").Kind)
	assert.Equal(t, "mf", says(t, "mf"))
	assert.Equal(t, "soft, please", says(t, `"soft, please"`))
	roll := sign(t, "1~")
	assert.True(t, roll.Flags.Has(Roll))
	assert.False(t, roll.Flags.Has(HasEnd))
}

func TestCells(t *testing.T) {
	l := ParseLine("x | 1 2 | - | -8 | % | %2 | % x7 | %2 x3 | 4")
	require.Empty(t, l.Problems)
	var got []string
	for i := range l.Bars.Cells {
		c := &l.Bars.Cells[i]
		got = append(got, fmt.Sprintf("%d:%d", c.Kind, c.Length()))
	}
	assert.Equal(t, []string{"0:1", "1:1", "1:8", "2:1", "2:2", "2:7", "2:6", "0:1"}, got)
	assert.Len(t, ParseLine("x | 1 | 2").Bars.Cells, 2, "the last bar line may be left out")
	assert.Len(t, ParseLine("x | 1 | 2 |").Bars.Cells, 2)
}

func TestPlacesAndRanges(t *testing.T) {
	for text, want := range map[string]Place{
		"12": {Bar: 12}, "12.3": {Bar: 12, Count: beat.Count{Beat: 3}, HasCount: true}, "A": {Mark: "A"}, "A+4": {Mark: "A", Bar: 4},
		"12.2&": {Bar: 12, Count: beat.Count{Beat: 2, Frac: beat.R(1, 2)}, HasCount: true}, "Trio+1.2": {Mark: "Trio", Bar: 1, Count: beat.Count{Beat: 2}, HasCount: true},
	} {
		got, ok := ParsePlace(text)
		assert.True(t, ok, text)
		assert.Equal(t, want, got, text)
		assert.Equal(t, text, got.String())
	}
	for _, bad := range []string{"", ".", "12.", "A+", "+4", "12.3x", "A+4.", "-3"} {
		_, ok := ParsePlace(bad)
		assert.False(t, ok, bad)
	}
	r, ok := ParseRange("A-B+2")
	assert.True(t, ok)
	assert.Equal(t, Range{Place{Mark: "A"}, Place{Mark: "B", Bar: 2}}, r)
	_, ok = ParseRange("9.2-16")
	assert.False(t, ok)
}

// Whatever is wrong in a line is said at its place, and the line's neighbours
// mean what they meant.
func TestProblemsHavePlacesAndNeighboursStay(t *testing.T) {
	for _, c := range []struct{ line, mark, says string }{
		{"  R snare-drum | 1 foo 3 |", "foo", "neither a count nor a dynamic"},
		{"  R snare-drum | 1 2 | x7 |", "x7", "write % x7 (the bar before, so often)"},
		{"  R snare-drum | x7 |", "x7", "stand in quotes"},
		{"  R snare-drum | 1 | 2 x7 |", "x7", "stand in quotes"},
		{"  R snare-drum | 1+1/0 |", "1+1/0", "0 below the line"},
		{"  R snare-drum | 2+3/2 |", "2+3/2", "less than 1"},
		{"  R snare-drum | 4q |", "q", "cannot follow"},
		{"  R snare-drum | % 1 |", "1", "cannot share a bar"},
		{"  R snare-drum | 1 | | 2 |", "", "empty"},
		{"tmepo 96", "96", "did you mean tempo"},
		{"title \"open", "\"open", "no closing quote"},
		{"mark A on 9", "on", "mark A at 9"},
		{"meter", "r", "stops short"},
		{"= 4", "=", "cannot begin a line"},
		{"\x01x", "\x01", "control character"},
	} {
		f := Parse("tempo 96\n" + c.line + "\nplayer Ida")
		require.NotEmpty(t, f.Lines[1].Problems, c.line)
		p := f.Lines[1].Problems[0]
		assert.Contains(t, p.Message(), c.says, c.line)
		if c.mark != "" {
			assert.Equal(t, c.mark, c.line[p.Span.Start:p.Span.End], c.line)
		}
		assert.Empty(t, f.Lines[0].Problems)
		assert.Empty(t, f.Lines[2].Problems)
		assert.IsType(t, &Player{}, f.Lines[2].Stmt)
	}
}

// Every leaf of the tree stands where its text stands.
func TestRangesAreExact(t *testing.T) {
	for _, text := range corpus(t) {
		for _, l := range Parse(text).Lines {
			eachLeaf(reflect.ValueOf(l.Stmt), func(pos Pos, leaf string) {
				at := int(pos.From)
				require.LessOrEqual(t, at+len(leaf), len(l.Text))
				assert.Equal(t, leaf, l.Text[at:at+len(leaf)], l.Text)
			})
			if l.Bars == nil {
				continue
			}
			for i := range l.Bars.Cells {
				c := &l.Bars.Cells[i]
				for k, s := range c.Signs() {
					at := s.Span()
					if len(l.Problems) == 0 {
						var b strings.Builder
						c.write(&b, &s)
						writeAims(&b, c.Aims(k))
						assert.Equal(t, b.String(), cell(t, l.Text[at.Start:at.End]).String())
					}
				}
			}
		}
	}
}

func eachLeaf(v reflect.Value, visit func(Pos, string)) {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			eachLeaf(v.Elem(), visit)
		}
	case reflect.Slice:
		for i := range v.Len() {
			eachLeaf(v.Index(i), visit)
		}
	case reflect.Struct:
		pos, text := v.FieldByName("Pos"), v.FieldByName("Text")
		if pos.IsValid() && text.IsValid() && text.Kind() == reflect.String {
			if text.String() != "" {
				visit(pos.Interface().(Pos), text.String())
			}
			return
		}
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				eachLeaf(v.Field(i), visit)
			}
		}
	}
}

func TestLineEndsAndMarks(t *testing.T) {
	f := Parse("\ufefftitle \"x\"\r\ntempo 96\r\n")
	require.Len(t, f.Lines, 3)
	assert.Equal(t, "title \"x\"", f.Lines[0].Text)
	assert.Equal(t, 3, f.Starts[0])
	assert.Equal(t, "title \"x\"\r\ntempo 96\r\n", Formatted(f.Text()), "line ends stay as they are; the mark goes")
	assert.Equal(t, "\tR x | 1\t2", ParseLine("\tR x | 1\t2").Text)
	assert.Empty(t, ParseLine("\tR\tx\t|\t1\t2\t|\t").Problems)
}

// A line of 50 MB is one finding, in no more memory than the line itself
// takes; so are too many lines.
func TestHugeInput(t *testing.T) {
	f := Parse("tempo 96\nR x | " + strings.Repeat("1 ", 25<<20) + "\nplayer Ida")
	require.Len(t, f.Lines, 3)
	require.Len(t, f.Lines[1].Problems, 1)
	assert.Equal(t, "too-large", f.Lines[1].Problems[0].Rule)
	assert.IsType(t, &Player{}, f.Lines[2].Stmt)

	many := Parse(strings.Repeat("\n", MaxLines+10))
	assert.Len(t, many.Lines, MaxLines)
	require.Len(t, many.Problems, 1)

	for _, hostile := range []string{"|", "'", "~", "-", "%", "\"", "\\", "1", "+", "#", "(", "x"} {
		l := ParseLine("R x | " + strings.Repeat(hostile, MaxLine-10))
		assert.LessOrEqual(t, len(l.Problems), maxProblemsPerLine+2, hostile)
	}
}

// Keeping lines gives what parsing afresh gives, whatever the edit.
func TestReparsing(t *testing.T) {
	texts := corpus(t)
	draws.Check(t, func(t *rapid.T) {
		text := rapid.SampledFrom(texts).Draw(t, "text")
		f := Parse(text)
		for range rapid.IntRange(1, 3).Draw(t, "edits") {
			from := rapid.IntRange(0, len(text)).Draw(t, "from")
			to := min(len(text), from+rapid.IntRange(0, 40).Draw(t, "length"))
			text = text[:from] + rapid.SampledFrom([]string{"", "\n", "x", "| 1 |\n", "player Q\n", "\r\n", "\""}).Draw(t, "insert") + text[to:]
			f = Reparse(text, f)
		}
		fresh := Parse(text)
		if !reflect.DeepEqual(describeFile(f), describeFile(fresh)) || !reflect.DeepEqual(f.Starts, fresh.Starts) {
			t.Fatalf("%q", text)
		}
	})
}

func describeFile(f *File) []string {
	var out []string
	for _, l := range f.Lines {
		out = append(out, fmt.Sprintf("%q %T %v %v", l.Text, l.Stmt, l.Problems, l.Broken))
	}
	return out
}

// meaning is a file without anything that formatting may change: blank lines,
// blanks, comments' places.
func meaning(f *File) []string {
	var out []string
	for _, l := range f.Lines {
		if l.Form == nil && l.Comment() == "" && !l.Broken || l.Broken && bare(l.Text) == "" {
			continue
		}
		s := fmt.Sprintf("%T ", l.Stmt)
		if l.Broken || len(l.Problems) > 0 {
			s += bare(l.Text)
		} else if l.Form != nil {
			s += words(l)
			if l.Bars != nil {
				for k := range l.Bars.Cells {
					s += " | " + l.Bars.Cells[k].String()
				}
			}
		}
		if !l.Broken && len(l.Problems) == 0 {
			s += " " + l.Comment()
		}
		out = append(out, s)
	}
	return out
}

func checkFormat(t interface{ Fatalf(string, ...any) }, text string) {
	f := Parse(text)
	once, lost := Format(f)
	if lost != nil {
		t.Fatalf("%q: %s", text, lost)
	}
	g := Parse(once)
	if twice, _ := Format(g); twice != once {
		t.Fatalf("formatting again changes it\n%q\n%q\n%q", text, once, twice)
	}
	if a, b := meaning(f), meaning(g); !reflect.DeepEqual(a, b) {
		t.Fatalf("formatting changes the meaning\n%q\n%q\n%q", text, a, b)
	}
}

func TestFormattingIsIdempotentAndKeepsTheMeaning(t *testing.T) {
	texts := corpus(t)
	for _, text := range texts {
		checkFormat(t, text)
	}
	pieces := []string{"R ", "L+R ", "snare-drum ", "woodblock clamped ", "with 2 yarn-mallets ", "for claves ", "as written ", "on 1 3 ", "in 9-16 ", "| ", "1 ", "2& ", "'3R> ", "1~ ",
		"~4 ", "- ", "-8 ", "% ", "% x7 ", "%2 x3 ", "mf ", "\"soft\" ", "\n", "\n\n", "# remark\n", "player Ida\n", "kit\n", "part \"P\"\n", "from A\n", "  ", "at left 30 ahead 4 ", "table ",
		"station timps ", "is ", "held ", "on stand ", "tempo 96 to 80 over 3-4\n", "omit x in 8 because \"y\"\n", "é ", "\t", "\xff", "\r\n", "2+2/4 ", "5t "}
	draws.Check(t, func(t *rapid.T) {
		checkFormat(t, strings.Join(rapid.SliceOfN(rapid.SampledFrom(pieces), 0, 60).Draw(t, "pieces"), ""))
	})
}

func TestTheLayoutLooksLikeAScore(t *testing.T) {
	in := `tempo 96
player Nell
kit
snare-drum on stand at ahead 35
woodblock clamped at left 30 ahead 45
table at right 20 ahead 40
R snare-drum with 2 yarn-mallets   clamped | f 1 2   | 3 4 | % x2 | 1
L triangle   | 1  # a remark
      | 2 | -
RL woodblock |  - | 1 1e 1& 1a |-2| 4
`
	want := `tempo 96

player Nell
  kit
    snare-drum on stand at ahead 35
    woodblock  clamped  at left 30 ahead 45
    table               at right 20 ahead 40
  R snare-drum clamped with 2 yarn-mallets | f 1 2 | 3 4        | % x2 | 1
  L triangle                               | 1  # a remark
                                           | 2 | -
  RL woodblock                             | -     | 1 1e 1& 1a | -2   | 4
`
	assert.Equal(t, want, Formatted(in))
}

// The oracle of the hand-written lexer: the same tokens by regular
// expressions, first match wins.
var oracle = []struct {
	kind lexer.TokenType
	re   *regexp.Regexp
}{
	{0, regexp.MustCompile(`^(?:[ \t\r]|\x{feff})+`)},
	{lexer.EOF, regexp.MustCompile(`^#.*`)},
	{tokBars, regexp.MustCompile(`^\|(?:"(?:\\.|[^"\\])*(?:"|\\?$)|[:+][A-Ga-g]#{1,2}|[^"#])*`)},
	{tokString, regexp.MustCompile(`^"(?:\\.|[^"\\])*(?:"|\\?$)`)},
	{tokEquals, regexp.MustCompile(`^=`)},
	{tokNum, regexp.MustCompile(`^[0-9](?:[!$-<>-{}~]|[\p{L}\p{M}\p{N}’])*`)},
	{tokWord, regexp.MustCompile(`^[A-G]#{1,2}[0-9](?:[!$-<>-{}~]|[\p{L}\p{M}\p{N}’])*`)}, // behind a blank
	{tokWord, regexp.MustCompile(`^[\p{L}\p{M}](?:[!$-<>-{}~]|[\p{L}\p{M}\p{N}’])*`)},
}

func oracleTokens(text string) []string {
	var out []string
	for at := 0; at < len(text); {
		matched := false
		for _, o := range oracle {
			m := o.re.FindString(text[at:])
			if m == "" || len(m) > 1 && m[1] == '#' && o.kind == tokWord && at > 0 && !strings.ContainsAny(text[at-1:at], " \t\r") {
				continue
			}
			matched = true
			if o.kind == lexer.EOF {
				return out
			}
			if o.kind != 0 {
				tok := m
				if o.kind == tokBars {
					tok = strings.TrimRight(m, " \t\r")
				}
				out = append(out, fmt.Sprintf("%d %q", o.kind, tok))
			}
			at += len(m)
			break
		}
		if !matched {
			r := []rune(text[at:])[0]
			size := len(string(r))
			if r == '\ufffd' && !strings.HasPrefix(text[at:], "\ufffd") {
				size = 1
			}
			out = append(out, fmt.Sprintf("%d %q", tokBad, text[at:at+size]))
			at += size
		}
	}
	return out
}

func handTokens(text string) []string {
	var out []string
	for at := 0; ; {
		kind, from, to := nextToken(text, at)
		if kind == lexer.EOF {
			return out
		}
		out = append(out, fmt.Sprintf("%d %q", kind, text[from:to]))
		at = to
	}
}

func FuzzLexer(f *testing.F) {
	for _, text := range corpus(f) {
		for _, line := range strings.Split(text, "\n") {
			f.Add(line)
		}
	}
	f.Fuzz(func(t *testing.T, text string) {
		text, _, _ = strings.Cut(text, "\n")
		if a, b := handTokens(text), oracleTokens(text); !reflect.DeepEqual(a, b) {
			t.Fatalf("%q\nhand   %v\noracle %v", text, a, b)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, text := range corpus(f) {
		f.Add(text, 3, "x")
	}
	f.Fuzz(func(t *testing.T, text string, at int, insert string) {
		file := Parse(text)
		for _, l := range file.Lines {
			for _, p := range l.Problems {
				if p.Span.Start < 0 || p.Span.End < p.Span.Start || p.Span.End > len(l.Text) || p.Message() == "" || p.Rule == "" {
					t.Fatalf("%+v in %q", p, l.Text)
				}
			}
		}
		at = min(max(at, 0), len(text))
		changed := text[:at] + insert + text[at:]
		if a, b := describeFile(Reparse(changed, file)), describeFile(Parse(changed)); !reflect.DeepEqual(a, b) {
			t.Fatalf("%q", changed)
		}
	})
}

func FuzzFormat(f *testing.F) {
	for _, text := range corpus(f) {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) { checkFormat(t, text) })
}

// BenchmarkLine parses one cue; the text is about as long as cues are.
func BenchmarkLine(b *testing.B) {
	const line = "  R snare-drum with snare-stick | f 1 2 2& 3 4 | % x7"
	b.SetBytes(int64(len(line)))
	for b.Loop() {
		ParseLine(line)
	}
}

// BenchmarkReparse changes one line of a thousand.
func BenchmarkReparse(b *testing.B) {
	text := strings.Repeat("  R snare-drum with snare-stick | f 1 2 2& 3 4 | % x7\n", 1000)
	other := text[:30000] + "x" + text[30001:]
	f := Parse(text)
	for i := 0; b.Loop(); i++ {
		f = Reparse([2]string{other, text}[i%2], f)
	}
}

// BenchmarkParse reads the lines of pieces, no two of them alike.
func BenchmarkParse(b *testing.B) {
	names, _ := filepath.Glob("../../examples/*.handful")
	var lines []string
	size := 0
	for _, n := range names {
		text, err := os.ReadFile(n)
		require.NoError(b, err)
		for _, l := range strings.Split(string(text), "\n") {
			if l != "" && !slices.Contains(lines, l) {
				lines = append(lines, l)
				size += len(l)
			}
		}
	}
	b.SetBytes(int64(size))
	b.ReportAllocs()
	for b.Loop() {
		for _, l := range lines {
			ParseLine(l)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(lines)), "ns/line")
}

func TestWhereLinesHaveMoved(t *testing.T) {
	old := Parse("bars 4 # as rehearsed\n\nplayer Ida\n  R woodblock | 1\n")
	for text, want := range map[string][]int32{
		"bars 4\nplayer Ida  # here\n\n# so:\n  R woodblock | 1": {0, -1, 1, 4, -1},
		"# a head\nbars 4\nplayer Ida\n  R woodblock | 1":        {1, -1, 2, 3, -1},
		"bars 4\nplayer Ida\n  L woodblock | 1\n":                nil,
		"bars 4\nplayer Ida\n":                                   nil,
		"bars 4\nplayer Ida\n  R woodblock | 1\n    | 2\n":       nil,
		"bars 4\nplayer Ida\n   R woodblock | 1\n":               nil,
		"bars 4\nplayer Ida\n  R woodblock | 1\n\"":              nil,
	} {
		got, ok := Parse(text).Moved(old)
		if ok != (want != nil) || !slices.Equal(got, want) {
			t.Errorf("%q: %v, %v; want %v", text, got, ok, want)
		}
	}
}
