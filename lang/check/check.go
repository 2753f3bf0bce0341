// Package check finds what cannot be done, what has its price, and what is
// missing.
//
// In comes a parsed file. Out come findings, in a stable order, each with its
// place, its arithmetic in the player's words and, on request, fixes that
// have been applied in memory and checked again.
//
// Every rule is one file: its words, its finding, its fixes, the example that
// trips it and the one that does not. Rules read the score and the motions;
// they never work out times or positions of their own.
package check

import (
	"cmp"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A Severity says how bad a finding is.
type Severity uint8

const (
	Error      Severity = iota // cannot be done, or something written is lost
	Warning                    // can be done, at a price or a risk
	Compromise                 // the sound pays
	Info                       // worth knowing
)

var severityWords = [...]string{"error", "warning", "compromise", "info"}

func (s Severity) String() string { return severityWords[s] }

// A Rule is one thing that is looked for.
type Rule struct {
	Name       string
	Severities []Severity // that its findings may have, worst first
	Finds      string     // one line
	Means      string     // what it means
	Why        string     // why it matters at the stand
	Stands     string     // the table or the practice it stands on
	Trips      string     // a whole file with at least one such finding
	Passes     string     // one like it without any
	// Look goes through the piece and reports: see Context for the words.
	Look func(*Context)
	// text marks rules about the text itself, which cannot be accepted.
	text bool
	// load stands for the folder of an example that uses another file.
	load score.Loader
	// mistake is the first line of an example on which the program is made to
	// fail, for what no text can do.
	mistake string
	// last marks rules that look at what the others found.
	last bool
	// each marks rules that look at each player alone: at what they do and what they do
	// it with, and never at the parts, at somebody else or at what others found. What
	// they find, they find of a player.
	each bool
	// timeless marks rules of these that do not ask when anything is or how long it takes,
	// but only in which ways things are played and what for.
	timeless bool
}

// Example checks one of the rule's examples.
func (r *Rule) Example(text string) *Result {
	name, f := r.Name+".handful", syntax.Parse(text)
	if first, _, _ := strings.Cut(text, "\n"); r.mistake != "" && first == r.mistake {
		return Failed(name, f, Contained(func() { panic("a mistake put there for the example") }))
	}
	return Check(name, f, Options{Load: r.load})
}

// RuleNamed is the rule of that name, or nil.
func RuleNamed(name string) *Rule {
	for _, r := range Rules() {
		if r.Name == name {
			return r
		}
	}
	return nil
}

// A Finding is one thing found.
type Finding struct {
	Rule     *Rule
	Severity Severity
	syntax.About
	Where    score.Where
	Player   string
	Limb     string // in words
	Bar      int    // 0 in front of the music, or nowhere
	Count    string
	At       beat.Rat
	HasPlace bool // Bar, Count and At are set
	Pass     int  // the only one on which it is so, of several; else 0
	Need     body.Pace
	Window   float64
	Timed    bool    // Need and Window are set
	Wears    float64 // how many times as long as it can be kept up a roll lasts; 0 of all else
	Sums     []Sum
	Related  []score.Note
	// Within is what is found as well because of this and is told with it, in
	// Related: what a hand would have to do on the way to and from a moment at
	// which two things want it.
	Within  []Finding
	Times   int // how many more places are like this one
	LastBar int // the last of them

	on        uint64            // the passes on which it is so, if that is said; 0 is all
	alike     bool              // Times is said
	in        *Context          // that found it
	before    bool              // it was found in an earlier text: see inFull
	more      []beat.Rat        // where the others of Times are, if the rule says it
	clashes   []motion.Conflict // that it tells of
	notes     int               // how many of Within are in Related
	proposals []proposal
	later     []func(*Finding) // propose more, when somebody asks for fixes
	instead   []func(*Finding) // propose what plays something else, after all others
}

// Place is where in the music it is, as it is said before the message, with the
// bar's number in print where that is another: "bar 3 (in print 103), count 2".
// It is "" for what is nowhere.
func (f *Finding) Place() string {
	if !f.HasPlace {
		return ""
	}
	print := ""
	if f.in != nil {
		print = f.in.Score.InPrint(f.Bar)
	}
	return fmt.Sprintf("bar %d%s, count %s", f.Bar, print, f.Count)
}

// InPrint is the number that its bar has in print, where the piece says one.
func (f *Finding) InPrint() string {
	if !f.HasPlace || f.in == nil || len(f.in.Score.Numbers) == 0 {
		return ""
	}
	return f.in.Score.Printed(f.Bar)
}

// Message is what is found, in one sentence: of what it is about, on which
// passes it is so, and how many more places are like it.
func (f *Finding) Message() string {
	said := f.About.Message()
	if f.on != 0 {
		said += ", " + onPassWords(f.on)
	}
	if f.alike {
		said += times(f.in.Score, f.Times, f.Bar, f.LastBar)
	}
	return said
}

// A Sum is one line of a finding's arithmetic.
type Sum struct {
	Words   string
	Code    string
	Seconds body.Pace
	Source  string
}

// An Edit replaces a range of the piece's own file. Text may hold line ends.
type Edit struct {
	Line       int // from 0
	Start, End int // bytes within the line; an insertion has both equal
	Text       string
	// Whole removes the line with its line end when Text is empty.
	Whole bool
}

// A Fix is a set of edits after which the finding is gone.
type Fix struct {
	Title string
	Edits []Edit
	// Judgement says that the fix is somebody's to weigh: it changes what is
	// heard, or who does what.
	Judgement bool
}

type proposal struct {
	Fix
	rank rank
	what string // what it plays for what; one way of each is enough
}

// A rank is which fixes come before which others.
type rank uint8

const (
	asWritten  rank = iota // all is played on what it is written for
	byAnother              // something else that is there is played instead
	byAbsent               // something else that nobody has said is there: where nothing better helps
	lastResort             // it is left out, or left as it is
)

// Options are the what-ifs of a check.
type Options struct {
	Score score.Options
	Load  score.Loader
	Rules []*Rule       // of one's own, besides those that are built in
	Rooms *motion.Rooms // for paths, of whoever checks many pieces; nil: each has its own
	Room  *Room         // for all else that is found of one; nil: it has its own
	// Stop, if set, is asked now and then, by one goroutine at a time: once it
	// says so, the check ends early and its result is good for nothing.
	Stop func() bool
}

func (o *Options) stopped() bool { return o.Stop != nil && o.Stop() }

// oneAtATime is stopped for several goroutines.
func (o *Options) oneAtATime() func() bool {
	if o.Stop == nil {
		return func() bool { return false }
	}
	var mu sync.Mutex
	said := false
	return func() bool {
		mu.Lock()
		defer mu.Unlock()
		said = said || o.Stop()
		return said
	}
}

// A Result is all that was found in one piece.
type Result struct {
	Name     string
	File     *syntax.File
	Score    *score.Score
	Motions  []*motion.Result // one for each player
	Findings []Finding
	Accepted int // findings that the piece accepts
	// Stopped says that the check was told to stop before its end.
	Stopped bool
	// Faults are the failures of the program that Findings has as findings.
	Faults []*Fault
	opt    Options
	tried  bool                 // nobody takes anything over from it
	kept   map[*Rule]kept       // of rules that look at each player
	clear  map[*score.Part]bool // the parts that call all things by their own names
	again  *afresh
	ringOn map[*score.Part]bool       // the parts in which nothing that rings is stopped
	buzz   map[*score.Player]*buzzing // what may buzz along, by player
	march  *bool                      // whether the piece calls itself one, if somebody asked
}

// ReadAhead reads of the program's own texts and tables what a check of a text
// will ask for: for whoever has another core while the text itself is read. A
// check finds the same without it.
func ReadAhead(text string) {
	kit.ReadAhead(text)
	body.ReadTables()
}

// Check finds everything in a file.
func Check(name string, f *syntax.File, opt Options) *Result {
	return check(name, f, opt, nil)
}

// Recheck checks a changed file, taking over from the earlier result the
// paths of players that the change did not touch.
func Recheck(old *Result, f *syntax.File) *Result {
	return check(old.Name, f, old.opt, old)
}

// tryOut is Recheck for a text of which only what is found is wanted.
func tryOut(old *Result, f *syntax.File) *Result {
	return checkInto(&Result{Name: old.Name, File: f, opt: old.opt, tried: true}, old)
}

// Done gives back the room that the paths had, to the [motion.Rooms] they were looked for
// in: the result is good for nothing from then on.
func (r *Result) Done() {
	for _, m := range r.Motions {
		r.opt.Rooms.TakeBack(m)
	}
}

// Until is the result with another word on when to stop what is done with it.
func (r *Result) Until(stop func() bool) *Result {
	c := *r
	c.opt.Stop = stop
	return &c
}

// RecheckWith is Recheck with other options: what the files it uses are now,
// or when to stop.
func RecheckWith(old *Result, f *syntax.File, opt Options) *Result {
	return check(old.Name, f, opt, old)
}

func check(name string, f *syntax.File, opt Options, old *Result) *Result {
	return checkInto(&Result{Name: name, File: f, opt: opt}, old)
}

func checkInto(r, old *Result) *Result {
	opt := r.opt.Score
	opt.Stop = r.opt.Stop
	if old != nil {
		opt.Earlier, r.opt.Room = old.Score, nil // which the old one is in
	}
	opt.Room = r.opt.lent().score
	r.Score = score.Bind(r.Name, r.File, r.opt.Load, opt)
	open, ok := r.solve(old)
	if r.Stopped = !ok; r.Stopped {
		return r
	}
	defer r.ratesBeside(open)()
	r.look(old)
	return r
}

// muchPlayed is how much somebody has to play for it to be worth another core's while.
const muchPlayed = 1000

// eachWorth does a piece of work so many times, on all cores where so much is played that it is
// worth their while.
func eachWorth(played, n int, work func(int)) {
	if played >= muchPlayed {
		Each(n, work)
		return
	}
	for i := range n {
		work(i)
	}
}

// ratesBeside works out how quickly those strike whose paths are new: where that is much,
// on another core while the first rules look at them. What it returns waits for it.
func (r *Result) ratesBeside(open []int) (wait func()) {
	list := make([]*motion.Result, len(open))
	played := 0
	for k, i := range open {
		list[k] = r.Motions[i] // which rules are shown a part of
		played += len(list[k].Events)
	}
	rates := func() { eachWorth(played, len(list), func(k int) { motion.Rates(list[k]) }) }
	if played < muchPlayed || runtime.GOMAXPROCS(0) < 2 {
		rates()
		return func() {}
	}
	var fault *Fault
	var all sync.WaitGroup
	all.Go(func() { fault = Contained(rates) })
	return func() {
		if all.Wait(); fault != nil {
			panic(fault)
		}
	}
}

// usual is as many findings as there is room for at first.
const usual = 8

// look runs the rules.
func (r *Result) look(old *Result) {
	lent := r.opt.lent()
	r.again = &afresh{}
	if !r.tried && (r.opt.Room == nil || r.opt.Score.Remember) {
		r.kept = map[*Rule]kept{} // for whoever takes it over
	}
	c := &Context{Result: r, accepted: make([]bool, len(r.Score.Accepts)), findings: lent.findings.List(usual), once: lent.once}
	switch {
	case r.comparable(old):
		c.old = old
	case r.retimed(old):
		c.otherTime = old
	}
	rules := append(Rules(), r.opt.Rules...)
	c.names = make([]string, 0, len(rules))
	for _, rule := range rules {
		if r.opt.stopped() {
			r.Stopped = true
			return
		}
		c.names = append(c.names, rule.Name)
		switch {
		case rule.last:
		case rule.each:
			c.runEach(rule)
		default:
			c.run(rule)
		}
	}
	c.old, c.otherTime = nil, nil
	c.fold()
	c.accept()
	for _, rule := range rules {
		if rule.last {
			c.run(rule)
		}
	}
	r.Findings = c.findings
	sortFindings(r.Findings)
}

// solve works out what each player does, or takes it over. It says whose path was looked
// for, and is false when it was told to stop.
func (r *Result) solve(old *Result) (open []int, ok bool) {
	r.Motions = make([]*motion.Result, len(r.Score.Players))
	for i, p := range r.Score.Players {
		if old != nil && i < len(old.Motions) {
			if m, ok := motion.Reuse(old.Motions[i], old.Score, r.Score, p); ok {
				r.Motions[i] = m
				continue
			}
		}
		open = append(open, i)
	}
	stop := r.opt.oneAtATime()
	played := 0
	for _, i := range open {
		for _, c := range r.Score.Players[i].Cues {
			played += len(c.Strokes)
		}
	}
	eachWorth(played, len(open), func(k int) {
		if stop() {
			return
		}
		i := open[k]
		r.Motions[i] = r.path(i, old, stop)
	})
	if r.opt.stopped() {
		r.Motions = nil
		return nil, false
	}
	for _, m := range r.Motions {
		for _, what := range m.Truncated {
			r.Score.Problems = append(r.Score.Problems, score.Problem{Rule: syntax.RuleTooLarge, Where: m.Player.Where,
				About: syntax.Tells("%s has too much to do to follow all of it; left out is %s", m.Player.Name, what)})
		}
	}
	return open, true
}

// path looks for a player's path, from what was found before where that is kept.
func (r *Result) path(i int, old *Result, stop func() bool) *motion.Result {
	if !r.opt.Score.Remember {
		return r.opt.Rooms.SolveUntil(r.Score, r.Score.Players[i], stop)
	}
	var was *motion.Result
	if old != nil && i < len(old.Motions) {
		was = old.Motions[i]
	}
	if r.tried && (was == nil || !was.GoesOn(r.Score, r.Score.Players[i])) {
		return r.opt.Rooms.SolveUntil(r.Score, r.Score.Players[i], stop)
	}
	return motion.SolveAfter(was, r.Score, r.Score.Players[i], stop)
}

func sortFindings(list []Finding) {
	slices.SortStableFunc(list, func(a, b Finding) int {
		if c := cmp.Or(
			cmp.Compare(a.Where.File, b.Where.File),
			cmp.Compare(a.Where.Line, b.Where.Line),
			cmp.Compare(a.Where.Start, b.Where.Start),
			cmp.Compare(a.Severity, b.Severity),
			strings.Compare(a.Rule.Name, b.Rule.Name),
			a.At.Cmp(b.At)); c != 0 {
			return c
		}
		return strings.Compare(a.Message(), b.Message())
	})
}

// ByWeight lists the findings by their index in the order in which somebody
// reads them who wants to know what stops the show: errors first, among them
// what is not even read, then what no tempo mends, then what has the least of
// the time that it needs; then warnings; then the rest. What weighs the same
// comes in the order of the text.
func (r *Result) ByWeight() []int {
	order := make([]int, len(r.Findings))
	for i := range order {
		order[i] = i
	}
	class := func(f *Finding) int {
		switch {
		case f.Severity == Warning:
			return 3
		case f.Severity != Error:
			return 4
		case f.Rule.text || f.WholeFile():
			return 0
		case !f.Timed || f.Need.Limit <= 0:
			return 1
		}
		return 2
	}
	slices.SortStableFunc(order, func(i, j int) int {
		a, b := &r.Findings[i], &r.Findings[j]
		if c := cmp.Compare(class(a), class(b)); c != 0 || class(a) != 2 {
			return c
		}
		return cmp.Compare(a.Window/a.Need.Limit, b.Window/b.Need.Limit)
	})
	return order
}
