// Package folder reads .handful files, and those that they use, from a folder.
//
// In comes the path of a folder or a file. Out come texts and parsed files.
// What a file uses is never read from outside its folder: neither .. nor a
// link leads out of it. The package never writes.
package folder

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"syscall"
	"unsafe"

	"example.org/handful/lang/written"
)

// maxFile is the largest file that is read, in bytes.
const maxFile = 64 << 20

// Extension of the files that a folder is searched for.
const Extension = ".handful"

// Below is the file itself, or every .handful file below a folder, in
// the order of their names. Hidden files and folders and links to folders are
// passed over, so that no loop is followed; a link to a file counts when the
// file is in the folder too.
func Below(p string) (files []string, errs []error) {
	return Chosen(p, Choice{Ignored: true})
}

// Chosen is Below for those files that are meant. A file that is named itself
// always is.
func Chosen(p string, c Choice) (files []string, errs []error) {
	return below(p, c, func(ext string) bool { return ext == Extension })
}

// Folders are a folder itself and those below it in which Chosen looks for
// files.
func Folders(p string, c Choice) (folders []string) {
	s := search{top: p, wanted: func(string) bool { return false }, ignoring: newIgnoring(c, p), folder: func(at string) { folders = append(folders, at) }}
	filepath.WalkDir(p, s.visit) // what cannot be read was said when its files were looked for
	return folders
}

// Parts are the files below a folder that may hold written parts in another
// format, passed over as by Below.
func Parts(p string) (files []string, errs []error) {
	return below(p, Choice{Ignored: true}, func(ext string) bool {
		return written.Elsewhere(ext)
	})
}

func below(p string, c Choice, wanted func(ext string) bool) (files []string, errs []error) {
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
	s := search{top: p, home: home, wanted: wanted, ignoring: newIgnoring(c, p)}
	if l, err := os.Lstat(p); err == nil && l.Mode()&fs.ModeSymlink != 0 {
		s.top += string(filepath.Separator) // a link named on the command line is followed
	}
	if err := filepath.WalkDir(s.top, s.visit); err != nil {
		s.errs = append(s.errs, err)
	}
	sort.Strings(s.files)
	return s.files, s.errs
}

// A search goes through a folder.
type search struct {
	top      string // the folder
	home     string // … with no link in its path
	wanted   func(ext string) bool
	ignoring *ignoring
	folder   func(at string) // is told each folder that is looked into; nil for nobody
	files    []string
	errs     []error
}

// visit takes a file that is wanted; what cannot be read is an error, and the
// rest still is.
func (s *search) visit(at string, d fs.DirEntry, err error) error {
	if at == s.top && err == nil {
		if s.folder != nil && d.IsDir() {
			s.folder(at)
		}
		return nil
	}
	hidden := d != nil && strings.HasPrefix(d.Name(), ".")
	switch {
	case err != nil:
		s.errs = append(s.errs, err)
		if d != nil && d.IsDir() {
			return fs.SkipDir
		}
	case d.IsDir():
		if hidden || s.ignoring.passes(at, true) {
			return fs.SkipDir
		}
		if s.folder != nil {
			s.folder(at)
		}
	case hidden || !s.wanted(filepath.Ext(at)) || s.ignoring.passes(at, false):
	case d.Type().IsRegular():
		s.files = append(s.files, at)
	case d.Type()&fs.ModeSymlink != 0:
		is, err := linkedFile(s.home, at)
		if err != nil {
			s.errs = append(s.errs, err)
		} else if is {
			s.files = append(s.files, at)
		}
	}
	return nil
}

// Inside is what a file is called from a folder, with slashes; it is not ok for
// one outside. Both are whole paths with nothing to be taken out of them, as Clean
// makes them.
func Inside(dir, file string) (name string, ok bool) {
	if rest, within := strings.CutPrefix(file, dir); within && len(rest) > 1 && os.IsPathSeparator(rest[0]) {
		name = rest[1:]
	} else if name, _ = filepath.Rel(dir, file); name == "" {
		return "", false
	}
	return filepath.ToSlash(name), filepath.IsLocal(name)
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
	if _, inside := Inside(home, target); !inside {
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

// ReadAll reads a text to its end, unless it is larger than MaxFile. It is never
// there twice, if it is as long as it says.
func ReadAll(r io.Reader, name string) (string, error) {
	size := int(sizeOf(r))
	if size == 0 {
		size = 1 << 15
	}
	text := make([]byte, 0, size+1) // which sees the end with the second read
	for {
		if len(text) == cap(text) {
			text = slices.Grow(text, len(text))
		}
		n, err := r.Read(text[len(text):cap(text)])
		text = text[:len(text)+n]
		switch {
		case len(text) > maxFile:
			return "", fmt.Errorf("%s: larger than the %d MiB that are read", name, maxFile>>20)
		case err == io.EOF:
			return unsafe.String(unsafe.SliceData(text), len(text)), nil // nobody else has it
		case err != nil:
			return "", err
		}
	}
}

// sizeOf is how much there is to read, as far as that is known.
func sizeOf(r io.Reader) int64 {
	if f, ok := r.(*os.File); ok {
		if info, err := f.Stat(); err == nil && info.Mode().IsRegular() {
			return min(info.Size(), maxFile)
		}
	}
	return 0
}

// Reason says why something could not be read, in plain words.
func Reason(err error) string {
	switch {
	case errors.Is(err, os.ErrNotExist), errors.Is(err, syscall.ENOTDIR):
		return "there is no such file"
	case errors.Is(err, os.ErrPermission):
		return "permission denied"
	case errors.Is(err, syscall.ELOOP):
		return "this link goes round in a circle"
	case errors.Is(err, syscall.EISDIR):
		return "it is a folder"
	case errors.Is(err, syscall.ENOSPC):
		return "the disk is full"
	case errors.Is(err, syscall.EROFS):
		return "nothing can be written there"
	case errors.Is(err, syscall.ENAMETOOLONG):
		return "this name is too long"
	}
	return err.Error()
}
