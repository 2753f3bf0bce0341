package plan

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"math/bits"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// File plans a whole piece. The error says in plain words why there is no
// plan; a context that ends leaves the best plan so far, marked as stopped.
//
// Parts in unison are people of their own where there are hands for that; where
// something would be lost, one plays for all of them if that saves more.
func File(ctx context.Context, name string, f *syntax.File, opt Options) (Plan, error) {
	p, err := file(ctx, name, f, opt)
	if err == nil && !opt.unable && !opt.open && opt.only == nil && p.empty() {
		p, err = Plan{}, p.nothing()
	}
	if err != nil && ctx.Err() == nil {
		err = explained(ctx, name, f, opt, err)
	}
	return p, err
}

// file plans a piece. What stands in for what is written is played only where less is
// lost than without.
func file(ctx context.Context, name string, f *syntax.File, opt Options) (Plan, error) {
	opt.asked = cmp.Or(opt.asked, newInquiry())
	if !opt.StandIns || opt.brings != nil { // what is lost without is known
		return asWritten(ctx, name, f, opt)
	}
	plain := opt
	plain.StandIns, plain.terse = false, true
	without, err := asWritten(ctx, name, f, plain)
	if err == nil && (without.Value <= 1e-9 || without.Stopped) {
		without.Certificate.StandIns = true
		return without, nil
	}
	with, withErr := asWritten(ctx, name, f, opt)
	if err == nil && withErr == nil && with.Value > with.Bound+1e-9 {
		if kept, ok := without.letStandIn(ctx, name, f, opt, min(with.Value, without.Value)); ok {
			kept.Bound, kept.Gap, kept.Certificate, kept.Why = with.Bound, gap(kept.Value, with.Bound, kept.Written), with.Certificate, with.Why
			return kept, nil
		}
	}
	if withErr != nil || err == nil && with.Value > without.Value+1e-9 {
		plain.terse = false
		if opt.Sentences && ctx.Err() == nil {
			without, err = asWritten(ctx, name, f, plain)
		}
		if withErr == nil {
			without.Bound, without.Gap, without.Certificate, without.Why = with.Bound, gap(without.Value, with.Bound, without.Written), with.Certificate, with.Why
		}
		return without, err
	}
	return with, nil
}

// asWritten plans a piece without stand-ins. Where something is lost, a plan without all that is
// not usual is made too: one more way of playing never costs a stroke.
func asWritten(ctx context.Context, name string, f *syntax.File, opt Options) (Plan, error) {
	p, err := inOneWay(ctx, name, f, opt)
	if errors.Is(err, errNoLess) && opt.less < asFixed {
		opt.less = asFixed
		return inOneWay(ctx, name, f, opt)
	}
	if opt.alone || opt.less == asFixed || err != nil || p.Value <= p.Bound+1e-9 || p.Stopped || !p.unusual {
		return p, err
	}
	if opt.less++; !p.beyondUsual {
		opt.less = asFixed
	}
	opt.hardware, opt.under = false, p.Value
	q, plainErr := asWritten(ctx, name, f, opt)
	if plainErr != nil || q.Stopped || q.Value > p.Value-1e-9 {
		return p, nil
	}
	q.Bound, q.Gap, q.Certificate, q.Why = p.Bound, gap(q.Value, p.Bound, q.Written), p.Certificate, p.Why
	return q, nil
}

func inOneWay(ctx context.Context, name string, f *syntax.File, opt Options) (Plan, error) {
	j, err := newJob(ctx, name, f, opt, false)
	if err != nil {
		return Plan{}, err
	}
	j.apart = true
	p, err := j.planApart()
	p.Certificate = j.certificate()
	if err == nil && (!j.doubled || p.Value <= 1e-9 || p.Stopped) {
		return p, err
	}
	oneForAll, doubled := errors.Is(err, errOneForAll), j.doubled
	if oneForAll {
		j.giveUp()
	}
	if doubled {
		if one, oneErr := j.united(); oneErr == nil {
			one.lower, one.why = j.lower, j.why
			q, oneErr := one.plan()
			if oneErr == nil && (err != nil || q.Value < p.Value-1e-9) {
				q.Certificate = p.Certificate
				return q, nil
			}
			if oneForAll && one.gaveUp(oneErr) {
				return p, oneErr
			}
		}
	}
	if oneForAll {
		if err := j.begin(false); err != nil {
			return Plan{}, err
		}
		j.apart = false
		p, err = j.plan()
		p.Certificate = j.certificate()
	}
	return p, err
}

// errOneForAll says that what parts have in unison is to be planned as one: with
// somebody for each something would be lost.
var errOneForAll = errors.New("parts in unison have no hands of their own")

// errNoLess says that a plan is given up that will hardly lose less than another one.
var errNoLess = errors.New("another plan loses far less")

// farAbove says whether a plan that is to lose less than another one loses so much more than
// that before it is checked that it is given up: what a check gives back in the end is a few
// strokes. Judgement.
func (j *job) farAbove(all []plays) bool {
	return j.opt.under > 0 && j.value(all) > 2*j.opt.under+few
}

// few is how much a check gives back in the end, at the most, in weighted strokes.
const few = 4

// shortWork is how many bars of lines a short piece has at the most, in which everything is tried
// that there is.
const shortWork = 260

func (p *piece) short() bool { return len(p.passages) <= shortWork }

// planApart is a plan with somebody for each part in unison. Where there is a plan already that loses something,
// with more ways of playing everything, something would be lost as well: only in a short piece that is tried.
func (j *job) planApart() (Plan, error) {
	if j.doubled && j.opt.under > 0 && j.opt.brings == nil && !j.short() {
		return Plan{}, errOneForAll
	}
	return j.plan()
}

// gaveUp says whether a plan was given up that will hardly lose less than another one, so that it is not
// tried with somebody for each part in unison either; in a short piece it is.
func (j *job) gaveUp(err error) bool { return errors.Is(err, errNoLess) && !j.short() }

// losesMore says whether a plan that is to lose less than another one is given up once it has been
// checked: in all but short pieces as soon as it loses more.
func (j *job) losesMore(d *draft) bool {
	return j.opt.under > 0 && !j.short() && j.value(d.all) > j.opt.under+1e-9
}

// errNothingNew says that a trial has no way of playing what is lost that was not tried before.
var errNothingNew = errors.New("what is lost can be played in no other way")

// A job is one plan under way.
type job struct {
	*piece
	ctx     context.Context
	name    string
	file    *syntax.File
	opt     Options
	old     *check.Result
	stock   *stock
	people  []*person
	search  *search
	bounds  *bounder
	lower   float64
	why     []Reason
	crowded []int                // bars that lose something whoever plays what
	remarks []string             // what the file is to say of the plan, at its top
	apart   bool                 // given up as soon as somebody for each part in unison costs a stroke
	nearest map[*passage]refusal // of what is lost, the way of playing it that a check refused for the least
	vain    map[try]float64      // what somebody has too little time for, whatever others do, and by how much
	lates   map[try]bool         // what they would have too little time for at the slower tempo that is tried
	bareOf  *draft               // the plan from which something was tried last, and that without what it says of what is left out
	bareIs  *draft
	sets    []*setUp // by person: where things stand, once that is settled
	// loose is what players' blocks say besides cues and cannot go on saying, by player.
	loose  map[string]map[string]bool
	brings []trial // what would bring back what is lost
	blocks blocks
	tries  map[string]*weighed // plans that are tried, while that is going on
}

func (j *job) checks() check.Options {
	return j.opt.checks()
}

// checks is how a file is checked that these options plan.
func (o *Options) checks() check.Options {
	return check.Options{Score: score.Options{TempoFactor: o.TempoFactor, Profile: o.Usual, Uses: o.Uses}, Load: o.Load}
}

func newJob(ctx context.Context, name string, f *syntax.File, opt Options, unite bool) (*job, error) {
	j := blank(ctx, name, f, opt)
	j.old = check.Check(name, f, j.checks())
	if err := j.sound(); err != nil {
		return nil, err
	}
	j.stock = newStock(j.old.Score, opt.AtTheEdge, cmp.Or(opt.asked, newInquiry()))
	j.stock.hardware, j.stock.less = opt.hardware, opt.less
	return j, j.begin(unite)
}

func blank(ctx context.Context, name string, f *syntax.File, opt Options) *job {
	return &job{ctx: ctx, name: name, file: f, opt: opt, loose: map[string]map[string]bool{}, nearest: map[*passage]refusal{}, vain: map[try]float64{}, lates: map[try]bool{}}
}

// united is another job for the same file, in which what parts have in unison is one. What is
// known of the changes that people make serves both.
func (j *job) united() (*job, error) {
	one := blank(j.ctx, j.name, j.file, j.opt)
	one.old, one.stock = j.old, j.stock
	return one, one.begin(true)
}

// begin reads what there is to plan, and for whom.
func (j *job) begin(unite bool) error {
	weights, opt := DefaultWeights(), &j.opt
	if opt.Weights != nil {
		weights = *opt.Weights
	}
	j.piece = take(j.old.Score, weights, opt.Keep, unite, j.pace)
	switch {
	case len(j.passages) == 0 && j.old.Score.Coverage.Omitted > 0:
		return errors.New("all that is written here is left out by omit lines: a plan needs something to be covered")
	case len(j.old.Score.Parts) == 0 || len(j.passages) == 0:
		return errors.New("nothing is written here to be covered: a plan needs a part with a line of bars, as in  part \"Percussion 1\"")
	case len(j.passages) > maxPassages:
		return fmt.Errorf("written out, the lines of this piece have %d bars with something in them; a plan takes at most %d", len(j.passages), maxPassages)
	}
	if opt.StandIns {
		j.stock.letStandIn(j.tracks)
	}
	if err := j.cast(); err != nil {
		return err
	}
	for _, q := range j.passages {
		j.stock.choose(q)
	}
	j.ownOnly()
	j.takeToday(j.stock, j.people)
	j.takeShared(j.stock, j.people)
	j.onlyTheirs()
	if err := j.keep(); err != nil {
		return err
	}
	j.onlyNew()
	quickest := j.people[0]
	for _, who := range j.people {
		if who.profile.FloorScale < quickest.profile.FloorScale {
			quickest = who
		}
	}
	j.bounds = newBounder(j.people, quickest.changer, j.stock)
	return j.able()
}

// pace is the least time in which every one of the cast repeats strokes with one hand, as an
// instrument is usually played.
func (j *job) pace(in *kit.Instrument) float64 {
	var ch kit.Choice
	if usual := in.Usual().With; len(usual) > 0 {
		ch = usual[0]
	}
	floors := motion.FloorsOf(in, in.Usual(), ch, j.stock.catalogue.Implement(ch.Implement), false)
	profile := body.Experienced()
	if p, ok := body.ProfileNamed(j.opt.Profile); ok {
		profile = p
	}
	least := floors(&profile).One
	for _, p := range j.old.Score.Players {
		least = max(least, floors(&p.Profile).One)
	}
	return least
}

// sound refuses a piece whose own text is in error: no plan mends that.
func (j *job) sound() error {
	if j.opt.open {
		return nil
	}
	bare := check.Check(j.name, syntax.Parse(j.strip(func(string) bool { return false }).text()), j.checks())
	for i := range bare.Findings {
		fd := &bare.Findings[i]
		if fd.Severity == check.Error && fd.Rule.Name != check.RuleUncovered {
			return fmt.Errorf("the written parts cannot be planned as they stand: %s (%s); handful check says where", fd.Message(), fd.Rule.Name)
		}
	}
	return nil
}

// cast finds out for whom the plan is.
func (j *job) cast() error {
	o := &j.opt
	var names []string
	file := map[string]bool{}
	for _, p := range j.old.Score.Players {
		file[p.Name] = true
	}
	for _, out := range o.Without {
		if !file[out] {
			if near := syntax.Nearest(out, slices.Sorted(maps.Keys(file))); near != "" {
				return fmt.Errorf("no player is called %s here; did you mean %s?", out, near)
			}
			return fmt.Errorf("no player is called %s here", out)
		}
	}
	add := func(n string) {
		if !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	for _, n := range o.Names {
		if n == "" {
			return errors.New("a player has a name")
		}
		add(n)
	}
	if len(names) == 0 {
		for _, p := range j.old.Score.Players {
			if !slices.Contains(o.Without, p.Name) {
				add(p.Name)
			}
		}
	}
	switch {
	case o.Players < 0:
		return errors.New("there cannot be fewer than no players")
	case o.Players > maxPlayers || len(names) > maxPlayers:
		return fmt.Errorf("a plan is made for at most %d players", maxPlayers)
	case o.Players > 0 && len(o.Names) > o.Players:
		return fmt.Errorf("%d players are named and %d asked for", len(o.Names), o.Players)
	case o.Players > 0 && o.Keep && len(names) > o.Players:
		return fmt.Errorf("the cues of %d players are to be kept, and only %d are to play: give them the number they are, or leave some out by name", len(names), o.Players)
	case o.Players > 0:
		names = names[:min(len(names), o.Players)]
		for k := 1; len(names) < o.Players; k++ {
			add(numberName(k))
		}
	}
	if len(names) == 0 {
		return errors.New("nobody is there to play: say how many players there are, or name them")
	}
	profile := body.Experienced()
	if o.Profile != "" {
		var ok bool
		if profile, ok = body.ProfileNamed(o.Profile); !ok {
			return fmt.Errorf("there is no profile %s: student, experienced or professional", o.Profile)
		}
	}
	changers := map[body.Profile]*changer{}
	for i, n := range names {
		who := &person{name: n, profile: profile, at: i}
		if p := j.old.Score.Player(n); p != nil {
			who.profile, who.who = p.Profile, p.Person
		}
		if changers[who.profile] == nil {
			changers[who.profile] = newChanger(j.old.Score, j.stock, who.profile)
		}
		who.changer = changers[who.profile]
		j.people = append(j.people, who)
	}
	j.standAlready()
	return nil
}

// numberName is what somebody is called who has no name yet.
func numberName(k int) string {
	words := []string{"One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten", "Eleven", "Twelve"}
	if k <= len(words) {
		return words[k-1]
	}
	return fmt.Sprintf("Player %d", k)
}

// keep makes today's cues fast where nothing of them may change.
func (j *job) keep() error {
	if !j.opt.Keep {
		return nil
	}
	for i := range j.old.Findings {
		f := &j.old.Findings[i]
		if f.Severity == check.Error && f.Rule.Name != check.RuleUncovered && !j.opt.open && slices.ContainsFunc(j.people, func(p *person) bool { return p.name == f.Player }) {
			return fmt.Errorf("the cues that are to be kept cannot all be played: %s", f.Message())
		}
	}
	for _, q := range j.passages {
		q.closed = q.today.player < 0 && j.opt.only != nil && !j.asked(q)
		q.fixed = q.today.player >= 0 || q.closed
	}
	for _, p := range j.old.Score.Players {
		for _, c := range p.Cues {
			for _, t := range j.tracks {
				if t.name == c.Voice && (c.Of == "" || c.Of == t.part.Name) {
					for _, q := range t.bars {
						if !q.fixed && q.bar >= c.From && q.bar <= c.To && q.touched(c) && slices.ContainsFunc(j.people, func(w *person) bool { return w.name == p.Name }) {
							j.half(q)
						}
					}
				}
			}
		}
	}
	return nil
}

// half leaves a passage as it is of which cues play something that is not all of it at once: some of its
// strokes, or what is for one pass alone. What they play all of in the end is not lost.
func (j *job) half(q *passage) {
	q.fixed = true
	for _, p := range j.old.Score.Players {
		if !j.plays(p.Name) {
			return // what they had of it is gone
		}
	}
	if !slices.ContainsFunc(append([]*passage{q}, q.unison...), j.uncovered) {
		q.closed, q.weight = true, 0
	}
}

// uncovered says whether the file has a stroke of a passage that nobody plays.
func (j *job) uncovered(q *passage) bool {
	return slices.ContainsFunc(j.old.Score.Coverage.Uncovered, func(g score.Gap) bool {
		if g.Line.Name != q.track.name || !slices.Contains(q.track.part.Lines, g.Line) {
			return false
		}
		for i := g.First; i <= g.Last; i++ {
			if int(g.Line.Strokes[i].Bar) == q.bar {
				return true
			}
		}
		return false
	})
}

func (q *passage) touched(c *score.Cue) bool {
	for i := range c.Strokes {
		if int(c.Strokes[i].Bar) == q.bar && c.Strokes[i].Sounds() {
			return true
		}
	}
	return false
}

// able refuses a cast that cannot play anything at all.
func (j *job) able() error {
	if j.opt.unable {
		return nil
	}
	if slices.ContainsFunc(j.passages, j.someone) {
		return nil
	}
	return errors.New("nobody in this cast can play a single stroke of what is written: every line is too fast, has no way of playing with ordinary gear, is what these players cannot or never play, or is for what the gear has none of")
}

// rest lets go of what a search has found out and only a further search would ask for: other
// plans are made meanwhile.
func (j *job) rest() {
	j.search.moves, j.search.alike, j.search.barren, j.search.shelf, j.search.scratch = nil, nil, map[stretchOf]uint64{}, &shelf{}, &scratch{}
	for _, who := range j.people {
		who.changer.rest()
	}
	j.blocks.known, j.bareOf, j.bareIs = nil, nil, nil
}

// giveUp lets go of all that a plan was made with, so that there is room for another one;
// begin brings it back.
func (j *job) giveUp() {
	j.piece, j.people, j.search, j.bounds, j.sets, j.blocks.known, j.bareOf, j.bareIs = nil, nil, nil, nil, nil, nil, nil, nil
}

// bound is the least weight that any plan loses: bars have no stroke in common,
// so that what each must lose adds up.
func (j *job) bound() {
	for i, bar := range j.bars {
		if lost := j.bounds.crowding(bar).lost; lost > 1e-9 {
			j.lower += lost
			j.crowded = append(j.crowded, i)
		}
	}
}

// mustLose sums up from the beginning what each bar loses whoever plays what.
func (j *job) mustLose() []float64 {
	sums := make([]float64, len(j.bars)+1)
	for i, bar := range j.bars {
		sums[i+1] = sums[i] + j.bounds.crowding(bar).lost
	}
	return sums
}

func (j *job) tell(stage string, done, of int, value float64) {
	if j.opt.Progress != nil {
		j.opt.Progress(Progress{stage, done, of, value, j.lower})
	}
}

// width is how many ways are kept at each bar: wide where the piece is short.
func (j *job) width() int {
	w := 4000 / max(1, len(j.passages))
	return min(48, max(12, w)) * max(1, j.opt.Effort)
}

func (j *job) plan() (Plan, error) {
	if j.why == nil {
		j.bound()
		j.why = j.reasons()
	}
	j.open()
	if err := j.noFloor(); err != nil {
		return Plan{}, err
	}
	if !j.hasNew() {
		return Plan{}, errNothingNew
	}
	if j.opt.idle {
		d, err := j.finished(j.kept())
		if err != nil {
			return Plan{}, err
		}
		return j.finish(d)
	}
	if j.apart && j.doubled && j.lower > 1e-9 && j.ctx.Err() == nil {
		return Plan{}, errOneForAll // something is lost, whatever is done
	}
	d, err := j.foundInStyle()
	if err != nil {
		return Plan{}, err
	}
	return j.finish(d)
}

// foundInStyle is the best plan of several beginnings, found with style weighed as usual, so that what is
// lost does not depend on how it is weighed, and then played as somebody weighs it.
func (j *job) foundInStyle() (*draft, error) {
	own := j.weights
	j.weights = own.usualStyle()
	d, err := j.found()
	if err != nil || j.weights == own {
		return d, err
	}
	j.weights = own
	j.search.moves = nil
	j.search.laid++ // what it costs is another sum
	return j.polish(d), nil
}

// found is the best plan of several beginnings, finished.
func (j *job) found() (*draft, error) {
	var all []plays
	var others [][]plays
	j.search.ready()
	aside := *j.search // or as a section leader begins
	begin := func(i int) {
		if i == 0 {
			all = j.begun()
		} else if j.ctx.Err() == nil {
			others = aside.statics(j.ctx)
		}
	}
	if j.short() || !j.apart || !j.doubled {
		atOnce(2, begin)
	} else if begin(0); j.oneForAll(all) {
		return nil, errOneForAll
	} else {
		begin(1)
	}
	starts := [][]plays{all}
	for _, other := range others {
		if lost := j.value(other); lost > j.value(all)+1e-9 && j.hasNoMore() {
			continue
		} else if lost > j.lower+1e-9 {
			other = j.better(other, betterWays, everywhere)
		}
		starts = append(starts, other)
	}
	j.search.tidyAll(j.ctx, starts)
	starts = j.bestFirst(starts)
	if j.oneForAll(starts[0]) {
		return nil, errOneForAll
	}
	if j.farAbove(starts[0]) {
		return nil, errNoLess
	}
	return j.bestOf(starts)
}

// open begins a search in which nothing stands anywhere yet.
func (j *job) open() {
	j.search = newSearch(j.piece, j.people, j.width())
	j.search.in = j.mustLose()
	j.search.room = len(spotsIn(j.opt.Wide, j.opt.Deep))
	j.sets = make([]*setUp, len(j.people))
	for _, who := range j.people {
		who.cramped = nil
	}
}

// What is told of how far a plan has come: while it is begun, while things are laid out, and while
// it is mended that a check objects to.
const (
	betterWays = "better ways"
	whoHasRoom = "who has room for what"
	mending    = "mending"
)

// begun is a first plan: where something is lost and things may be fixed otherwise than as a
// rule, begun so and as a rule, whatever loses less.
func (j *job) begun() []plays {
	begin := func() []plays {
		all := j.search.run(j.ctx, func(done int) { j.tell("who plays what", done, len(j.bars), j.written) })
		return j.better(all, betterWays, everywhere)
	}
	all := begin()
	if j.value(all) <= j.lower+1e-9 || len(j.search.refixable()) == 0 || j.ctx.Err() != nil {
		return all
	}
	j.search.asRule = true
	plain := begin()
	j.search.asRule = false
	j.search.laid++ // what was barren need not be any more
	if plain = j.better(plain, betterWays, everywhere); j.value(plain) < j.value(all)-1e-9 {
		return plain
	}
	return all
}

// hasNoMore says whether a static beginning that loses more than another one is let go of: in
// long pieces, and in those of which all is let go of as soon as anything is lost.
func (j *job) hasNoMore() bool {
	return len(j.passages) > goneOnWork/mostGoneOn || j.apart && j.doubled
}

// bestOf is the finished plan of the best start, or the one made for its sound where that
// loses no more and costs less. Where something is lost in a piece that is not short, only the better
// of them is made easier.
func (j *job) bestOf(starts [][]plays) (*draft, error) {
	before := j.places()
	all, err := j.settleOneOf(starts)
	if err != nil {
		return nil, err
	}
	if j.farAbove(all) {
		return nil, errNoLess
	}
	write := j.finished
	race := !j.short() && j.value(all) > 1e-9
	if race {
		write = j.given
	}
	d, err := write(all)
	if err != nil || j.long() && !race {
		return d, err
	}
	if !j.long() {
		if other := j.sharedOut(starts, before, all, d, write); other != nil {
			d = other
		}
		if there := j.places(); j.short() || !j.opt.brings.isTrial() {
			if other := j.sounding(starts, before, d, write, race); other != nil {
				d = other
			} else {
				j.putBack(there)
			}
		}
	}
	switch {
	case j.losesMore(d):
		return nil, errNoLess
	case race:
		return j.eased(d), nil
	}
	return d, nil
}

// mostSharedOut is for how many starts everybody's room is shared out anew.
const mostSharedOut = 3

// sharedOut is the finished plan of the start that loses least where everybody's room is shared out
// anew, instead of one thing given up after the other, if it loses less than a plan that a check has
// taken more from than was lost when things had been laid out; else nil.
func (j *job) sharedOut(starts [][]plays, before []place, settled []plays, d *draft, write func([]plays) (*draft, error)) *draft {
	if j.value(d.all) <= j.value(settled)+1e-9 || !j.cramps() {
		return nil
	}
	there := j.places()
	var best []plays
	var places []place
	for i, all := range starts {
		if i >= min(mostSharedOut, settleWork/len(j.passages)) || j.ctx.Err() != nil {
			break
		}
		j.putBack(before)
		if all, err := j.settled(slices.Clone(all), j.withRoomInALongPiece); err == nil && (best == nil || j.value(all) < j.value(best)-1e-9) {
			best, places = all, j.places()
		}
	}
	if best != nil && j.value(best) < j.value(d.all)-1e-9 {
		j.putBack(places)
		if other, err := write(best); err == nil && j.value(other.all) < j.value(d.all)-1e-9 {
			return other
		}
	}
	j.putBack(there)
	return nil
}

// sounding is a plan made for its sound from the beginning, of the start that sounds best
// of those that lose as little as the first; nil where there is none that is better than another plan.
// What a check objects to later may cost it more than another. In a race neither is made easier yet.
func (j *job) sounding(starts [][]plays, before []place, than *draft, write func([]plays) (*draft, error), race bool) (d *draft) {
	if j.ctx.Err() != nil {
		return nil
	}
	j.putBack(before)
	j.search.listening(func() {
		all, err := j.settle(j.soundsBest(starts))
		if err != nil || race && j.value(all) > j.value(than.all)+few {
			return
		}
		if d, err = write(all); err != nil {
			d = nil
		}
	})
	if d == nil {
		return nil
	}
	if less := j.value(than.all) - j.value(d.all); less > 1e-9 || less >= -1e-9 && (!race || len(d.warnings()) <= len(than.warnings())) && j.easier(d, than) {
		return d
	}
	return nil
}

// soundsBest is the start that sounds best of those that lose as little as the first, tidied.
func (j *job) soundsBest(starts [][]plays) (best []plays) {
	least := 0.0
	var alike [][]plays
	for _, all := range starts {
		if j.value(all) <= j.value(starts[0])+1e-9 {
			alike = append(alike, slices.Clone(all))
		}
	}
	j.search.tidyAll(j.ctx, alike)
	for _, all := range alike {
		if c := j.search.costs(all); best == nil || c < least {
			best, least = all, c
		}
	}
	return best
}

// oneForAll says whether something is lost that hands would be free for if parts in
// unison were played by one.
func (j *job) oneForAll(all []plays) bool {
	return j.apart && j.doubled && j.ctx.Err() == nil && j.value(all) > 1e-9
}

// better gives back what is lost wherever that can be done. In long pieces it is not asked any more
// who else could have a thing once a check is asked.
func (j *job) better(all []plays, stage string, want func(bar int) bool) []plays {
	all = j.givenBack(all)
	if !j.long() || stage != mending {
		all = j.search.entrust(j.ctx, all)
	}
	return j.search.redo(j.ctx, all, j.rounds(stage), want, func(round int, all []plays) { j.tell(stage, round+1, mostRounds, j.value(all)) })
}

// rounds is how often stretches are given away anew: in a long piece once, until everything has
// its place.
func (j *job) rounds(stage string) int {
	if j.long() && (stage == betterWays || stage == whoHasRoom) {
		return 1
	}
	return mostRounds
}

// givenBack gives back what is lost where that can be done at once.
func (j *job) givenBack(all []plays) []plays {
	return j.search.refix(j.ctx, j.search.gather(j.ctx, j.search.improve(j.ctx, all)))
}

func everywhere(int) bool { return true }

// bestFirst puts what loses least first, and of those what costs least; what is there twice
// stays once.
func (j *job) bestFirst(starts [][]plays) [][]plays {
	type start struct {
		all         []plays
		value, cost float64
	}
	list := make([]start, len(starts))
	for i, all := range starts {
		list[i] = start{all, j.value(all), j.search.costs(all)}
	}
	slices.SortStableFunc(list, func(a, b start) int {
		if d := a.value - b.value; math.Abs(d) >= 1e-9 {
			return cmp.Compare(a.value, b.value)
		}
		return cmp.Compare(a.cost, b.cost)
	})
	for i := range list {
		starts[i] = list[i].all
	}
	return slices.CompactFunc(starts, slices.Equal)
}

// settleOneOf settles the best start, and as long as more is lost than must be, the next
// ones too: how much is possible is only seen once everything has its place.
func (j *job) settleOneOf(starts [][]plays) ([]plays, error) {
	before := j.places()
	var best []plays
	var there []place
	var failed error
	for i, all := range starts {
		if i > 0 && (j.ctx.Err() != nil || i >= settleWork/len(j.passages) || best != nil && j.value(best) <= j.lower+1e-9) {
			break
		}
		j.putBack(before)
		settled, err := j.settle(all)
		if err != nil {
			if failed == nil {
				failed = err
			}
			continue
		}
		if best == nil || j.value(settled) < j.value(best)-1e-9 {
			best, there = settled, j.places()
		}
	}
	if best == nil {
		return nil, failed
	}
	j.putBack(there)
	return best, nil
}

// settleWork is for how many bars of lines places are tried out: as many starts of a
// short piece, one of a long one.
const settleWork = 1_500

// A place is where somebody's things stand, what changes take there, and what there is
// no room for.
type place struct {
	set     *setUp
	changer *changer
	cramped map[*kit.Instrument]bool
}

func (j *job) places() []place {
	out := make([]place, len(j.people))
	for i, who := range j.people {
		out[i] = place{j.sets[who.at], who.changer, maps.Clone(who.cramped)}
	}
	return out
}

func (j *job) putBack(places []place) {
	for i, who := range j.people {
		j.sets[who.at], who.changer, who.cramped = places[i].set, places[i].changer, maps.Clone(places[i].cramped)
	}
	j.search.laid++
}

// settle decides where things stand, and gives away anew what that makes
// impossible.
func (j *job) settle(all []plays) ([]plays, error) {
	if j.long() {
		return j.settled(all, j.withRoomInALongPiece)
	}
	return j.settled(all, j.withRoom)
}

// cramps says whether somebody has no room for something that they could play.
func (j *job) cramps() bool {
	return slices.ContainsFunc(j.people, func(who *person) bool { return len(who.cramped) > 0 })
}

func (j *job) settled(all []plays, withRoom func([]plays) ([]plays, error)) ([]plays, error) {
	all, err := withRoom(all)
	if err != nil {
		return nil, err
	}
	all = j.better(j.search.yield(all), "with everything in its place", everywhere)
	if j.long() {
		if err := j.placesForNew(all); err != nil {
			return nil, err
		}
	}
	for range 2 { // what the changes really need, all together
		d, err := j.draft(all, nil)
		if err != nil {
			return nil, err
		}
		bars := j.learn(d)
		if len(bars) == 0 {
			break
		}
		all = j.better(j.search.yield(all), "with everything in its place", everywhere)
	}
	return j.search.tidy(j.ctx, all), nil
}

// long says whether a piece is too long for everything to be tried at each step.
func (j *job) long() bool { return len(j.passages) > settleWork }

// layOut decides where everybody's things stand.
func (j *job) layOut(all []plays) error { return j.layOutAgain(all, false) }

// layOutAgain does that too; what has a place already may stay where it is.
func (j *job) layOutAgain(all []plays, staying bool) error {
	j.search.laid++
	sets, errs := make([]*setUp, len(j.people)), make([]error, len(j.people))
	atOnce(len(j.people), func(i int) {
		who := j.people[i]
		var earlier *setUp
		if staying {
			earlier = j.sets[who.at].standing()
		}
		sets[i], errs[i] = layOut(j.piece, who, all, j.listed(who), earlier, j.opt.Wide, j.opt.Deep)
	})
	for i, who := range j.people {
		if errs[i] != nil {
			return errs[i]
		}
		j.standAs(who, sets[i])
	}
	return nil
}

// standing is a set-up of what is played and has room in it.
func (s *setUp) standing() *setUp {
	out := *s
	out.byName, out.spare = maps.Clone(s.byName), nil
	maps.DeleteFunc(out.byName, func(_ string, t *thing) bool { return t.noRoom })
	return &out
}

// value is the weight of what nobody plays.
func (p *piece) value(all []plays) float64 {
	v := 0.0
	for _, q := range p.passages {
		if all[q.id].player < 0 {
			v += q.weight
		}
	}
	return v
}

// draft is a plan as a text, checked.
type draft struct {
	all      []plays
	out      *assembly
	result   *check.Result
	edge     bool            // what is at the edge may stand
	oneByOne bool            // what several people stand at changes hands with time to spare
	bare     bool            // nothing is said in it of what is left out
	before   []check.Finding // errors of the file that may stand as they do
	paid     payment         // what it costs
}

// A payment is what a plan costs while things stand as they were laid out some time.
type payment struct {
	cost float64
	laid int // one more than how often things had been laid out
}

func (j *job) draft(all []plays, old *check.Result) (*draft, error) {
	out, err := j.assemble(all, j.omits(all))
	if err != nil {
		return nil, err
	}
	text := out.text()
	d := &draft{all: all, out: out, edge: j.opt.AtTheEdge, oneByOne: j.oneByOne, before: j.standing()}
	if old != nil {
		d.result = check.Recheck(old, syntax.Reparse(text, old.File))
	} else {
		d.result = check.Check(j.name, syntax.Parse(text), j.checks())
	}
	return d, nil
}

// bareDraft is a draft in which nothing is said of what is left out, so that only the lines of
// those are others than before who play something else; what it finds may be taken over.
func (j *job) bareDraft(all []plays, old *check.Result) (*draft, error) {
	out, err := j.assemble(all, nil)
	if err != nil {
		return nil, err
	}
	opt := j.checks()
	opt.Score.Remember = true
	result := check.RecheckWith(old, syntax.Reparse(out.text(), old.File), opt)
	return &draft{all: all, out: out, edge: j.opt.AtTheEdge, oneByOne: j.oneByOne, bare: true, before: j.standing(), result: result}, nil
}

// A sketch is a draft, or why there is none.
type sketch struct {
	*draft
	err error
}

// sketches are bare drafts of some plans, made side by side.
func (j *job) sketches(list [][]plays, old *check.Result) []sketch {
	out := make([]sketch, len(list))
	atOnce(len(list), func(i int) { out[i].draft, out[i].err = j.bareDraft(list[i], old) })
	return out
}

// finished is a plan made, with what a check lets be given back, and easier.
func (j *job) finished(all []plays) (*draft, error) {
	d, err := j.given(all)
	if err != nil || j.opt.idle {
		return d, err
	}
	return j.eased(d), nil
}

// given is a plan written down, checked, and mended until no error is left, with what is lost given back
// wherever a check lets it be.
func (j *job) given(all []plays) (*draft, error) {
	d, err := j.draft(all, nil)
	if err != nil {
		return nil, err
	}
	if d, err = j.mend(d); err != nil || j.opt.idle {
		return d, err
	}
	return j.rescue(d), nil
}

// eased is a plan made easier, with whole phrases left out where that loses no more. A trial in a piece that
// is not short is only asked what it loses.
func (j *job) eased(rescued *draft) *draft {
	if j.opt.brings.isTrial() && !j.short() {
		return rescued
	}
	d := j.polished(rescued)
	if j.opt.brings != nil || j.value(d.all) <= 1e-9 {
		return d
	}
	d = j.wholePhrases(d)
	if next := j.givenBackBeside(d); next != d {
		d = j.polish(next)
	}
	return d
}

// polished is a plan made easier; who plays otherwise then may have a hand free for what is lost.
func (j *job) polished(rescued *draft) *draft {
	d := j.polish(rescued)
	for d != rescued && j.value(d.all) > 1e-9 {
		if rescued = j.rescue(d); rescued == d {
			break
		}
		d = j.polish(rescued)
	}
	return d
}

// finish says how good a finished plan is.
func (j *job) finish(d *draft) (Plan, error) {
	if !j.opt.idle {
		d = j.inFileOrder(j.sideBySide(j.inOrderOfPeople(d)))
	}
	if now := j.today(); now != nil && j.value(now.all) <= j.value(d.all) && (j.opt.brings == nil || !slices.Equal(now.all, d.all)) {
		if now = j.rescue(now); j.value(now.all) < j.value(d.all) || j.value(now.all) == j.value(d.all) && j.moved(now.all) < j.moved(d.all) && !j.joins(d, now) {
			d = now
		}
	}
	if j.opt.Sentences && j.ctx.Err() == nil && j.speaks(j.value(d.all)) {
		j.remarks = j.sentences(d)
		if again, err := j.draft(d.all, d.result); err == nil {
			d = again
		}
	}
	if lost := unsaid(j.file, d.result.File.Text(), j.plays); lost != "" {
		return Plan{}, fmt.Errorf("the plan is not written, since it would lose what the file says: %s", lost)
	}
	edits := d.out.edits()
	p := Plan{Text: d.result.File.Text(), Edits: edits, Result: d.result, Value: j.value(d.all), Bound: j.lower, Written: j.written, Stopped: j.ctx.Err() != nil}
	p.Gap = gap(p.Value, p.Bound, p.Written)
	p.Lost = j.losses(d.all)
	p.Why, p.Sentences, p.beyond, p.Borrowed = j.why, j.remarks, j.hardwareOf(d.all), j.borrowed(d.all)
	p.stoodIns = j.stoodIns(d.all)
	p.beyondUsual = j.any(func(o *option) bool { return o.extra })
	p.unusual = p.beyondUsual || len(j.passages) <= settleWork && j.any(func(o *option) bool { return o.otherwise })
	p.Moved = j.moved(d.all)
	p.brings = j.brings
	for _, l := range d.out.lines {
		p.fresh = append(p.fresh, l.old < 0)
	}
	j.tell("done", len(j.bars), len(j.bars), p.Value)
	return p, nil
}

// speaks says whether something is to be said of a plan that loses so much.
func (j *job) speaks(value float64) bool {
	if value >= j.written-1e-9 && !j.opt.unable {
		return false // it is no plan
	}
	return (!j.opt.terse || value <= 1e-9) && (j.opt.under == 0 || value < j.opt.under-1e-9)
}

// any says whether something could be played in some way.
func (j *job) any(of func(o *option) bool) bool {
	return slices.ContainsFunc(j.passages, func(q *passage) bool {
		for i := range q.options {
			if of(&q.options[i]) {
				return true
			}
		}
		return false
	})
}

// joins says whether a plan is for somebody as well of whom the file has nothing yet, and
// sounds better for it than what the file has: then who comes to help is not left idle.
func (j *job) joins(d, now *draft) bool {
	return slices.ContainsFunc(j.people, func(p *person) bool { return j.old.Score.Player(p.name) == nil }) &&
		len(d.of(check.Compromise)) < len(now.of(check.Compromise)) && len(d.warnings()) <= len(now.warnings())
}

// inFileOrder is a plan with its cues in the order in which the file has their lines, as
// one would write them, if a check has no more against it then. While a plan is made
// they stand in an order that no other order of the parts would change.
func (j *job) inFileOrder(d *draft) *draft {
	j.asFile = true
	next, err := j.draft(d.all, d.result)
	if err == nil && len(next.errors()) <= len(d.errors()) && len(next.warnings()) <= len(d.warnings()) {
		return next
	}
	j.asFile = false
	return d
}

// today is the plan that the file itself is, if a check finds no error in it:
// a new plan is never worse than that one.
func (j *job) today() *draft {
	if len(j.opt.Without) > 0 {
		return nil
	}
	all := make([]plays, len(j.passages))
	any := false
	for _, q := range j.passages {
		all[q.id] = q.today
		any = any || q.today.player >= 0
	}
	if !any {
		return nil
	}
	d, err := j.draft(all, nil)
	if err != nil || len(d.errors()) > 0 {
		return nil
	}
	return d
}

// moved is how many passages a plan plays otherwise than the file does.
func (j *job) moved(all []plays) int {
	n := 0
	for _, q := range j.passages {
		if q.today.player >= 0 && all[q.id] != q.today {
			n++
		}
	}
	return n
}

// mostReasons is how many moments are named.
const mostReasons = 8

func (j *job) reasons() []Reason {
	var out []Reason
	for _, i := range j.crowded {
		out = append(out, j.bounds.reason(j.piece, j.bars[i]))
	}
	slices.SortStableFunc(out, func(a, b Reason) int {
		switch {
		case a.Weight > b.Weight:
			return -1
		case a.Weight < b.Weight:
			return 1
		}
		return a.Bar - b.Bar
	})
	return out[:min(len(out), mostReasons)]
}

// losses are the stretches that nobody plays, with their reasons. Bars of one phrase that no
// hand is free for are one stretch, whatever the hands have in each.
func (j *job) losses(all []plays) []Loss {
	var out []Loss
	for _, t := range j.lines {
		last := -1
		var why cause
		var least refusal
		for i, q := range t.bars {
			if all[q.id].player >= 0 || q.closed || q.fixed && q.today.player >= 0 {
				continue
			}
			now := j.because(all, q)
			notes, weight := q.of(t)
			n := len(out) - 1
			next := last >= 0 && last == i-1 && !t.silentBetween(out[n].To, q.bar)
			if !next || !why.like(&now, t.cuts[i] > 0) {
				out, n, why, least = append(out, Loss{Part: t.part.Name, Line: t.name, Called: t.called(), From: q.bar, goesOn: next && t.cuts[i] > 0}), n+1, now, refusal{}
			}
			why.add(&now)
			out[n].To = j.through(t, i)
			out[n].Strokes += notes
			out[n].Rolls += q.in(t).rolls()
			out[n].Weight += weight
			if r := j.nearest[q]; r.words != "" && now.kind == noTime && (least.words == "" || r.short < least.short) {
				least = r
			}
			out[n].Because = why.words(least)
			last = i
		}
	}
	return out
}

// A cause is why a passage is left out.
type cause struct {
	kind   string
	beside []string // what the hands have, where none is free
	lacks  string   // without what it takes so many
}

// like says whether another cause is the same, or but for what the hands have where that
// makes no difference.
func (c *cause) like(o *cause, whatever bool) bool {
	return c.kind == o.kind && c.lacks == o.lacks && (whatever || slices.Equal(c.beside, o.beside))
}

func (c *cause) add(o *cause) {
	for _, name := range o.beside {
		if !slices.Contains(c.beside, name) {
			c.beside = append(slices.Clip(c.beside), name)
		}
	}
}

func (c *cause) words(least refusal) string {
	switch {
	case c.kind == noHand:
		return noHand + list(c.beside) + c.lacks
	case least.words != "":
		return c.kind + ": " + least.player + least.words
	}
	return c.kind
}

// notes is how many strokes a passage has as a report counts them: a chord as its notes.
func (q *passage) notes() int { return q.sounds + q.track.more[q.bar] }

// of is what a passage has of a line: how many strokes, and what they weigh.
func (q *passage) of(t *track) (notes int, weight float64) {
	if o := q.in(t); o != q {
		return o.notes(), o.weight
	}
	weight = q.weight
	for _, o := range q.unison {
		weight -= o.weight
	}
	return q.notes() - q.others, weight
}

// in is what a passage is in a line that has it in unison with others.
func (q *passage) in(t *track) *passage {
	if i := slices.IndexFunc(q.unison, func(o *passage) bool { return o.track == t }); i >= 0 {
		return q.unison[i]
	}
	return q
}

// rolls is how many of a passage's strokes are rolls.
func (q *passage) rolls() (n int) {
	for i := range q.strokes {
		if st := &q.strokes[i]; st.Sounds() && st.Has(score.Roll) {
			n++
		}
	}
	return n
}

// through is the last bar of a line up to which one of its passages sounds before the next begins.
func (j *job) through(t *track, i int) int {
	q := t.bars[i].in(t)
	last := q.bar
	for k := range q.strokes {
		for q.strokes[k].Has(score.Roll) && last < j.score.Grid.Last() && j.score.Grid.Start(last+1).Less(q.strokes[k].End) {
			last++
		}
	}
	if i+1 < len(t.bars) {
		last = min(last, t.bars[i+1].bar-1)
	}
	return last
}

// called is a line's instrument in words, or where the file has a name of its own for it, that.
func (t *track) called() string {
	if t.name == t.inst.ID {
		return t.inst.Name()
	}
	return t.name
}

// Why something is left out, as a plan says it: how each begins. Another plan
// knows its own by them, and thinks again.
const (
	noWay    = "there is no way of playing it with ordinary gear"
	noHand   = "no hand is free beside "
	noTime   = "no free hand gets there in time"
	nobodyIn = "nobody gets there in time"
	noPerson = "it is what the players here cannot or never play"
	noGear   = "the gear has no more of it"
	noSpeed  = "it is too fast for the hands there are"
	noTurn   = "there is one of it, and somebody else has it just before or after"
	notAlone = "it is to stay with the one who plays the rest of it, who cannot play it there"
	noRoom   = "there is no room for it beside what those who are free have"
)

// ours says whether a reason is one that a plan gives.
func ours(reason string) bool {
	return strings.HasPrefix(reason, noHand) || slices.Contains([]string{noWay, noTime, nobodyIn, noSpeed, noPerson, noGear, noTurn, noRoom, notAlone}, kindOf(reason))
}

// kindOf is a reason without its figures.
func kindOf(reason string) string {
	reason, _, _ = strings.Cut(reason, inPart)
	kind, _, _ := strings.Cut(reason, ": ")
	return kind
}

// othersHave says whether a passage is to stay with something that somebody plays,
// while there are others for it to be given to.
func (j *job) othersHave(all []plays, q *passage) bool {
	for _, g := range q.groups {
		for _, o := range j.groups[g] {
			if who := all[o.id].player; who >= 0 && slices.ContainsFunc(j.people, func(p *person) bool { return p.at != int(who) && p.anyWould(q) }) {
				return true
			}
		}
	}
	return false
}

// within says whether somebody with a free hand has an instrument, or could have one more
// of it.
func (j *job) within(all []plays, in *kit.Instrument, taken map[int8]uint8) bool {
	have := j.having(all, in)
	return len(have) < j.limitOf(in) || slices.ContainsFunc(j.people, func(p *person) bool {
		return have[int8(p.at)] && bits.OnesCount8(taken[int8(p.at)]) < p.who.Hands().Count()
	})
}

// because is why a passage is left out, as one would say it at the stand.
func (j *job) because(all []plays, q *passage) cause {
	if len(q.options) == 0 {
		return cause{kind: noWay}
	}
	if !slices.ContainsFunc(q.options, func(o option) bool {
		return slices.ContainsFunc(j.people, func(p *person) bool { return o.quick(p) })
	}) {
		return cause{kind: noSpeed}
	}
	if !slices.ContainsFunc(j.people, func(p *person) bool { return p.anyWould(q) }) {
		if slices.ContainsFunc(j.people, func(p *person) bool { return len(p.cramped) > 0 }) {
			return cause{kind: noRoom}
		}
		return cause{kind: noPerson}
	}
	if !slices.ContainsFunc(q.options, func(o option) bool { return j.limitOf(o.inst) > 0 }) {
		return cause{kind: noGear}
	}
	if j.othersHave(all, q) {
		return cause{kind: notAlone}
	}
	var names []string
	busy := 0
	taken := map[int8]uint8{}
	for _, o := range j.passages { // in any bar: a roll may go on for long
		if all[o.id].player < 0 || o.sounds == 0 || !(o.t0 <= q.t1+1e-6 && q.t0 <= o.t1+1e-6) {
			continue
		}
		taken[all[o.id].player] |= all[o.id].slots & hands
		if n := o.track.inst.Name(); !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	for _, t := range taken {
		busy += bits.OnesCount8(t)
	}
	there := 0
	for _, p := range j.people {
		there += p.who.Hands().Count()
	}
	switch {
	case !slices.ContainsFunc(q.options, func(o option) bool { return j.within(all, o.inst, taken) }) && busy < there:
		return cause{kind: noGear}
	case len(names) == 0 && j.nearest[q].words == "":
		return cause{kind: nobodyIn}
	case there-busy < q.least:
		return cause{noHand, names, j.stock.lacking(q, q.roll)}
	case j.inOtherHands(all, q, taken):
		return cause{kind: noTurn}
	}
	return cause{kind: noTime}
}
