package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The README's two minutes show what the program really prints.
func TestTheReadmeShowsRealOutput(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	var blocks []string
	inside := false
	for _, line := range strings.SplitAfter(string(text), "\n") {
		switch {
		case strings.HasPrefix(line, "```"):
			if inside = !inside; inside {
				blocks = append(blocks, "")
			}
		case inside:
			blocks[len(blocks)-1] += line
		}
	}
	var piece, finding, report string
	for _, b := range blocks {
		switch {
		case strings.HasPrefix(b, "title \"Two Hands"):
			piece = b
		case strings.HasPrefix(b, "show.handful:10:3  error short-change"):
			finding = b
		case strings.HasPrefix(b, "show.handful:8:8  info assumed-kit"):
			report = b
		}
	}
	require.NotEmpty(t, piece)
	require.NotEmpty(t, finding)
	require.NotEmpty(t, report)

	t.Chdir(t.TempDir())
	check := func(text string) (string, int) {
		require.NoError(t, os.WriteFile(filepath.Join(".", "show.handful"), []byte(text), 0o644))
		var out, errs bytes.Buffer
		code := Run([]string{"check", "show.handful"}, strings.NewReader(""), &out, &errs)
		assert.Empty(t, errs.String())
		return out.String(), code
	}
	out, code := check(piece)
	assert.Equal(t, exitFindings, code)
	assert.Contains(t, out, finding)
	out, code = check(strings.Replace(piece, "  R triangle", "  L triangle", 1))
	assert.Equal(t, exitClean, code)
	assert.Equal(t, report, out)
}

// The README's pictures are what the program draws; to draw them anew:
//
//	handful sheet examples/ferry-landing.handful --to svg -o DIR
//	handful sheet examples/weir.handful --to svg -o DIR
//	handful sheet lang/plan/testdata/readable/ferry-landing-2-stand-ins.handful --to svg -o PLANNED
func TestTheReadmesPicturesAreFresh(t *testing.T) {
	dir := t.TempDir()
	var out, errs bytes.Buffer
	for piece, into := range map[string]string{"examples/ferry-landing": dir, "examples/weir": dir, "lang/plan/testdata/readable/ferry-landing-2-stand-ins": filepath.Join(dir, "planned")} {
		code := Run([]string{"sheet", "../../" + piece + ".handful", "--to", "svg", "-o", into}, nil, &out, &errs)
		require.Zero(t, code, errs.String())
	}
	for picture, drawn := range map[string]string{"cue-sheet.svg": "ferry-landing-nell-cues-1.svg", "set-up-plan.svg": "ferry-landing-nell-plan-1.svg",
		"floor-plan.svg": "ferry-landing-section-floor-1.svg", "staves.svg": "the-weir-at-low-water-tomas-cues-1.svg",
		"planned-set-up.svg": "planned/ferry-landing-one-plan-1.svg"} {
		want, err := os.ReadFile(filepath.Join("../../examples/sheets", picture))
		require.NoError(t, err)
		got, err := os.ReadFile(filepath.Join(dir, drawn))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(want, got), "examples/sheets/%s is not what is drawn now", picture)
	}
}
