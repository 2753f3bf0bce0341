//go:build unix

package main

import (
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

func makePipe(t *testing.T, path string) { require.NoError(t, syscall.Mkfifo(path, 0o644)) }
