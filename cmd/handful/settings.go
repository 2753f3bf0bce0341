package main

import (
	"fmt"
	"path/filepath"

	"example.org/handful/internal/folder"
	"example.org/handful/internal/settings"
	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
)

// settingsFor are what the handful.toml says that holds for a folder: never
// nil. What is wrong with one is said once, and makes the command fail.
func (s *streams) settingsFor(dir string) *settings.Settings {
	if was, ok := s.settings[dir]; ok && filepath.IsAbs(dir) {
		return was // which is asked for with each file
	}
	if abs, err := filepath.Abs(dir); err == nil {
		dir = abs
	}
	if was, ok := s.settings[dir]; ok {
		return was
	}
	if s.settings == nil {
		s.settings = map[string]*settings.Settings{}
	}
	conf := &settings.Settings{}
	file := settings.Above(dir, "")
	switch was, ok := s.settings[file]; {
	case file == "":
	case ok:
		conf = was
	default:
		conf = s.readSettings(file)
		s.settings[file] = conf
	}
	s.settings[dir] = conf
	return conf
}

func (s *streams) readSettings(file string) *settings.Settings {
	conf, problems, err := settings.Read(file)
	if err != nil {
		s.say(err)
		s.badSettings = true
		return &settings.Settings{}
	}
	for _, p := range problems {
		if rel, err := filepath.Rel(workingFolder(), p.File); err == nil {
			p.File = rel
		}
		s.say(p)
		s.troubles = append(s.troubles, plain(p))
		s.badSettings = true
	}
	return conf
}

// checks is how a piece is read: with what its folder's settings say.
func (in *input) checks(opt score.Options, lib *folder.Library) check.Options {
	if in.conf != nil {
		opt.Profile = in.conf.ProfileOf(in.abs)
		opt.Uses = in.uses()
	}
	return check.Options{Score: opt, Load: lib.Loader(in.root, nil)}
}

// uses are the files that the piece uses without saying so, as its loader calls
// them.
func (in *input) uses() (names []string) {
	for _, name := range in.conf.Shared(in.abs) {
		abs := filepath.Join(in.conf.Dir, filepath.FromSlash(name))
		if rel, err := filepath.Rel(in.root, abs); err == nil {
			names = append(names, filepath.ToSlash(rel))
		}
	}
	return names
}

// told gives the findings the severities that the folder's settings say, and
// leaves out those that are not told.
func (c *checked) told() {
	if c.conf == nil {
		return
	}
	of := c.conf.SeveritiesOf(c.abs)
	if of == nil {
		return
	}
	c.keep(func(i int) bool {
		severity, told := of.Of(&c.result.Findings[i])
		c.result.Findings[i].Severity = severity
		return told
	})
}

// take has the settings of the folder that is worked in decide what the command
// line does not.
func (v *checkVerb) take(s *streams) error {
	dir := "."
	if len(v.Paths) == 1 && v.Paths[0] != "-" {
		dir = v.Paths[0]
		if !isFolder(dir) {
			dir = filepath.Dir(dir)
		}
	}
	conf := s.settingsFor(dir)
	if v.FailOn == "" {
		v.FailOn = conf.Check.FailOn
	}
	if v.FailOn == "" {
		v.FailOn = "error"
	}
	if conf.Check.Fixes != nil && !v.Fixes && !v.NoFixes {
		v.Fixes, v.NoFixes = *conf.Check.Fixes, !*conf.Check.Fixes
	}
	if v.Baseline == "" && v.WriteBaseline == "" && conf.Check.Baseline != "" && !v.NoBaseline {
		v.Baseline = filepath.Join(conf.Dir, filepath.FromSlash(conf.Check.Baseline))
		if rel, err := filepath.Rel(workingFolder(), v.Baseline); err == nil {
			v.Baseline = rel
		}
	}
	if v.NoBaseline && (v.Baseline != "" || v.WriteBaseline != "") {
		return fmt.Errorf("--no-baseline leaves out the list that the settings name: leave out --baseline and --write-baseline, or it")
	}
	return nil
}
