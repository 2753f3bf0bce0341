// Package outside finds, for tests, the programs and packages that judge what
// this project makes without sharing code with it. In comes the name of one,
// out comes where it is; a test that needs one that is not there is skipped.
// The package never installs anything: .ci/run does.
package outside

import (
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
