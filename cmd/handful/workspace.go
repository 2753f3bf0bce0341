package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"sort"
	"strings"
	"sync"

	"handful/lang/score"
	"handful/lang/syntax"
)

// maxFile is the largest file that is read, in bytes.
const maxFile = 64 << 20

// extension of the files that a folder is searched for.
const extension = ".handful"

// input is one text to work on.
type input struct {
	path string // as it is shown; "-" for standard input
	text string
	root string // the folder that its use lines may read in
	name string // its path within the root, with slashes
}

// gather reads every file that the paths mean: files themselves, folders for
// every .handful file below, - for standard input. What cannot be read is said
// on stderr, and the rest still comes.
func gather(paths []string, s *streams) (inputs []input, failed bool) {
	fail := func(err error) {
		s.say(err)
		failed = true
	}
	if len(paths) == 0 {
		paths = []string{"."}
	}
	seen := map[string]bool{}
	again := func(p string) bool {
		was := seen[p]
		seen[p] = true
		return was
	}
	for _, p := range paths {
		if p == "-" {
			if again(p) {
				continue
			}
			text, err := readAll(s.in, "standard input")
			if err != nil {
				fail(err)
				continue
			}
			inputs = append(inputs, input{path: "-", text: text, root: workingFolder(), name: "-"})
			continue
		}
		files, errs := filesBelow(p)
		for _, err := range errs {
			fail(err)
		}
		if len(files) == 0 && len(errs) == 0 {
			fmt.Fprintf(s.err, "handful: there is no %s file below %s\n", extension, clean(p))
		}
		for _, f := range files {
			if again(filepath.Clean(f)) {
				continue
			}
			text, err := readFile(f)
			if err != nil {
				fail(err)
				continue
			}
			root, name := workspaceOf(f)
			inputs = append(inputs, input{path: f, text: text, root: root, name: name})
		}
	}
	return inputs, failed
}

// filesBelow is the file itself, or every .handful file below a folder, in
// the order of their names. Hidden files and folders and links to folders are
// passed over, so that no loop is followed; a link to a file counts when the
// file is in the folder too.
func filesBelow(p string) (files []string, errs []error) {
	info, err := os.Stat(p)
	if err != nil {
		return nil, []error{linkError(p, err)}
	}
	if !info.IsDir() {
		return []string{p}, nil
	}
	home, err := filepath.EvalSymlinks(p)
	if err != nil {
		return nil, []error{err}
	}
	top := p
	if l, err := os.Lstat(p); err == nil && l.Mode()&fs.ModeSymlink != 0 {
		top += string(filepath.Separator) // a link named on the command line is followed
	}
	walk := filepath.WalkDir(top, func(at string, d fs.DirEntry, err error) error {
		if at == top && err == nil {
			return nil
		}
		hidden := d != nil && strings.HasPrefix(d.Name(), ".")
		switch {
		case err != nil:
			errs = append(errs, err)
			if d != nil && d.IsDir() {
				return fs.SkipDir
			}
		case d.IsDir():
			if hidden {
				return fs.SkipDir
			}
		case hidden || filepath.Ext(at) != extension:
		case d.Type().IsRegular():
			files = append(files, at)
		case d.Type()&fs.ModeSymlink != 0:
			is, err := linkedFile(home, at)
			if err != nil {
				errs = append(errs, err)
			} else if is {
				files = append(files, at)
			}
		}
		return nil
	})
	if walk != nil {
		errs = append(errs, walk)
	}
	sort.Strings(files)
	return files, errs
}

// linkedFile says whether a link in a folder leads to a file of that folder.
func linkedFile(home, link string) (bool, error) {
	info, err := os.Stat(link)
	if err != nil {
		return false, linkError(link, err)
	}
	if !info.Mode().IsRegular() {
		return false, nil
	}
	target, err := filepath.EvalSymlinks(link)
	if err != nil {
		return false, err
	}
	home, err = filepath.Abs(home)
	if err != nil {
		return false, err
	}
	if target, err = filepath.Abs(target); err != nil {
		return false, err
	}
	if rel, err := filepath.Rel(home, target); err != nil || !filepath.IsLocal(rel) {
		return false, fmt.Errorf("%s: this link leads out of the folder; to have it read all the same, name the file itself", link)
	}
	return true, nil
}

// linkError tells a link that leads nowhere from a file that is not there.
func linkError(p string, err error) error {
	if info, lerr := os.Lstat(p); lerr == nil && info.Mode()&fs.ModeSymlink != 0 && errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: this link leads nowhere", p)
	}
	return err
}

func readFile(p string) (string, error) {
	f, err := os.Open(p)
	if err != nil {
		return "", err
	}
	defer f.Close()
	return readAll(f, p)
}

func readAll(r io.Reader, name string) (string, error) {
	var b strings.Builder
	n, err := io.Copy(&b, io.LimitReader(r, maxFile+1))
	switch {
	case err != nil:
		return "", err
	case n > maxFile:
		return "", fmt.Errorf("%s: larger than the %d MiB that are read", name, maxFile>>20)
	}
	return b.String(), nil
}

func workingFolder() string {
	dir, err := os.Getwd()
	if err != nil {
		return "."
	}
	return dir
}

// workspaceOf is the folder that a file's use lines may read in, and the
// file's name there: the working folder if the file is below it, else the
// file's own folder.
func workspaceOf(file string) (root, name string) {
	abs, err := filepath.Abs(file)
	if err != nil {
		return ".", filepath.ToSlash(file)
	}
	wd := workingFolder()
	if rel, err := filepath.Rel(wd, abs); err == nil && filepath.IsLocal(rel) {
		return wd, filepath.ToSlash(rel)
	}
	return filepath.Dir(abs), filepath.Base(abs)
}

// library loads the files that others use, each once, never from outside the
// workspace: the folder is opened as a root, which neither .. nor a link can
// leave. Several checks may load at once.
type library struct {
	mu    sync.Mutex
	files map[string]*syntax.File
	errs  map[string]error
}

func newLibrary() *library {
	return &library{files: map[string]*syntax.File{}, errs: map[string]error{}}
}

func (l *library) loader(root string) score.Loader {
	return func(from, use string) (string, *syntax.File, error) {
		name := path.Join(path.Dir(from), filepath.ToSlash(use))
		if path.IsAbs(use) || filepath.IsAbs(use) || !filepath.IsLocal(filepath.FromSlash(name)) {
			return "", nil, fmt.Errorf("%s lies outside the folder that this check may read: keep shared files below the piece's own folder", syntax.Quote(use))
		}
		l.mu.Lock()
		defer l.mu.Unlock()
		key := root + "\x00" + name
		if f, ok := l.files[key]; ok {
			return name, f, nil
		}
		if err, ok := l.errs[key]; ok {
			return "", nil, err
		}
		text, err := readWithin(root, name)
		if err != nil {
			err = fmt.Errorf("%s cannot be read: %s", syntax.Quote(use), useReason(err))
			l.errs[key] = err
			return "", nil, err
		}
		f := syntax.Parse(text)
		l.files[key] = f
		return name, f, nil
	}
}

func readWithin(root, name string) (string, error) {
	r, err := os.OpenRoot(root)
	if err != nil {
		return "", err
	}
	defer r.Close()
	name = filepath.FromSlash(name)
	info, err := r.Stat(name) // first, because opening a pipe would wait for its other end
	switch {
	case err != nil:
		return "", err
	case info.IsDir():
		return "", errors.New("it is a folder")
	case !info.Mode().IsRegular():
		return "", errors.New("it is not a file")
	}
	f, err := r.Open(name)
	if err != nil {
		return "", err
	}
	defer f.Close()
	return readAll(f, name)
}

func useReason(err error) string {
	var pe *os.PathError
	if errors.As(err, &pe) {
		if strings.Contains(pe.Err.Error(), "escapes") {
			return "it lies outside the folder that this check may read"
		}
		return reason(pe.Err)
	}
	return err.Error()
}

// writeAtomically puts a text in the place of a file: written beside it,
// synced, and renamed over it, so that there is always either the old file or
// the new one. The file's mode stays.
func writeAtomically(file, text string) (err error) {
	if target, err := filepath.EvalSymlinks(file); err == nil {
		file = target // the link stays a link
	}
	info, err := os.Stat(file)
	if err != nil {
		return err
	}
	switch {
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s: only a file can be written, and this is none", file)
	case info.Mode().Perm()&0o200 == 0:
		return fmt.Errorf("%s: it is write-protected and stays as it is", file)
	}
	tmp, err := os.CreateTemp(filepath.Dir(file), "."+filepath.Base(file)+".*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			tmp.Close()
			os.Remove(tmp.Name())
		}
	}()
	if _, err = tmp.WriteString(text); err != nil {
		return err
	}
	if err = tmp.Chmod(info.Mode().Perm()); err != nil {
		return err
	}
	if err = tmp.Sync(); err != nil {
		return err
	}
	if err = tmp.Close(); err != nil {
		return err
	}
	return os.Rename(tmp.Name(), file)
}
