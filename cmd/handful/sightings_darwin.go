package main

import (
	"os"
	"syscall"
)

// sighted is how a file is to the eye of the system.
func sighted(info os.FileInfo) (is sighting, ok bool) {
	st, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return is, false
	}
	return sighting{size: st.Size, modified: st.Mtimespec.Nano(), changed: st.Ctimespec.Nano(), number: int64(st.Ino), device: int64(st.Dev)}, true
}
