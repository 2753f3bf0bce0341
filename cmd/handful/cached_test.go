package main

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// keptLibrary is a folder with pieces, what they use, and settings.
func keptLibrary(t *testing.T) string {
	dir := t.TempDir()
	write := func(name, text string) {
		require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o755))
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	write("handful.toml", "use = [\"store.handful\"]\n[severity]\nassumed-kit = \"off\"\n[[where]]\npath = \"school/\"\nprofile = \"student\"\n")
	write("store.handful", "gear\n  1 woodblock, 1 triangle, 2 rubber-mallet, 1 triangle-beater\n")
	write("shared/kit.handful", "instrument ships-bell\n  called \"ship's bell\" \"S.B.\"\n  family metal\n  rings 6\n  way hung takes 1 hand with brass-mallet loudest ff\n")
	piece := strings.NewReplacer("16", "6", "x15", "x5").Replace(killPiece)
	write("a.handful", "use \"shared/kit.handful\"\n"+piece+"  R ships-bell hung with brass-mallet | 1\n")
	write("b.handful", piece+misspelt)
	write("school/c.handful", piece)
	write("school/d.handful", "use \"not-there.handful\"\n"+piece)
	return dir
}

// say is what a run says, and how it ends.
func say(args ...string) string {
	var out, err bytes.Buffer
	code := Run(args, strings.NewReader(""), &out, &err)
	return out.String() + "\n-- and --\n" + err.String() + "\n-- ends with --\n" + string(rune('0'+code))
}

// With what earlier runs have found, a run says what it says without, whatever
// has changed in between.
func TestTheSameWithWhatWasFoundEarlier(t *testing.T) {
	dir := keptLibrary(t)
	t.Chdir(dir)
	t.Setenv(cacheVariable, t.TempDir())
	ways := [][]string{
		{"check", "."}, {"check", ".", "--no-fixes"}, {"check", ".", "--fixes"}, {"check", "b.handful", "a.handful"}, {"check", dir},
		{"check", ".", "--format", "json"}, {"check", ".", "--format", "json", "--fixes"}, {"check", ".", "--format", "jsonl"}, {"check", ".", "--format", "sarif"},
		{"check", ".", "--format", "junit"}, {"check", ".", "--format", "line"}, {"check", ".", "--format", "github"}, {"check", ".", "--format", "gitlab"},
		{"check", ".", "--tempo", "130%"}, {"check", ".", "--without", "Ash"}, {"check", ".", "--without", "Asch"},
		{"check", ".", "--baseline", "../known.json"}, {"check", ".", "--baseline", "../known.json", "--format", "json"},
	}
	require.NoError(t, os.Mkdir("below", 0o755))
	say("check", ".", "--write-baseline", "../known.json", "--no-cache")
	edit := func(name, from, to string) {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		require.Contains(t, string(text), from)
		require.NoError(t, os.WriteFile(name, []byte(strings.Replace(string(text), from, to, 1)), 0o644))
	}
	last := ""
	for _, change := range []struct {
		what string
		make func()
	}{
		{"as it was", func() {}},
		{"again", func() {}},
		{"a used file", func() { edit("shared/kit.handful", "brass-mallet", "chime-hammer") }},
		{"what all use", func() { edit("store.handful", "1 triangle,", "0 triangle,") }},
		{"a file that was not there", func() {
			require.NoError(t, os.WriteFile("school/not-there.handful", []byte("gear\n  0 woodblock\n"), 0o644))
		}},
		{"… and is not there again", func() { require.NoError(t, os.Remove("school/not-there.handful")) }},
		{"a profile", func() { edit("handful.toml", `"student"`, `"professional"`) }},
		{"a severity", func() { edit("handful.toml", "off", "error") }},
		{"a piece", func() { edit("b.handful", "1 2 3 4", "1 1e 1& 1a") }},
		{"the list of what is known", func() {
			require.NoError(t, os.WriteFile("../known.json", []byte("{\"handful baseline\": 1, \"findings\": []}"), 0o644))
		}},
	} {
		for _, args := range ways {
			alone := say(append(args, "--no-cache")...)
			require.Equal(t, alone, say(args...), "%s: %v", change.what, args)
			require.Equal(t, alone, say(args...), "%s, once more: %v", change.what, args)
		}
		change.make()
		now := say("check", ".", "--format", "json", "--no-cache") + say("check", ".", "--baseline", "../known.json")
		if change.what != "as it was" && change.what != "again" {
			assert.NotEqual(t, last, now, "%s makes a difference", change.what)
		}
		last = now
	}
	for _, args := range ways { // after the last change
		require.Equal(t, say(append(args, "--no-cache")...), say(args...), args)
	}
}

// eachPack visits the files of a cache.
func eachPack(t *testing.T, dir string, visit func(name string)) (n int) {
	require.NoError(t, filepath.WalkDir(dir, func(at string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			n++
			visit(at)
		}
		return err
	}))
	return n
}

func TestWhatWasFoundEarlierIsTakenFromThere(t *testing.T) {
	t.Chdir(keptLibrary(t))
	dir := t.TempDir()
	t.Setenv(cacheVariable, dir)
	before := say("check", ".")
	require.NotZero(t, eachPack(t, dir, func(string) {}))
	how := checking{fixes: soonFixes}
	how.TempoFactor = 1
	s := &streams{ctx: t.Context(), err: &output{to: &bytes.Buffer{}}, store: openCache()}
	m := s.memory(4, how, textForm{named: true})
	inputs, _ := gather([]string{"."}, s)
	for i := range inputs {
		key := m.key(&inputs[i], nil)
		p, used, err := decodePage(m.Get(key))
		require.NoError(t, err, inputs[i].path)
		p.findings = []byte("remembered " + inputs[i].path + "\n")
		m.keep(key, &p, used)
	}
	s.store.Close()
	after := say("check", ".")
	assert.NotContains(t, before, "remembered")
	assert.Equal(t, len(inputs), strings.Count(after, "remembered "))
	assert.Equal(t, before, say("check", ".", "--no-cache"))
	files := eachPack(t, dir, func(string) {})
	say("check", ".")
	assert.Equal(t, files, eachPack(t, dir, func(string) {}), "nothing is written where nothing is new")
}

func TestBrokenOrUnwritableCachesChangeNothing(t *testing.T) {
	t.Chdir(keptLibrary(t))
	alone := say("check", ".", "--no-cache")
	dir := t.TempDir()
	t.Setenv(cacheVariable, dir)
	for _, spoil := range []func(name string, text []byte) []byte{
		func(_ string, text []byte) []byte { return text[:len(text)/2] },
		func(_ string, text []byte) []byte { return nil },
		func(_ string, text []byte) []byte { return bytes.ReplaceAll(text, []byte("Wren"), []byte("Wrem")) },
		func(_ string, text []byte) []byte { return append(text, text...) },
	} {
		require.Equal(t, alone, say("check", "."))
		eachPack(t, dir, func(name string) {
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(name, spoil(name, text), 0o600))
		})
		require.Equal(t, alone, say("check", "."))
		require.Equal(t, alone, say("check", "."))
	}
	for _, nowhere := range []string{"/dev/null/below", os.DevNull} {
		if runtime.GOOS == "windows" {
			break
		}
		t.Setenv(cacheVariable, nowhere)
		assert.Equal(t, alone, say("check", "."), nowhere)
	}
}

// A page that is cut off or changed anywhere is no page, or one that is fit to
// be told; nothing fails.
func TestAnyTextIsAPageOrIsNot(t *testing.T) {
	p := page{findings: []byte("a finding\n"), ceilings: []byte("a ceiling\n"), names: []string{"Wren"}, bars: 4, called: "a", done: true}
	text, err := encodePage(&p, []usedFile{{"kit.handful", "sum"}})
	require.NoError(t, err)
	back, used, err := decodePage(text)
	require.NoError(t, err)
	assert.Equal(t, p, back)
	assert.Equal(t, []usedFile{{"kit.handful", "sum"}}, used)
	for i := range text {
		_, _, err := decodePage(text[:i])
		assert.Error(t, err)
		for b := range 256 {
			changed := bytes.Clone(text)
			changed[i] = byte(b)
			decodePage(changed)
		}
	}
}

func TestSeveralRunsAtOnceSayTheSame(t *testing.T) {
	t.Chdir(keptLibrary(t))
	alone := say("check", ".", "--no-cache")
	t.Setenv(cacheVariable, t.TempDir())
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			for range 6 {
				assert.Equal(t, alone, say("check", "."))
			}
		})
	}
	all.Wait()
}
