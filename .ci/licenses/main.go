// Licenses prints the licences of everything that is linked into the handful
// command, on any of the systems that it is built for:
//
//	go run ./.ci/licenses >THIRD_PARTY_LICENSES
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// systems are those whose own packages are linked in somewhere.
var systems = []string{"linux", "darwin", "windows"}

// legal is what licences and notices are called.
var legal = regexp.MustCompile(`(?i)^(un)?(licen[cs]e|copying|notice|patents|ofl|authors)\b`)

type pkg struct {
	Dir      string
	Standard bool
	Module   *struct {
		Path, Version, Dir string
		Main               bool
	}
}

func main() {
	if err := run(os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "licenses:", err)
		os.Exit(1)
	}
}

func run(w io.Writer) error {
	texts := map[string][]string{} // files, by what they belong to
	for _, system := range systems {
		if err := addLinked(texts, system); err != nil {
			return err
		}
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return err
	}
	texts["Go, its standard library and its fonts"] = []string{filepath.Join(strings.TrimSpace(string(root)), "LICENSE")}
	texts["music glyphs, from an openly licensed font (lang/sheet/glyphs)"] = []string{filepath.Join("lang", "sheet", "glyphs", "OFL.txt")}

	fmt.Fprint(w, "What the handful command is built with, and under which terms. Made with  go run ./.ci/licenses\n")
	for _, name := range slices.Sorted(maps.Keys(texts)) {
		fmt.Fprintf(w, "\n%s\n%s\n", strings.Repeat("=", 80), name)
		slices.Sort(texts[name])
		for _, file := range slices.Compact(texts[name]) {
			data, err := os.ReadFile(file)
			if err != nil {
				return err
			}
			fmt.Fprintf(w, "\n--- %s\n\n%s\n", filepath.Base(file), plain(string(data)))
		}
	}
	return nil
}

// addLinked adds the legal texts of every module that is linked into the
// command on a system.
func addLinked(texts map[string][]string, system string) error {
	cmd := exec.Command("go", "list", "-deps", "-json=Dir,Standard,Module", "./cmd/handful")
	cmd.Env = append(os.Environ(), "GOOS="+system, "GOARCH=amd64", "CGO_ENABLED=0")
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return err
	}
	for dec := json.NewDecoder(strings.NewReader(string(out))); dec.More(); {
		var p pkg
		if err := dec.Decode(&p); err != nil {
			return err
		}
		if p.Standard || p.Module == nil || p.Module.Main {
			continue
		}
		name := p.Module.Path + " " + p.Module.Version
		for _, dir := range []string{p.Module.Dir, p.Dir} {
			files, err := legalIn(dir)
			if err != nil {
				return err
			}
			texts[name] = append(texts[name], files...)
		}
		if len(texts[name]) == 0 {
			return fmt.Errorf("%s has no licence", name)
		}
	}
	return nil
}

func legalIn(dir string) (files []string, err error) {
	list, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, err
	}
	for _, e := range list {
		if e.Type().IsRegular() && legal.MatchString(e.Name()) && filepath.Ext(e.Name()) != ".go" {
			files = append(files, filepath.Join(dir, e.Name()))
		}
	}
	return files, nil
}

// plain is a text with the line ends and the blanks at them that ours have.
func plain(text string) string {
	lines := strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " \t\f")
	}
	return strings.Trim(strings.Join(lines, "\n"), "\n")
}
