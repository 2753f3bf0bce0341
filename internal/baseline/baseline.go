// Package baseline tells what is new from what was there already.
//
// In comes a list of findings that was written earlier, and the findings of a
// piece as they are now. Out come those that are new, and those that no longer
// happen. A finding is known again by what it is about and by the text of its
// line, so that lines around it may come, go and change. The package never
// touches a file, and never judges a finding.
package baseline

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// An Entry is one finding, as it is kept.
type Entry struct {
	File        string `json:"file"` // that was checked, with slashes, from the list's own folder
	Rule        string `json:"rule"`
	Place       string `json:"place,omitempty"` // bar and count
	Fingerprint string `json:"fingerprint"`
}

func (e Entry) String() string {
	if e.Place == "" {
		return e.File + ": " + e.Rule
	}
	return e.File + ": " + e.Rule + " at " + e.Place
}

// A List is what was found at some time.
type List struct {
	entries map[string][]Entry // by file
}

// New is a list of entries.
func New(entries []Entry) *List {
	l := &List{entries: map[string][]Entry{}}
	for _, e := range entries {
		l.entries[e.File] = append(l.entries[e.File], e)
	}
	return l
}

const version = 1

type document struct {
	Version  int     `json:"handful baseline"`
	Findings []Entry `json:"findings"`
}

// Parse reads a list. An error says where it stands, as in 3:14: …
func Parse(text string) (*List, error) {
	if !utf8.ValidString(text) {
		return nil, errors.New("this is no baseline: it is not UTF-8 text")
	}
	dec := json.NewDecoder(strings.NewReader(text))
	dec.DisallowUnknownFields()
	var doc document
	if err := dec.Decode(&doc); err != nil {
		at := dec.InputOffset()
		var syntax *json.SyntaxError
		var kind *json.UnmarshalTypeError
		switch {
		case errors.As(err, &syntax):
			at = syntax.Offset - 1 // it was read already
		case errors.As(err, &kind):
			at = kind.Offset
		}
		return nil, placed(text, at, "this is no baseline as --write-baseline writes it")
	}
	if doc.Version != version {
		return nil, placed(text, 0, fmt.Sprintf("this is no baseline of this version of the program: it has to begin with \"handful baseline\": %d", version))
	}
	if rest := strings.TrimSpace(text[min(len(text), int(dec.InputOffset())):]); rest != "" {
		return nil, placed(text, dec.InputOffset(), "something stands behind the end of the list")
	}
	return New(doc.Findings), nil
}

func placed(text string, at int64, what string) error {
	before := text[:max(0, min(len(text), int(at)))]
	line := strings.Count(before, "\n") + 1
	column := utf8.RuneCountInString(before[strings.LastIndexByte(before, '\n')+1:]) + 1
	return fmt.Errorf("%d:%d: %s", line, column, what)
}

// Text is the list as it is written: a line a finding, in a fixed order, so
// that two of them are easily compared.
func (l *List) Text() []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "{\"handful baseline\": %d, \"findings\": [", version)
	for i, e := range l.Entries() {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteByte('\n')
		line, _ := json.Marshal(e) // strings only: it cannot fail
		b.Write(line)
	}
	b.WriteString("\n]}\n")
	return b.Bytes()
}

// Entries are all of the list, in a fixed order.
func (l *List) Entries() []Entry {
	var out []Entry
	for _, of := range l.entries {
		out = append(out, of...)
	}
	slices.SortFunc(out, func(a, b Entry) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Fingerprint, b.Fingerprint), cmp.Compare(a.Place, b.Place))
	})
	return out
}

// Of are the entries of a file.
func (l *List) Of(file string) []Entry { return l.entries[file] }

// Files are those that have an entry.
func (l *List) Files() []string {
	var out []string
	for file := range l.entries {
		out = append(out, file)
	}
	slices.Sort(out)
	return out
}

// Known says of each finding of a file whether it was there already, and
// returns what is in the list and no longer happens. Of several findings with
// one fingerprint those go together first that have the same place; the others
// in their order. So one that comes to a line with three is one that is new.
func (l *List) Known(file string, now []Entry) (known []bool, gone []Entry) {
	known = make([]bool, len(now))
	was := l.entries[file]
	used := make([]bool, len(was))
	for _, exact := range []bool{true, false} {
		open := map[string][]int{} // what is left of the list
		for i, e := range was {
			if !used[i] {
				open[key(e, exact)] = append(open[key(e, exact)], i)
			}
		}
		for i, e := range now {
			if left := open[key(e, exact)]; !known[i] && len(left) > 0 {
				known[i], used[left[0]] = true, true
				open[key(e, exact)] = left[1:]
			}
		}
	}
	for i, e := range was {
		if !used[i] {
			gone = append(gone, e)
		}
	}
	return known, gone
}

func key(e Entry, exact bool) string {
	if exact {
		return e.Rule + "\x00" + e.Fingerprint + "\x00" + e.Place
	}
	return e.Rule + "\x00" + e.Fingerprint
}
