package main

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/internal/cache"
)

// A file is known as long as nothing of it has changed, and not when somebody
// has put it back in its old time and size.
func TestAFileIsKnownAsLongAsItIsTheSame(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "piece.handful")
	require.NoError(t, os.WriteFile(file, []byte("tempo 96\n"), 0o644))
	info, err := os.Stat(file)
	require.NoError(t, err)
	if _, can := sighted(info); !can {
		t.Skip("every file is read here")
	}
	store := cache.Open(t.TempDir(), "test")
	later := func() *sightings {
		s := newSightings(store)
		s.now = s.now.Add(time.Hour)
		return s
	}
	s := later()
	is, ok := s.known(file)
	assert.False(t, ok, "it was never read")
	s.note(file, is, sumOf("tempo 96\n"))
	s.keep()

	s = later()
	is, ok = s.known(file)
	assert.True(t, ok)
	assert.Equal(t, sumOf("tempo 96\n"), is.sum)
	_, ok = s.known(filepath.Join(dir, "another.handful"))
	assert.False(t, ok, "it is not there")

	time.Sleep(20 * time.Millisecond) // the disk's clock goes on
	require.NoError(t, os.WriteFile(file, []byte("tempo 69\n"), 0o644))
	require.NoError(t, os.Chtimes(file, info.ModTime(), info.ModTime()))
	again, err := os.Stat(file)
	require.NoError(t, err)
	require.True(t, again.ModTime().Equal(info.ModTime()) && again.Size() == info.Size())
	is, ok = later().known(file)
	assert.False(t, ok, "it was changed, whatever its time says")

	// What was changed just before it was read may change again unseen.
	s = newSightings(store)
	s.note(file, is, sumOf("tempo 69\n"))
	s.keep()
	_, ok = later().known(file)
	assert.False(t, ok)

	// What is broken is nothing that is known.
	store.Put(seenKey(dir), []byte{0xff, 0x01, 0x02})
	_, ok = later().known(file)
	assert.False(t, ok)
	var none *sightings
	none.note(file, is, is.sum)
	none.keep()
	_, ok = none.known(file)
	assert.False(t, ok)
}

// What is known unread is checked again where something that it uses changed,
// and is named where it is gone by then.
func TestWhatIsKnownIsReadWhenItHasTo(t *testing.T) {
	dir := t.TempDir()
	t.Setenv(cacheVariable, t.TempDir())
	write := func(name, text string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	write("handful.toml", "")
	write("kit.handful", "instrument quay-block\n  called \"quay block\" \"Q.B.\"\n  family wood\n  way clamped takes 1 hand with snare-stick loudest ff\n")
	piece := "tempo 96\nuse \"kit.handful\"\nplayer Ida\n  R quay-block with snare-stick | 1 2 3 4\n"
	write("one.handful", piece)
	write("two.handful", piece+"# two\n")
	time.Sleep(tick + 100*time.Millisecond) // so that what was written is not too new to be known
	check := func() string {
		out, errs, code := run(t, "", "check", dir, "--no-fixes")
		assert.Less(t, code, exitFailed, errs)
		return out
	}
	first := check()
	assert.Equal(t, first, check())
	write("kit.handful", "instrument quay-block\n  called \"pier block\" \"P.B.\"\n  family wood\n  way clamped takes 1 hand with snare-stick loudest ff\n")
	second := check()
	assert.NotEqual(t, first, second, "what both use is another")
	again, _, _ := run(t, "", "check", dir, "--no-fixes", "--no-cache")
	assert.Equal(t, again, second)

	in := input{path: filepath.Join(dir, "gone.handful"), unread: true}
	lost := checkOne(t.Context(), in, nil, checking{}, nil, job{})
	assert.True(t, lost.done)
	assert.ErrorIs(t, lost.err, os.ErrNotExist)
}
