// Package report writes what was found for other programs, in the formats that
// they read.
//
// In come the files that were checked, each with its findings and their places.
// Out comes text: SARIF, JUnit's XML, annotations of a build service, a code
// quality report, a line a finding, a line of JSON a finding. The package never
// checks, reads or judges anything, and never looks at a clock.
package report

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"example.org/handful/lang/score"
)

// The shapes of the JSON report. Lines and columns count from 1, columns in
// characters; ends are not included; seconds are seconds.
type (
	// File is one file that was checked.
	File struct {
		Path     string         `json:"path"`
		Findings []Finding      `json:"findings"`
		Coverage score.Coverage `json:"coverage"`
		Ceiling  Ceiling        `json:"ceiling"` // of the player who sets it
		Ceilings []Ceiling      `json:"ceilings"`
	}
	// Range is a place in a text.
	Range struct {
		Line      int `json:"line"`
		Column    int `json:"column"`
		EndLine   int `json:"endLine"`
		EndColumn int `json:"endColumn"`
	}
	// Finding is one thing found.
	Finding struct {
		Rule     string `json:"rule"`
		Severity string `json:"severity"`
		Message  string `json:"message"`
		Range
		Path          string    `json:"path,omitempty"` // when the place is in a file that this one uses
		Player        string    `json:"player,omitempty"`
		Limb          string    `json:"limb,omitempty"`
		Bar           *int      `json:"bar,omitempty"`
		Printed       string    `json:"printed,omitempty"` // the bar's number in print
		Count         string    `json:"count,omitempty"`
		Pass          int       `json:"pass,omitempty"`        // the only one of several on which it is so
		NeedSeconds   *float64  `json:"needSeconds,omitempty"` // at the fastest when that is too much, else at a steady pace
		WindowSeconds *float64  `json:"windowSeconds,omitempty"`
		Fingerprint   string    `json:"fingerprint"` // the same as long as its own line stays
		Related       []Related `json:"related"`
		Fixes         []Fix     `json:"fixes"`
	}
	// Related is a place that has to do with a finding.
	Related struct {
		Path string `json:"path"`
		Range
		Message string `json:"message"`
	}
	// Fix is a set of edits of the file that was checked.
	Fix struct {
		Title     string `json:"title"`
		Judgement bool   `json:"judgement"`
		Edits     []Edit `json:"edits"`
	}
	// Edit puts a text in the place of a range.
	Edit struct {
		Range
		Text string `json:"text"`
	}
	// Ceiling is how fast a player can go.
	Ceiling struct {
		Player string `json:"player,omitempty"`
		Bound         // above which somebody cannot
		Edge   Bound  `json:"edge"` // up to which nothing is at the edge
	}
	// Bound is a tempo and what sets it.
	Bound struct {
		Factor          *float64 `json:"factor"` // of the written tempo; null: nothing limits it
		CountsPerMinute *float64 `json:"counts per minute"`
		Where           string   `json:"where,omitempty"`
		What            string   `json:"what,omitempty"` // that sets it
	}
)

// A Document is a report that is written file by file, so that not all that was
// found has to be kept. Without its end it is none. Each write is of whole
// characters.
type Document interface {
	// File writes the next of the files, with what stands before it.
	File(w io.Writer, f *File) error
	// End writes what stands behind the last. Troubles are files that could not
	// be read, each in a sentence.
	End(w io.Writer, troubles []string) error
}

// Internal is the rule of a finding that says the program itself has failed.
const Internal = "internal"

// Fingerprint tells findings apart by what they are about rather than by where
// it stands: the piece, the file of the place, the rule, who it is about and
// the text of the line. So it stays when lines around it come, go and change.
// Number makes those of one file different from one another.
func Fingerprint(piece, file, rule, player, limb, line string) string {
	h := sha256.New()
	for _, part := range []string{piece, file, rule, player, limb, strings.Join(strings.Fields(line), " ")} {
		fmt.Fprintf(h, "%d:%s\n", len(part), part)
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// Number gives findings of one file with one fingerprint each a number behind
// it, from the second on.
func Number(findings []Finding) {
	seen := map[string]int{}
	for i := range findings {
		f := &findings[i]
		if seen[f.Fingerprint]++; seen[f.Fingerprint] > 1 {
			f.Fingerprint += fmt.Sprintf("-%d", seen[f.Fingerprint])
		}
	}
}

// path is where a finding stands, with slashes.
func (f *Finding) path(in *File) string {
	p := f.Path
	if p == "" {
		p = in.Path
	}
	return filepath.ToSlash(p)
}

// text is the message with its place in the music.
func (f *Finding) text() string {
	if f.Bar == nil {
		return f.Message
	}
	print := ""
	if f.Printed != "" && f.Printed != fmt.Sprint(*f.Bar) {
		print = fmt.Sprintf(" (in print %s)", f.Printed)
	}
	return fmt.Sprintf("bar %d%s, count %s: %s", *f.Bar, print, f.Count, f.Message)
}
