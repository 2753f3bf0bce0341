package folder

import (
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"strings"

	"github.com/bmatcuk/doublestar/v4"
)

// ignoreFile is where a folder says which files are not its own: made, or only
// somebody's.
const ignoreFile = ".gitignore"

// maxIgnore is the largest such file that is read, in bytes.
const maxIgnore = 1 << 20

// A Choice says which files below a folder are meant.
type Choice struct {
	// Root is the folder that patterns are written from, and in which the
	// first .gitignore is looked for. Empty is the folder that is searched.
	Root string
	// Include and Exclude are patterns as in a .gitignore. If there is any
	// Include, a file has to match one; one that matches Exclude is passed over.
	Include, Exclude []Pattern
	// Ignored has files read that a .gitignore passes over.
	Ignored bool
}

// A Pattern is a line of a .gitignore: what it matches and from which folder.
type Pattern struct {
	glob    string
	back    bool // it takes back what lines before it said
	folders bool // it speaks of folders only
}

// ParsePattern reads a pattern as it stands in a .gitignore.
func ParsePattern(line string) (Pattern, error) {
	var p Pattern
	text := strings.TrimSuffix(line, "\r")
	for strings.HasSuffix(text, " ") && !strings.HasSuffix(text, `\ `) {
		text = text[:len(text)-1]
	}
	if rest, ok := strings.CutPrefix(text, "!"); ok {
		p.back, text = true, rest
	}
	if rest, ok := strings.CutSuffix(text, "/"); ok {
		p.folders, text = true, rest
	}
	anchored := strings.Contains(text, "/")
	text = strings.TrimPrefix(text, "/")
	if text == "" {
		return p, fmt.Errorf("%q matches nothing: write a name, as in  old-*.handful  or  drafts/", line)
	}
	text = strings.NewReplacer("{", `\{`, "}", `\}`).Replace(unescaped(text))
	if !anchored {
		text = "**/" + text
	}
	if strings.HasSuffix(text, "/**") {
		text += "/*" // what is inside, not the folder itself
	}
	if !doublestar.ValidatePattern(text) {
		return p, fmt.Errorf("%q cannot be read as a pattern: a bracket has no end, or nothing stands behind a backslash", line)
	}
	p.glob = text
	return p, nil
}

// unescaped takes the backslashes away that stand before braces already, since
// braces mean nothing in such patterns and each gets one.
func unescaped(text string) string {
	return strings.NewReplacer(`\\`, `\\`, `\{`, "{", `\}`, "}").Replace(text)
}

// matches says whether the pattern speaks of a path, written with slashes from
// the pattern's folder.
func (p Pattern) matches(name string, dir bool) bool {
	return (dir || !p.folders) && doublestar.MatchUnvalidated(p.glob, name)
}

// MatchesBelow says whether it speaks of a path or of a folder that it is in.
func (p Pattern) MatchesBelow(name string) bool {
	for dir := false; name != "." && name != ""; name, dir = path.Dir(name), true {
		if p.matches(name, dir) {
			return true
		}
	}
	return false
}

// decide says what the last pattern that speaks of a path says; ok is false if
// none does.
func decide(patterns []Pattern, matches func(Pattern) bool) (in, ok bool) {
	for i := len(patterns) - 1; i >= 0; i-- {
		if matches(patterns[i]) {
			return !patterns[i].back, true
		}
	}
	return false, false
}

// Decide says whether the last of the patterns that speaks of a path, or of a
// folder that it is in, matches it.
func Decide(patterns []Pattern, name string) bool {
	in, _ := decide(patterns, func(p Pattern) bool { return p.MatchesBelow(name) })
	return in
}

// An ignoring is what the .gitignore files down to a folder say.
type ignoring struct {
	choice Choice
	root   string               // as a whole path
	wd     string               // the working folder, which is asked for often
	files  map[string][]Pattern // by folder, with slashes, from the root
}

func newIgnoring(c Choice, top string) *ignoring {
	g := &ignoring{choice: c, files: map[string][]Pattern{}}
	g.wd, _ = os.Getwd()
	top = g.whole(top)
	if g.root = g.whole(c.Root); c.Root == "" {
		g.root = top
	} else if _, inside := Inside(g.root, top); !inside {
		g.root = top
	}
	return g
}

// whole is the whole path of a file.
func (g *ignoring) whole(at string) string {
	if filepath.IsAbs(at) {
		return filepath.Clean(at)
	}
	return filepath.Join(g.wd, at)
}

// passes says whether a file, or all that is in a folder, is passed over.
func (g *ignoring) passes(at string, dir bool) bool {
	name, inside := Inside(g.root, g.whole(at))
	if !inside || name == "." {
		return false
	}
	if out, _ := decide(g.choice.Exclude, func(p Pattern) bool { return p.matches(name, dir) }); out {
		return true
	}
	if !dir && len(g.choice.Include) > 0 {
		if !Decide(g.choice.Include, name) {
			return true
		}
	}
	return !g.choice.Ignored && g.ignored(name, dir)
}

// ignored asks the files from the folder outwards: the nearest has the last word.
func (g *ignoring) ignored(name string, dir bool) bool {
	for in := path.Dir(name); ; in = path.Dir(in) {
		below := name
		if in != "." {
			below = strings.TrimPrefix(name, in+"/")
		}
		if out, ok := decide(g.of(in), func(p Pattern) bool { return p.matches(below, dir) }); ok {
			return out
		}
		if in == "." {
			return false
		}
	}
}

// of reads the .gitignore of a folder. A line that cannot be read says nothing,
// as it does to whom the file is for; a link is not followed.
func (g *ignoring) of(dir string) []Pattern {
	if was, ok := g.files[dir]; ok {
		return was
	}
	var out []Pattern
	for _, line := range strings.Split(ignoreText(filepath.Join(g.root, filepath.FromSlash(dir), ignoreFile)), "\n") {
		if strings.HasPrefix(line, "#") {
			continue
		}
		if p, err := ParsePattern(line); err == nil {
			out = append(out, p)
		}
	}
	g.files[dir] = out
	return out
}

func ignoreText(file string) string {
	info, err := os.Lstat(file)
	if err != nil || !info.Mode().IsRegular() || info.Size() > maxIgnore {
		return ""
	}
	f, err := os.Open(file)
	if err != nil {
		return ""
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, maxIgnore))
	if err != nil {
		return ""
	}
	return strings.TrimPrefix(string(text), "\ufeff")
}
