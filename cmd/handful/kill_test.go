package main

import (
	"bytes"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// killsVariable says how often each verb is killed; .ci/long sets it.
const killsVariable = "HANDFUL_KILLS"

// killPiece takes long enough to be planned, and has something to fix, to lay
// out and to print.
const killPiece = `title "Quay Steps"
tempo    96
bars 16
part "One"
  woodblock  | mf 1 3 | % x15
  snare-drum | mf 1 2 3 4 | % x15
part "Two"
  tambourine | mf 2 4 | % x15
  triangle | mf 1 | % x15
player   Wren
  R woodblock   clamped with rubber-mallet as written
player Ash
  L triangle with triangle-beater as written
`

const misspelt = "player Bo\n  R snare-drmu | 1 2\n"

// What is killed at any moment has written the whole file or nothing of it,
// and the next run goes on from there.
func TestKilledAtAnyMoment(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("there are no signals here")
	}
	program, err := exec.LookPath("handful")
	require.NoError(t, err)
	kills := howOften()
	for _, v := range []struct {
		name string
		args []string
		puts []string // the files that it writes
	}{
		{"fmt", []string{"fmt", "--write", "piece.handful"}, []string{"piece.handful"}},
		{"fix", []string{"check", "--fix", "piece.handful"}, []string{"piece.handful"}},
		{"plan", []string{"plan", "plain.handful", "--players", "2", "-o", "plain.handful"}, []string{"plain.handful"}},
		{"sheet", []string{"sheet", "plain.handful", "--to", "pdf", "-o", "stand"}, []string{"stand/quay-steps-wren.pdf", "stand/quay-steps-ash.pdf", "stand/quay-steps-section.pdf"}},
		{"export", []string{"export", "plain.handful", "--to", "musicxml", "--force", "-o", "part.musicxml"}, []string{"part.musicxml"}},
		{"baseline", []string{"check", ".", "--write-baseline", "known.json"}, []string{"known.json"}},
		{"import", []string{"import", "first.musicxml", "--force", "-o", "book.handful"}, []string{"book.handful"}},
	} {
		t.Run(v.name, func(t *testing.T) {
			before := func() string {
				dir := t.TempDir()
				write := func(name, text string) {
					require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o755))
					require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
				}
				plain := killPiece
				write("piece.handful", killPiece+misspelt)
				write("plain.handful", plain)
				write("known.json", "{\"handful baseline\": 1, \"findings\": [\n]}\n")
				write("part.musicxml", "an older one")
				write("book.handful", "# an older one\n")
				runThere(t, program, dir, "export", "plain.handful", "--to", "musicxml", "-o", "first.musicxml")
				if v.name == "sheet" { // of another tempo, so that there is something to write over
					write("plain.handful", strings.Replace(plain, "96", "72", 1))
					runThere(t, program, dir, v.args...)
					write("plain.handful", plain)
				}
				return dir
			}
			dir := before()
			old := contents(t, dir)
			began := time.Now()
			runThere(t, program, dir, v.args...)
			took := time.Since(began)
			young := contents(t, dir)
			for _, f := range v.puts {
				require.NotEqual(t, old[f], young[f], "%s is written", f)
			}
			seen := map[string]int{}
			for i := range kills {
				dir := before()
				cmd := exec.Command(program, v.args...)
				cmd.Dir = dir
				by := syscall.SIGKILL
				if i%2 == 1 {
					by = syscall.SIGINT
				}
				require.NoError(t, cmd.Start())
				moment := rand.Float64() * 1.2
				if i%4 >= 2 { // writing comes last
					moment = 0.8 + rand.Float64()/3
				}
				time.Sleep(time.Duration(moment * float64(took)))
				cmd.Process.Signal(by)
				cmd.Wait()
				if by == syscall.SIGINT && cmd.ProcessState.Exited() && cmd.ProcessState.ExitCode() == exitInterrupted {
					seen["130"]++
				}
				for f, text := range contents(t, dir) {
					switch {
					case bytes.Equal(text, young[f]) && bytes.Equal(text, old[f]):
					case bytes.Equal(text, young[f]) && young[f] != nil:
						seen["new"]++
					case bytes.Equal(text, old[f]) && old[f] != nil:
						seen["old"]++
					case filepath.Base(f) == madeName: // while sheets are written it knows both
					case by == syscall.SIGKILL && strings.HasSuffix(f, ".being-written"):
						seen["left beside"]++
					default:
						assert.Fail(t, "torn", "%s after %s, signal %v: %.200q", f, cmd, by, text)
					}
				}
				for f := range old {
					assert.FileExists(t, filepath.Join(dir, f), "lost")
				}
				if by == syscall.SIGKILL || v.name == "sheet" { // and the next run goes on from there
					runThere(t, program, dir, v.args...)
					after := contents(t, dir)
					if v.name != "plan" { // a plan of a plan is a plan, and need not be the same text
						for _, f := range v.puts {
							assert.Equal(t, string(young[f]), string(after[f]), "%s, after the next run", f)
						}
					}
				}
			}
			t.Logf("%d times: %v", kills, seen)
		})
	}
}

// howOften is how often each verb is killed.
func howOften() int {
	if n, err := strconv.Atoi(os.Getenv(killsVariable)); err == nil {
		return n
	}
	if testing.Short() {
		return 1
	}
	return 4
}

// What is killed while it keeps what it found, alone or beside another, leaves
// nothing that a later run is misled by.
func TestKilledWhileItKeepsWhatItFound(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("there are no signals here")
	}
	program, err := exec.LookPath("handful")
	require.NoError(t, err)
	dir := keptLibrary(t)
	for i := range 30 {
		text := strings.Replace(killPiece, "96", strconv.Itoa(60+i), 1)
		require.NoError(t, os.WriteFile(filepath.Join(dir, strconv.Itoa(i)+".handful"), []byte(text), 0o644))
	}
	kept := t.TempDir()
	begin := func(args ...string) *exec.Cmd {
		cmd := exec.Command(program, append([]string{"check", "."}, args...)...)
		cmd.Dir = dir
		cmd.Env = append(os.Environ(), cacheVariable+"="+kept)
		return cmd
	}
	told := func(args ...string) string {
		out, _ := begin(args...).Output()
		return string(out)
	}
	began := time.Now()
	alone := told("--no-cache")
	took := time.Since(began)
	require.Contains(t, alone, "read 36 files")
	packs := 0
	for range howOften() {
		require.NoError(t, os.RemoveAll(kept))
		one, other := begin(), begin()
		require.NoError(t, one.Start())
		require.NoError(t, other.Start())
		time.Sleep(time.Duration(rand.Float64() * 2.4 * float64(took)))
		one.Process.Kill()
		one.Wait()
		other.Process.Kill()
		other.Wait()
		if _, err := os.Stat(kept); err == nil {
			packs += eachPack(t, kept, func(string) {})
		}
		require.Equal(t, alone, told(), "after it")
		require.Equal(t, alone, told(), "and with what that has kept")
	}
	t.Logf("%d times: %d files were left in the cache", howOften(), packs)
}

// runThere runs the program in a folder, to its end.
func runThere(t *testing.T, program, dir string, args ...string) {
	t.Helper()
	cmd := exec.Command(program, args...)
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	if code := cmd.ProcessState.ExitCode(); code != exitClean && code != exitFindings {
		require.NoError(t, err, "%s\n%s", cmd, out)
	}
}

// contents are the files below a folder.
func contents(t *testing.T, dir string) map[string][]byte {
	out := map[string][]byte{}
	require.NoError(t, filepath.WalkDir(dir, func(at string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, err := filepath.Rel(dir, at)
		if err != nil {
			return err
		}
		out[filepath.ToSlash(rel)], err = os.ReadFile(at)
		return err
	}))
	return out
}
