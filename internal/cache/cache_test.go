package cache

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func keyOf(i int) (key Key) {
	binary.LittleEndian.PutUint64(key[:], uint64(i))
	return key
}

// valueOf is what belongs to a key and to no other.
func valueOf(i int) []byte { return bytes.Repeat(fmt.Append(nil, "value ", i, "\n"), 1+i%50) }

func packsIn(t *testing.T, dir string) []string {
	names, err := filepath.Glob(filepath.Join(dir, "*", "*"+extension))
	require.NoError(t, err)
	return names
}

func fill(dir string, from, to int) {
	c := Open(dir, "one")
	for i := from; i < to; i++ {
		c.Put(keyOf(i), valueOf(i))
	}
	c.Close()
}

func TestWhatIsPutIsThere(t *testing.T) {
	dir := t.TempDir()
	for n := range 3 * mostPacks {
		fill(dir, 10*n, 10*n+10)
		assert.LessOrEqual(t, len(packsIn(t, dir)), mostPacks+1, "many are made into one")
	}
	c := Open(dir, "one")
	for i := range 30 * mostPacks {
		require.Equal(t, string(valueOf(i)), string(c.Get(keyOf(i))))
	}
	assert.Nil(t, c.Get(keyOf(-1)))
	c.Close()
	c = Open(dir, "another version")
	assert.Nil(t, c.Get(keyOf(1)), "another version has nothing")
	c.Close()
	var none *Cache
	none.Put(keyOf(1), valueOf(1))
	assert.Nil(t, none.Get(keyOf(1)))
	none.Close()
}

// What came last is what counts, and one that was there before is not mixed up
// with it.
func TestALaterValueStandsBeforeAnEarlierOne(t *testing.T) {
	dir := t.TempDir()
	for n := range 3 * mostPacks {
		c := Open(dir, "one")
		c.Put(keyOf(1), valueOf(n))
		assert.Equal(t, valueOf(n), c.Get(keyOf(1)), "before it is written")
		c.Close()
		c = Open(dir, "one")
		assert.Equal(t, valueOf(n), c.Get(keyOf(1)))
		c.Close()
	}
}

// However a pack is damaged, a value is what was put there or it is not there.
func TestDamageIsAsIfNothingWereThere(t *testing.T) {
	dir := t.TempDir()
	fill(dir, 0, 40)
	name := packsIn(t, dir)[0]
	whole, err := os.ReadFile(name)
	require.NoError(t, err)
	d := rand.New(rand.NewPCG(5, 5))
	lost := 0
	for n := range 600 {
		text := bytes.Clone(whole)
		switch at := d.IntN(len(text)); n % 3 {
		case 0:
			text[at] ^= byte(1 + d.IntN(255))
		case 1:
			text = text[:at]
		default:
			text = append(text[:at:at], whole[d.IntN(len(whole)):]...)
		}
		if bytes.Equal(text, whole) {
			continue
		}
		require.NoError(t, os.WriteFile(name, text, 0o600))
		c := Open(dir, "one")
		for i := range 40 {
			if value := c.Get(keyOf(i)); value == nil {
				lost++
				c.Put(keyOf(i), valueOf(i))
			} else {
				require.Equal(t, string(valueOf(i)), string(value))
			}
		}
		c.Close()
		c = Open(dir, "one")
		for i := range 40 {
			require.Equal(t, string(valueOf(i)), string(c.Get(keyOf(i))), "and it is written anew")
		}
		c.Close()
		for _, more := range packsIn(t, dir) {
			os.Remove(more)
		}
	}
	assert.Greater(t, lost, 400)
}

func TestNoMoreIsKeptThanMayBe(t *testing.T) {
	dir := t.TempDir()
	old := Open(dir, "old version")
	old.Put(keyOf(1), make([]byte, 60_000))
	old.Close()
	require.NoError(t, os.Chtimes(packsIn(t, dir)[0], time.Now(), time.Now().Add(-time.Hour)))
	for n := range 30 {
		c := Open(dir, "one")
		c.limit = 100_000
		for i := range 10 {
			c.Put(keyOf(100*n+i), make([]byte, 3_000))
		}
		c.Close()
		size := int64(0)
		for _, name := range packsIn(t, dir) {
			info, err := os.Stat(name)
			require.NoError(t, err)
			size += info.Size()
		}
		require.LessOrEqual(t, size, int64(100_000))
		c = Open(dir, "one")
		for i := range 10 {
			require.NotNil(t, c.Get(keyOf(100*n+i)), "what is new is kept")
		}
		c.Close()
	}
	assert.NoDirExists(t, filepath.Join(dir, "old version"), "and what is oldest goes first")
}

func TestWhatWasLeftHalfWrittenGoesAway(t *testing.T) {
	dir := t.TempDir()
	fill(dir, 0, 1)
	left := filepath.Join(dir, "one", "0000000000000009-00"+extension+unready)
	require.NoError(t, os.WriteFile(left, []byte("half of"), 0o600))
	fill(dir, 1, 2)
	assert.FileExists(t, left, "somebody may be writing it")
	require.NoError(t, os.Chtimes(left, time.Now(), time.Now().Add(-2*stale)))
	fill(dir, 2, 3)
	assert.NoFileExists(t, left)
}

// Several runs in one folder, which make packs, join them and take them away.
func TestRunsAtOnce(t *testing.T) {
	dir := t.TempDir()
	var all sync.WaitGroup
	for run := range 6 {
		all.Go(func() {
			d := rand.New(rand.NewPCG(uint64(run), 1))
			for range 30 {
				c := Open(dir, "one")
				for range 20 {
					i := d.IntN(300)
					if value := c.Get(keyOf(i)); value == nil {
						c.Put(keyOf(i), valueOf(i))
					} else if !bytes.Equal(value, valueOf(i)) {
						assert.Fail(t, "not what was put there")
					}
				}
				c.Close()
			}
		})
	}
	all.Wait()
}

func TestAFolderThatCannotBeWritten(t *testing.T) {
	file := filepath.Join(t.TempDir(), "a file")
	require.NoError(t, os.WriteFile(file, []byte("not a folder"), 0o600))
	c := Open(file, "one")
	c.Put(keyOf(1), valueOf(1))
	assert.Equal(t, valueOf(1), c.Get(keyOf(1)))
	c.Close()
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, "not a folder", string(text))
}
