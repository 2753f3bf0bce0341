package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"runtime/debug"
	"strconv"
	"strings"

	"example.org/handful/cmd/handful/disk"
	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/plan"
	"example.org/handful/lang/score"
	"example.org/handful/lang/sheet"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

type planVerb struct {
	Path    string   `arg:"" name:"file" help:"A file with written parts, or - for standard input."`
	Players *int     `placeholder:"N" help:"How many people there are. Without it, and without names: the file's own players."`
	Player  []string `sep:"none" placeholder:"NAME" help:"Who they are; may be given again. Who is not in the file is added."`
	Profile string   `enum:",student,experienced,professional" default:"" placeholder:"student|experienced|professional" help:"What people are who are added."`
	Without []string `sep:"none" placeholder:"NAME" help:"Who is not there; may be given again."`
	Anew    bool     `help:"With --without: everything may be given away anew, not only what is missing."`
	Fewest  bool     `help:"Find the fewest players who lose nothing, and say why one fewer would."`
	WhatIf  bool     `name:"what-if" help:"Of the file as it is: at which tempo it becomes playable, and which single change frees the most."`
	Keep    bool     `help:"Leave every cue as it is and only add to them."`
	Edge    bool     `name:"at-the-edge" help:"Also give away what is only just possible: quicker than people are on average at their utmost, or rolled for more than four times as long as that can be kept up."`
	Stand   bool     `name:"stand-ins" help:"Let one instrument be played for another, as the catalogue has it and at what that costs in sound, where less is lost so."`
	Borrow  bool     `help:"Let several people have what takes two people or wheels to bring, such as a bass drum, where gear does not say how many there are; what has to be borrowed is said."`
	Wide    float64  `placeholder:"CM" help:"How wide the floor is that each player has."`
	Deep    float64  `placeholder:"CM" help:"How deep it is."`
	Weight  []string `sep:"none" placeholder:"NAME=VALUE" help:"What counts for how much; may be given again."`
	Output  string   `short:"o" placeholder:"OUT" help:"The file to write; it may be the same, and another that is there already stays. Without one, the plan goes to standard output and the report to standard error."`
	Force   bool     `help:"Write over another file that is there already."`
	Cert    string   `name:"certificate" placeholder:"FILE" help:"Write down as JSON why no plan could lose less: every moment that wants more hands than there are."`
	Verify  string   `placeholder:"FILE" help:"Plan nothing: say what of such a certificate is certain, by the check alone."`
}

func (v *planVerb) Help() string {
	return `Every written bar is given to somebody's hand, or left out for a reason; the plan that is written has been checked and
has no errors. The report says what is lost, and why no plan could lose less.

  handful plan show.handful --players 2 -o two.handful    four parts, two people
  handful plan show.handful --without Nell                one is ill: a page of what changes, and what to carry
  handful plan show.handful --without Nell -o new.handful and the file that goes with it
  handful plan show.handful --keep                        give away only what nobody plays yet
  handful plan show.handful --fewest --certificate c.json the fewest who lose nothing, and the proof that fewer do
  handful plan show.handful --verify c.json               is that proof one?`
}

func (v *planVerb) Run(s *streams) error {
	in, opt, err := v.read(s)
	if s.interrupted() {
		return unfinished{"nothing was planned"}
	}
	if err != nil {
		return err
	}
	place, err := v.place(s, in)
	if err != nil {
		return err
	}
	cert, err := v.certificatePlace(s)
	if err != nil {
		return err
	}
	// What is left lying is cleared away before there is more of it than a long piece needs.
	debug.SetMemoryLimit(max(roomToPlan, roomALetter*int64(len(in.text))))
	work := func() { err = v.whole(s, in, opt, place, cert) }
	switch {
	case v.Verify != "":
		work = func() { err = v.verify(s, in, opt) }
	case v.WhatIf:
		work = func() { err = whatIfs(s, in, opt) }
	case v.Fewest:
		work = func() { err = fewest(s, in, opt, cert) }
	case v.absent():
		work = func() { err = v.page(s, in, opt, place) }
	}
	if fault := check.Contained(work); fault != nil {
		return s.failed(in.path, fault)
	}
	return err
}

// How much memory plans are made in, if they can be: 24 parts of 1,000 bars for eight
// players have 150 KB of text.
const (
	roomToPlan  = 275 << 20
	roomALetter = 1_800
)

// fewest says how many players it takes to lose nothing.
func fewest(s *streams, in input, opt plan.Options, cert *disk.Place) error {
	few, err := plan.Fewest(s.ctx, in.name, syntax.Parse(in.text), opt)
	switch {
	case err != nil:
		return fmt.Errorf("%s: %w", in.path, err)
	case s.interrupted() && len(few.Plan.Lost) > 0 && few.Players == 1:
		return unfinished{"how many it takes is not known yet"}
	case s.interrupted() && len(few.Plan.Lost) > 0:
		return unfinished{fmt.Sprintf("with %s something was left out; whether more are needed than %d is not known yet", words.Count(few.Players-1, "player", "players"), few.Players)}
	}
	for _, line := range strings.Split(strings.TrimSpace(few.Words()), "\n") {
		fmt.Fprintln(s.out, clean(line))
	}
	if few.Fewer == nil {
		if cert != nil {
			fmt.Fprintln(s.err, "handful: no certificate is written: nothing is claimed of fewer people")
		}
		return nil
	}
	return writeCertificate(cert, few.Fewer)
}

// whole plans the piece, writes the plan and reports on it.
func (v *planVerb) whole(s *streams, in input, opt plan.Options, place, cert *disk.Place) error {
	opt.Sentences = true
	p, err := plan.File(s.ctx, in.name, syntax.Parse(in.text), opt)
	if err != nil {
		return fmt.Errorf("%s: %w", in.path, err)
	}
	if !strings.HasSuffix(p.Text, "\n") {
		p.Text += "\n"
	}
	report := s.out
	switch {
	case place == nil:
		report = s.err
		if _, err := io.WriteString(s.data(), p.Text); err != nil {
			return err
		}
	case p.Stopped && place.There(): // what is not finished takes no one's place
		return unfinished{clean(v.Output) + " stays as it is; without -o, what was found until then is written to standard output"}
	default:
		if err := place.Write([]byte(p.Text)); err != nil {
			return err
		}
	}
	reportPlan(report, &p)
	if err := writeCertificate(cert, &p); err != nil {
		return err
	}
	if p.Stopped && s.interrupted() {
		return unfinished{"this plan is the best so far, and there may be a better one"}
	}
	return nil
}

// absent says whether the question is what becomes of the piece without somebody,
// everything else staying as it is.
func (v *planVerb) absent() bool {
	return len(v.Without) > 0 && !v.Anew && !v.Keep && v.Players == nil && len(v.Player) == 0
}

// page answers it on one page, and writes the file that goes with it where that is
// asked for.
func (v *planVerb) page(s *streams, in input, opt plan.Options, place *disk.Place) error {
	a, err := plan.Absent(s.ctx, in.name, syntax.Parse(in.text), opt)
	if err != nil {
		return fmt.Errorf("%s: %w", in.path, err)
	}
	doc := sheet.Absent(a, sheet.Options{})
	if _, err := io.WriteString(s.out, cleanLines(doc.Text())); err != nil {
		return err
	}
	switch {
	case place == nil:
	case a.Plan.Stopped && place.There():
		return unfinished{clean(v.Output) + " stays as it is"}
	default:
		if err := place.Write([]byte(a.Plan.Text)); err != nil {
			return err
		}
	}
	if a.Plan.Stopped && s.interrupted() {
		return unfinished{"this is the best so far, and there may be a better one"}
	}
	return nil
}

// place is where the plan goes; nil is standard output. The file that was read
// may be written over, as long as it still is what was read.
func (v *planVerb) place(s *streams, in input) (*disk.Place, error) {
	if v.Output == "" {
		return nil, nil
	}
	if to, err := os.Stat(v.Output); err == nil && in.path != "-" {
		if from, err := os.Stat(in.path); err == nil && os.SameFile(from, to) {
			same := in
			same.path = v.Output
			return same.place(s)
		}
	}
	return newPlace(s, v.Output, v.Force)
}

// whatIfs says what would make a file playable as it is.
func whatIfs(s *streams, in input, opt plan.Options) error {
	r := check.Check(in.name, syntax.Parse(in.text), check.Options{Score: score.Options{Profile: opt.Usual, Uses: opt.Uses}, Load: opt.Load, Stop: stopped(s.ctx)})
	tempo, list := plan.WhatIfs(r)
	if s.interrupted() {
		return unfinished{"what would help is not known yet"}
	}
	switch {
	case tempo >= 1 && len(list) == 0:
		fmt.Fprintln(s.out, "it is playable as it is, as far as single changes and the tempo go")
	case tempo >= 1:
		fmt.Fprintln(s.out, "a slower tempo makes no difference")
	case tempo == 0:
		fmt.Fprintln(s.out, "it is playable at no tempo:")
		for _, c := range r.Ceilings() {
			if c.Cannot.Never() {
				fmt.Fprintf(s.out, "  %s: %s, at %s\n", clean(c.Player), clean(c.Cannot.Words), c.Cannot.Place)
			}
		}
	default:
		fmt.Fprintf(s.out, "it becomes playable at %.0f %% of the written tempo\n", math.Floor(tempo*100))
	}
	for _, w := range list[:min(len(list), 8)] {
		fmt.Fprintf(s.out, "%s fewer: %s\n", words.Count(w.Freed, "error", "errors"), clean(w.Change))
	}
	return nil
}

// read takes the file and the options in.
func (v *planVerb) read(s *streams) (input, plan.Options, error) {
	opt := plan.Options{Names: v.Player, Profile: v.Profile, Without: v.Without, Keep: v.Keep, AtTheEdge: v.Edge, StandIns: v.Stand, Borrow: v.Borrow, Wide: v.Wide, Deep: v.Deep}
	inputs, failed := gather([]string{v.Path}, s)
	if failed || len(inputs) == 0 {
		return input{}, opt, exitCode(exitFailed)
	}
	if len(inputs) > 1 {
		return input{}, opt, errors.New("a plan is made of one file: name it")
	}
	if v.Players != nil {
		if opt.Players = *v.Players; opt.Players < 1 {
			return input{}, opt, errors.New("--players: at least one has to play")
		}
	}
	w := plan.DefaultWeights()
	for _, set := range v.Weight {
		name, value, ok := strings.Cut(set, "=")
		f, err := strconv.ParseFloat(value, 64)
		if !ok || err != nil {
			return input{}, opt, fmt.Errorf("--weight %s: write NAME=VALUE, as in --weight exposed=3", set)
		}
		if err := w.Set(name, f); err != nil {
			return input{}, opt, fmt.Errorf("--weight %s: %w", set, err)
		}
	}
	opt.Weights = &w
	if s.err.terminal() {
		stage := ""
		opt.Progress = func(p plan.Progress) {
			if p.Stage != stage {
				stage = p.Stage
				fmt.Fprintf(s.err, "handful: %s; %s lost so far, never less than %s (Ctrl-C stops with the best)\n", stage, number(p.Value), number(p.Bound))
			}
		}
	}
	how := inputs[0].checks(score.Options{}, folder.NewLibrary())
	opt.Load, opt.Usual, opt.Uses = how.Load, how.Score.Profile, how.Score.Uses
	return inputs[0], opt, nil
}

func reportPlan(w io.Writer, p *plan.Plan) {
	var by [4]int
	for i := range p.Result.Findings {
		by[p.Result.Findings[i].Severity]++
	}
	for _, said := range p.Sentences {
		for i, line := range words.Wrap(clean(said), 96) {
			fmt.Fprintf(w, "%s%s\n", [...]string{"", "  "}[min(i, 1)], line)
		}
	}
	for _, o := range plan.Omissions(p.Lost) {
		fmt.Fprintf(w, "left out: %s of %s in %s, %s: %s\n", clean(o.Called), clean(o.Part), o.Where(), o.What(), clean(o.Because))
	}
	for i := range p.Result.Findings { // where there is no room, say: for whoever has the room
		if f := &p.Result.Findings[i]; f.Severity == check.Error {
			fmt.Fprintf(w, "still open: %s%s\n", whose(f.Player), clean(f.Message()))
		}
	}
	for _, why := range plan.Crowded(p.Why) {
		for i, line := range words.Wrap("why: "+clean(why), 96) {
			fmt.Fprintf(w, "%s%s\n", [...]string{"", "  "}[min(i, 1)], line)
		}
	}
	c := p.Result.Score.Coverage
	lost := 0
	for _, l := range p.Lost {
		lost += l.Strokes
	}
	if own := c.Omitted - lost; own > 0 {
		fmt.Fprintf(w, "left out by the file's own omit lines: %s\n", words.Count(own, "stroke", "strokes"))
	}
	fmt.Fprintf(w, "%s written: %d covered, %d substituted, %d left out\n", words.Count(c.Written, "stroke", "strokes"), c.Covered, c.Substituted, c.Omitted)
	fmt.Fprintf(w, "lost, weighted: %s; no plan of this kind loses less than %s (a gap of %.1f %% of what could be kept)\n", number(p.Value), number(p.Bound), 100*p.Gap)
	if p.Moved > 0 {
		fmt.Fprintf(w, "changed: %s, counted line by line, are played otherwise than before\n", words.Count(p.Moved, "bar", "bars"))
	}
	fmt.Fprintf(w, "checked: %s, %s, %s, %d info\n", words.Count(by[check.Error], "error", "errors"), words.Count(by[check.Warning], "warning", "warnings"),
		words.Count(by[check.Compromise], "compromise", "compromises"), by[check.Info])
	if p.Stopped {
		fmt.Fprintln(w, "stopped before the end: this is the best so far")
	}
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// whose says whom a finding is about, if anybody.
func whose(player string) string {
	if player == "" {
		return ""
	}
	return clean(player) + ": "
}
