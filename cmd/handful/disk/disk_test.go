package disk_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/cmd/handful/disk"
	"example.org/handful/cmd/handful/disk/disktest"
)

// situations are the kinds of places, each made in a folder.
var situations = map[string]func(t *testing.T, file string){
	"a new file": func(t *testing.T, file string) {},
	"a file": func(t *testing.T, file string) {
		require.NoError(t, os.WriteFile(file, []byte(old), 0o640))
	},
	"a file of two names": func(t *testing.T, file string) {
		require.NoError(t, os.WriteFile(file, []byte(old), 0o640))
		require.NoError(t, os.Link(file, file+".twin"))
	},
	"a link": func(t *testing.T, file string) {
		require.NoError(t, os.WriteFile(file+".target", []byte(old), 0o640))
		require.NoError(t, os.Symlink(filepath.Base(file)+".target", file))
	},
}

const old, young = "the text as it was, which is the longer one of the two", "the new text"

// put is what the verbs do.
func put(sys disk.System, file string) error {
	p, err := disk.At(sys, file, filepath.Dir(file))
	if err != nil {
		return err
	}
	if p.There() {
		if _, err := p.Look(); err != nil {
			return err
		}
	}
	return p.Write([]byte(young))
}

// Every operation fails in turn: there always is the old text or the new one,
// whole, an error when it is the old one, and nothing left beside it.
func TestEachOperationFailsInTurn(t *testing.T) {
	for name, make := range situations {
		t.Run(name, func(t *testing.T) {
			tried := map[string]bool{}
			for n := 1; ; n++ {
				dir := t.TempDir()
				file := filepath.Join(dir, "quay.handful")
				make(t, file)
				before := listed(t, dir)
				sys := &disktest.Faulty{Fails: n}
				err := put(sys, file)
				if sys.What == "" {
					require.NoError(t, err)
					t.Logf("%d operations, of %d kinds", n-1, len(tried))
					return
				}
				tried[sys.What] = true
				text, rerr := os.ReadFile(file)
				switch {
				case errors.Is(rerr, fs.ErrNotExist):
					assert.Equal(t, "a new file", name, "%s fails", sys.What)
					assert.Error(t, err)
				case string(text) == young:
					assert.NoError(t, err, "%s fails", sys.What)
				default:
					assert.Equal(t, old, string(text), "%s fails", sys.What)
					assert.Error(t, err, "%s fails", sys.What)
				}
				if err != nil {
					assert.Contains(t, err.Error(), file)
					assert.NotContains(t, err.Error(), disk.Suffix, "what is said is about the file that was named")
					assert.Equal(t, before, listed(t, dir), "%s fails: nothing is left behind", sys.What)
				}
			}
		})
	}
}

// From one operation on nothing works any more, as when a disk goes away or
// the program is cut off: the old text or the new one is there, under its own
// name or beside it.
func TestFromAnyOperationOnNothingWorks(t *testing.T) {
	for name, make := range situations {
		t.Run(name, func(t *testing.T) {
			for n := 1; ; n++ {
				dir := t.TempDir()
				file := filepath.Join(dir, "quay.handful")
				make(t, file)
				sys := &disktest.Faulty{Fails: n, After: true}
				err := put(sys, file)
				if sys.What == "" {
					require.NoError(t, err)
					return
				}
				whole := false
				for _, f := range listed(t, dir) {
					text, rerr := os.ReadFile(filepath.Join(dir, f))
					require.NoError(t, rerr)
					whole = whole || string(text) == old || string(text) == young
				}
				if name != "a new file" {
					assert.True(t, whole, "from %s on", sys.What)
				}
				if text, rerr := os.ReadFile(file); rerr == nil && string(text) != old && string(text) != young {
					assert.ErrorContains(t, err, "the whole new text is in ", "from %s on", sys.What)
				}
			}
		})
	}
}

// Somebody else saves before any operation of ours: what they saved stays and
// it is said, unless it came before our first look at the file, which then
// sees it. Left out are the moments in which nobody can look: between the last
// look and the renaming, and while a file of two names is written over.
func TestWhatChangesMeanwhileStays(t *testing.T) {
	for name, make := range situations {
		t.Run(name, func(t *testing.T) {
			tried := 0
			for at := 1; ; at++ {
				dir := t.TempDir()
				file := filepath.Join(dir, "quay.handful")
				make(t, file)
				n, seen, opened, inPlace, changed := 0, false, false, false, ""
				sys := &disktest.Faulty{Fails: -1, Met: func(what string) {
					n++
					last := what == "link" || what == "rename" && name != "a file of two names" || what == "sync folder"
					if n == at && !last && !inPlace {
						changed = what
						require.NoError(t, os.WriteFile(file, []byte("theirs"), 0o640))
					} else if n == at {
						changed = "too late"
					}
					if changed == "" && (what == "read" || what == "lstat" && name == "a new file") {
						seen = true
					}
					inPlace = inPlace || opened && what == "read"
					opened = opened || what == "open"
				}}
				err := put(sys, file)
				switch text, _ := os.ReadFile(file); {
				case changed == "":
					assert.Greater(t, tried, 3)
					return
				case changed == "too late":
				case !seen:
					assert.NoError(t, err)
					assert.Equal(t, young, string(text), "before %s", changed)
				default:
					tried++
					assert.Equal(t, "theirs", string(text), "before %s", changed)
					assert.ErrorContains(t, err, "stays", "before %s", changed)
				}
			}
		})
	}
}

func listed(t *testing.T, dir string) []string {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

func TestOwnerModeAndNamesAreKept(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "quay.handful")
	require.NoError(t, os.WriteFile(file, []byte(old), 0o600))
	require.NoError(t, os.Chmod(file, 0o642))
	if os.Getuid() == 0 {
		require.NoError(t, os.Chown(file, 65534, 65533))
	}
	before, err := os.Stat(file)
	require.NoError(t, err)
	require.NoError(t, put(disk.Real{}, file))
	after, err := os.Stat(file)
	require.NoError(t, err)
	assert.False(t, os.SameFile(before, after), "the old file is replaced, never written into")
	assert.Equal(t, before.Mode(), after.Mode())
	if b, ok := before.Sys().(*syscall.Stat_t); ok {
		a := after.Sys().(*syscall.Stat_t)
		assert.Equal(t, []uint32{b.Uid, b.Gid}, []uint32{a.Uid, a.Gid})
	}

	twin := filepath.Join(dir, "twin.handful")
	require.NoError(t, os.Remove(file))
	require.NoError(t, os.WriteFile(file, []byte(old), 0o644))
	require.NoError(t, os.Link(file, twin))
	require.NoError(t, put(disk.Real{}, file))
	text, err := os.ReadFile(twin)
	require.NoError(t, err)
	assert.Equal(t, young, string(text), "it is one file under two names")
}

func TestWhatIsNotOverwritten(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "quay.handful")
	write := func(name, text string, mode fs.FileMode) { require.NoError(t, os.WriteFile(name, []byte(text), mode)) }

	write(file, old, 0o444)
	assert.ErrorContains(t, put(disk.Real{}, file), "write-protected")
	assert.ErrorContains(t, put(disk.Real{}, dir), "only a file can be written")
	assert.ErrorContains(t, put(disk.Real{}, filepath.Join(dir, "nowhere", "x.handful")), "no such folder")
	assert.ErrorContains(t, disk.MakeFolder(disk.Real{}, file), "should be a folder")
	assert.ErrorContains(t, disk.MakeFolder(disk.Real{}, filepath.Join(file, "below")), "should be a folder")

	outside := filepath.Join(t.TempDir(), "secret")
	write(outside, old, 0o644)
	link := filepath.Join(dir, "link.handful")
	require.NoError(t, os.Symlink(outside, link))
	assert.ErrorContains(t, put(disk.Real{}, link), "leads out of the folder")
	require.NoError(t, os.Remove(link))
	require.NoError(t, os.Symlink("gone", link))
	assert.ErrorContains(t, put(disk.Real{}, link), "leads nowhere")
	text, err := os.ReadFile(outside)
	require.NoError(t, err)
	assert.Equal(t, old, string(text))
}

func TestWhatWasLeftBehindIsSwept(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "quay.handful")
	stale, fresh, other := filepath.Join(dir, ".quay.handful.1"+disk.Suffix), filepath.Join(dir, ".quay.handful.2"+disk.Suffix), filepath.Join(dir, ".jetty.handful.1"+disk.Suffix)
	for _, f := range []string{stale, fresh, other} {
		require.NoError(t, os.WriteFile(f, nil, 0o644))
	}
	ago := time.Now().Add(-2 * disk.LeftAfter)
	require.NoError(t, os.Chtimes(stale, ago, ago))
	require.NoError(t, os.Chtimes(other, ago, ago))
	require.NoError(t, put(disk.Real{}, file))
	assert.Equal(t, []string{filepath.Base(other), filepath.Base(fresh), "quay.handful"}, listed(t, dir))
}

// withoutLinks is a file system such as those of memory sticks.
type withoutLinks struct{ disk.Real }

func (withoutLinks) Link(string, string) error { return syscall.EPERM }

func TestAFileSystemWithoutLinks(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "quay.handful")
	require.NoError(t, put(withoutLinks{}, file))
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, young, string(text))
	assert.Equal(t, []string{"quay.handful"}, listed(t, dir))
	p, err := disk.At(withoutLinks{}, filepath.Join(dir, "b.handful"), dir)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "b.handful"), []byte("theirs"), 0o644))
	assert.ErrorContains(t, p.Write([]byte(young)), "there already")
}

func TestNamesAsLongAsASystemAllows(t *testing.T) {
	file := filepath.Join(t.TempDir(), strings.Repeat("n", 247)+".handful")
	require.NoError(t, put(disk.Real{}, file))
	require.NoError(t, put(disk.Real{}, file))
	require.Error(t, put(disk.Real{}, filepath.Join(filepath.Dir(file), strings.Repeat("n", 300))))
}
