package folder

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func lay(t *testing.T, files map[string]string) string {
	dir := t.TempDir()
	for name, text := range files {
		at := filepath.Join(dir, filepath.FromSlash(name))
		require.NoError(t, os.MkdirAll(filepath.Dir(at), 0o755))
		require.NoError(t, os.WriteFile(at, []byte(text), 0o644))
	}
	return dir
}

func named(t *testing.T, dir string, files []string) string {
	var out []string
	for _, f := range files {
		rel, err := filepath.Rel(dir, f)
		require.NoError(t, err)
		out = append(out, filepath.ToSlash(rel))
	}
	return strings.Join(out, " ")
}

// What is passed over is what git itself passes over.
func TestIgnoredIsWhatGitIgnores(t *testing.T) {
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("no git here to compare with")
	}
	for name, ignore := range map[string]map[string]string{
		"names":              {".gitignore": "old*\ndrafts/\n"},
		"taken back":         {".gitignore": "*.handful\n!a.handful\n"},
		"from the top":       {".gitignore": "/a.handful\n/x/y\n"},
		"stars":              {".gitignore": "x/**/a.handful\n"},
		"stars first":        {".gitignore": "**/y/a.handful\n"},
		"stars last":         {".gitignore": "x/**\n!x/a.handful\n"},
		"again in the path":  {".gitignore": "**/x/y\n"},
		"a folder below":     {".gitignore": "*.handful\n", "x/.gitignore": "!a.handful\n", "x/y/.gitignore": "/a.handful\n"},
		"a folder stays out": {".gitignore": "x/\n!x/a.handful\n"},
		"brackets":           {".gitignore": "[ab].handful\nold-[!1].handful\n"},
		"escaped":            {".gitignore": "\\#a.handful\n\\!b.handful\n# a.handful\n\n   \nb.handful  \n"},
		"braces":             {".gitignore": "{a,b}.handful\n\\{c}.handful\n"},
		"unreadable":         {".gitignore": "[a\na.handful\n\\\n"},
		"windows":            {".gitignore": "a.handful\r\ndrafts/\r\n"},
		"a folder or a file": {".gitignore": "y/\nx/a.handful/\n"},
		"a mark":             {".gitignore": "\ufeffa.handful\n"},
	} {
		t.Run(name, func(t *testing.T) {
			files := map[string]string{}
			for _, f := range []string{"a", "b", "old-1", "old-2", "#a", "!b", "{a,b}", "{c}", "drafts/a", "x/a", "x/b", "x/y/a", "x/y/b", "x/x/y/a", "x/z/y/a", "y/a", "w/x/y/drafts/a"} {
				files[f+".handful"] = ""
			}
			for f, text := range ignore {
				files[f] = text
			}
			dir := lay(t, files)
			git := func(args ...string) string {
				cmd := exec.Command("git", append([]string{"-c", "core.excludesFile=/dev/null", "-C", dir}, args...)...)
				out, err := cmd.CombinedOutput()
				require.NoError(t, err, "%s", out)
				return string(out)
			}
			git("init", "-q")
			want := map[string]bool{}
			for _, f := range strings.Split(git("ls-files", "-z", "--others", "--exclude-standard"), "\x00") {
				if strings.HasSuffix(f, Extension) {
					want[f] = true
				}
			}
			got, errs := Chosen(dir, Choice{})
			assert.Empty(t, errs)
			have := map[string]bool{}
			for _, f := range got {
				have[named(t, dir, []string{f})] = true
			}
			assert.Equal(t, want, have)
			all, _ := Below(dir)
			assert.Len(t, all, 17, "whoever does not ask for it gets every file")
		})
	}
}

func patterns(t *testing.T, lines ...string) (out []Pattern) {
	for _, line := range lines {
		p, err := ParsePattern(line)
		require.NoError(t, err)
		out = append(out, p)
	}
	return out
}

func TestWhatIsChosen(t *testing.T) {
	dir := lay(t, map[string]string{
		"a.handful": "", "b.handful": "", "season/a.handful": "", "season/old/b.handful": "", "made/a.handful": "", ".gitignore": "made/\n", "season/.gitignore": "old\n",
	})
	for name, c := range map[string]struct {
		choice Choice
		below  string
		want   string
	}{
		"all that is its own":     {Choice{}, "", "a.handful b.handful season/a.handful"},
		"what is ignored too":     {Choice{Ignored: true}, "", "a.handful b.handful made/a.handful season/a.handful season/old/b.handful"},
		"one kind":                {Choice{Include: patterns(t, "a.handful")}, "", "a.handful season/a.handful"},
		"a folder":                {Choice{Include: patterns(t, "season/")}, "", "season/a.handful"},
		"but":                     {Choice{Include: patterns(t, "*.handful", "!b.handful")}, "", "a.handful season/a.handful"},
		"without":                 {Choice{Exclude: patterns(t, "/a.handful", "season")}, "", "b.handful"},
		"both":                    {Choice{Include: patterns(t, "a*"), Exclude: patterns(t, "season/")}, "", "a.handful"},
		"from further up":         {Choice{Root: dir, Exclude: patterns(t, "/season/a.handful"), Ignored: true}, "season", "season/old/b.handful"},
		"a folder that was named": {Choice{Root: dir}, "made", "made/a.handful"},
		"a root elsewhere":        {Choice{Root: t.TempDir()}, "made", "made/a.handful"},
		"a file that was named":   {Choice{Root: dir, Exclude: patterns(t, "*")}, "made/a.handful", "made/a.handful"},
		"an ignore of the below":  {Choice{}, "season", "season/a.handful"},
	} {
		t.Run(name, func(t *testing.T) {
			got, errs := Chosen(filepath.Join(dir, c.below), c.choice)
			assert.Empty(t, errs)
			assert.Equal(t, c.want, named(t, dir, got))
		})
	}
}

func TestAnIgnoreFileElsewhereIsNotRead(t *testing.T) {
	out := lay(t, map[string]string{"list": "a.handful\n"})
	dir := lay(t, map[string]string{"a.handful": ""})
	if err := os.Symlink(filepath.Join(out, "list"), filepath.Join(dir, ".gitignore")); err != nil {
		t.Skip("no links here")
	}
	got, errs := Chosen(dir, Choice{})
	assert.Empty(t, errs)
	assert.Len(t, got, 1)
}

func TestPatternsThatSayNothing(t *testing.T) {
	for _, line := range []string{"", "/", "!", "!/", "  ", "[a", `a\`} {
		_, err := ParsePattern(line)
		assert.Error(t, err, "%q", line)
	}
}

func FuzzPattern(f *testing.F) {
	for _, line := range []string{"*", "**/a", "[a-", `\{`, "!x/**", "a/**/b"} {
		f.Add(line, "x/a.handful")
	}
	f.Fuzz(func(t *testing.T, line, name string) {
		if len(line) > 100 || len(name) > 100 {
			return
		}
		if p, err := ParsePattern(line); err == nil {
			p.matches(name, true)
			p.MatchesBelow(name)
		}
	})
}
