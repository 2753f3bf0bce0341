package main

import (
	"fmt"
	"strconv"
	"strings"

	"handful/lang/check"
	"handful/lang/score"
	"handful/lang/syntax"
)

type checkVerb struct {
	Paths   []string `arg:"" optional:"" name:"path" help:"Files, folders (every .handful file below), or - for standard input. Without one, this folder."`
	Format  string   `enum:"text,json" default:"text" help:"text for people, json for programs."`
	FailOn  string   `name:"fail-on" enum:"error,warning,never" default:"error" help:"The least finding that makes the exit code 1: error, warning, never."`
	Tempo   string   `placeholder:"110%" help:"What if it goes at this much of the written tempo?"`
	Without []string `placeholder:"NAME" help:"What if this player is not there? May be given again."`
	Fix     bool     `help:"Make the proven fixes that need no judgement, then check."`
	NoFixes bool     `name:"no-fixes" help:"Do not look for fixes; quicker where there is much to find."`
}

func (v *checkVerb) Help() string {
	return `Errors cannot be played, or lose something written. Warnings can, at a price or a risk. Compromises cost sound.

  handful check show.handful                 one file
  handful check . --fail-on warning          a whole library, as a gate
  handful check show.handful --tempo 110%    would it still work a little faster?
  handful check show.handful --without Nell  what is lost when Nell is ill?`
}

// checked is one file with what was found in it.
type checked struct {
	input
	result *check.Result
	fixes  [][]check.Fix // one list for each finding
}

func (v *checkVerb) Run(s *streams) error {
	opt := score.Options{Without: v.Without}
	if v.Tempo != "" {
		factor, err := parseFactor(v.Tempo)
		if err != nil {
			return err
		}
		opt.TempoFactor = factor
	}
	inputs, failed := gather(v.Paths, s)
	lib := newLibrary()
	var all []checked
	there := len(v.Without) == 0
	for _, in := range inputs {
		c := checked{input: in}
		options := check.Options{Score: opt, Load: lib.loader(in.root)}
		c.result = check.Check(in.name, syntax.Parse(in.text), options)
		for _, name := range v.Without {
			there = there || hasPlayer(c.result.File, name)
		}
		if v.Fix {
			if err := c.fix(s); err != nil {
				fmt.Fprintf(s.err, "handful: %s\n", plain(err))
				failed = true
			}
		}
		if !v.NoFixes {
			c.findFixes()
		}
		all = append(all, c)
	}
	if !there && len(all) > 0 {
		return fmt.Errorf("no player is called %s in what was read", strings.Join(v.Without, " or "))
	}
	var err error
	if v.Format == "json" {
		err = writeJSON(s.out, all)
	} else {
		out := s.out
		if v.Fix && len(all) == 1 && all[0].path == "-" {
			out = s.err // the fixed text goes to standard output
		}
		err = writeText(out, all)
	}
	switch {
	case err != nil:
		return err
	case failed:
		return exitCode(exitFailed)
	case v.fails(all):
		return exitCode(exitFindings)
	}
	return nil
}

func hasPlayer(f *syntax.File, name string) bool {
	for _, l := range f.Lines {
		if p, ok := l.Stmt.(*syntax.Player); ok && p.Name.Value() == name {
			return true
		}
	}
	return false
}

func (v *checkVerb) fails(all []checked) bool {
	for _, c := range all {
		for i := range c.result.Findings {
			sev := c.result.Findings[i].Severity
			if sev == check.Error && v.FailOn != "never" || sev == check.Warning && v.FailOn == "warning" {
				return true
			}
		}
	}
	return false
}

func parseFactor(text string) (float64, error) {
	percent := strings.HasSuffix(text, "%")
	f, err := strconv.ParseFloat(strings.TrimSuffix(text, "%"), 64)
	if percent {
		f /= 100
	}
	if err != nil || !(f >= 0.1 && f <= 10) {
		return 0, fmt.Errorf("--tempo %s: write a share of the written tempo, from 10%% to 1000%%", text)
	}
	return f, nil
}

// Bounds on the looking for fixes: each one tried is a whole check.
const (
	mostFixed    = 40 // findings of one file that fixes are sought for
	mostFixTurns = 50 // rounds of --fix
)

func (c *checked) findFixes() {
	c.fixes = make([][]check.Fix, len(c.result.Findings))
	n := 0
	for i := range c.result.Findings {
		f := &c.result.Findings[i]
		if f.Severity > check.Warning && f.Rule.Name != "unused" || n == mostFixed {
			continue
		}
		n++
		c.fixes[i] = c.result.Fixes(f)
	}
}

// fix makes, one after the other, the fixes that need nobody's judgement.
func (c *checked) fix(s *streams) error {
	made := 0
	for range mostFixTurns {
		text, ok := c.nextFix()
		if !ok {
			break
		}
		made++
		c.text = text
		c.result = check.Recheck(c.result, syntax.Reparse(text, c.result.File))
	}
	if c.path == "-" {
		_, err := fmt.Fprint(s.out, c.text)
		return err
	}
	if made == 0 {
		return nil
	}
	if err := writeAtomically(c.path, c.text); err != nil {
		return err
	}
	fmt.Fprintf(s.err, "%s: %s made\n", c.path, count(made, "fix", "fixes"))
	return nil
}

func (c *checked) nextFix() (string, bool) {
	for i := range c.result.Findings {
		f := &c.result.Findings[i]
		for _, fix := range c.result.SureFixes(f) {
			return check.Apply(c.result.File, fix.Edits)
		}
	}
	return "", false
}
