package main

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/cmd/handful/disk"
)

// interruptedAt is a system that interrupts the command when something is
// done with a file for the nth time.
type interruptedAt struct {
	disk.Real
	n   int
	end context.CancelCauseFunc
}

func (s *interruptedAt) count() {
	if s.n--; s.n == 0 {
		s.end(signalled{syscall.SIGINT})
	}
}

func (s *interruptedAt) Rename(from, to string) error {
	defer s.count()
	return s.Real.Rename(from, to)
}

func (s *interruptedAt) Link(from, to string) error {
	defer s.count()
	return s.Real.Link(from, to)
}

// ends is a context that has been ended by a signal.
func ends(by os.Signal) context.Context {
	ctx, end := context.WithCancelCause(context.Background())
	end(signalled{by})
	return ctx
}

const interruptedPiece = "tempo 96\npart \"P\"\n  woodblock | 1 2 3 4 | % x7\n  triangle | 1 3 | % x7\nplayer   Nell\n"

func TestAnInterruptedCommandSaysSo(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "quay.handful")
	for _, args := range [][]string{
		{"check", file}, {"check", "--format", "json", file}, {"check", "--fix", file}, {"check", "-"}, {"check", dir},
		{"fmt", file}, {"fmt", "--check", file}, {"fmt", "--write", file}, {"fmt", "-"},
		{"plan", file}, {"plan", "-o", file, file}, {"plan", "--fewest", file}, {"plan", "--what-if", file}, {"plan", "-"},
		{"sheet", file}, {"sheet", "-o", filepath.Join(dir, "stand"), file}, {"export", "--to", "midi", file}, {"export", "--to", "musicxml", "-o", filepath.Join(dir, "x.xml"), file},
		{"import", "-"},
	} {
		for by, code := range map[os.Signal]int{os.Interrupt: exitInterrupted, syscall.SIGTERM: 143} {
			require.NoError(t, os.WriteFile(file, []byte(interruptedPiece), 0o644))
			var out, errs strings.Builder
			assert.Equal(t, code, runIn(ends(by), disk.Real{}, args, strings.NewReader(interruptedPiece), &out, &errs), args)
			assert.Contains(t, errs.String(), "handful: interrupted: ", args)
			assert.NotContains(t, out.String(), "0 errors", "no answer is given that is none")
			assert.NotContains(t, out.String(), "leave something out")
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			assert.Equal(t, interruptedPiece, string(text), args)
			entries, err := os.ReadDir(dir)
			require.NoError(t, err)
			assert.Len(t, entries, 1, args)
		}
	}
}

// Reading that waits for somebody does not outlast an interruption.
func TestWaitingEnds(t *testing.T) {
	in, _, err := os.Pipe()
	require.NoError(t, err)
	defer in.Close()
	var out, errs strings.Builder
	assert.Equal(t, exitInterrupted, runIn(ends(os.Interrupt), disk.Real{}, []string{"check", "-"}, in, &out, &errs))
	assert.Empty(t, out.String())
}

// What is read at the very moment of an interruption is not gone on with
// either, and after one nothing is read.
func TestNothingIsReadAfterAnInterruption(t *testing.T) {
	ctx, end := context.WithCancelCause(context.Background())
	s := &streams{ctx: ctx}
	var early unfinished
	_, err := s.waiting(func() (string, error) { end(signalled{os.Interrupt}); return interruptedPiece, nil })
	assert.ErrorAs(t, err, &early)
	_, err = s.waiting(func() (string, error) { t.Error("it is read"); return "", nil })
	assert.ErrorAs(t, err, &early)
}

// Between two files a command stops; what it says of how far it came is so.
func TestAfterEachFileACommandMayStop(t *testing.T) {
	for n := 1; n <= 3; n++ {
		dir := t.TempDir()
		for _, name := range []string{"a", "b", "c"} {
			require.NoError(t, os.WriteFile(filepath.Join(dir, name+".handful"), []byte(interruptedPiece), 0o644))
		}
		ctx, end := context.WithCancelCause(context.Background())
		var out, errs strings.Builder
		code := runIn(ctx, &interruptedAt{n: n, end: end}, []string{"fmt", "--write", dir}, nil, &out, &errs)
		assert.Equal(t, n, strings.Count(out.String(), "\n"), "%d are named", n)
		done := 0
		for _, name := range []string{"a", "b", "c"} {
			text, err := os.ReadFile(filepath.Join(dir, name+".handful"))
			require.NoError(t, err)
			if string(text) != interruptedPiece {
				done++
			}
		}
		assert.Equal(t, n, done)
		if n == 3 { // all was done by then
			assert.Equal(t, exitClean, code)
			continue
		}
		assert.Equal(t, exitInterrupted, code)
		assert.Contains(t, errs.String(), share(n, 3, "files were done"))
	}
}

// Sheets that were being made when the command was interrupted are made by the
// next run.
func TestSheetsGoOnAfterAnInterruption(t *testing.T) {
	dir := t.TempDir()
	piece := strings.Replace(interruptedPiece, "player   Nell\n", "player Nell\n  R woodblock with rubber-mallet as written\nplayer Ida\n  R triangle with triangle-beater as written\n", 1)
	for n := 1; n < 20; n++ {
		ctx, end := context.WithCancelCause(context.Background())
		var out, errs strings.Builder
		code := runIn(ctx, &interruptedAt{n: n, end: end}, []string{"sheet", "--to", "text", "-o", dir, "-"}, strings.NewReader(strings.Replace(piece, "tempo 96", "tempo "+string(rune('1'+n%9))+"6", 1)), &out, &errs)
		if code == exitClean {
			require.Greater(t, n, 3)
			return
		}
		require.Equal(t, exitInterrupted, code, errs.String())
	}
	t.Fatal("it is never done")
}
