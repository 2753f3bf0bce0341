package main

import (
	"flag"
	"os"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "write what the scripts find into them; read the change before you keep it")

func TestMain(m *testing.M) {
	testscript.Main(apart{m}, map[string]func(){"handful": main})
}

// apart runs tests with a cache of their own.
type apart struct{ *testing.M }

func (m apart) Run() int {
	dir, err := os.MkdirTemp("", "handful-cache")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(dir)
	os.Setenv(cacheVariable, dir)
	return m.M.Run()
}

// The scripts are the command's specification: one for each verb and one for
// each kind of input that could upset it.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		Setup: func(env *testscript.Env) error {
			return setUp(env.WorkDir)
		},
	})
}

// setUp puts into a script's folder what a text archive cannot hold: other
// encodings and control characters.
func setUp(dir string) error {
	for name, edit := range map[string]func(string) string{
		"latin1.txt":  func(string) string { return "title \"Caf\xe9\"\ntitle \xe9\nplayer Nell\n" },
		"bom.handful": func(text string) string { return "\ufeff" + text },
		"wide.txt": func(text string) string {
			var b strings.Builder
			b.WriteString("\xff\xfe")
			for _, u := range utf16.Encode([]rune(text)) {
				b.WriteString(string([]byte{byte(u), byte(u >> 8)}))
			}
			return b.String()
		},
		"click.mid":  func(string) string { return "MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60" },
		"book.pdf":   func(string) string { return "%PDF-1.7\n%\xe2\xe3\xcf\xd3\n" },
		"photos.zip": func(string) string { return "PK\x03\x04\x14\x00\x00\x00\x08\x00harbour.jpg" },
		"escape.txt": func(string) string { return "player Nell\n  R \"\x1b[31m\" \u202e | 1\n" },
	} {
		path := dir + "/" + name
		text, err := os.ReadFile(path)
		if os.IsNotExist(err) {
			continue
		}
		if err != nil {
			return err
		}
		if err := os.WriteFile(path, []byte(edit(string(text))), 0o644); err != nil {
			return err
		}
	}
	return nil
}
