package guide

import (
	"fmt"
	"strings"

	"example.org/handful/lang/check"
)

// A Section is a part of what is said about a rule.
type Section struct{ Title, Text string }

// Sections is what is said about a rule besides its examples.
func Sections(r *check.Rule) []Section {
	var out []Section
	for _, s := range [...]Section{{"What it means", r.Means}, {"Why it matters at the stand", r.Why}, {"What it stands on", r.Stands}} {
		if strings.TrimSpace(s.Text) != "" {
			out = append(out, s)
		}
	}
	return out
}

// The titles of a rule's two examples.
const (
	tripsTitle  = "This trips it"
	passesTitle = "This does not"
)

// found is what the rule finds in the example that trips it, each with its
// place.
func found(r *check.Rule) []string {
	var out []string
	res := r.Example(r.Trips)
	for i := range res.Findings {
		if f := &res.Findings[i]; f.Rule == r {
			where := fmt.Sprintf("line %d", f.Where.Line+1)
			if f.HasPlace {
				where += ", " + f.Place()
			}
			out = append(out, fmt.Sprintf("%s: %s: %s", where, f.Severity, f.Message()))
		}
	}
	return out
}

// severities is how grave a rule's findings may be, in words.
func severities(r *check.Rule) string {
	var out []string
	for _, s := range r.Severities {
		out = append(out, s.String())
	}
	return strings.Join(out, ", ")
}

// Explained is what there is to say about a rule, for a terminal.
func Explained(r *check.Rule) string {
	out := &lines{}
	out.put("", r.Name+" ("+severities(r)+")")
	out.put("", "finds "+r.Finds)
	for _, s := range Sections(r) {
		out.put("", "")
		out.put("", s.Title)
		for _, para := range strings.Split(s.Text, "\n\n") {
			out.wrap("  ", "  ", para)
		}
	}
	example := func(title, text string) {
		out.put("", "")
		out.put("", title)
		out.put("", "")
		out.verbatim("    ", text)
	}
	example(tripsTitle, r.Trips)
	out.put("", "")
	for _, f := range found(r) {
		out.wrap("  → ", "    ", f)
	}
	example(passesTitle, r.Passes)
	return out.String()
}
