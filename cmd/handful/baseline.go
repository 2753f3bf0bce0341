package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"

	"example.org/handful/cmd/handful/disk"
	"example.org/handful/internal/baseline"
	"example.org/handful/internal/report"
	"example.org/handful/lang/check"
	"example.org/handful/lang/words"
)

// A ledger is the baseline of a check: what was there already, and from which
// folder its files are called.
type ledger struct {
	list  *baseline.List
	dir   string
	write *disk.Place // where the new one goes; nil if none is written
}

// ledger reads the baseline that is asked for; nil if none is.
func (v *checkVerb) ledger(s *streams) (*ledger, error) {
	switch {
	case v.Baseline != "" && v.WriteBaseline != "":
		return nil, fmt.Errorf("--baseline reads a list and --write-baseline makes it anew: say one of them")
	case v.Baseline != "":
		text, err := readFile(v.Baseline)
		if errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("%s: there is no such file;  handful check --write-baseline %s  writes one", v.Baseline, v.Baseline)
		}
		if err != nil {
			return nil, err
		}
		return ledgerOf(v.Baseline, text, nil)
	case v.WriteBaseline != "":
		place, err := disk.At(s.disk, v.WriteBaseline, filepath.Dir(v.WriteBaseline))
		if err != nil {
			return nil, err
		}
		if !place.There() {
			return &ledger{baseline.New(nil), folderOf(v.WriteBaseline), place}, nil
		}
		text, err := place.Look()
		if err != nil {
			return nil, err
		}
		l, err := ledgerOf(v.WriteBaseline, string(text), place)
		if err != nil {
			return nil, fmt.Errorf("%w; it stays as it is", err)
		}
		return l, nil
	}
	return nil, nil
}

func ledgerOf(file, text string, place *disk.Place) (*ledger, error) {
	list, err := baseline.Parse(text)
	if err != nil {
		return nil, fmt.Errorf("%s:%w", file, err)
	}
	return &ledger{list, folderOf(file), place}, nil
}

func folderOf(file string) string {
	dir := filepath.Dir(file)
	if abs, err := filepath.Abs(dir); err == nil {
		return abs
	}
	return dir
}

// called is what a piece is called in the list: the same from any working
// folder.
func (l *ledger) called(in *input) string {
	if in.path == "-" {
		return in.path
	}
	rel, err := filepath.Rel(l.dir, in.abs)
	if err != nil {
		return filepath.ToSlash(in.abs)
	}
	return filepath.ToSlash(rel)
}

// print is the fingerprint of a finding in a piece. The file that it stands in
// is called from the piece.
func (c *checked) print(f *check.Finding, piece string) string {
	own, file := c.result.Score.Sources[0].Name, c.result.Score.Sources[f.Where.File].Name
	if rel, err := filepath.Rel(path.Dir(own), file); err == nil && f.Where.File != 0 {
		file = filepath.ToSlash(rel)
	} else {
		file = ""
	}
	return report.Fingerprint(piece, file, f.Rule.Name, f.Player, f.Limb, c.lineText(f.Where))
}

// compare says which findings were there already. A failure of the program
// never was.
func (l *ledger) compare(c *checked, p *page) (known []bool) {
	name := l.called(&c.input)
	now := make([]baseline.Entry, len(c.result.Findings))
	for i := range c.result.Findings {
		f := &c.result.Findings[i]
		now[i] = baseline.Entry{File: name, Rule: f.Rule.Name, Fingerprint: c.print(f, "")}
		if f.HasPlace {
			now[i].Place = fmt.Sprintf("%d.%s", f.Bar, f.Count)
		}
		if f.Rule.Name != report.Internal {
			p.now = append(p.now, now[i])
		}
	}
	known, p.gone = l.list.Known(name, now)
	for i := range now {
		known[i] = known[i] && now[i].Rule != report.Internal
	}
	p.called = name
	return known
}

// onlyNew takes out of a result, with its fixes, what is known.
func (c *checked) onlyNew(known []bool) (taken int) {
	had := len(c.result.Findings)
	c.keep(func(i int) bool { return i >= len(known) || !known[i] })
	return had - len(c.result.Findings)
}

// keep takes out of a result, with its fixes, the findings that are not kept.
func (c *checked) keep(kept func(i int) bool) {
	var findings []check.Finding
	var fixes [][]check.Fix
	for i := range c.result.Findings {
		if !kept(i) {
			continue
		}
		findings = append(findings, c.result.Findings[i])
		if c.fixes != nil {
			fixes = append(fixes, c.fixes[i])
		}
	}
	c.result.Findings = findings
	if c.fixes != nil {
		c.fixes = fixes
	}
}

// mostGone is how many findings are named that no longer happen.
const mostGone = 10

// tellGone says what is in the list and no longer happens.
func (l *ledger) tellGone(s *streams, file string, pages []page) {
	var gone []baseline.Entry
	for _, p := range pages {
		gone = append(gone, p.gone...)
	}
	if len(gone) == 0 {
		return
	}
	fmt.Fprintf(s.err, "%s: %s any more;  handful check --write-baseline %s  takes %s out\n", clean(file),
		words.Count(len(gone), "finding does not happen", "findings do not happen"), clean(file), [...]string{"it", "them"}[min(len(gone)-1, 1)])
	for _, e := range gone[:min(len(gone), mostGone)] {
		fmt.Fprintf(s.err, "  %s\n", clean(e.String()))
	}
	if len(gone) > mostGone {
		fmt.Fprintf(s.err, "  and %d more\n", len(gone)-mostGone)
	}
}

// renew writes the list as things are now. What it says of files that were not
// checked stays, as long as they are there.
func (l *ledger) renew(s *streams, file string, pages []page) error {
	var entries []baseline.Entry
	var checked []string
	gone := 0
	for _, p := range pages {
		checked = append(checked, p.called)
		entries = append(entries, p.now...)
		gone += len(p.gone)
	}
	slices.Sort(checked)
	for _, name := range l.list.Files() {
		if _, is := slices.BinarySearch(checked, name); is {
			continue
		}
		if _, err := os.Lstat(filepath.Join(l.dir, filepath.FromSlash(name))); errors.Is(err, fs.ErrNotExist) {
			gone += len(l.list.Of(name))
			continue
		}
		entries = append(entries, l.list.Of(name)...)
	}
	if err := l.write.Write(baseline.New(entries).Text()); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "%s is written: %s", clean(file), words.Count(len(entries), "finding", "findings"))
	if gone > 0 {
		fmt.Fprintf(s.out, "; %s any more and %s out", words.Count(gone, "does not happen", "do not happen"), [...]string{"is", "are"}[min(gone-1, 1)])
	}
	fmt.Fprintln(s.out)
	return nil
}

// renew ends a check that writes the list. When something could not be read or
// the program failed on a piece, what was known of that is not known now, and
// nothing is written.
func (v *checkVerb) renew(l *ledger, s *streams, pages []page, failed bool) error {
	for _, p := range pages {
		for _, fault := range p.faults {
			s.say(fmt.Errorf("%s: %s", p.called, fault.Message()))
			s.trace(fault)
			failed = true
		}
	}
	if failed {
		return fmt.Errorf("%s is not written, since not everything was checked", v.WriteBaseline)
	}
	return l.renew(s, v.WriteBaseline, pages)
}
