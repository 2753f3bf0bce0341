package guide

import (
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
)

// An Entry is something that the handbook has a page about.
type Entry struct {
	Kind string // topic, rule, instrument or implement
	Name string // what it is asked for by
	Says string // what it is, in a line
	text func() string
}

// Text is the page for a terminal.
func (e *Entry) Text() string { return e.text() }

// Entries is everything there is a page about: the topics, then the rules, the
// instruments and the implements, each in the order of their names.
func Entries() []Entry {
	var out []Entry
	for _, t := range Topics() {
		out = append(out, Entry{"topic", t.Name, t.Title + ": " + t.Says, t.Text})
	}
	for _, r := range check.Rules() {
		out = append(out, Entry{"rule", r.Name, "finds " + r.Finds, func() string { return Explained(r) }})
	}
	cat := kit.Standard()
	for _, in := range cat.Instruments() {
		out = append(out, Entry{"instrument", in.ID, in.Called + ", " + in.Family, func() string { return cat.Describe(in) }})
	}
	for _, im := range cat.Implements() {
		out = append(out, Entry{"implement", im.ID, im.Called, func() string { return cat.DescribeImplement(im) }})
	}
	return out
}
