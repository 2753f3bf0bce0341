// Package outside finds, for tests, the programs and packages that judge what
// this project makes without sharing code with it. In comes the name of one,
// out comes where it is; a test that needs one that is not there is skipped.
// The package never installs anything: .ci/run does.
package outside

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// Need skips a test whose programs are not there.
func Need(t testing.TB, programs ...string) {
	t.Helper()
	for _, program := range programs {
		if _, err := exec.LookPath(program); err != nil {
			t.Skipf("%s is not there", program)
		}
	}
}

// NodeModules is the folder in which npm's package of a name is, with node to
// run it.
func NodeModules(t testing.TB, name string) string {
	t.Helper()
	Need(t, "node")
	dir := os.Getenv("HANDFUL_NODE_MODULES")
	if dir == "" {
		t.Skip("HANDFUL_NODE_MODULES does not say where npm's packages are")
	}
	if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
		t.Skipf("npm's %s is not there", name)
	}
	return dir
}

// Python runs a program in Debian's own Python, with the modules that it needs,
// and reads the JSON that it prints.
func Python(t testing.TB, modules, program string, into any, args ...string) {
	t.Helper()
	const python = "/usr/bin/python3"
	Need(t, python)
	if exec.Command(python, "-c", "import "+modules).Run() != nil {
		t.Skipf("Python's %s is not there", modules)
	}
	out, err := exec.Command(python, append([]string{"-c", "import json, sys, " + modules + "\n" + program}, args...)...).Output()
	if err == nil {
		err = json.Unmarshal(out, into)
	}
	if err != nil {
		t.Fatalf("Python's %s: %v", modules, err)
	}
}

// A Heard note is one that somebody else reads in a MIDI file: when it begins, in
// seconds, and its key.
type Heard struct {
	T   float64 `json:"t"`
	Key int     `json:"key"`
}

// Mido reads the notes of a MIDI file with Debian's python3-mido: all, or those
// alone that are on another channel than the one for percussion.
func Mido(t testing.TB, data []byte, pitched bool) (out []Heard) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "x.mid")
	if err := os.WriteFile(file, data, 0o600); err != nil {
		t.Fatal(err)
	}
	which := "True"
	if pitched {
		which = "m.channel != 9"
	}
	Python(t, "mido", `
out, sec = [], 0.0
for m in mido.MidiFile(sys.argv[1]):
    sec += m.time
    if m.type == "note_on" and m.velocity > 0 and (`+which+`):
        out.append({"t": sec, "key": m.note})
print(json.dumps(out))`, &out, file)
	return out
}
