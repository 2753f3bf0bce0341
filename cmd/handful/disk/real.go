package disk

import (
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"
)

// Real is the operating system.
type Real struct{}

func (Real) Lstat(name string) (fs.FileInfo, error) { return os.Lstat(name) }
func (Real) Stat(name string) (fs.FileInfo, error)  { return os.Stat(name) }
func (Real) Resolve(name string) (string, error)    { return filepath.EvalSymlinks(name) }
func (Real) Read(name string) ([]byte, error)       { return os.ReadFile(name) }
func (Real) Rename(from, to string) error           { return os.Rename(from, to) }
func (Real) Link(from, to string) error             { return os.Link(from, to) }
func (Real) Remove(name string) error               { return os.Remove(name) }
func (Real) MakeFolder(name string) error           { return os.MkdirAll(name, 0o777) }
func (Real) Now() time.Time                         { return time.Now() }
func (Real) Random() uint64                         { return rand.Uint64() }

func (Real) Names(dir string) ([]string, error) {
	d, err := os.Open(dir)
	if err != nil {
		return nil, err
	}
	defer d.Close()
	return d.Readdirnames(-1)
}

func (Real) Create(name string, mode fs.FileMode) (File, error) {
	return file(os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode))
}

func (Real) Open(name string) (File, error) { return file(os.OpenFile(name, os.O_WRONLY, 0)) }

func file(f *os.File, err error) (File, error) {
	if err != nil {
		return nil, err
	}
	return realFile{f}, nil
}

// Sync makes what was renamed in a folder outlast a loss of power.
func (Real) Sync(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}

type realFile struct{ *os.File }

func (f realFile) Like(other string, info fs.FileInfo) error {
	if err := own(f.File, info); err != nil {
		return err
	}
	if err := f.Chmod(info.Mode() & (fs.ModePerm | fs.ModeSetuid | fs.ModeSetgid | fs.ModeSticky)); err != nil {
		return err
	}
	return copyAttributes(f.File, other)
}
