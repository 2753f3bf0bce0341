package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
	"strings"

	"example.org/handful/internal/baseline"
	"example.org/handful/internal/cache"
	"example.org/handful/internal/folder"
	"example.org/handful/internal/report"
	"example.org/handful/lang/check"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

type checkVerb struct {
	Paths         []string `arg:"" optional:"" name:"path" help:"Files, folders (every .handful file below), or - for standard input. Without one, this folder."`
	Format        string   `enum:"text,json,jsonl,line,sarif,junit,github,gitlab" default:"text" placeholder:"text|json|jsonl|line|sarif|junit|github|gitlab" help:"text for people (the default); json, jsonl (a line a finding), line (file:line:column), sarif and junit for programs; github and gitlab for what they show beside a change."`
	FailOn        string   `name:"fail-on" enum:",error,warning,never" default:"" placeholder:"error|warning|never" help:"The least finding that makes the exit code 1; error is the default."`
	Tempo         string   `placeholder:"110%" help:"What if it goes at this much of the written tempo?"`
	Without       []string `sep:"none" placeholder:"NAME" help:"What if this player is not there? May be given again."`
	Fix           bool     `help:"Make the proven fixes that need no judgement, then check."`
	Fixes         bool     `xor:"fixes" help:"Look for fixes of all that is found. Without it, a report for people has those that are found soon, and one for programs none."`
	NoFixes       bool     `name:"no-fixes" xor:"fixes" help:"Do not look for fixes."`
	Include       []string `sep:"none" placeholder:"PATTERN" help:"Of folders, only the files that this matches, as in a .gitignore, seen from this folder. May be given again."`
	Exclude       []string `sep:"none" placeholder:"PATTERN" help:"Of folders, not the files or folders that this matches. May be given again."`
	Baseline      string   `placeholder:"FILE" help:"Report only what is not in this list of what was found earlier."`
	WriteBaseline string   `name:"write-baseline" placeholder:"FILE" help:"Write that list as things are now, instead of a report."`
	NoBaseline    bool     `name:"no-baseline" help:"Report everything, also where the settings name such a list."`
	ChangedSince  string   `name:"changed-since" placeholder:"REV" help:"Only files that are not as they were at this revision of their git repository, and those that use such a file."`
	Shard         string   `placeholder:"2/8" help:"Only this part of as many about equally large ones, which the others agree on; handful merge joins their reports."`
	Ignored       bool     `help:"Of folders, also what a .gitignore passes over."`
	NoCache       bool     `name:"no-cache" help:"Check everything anew, and keep nothing of it. Otherwise what was found in several files is kept for the next run, in HANDFUL_CACHE or your own cache folder."`
}

func (v *checkVerb) Help() string {
	return `Errors cannot be played, or lose something written. Warnings can, at a price or a risk. Compromises cost sound.

  handful check show.handful                 one file
  handful check . --fail-on warning          a whole library, as a gate
  handful check . --exclude drafts/          all but what is in folders of that name
  handful check show.handful --tempo 110%    would it still work a little faster?
  handful check show.handful --without Nell  what is lost when Nell is ill?

Exit code: 0 nothing at or above the level, 1 findings, 2 something could not be read, written or done, or there was nothing to check, 130 interrupted.`
}

// checked is one file with what was found in it.
type checked struct {
	input
	result   *check.Result
	fixes    [][]check.Fix // one list for each finding; nil when none were sought
	ceilings []check.Ceiling
	known    []bool // for each finding, whether it is in the baseline; nil without one
}

func (v *checkVerb) Run(s *streams) error {
	if err := v.take(s); err != nil {
		return err
	}
	opt, err := v.supposed()
	if err != nil {
		return err
	}
	choice, err := v.choice()
	if err != nil {
		return err
	}
	known, err := v.ledger(s)
	if err != nil {
		return err
	}
	if !v.NoCache && v.many() {
		s.store = openCache()
		if !v.Fix {
			s.seen = newSightings(s.store)
		}
	}
	pick, err := v.pick()
	if err != nil {
		return err
	}
	inputs, failed := gatherSome(v.Paths, choice, s, choosing{pick: pick, later: !v.Fix})
	failed = failed || s.badSettings
	if s.interrupted() {
		return unfinished{"not every file was read, and nothing is answered"}
	}
	to := s.out
	if v.Fix {
		failed = fixAll(inputs, s) || failed
		if slices.ContainsFunc(inputs, func(in input) bool { return in.path == "-" }) {
			to = s.err // the fixed text goes to standard output
		}
	}
	form, told := v.form(to, len(inputs) > 1, s)
	writes := known != nil && known.write != nil
	telling := &telling{form: form, to: told, held: len(v.Without) > 0 || writes, progress: s.progress(len(inputs))}
	how := checking{Options: opt, fixes: v.seeks(writes), known: known, seen: s.seen}
	how.memory = s.memory(len(inputs), how, form)
	pages := checkAll(s.ctx, inputs, how, form, telling.next)
	telling.progress.end()
	s.seen.keep()
	s.store.Close()
	pages = slices.DeleteFunc(pages, func(p page) bool {
		if p.err != nil {
			s.say(p.err)
			s.troubles, failed = append(s.troubles, plain(p.err)), true
		}
		return p.err != nil
	})
	switch {
	case s.interrupted() && writes:
		return unfinished{"no list was written"}
	case s.interrupted():
		return telling.early(pages)
	}
	if err := v.everybodyIsThere(pages); err != nil {
		return err
	}
	if writes {
		return v.renew(known, s, pages, failed)
	}
	if err := telling.all(pages); err != nil {
		return err
	}
	if known != nil {
		known.tellGone(s, v.Baseline, pages)
	}
	switch {
	case anyFault(pages, s) || failed:
		return exitCode(exitFailed)
	case v.fails(pages):
		return exitCode(exitFindings)
	}
	return nil
}

// many says whether there may be so many files that something is kept.
func (v *checkVerb) many() bool {
	return len(v.Paths) != 1 || v.Paths[0] != "-" && isFolder(v.Paths[0])
}

// seeks is how far fixes are looked for.
func (v *checkVerb) seeks(writes bool) seeking {
	switch {
	case v.NoFixes || writes || !showFixes[v.Format]:
		return noFixes
	case v.Fixes:
		return allFixes
	case v.Format == "text":
		return soonFixes
	}
	return noFixes
}

// showFixes are the formats that have them.
var showFixes = map[string]bool{"text": true, "json": true, "jsonl": true, "sarif": true}

// supposed is how the piece is read: at another tempo, or without somebody.
func (v *checkVerb) supposed() (score.Options, error) {
	opt := score.Options{TempoFactor: 1, Without: v.Without}
	if v.Tempo != "" {
		factor, err := score.ParseTempoFactor(v.Tempo)
		if err != nil {
			return opt, fmt.Errorf("--tempo %w", err)
		}
		opt.TempoFactor = factor
	}
	if v.Fix && (v.Tempo != "" || len(v.Without) > 0) {
		return opt, fmt.Errorf("--fix works on the piece as it is written: leave out --tempo and --without")
	}
	return opt, nil
}

// anyFault says whether a rule broke down anywhere, and where.
func anyFault(pages []page, s *streams) (any bool) {
	for _, p := range pages {
		for _, fault := range p.faults {
			s.trace(fault)
			any = true
		}
	}
	return any
}

// whatIf says what was supposed, so that no report is taken for another.
func (v *checkVerb) whatIf() string {
	var parts []string
	if v.Tempo != "" {
		parts = append(parts, "at "+v.Tempo+" of the written tempo")
	}
	if len(v.Without) > 0 {
		parts = append(parts, "without "+strings.Join(v.Without, " and "))
	}
	return strings.Join(parts, ", ")
}

func (v *checkVerb) fails(pages []page) bool {
	for _, p := range pages {
		if p.by[check.Error] > 0 && v.FailOn != "never" || p.by[check.Warning] > 0 && v.FailOn == "warning" {
			return true
		}
	}
	return false
}

// everybodyIsThere says which players of --without are in no file.
func (v *checkVerb) everybodyIsThere(pages []page) error {
	if len(v.Without) == 0 || len(pages) == 0 {
		return nil
	}
	var players []string
	for _, p := range pages {
		players = append(players, p.names...)
	}
	for _, name := range v.Without {
		if slices.Contains(players, name) {
			continue
		}
		if near := syntax.Nearest(name, players); near != "" {
			return fmt.Errorf("no player is called %s in what was read; did you mean %s?", name, near)
		}
		return fmt.Errorf("no player is called %s in what was read", name)
	}
	return nil
}

// A page is what the report needs of one file: small beside what was worked
// out to find it.
type page struct {
	findings []byte      // as text
	ceilings []byte      // as text
	json     report.File // or for programs
	names    []string    // of the players in the file's text
	bars     int
	players  int
	strokes  int
	by       [4]int // findings by severity
	accepted int
	coverage score.Coverage
	faults   []*check.Fault
	done     bool // the check of it was not interrupted
	told     bool
	unsought int              // findings whose fixes were not looked for, though they might have been
	known    int              // findings that are in the baseline
	called   string           // what the piece is called there
	now      []baseline.Entry // what there is to say of it
	gone     []baseline.Entry // what no longer happens
	sought   sought
	err      error // it could not be read any more
}

// sought is how fixes of a file were looked for.
type sought struct {
	order  int // findings that fixes could be looked for of
	cost   int // of a trial
	budget int // trials that there were means for
	tried  int
}

// passedOver is the budget of a file that no fixes were looked for in.
const passedOver = -1

// within is how many trials there are means for when a file's turn has come.
func (s sought) within(turn job) int {
	trials := turn.purse.draw(turn.file) / s.cost
	if trials == 0 && turn.file > 0 {
		return passedOver
	}
	return trials
}

// checking is how files are checked.
type checking struct {
	score.Options
	fixes seeking
	known *ledger // what was there already; nil if that is not asked
	seen  *sightings
	*memory
}

// seeking is how far fixes are looked for.
type seeking int

const (
	noFixes   seeking = iota
	soonFixes         // of what comes first, within what a run may spend on it
	allFixes
)

// job is a file's turn in a run.
type job struct {
	file  int
	purse *purse // nil where none is drawn on
	known *syntax.Known
	rooms *motion.Rooms
	room  *check.Room // for one after the other; nil where there is but one
}

func checkOne(ctx context.Context, in input, lib *folder.Library, how checking, form form, turn job) page {
	if how.memory == nil || in.path == "-" || in.sum == (contentSum{}) {
		if err := in.load(how.seen); err != nil {
			turn.purse.settle(turn.file, 0)
			return page{err: err, done: true}
		}
	}
	if how.memory == nil || in.path == "-" {
		return checkAnew(ctx, in, in.checks(how.Options, lib), how, form, turn)
	}
	var key cache.Key
	var p page
	var ok bool
	if check.Contained(func() {
		key = how.key(&in, how.known)
		p, ok = how.recall(key, &in, lib, how.fixes, turn)
	}) == nil && ok {
		turn.purse.settle(turn.file, 0) // unless it is done
		return p
	}
	if in.unread {
		if err := in.load(how.seen); err != nil {
			turn.purse.settle(turn.file, 0)
			return page{err: err, done: true}
		}
		check.Contained(func() { key = how.key(&in, how.known) }) // if it is another by now
	}
	opt := in.checks(how.Options, lib)
	load, used := noting(opt.Load, in.root, lib)
	opt.Load = load
	p = checkAnew(ctx, in, opt, how, form, turn)
	if p.done && len(p.faults) == 0 {
		how.keep(key, &p, used())
	}
	return p
}

func checkAnew(ctx context.Context, in input, opt check.Options, how checking, form form, turn job) page {
	c := checked{input: in}
	var fixing sought
	defer turn.purse.settle(turn.file, 0) // unless it has
	opt.Stop = stopped(ctx)
	opt.Score.Remember = how.fixes == allFixes || turn.purse.any() // what is tried takes over from this check
	opt.Rooms, opt.Room = turn.rooms, turn.room
	if turn.room != nil {
		defer turn.room.Clear()
		defer turn.known.Clear()
	}
	if turn.known == nil && runtime.GOMAXPROCS(0) > 1 { // of one file there is a core left
		go check.Contained(func() { check.ReadAhead(in.text) })
	}
	c.result = checkAfter(turn.known, in, opt)
	if c.result.Stopped {
		return page{}
	}
	if turn.room != nil {
		defer c.result.Done()
	}
	var compared page
	if how.known != nil && len(c.result.Faults) == 0 {
		if fault := check.Contained(func() { c.known = how.known.compare(&c, &compared) }); fault != nil {
			c.result.Add(fault)
		}
	}
	unsought := 0
	if how.fixes != noFixes && len(c.result.Faults) == 0 {
		if fault := check.Contained(func() { fixing, unsought = c.findFixes(turn) }); fault != nil {
			c.fixes = nil
			c.result.Add(fault)
		}
	}
	turn.purse.settle(turn.file, 0)
	if fault := check.Contained(func() { c.ceilings = c.result.Ceilings() }); fault != nil {
		c.fixes = nil // they are listed in the order of the findings, which now has one more
		c.result.Add(fault)
	}
	taken := 0
	if c.known != nil && len(c.result.Faults) == 0 {
		taken = c.onlyNew(c.known)
	}
	c.told()
	var p page
	if fault := check.Contained(func() { p = c.page(form) }); fault != nil {
		c = checked{input: in, result: check.Failed(in.name, nil, fault)}
		p = c.page(form)
	}
	p.unsought, p.sought = unsought, fixing
	p.known, p.called, p.now, p.gone = taken, compared.called, compared.now, compared.gone
	p.done = ctx.Err() == nil
	return p
}

// stopped is how a check asks whether it is interrupted; nil where nothing can
// interrupt it.
func stopped(ctx context.Context) func() bool {
	if ctx.Done() == nil {
		return nil
	}
	return func() bool { return ctx.Err() != nil }
}

// page is what the report needs of what was found.
func (c *checked) page(form form) page {
	s := c.result.Score
	p := page{bars: s.Grid.Last(), players: len(s.Players), strokes: strokes(s), accepted: c.result.Accepted, faults: c.result.Faults, coverage: score.Coverage{
		Written: s.Coverage.Written, Covered: s.Coverage.Covered, Substituted: s.Coverage.Substituted, Omitted: s.Coverage.Omitted,
	}}
	for i := range c.result.Findings {
		p.by[c.result.Findings[i].Severity]++
	}
	for _, src := range s.Sources {
		for _, l := range src.File.Lines {
			if player, ok := l.Stmt.(*syntax.Player); ok {
				p.names = append(p.names, strings.Clone(player.Name.Value()))
			}
		}
	}
	form.render(c, &p)
	return p
}

// Bounds on the looking for fixes: each one tried is a whole check.
const (
	mostFixed    = 40      // findings of one file that fixes are sought for
	leastFixed   = 1       // … however long the piece is
	fixedStrokes = 200_000 // findings times strokes, between the two
)

// findFixes looks for fixes of what is told, in the order in which it is told to
// people, and says of how many findings it did not, and what it has spent.
func (c *checked) findFixes(turn job) (s sought, unsought int) {
	c.fixes = make([][]check.Fix, len(c.result.Findings))
	var order []int
	for _, i := range c.result.ByWeight() {
		if f := &c.result.Findings[i]; f.Severity != check.Compromise && (c.known == nil || !c.known[i]) {
			order = append(order, i)
		}
	}
	if len(order) == 0 {
		return s, 0
	}
	s = sought{order: len(order), cost: trialCost + strokes(c.result.Score), budget: math.MaxInt}
	if turn.purse == nil {
		order = order[:min(len(order), max(leastFixed, min(mostFixed, fixedStrokes/s.cost)))]
	} else if s.budget = s.within(turn); s.budget == passedOver {
		return s, len(order)
	}
	fixes, looked := c.result.FixesWithin(order, s.budget, func(tried int) {
		s.tried = tried
		turn.purse.settle(turn.file, tried*s.cost) // the next need not wait for the trials
	})
	for i, list := range fixes {
		c.fixes[i] = list
	}
	return s, len(order) - looked
}

// strokes is how many strokes the players of a piece have on paper.
func strokes(s *score.Score) int {
	n := 0
	for _, p := range s.Players {
		for _, cue := range p.Cues {
			n += len(cue.Strokes) + score.Chords(cue.Struck) // each note of a chord is one
		}
	}
	return n
}

// fixAll makes in every input, one after the other, the fixes that need
// nobody's judgement, and puts the fixed texts where they came from.
func fixAll(inputs []input, s *streams) (failed bool) {
	lib := folder.NewLibrary()
	for i := range inputs {
		in := &inputs[i]
		var text string
		var made int
		if fault := check.Contained(func() { text, made = fixText(s.ctx, in, lib) }); fault != nil {
			text, made = in.text, 0 // the check that follows says what is wrong
			if r := checkSafely(*in, in.checks(score.Options{}, lib)); len(r.Faults) == 0 {
				s.failed(in.path, fault)
				failed = true
			}
		}
		if s.interrupted() {
			return failed
		}
		switch {
		case in.path == "-":
			in.text = text
			if _, err := io.WriteString(s.data(), text); err != nil {
				return true // which is said when all is done
			}
		case made > 0:
			place, err := in.place(s)
			if err == nil {
				err = place.Write([]byte(text))
			}
			if err != nil {
				s.say(err)
				failed = true
				continue
			}
			in.text = text
			lib = folder.NewLibrary() // other files may use this one
			fmt.Fprintf(s.err, "%s: %s made\n", clean(in.path), words.Count(made, "fix", "fixes"))
		}
	}
	return failed
}

func fixText(ctx context.Context, in *input, lib *folder.Library) (text string, made int) {
	opt := in.checks(score.Options{}, lib)
	opt.Stop = stopped(ctx)
	return check.Check(in.name, syntax.Parse(in.text), opt).FixAll()
}
