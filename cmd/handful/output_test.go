package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
)

func TestALineIsFitToBeRead(t *testing.T) {
	for in, want := range map[string]string{
		"plain ## text: a::b\n":        "plain ## text: a::b\n",
		"::error file=x::y\n":          "∶:error file=x::y\n",
		"    ::stop-commands::abc\n":   "    ∶:stop-commands::abc\n",
		"\u2003\t::warning::\n":        "\u2003\t∶:warning::\n",
		"##[error]x\n":                 "#♯[error]x\n",
		"see ##vso[task.setvariable\n": "see #♯vso[task.setvariable\n",
		"##teamcity[x\n":               "#♯teamcity[x\n",
		"a\x1b[31mb\x07\x00\x7f\u009b": "a\ufffd[31mb\ufffd\ufffd\ufffd\ufffd",
		"a\u202eb\u2066c\ufeff":        "a\ufffdb\ufffdc\ufffd",
		"a\rb\r\n":                     "a\ufffdb\n",
		"\xff\xc3\n":                   "\ufffd\ufffd\n",
		"日本 e\u0301 x\u200dy\n":        "日本 e\u0301 x\u200dy\n",
	} {
		assert.Equal(t, want, fit(in, false), "%q", in)
		assert.Equal(t, want, fit(want, false), "what is fit stays")
	}
	assert.Equal(t, "\x1b[1m\ufffd]0;x", fit("\x1b[1m\x1b]0;x", true), "colours are ours, where there are any")
}

// However a text is cut into pieces, the lines come out alike.
func TestLinesAreWholeBeforeTheyAreLookedAt(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOf(rapid.SampledFrom([]string{":", "::", "#", "##[", " ", "\n", "a", "\x1b", "é", "\r\n"})).Draw(t, "text"), "")
		var whole, pieces strings.Builder
		a, b := &output{to: &whole}, &output{to: &pieces}
		a.Write([]byte(text))
		for rest := []byte(text); len(rest) > 0; {
			n := rapid.IntRange(1, len(rest)).Draw(t, "n")
			b.Write(rest[:n])
			rest = rest[n:]
		}
		require.NoError(t, a.flush())
		require.NoError(t, b.flush())
		if whole.String() != pieces.String() {
			t.Fatalf("%q, %q", whole.String(), pieces.String())
		}
	})
}

// attacks are what somebody could put into a name in order to have a terminal
// or a build service do something.
var attacks = []string{
	"::error file=README.md,line=1::done", "::stop-commands::abc", " ::add-mask::x", "\t::set-output name=x::y", "##[error]done", "##[group]x", "##vso[task.complete result=Failed]",
	"##teamcity[buildProblem]", "\x1b[2J", "\x1b]0;title\x07", "\x1b]8;;http://x.example\x07", "\u009b31m", "\u202edlrow", "\u2066x\u2069", "\x08\x08\x08", "\r::error::x", "\x7f", "\ufeff", "\U000e0041",
}

var commands = regexp.MustCompile(`^\s*::|##[A-Za-z]*\[`)

// assertHarmless reads an output as a terminal and a build service would.
func assertHarmless(t *testing.T, out string, what any) {
	t.Helper()
	for _, line := range strings.Split(out, "\n") {
		assert.False(t, commands.MatchString(line), "%v: %q", what, line)
		assert.True(t, utf8.ValidString(line), "%v: %q", what, line)
		for _, r := range line {
			if (unicode.IsControl(r) && r != '\t') || unicode.Is(unicode.Cf, r) && r != '\u200c' && r != '\u200d' {
				assert.Fail(t, "a character that is not to be seen", "%v: %q", what, line)
				break
			}
		}
	}
}

// ours are the commands that annotations are made of, read as the service says
// that it reads them.
var ours = regexp.MustCompile(`^::(error|warning|notice) (file=[^,:]+,line=\d+,endLine=\d+,(col=\d+,endColumn=\d+,)?)?title=[a-z-]+::.`)

func assertOurCommands(t *testing.T, out string) {
	t.Helper()
	require.NotEmpty(t, out)
	for _, line := range strings.Split(strings.TrimSuffix(out, "\n"), "\n") {
		assert.Regexp(t, ours, line)
		assertHarmless(t, strings.TrimPrefix(line, "::"), "an annotation")
	}
}

// Whatever stands in titles, names, notes, comments and file names, nothing
// that is said about it drives a terminal or a build service.
func TestNothingThatIsSaidIsACommand(t *testing.T) {
	for _, bad := range attacks {
		dir := t.TempDir()
		quoted := strings.NewReplacer("\"", "", "\r", "").Replace(bad)
		text := bad + "\ntitle \"" + quoted + "\"\ncredit \"" + quoted + "\"\nnote \"" + quoted + "\"\ntempo 96 # " + bad +
			"\nmark \"" + quoted + "\" at 1\npart \"" + quoted + "\"\n  woodblock | \"" + quoted + "\" 1 2 3 4\n  triangle | 1 2\nplayer \"" + quoted + "\"\n  R woodblock with rubber-mallet as written\n  R " +
			bad + " | 1\naccept x because \"" + quoted + "\"\nuse \"" + quoted + "\"\n"
		name := strings.NewReplacer("/", "", "\x00", "").Replace(bad) + ".handful"
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			assert.Equal(t, "windows", runtime.GOOS, err)
			continue
		}
		t.Chdir(dir)
		if strings.HasPrefix(name, "-") || strings.HasPrefix(name, ":") || strings.HasPrefix(name, "#") {
			name = "." // a file whose name is shown from its first letter on
		}
		for _, args := range [][]string{
			{"check", name}, {"check", "."}, {"check", "--format", "json", name}, {"check", "--format", "jsonl", name}, {"check", "--format", "line", name}, {"check", "--format", "sarif", name}, {"check", "--format", "junit", name}, {"check", "--format", "gitlab", name}, {"check", "--tempo", bad, name}, {"check", "--without", bad, name}, {"check", bad},
			{"fmt", "--check", "."}, {"fmt", bad}, {"plan", "--what-if", file}, {"plan", "--fewest", file}, {"plan", "-o", bad + ".out", "--player", bad, file}, {"plan", "-o", bad + ".out", "--players", "1", file},
			{"sheet", file}, {"sheet", "--to", "text", "-o", bad + ".d", file}, {"sheet", "--player", bad, file}, {"export", "--to", "midi", "-o", bad + ".mid", file}, {"import", file}, {"import", "--name", bad + "=" + bad, file},
			{"explain", bad}, {"instruments", bad}, {"new", bad + ".new"}, {bad}, {"check", "--" + bad}, {"completion", bad},
		} {
			out, errs, _ := run(t, text, args...)
			assertHarmless(t, out+"\n"+errs, args)
		}
		ours, _, _ := run(t, text, "check", "--format", "github", name, bad)
		assertOurCommands(t, ours)
		// Line ends in a name are for those who make names.
		out, errs, _ := run(t, "", "check", "x\n::error::y.handful")
		assertHarmless(t, out+errs, "a line end")
	}
}

// The JSON report says the same with its strings written out.
func TestJSONKeepsWhatItWritesOut(t *testing.T) {
	for _, s := range append([]string{"##", "\\##[x", "##\\[", "日本\u202e"}, attacks...) {
		in, err := json.Marshal(map[string]string{s: s})
		require.NoError(t, err)
		out := seenJSON(in)
		assertHarmless(t, string(out), s)
		var back map[string]string
		require.NoError(t, json.Unmarshal(out, &back), "%s", out)
		assert.Equal(t, map[string]string{s: s}, back)
	}
}

// Where a file's text itself is asked for, every byte of it comes out.
func TestAFileComesOutAsItIs(t *testing.T) {
	const text = "# \u202e ::error::x\x07\r\nplayer Nell  # ##[x]\r\n"
	out, _, code := run(t, text, "fmt", "-")
	assert.Equal(t, exitClean, code)
	assert.Equal(t, text, out)
	var b bytes.Buffer
	o := &output{to: &b}
	o.Write([]byte("first"))
	_, err := raw{o}.Write([]byte("\x00::second"))
	require.NoError(t, err)
	assert.Equal(t, "first\x00::second", b.String(), "in their order")
}
