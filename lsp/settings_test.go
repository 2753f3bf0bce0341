package lsp

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.lsp.dev/uri"
)

// What handful.toml says holds in an editor too, as soon as it says it.
func TestTheServerReadsTheSettingsOfTheFolder(t *testing.T) {
	root := t.TempDir()
	write := func(name, text string) string {
		at := filepath.Join(root, filepath.FromSlash(name))
		require.NoError(t, os.MkdirAll(filepath.Dir(at), 0o755))
		require.NoError(t, os.WriteFile(at, []byte(text), 0o644))
		return string(uri.File(at))
	}
	const text = "tempo 90\nplayer Nell\n  R harbour-bell with brass-mallet | 1 2 | 1\n"
	conf := write("handful.toml", "use = [\"shared/store.handful\"]\n[severity]\nassumed-kit = \"warning\"\n")
	write("shared/store.handful", "instrument harbour-bell\n  family metal\n  way hung takes 1 hand with brass-mallet loudest ff\n")
	page := write("season/pier.handful", text)

	c := start(t, able, obj{"rootUri": string(uri.File(root))})
	c.open(page, text)
	got := c.shownFor(page, 1)
	assert.NotContains(t, codes(got), "unknown-name", "what all pieces use is used")
	for _, d := range got {
		if d.Code == "assumed-kit" {
			assert.Equal(t, 2, d.Severity)
		}
	}
	assert.Contains(t, codes(got), "assumed-kit")

	write("handful.toml", "profil = \"student\"\n")
	c.notify("workspace/didChangeWatchedFiles", obj{"changes": []any{obj{"uri": conf, "type": 2}}})
	c.until(page, "unknown-name", true)
	_, ok := c.wait(func() (message, bool) {
		for _, m := range c.notes {
			if m.Method == "textDocument/publishDiagnostics" && bytes.Contains(m.Params, []byte(conf)) && bytes.Contains(m.Params, []byte("did you mean")) {
				return m, true
			}
		}
		return message{}, false
	})
	assert.True(t, ok, "what is wrong with the settings is shown where it stands")
}
