package main

import (
	"bufio"
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/check"
	"example.org/handful/lang/guide"
	"example.org/handful/lang/kit"
)

type explainVerb struct {
	Rule string `arg:"" optional:"" help:"The rule's name; without one, every rule in a line."`
}

func (v *explainVerb) Run(s *streams) error {
	out := bufio.NewWriter(s.out)
	rules := check.Rules()
	slices.SortFunc(rules, func(a, b *check.Rule) int { return strings.Compare(a.Name, b.Name) })
	if v.Rule == "" {
		width := 0
		for _, r := range rules {
			width = max(width, len(r.Name))
		}
		for _, r := range rules {
			fmt.Fprintf(out, "%-*s  %-7s  %s\n", width, r.Name, letters(r), r.Finds)
		}
		fmt.Fprintln(out, "\nE error  W warning  C compromise  I info")
		return out.Flush()
	}
	i := slices.IndexFunc(rules, func(r *check.Rule) bool { return r.Name == v.Rule })
	if i < 0 {
		var names []string
		for _, r := range rules {
			names = append(names, r.Name)
		}
		return unknown("rule", v.Rule, names, "handful explain")
	}
	out.WriteString(guide.Explained(rules[i]))
	return out.Flush()
}

// unknown says that nothing goes by a name, and what is close or where to look.
func unknown(what, name string, names []string, list string) error {
	if near := kit.Meant(strings.ReplaceAll(name, " ", "-"), names); len(near) > 0 {
		return fmt.Errorf("there is no %s called %s; did you mean %s?", what, name, strings.Join(near, " or "))
	}
	return fmt.Errorf("there is no %s called %s;  %s  lists them all", what, name, list)
}

func letters(r *check.Rule) string {
	var out []string
	for _, s := range r.Severities {
		out = append(out, strings.ToUpper(s.String()[:1]))
	}
	return strings.Join(out, "/")
}
