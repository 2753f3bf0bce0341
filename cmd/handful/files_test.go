package main

import (
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

func TestALineOfFiftyMegabytesIsOneFinding(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "long.handful")
	text := "tempo 1/4 = 90\nplayer Nell\n  R woodblock with rubber-mallet | 1\n  L woodblock | " + strings.Repeat("1 ", 25<<20)
	require.NoError(t, os.WriteFile(file, []byte(text), 0o644))
	out, errs, code := run(t, "", "check", file)
	assert.Equal(t, exitFindings, code)
	assert.Empty(t, errs)
	assert.Contains(t, out, "error too-large")
	assert.Contains(t, out, "1 error,")
	assert.Less(t, len(out), 2000, "the line is not printed whole")

	out, _, code = run(t, "", "check", "--format", "json", file)
	assert.Equal(t, exitFindings, code)
	assert.Less(t, len(out), 5000)
}

// endless is more text than is read, without holding it.
type endless struct{}

func (endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = '#'
	}
	return len(p), nil
}

func TestTextWithoutEndIsRefused(t *testing.T) {
	var out, errs strings.Builder
	code := Run([]string{"check", "-"}, endless{}, &out, &errs)
	assert.Equal(t, exitFailed, code)
	assert.Equal(t, "handful: standard input: larger than the 64 MiB that are read\n", errs.String())
}

// What was not read for want of room is not lost by formatting either.
func TestAFileOfTooManyLinesIsNotFormatted(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "many.handful")
	text := strings.Repeat("\n", syntax.MaxLines) + "player Nell\n"
	require.NoError(t, os.WriteFile(file, []byte(text), 0o644))
	_, errs, code := run(t, "", "fmt", "--write", file)
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, errs, "it stays as it is")
	got, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, text, string(got))
}

type failing struct{}

func (failing) Read([]byte) (int, error)  { return 0, io.ErrUnexpectedEOF }
func (failing) Write([]byte) (int, error) { return 0, io.ErrShortWrite }

func TestStreamsThatFailAreSaid(t *testing.T) {
	var out, errs strings.Builder
	assert.Equal(t, exitFailed, Run([]string{"check", "-"}, failing{}, &out, &errs))
	assert.NotEmpty(t, errs.String())
	const piece = "tempo 96\npart \"P\"\n  woodblock | 1 2\nplayer Nell\n"
	dir := t.TempDir()
	parts := filepath.Join(dir, "parts.mid")
	out.Reset()
	require.Equal(t, exitClean, Run([]string{"export", "--to", "midi", "-o", parts, "-"}, strings.NewReader("tempo 96\nplayer Nell\n  R woodblock clamped | 1\n"), &out, &errs), errs.String())
	messy := filepath.Join(dir, "messy.handful")
	for _, args := range [][]string{
		{"--help"}, {"check", "--help"},
		{"check", "-"}, {"check", "--format", "json", "-"}, {"check", "--fix", "-"}, {"fmt", "-"}, {"fmt", "--check", messy}, {"fmt", "--write", messy}, {"explain"}, {"explain", "short-change"},
		{"plan", "-"}, {"plan", "--fewest", "-"}, {"plan", "--what-if", "-"}, {"plan", "-o", filepath.Join(dir, "planned.handful"), "-"},
		{"sheet", "-"}, {"sheet", "-o", filepath.Join(dir, "stand"), "-"}, {"export", "--to", "midi", "-"}, {"export", "--to", "musicxml", "-"}, {"import", parts},
		{"instruments"}, {"instruments", "triangle"}, {"new", "-"}, {"new", filepath.Join(dir, "new.handful")}, {"version"}, {"man"}, {"completion", "bash"}, {"completion", "zsh"}, {"completion", "fish"},
	} {
		errs.Reset()
		require.NoError(t, os.WriteFile(messy, []byte("   player   Nell\n"), 0o644))
		assert.Equal(t, exitFailed, Run(args, strings.NewReader(piece), failing{}, &errs), args)
		assert.NotEmpty(t, errs.String(), args)
		require.NoError(t, os.WriteFile(messy, []byte("   player   Nell\n"), 0o644))
		assert.Equal(t, exitFailed, Run(args, strings.NewReader(piece), failing{}, failing{}), args)
	}
	// What is said on standard error alone is lost too when that cannot be written.
	assert.Equal(t, exitFailed, Run([]string{"plan", "-"}, strings.NewReader(piece), io.Discard, failing{}))
}

func TestEveryInstrumentIsListed(t *testing.T) {
	out, _, code := run(t, "", "instruments")
	require.Equal(t, exitClean, code)
	listed := map[string]bool{}
	for _, line := range strings.Split(out, "\n") {
		if f := strings.Fields(line); strings.HasPrefix(line, "  ") && len(f) > 0 {
			listed[f[0]] = true
			one, errs, code := run(t, "", "instruments", f[0])
			assert.Equal(t, exitClean, code, errs)
			assert.True(t, strings.HasPrefix(one, f[0]+": "), f[0])
		}
	}
	for _, in := range kit.Standard().Instruments() {
		assert.True(t, listed[in.ID], "%s is in no family of the list", in.ID)
	}
}

// The start is what a newcomer sees first: nothing is found in it, not even
// something to know.
func TestTheStartIsClean(t *testing.T) {
	out, errs, code := run(t, startText, "check", "--fail-on", "warning", "-")
	assert.Equal(t, exitClean, code, errs)
	assert.Contains(t, out, "read 1 file, 8 bars, 2 players, 39 strokes: 0 errors, 0 warnings, 0 compromises, 0 info")
	neat, _, _ := run(t, startText, "fmt", "-")
	assert.Equal(t, startText, neat)
}

func TestEveryRuleIsExplained(t *testing.T) {
	list, _, code := run(t, "", "explain")
	require.Equal(t, exitClean, code)
	for _, r := range check.Rules() {
		assert.Contains(t, list, r.Finds)
		out, errs, code := run(t, "", "explain", r.Name)
		require.Equal(t, exitClean, code, errs)
		assert.Contains(t, out, "  → line ", "%s: the example is checked, and its finding shown", r.Name)
	}
}

// Whatever comes in, the command ends with a report and one of its codes, and
// says the same when asked again.
func TestAnyTextGetsAReport(t *testing.T) {
	pieces := []string{"player Nell\n", "  R ", "snare-drum", " | 1 2& ", "3~4 ", "\t", "\r\n", "\n", "日", "\"", "part \"P\"\n", "  woodblock", " as written",
		"use \"../x\"\n", "tempo 0", "repeat 1-9", "%", "x9999999", "accept ", "\x00", "\ufeff", "kit\n", "instrument x\n", "way held takes 9 hands", "#", "meter 0/0\n", "from 99999999\n"}
	draws.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(rapid.SampledFrom(pieces), 0, 40).Draw(t, "text"), "")
		for _, args := range [][]string{{"check", "-"}, {"check", "--format", "json", "-"}, {"check", "--fix", "-"}, {"fmt", "-"}} {
			var out, errs [2]strings.Builder
			for i := range out {
				code := Run(args, strings.NewReader(text), &out[i], &errs[i])
				if code == exitFailed && args[0] == "fmt" && !utf8.ValidString(text) {
					continue // another encoding stays as it is
				}
				if code == exitFailed || code < 0 {
					t.Fatalf("%v ends with %d: %s", args, code, errs[i].String())
				}
			}
			if out[0].String() != out[1].String() || errs[0].String() != errs[1].String() {
				t.Fatalf("%v says one thing and then another", args)
			}
		}
	})
}

func TestAPipeIsNotUsed(t *testing.T) {
	dir := t.TempDir()
	makePipe(t, filepath.Join(dir, "pipe.handful"))
	file := filepath.Join(dir, "quay.handful")
	require.NoError(t, os.WriteFile(file, []byte("use \"pipe.handful\"\n"), 0o644))
	out, _, code := run(t, "", "check", dir)
	assert.Equal(t, exitFindings, code)
	assert.Contains(t, out, "cannot be read: it is not a file")
}

func TestHelpIsAVerbToo(t *testing.T) {
	for _, verb := range [][]string{{}, {"check"}, {"plan"}} {
		asked, _, code := run(t, "", append([]string{"help"}, verb...)...)
		require.Equal(t, exitClean, code)
		flag, _, _ := run(t, "", append(verb, "--help")...)
		assert.Equal(t, flag, asked)
	}
}
