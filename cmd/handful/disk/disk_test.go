package disk

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
)

// faulty is a system on which one operation fails, the nth, as on a full disk.
// A write that fails has put half of its text down.
type faulty struct {
	Real
	fails int  // counts down
	after bool // … and everything after it too, as where the disk is gone
	what  string
	met   func(what string)
}

func (s *faulty) fault(what string) error {
	s.fails--
	if s.fails == 0 || s.fails < 0 && s.after {
		s.what = what
		return syscall.ENOSPC
	}
	if s.met != nil {
		s.met(what)
	}
	return nil
}

func (s *faulty) Lstat(name string) (fs.FileInfo, error) {
	if err := s.fault("lstat"); err != nil {
		return nil, err
	}
	return s.Real.Lstat(name)
}

func (s *faulty) Stat(name string) (fs.FileInfo, error) {
	if err := s.fault("stat"); err != nil {
		return nil, err
	}
	return s.Real.Stat(name)
}

func (s *faulty) Read(name string) ([]byte, error) {
	if err := s.fault("read"); err != nil {
		return nil, err
	}
	return s.Real.Read(name)
}

func (s *faulty) Create(name string, mode fs.FileMode) (File, error) {
	if err := s.fault("create"); err != nil {
		return nil, err
	}
	f, err := s.Real.Create(name, mode)
	return &faultyFile{f, s}, err
}

func (s *faulty) Open(name string) (File, error) {
	if err := s.fault("open"); err != nil {
		return nil, err
	}
	f, err := s.Real.Open(name)
	return &faultyFile{f, s}, err
}

func (s *faulty) Rename(from, to string) error {
	if err := s.fault("rename"); err != nil {
		return err
	}
	return s.Real.Rename(from, to)
}

func (s *faulty) Link(from, to string) error {
	if err := s.fault("link"); err != nil {
		return err
	}
	return s.Real.Link(from, to)
}

func (s *faulty) Sync(dir string) error {
	if err := s.fault("sync folder"); err != nil {
		return err
	}
	return s.Real.Sync(dir)
}

type faultyFile struct {
	File
	s *faulty
}

func (f *faultyFile) Write(p []byte) (int, error) {
	if err := f.s.fault("write"); err != nil {
		n, _ := f.File.Write(p[:len(p)/2])
		return n, err
	}
	return f.File.Write(p)
}

func (f *faultyFile) Truncate(n int64) error {
	if err := f.s.fault("truncate"); err != nil {
		return err
	}
	return f.File.Truncate(n)
}

func (f *faultyFile) Like(other string, info fs.FileInfo) error {
	if err := f.s.fault("like"); err != nil {
		return err
	}
	return f.File.Like(other, info)
}

func (f *faultyFile) Sync() error {
	if err := f.s.fault("sync"); err != nil {
		return err
	}
	return f.File.Sync()
}

func (f *faultyFile) Close() error {
	err := f.File.Close()
	if ferr := f.s.fault("close"); ferr != nil {
		return ferr
	}
	return err
}

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
func put(sys System, file string) error {
	p, err := At(sys, file, filepath.Dir(file))
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
				sys := &faulty{fails: n}
				err := put(sys, file)
				if sys.what == "" {
					require.NoError(t, err)
					t.Logf("%d operations, of %d kinds", n-1, len(tried))
					return
				}
				tried[sys.what] = true
				text, rerr := os.ReadFile(file)
				switch {
				case errors.Is(rerr, fs.ErrNotExist):
					assert.Equal(t, "a new file", name, "%s fails", sys.what)
					assert.Error(t, err)
				case string(text) == young:
					assert.NoError(t, err, "%s fails", sys.what)
				default:
					assert.Equal(t, old, string(text), "%s fails", sys.what)
					assert.Error(t, err, "%s fails", sys.what)
				}
				if err != nil {
					assert.Contains(t, err.Error(), file)
					assert.NotContains(t, err.Error(), suffix, "what is said is about the file that was named")
					assert.Equal(t, before, listed(t, dir), "%s fails: nothing is left behind", sys.what)
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
				sys := &faulty{fails: n, after: true}
				err := put(sys, file)
				if sys.what == "" {
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
					assert.True(t, whole, "from %s on", sys.what)
				}
				if text, rerr := os.ReadFile(file); rerr == nil && string(text) != old && string(text) != young {
					assert.ErrorContains(t, err, "the whole new text is in ", "from %s on", sys.what)
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
				sys := &faulty{fails: -1, met: func(what string) {
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
	require.NoError(t, put(Real{}, file))
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
	require.NoError(t, put(Real{}, file))
	text, err := os.ReadFile(twin)
	require.NoError(t, err)
	assert.Equal(t, young, string(text), "it is one file under two names")
}

func TestWhatIsNotOverwritten(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "quay.handful")
	write := func(name, text string, mode fs.FileMode) { require.NoError(t, os.WriteFile(name, []byte(text), mode)) }

	write(file, old, 0o444)
	assert.ErrorContains(t, put(Real{}, file), "write-protected")
	assert.ErrorContains(t, put(Real{}, dir), "only a file can be written")
	assert.ErrorContains(t, put(Real{}, filepath.Join(dir, "nowhere", "x.handful")), "no such folder")
	assert.ErrorContains(t, MakeFolder(Real{}, file), "should be a folder")
	assert.ErrorContains(t, MakeFolder(Real{}, filepath.Join(file, "below")), "should be a folder")

	outside := filepath.Join(t.TempDir(), "secret")
	write(outside, old, 0o644)
	link := filepath.Join(dir, "link.handful")
	require.NoError(t, os.Symlink(outside, link))
	assert.ErrorContains(t, put(Real{}, link), "leads out of the folder")
	require.NoError(t, os.Remove(link))
	require.NoError(t, os.Symlink("gone", link))
	assert.ErrorContains(t, put(Real{}, link), "leads nowhere")
	text, err := os.ReadFile(outside)
	require.NoError(t, err)
	assert.Equal(t, old, string(text))
}

func TestWhatWasLeftBehindIsSwept(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "quay.handful")
	stale, fresh, other := filepath.Join(dir, ".quay.handful.1"+suffix), filepath.Join(dir, ".quay.handful.2"+suffix), filepath.Join(dir, ".jetty.handful.1"+suffix)
	for _, f := range []string{stale, fresh, other} {
		require.NoError(t, os.WriteFile(f, nil, 0o644))
	}
	ago := time.Now().Add(-2 * leftAfter)
	require.NoError(t, os.Chtimes(stale, ago, ago))
	require.NoError(t, os.Chtimes(other, ago, ago))
	require.NoError(t, put(Real{}, file))
	assert.Equal(t, []string{filepath.Base(other), filepath.Base(fresh), "quay.handful"}, listed(t, dir))
}

// withoutLinks is a file system such as those of memory sticks.
type withoutLinks struct{ Real }

func (withoutLinks) Link(string, string) error { return syscall.EPERM }

func TestAFileSystemWithoutLinks(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "quay.handful")
	require.NoError(t, put(withoutLinks{}, file))
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, young, string(text))
	assert.Equal(t, []string{"quay.handful"}, listed(t, dir))
	p, err := At(withoutLinks{}, filepath.Join(dir, "b.handful"), dir)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "b.handful"), []byte("theirs"), 0o644))
	assert.ErrorContains(t, p.Write([]byte(young)), "there already")
}

func TestNamesAsLongAsASystemAllows(t *testing.T) {
	file := filepath.Join(t.TempDir(), strings.Repeat("n", 247)+".handful")
	require.NoError(t, put(Real{}, file))
	require.NoError(t, put(Real{}, file))
	require.Error(t, put(Real{}, filepath.Join(filepath.Dir(file), strings.Repeat("n", 300))))
}
