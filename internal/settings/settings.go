// Package settings reads the file that says how the pieces of a folder are
// checked and printed: handful.toml.
//
// In comes the text of such a file, or a place on the disk above which one is
// looked for. Out come settings, or what is wrong with them, with line and
// column. What a file says holds for the folder that it stands in and all
// below, as far as no folder nearer to a piece has a file of its own. The
// package never writes, and never checks a piece.
package settings

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/sheet"
	"example.org/handful/lang/syntax"
)

// FileName is what such a file is called.
const FileName = "handful.toml"

// maxFile is the largest one that is read, in bytes.
const maxFile = 1 << 20

// Settings are those of a folder. The zero value is what holds without a file.
type Settings struct {
	// Dir is the folder that the file stands in, as a whole path; empty without
	// a file. Paths and patterns are seen from there.
	Dir string `toml:"-"`
	// Profile is that of players who do not say one; "" is the usual one.
	Profile string `toml:"profile"`
	// Use are files that every piece uses without saying so: the gear and the
	// people that all have in common.
	Use []string `toml:"use"`
	// Severity gives rules another severity: error, warning, compromise, info,
	// or off.
	Severity map[string]string `toml:"severity"`
	Check    Checking          `toml:"check"`
	Sheet    Printing          `toml:"sheet"`
	// Where says otherwise for some of the pieces; what comes later goes before.
	Where []Where `toml:"where"`

	include, exclude []folder.Pattern
}

// Checking is how a folder is checked.
type Checking struct {
	FailOn   string   `toml:"fail-on"`  // error, warning or never
	Include  []string `toml:"include"`  // patterns as in a .gitignore
	Exclude  []string `toml:"exclude"`  // likewise
	Baseline string   `toml:"baseline"` // the list of what is known
	Fixes    *bool    `toml:"fixes"`    // whether fixes are looked for, of everything; nil is of what comes first
}

// Printing is how sheets are made.
type Printing struct {
	Paper string `toml:"paper"`
	For   string `toml:"for"`
	To    string `toml:"to"`
}

// Where is what holds for the pieces that a pattern matches.
type Where struct {
	Path     string            `toml:"path"` // a pattern as in a .gitignore
	Profile  string            `toml:"profile"`
	Severity map[string]string `toml:"severity"`

	pattern folder.Pattern
}

// What may be said where one of some words is asked for.
var (
	failOns    = []string{"error", "warning", "never"}
	severities = append(severityWords(), Off)
	formats    = []string{"text", "html", "pdf", "svg"}
)

// Off is what a rule has for a severity that is not told at all.
const Off = "off"

// A Problem is one thing that is wrong with a file. Line and Column count from
// 1, Column in characters.
type Problem struct {
	File         string
	Line, Column int
	Message      string
}

func (p Problem) Error() string {
	return fmt.Sprintf("%s:%d:%d: %s", p.File, p.Line, p.Column, p.Message)
}

// Parse reads the text of a file. The settings are never nil: what is wrong is
// left out of them.
func Parse(file, text string) (*Settings, []Problem) {
	r := &reader{file: file, text: text}
	s := &Settings{}
	d := toml.NewDecoder(strings.NewReader(text))
	d.DisallowUnknownFields()
	err := d.Decode(s)
	var strict *toml.StrictMissingError
	var wrong *toml.DecodeError
	switch {
	case errors.As(err, &strict):
		for i := range strict.Errors {
			r.unknown(&strict.Errors[i])
		}
	case errors.As(err, &wrong):
		line, column := wrong.Position()
		r.problems = append(r.problems, Problem{file, line, column, plainly(wrong.Error())})
	case err != nil:
		r.problems = append(r.problems, Problem{file, 1, 1, plainly(err.Error())})
	}
	r.check(s)
	slices.SortStableFunc(r.problems, func(a, b Problem) int { return a.Line - b.Line })
	return s, r.problems
}

// plainly is a message of the TOML library without its own name.
func plainly(text string) string { return strings.TrimPrefix(text, "toml: ") }

// A reader says what is wrong with a file, and where.
type reader struct {
	file, text string
	problems   []Problem
}

// unknown is a key that means nothing.
func (r *reader) unknown(e *toml.DecodeError) {
	line, column := e.Position()
	key := e.Key()
	name := key[len(key)-1]
	message := fmt.Sprintf("there is no setting %q here", strings.Join(key, "."))
	if near := syntax.Nearest(name, keysOf(key[:len(key)-1])); near != "" {
		message += fmt.Sprintf("; did you mean %q?", near)
	}
	r.problems = append(r.problems, Problem{r.file, line, column, message})
}

// at puts a problem where a text stands in the file, in the quotes of a value
// or as a key.
func (r *reader) at(text, format string, args ...any) {
	line, column := 1, 1
	for i, l := range strings.Split(r.text, "\n") {
		for _, form := range []string{`"` + text + `"`, "'" + text + "'", text + " =", text + "="} {
			if k := strings.Index(l, form); k >= 0 && !strings.HasPrefix(strings.TrimSpace(l), "#") {
				line, column = i+1, len([]rune(l[:k]))+1
				r.problems = append(r.problems, Problem{r.file, line, column, fmt.Sprintf(format, args...)})
				return
			}
		}
	}
	r.problems = append(r.problems, Problem{r.file, line, column, fmt.Sprintf(format, args...)})
}

// oneOf says what a setting may be, where it is none of that, and takes it
// out.
func (r *reader) oneOf(what string, value *string, words []string) {
	if *value == "" || slices.Contains(words, *value) {
		return
	}
	r.at(*value, "%s is %s, not %q%s", what, alternatives(words), *value, didYouMean(*value, words))
	*value = ""
}

func didYouMean(word string, words []string) string {
	if near := syntax.Nearest(word, words); near != "" {
		return fmt.Sprintf("; did you mean %q?", near)
	}
	return ""
}

func alternatives(words []string) string {
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

func (r *reader) check(s *Settings) {
	r.oneOf("profile", &s.Profile, body.ProfileNames())
	r.oneOf("check.fail-on", &s.Check.FailOn, failOns)
	r.oneOf("sheet.paper", &s.Sheet.Paper, paperNames())
	r.oneOf("sheet.for", &s.Sheet.For, sheet.Distances())
	r.oneOf("sheet.to", &s.Sheet.To, formats)
	s.include = r.patterns("include", s.Check.Include)
	s.exclude = r.patterns("exclude", s.Check.Exclude)
	r.severity(s.Severity)
	s.Use = r.within("use", s.Use)
	if b := r.within("baseline", []string{s.Check.Baseline}); s.Check.Baseline != "" && len(b) == 0 {
		s.Check.Baseline = ""
	}
	var where []Where
	for _, w := range s.Where {
		r.oneOf("profile", &w.Profile, body.ProfileNames())
		r.severity(w.Severity)
		p, err := folder.ParsePattern(w.Path)
		if err != nil {
			r.at(w.Path, "path: %s", err)
			continue
		}
		w.pattern = p
		where = append(where, w)
	}
	s.Where = where
}

func (r *reader) patterns(what string, lines []string) (out []folder.Pattern) {
	for _, line := range lines {
		p, err := folder.ParsePattern(line)
		if err != nil {
			r.at(line, "%s: %s", what, err)
			continue
		}
		out = append(out, p)
	}
	return out
}

// within takes out what leads out of the folder.
func (r *reader) within(what string, files []string) (out []string) {
	for _, f := range files {
		if f == "" {
			continue
		}
		if path.IsAbs(f) || filepath.IsAbs(f) || !filepath.IsLocal(filepath.FromSlash(f)) {
			r.at(f, "%s: %q lies outside the folder of this file", what, f)
			continue
		}
		out = append(out, path.Clean(filepath.ToSlash(f)))
	}
	return out
}

func (r *reader) severity(of map[string]string) {
	for _, rule := range slices.Sorted(maps.Keys(of)) {
		if check.RuleNamed(rule) == nil {
			r.at(rule, "severity: there is no rule %q%s", rule, didYouMean(rule, ruleNames()))
			delete(of, rule)
			continue
		}
		if slices.Contains(always, rule) {
			r.at(rule, "severity: %s always is an error", rule)
			delete(of, rule)
			continue
		}
		if !slices.Contains(severities, of[rule]) {
			r.at(rule, "severity: %s is %s, not %q", rule, alternatives(severities), of[rule])
			delete(of, rule)
		}
	}
}

// always are the rules whose severity nobody changes: without what they find,
// nothing else that is found can be trusted.
var always = []string{"internal", "syntax"}

func paperNames() (names []string) {
	for _, p := range sheet.Papers() {
		names = append(names, p.Name)
	}
	return names
}

// ruleNames are the names of all rules.
func ruleNames() (names []string) {
	for _, rule := range check.Rules() {
		names = append(names, rule.Name)
	}
	return names
}

// Above is the file that holds for a folder: the one in it, or in the nearest
// folder above it that has one. Nothing is looked for above a folder that is
// the top of a repository, or a person's own, or the one that top names. Empty
// is none.
func Above(dir, top string) string {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return ""
	}
	home, _ := os.UserHomeDir()
	for {
		file := filepath.Join(dir, FileName)
		if info, err := os.Lstat(file); err == nil && info.Mode().IsRegular() {
			return file
		}
		_, err := os.Lstat(filepath.Join(dir, ".git"))
		up := filepath.Dir(dir)
		if err == nil || dir == home || dir == top || up == dir {
			return ""
		}
		dir = up
	}
}

// Read reads a file from the disk.
func Read(file string) (*Settings, []Problem, error) {
	info, err := os.Lstat(file)
	switch {
	case err != nil:
		return nil, nil, err
	case !info.Mode().IsRegular():
		return nil, nil, &fs.PathError{Op: "read", Path: file, Err: errors.New("it is not a file")}
	case info.Size() > maxFile:
		return nil, nil, &fs.PathError{Op: "read", Path: file, Err: fmt.Errorf("larger than the %d MiB that are read", maxFile>>20)}
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, nil, err
	}
	s, problems := Parse(file, string(text))
	if s.Dir, err = filepath.Abs(filepath.Dir(file)); err != nil {
		return nil, nil, err
	}
	return s, problems, nil
}

// Meant says whether a file of the folder is one that is checked.
func (s *Settings) Meant(file string) bool {
	if len(s.include) == 0 && len(s.exclude) == 0 {
		return true
	}
	name, ok := s.named(file)
	if !ok {
		return true
	}
	return (len(s.include) == 0 || folder.Decide(s.include, name)) && !folder.Decide(s.exclude, name)
}

// named is what a file is called from the folder of the settings.
func (s *Settings) named(file string) (string, bool) {
	if s.Dir == "" {
		return "", false
	}
	abs, err := filepath.Abs(file)
	if err != nil {
		return "", false
	}
	return folder.Inside(s.Dir, abs)
}

// ProfileOf is the profile that players of a piece have who say none.
func (s *Settings) ProfileOf(file string) string {
	profile := s.Profile
	s.each(file, func(w *Where) {
		if w.Profile != "" {
			profile = w.Profile
		}
	})
	return profile
}

// SeveritiesOf are those of the rules that have others than their own in a
// piece; nil if there are none.
func (s *Settings) SeveritiesOf(file string) Severities {
	var out Severities
	take := func(of map[string]string) {
		for rule, severity := range of {
			if out == nil {
				out = Severities{}
			}
			out[rule] = severity
		}
	}
	take(s.Severity)
	s.each(file, func(w *Where) { take(w.Severity) })
	return out
}

func (s *Settings) each(file string, visit func(*Where)) {
	if len(s.Where) == 0 {
		return
	}
	name, ok := s.named(file)
	if !ok {
		return
	}
	for i := range s.Where {
		if s.Where[i].pattern.MatchesBelow(name) {
			visit(&s.Where[i])
		}
	}
}

// Shared are the files that a piece uses without saying so, named from the
// folder of the settings.
func (s *Settings) Shared(file string) []string {
	name, ok := s.named(file)
	if !ok || slices.Contains(s.Use, name) {
		return nil // one of them: it would use itself
	}
	return s.Use
}

// Severities are words by the names of rules.
type Severities map[string]string

// Of is the severity that a finding is told with; told is false if it is not
// told. A failure of the program always is what it is.
func (s Severities) Of(f *check.Finding) (severity check.Severity, told bool) {
	word, ok := s[f.Rule.Name]
	if !ok {
		return f.Severity, true
	}
	severity, ok = SeverityNamed(word)
	return severity, ok
}

// SeverityNamed is the severity of a word; not ok for off, and for any other.
func SeverityNamed(word string) (check.Severity, bool) {
	at := slices.Index(severityWords(), word)
	return check.Severity(max(at, 0)), at >= 0
}

// severityWords are those that findings have, the worst first.
func severityWords() (words []string) {
	for s := check.Error; s <= check.Info; s++ {
		words = append(words, s.String())
	}
	return words
}
