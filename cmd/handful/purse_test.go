package main

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Files draw in their order, and none waits once nothing is left.
func TestAPurseIsDrawnOnInOrder(t *testing.T) {
	p := newPurse(3)
	got := make(chan int)
	go func() { got <- p.draw(1) }()
	p.settle(0, 10)
	assert.Equal(t, purseful-10, <-got)
	p.settle(1, purseful)
	assert.Zero(t, p.draw(2), "an empty purse keeps nobody waiting")
}

// What is told of a folder is the same on one core and on several, where fixes
// are looked for in some files and no more.
func TestAFolderIsToldAlikeOnAnyNumberOfCores(t *testing.T) {
	dir := t.TempDir()
	for i := range 30 {
		cue := "  R woodblock with rubber-mallet as written\n"
		if i%3 != 1 {
			cue += "  L triangel clipped as written\n"
		}
		text := "tempo 90\npart \"P\"\n  woodblock | " + strings.Repeat("1 2 3 4 | ", 300+i) + "-\n  triangle | 1\nplayer Nell\n" + cue
		require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("%02d.handful", i)), []byte(text), 0o600))
	}
	var told []string
	for _, cores := range []int{1, 2, 4} {
		before := runtime.GOMAXPROCS(cores)
		out, _, _ := run(t, "", "check", dir)
		runtime.GOMAXPROCS(before)
		told = append(told, out)
	}
	assert.True(t, told[0] == told[1], "two cores")
	assert.True(t, told[0] == told[2], "four")
	said := func(report string) bool { return strings.Contains(report, "--fixes looks for all of them") }
	assert.True(t, said(told[0]))
	all, _, _ := run(t, "", "check", dir, "--fixes")
	assert.False(t, said(all))
	assert.Greater(t, strings.Count(all, "would help"), strings.Count(told[0], "would help"))
}
