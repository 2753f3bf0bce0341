//go:build !unix

package main

// alive cannot be told here; the end of standard input ends the server.
func alive(int) bool { return true }
