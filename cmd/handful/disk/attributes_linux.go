package disk

import (
	"bytes"
	"os"
	"strings"
	"syscall"
)

// copyAttributes gives a file the extended attributes of another, among them
// its access lists. What the system sets by itself is left to it.
func copyAttributes(f *os.File, from string) error {
	size, err := syscall.Listxattr(from, nil)
	if err != nil || size == 0 {
		return nil // none, or a file system that has no such thing
	}
	list := make([]byte, size)
	if size, err = syscall.Listxattr(from, list); err != nil {
		return err
	}
	for _, raw := range bytes.Split(list[:size], []byte{0}) {
		name := string(raw)
		if name == "" || strings.HasPrefix(name, "security.") {
			continue
		}
		n, err := syscall.Getxattr(from, name, nil)
		if err != nil {
			return err
		}
		value := make([]byte, n)
		if n, err = syscall.Getxattr(from, name, value); err != nil {
			return err
		}
		if err := syscall.Setxattr(f.Name(), name, value[:n], 0); err != nil {
			return err
		}
	}
	return nil
}
