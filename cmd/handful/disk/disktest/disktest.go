// Package disktest has a disk for tests: one that fails when it is told to.
package disktest

import (
	"io/fs"
	"syscall"

	"example.org/handful/cmd/handful/disk"
)

// Faulty is a system on which one operation fails, the nth, as on a full disk.
// A write that fails has put half of its text down.
type Faulty struct {
	disk.Real
	Fails int               // which one; it counts down
	After bool              // … and everything after it too, as where the disk is gone
	What  string            // which operation has failed
	Met   func(what string) // is told of each one before it is done
}

func (s *Faulty) fault(what string) error {
	s.Fails--
	if s.Fails == 0 || s.Fails < 0 && s.After {
		s.What = what
		return syscall.ENOSPC
	}
	if s.Met != nil {
		s.Met(what)
	}
	return nil
}

func (s *Faulty) Lstat(name string) (fs.FileInfo, error) {
	if err := s.fault("lstat"); err != nil {
		return nil, err
	}
	return s.Real.Lstat(name)
}

func (s *Faulty) Stat(name string) (fs.FileInfo, error) {
	if err := s.fault("stat"); err != nil {
		return nil, err
	}
	return s.Real.Stat(name)
}

func (s *Faulty) Read(name string) ([]byte, error) {
	if err := s.fault("read"); err != nil {
		return nil, err
	}
	return s.Real.Read(name)
}

func (s *Faulty) Create(name string, mode fs.FileMode) (disk.File, error) {
	if err := s.fault("create"); err != nil {
		return nil, err
	}
	f, err := s.Real.Create(name, mode)
	return &faultyFile{f, s}, err
}

func (s *Faulty) Open(name string) (disk.File, error) {
	if err := s.fault("open"); err != nil {
		return nil, err
	}
	f, err := s.Real.Open(name)
	return &faultyFile{f, s}, err
}

func (s *Faulty) Rename(from, to string) error {
	if err := s.fault("rename"); err != nil {
		return err
	}
	return s.Real.Rename(from, to)
}

func (s *Faulty) Link(from, to string) error {
	if err := s.fault("link"); err != nil {
		return err
	}
	return s.Real.Link(from, to)
}

func (s *Faulty) Sync(dir string) error {
	if err := s.fault("sync folder"); err != nil {
		return err
	}
	return s.Real.Sync(dir)
}

type faultyFile struct {
	disk.File
	s *Faulty
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
