package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"example.org/handful/internal/report"
	"example.org/handful/lang/check"
	"example.org/handful/lang/words"
)

type mergeVerb struct {
	Reports []string `arg:"" name:"report" help:"Reports that check --format json has written."`
	Format  string   `enum:"text,json,jsonl,line,sarif,junit,github,gitlab" default:"text" placeholder:"text|json|jsonl|line|sarif|junit|github|gitlab" help:"As for check; text is a line a finding, and what there is in all."`
	FailOn  string   `name:"fail-on" enum:"error,warning,never" default:"error" placeholder:"error|warning|never" help:"The least finding that makes the exit code 1; error is the default."`
}

func (v *mergeVerb) Help() string {
	return `Joins the reports of parts of a library that were checked by themselves. A file that stands in several of them counts once.

  handful check . --shard 1/2 --format json >one.json
  handful check . --shard 2/2 --format json >two.json
  handful merge one.json two.json --format sarif

Exit code: 0 nothing at or above the level, 1 findings, 2 something could not be read, here or when the reports were made.`
}

// reports are what several runs have found, as one.
type reports struct {
	Files    []report.File
	Troubles []string
}

func (v *mergeVerb) Run(s *streams) error {
	all, err := v.read(s)
	if err != nil {
		return err
	}
	s.troubles = all.Troubles
	how := &checkVerb{Format: v.Format, FailOn: v.FailOn}
	if v.Format == "text" {
		err = v.tell(s, all)
	} else {
		err = put(how, s, all)
	}
	if err != nil {
		return err
	}
	if len(all.Troubles) > 0 {
		return exitCode(exitFailed)
	}
	for i := range all.Files {
		for k := range all.Files[i].Findings {
			switch f := &all.Files[i].Findings[k]; {
			case f.Rule == report.Internal:
				return exitCode(exitFailed)
			case how.counts(f.Severity):
				return exitCode(exitFindings)
			}
		}
	}
	return nil
}

// put writes what was read in a format for programs.
func put(how *checkVerb, s *streams, all *reports) error {
	form, to := how.form(s.out, true, s)
	pages := make([]page, len(all.Files))
	for i := range all.Files {
		pages[i].json = all.Files[i]
		if err := form.next(to, &pages[i]); err != nil {
			return err
		}
	}
	return form.all(to, pages)
}

// read reads the reports. Files are in the order of their names.
func (v *mergeVerb) read(s *streams) (*reports, error) {
	all := &reports{}
	at := map[string]int{}
	for _, name := range v.Reports {
		text, err := readFile(name)
		if err != nil {
			return nil, err
		}
		one, err := parseReport(text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		for _, f := range one.Files {
			if k, had := at[f.Path]; had {
				all.Files[k] = f
				continue
			}
			at[f.Path] = len(all.Files)
			all.Files = append(all.Files, f)
		}
		for _, t := range one.Troubles {
			if !slices.Contains(all.Troubles, t) {
				all.Troubles = append(all.Troubles, t)
			}
		}
	}
	slices.SortStableFunc(all.Files, func(a, b report.File) int { return strings.Compare(a.Path, b.Path) })
	return all, nil
}

// parseReport reads what check --format json has written, whole.
func parseReport(text string) (*reports, error) {
	var read struct {
		Files    *[]report.File `json:"files"`
		Troubles []string       `json:"troubles"`
	}
	d := json.NewDecoder(strings.NewReader(text))
	if err := d.Decode(&read); err != nil {
		return nil, fmt.Errorf("this is no whole report of  handful check --format json: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) || read.Files == nil {
		return nil, errors.New("this is no report of  handful check --format json")
	}
	for i := range *read.Files {
		for k := range (*read.Files)[i].Findings {
			if f := &(*read.Files)[i].Findings[k]; check.RuleNamed(f.Rule) == nil && f.Rule != report.Internal {
				return nil, fmt.Errorf("there is no rule %q: this report is of another version", f.Rule)
			}
		}
	}
	return &reports{Files: *read.Files, Troubles: read.Troubles}, nil
}

// tell says what is in the reports, to people.
func (v *mergeVerb) tell(s *streams, all *reports) error {
	by := map[string]int{}
	for i := range all.Files {
		for _, line := range report.Lines(&all.Files[i]) {
			fmt.Fprintln(s.out, clean(line))
		}
		for _, f := range all.Files[i].Findings {
			by[f.Severity]++
		}
	}
	for _, t := range all.Troubles {
		fmt.Fprintf(s.out, "not checked: %s\n", clean(t))
	}
	_, err := fmt.Fprintf(s.out, "%s of %s: %s, %s, %s, %d info\n", words.Count(len(v.Reports), "report", "reports"), words.Count(len(all.Files), "file", "files"),
		words.Count(by["error"], "error", "errors"), words.Count(by["warning"], "warning", "warnings"), words.Count(by["compromise"], "compromise", "compromises"), by["info"])
	return err
}
