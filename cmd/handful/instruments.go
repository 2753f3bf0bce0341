package main

import (
	"bufio"
	"fmt"
	"strings"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

type instrumentsVerb struct {
	Name []string `arg:"" optional:"" help:"An instrument or implement: its id, its name or its abbreviation. Without one, all of them."`
}

func (v *instrumentsVerb) Run(s *streams) error {
	out := bufio.NewWriter(s.out)
	cat := kit.Standard()
	name := strings.Join(v.Name, " ")
	if name == "" {
		listInstruments(out, cat)
		return out.Flush()
	}
	found := cat.Called(name)
	if in := cat.Instrument(name); in != nil {
		found = []*kit.Instrument{in}
	}
	im := cat.Implement(name)
	if len(found) == 0 && im == nil {
		r := cat.Read(name, kit.Alone)
		found = r.Kinds
		switch {
		case r.Section:
			fmt.Fprintf(out, "%s is the percussion as a whole; the part should say which instrument\n", name)
			return out.Flush()
		case r.Together:
			fmt.Fprintf(out, "%s lists several, which are all meant:\n\n", name)
		case len(found) > 0 && r.Meanings != "":
			fmt.Fprintf(out, "%s may be more than one thing: %s\n\n", name, r.Meanings)
		}
	}
	for i, in := range found {
		if i > 0 {
			fmt.Fprintln(out)
		}
		out.WriteString(cat.Describe(in))
	}
	if im != nil {
		out.WriteString(cat.DescribeImplement(im))
	}
	if len(found) == 0 && im == nil {
		var names []string
		for _, in := range cat.Instruments() {
			names = append(names, in.ID)
		}
		for _, im := range cat.Implements() {
			names = append(names, im.ID)
		}
		return unknown("instrument or implement", name, names, "handful instruments")
	}
	return out.Flush()
}

func listInstruments(out *bufio.Writer, cat *kit.Catalogue) {
	for _, family := range syntax.Families() {
		first := true
		for _, in := range cat.Instruments() {
			if in.Family != family {
				continue
			}
			if first {
				fmt.Fprintf(out, "%s\n", family)
				first = false
			}
			fmt.Fprintf(out, "  %-34s %-44s %s\n", in.ID, in.Called, strings.Join(in.Abbrevs, "  "))
		}
		if !first {
			fmt.Fprintln(out)
		}
	}
	fmt.Fprintln(out, "implements")
	for _, im := range cat.Implements() {
		fmt.Fprintf(out, "  %-34s %s\n", im.ID, im.Called)
	}
}
