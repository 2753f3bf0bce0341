package folder

import (
	"crypto/sha256"
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// A Library loads the files that others use, each once as long as it stays
// the same on the disk. Several checks may load at once.
type Library struct {
	mu    sync.Mutex
	files map[string]loaded
	sums  sync.Map // by root and name: see Sum
}

// loaded is a file as it was when it was last looked at.
type loaded struct {
	file *syntax.File
	size int64
	when time.Time
}

// NewLibrary is an empty one.
func NewLibrary() *Library { return &Library{files: map[string]loaded{}} }

// Loader loads what the files of a root folder use. Over may give a file that
// stands in front of the one on the disk, by its name within the root; it may
// be nil.
func (l *Library) Loader(root string, over func(name string) *syntax.File) score.Loader {
	return func(from, use string) (string, *syntax.File, error) {
		name, ok := Within(from, use)
		if !ok {
			return "", nil, &syntax.Refusal{About: syntax.Tells(liesOutside, syntax.Quote(use))}
		}
		if over != nil {
			if f := over(name); f != nil {
				return name, f, nil
			}
		}
		f, err := l.Load(root, name)
		if err != nil {
			return "", nil, &syntax.Refusal{About: syntax.Tells(cannotBeRead, syntax.Quote(use), useReason(err))}
		}
		return name, f, nil
	}
}

// What is said of files that cannot be used.
const (
	liesOutside  = "%s lies outside the folder that this check may read: keep shared files below the piece's own folder"
	cannotBeRead = "%s cannot be read: %s"
)

// Within is the name within its root of a file that another one uses. It is
// not ok when that leads out of the root.
func Within(from, use string) (name string, ok bool) {
	name = path.Join(path.Dir(from), filepath.ToSlash(use))
	return name, !path.IsAbs(use) && !filepath.IsAbs(use) && filepath.IsLocal(filepath.FromSlash(name))
}

// Load is the parsed file of a name within a root.
func (l *Library) Load(root, name string) (*syntax.File, error) {
	r, err := os.OpenRoot(root)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	info, err := stat(r, name)
	if err != nil {
		return nil, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	key := root + "\x00" + name
	if was, ok := l.files[key]; ok && was.size == info.Size() && was.when.Equal(info.ModTime()) {
		return was.file, nil
	}
	text, err := read(r, name)
	if err != nil {
		return nil, err
	}
	f, err := parsed(name, text)
	if err != nil {
		return nil, err
	}
	l.files[key] = loaded{f, info.Size(), info.ModTime()}
	return f, nil
}

// Sum stands for what a file held when it was first asked for, or for why it
// cannot be read: where it is the same, so is the file.
func (l *Library) Sum(root, name string) string {
	key := root + "\x00" + name
	if was, ok := l.sums.Load(key); ok {
		return was.(string)
	}
	sum := ""
	if text, err := Read(root, name); err != nil {
		sum = "!" + err.Error()
	} else {
		of := sha256.Sum256([]byte(text))
		sum = string(of[:16])
	}
	l.sums.Store(key, sum)
	return sum
}

// parsed is the file of a text, made into one of the notation's if it is in
// another format.
func parsed(name, text string) (*syntax.File, error) {
	if !written.Elsewhere(name) {
		if kind := Kind(text); kind != nil {
			return nil, kind
		}
	}
	return written.File(name, text)
}

// Read is the text of a name within a root.
func Read(root, name string) (string, error) {
	r, err := os.OpenRoot(root)
	if err != nil {
		return "", err
	}
	defer r.Close()
	if _, err := stat(r, name); err != nil {
		return "", err
	}
	return read(r, name)
}

// stat comes before opening, because opening a pipe would wait for its other
// end.
func stat(r *os.Root, name string) (fs.FileInfo, error) {
	info, err := r.Stat(filepath.FromSlash(name))
	switch {
	case err != nil:
		return nil, err
	case info.IsDir():
		return nil, errors.New("it is a folder")
	case !info.Mode().IsRegular():
		return nil, errors.New("it is not a file")
	}
	return info, nil
}

func read(r *os.Root, name string) (string, error) {
	f, err := r.Open(filepath.FromSlash(name))
	if err != nil {
		return "", err
	}
	defer f.Close()
	return ReadAll(f, name)
}

func useReason(err error) string {
	var pe *os.PathError
	if errors.As(err, &pe) {
		if strings.Contains(pe.Err.Error(), "escapes") {
			return "it lies outside the folder that this check may read"
		}
		return Reason(pe.Err)
	}
	return err.Error()
}
