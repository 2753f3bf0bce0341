// Package handful reads, checks, plans and prints percussion parts that say,
// hand by hand, who plays what.
//
// In comes the text of a .handful file. [Parse] reads it, [Check] finds what
// cannot be done and why, [Plan] gives written parts to the people who are
// there, [Sheet] makes the pages for the stands, and [Import] and [Export]
// bring parts in from MusicXML and MIDI and take them out again.
//
// Lengths are in centimetres, times in seconds and tempos in counts a minute.
// Lines and columns count from 1, columns in bytes. Whatever is wrong with a
// text is a [Finding] and never an error: errors are for data that cannot be
// read at all and for plans that cannot be made. Nothing here opens a file,
// asks a clock or the network, or keeps anything between calls, and every
// function may be called by many goroutines at once.
//
// These names are all that is promised. What stands below, in lang, may change
// from version to version.
package handful

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"iter"
	"path"
	"slices"
	"strings"
	"time"

	"example.org/handful/lang/check"
	"example.org/handful/lang/exchange"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/plan"
	"example.org/handful/lang/score"
	"example.org/handful/lang/sheet"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// A Piece is a text that has been read.
type Piece struct {
	name string
	file *syntax.File
}

// Parse reads a text. The name is that of its file, with its folders if it
// has any: findings give it, and files that the piece uses are looked for from
// there. Every text makes a piece; what is wrong in it is found by [Check].
func Parse(name, text string) *Piece { return &Piece{name, syntax.Parse(text)} }

// Name is what the piece was called when it was read.
func (p *Piece) Name() string { return p.name }

// Text is what was read, byte for byte.
func (p *Piece) Text() string { return p.file.Text() }

// Format lays a text out in the one canonical way. Comments stay, and every
// word says what it said: where that could not be kept, the error says so with
// the line, and the text comes back as it was.
func Format(text string) (string, error) {
	out, lost := syntax.Format(syntax.Parse(text))
	if lost != nil {
		return text, lost
	}
	return out, nil
}

// Options are what a check supposes.
type Options struct {
	// Tempo multiplies every tempo; 0 is 1, the tempo as written.
	Tempo float64
	// Without leaves players out.
	Without []string
	// Profile is that of players who do not say one: student, experienced or
	// professional; "" is experienced.
	Profile string
	// Open reads a file that the piece uses: another .handful file, MusicXML or
	// MIDI. Its path is that in the piece, from the folder of the piece's own
	// name, with slashes; it never leads out of the folder that names begin in.
	// Without Open every use is a finding.
	Open func(path string) ([]byte, error)
	// Rules are rules of one's own, besides those that are built in.
	Rules []Rule
	// Context ends a check early, and [Result] says so. It may be nil.
	Context context.Context
}

func (o *Options) load(from, file string) (string, *syntax.File, error) {
	name := path.Join(path.Dir(from), file)
	switch {
	case o.Open == nil:
		return name, nil, errors.New("no files are opened here")
	case path.IsAbs(file) || name == ".." || strings.HasPrefix(name, "../"):
		return name, nil, errors.New("it lies outside the folder of the piece")
	}
	data, err := o.Open(name)
	if err != nil {
		return name, nil, err
	}
	f, err := written.File(name, string(data))
	return name, f, err
}

func (o *Options) checks() check.Options {
	opt := check.Options{Score: score.Options{TempoFactor: o.Tempo, Without: o.Without, Profile: o.Profile}, Load: o.load}
	for i := range o.Rules {
		opt.Rules = append(opt.Rules, o.Rules[i].built())
	}
	if ctx := o.Context; ctx != nil {
		opt.Stop = func() bool { return ctx.Err() != nil }
	}
	return opt
}

// A Severity says how bad a finding is.
type Severity string

// The severities, worst first.
const (
	Error      Severity = "error"      // cannot be done, or something written is lost
	Warning    Severity = "warning"    // can be done, at a price or a risk
	Compromise Severity = "compromise" // the sound pays
	Info       Severity = "info"       // worth knowing
)

// A Finding is one thing found.
type Finding struct {
	Rule     string
	Severity Severity
	Message  string // one sentence, in a player's words

	File           string // which file it is in; the piece's own name, mostly
	Line, From, To int    // columns: the first, and the one behind the last
	Player, Limb   string // "" where it is about no player
	Bar            int    // 0 in front of the music, or nowhere
	Count          string // within the bar, as in 2&
	Needed, There  float64
	// Needed and There are seconds: what the change takes at the limit, and
	// what there is. Both are 0 where nothing is timed.

	of *check.Finding
}

// String is the finding in one line: file, line, column, severity, rule and
// message.
func (f Finding) String() string {
	return fmt.Sprintf("%s:%d:%d: %s %s: %s", f.File, f.Line, f.From, f.Severity, f.Rule, f.Message)
}

// A Ceiling is how fast one player can take the piece.
type Ceiling struct {
	Player string
	// Comfortable is the multiple of the written tempo up to which nothing is at
	// the edge, and Possible the one above which somebody cannot. 0 is at no
	// tempo, +Inf that nothing sets a bound as far as was looked.
	Comfortable, Possible float64
	// Words say both, with the place and the reason of each.
	Words string
}

// A Result is what a check has found.
type Result struct {
	Findings []Finding // in the order of the text
	Ceilings []Ceiling // one for each player
	Accepted int       // findings that the piece accepts
	// Stopped says that the context ended before the check did: what is found is
	// no verdict then.
	Stopped bool

	r *check.Result
}

// Check finds what cannot be done in a piece, what has its price, and what is
// missing.
func Check(p *Piece, opt Options) *Result {
	r := check.Safely(p.name, p.file, opt.checks())
	out := &Result{Accepted: r.Accepted, Stopped: r.Stopped, r: r}
	for i := range r.Findings {
		out.Findings = append(out.Findings, finding(r, &r.Findings[i]))
	}
	for _, c := range r.Ceilings() {
		out.Ceilings = append(out.Ceilings, Ceiling{c.Player, c.Edge.Factor, c.Cannot.Factor, r.Says(&c)})
	}
	return out
}

func finding(r *check.Result, f *check.Finding) Finding {
	out := Finding{Rule: f.Rule.Name, Severity: Severity(f.Severity.String()), Message: f.Message(),
		Player: f.Player, Limb: f.Limb, Bar: f.Bar, Count: f.Count, of: f}
	out.at(r, f.Where)
	if f.Timed {
		out.Needed, out.There = f.Need.Limit, f.Window
	}
	return out
}

func (f *Finding) at(r *check.Result, w score.Where) {
	f.File = r.Name
	if w.File > 0 {
		f.File = r.Score.Sources[w.File].Name
	}
	f.Line, f.From, f.To = int(w.Line)+1, int(w.Start)+1, int(w.End)+1
}

// Errors is how many findings are errors.
func (r *Result) Errors() int {
	n := 0
	for _, f := range r.Findings {
		if f.Severity == Error {
			n++
		}
	}
	return n
}

// A Proposal is one way to take a finding away. It has been made in memory and
// checked: the finding is gone, and no error or warning is new.
type Proposal struct {
	Title string
	Text  string // of the whole piece when it is made
	// Judgement says that it changes what is heard or who does what, so that
	// somebody has to weigh it.
	Judgement bool
}

// Fixes are the proven ways to take a finding away, best first.
func (r *Result) Fixes(f Finding) []Proposal {
	if f.of == nil {
		return nil
	}
	var out []Proposal
	for _, x := range r.r.Fixes(f.of) {
		if text, ok := check.Apply(r.r.File, x.Edits); ok {
			out = append(out, Proposal{x.Title, text, x.Judgement})
		}
	}
	return out
}

// Fix makes every change that needs nobody's judgement, one after the other,
// and says how many there were.
func Fix(r *Result) (p *Piece, made int) {
	text, made := r.r.FixAll()
	return Parse(r.r.Name, text), made
}

// A Rule is one thing that somebody looks for in pieces of their own. What it
// reports is a finding like any other: it stands in its place among them, a
// piece may accept it by the rule's name, and its fixes are proven. A rule that
// fails is a finding itself.
type Rule struct {
	Name     string
	Severity Severity
	// Look goes through a checked piece and reports what it finds.
	Look func(*View)
}

// built is the rule as the checker runs it.
func (r Rule) built() *check.Rule {
	severity := check.Info
	for _, s := range []check.Severity{check.Error, check.Warning, check.Compromise} {
		if s.String() == string(r.Severity) {
			severity = s
		}
	}
	return &check.Rule{Name: r.Name, Severities: []check.Severity{severity}, Look: func(c *check.Context) {
		if fault := check.Contained(func() { r.Look(&View{c, severity}) }); fault != nil {
			c.In(score.Where{}).Says(severity, "the rule %s itself failed on this piece: %s", r.Name, fault.Panic)
		}
	}}
}

// A View is a checked piece as a rule looks at it.
type View struct {
	c        *check.Context
	severity check.Severity
}

// Once says the first time that the rule asks of a thing, and no more: what is
// told once is no news at its other places. Two things are the same if == says
// so.
func (v *View) Once(thing any) bool { return v.c.Once(nil, thing) }

// A Place is something in a checked piece at which a rule can report: a
// [Stroke] or a [Change].
type Place interface {
	report(*check.Context) check.Report
	where() score.Where
}

// A Stroke is one stroke, roll or stop as it is played.
type Stroke struct {
	Player     string
	Limbs      string // R, L, RF, LF, M or several with + between them
	Instrument string // its id, as in snare-drum
	Name       string // as the piece calls it
	With       string // the implement's id, or ""
	Bar        int
	Count      string
	From, To   float64 // seconds from the beginning, as played
	Roll, Stop bool

	m *motion.Result
	e *motion.Event
}

// Strokes goes through all that is played, player by player, in the order in
// which it is played, repeats written out.
func (v *View) Strokes() iter.Seq[Stroke] {
	return func(yield func(Stroke) bool) {
		with := map[*score.Cue]string{}
		for _, ch := range v.c.Chosen() {
			with[ch.Cue] = ch.Choice.Implement
		}
		for m, e := range v.c.Events() {
			item := e.Item()
			if e.Cue == nil || item == nil {
				continue
			}
			bar, count := v.c.Score.Grid.Place(e.At())
			s := Stroke{Player: m.Player.Name, Limbs: e.Limbs.Letters(), Instrument: item.Inst.ID, Name: item.Name, Bar: bar, Count: count.String(),
				From: e.T0, To: e.T1, Roll: e.Kind == motion.RollOn, Stop: e.Kind.Stops(), With: with[e.Cue], m: m, e: e}
			if !yield(s) {
				return
			}
		}
	}
}

func (s Stroke) report(c *check.Context) check.Report { return c.At(s.m, s.e) }

func (s Stroke) where() score.Where { return s.e.Where() }

// A Change is what one limb or the body has to do between two things, at the
// place by which it must be done.
type Change struct {
	Player, Limb        string
	Bar                 int
	Count               string
	Lays, Takes, Walks  bool
	Needed, Easy, There float64 // seconds: at the limit, at an easy pace, and what there is

	m  *motion.Result
	ch *motion.Change
}

// Changes goes through all changes, player by player, in playing order.
func (v *View) Changes() iter.Seq[Change] {
	return func(yield func(Change) bool) {
		for _, m := range v.c.Motions {
			for i := range m.Changes {
				ch := &m.Changes[i]
				bar, count := v.c.Score.Grid.Place(ch.To.At())
				c := Change{Player: m.Player.Name, Limb: ch.Hand.String(), Bar: bar, Count: count.String(), Lays: ch.Lays, Takes: ch.Takes, Walks: ch.Walks,
					Needed: ch.Need.Limit, Easy: ch.Need.Steady, There: ch.Window, m: m, ch: ch}
				if !yield(c) {
					return
				}
			}
		}
	}
}

func (c Change) report(in *check.Context) check.Report {
	return in.At(c.m, c.ch.To).With(c.ch.Hand.Name()).Timed(c.ch)
}

func (c Change) where() score.Where { return c.ch.To.Where() }

// A Report is what a rule has just said, to which more can be put until it says
// the next thing.
type Report struct{ f *check.Finding }

// Report says that a rule has found something at a place.
func (v *View) Report(at Place, format string, args ...any) Report {
	return Report{at.report(v.c).Says(v.severity, format, args...)}
}

// Also points at another place that has to do with it.
func (r Report) Also(at Place, message string) Report {
	r.f.Also(at.where(), "%s", message)
	return r
}

// OrAccept offers to accept it, as built-in rules do.
func (r Report) OrAccept() Report {
	r.f.OrAccept()
	return r
}

// PlanOptions say for whom a plan is made.
type PlanOptions struct {
	// Players is how many people there are; 0 takes the piece's own players, or
	// those of Names.
	Players int
	Names   []string // who they are; those that the piece does not have are added
	Without []string // players of the piece who are not there
	Keep    bool     // every cue stays as it is, and others are only added
	// Wide and Deep are the floor that each player has, in cm; 0 is no bound.
	Wide, Deep float64
	// Open is that of [Options].
	Open func(path string) ([]byte, error)
}

// A Planned piece is a plan: a piece in which no check finds an error.
type Planned struct {
	*Piece
	// Lost is what nobody plays, in weighted strokes, and Bound the least that
	// any plan of this kind loses.
	Lost, Bound float64
	// Leaves are the stretches that nobody plays, each with its reason.
	Leaves []Leave
	// Stopped says that the context ended before the search did: this is the
	// best plan so far.
	Stopped bool
}

// A Leave is a stretch of one written line that nobody plays.
type Leave struct {
	Part, Line string
	From, To   int // bars
	Strokes    int
	Because    string
}

// Plan gives the written parts of a piece to people. The error says in plain
// words why there is no plan.
func Plan(ctx context.Context, p *Piece, opt PlanOptions) (*Planned, error) {
	o := Options{Open: opt.Open}
	var out plan.Plan
	var err error
	fault := check.Contained(func() {
		out, err = plan.File(ctx, p.name, p.file, plan.Options{Players: opt.Players, Names: opt.Names, Without: opt.Without, Keep: opt.Keep, Wide: opt.Wide, Deep: opt.Deep, Load: o.load})
	})
	if fault != nil {
		err = failed(fault)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", p.name, err)
	}
	planned := &Planned{Piece: Parse(p.name, out.Text), Lost: out.Value, Bound: out.Bound, Stopped: out.Stopped}
	for _, l := range out.Lost {
		planned.Leaves = append(planned.Leaves, Leave{l.Part, l.Line, l.From, l.To, l.Strokes, l.Because})
	}
	return planned, nil
}

// SheetOptions say what pages are made for.
type SheetOptions struct {
	// To is html, pdf or text; "" is html.
	To string
	// Paper is A4, Letter, A5 or A3; "" is A4.
	Paper string
	// Player is the one whose pages are made; "" is everybody and the section.
	Player string
	// Date dates a PDF; the same pages with the same date are the same bytes.
	Date time.Time
}

// Sheet makes the pages for the stands: for every player a cue sheet, a set-up
// plan and a practice sheet, for the section a packing list and a chart, for
// the conductor what will sound different. The error names a format, a paper
// or a player that there is not, or what a PDF's fonts cannot write.
func Sheet(r *Result, opt SheetOptions) ([]byte, error) {
	name := cmp.Or(opt.Paper, "A4")
	paper, ok := sheet.PaperNamed(name)
	if !ok {
		return nil, fmt.Errorf("there is no paper called %q: A4, Letter, A5 or A3", name)
	}
	if opt.Player != "" && !slices.ContainsFunc(r.r.Motions, func(m *motion.Result) bool { return m.Player.Name == opt.Player }) {
		return nil, fmt.Errorf("no player in %s is called %q", r.r.Name, opt.Player)
	}
	var out []byte
	var err error
	if fault := check.Contained(func() {
		docs := sheet.Docs([]*check.Result{r.r}, sheet.Options{Paper: paper, Player: opt.Player})
		switch cmp.Or(opt.To, "html") {
		case "html":
			out = []byte(sheet.HTMLPage(docs))
		case "text":
			out = []byte(sheet.TextPage(docs))
		case "pdf":
			if err = sheet.CannotSet(docs); err != nil {
				return
			}
			out, err = sheet.PDF(docs, sheet.PDFOptions{Date: opt.Date.UTC().Format(time.RFC3339)})
		default:
			err = fmt.Errorf("there are no sheets as %q: html, pdf or text", opt.To)
		}
	}); fault != nil {
		err = failed(fault)
	}
	return out, err
}

// failed is what is said of a failure of the program itself.
func failed(f *check.Fault) error { return errors.New(f.Message()) }

// ImportOptions steer the reading of written parts.
type ImportOptions struct {
	// Names says which instrument of the catalogue a name in the file means:
	// "Cym." is "suspended-cymbal".
	Names map[string]string
}

// A Loss is something that the notation cannot hold, or that was left open and
// settled by a guess.
type Loss struct {
	Part    string // "" for the whole file
	Bar     int    // -1 for the whole part
	What    string
	Printed string // the number that the bar has in print, where that is another than Bar
}

// Import makes the text of a piece with written parts of a MusicXML file, plain
// or compressed, or of a Standard MIDI File; and a list of all that the text
// does not say. The error says where data is no such file.
func Import(data []byte, opt ImportOptions) (text string, lost []Loss, err error) {
	var list []written.Loss
	if fault := check.Contained(func() { text, list, err = written.Text(data, written.Options{Names: opt.Names}) }); fault != nil {
		err = failed(fault)
	}
	for _, l := range list {
		lost = append(lost, Loss{l.Part, l.Bar, l.What, l.InPrint})
	}
	return text, lost, err
}

// Export writes a checked piece as "musicxml" or "midi": each player's part,
// with the hands and changes that the check has found.
func Export(r *Result, to string) (data []byte, err error) {
	if fault := check.Contained(func() {
		switch to {
		case "musicxml":
			data, _, err = exchange.MusicXML(r.r, exchange.MusicXMLOptions{})
		case "midi":
			data, _, err = exchange.MIDI(r.r, exchange.MIDIOptions{})
		default:
			err = fmt.Errorf("nothing is written as %q: musicxml or midi", to)
		}
	}); fault != nil {
		return nil, failed(fault)
	}
	return data, err
}

// Explain is what a built-in rule finds and why, in plain text; not ok when
// there is no rule of that name.
func Explain(rule string) (text string, ok bool) {
	r := check.RuleNamed(rule)
	if r == nil {
		return "", false
	}
	return strings.Join([]string{r.Finds, r.Means, r.Why, r.Stands}, "\n\n"), true
}
