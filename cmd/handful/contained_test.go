package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/sheet"
	"example.org/handful/lang/syntax"
)

// crashes are the texts that once ended the program.
func crashes(t testing.TB) map[string]string {
	files, err := filepath.Glob("../../testdata/crashes/*.handful")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	texts := map[string]string{}
	for _, f := range files {
		text, err := os.ReadFile(f)
		require.NoError(t, err)
		texts[strings.TrimSuffix(filepath.Base(f), folder.Extension)] = string(text)
	}
	return texts
}

// What once went wrong goes through every verb without the program failing.
func TestNoCrashComesBack(t *testing.T) {
	for name, text := range crashes(t) {
		t.Run(name, func(t *testing.T) {
			for _, args := range [][]string{
				{"check", "-"}, {"check", "--format", "json", "-"}, {"check", "--fix", "-"}, {"check", "--tempo", "150%", "-"}, {"fmt", "-"},
				{"plan", "-"}, {"plan", "--players", "2", "-"}, {"plan", "--keep", "-"}, {"plan", "--fewest", "-"}, {"plan", "--what-if", "-"},
				{"sheet", "-"}, {"sheet", "--to", "html", "-o", t.TempDir(), "-"}, {"sheet", "--to", "svg", "-o", t.TempDir(), "-"}, {"sheet", "--to", "pdf", "-o", t.TempDir(), "-"},
				{"export", "--to", "musicxml", "-"}, {"export", "--to", "midi", "--click", "-"},
			} {
				out, errs, code := run(t, text, args...)
				assert.Contains(t, []int{exitClean, exitFindings, exitFailed}, code, args)
				assert.NotContains(t, out+errs, "the program failed", args)
				assert.NotContains(t, out+errs, "goroutine", args)
			}
		})
	}
}

// brittle is a form that fails on one piece.
type brittle struct {
	form
	on string
}

func (b brittle) render(c *checked, p *page) {
	if len(c.result.Faults) == 0 && c.path == b.on {
		panic("on purpose")
	}
	b.form.render(c, p)
}

// A piece on which the program fails takes nothing from the others.
func TestOneBadPieceEndsNothing(t *testing.T) {
	var inputs []input
	for _, name := range []string{"one", "two", "three"} {
		inputs = append(inputs, input{path: name, name: name, root: t.TempDir(), text: "tempo 96\nplayer Ida\n  R woodblock clamped | 1 2\n"})
	}
	for _, f := range []form{textForm{}, &machineForm{verb: &checkVerb{Format: "json"}, streams: &streams{}}} {
		whole := checkAll(t.Context(), inputs, checking{fixes: soonFixes}, f, nil)
		pages := checkAll(t.Context(), inputs, checking{fixes: soonFixes}, brittle{f, "two"}, nil)
		require.Len(t, pages, 3)
		assert.Equal(t, whole[0], pages[0])
		assert.Equal(t, whole[2], pages[2])
		assert.Equal(t, 1, pages[1].by[check.Error])
		assert.Len(t, pages[1].faults, 1)
		var out bytes.Buffer
		told := telling{form: f, to: &out, held: true}
		require.NoError(t, told.all(pages))
		assert.Contains(t, out.String(), "the program failed on this piece, at cmd/handful/contained_test.go:")
		assert.NotContains(t, out.String(), "goroutine")
	}
}

func TestSheetsOfTheOtherPiecesAreMade(t *testing.T) {
	var results []*check.Result
	for range 3 {
		results = append(results, check.Check("x", syntax.Parse("tempo 96\nplayer Ida\n  R woodblock clamped | 1 2\n"), check.Options{}))
	}
	results[1].Score = nil // no sheet can be made of that
	paper, _ := sheet.PaperNamed("A4")
	docs, faults := docsSafely(results, sheet.Options{Paper: paper})
	assert.NotEmpty(t, docs)
	require.Len(t, faults, 1)
	assert.Contains(t, faults[1].Place, "lang/sheet/")
}

// The stack is for whoever asks for it.
func TestATraceIsShownWhenAskedFor(t *testing.T) {
	fault := check.Contained(func() { panic("on \x1b purpose") })
	for _, asked := range []string{"", "1"} {
		t.Setenv(traceVariable, asked)
		var errs strings.Builder
		err := (&streams{err: &output{to: &errs}}).failed("quay.handful", fault)
		assert.Equal(t, exitCode(exitFailed), err)
		assert.Contains(t, errs.String(), "quay.handful: the program failed on this piece, at ")
		assert.Equal(t, asked != "", strings.Contains(errs.String(), "goroutine"))
		assert.NotContains(t, errs.String(), "\x1b")
	}
}
