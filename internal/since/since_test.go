package since

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The repositories are made by git itself.
func repository(t *testing.T) (dir string, run func(args ...string)) {
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("git is not there to make a repository with")
	}
	dir = t.TempDir()
	run = func(args ...string) {
		c := exec.Command("git", append([]string{"-C", dir, "-c", "user.name=A", "-c", "user.email=a@example.org"}, args...)...)
		out, err := c.CombinedOutput()
		require.NoError(t, err, string(out))
	}
	run("init", "-q", "-b", "main")
	return dir, run
}

func write(t *testing.T, dir, name, text string) string {
	at := filepath.Join(dir, filepath.FromSlash(name))
	require.NoError(t, os.MkdirAll(filepath.Dir(at), 0o755))
	require.NoError(t, os.WriteFile(at, []byte(text), 0o644))
	return at
}

func TestWhatChangedSinceARevision(t *testing.T) {
	dir, run := repository(t)
	same := write(t, dir, "a/same", "one\n")
	later := write(t, dir, "a/later", "one\n")
	gone := write(t, dir, "gone", "one\n")
	back := write(t, dir, "back", "one\n")
	touched := write(t, dir, "touched", "one\n")
	for _, file := range []string{same, later, gone, back, touched} { // long before git looks
		require.NoError(t, os.Chtimes(file, time.Now(), time.Now().Add(-time.Hour)))
	}
	run("add", ".")
	run("commit", "-qm", "first")
	run("tag", "season")
	write(t, dir, "a/later", "two\n")
	write(t, dir, "back", "two\n")
	run("commit", "-qam", "second")
	require.NoError(t, os.Remove(gone))
	write(t, dir, "back", "one\n")
	require.NoError(t, os.Chtimes(touched, time.Now(), time.Now().Add(time.Hour)))
	fresh := write(t, dir, "fresh", "one\n")
	outside := write(t, t.TempDir(), "outside", "one\n")

	for revision, want := range map[string]map[string]bool{
		"season": {same: false, later: true, gone: true, back: false, touched: false, fresh: true, outside: true},
		"HEAD":   {same: false, later: false, gone: true, back: true, touched: false, fresh: true, outside: true},
		"main~1": {same: false, later: true, back: false},
	} {
		r, err := Open(filepath.Join(dir, "a"), revision)
		require.NoError(t, err)
		assert.NotEmpty(t, r.staged, "what git has looked at need not be read")
		for file, changed := range want {
			is := r.Of(file)
			assert.Equal(t, changed, is.Changed, "%s since %s", filepath.Base(file), revision)
			assert.Equal(t, changed, is.Content == [20]byte{}, "%s since %s", filepath.Base(file), revision)
			assert.Equal(t, []State{is, is}, r.Look([]string{file, file}), "several at once")
		}
	}
}

func TestWhatCannotBeAsked(t *testing.T) {
	_, err := Open(t.TempDir(), "HEAD")
	assert.ErrorContains(t, err, "no git repository")
	dir, run := repository(t)
	_, err = Open(dir, "HEAD")
	assert.ErrorContains(t, err, "no revision")
	write(t, dir, "a", "one\n")
	run("add", ".")
	run("commit", "-qm", "first")
	_, err = Open(dir, "nonsense")
	assert.ErrorContains(t, err, `no revision "nonsense"`)
}
