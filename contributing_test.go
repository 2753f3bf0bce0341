package handful_test

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// shown are the examples of a language that CONTRIBUTING.md has.
func shown(t *testing.T, language string) (list []string) {
	text, err := os.ReadFile("CONTRIBUTING.md")
	require.NoError(t, err)
	for _, m := range regexp.MustCompile("(?s)```"+language+"\n(.*?)```").FindAllStringSubmatch(string(text), -1) {
		list = append(list, m[1])
	}
	require.NotEmpty(t, list)
	return list
}

// The rule that is shown is one that there is.
func TestTheRuleThatIsShownIsThere(t *testing.T) {
	text, err := os.ReadFile("lang/check/mouth_busy.go")
	require.NoError(t, err)
	assert.Contains(t, string(text), shown(t, "go")[0])
}

// patched applies a unified diff to the files that it names, wherever its
// context stands today, and returns what they become.
func patched(t *testing.T, diff string) map[string]string {
	files, name := map[string]string{}, ""
	var before, after strings.Builder
	end := func() {
		if before.Len() > 0 {
			require.Equal(t, 1, strings.Count(files[name], before.String()), "%s has this once:\n%s", name, before.String())
			files[name] = strings.Replace(files[name], before.String(), after.String(), 1)
		}
		before.Reset()
		after.Reset()
	}
	for line := range strings.Lines(diff) {
		switch {
		case strings.HasPrefix(line, "--- "):
		case strings.HasPrefix(line, "+++ b/"):
			end()
			name = strings.TrimSpace(strings.TrimPrefix(line, "+++ b/"))
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			files[name] = string(text)
		case strings.HasPrefix(line, "@@"):
			end()
		case line[0] == '+':
			after.WriteString(line[1:])
		case line[0] == '-':
			before.WriteString(line[1:])
		default:
			before.WriteString(line[1:])
			after.WriteString(line[1:])
		}
	}
	end()
	return files
}

// The statement that is shown as a diff can be added to what there is: it is
// read, printed and offered word by word.
func TestTheStatementThatIsShownCanBeAdded(t *testing.T) {
	here, err := os.Getwd()
	require.NoError(t, err)
	dir := t.TempDir()
	files := patched(t, shown(t, "diff")[0])
	files["lang/syntax/shown/main.go"] = `package main

import (
	"fmt"

	"example.org/handful/lang/syntax"
)

func main() {
	line := syntax.ParseLine("signal \"curtain\"  at 8 by Nell")
	fmt.Println(len(line.Problems), syntax.Print(line.Stmt))
	for _, begun := range []string{"signal \"x\"", "signal \"x\" at", "signal \"x\" at 8", "signal \"x\" at 8 by"} {
		fmt.Println(syntax.Next(begun, syntax.InHead))
	}
}
`
	overlay := map[string]map[string]string{"Replace": {}}
	for name, text := range files {
		to := filepath.Join(dir, strings.ReplaceAll(name, "/", "-"))
		require.NoError(t, os.WriteFile(to, []byte(text), 0o600))
		overlay["Replace"][filepath.Join(here, filepath.FromSlash(name))] = to
	}
	list, err := json.Marshal(overlay)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "overlay.json"), list, 0o600))
	out, err := exec.Command("go", "run", "-overlay", filepath.Join(dir, "overlay.json"), "./lang/syntax/shown").CombinedOutput()
	require.NoError(t, err, string(out))
	assert.Equal(t, `0 signal "curtain" at 8 by Nell
[{at  false}]
[{ place false}]
[{by  false}]
[{ player false}]
`, string(out))
}
