//go:build unix

package disk

import (
	"io/fs"
	"os"
	"syscall"
)

// own gives a file the owner that another one has.
func own(f *os.File, like fs.FileInfo) error {
	want, ok := like.Sys().(*syscall.Stat_t)
	if !ok {
		return nil
	}
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if is, ok := info.Sys().(*syscall.Stat_t); ok && is.Uid == want.Uid && is.Gid == want.Gid {
		return nil
	}
	return f.Chown(int(want.Uid), int(want.Gid))
}

// names is how many names a file has.
func names(info fs.FileInfo) uint64 {
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		return uint64(s.Nlink)
	}
	return 1
}
