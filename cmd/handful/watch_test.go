package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/cmd/handful/disk"
)

// A shown is what was written until now; several may write and read.
type shown struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (s *shown) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.buf.Write(p)
}

// from waits until a text is shown behind a place, and is what is shown from
// there.
func (s *shown) from(t *testing.T, at int, text string) string {
	t.Helper()
	var got string
	require.Eventually(t, func() bool {
		s.mu.Lock()
		defer s.mu.Unlock()
		got = s.buf.String()[at:]
		return strings.Contains(got, text)
	}, 30*time.Second, 5*time.Millisecond, text)
	return got
}

func (s *shown) len() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.buf.Len()
}

func TestWhatIsSavedIsCheckedWithWhatUsesIt(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		at := filepath.Join(dir, filepath.FromSlash(name))
		require.NoError(t, os.MkdirAll(filepath.Dir(at), 0o755))
		require.NoError(t, os.WriteFile(at, []byte(text), 0o644))
	}
	const bell = "instrument harbour-bell\n  family metal\n  way hung takes 1 hand with brass-mallet loudest ff\n"
	write("kit/store.handful", bell)
	write("a.handful", "use \"kit/store.handful\"\ntempo 90\nplayer Nell\n  R harbour-bell with brass-mallet | 1 2\n")
	write("b.handful", "tempo 90\nplayer Tam\n  R triangle with triangle-beater | 1 2\n")

	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	var out, errs shown
	done := make(chan int)
	go func() { done <- runIn(ctx, disk.Real{}, []string{"watch", dir}, strings.NewReader(""), &out, &errs) }()
	errs.from(t, 0, "watching 2 folders")
	assert.Contains(t, out.from(t, 0, "read 3 files"), "0 errors")

	at := out.len()
	write("kit/store.handful", strings.Replace(bell, "harbour-bell", "quay-bell", 1))
	got := out.from(t, at, "read 2 files")
	assert.Contains(t, got, "unknown-name")
	assert.NotContains(t, got, "Tam", "what does not use it is left alone")

	at = out.len()
	write("new/c.handful", "tempo 90\nplayer Ash\n  R harbour-bell with brass-mallet | 1 2\n")
	assert.Contains(t, out.from(t, at, "read 1 file,"), "Ash")

	at = out.len()
	write("handful.toml", "[severity]\nunknown-name = \"off\"\n")
	assert.NotContains(t, out.from(t, at, "read 4 files"), "unknown-name")

	stop()
	assert.Equal(t, exitInterrupted, <-done)
}

// What handful.toml says of checks holds here too, and what a .gitignore passes
// over is not watched.
func TestWatchingGoesByTheSettings(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		at := filepath.Join(dir, filepath.FromSlash(name))
		require.NoError(t, os.MkdirAll(filepath.Dir(at), 0o755))
		require.NoError(t, os.WriteFile(at, []byte(text), 0o644))
	}
	const piece = "tempo 90\nplayer Nell\n  R snare-drmu with snare-stick | 1 2\n"
	write("a.handful", piece)
	write("made/b.handful", piece)
	write("made/deep/c.handful", piece)
	write(".gitignore", "made/\n")
	t.Chdir(dir)
	require.NoError(t, os.MkdirAll("lists", 0o755))
	assert.Equal(t, exitClean, Run([]string{"check", ".", "--write-baseline", "lists/known.json"}, strings.NewReader(""), &shown{}, &shown{}))
	write("handful.toml", "[check]\nbaseline = \"lists/known.json\"\nfixes = false\n")

	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	var out, errs shown
	done := make(chan int)
	go func() { done <- runIn(ctx, disk.Real{}, []string{"watch"}, strings.NewReader(""), &out, &errs) }()
	errs.from(t, 0, "watching 2 folders")
	got := out.from(t, 0, "read 1 file,")
	assert.Contains(t, got, "known from the baseline")
	assert.NotContains(t, got, "snare-drmu")

	at := out.len()
	write("made/new/d.handful", piece)
	write("a.handful", piece+"  L cowbel with snare-stick | 1\n")
	got = out.from(t, at, "read 1 file,")
	assert.Contains(t, got, "cowbel", "what is new is told")
	assert.NotContains(t, got, "snare-drmu")
	assert.NotContains(t, got, "would help", "and no fixes are looked for")

	at = out.len()
	write("lists/known.json", "{\"handful baseline\": 1, \"findings\": []}\n")
	got = out.from(t, at, "read 1 file,")
	assert.Contains(t, got, "snare-drmu", "another list is another report")

	at = out.len()
	write("handful.toml", "[check]\nfixes = true\n")
	assert.Contains(t, out.from(t, at, "read 1 file,"), "would help")
	stop()
	assert.Equal(t, exitInterrupted, <-done)
}
