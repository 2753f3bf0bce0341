package main

import (
	"bufio"
	"fmt"
	"slices"
	"strings"

	"handful/lang/check"
	"handful/lang/kit"
	"handful/lang/words"
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
	explain(out, rules[i])
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

func explain(out *bufio.Writer, r *check.Rule) {
	var sev []string
	for _, s := range r.Severities {
		sev = append(sev, s.String())
	}
	fmt.Fprintf(out, "%s (%s)\n", r.Name, strings.Join(sev, ", "))
	fmt.Fprintf(out, "finds %s\n", r.Finds)
	section := func(title, text string) {
		if strings.TrimSpace(text) == "" {
			return
		}
		fmt.Fprintf(out, "\n%s\n", title)
		for _, para := range strings.Split(text, "\n\n") {
			for _, line := range words.Wrap(para, 88) {
				fmt.Fprintf(out, "  %s\n", line)
			}
		}
	}
	section("What it means", r.Means)
	section("Why it matters at the stand", r.Why)
	section("What it stands on", r.Stands)
	example := func(title, text string) {
		fmt.Fprintf(out, "\n%s\n\n", title)
		for _, line := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
			fmt.Fprintln(out, strings.TrimRight("    "+line, " "))
		}
	}
	example("This trips it", r.Trips)
	fmt.Fprintln(out)
	res := r.Example(r.Trips)
	for i := range res.Findings {
		if f := &res.Findings[i]; f.Rule == r {
			where := fmt.Sprintf("line %d", f.Where.Line+1)
			if f.HasPlace {
				where += fmt.Sprintf(", bar %d, count %s", f.Bar, f.Count)
			}
			for k, line := range words.Wrap(fmt.Sprintf("%s: %s: %s", where, f.Severity, f.Message), 88) {
				fmt.Fprintf(out, "  %s%s\n", map[bool]string{true: "→ ", false: "  "}[k == 0], line)
			}
		}
	}
	example("This does not", r.Passes)
}
