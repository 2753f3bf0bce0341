// Package disk writes files, whole or not at all.
//
// In comes a text and where it should go. Out comes that file with just that
// text, or an error and the file as it was. A file that somebody else has
// changed in the meantime is never overwritten, nor is one that a link leads
// to outside the folder in question; a file keeps its owner, its mode and its
// other names. The package never decides whether a file may be overwritten at
// all: that is for whoever calls it.
package disk

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"strings"
	"syscall"
	"time"
)

// System is what writing needs of the operating system. Tests put one in its
// place that fails.
type System interface {
	Lstat(name string) (fs.FileInfo, error)
	Stat(name string) (fs.FileInfo, error)
	Resolve(name string) (string, error) // with every link followed
	Read(name string) ([]byte, error)
	Names(dir string) ([]string, error)
	// Create makes a file that is not there yet; Open opens one to write over.
	Create(name string, mode fs.FileMode) (File, error)
	Open(name string) (File, error)
	Rename(from, to string) error
	Link(from, to string) error
	Remove(name string) error
	MakeFolder(name string) error
	Sync(dir string) error
	Now() time.Time
	Random() uint64
}

// File is a file that is being written.
type File interface {
	io.Writer
	Truncate(size int64) error
	// Like gives the file the owner, the mode and the attributes of another.
	Like(other string, info fs.FileInfo) error
	Sync() error
	Close() error
}

// Reasons for leaving a file as it is.
var (
	ErrChanged = errors.New("it was changed while this was being worked out: it stays as it is now; run the command again")
	ErrThere   = errors.New("it is there already and stays as it is")
	errOutside = errors.New("this link leads out of the folder: nothing is written there; to have it written all the same, name the file itself")
	errNoFile  = errors.New("only a file can be written, and this is none")
	errLocked  = errors.New("it is write-protected and stays as it is")
)

// A Place is where a file goes, as it was when somebody looked.
type Place struct {
	sys   System
	name  string // as it was given
	file  string // with a link followed
	there bool
	was   []byte
}

// At looks at a place. A link at its end is followed only within a folder.
func At(sys System, name, within string) (*Place, error) {
	p := &Place{sys: sys, name: name, file: name}
	info, err := sys.Lstat(name)
	if errors.Is(err, fs.ErrNotExist) {
		return p, nil
	}
	if err != nil {
		return nil, p.error(err)
	}
	if info.Mode()&fs.ModeSymlink != 0 {
		if p.file, err = inside(sys, name, within); err != nil {
			return nil, p.error(err)
		}
		if info, err = sys.Stat(p.file); err != nil {
			return nil, p.error(err)
		}
	}
	p.there = true
	if !info.Mode().IsRegular() {
		return nil, p.error(errNoFile)
	}
	return p, nil
}

// inside is what a link leads to, if that lies in a folder.
func inside(sys System, link, folder string) (string, error) {
	target, err := sys.Resolve(link)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return "", errors.New("this link leads nowhere: nothing is written")
		}
		return "", err
	}
	home, err := sys.Resolve(folder)
	if err != nil {
		return "", err
	}
	if home, err = filepath.Abs(home); err != nil {
		return "", err
	}
	abs, err := filepath.Abs(target)
	if err != nil {
		return "", err
	}
	if rel, err := filepath.Rel(home, abs); err != nil || !filepath.IsLocal(rel) {
		return "", errOutside
	}
	return target, nil
}

// There says whether there was a file.
func (p *Place) There() bool { return p.there }

// Holds says that the file is there with this text, as somebody has read it:
// that is what must still be there when it is written.
func (p *Place) Holds(text []byte) { p.was, p.there = text, true }

// Look reads what is there, which is what must still be there when it is
// written.
func (p *Place) Look() ([]byte, error) {
	text, err := p.sys.Read(p.file)
	if err != nil {
		return nil, p.error(err)
	}
	p.Holds(text)
	return text, nil
}

// Write puts a text there, unless there is something else by now than there
// was. Of a file that is there it must be known what it holds.
func (p *Place) Write(text []byte) error {
	p.sweep()
	var err error
	switch {
	case !p.there:
		err = p.create(text)
	case bytes.Equal(p.was, text):
		err = p.unchanged()
	default:
		err = p.replace(text)
	}
	if err != nil {
		return p.error(err)
	}
	p.was, p.there = text, true
	return nil
}

// unchanged is an error unless the file still is what it was.
func (p *Place) unchanged() error {
	now, err := p.sys.Read(p.file)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return ErrChanged
	case err != nil:
		return err
	case !bytes.Equal(now, p.was):
		return ErrChanged
	}
	return nil
}

// create writes the text beside the place and then gives it its name, which
// fails when somebody was quicker.
func (p *Place) create(text []byte) error {
	if _, err := p.sys.Lstat(p.file); err == nil {
		return ErrThere
	} else if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	beside, err := p.beside(text, 0o666, nil)
	if err != nil {
		return err
	}
	defer p.sys.Remove(beside)
	err = p.sys.Link(beside, p.file)
	switch {
	case err == nil:
	case errors.Is(err, fs.ErrExist):
		return ErrThere
	default: // a file system without links: take the name first, then put the text under it
		f, err := p.sys.Create(p.file, 0o666)
		if errors.Is(err, fs.ErrExist) {
			return ErrThere
		}
		if err != nil {
			return err
		}
		f.Close()
		if err := p.sys.Rename(beside, p.file); err != nil {
			p.sys.Remove(p.file)
			return err
		}
	}
	p.sys.Sync(filepath.Dir(p.file))
	return nil
}

// replace puts the text in the place of the file.
func (p *Place) replace(text []byte) error {
	info, err := p.sys.Stat(p.file)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return ErrChanged
	case err != nil:
		return err
	case !info.Mode().IsRegular():
		return errNoFile
	case info.Mode().Perm()&0o200 == 0:
		return errLocked
	}
	if err := p.unchanged(); err != nil {
		return err
	}
	var unlike error
	beside, err := p.beside(text, 0o600, func(f File) { unlike = f.Like(p.file, info) })
	if err != nil {
		return err
	}
	if unlike != nil || names(info) > 1 {
		return p.over(beside, text)
	}
	// Between this look and the renaming nothing is done, so that what somebody
	// else saves is either seen or comes after.
	if err := p.unchanged(); err != nil {
		p.sys.Remove(beside)
		return err
	}
	if err := p.sys.Rename(beside, p.file); err != nil {
		p.sys.Remove(beside)
		return err
	}
	p.sys.Sync(filepath.Dir(p.file))
	return nil
}

// over writes into the file itself, where a new file in its place would part
// it from its other names or give it to somebody else. The whole new text
// stays beside it until that is done.
func (p *Place) over(beside string, text []byte) error {
	whole := strings.TrimSuffix(beside, suffix) + ".whole"
	if err := p.sys.Rename(beside, whole); err != nil {
		p.sys.Remove(beside)
		return err
	}
	beside = whole // is not taken for something left behind, should this be cut off
	f, err := p.sys.Open(p.file)
	if err == nil {
		if err = p.unchanged(); err != nil {
			f.Close()
		}
	}
	if err != nil {
		p.sys.Remove(beside)
		return err
	}
	if err = fill(f, text); err == nil {
		p.sys.Remove(beside)
		return nil
	}
	back, again := p.sys.Open(p.file)
	if again == nil {
		again = fill(back, p.was)
	}
	if again != nil {
		return fmt.Errorf("it could be written neither anew nor back as it was: the whole new text is in %s", beside)
	}
	p.sys.Remove(beside)
	return err
}

func fill(f File, text []byte) error {
	_, err := f.Write(text)
	if err == nil {
		err = f.Truncate(int64(len(text)))
	}
	if err == nil {
		err = f.Sync()
	}
	return errors.Join(err, f.Close())
}

// suffix ends the names of files that are being written.
const suffix = ".being-written"

// beside writes the text into a hidden file of the same folder.
func (p *Place) beside(text []byte, mode fs.FileMode, dress func(File)) (string, error) {
	dir, base := filepath.Split(p.file)
	if len(base) > 100 { // names may have 255 bytes
		base = base[:100]
	}
	name := filepath.Join(dir, fmt.Sprintf(".%s.%x%s", base, p.sys.Random(), suffix))
	f, err := p.sys.Create(name, mode)
	if err != nil {
		return "", err
	}
	if dress != nil {
		dress(f)
	}
	if _, err = f.Write(text); err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		p.sys.Remove(name)
		return "", err
	}
	return name, nil
}

// leftAfter is when a file that is being written is taken for one that was
// left behind: no writing takes as long.
const leftAfter = 24 * time.Hour

// sweep takes away what writing this file left behind when it was cut off.
func (p *Place) sweep() {
	dir, base := filepath.Split(p.file)
	if len(base) > 100 {
		base = base[:100]
	}
	if dir == "" {
		dir = "."
	}
	list, err := p.sys.Names(dir)
	if err != nil {
		return
	}
	for _, name := range list {
		if !strings.HasPrefix(name, "."+base+".") || !strings.HasSuffix(name, suffix) {
			continue
		}
		left := filepath.Join(dir, name)
		if info, err := p.sys.Lstat(left); err == nil && info.Mode().IsRegular() && p.sys.Now().Sub(info.ModTime()) > leftAfter {
			p.sys.Remove(left)
		}
	}
}

// MakeFolder makes a folder, with those above it, if it is not there.
func MakeFolder(sys System, name string) error {
	err := sys.MakeFolder(name)
	if info, serr := sys.Stat(name); serr == nil && !info.IsDir() || errors.Is(err, syscall.ENOTDIR) {
		return &fs.PathError{Op: "write", Path: name, Err: errors.New("it should be a folder, and there is a file of that name")}
	}
	return err
}

// error names the place as it was given, whichever file it was that failed.
func (p *Place) error(err error) error {
	for _, known := range []error{ErrChanged, ErrThere, errOutside, errNoFile, errLocked} {
		if errors.Is(err, known) {
			return &fs.PathError{Op: "write", Path: p.name, Err: known}
		}
	}
	var pe *fs.PathError
	var no syscall.Errno
	switch {
	case errors.As(err, &pe) && errors.As(pe.Err, &no):
		return &fs.PathError{Op: "write", Path: p.name, Err: p.noFolder(no)}
	case errors.As(err, &no):
		return &fs.PathError{Op: "write", Path: p.name, Err: p.noFolder(no)}
	}
	return &fs.PathError{Op: "write", Path: p.name, Err: err}
}

// noFolder says of a file that could not be made that its folder is not there.
func (p *Place) noFolder(err error) error {
	if errors.Is(err, fs.ErrNotExist) && !p.there {
		return errors.New("there is no such folder to write it in")
	}
	return err
}
