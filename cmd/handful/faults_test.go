package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/cmd/handful/disk/disktest"
)

// Of every verb that writes, every operation with a file fails in turn, as on
// a full disk: the exit code is 2 and the reason is said, every file is the old
// one or the new one, and nothing is left beside them.
func TestEveryVerbSurvivesAFullDisk(t *testing.T) {
	plain := strings.Replace(killPiece, "player   Wren", "player Wren", 1)
	for _, v := range []struct {
		name string
		args []string
	}{
		{"fmt", []string{"fmt", "--write", "piece.handful"}},
		{"fix", []string{"check", "--fix", "piece.handful"}},
		{"plan", []string{"plan", "piece.handful", "--players", "2", "-o", "piece.handful"}},
		{"plan, elsewhere", []string{"plan", "piece.handful", "--players", "2", "-o", "two.handful"}},
		{"sheet", []string{"sheet", "plain.handful", "--to", "text", "-o", "stand", "--player", "Ash"}},
		{"export", []string{"export", "plain.handful", "--to", "midi", "-o", "part.mid"}},
		{"import", []string{"import", "first.mid", "--force", "-o", "book.handful"}},
		{"new", []string{"new", "new.handful"}},
	} {
		t.Run(v.name, func(t *testing.T) {
			fill := func(dir string) {
				t.Chdir(dir)
				for name, text := range map[string]string{"piece.handful": plain + misspelt, "plain.handful": plain, "book.handful": "# an older one\n", "stand/.handful-sheets": sheetsMade.head()} {
					require.NoError(t, os.MkdirAll(filepath.Dir(name), 0o755))
					require.NoError(t, os.WriteFile(name, []byte(text), 0o644))
				}
				if v.name == "plan" || v.name == "plan, elsewhere" {
					require.NoError(t, os.WriteFile("piece.handful", []byte(strings.Replace(killPiece, "| % x15", "| % x3", -1)), 0o644))
				}
				if v.name == "import" {
					_, errs, code := run(t, "", "export", "plain.handful", "--to", "midi", "-o", "first.mid")
					require.Equal(t, exitClean, code, errs)
				}
			}
			dir := t.TempDir()
			fill(dir)
			old := contents(t, dir)
			_, errs, code := run(t, "", v.args...)
			require.NotEqual(t, exitFailed, code, errs)
			young := contents(t, dir)
			require.NotEqual(t, old, young, "it writes something")
			for n := 1; ; n++ {
				require.Less(t, n, 100)
				dir := t.TempDir()
				fill(dir)
				files := &disktest.Faulty{Fails: n}
				var out, errs strings.Builder
				code := runIn(context.Background(), files, v.args, strings.NewReader(""), &out, &errs)
				if files.What == "" {
					t.Logf("%d operations failed, each in its turn", n-1)
					return
				}
				now := contents(t, dir)
				changed := false
				for f, text := range now {
					if bytes.Equal(text, old[f]) && old[f] != nil {
						continue
					}
					changed = true
					if filepath.Base(f) != madeName {
						assert.Equal(t, string(young[f]), string(text), "%s, when %s fails (%d)", f, files.What, n)
					}
				}
				for f := range old {
					assert.Contains(t, now, f, "lost, when %s fails (%d)", files.What, n)
				}
				switch files.What {
				case "sync folder", "link", "like", "stat": // there is another way to do it, or it was not needed
					if code != exitFailed {
						assert.Equal(t, young, now, "%s fails (%d), and it is done all the same", files.What, n)
						continue
					}
				}
				assert.Equal(t, exitFailed, code, "%s fails (%d): %s", files.What, n, errs.String())
				assert.Contains(t, errs.String(), "the disk is full", "%s fails (%d)", files.What, n)
				if changed {
					assert.Equal(t, "sheet", v.name, "one file is written whole, or not: %s fails (%d)", files.What, n)
				}
			}
		})
	}
}
