package main

import (
	"bytes"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkImportMemory runs the command itself on files of 1 and 10 MB and says
// what it had of memory at most, all of it and beside what the program takes that
// does nothing: what is wanted is five times the file and 20 MB. Where the system
// does not say that, there is nothing to measure.
func BenchmarkImportMemory(b *testing.B) {
	program := filepath.Join(b.TempDir(), "handful")
	build := exec.Command("go", "build", "-trimpath", "-ldflags=-s -w", "-o", program, ".") // as it is released
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	out, err := build.CombinedOutput()
	require.NoError(b, err, "%s", out)
	idle := mostMemory(b, program, "version")
	for _, f := range []struct {
		name string
		data func(size int) []byte
	}{{"x.mid", longMIDI}, {"x.musicxml", longMusicXML}} {
		for _, mb := range []int{1, 10} {
			b.Run(strconv.Itoa(mb)+"MB/"+f.name, func(b *testing.B) {
				file := filepath.Join(b.TempDir(), f.name)
				require.NoError(b, os.WriteFile(file, f.data(mb*1e6), 0o644))
				least := math.Inf(1) // of several runs: what else the machine does makes it more
				for b.Loop() {
					least = min(least, mostMemory(b, program, "import", file, "-o", filepath.Join(b.TempDir(), "x.handful")))
				}
				b.ReportMetric(least, "MB-at-most")
				b.ReportMetric(least-idle, "MB-beside-the-program")
				b.ReportMetric(float64(5*mb+20), "MB-wanted")
			})
		}
	}
}

// mostMemory is what a run of the program had of memory at most, in MB.
func mostMemory(b *testing.B, program string, args ...string) float64 {
	const time = "/usr/bin/time" // a process of its own: what a large one begins counts that one's memory too
	if _, err := os.Stat(time); err != nil || runtime.GOOS != "linux" {
		b.Skip("there is no GNU time")
	}
	out, err := exec.Command(time, append([]string{"-f", "%M", program}, args...)...).CombinedOutput()
	require.NoError(b, err, "%s", out)
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	kB, err := strconv.ParseFloat(lines[len(lines)-1], 64)
	require.NoError(b, err, "%s", out)
	return kB / 1000
}

// longMIDI is a file of about so many bytes: a track of eight keys, each louder or
// softer than before, of which no two bars are alike.
func longMIDI(size int) []byte {
	keys := []byte{38, 81, 49, 75, 56, 54, 36, 42}
	var t []byte
	for i := uint32(1); len(t) < size; {
		i = i*1664525 + 1013904223 // a plain row of numbers that looks like chance
		k, v, d := keys[i>>29], byte(20+i>>22&63), byte(12*(i>>16&1))
		t = append(t, 0, 0x99, k, v, d, 0x89, k, 0)
	}
	t = append(t, 0, 0xff, 0x2f, 0)
	n := len(t)
	head := []byte{'M', 'T', 'h', 'd', 0, 0, 0, 6, 0, 0, 0, 1, 0, 96, 'M', 'T', 'r', 'k', byte(n >> 24), byte(n >> 16), byte(n >> 8), byte(n)}
	return append(head, t...)
}

// longMusicXML is the shipped score with its parts again and again.
func longMusicXML(size int) []byte {
	one, err := os.ReadFile(filepath.Join("..", "..", "examples", "quay-parade.musicxml"))
	if err != nil {
		panic(err)
	}
	parts, end := bytes.Index(one, []byte("<part id")), bytes.LastIndex(one, []byte("</score-partwise>"))
	data := bytes.Clone(one[:parts])
	for len(data) < size {
		data = append(data, one[parts:end]...)
	}
	return append(data, one[end:]...)
}
