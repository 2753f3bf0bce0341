package check_test

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// A rule's marker file is testdata/RULE.txtar. Its sections are pieces, and
// what is to be found stands under the line that it is found on:
//
//	R triangle clipped with triangle-beater | 3&
//	#^ error short-change 1.3& "has 0.25 s"
//	#> other-hand: play the triangle with the left hand
//
// The first mark is a finding: severity, rule, place if it has one, player if
// it is somebody's, and any number of pieces of its message. The second says
// that a fix of that title is offered for the finding above it, and that the
// section NAME.other-hand.handful is the piece after it. A fix without a name
// before its title is only said to be offered, and "#> no TITLE" that it is
// not; "#> nothing else" that those above it are all there are, in that order. A piece in which nothing is to be found says "#^ nothing".
//
// What is to be found is every finding of the rule and every error of any
// rule. Marks are taken out before the piece is read. Sections whose names
// begin with files/ are the folder that a piece's use lines see; in what
// stands for a file of another format "# lost: WORDS" is what of it could not
// be carried over.
//
// With -update what is missing is written: the marks of a piece that has none,
// and the sections after fixes. What already stands is never changed; where it
// is wrong the test says so, and a person mends it.
var update = flag.Bool("update", false, "write the marks that marker files lack")

// casesOfARule is how many pieces a marker file has at the least.
const casesOfARule = 6

// A mark is one thing that is to be found.
type mark struct {
	line  int // of the piece, from 0
	text  string
	parts []string // pieces of the message
	fixes []wantedFix
	exact bool // these are all that are offered, in this order
}

type wantedFix struct {
	after, title string
	not          bool
}

// A piece is a section of a marker file.
type piece struct {
	name, text string // without its marks
	marks      []mark
	marked     bool
}

var (
	quoted = regexp.MustCompile(`"((?:[^"\\]|\\.)*)"`)
	named  = regexp.MustCompile(`^([a-z0-9-]+): `)
)

// readPiece takes the marks out of a section.
func readPiece(name, data string) (p piece, err error) {
	p.name = name
	var b strings.Builder
	line := -1
	for _, text := range strings.SplitAfter(data, "\n") {
		at := strings.TrimSpace(text)
		switch {
		case strings.HasPrefix(at, "#^ "):
			p.marked = true
			if at == "#^ nothing" {
				continue
			}
			m := mark{line: max(line, 0), text: strings.TrimSpace(quoted.ReplaceAllString(at[3:], ""))}
			for _, q := range quoted.FindAllStringSubmatch(at, -1) {
				m.parts = append(m.parts, strings.NewReplacer(`\"`, `"`, `\\`, `\`).Replace(q[1]))
			}
			m.text = strings.Join(strings.Fields(m.text), " ")
			p.marks = append(p.marks, m)
		case strings.HasPrefix(at, "#> "):
			if len(p.marks) == 0 {
				return p, fmt.Errorf("%s: a fix stands under no finding: %s", name, at)
			}
			last := &p.marks[len(p.marks)-1]
			if at == "#> nothing else" {
				last.exact = true
				continue
			}
			f := wantedFix{title: at[3:]}
			if m := named.FindStringSubmatch(f.title); m != nil {
				f.after, f.title = m[1], f.title[len(m[0]):]
			} else if title, ok := strings.CutPrefix(f.title, "no "); ok {
				f.title, f.not = title, true
			}
			last.fixes = append(last.fixes, f)
		default:
			if text != "" {
				line++
			}
			b.WriteString(text)
		}
	}
	p.text = b.String()
	return p, nil
}

// markText is a finding as a mark has it, without its message.
func markText(f *check.Finding) string {
	words := []string{f.Severity.String(), f.Rule.Name}
	if f.HasPlace {
		words = append(words, f.PlaceWords())
	}
	if f.Player != "" {
		words = append(words, f.Player)
	}
	return strings.Join(words, " ")
}

// figures of a message are what a new mark takes down of it: seconds, and how
// many more places there are.
var figures = regexp.MustCompile(`\d+\.\d\d s\b|and once more|and \d+ times more`)

func markLine(f *check.Finding) string {
	s := "#^ " + markText(f)
	for _, fig := range figures.FindAllString(f.Message(), -1) {
		s += fmt.Sprintf(" %q", fig)
	}
	return s
}

// A folder holds the sections that a piece's use lines see.
type folder map[string]string

func (d folder) load(from, path string) (string, *syntax.File, error) {
	if strings.HasPrefix(path, "..") || strings.HasPrefix(path, "/") {
		return "", nil, errors.New("it is outside the folder")
	}
	text, ok := d["files/"+path]
	if !ok {
		return "", nil, errors.New("there is no such file")
	}
	f := syntax.Parse(text)
	for _, l := range f.Lines {
		if lost, ok := strings.CutPrefix(l.Text, "# lost: "); ok {
			f.Lost = append(f.Lost, lost)
		}
	}
	return path, f, nil
}

func (d folder) check(p piece) *check.Result {
	return check.Check(p.name, syntax.Parse(p.text), check.Options{Load: d.load})
}

// markerFile is a whole marker file, read.
type markerFile struct {
	rule    string
	path    string
	archive *txtar.Archive
	pieces  []piece
	folder  folder
	shown   map[string]bool // what the sections after fixes are called
}

func readMarkers(t testing.TB, path string) *markerFile {
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	m := &markerFile{rule: strings.TrimSuffix(filepath.Base(path), ".txtar"), path: path, archive: txtar.Parse(data), folder: folder{}, shown: map[string]bool{}}
	for _, f := range m.archive.Files {
		if strings.HasPrefix(f.Name, "files/") {
			m.folder[f.Name] = string(f.Data)
			continue
		}
		require.True(t, strings.HasSuffix(f.Name, ".handful"), "%s: %s is no piece and no file of the folder", path, f.Name)
		p, err := readPiece(f.Name, string(f.Data))
		require.NoError(t, err)
		for _, k := range p.marks {
			for _, w := range k.fixes {
				m.shown[w.after] = true
			}
		}
		m.pieces = append(m.pieces, p)
	}
	return m
}

func allMarkers(t testing.TB) []*markerFile {
	paths, err := filepath.Glob("testdata/*.txtar")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	var out []*markerFile
	for _, path := range paths {
		out = append(out, readMarkers(t, path))
	}
	return out
}

// cases are the pieces that are not the outcome of a fix.
func (m *markerFile) cases() []piece {
	var out []piece
	for _, p := range m.pieces {
		if strings.Count(p.name, ".") == 1 {
			out = append(out, p)
		}
	}
	return out
}

func (m *markerFile) piece(name string) *piece {
	for i := range m.pieces {
		if m.pieces[i].name == name {
			return &m.pieces[i]
		}
	}
	return nil
}

// meant are the findings that a piece's marks have to name, in their order.
func (m *markerFile) meant(r *check.Result) []*check.Finding {
	var out []*check.Finding
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Rule.Name == m.rule || f.Severity == check.Error {
			out = append(out, f)
		}
	}
	slices.SortStableFunc(out, func(a, b *check.Finding) int { return int(a.Where.Line) - int(b.Where.Line) })
	return out
}

func (k *mark) fits(f *check.Finding) bool {
	if f.Where.File != 0 || int(f.Where.Line) != k.line || markText(f) != k.text {
		return false
	}
	for _, part := range k.parts {
		if !strings.Contains(f.Message(), part) {
			return false
		}
	}
	return true
}

func TestMarkers(t *testing.T) {
	for _, m := range allMarkers(t) {
		t.Run(m.rule, func(t *testing.T) {
			rule := check.RuleNamed(m.rule)
			require.NotNil(t, rule, "no rule has that name")
			if *update {
				m.write(t)
			}
			for _, p := range m.pieces {
				t.Run(strings.TrimSuffix(p.name, ".handful"), func(t *testing.T) { m.verify(t, p) })
			}
			m.enough(t)
		})
	}
}

// Every rule that text can trip has a marker file.
func TestEveryRuleHasMarkers(t *testing.T) {
	for _, rule := range check.Rules() {
		if rule.Name == "internal" {
			continue // the program's own failing, which no text is known to bring about
		}
		_, err := os.Stat("testdata/" + rule.Name + ".txtar")
		assert.NoError(t, err, "copy that of a rule like it, give it pieces, and run the test with -update")
	}
}

// verify compares a piece's marks with what is found in it.
func (m *markerFile) verify(t *testing.T, p piece) {
	require.True(t, p.marked, "nothing says what is to be found here; -update writes it")
	r := m.folder.check(p)
	left := m.meant(r)
	for _, k := range p.marks {
		at := slices.IndexFunc(left, k.fits)
		if at < 0 {
			assert.Fail(t, fmt.Sprintf("line %d should have: %s %q", k.line+1, k.text, k.parts))
			continue
		}
		f := left[at]
		left = slices.Delete(left, at, at+1)
		m.verifyFixes(t, p, r, f, k)
	}
	for _, f := range left {
		assert.Fail(t, fmt.Sprintf("line %d: %s: %s", f.Where.Line+1, markText(f), f.Message()), "nothing says that this is to be found")
	}
}

func (m *markerFile) verifyFixes(t *testing.T, p piece, r *check.Result, f *check.Finding, k mark) {
	if len(k.fixes) == 0 && !k.exact {
		return
	}
	offered := r.Fixes(f)
	var titles []string
	for _, fix := range offered {
		titles = append(titles, fix.Title)
	}
	if k.exact {
		var all []string
		for _, w := range k.fixes {
			if !w.not {
				all = append(all, w.title)
			}
		}
		assert.Equal(t, all, titles, "what is offered, best first")
	}
	for _, w := range k.fixes {
		at := slices.Index(titles, w.title)
		if w.not {
			assert.Less(t, at, 0, "%q is offered", w.title)
			continue
		}
		if !assert.GreaterOrEqual(t, at, 0, "%q is not offered; these are: %q", w.title, titles) || w.after == "" {
			continue
		}
		text, ok := check.Apply(r.File, offered[at].Edits)
		require.True(t, ok, "%s cannot be done", w.title)
		after := m.piece(afterName(p.name, w.after))
		if assert.NotNil(t, after, "there is no section %s", afterName(p.name, w.after)) {
			assert.Equal(t, after.text, text, "the piece after %q", w.title)
		}
	}
}

func afterName(name, after string) string {
	return strings.TrimSuffix(name, ".handful") + "." + after + ".handful"
}

// enough says whether a marker file looks at its rule from all sides.
func (m *markerFile) enough(t *testing.T) {
	cases := m.cases()
	assert.GreaterOrEqual(t, len(cases), casesOfARule, "cases")
	with, without, roads := 0, 0, 0
	for _, p := range cases {
		found := slices.ContainsFunc(p.marks, func(k mark) bool { return strings.Fields(k.text)[1] == m.rule })
		if found {
			with++
		} else {
			without++
		}
		if roadMap.MatchString(p.text) {
			roads++
		}
	}
	assert.GreaterOrEqual(t, with, 2, "cases that the rule finds something in")
	assert.GreaterOrEqual(t, without, 2, "cases that it finds nothing in")
	assert.GreaterOrEqual(t, roads, 1, "cases with another road map")
}

var roadMap = regexp.MustCompile(`(?m)^(repeat|ending|vamp|order) `)

// write puts down the marks and sections that are missing.
func (m *markerFile) write(t *testing.T) {
	for i := 0; i < len(m.pieces); i++ { // sections of fixes are added on the way
		p := m.pieces[i]
		r := m.folder.check(p)
		if !p.marked {
			m.setMarks(t, &p, r)
			m.pieces[i] = p
		}
		for _, k := range p.marks {
			at := slices.IndexFunc(m.meant(r), k.fits)
			if at < 0 {
				continue
			}
			for _, w := range k.fixes {
				name := afterName(p.name, w.after)
				if w.not || w.after == "" || m.piece(name) != nil {
					continue
				}
				for _, fix := range r.Fixes(m.meant(r)[at]) {
					if text, ok := check.Apply(r.File, fix.Edits); ok && fix.Title == w.title {
						at := slices.IndexFunc(m.archive.Files, func(f txtar.File) bool { return f.Name == p.name })
						m.archive.Files = slices.Insert(m.archive.Files, at+1, txtar.File{Name: name, Data: []byte(text)})
						m.pieces = slices.Insert(m.pieces, i+1, piece{name: name, text: text})
						t.Logf("written: %s", name)
						break
					}
				}
			}
		}
	}
	data := txtar.Format(m.archive)
	if was, _ := os.ReadFile(m.path); !bytes.Equal(was, data) {
		require.NoError(t, os.WriteFile(m.path, data, 0o644))
	}
}

// setMarks gives a piece without marks those of what is found in it.
func (m *markerFile) setMarks(t *testing.T, p *piece, r *check.Result) {
	under := map[int][]string{}
	lines := strings.SplitAfter(strings.TrimSuffix(p.text, "\n"), "\n")
	lines[len(lines)-1] += "\n"
	for _, f := range m.meant(r) {
		if f.Where.File != 0 {
			continue // told by the test: a mark has no place there
		}
		var fixes []string
		if f.Rule.Name == m.rule {
			for _, fix := range r.Fixes(f) {
				after := "fixed"
				if strings.HasPrefix(fix.Title, "accept it") {
					after = "accepted"
				}
				t.Logf("%s, line %d: offered: %s", p.name, f.Where.Line+1, fix.Title)
				if !m.shown[after] {
					m.shown[after] = true
					fixes = append(fixes, "#> "+after+": "+fix.Title)
				}
			}
		}
		at := int(f.Where.Line)
		indent := ""
		if at < len(lines) {
			indent = lines[at][:len(lines[at])-len(strings.TrimLeft(lines[at], " "))]
		}
		at = min(at, len(lines)-1)
		for _, l := range append([]string{markLine(f)}, fixes...) {
			under[at] = append(under[at], indent+l+"\n")
		}
	}
	var b strings.Builder
	for i, l := range lines {
		b.WriteString(l)
		b.WriteString(strings.Join(under[i], ""))
	}
	if len(under) == 0 {
		b.WriteString("#^ nothing\n")
	}
	got, err := readPiece(p.name, b.String())
	if err != nil {
		return
	}
	*p = got
	for i := range m.archive.Files {
		if m.archive.Files[i].Name == p.name {
			m.archive.Files[i].Data = []byte(b.String())
		}
	}
}
