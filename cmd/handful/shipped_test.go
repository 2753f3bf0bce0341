package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The library that is shipped is in order, against its baseline and from any
// folder, and its report and its table are what is said of it now.
func TestTheShippedLibrary(t *testing.T) {
	dir, err := filepath.Abs("../../examples/library")
	require.NoError(t, err)
	run := func(args ...string) (string, int) {
		var out, errs bytes.Buffer
		code := Run(args, strings.NewReader(""), &out, &errs)
		assert.Empty(t, errs.String(), args)
		return out.String(), code
	}
	prints := func(report string) (all []string) {
		var r struct {
			Files []struct {
				Findings []struct{ Fingerprint, Severity string }
			}
		}
		require.NoError(t, json.Unmarshal([]byte(report), &r))
		assert.Len(t, r.Files, 21, "twenty numbers, and what they have in common")
		for _, f := range r.Files {
			for _, x := range f.Findings {
				assert.NotEqual(t, "error", x.Severity)
				all = append(all, x.Fingerprint)
			}
		}
		return all
	}
	var everywhere [][]string
	for from, path := range map[string]string{dir: ".", filepath.Dir(dir): "library", filepath.Join(dir, "season"): "..", t.TempDir(): dir} {
		t.Chdir(from)
		_, code := run("check", path)
		assert.Equal(t, exitClean, code, "nothing is new, from %s", from)
		told, _ := run("check", path, "--format", "json", "--no-baseline", "--fail-on", "never")
		everywhere = append(everywhere, prints(told))
	}
	for _, other := range everywhere {
		assert.Equal(t, everywhere[0], other, "from any folder")
	}
	known, err := os.ReadFile(filepath.Join(dir, "known.json"))
	require.NoError(t, err)
	assert.Equal(t, len(everywhere[0]), bytes.Count(known, []byte(`"fingerprint"`)))
	t.Chdir(dir)
	for file, args := range map[string][]string{"report.txt": nil, "people.csv": {"--format", "csv"}} {
		want, err := os.ReadFile(file)
		require.NoError(t, err)
		got, code := run(append([]string{"library", "."}, args...)...)
		assert.Equal(t, exitClean, code)
		if *update {
			require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
			continue
		}
		assert.Equal(t, string(want), got, "make it anew:  handful library . %s -o %s --force", strings.Join(args, " "), file)
	}
	_, code := run("fmt", "--check", ".")
	assert.Equal(t, exitClean, code, "in the canonical layout")
}
