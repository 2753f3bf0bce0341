//go:build unix

package main

import "syscall"

// alive says whether a process is there. One that belongs to somebody else is.
func alive(pid int) bool {
	err := syscall.Kill(pid, 0)
	return err == nil || err == syscall.EPERM
}
