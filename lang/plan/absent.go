package plan

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

// An Absence is what becomes of a piece when somebody is not there: what that person
// played is given to the others where it fits beside what they play, and everything
// else stays as it is, to the letter. What a check objects to already stays so too.
type Absence struct {
	Without []string
	Before  *check.Result
	Plan    Plan // with the least change
	New     []NewCue
	Carry   []Carried
	Unused  []string        // things of whoever is not there that nobody uses now
	Open    []check.Finding // errors that were there before, and are left as they are
	Decide  []string        // what whoever leads has to say yes or no to
	// Other is a plan in which everything may be given away anew, where it loses less;
	// nil where there is none.
	Other *Plan
}

// A NewCue is a stretch of something that somebody plays who did not before.
type NewCue struct {
	Player, Limb string
	Instrument   string // what it is played on
	Of           string // the written line, where that is something else; else ""
	With         string // the implement, or ""
	From, To     int    // bars
	Mark         string // at which it begins, or ""
	Strokes      int
	Before       string  // what the hand does first, or ""
	Window, Easy float64 // seconds that there are for it, and that it takes without haste
	at           beat.Rat
}

// A Carried is a thing that goes to another place before the beginning.
type Carried struct {
	Player string // whose it becomes
	What   string
	Where  string // where it is put
	From   string // where it is now
	Lacks  bool   // nobody has one to spare
}

// How what the leader has to judge begins.
const (
	GoodEnough = "Is it good enough?"
	AllRight   = "Is that all right?"
)

// Absent plans a file without some of its players, with the least change.
func Absent(ctx context.Context, name string, f *syntax.File, opt Options) (*Absence, error) {
	if len(opt.Without) == 0 {
		return nil, errors.New("say who is not there")
	}
	least := opt
	least.Keep, least.open, least.Sentences = true, true, true
	p, err := File(ctx, name, f, least)
	if err != nil { // whatever they take over
		least.idle = true
		var idleErr error
		if p, idleErr = File(ctx, name, f, least); idleErr != nil {
			return nil, err
		}
	}
	a := &Absence{Without: slices.Clone(opt.Without), Plan: p}
	a.Before = check.Check(name, f, opt.checks())
	a.newCues()
	a.carry()
	a.open()
	if len(p.Lost) > 0 && ctx.Err() == nil {
		anew := opt
		anew.Keep = false
		if other, err := File(ctx, name, f, anew); err == nil && lostOf(&other) < lostOf(&p) {
			a.Other = &other
		}
	}
	a.decide()
	return a, nil
}

func lostOf(p *Plan) (n int) {
	for _, l := range p.Lost {
		n += l.Strokes
	}
	return n
}

// onlyTheirs is what those played who are not there, if nothing else is given away.
func (j *job) onlyTheirs() {
	if !j.opt.open || j.opt.only != nil || len(j.opt.Without) == 0 {
		return
	}
	theirs := map[*passage]bool{}
	for _, name := range j.opt.Without {
		for _, c := range j.old.Score.Player(name).Cues {
			for _, t := range j.tracks {
				if t.name != c.Voice || c.Of != "" && c.Of != t.part.Name {
					continue
				}
				for _, q := range t.bars {
					if q.bar >= c.From && q.bar <= c.To && q.touched(c) {
						theirs[q] = true
					}
				}
			}
		}
	}
	tracks := j.tracks // a job that goes on with these options may have given up its own
	j.opt.only = func(part, line string, bar int) bool {
		for _, t := range tracks {
			if i, ok := t.byBar[bar]; ok && t.part.Name == part && t.name == line && theirs[t.bars[i]] {
				return true
			}
		}
		return false
	}
}

// asked says whether a passage is among what is given away.
func (j *job) asked(q *passage) bool {
	for _, o := range append([]*passage{q}, q.unison...) {
		if j.opt.only(o.track.part.Name, o.track.name, o.bar) {
			return true
		}
	}
	return false
}

// kept is what stays as it is, and nothing else.
func (j *job) kept() []plays {
	all := make([]plays, len(j.passages))
	for i, q := range j.passages {
		all[i] = nobody
		if q.fixed {
			all[i] = q.today
		}
	}
	return all
}

// standing are the errors of the file that may stand as they do.
func (j *job) standing() []check.Finding {
	if !j.opt.open {
		return nil
	}
	var out []check.Finding
	for i := range j.old.Findings {
		if f := &j.old.Findings[i]; f.Severity == check.Error {
			out = append(out, *f)
		}
	}
	return out
}

// stood says whether an error was there before, and is no worse.
func (d *draft) stood(f *check.Finding) bool {
	return slices.ContainsFunc(d.before, func(o check.Finding) bool { return sameError(&o, f) })
}

func sameError(o, f *check.Finding) bool {
	switch {
	case o.Rule != f.Rule || o.Player != f.Player || o.HasPlace != f.HasPlace:
		return false
	case o.HasPlace && o.At != f.At:
		return o.Rule.Name == check.RuleUncovered && o.Message() == f.Message()
	case o.Timed && f.Timed:
		return f.Need.Limit <= o.Need.Limit+1e-6 && f.Window >= o.Window-1e-6
	}
	return true
}

// newCues lists what is played by somebody who did not play it before, in the order
// in which it comes.
func (a *Absence) newCues() {
	r := a.Plan.Result
	for i, p := range r.Score.Players {
		for _, c := range p.Cues {
			if c.Where.File != 0 || int(c.Where.Line) >= len(a.Plan.fresh) || !a.Plan.fresh[c.Where.Line] {
				continue
			}
			a.New = append(a.New, stretchesOf(r, r.Motions[i], c)...)
		}
	}
	slices.SortStableFunc(a.New, func(x, y NewCue) int { return x.at.Cmp(y.at) })
}

// restsBetween is after how many bars of rest what goes on is told as something new.
const restsBetween = 7

func stretchesOf(r *check.Result, m *motion.Result, c *score.Cue) []NewCue {
	var out []NewCue
	for i := range c.Strokes {
		st := &c.Strokes[i]
		if !st.Sounds() {
			continue
		}
		bar := int(st.Bar)
		if n := len(out); n == 0 || bar > out[n-1].To+restsBetween {
			e := NewCue{Player: c.Player.Name, Limb: c.Limb.Name(), Instrument: c.Item.Inst.Name(), From: bar, at: st.At}
			if c.Substitutes() {
				e.Of = c.For.Name()
			}
			if len(c.With) > 0 {
				e.With = implementWords(r.Score, c.With[0])
			}
			for _, mk := range r.Score.Marks {
				if mk.Bar == bar {
					e.Mark = mk.Name
				}
			}
			for k := range m.Changes {
				if ch := &m.Changes[k]; ch.To.Cue == c && ch.To.At() == st.At && e.Before == "" && (ch.Lays || ch.Takes || ch.Walks) && ch.From != nil {
					e.Before, e.Window, e.Easy = check.Doing(ch), ch.Window, ch.Need.Steady
				}
			}
			out = append(out, e)
		}
		e := &out[len(out)-1]
		e.To = bar
		e.Strokes++
	}
	return out
}

func implementWords(s *score.Score, ch kit.Choice) string {
	im := s.Catalogue.Implement(ch.Implement)
	if im == nil {
		return ""
	}
	if ch.Count > 1 {
		return words.Count(ch.Count, im.Name(), im.Name()+"s")
	}
	return im.Name()
}

// A holder is somebody who has a thing, and where.
type holder struct {
	player, place string
	gone          bool // is not there
}

// carry lists what goes to another place before the beginning: things that somebody
// has who did not have them, and sticks.
func (a *Absence) carry() {
	before, after := a.holders(a.Before), a.holders(a.Plan.Result)
	taken := map[string]map[string]bool{} // of what those have who are not there
	for _, t := range after.order {
		for _, h := range after.by[t] {
			if slices.ContainsFunc(before.by[t], func(o holder) bool { return o.player == h.player }) {
				continue
			}
			c := Carried{Player: h.player, What: t.words(), Where: h.place}
			c.From, c.Lacks = a.source(before, after, t, taken)
			a.Carry = append(a.Carry, c)
		}
	}
	for _, t := range before.order {
		for _, h := range before.by[t] {
			if h.gone && t.inst != nil && !taken[t.words()][h.player] {
				a.Unused = append(a.Unused, h.player+"’s "+t.words())
			}
		}
	}
}

// source is where one more of a thing comes from: from whoever is not there, else from
// the gear that nobody uses, else it has to be found.
func (a *Absence) source(before, after *holdings, t portable, taken map[string]map[string]bool) (from string, lacks bool) {
	from, lacks = "to be found", true
	if t.inst == nil { // nobody takes such a thing for the only one there is
		from, lacks = "from the bag", false
	}
	for _, h := range before.by[t] {
		switch {
		case h.gone && !taken[t.words()][h.player]:
			if taken[t.words()] == nil {
				taken[t.words()] = map[string]bool{}
			}
			taken[t.words()][h.player] = true
			return strings.TrimSpace(h.player + "’s: " + h.place), false
		case !h.gone && t.inst != nil:
			from = "to be found: " + h.player + " has one and keeps it"
		}
	}
	g := a.Before.Score.GearOfImplement(t.implement)
	if t.inst != nil {
		g = a.Before.Score.GearOf(t.inst)
	}
	if g != nil && g.Count >= len(after.by[t]) {
		return strings.TrimSpace("from the gear " + strings.Join(g.Whose, ", ")), false
	}
	return from, lacks
}

// A portable is an instrument or an implement.
type portable struct {
	inst      *kit.Instrument
	implement *kit.Implement
}

func (t portable) words() string {
	if t.inst != nil {
		return t.inst.Name()
	}
	return t.implement.Name()
}

// holdings are who has what, in the order of players and of their use.
type holdings struct {
	order []portable
	by    map[portable][]holder
}

func (a *Absence) holders(r *check.Result) *holdings {
	out := &holdings{by: map[portable][]holder{}}
	add := func(t portable, h holder) {
		if !slices.ContainsFunc(out.by[t], func(o holder) bool { return o.player == h.player }) {
			if out.by[t] == nil {
				out.order = append(out.order, t)
			}
			out.by[t] = append(out.by[t], h)
		}
	}
	for i, p := range r.Score.Players {
		h := holder{player: p.Name, gone: slices.Contains(a.Without, p.Name)}
		for _, it := range p.Items {
			if (it.Used || it.Listed) && !it.Shared && it.Inst.Family != kit.ByBody {
				h.place = placeWords(p, it)
				add(portable{inst: it.Inst}, h)
			}
		}
		h.place = "table"
		for _, ch := range r.Motions[i].Chosen {
			if im := r.Score.Catalogue.Implement(ch.Choice.Implement); im != nil {
				add(portable{implement: im}, h)
			}
		}
	}
	return out
}

// placeWords is how and where somebody has a thing, as one would say it.
func placeWords(p *score.Player, it *score.Item) string {
	how := it.Stands
	if how == kit.AnyMount {
		how = it.Mount
	}
	switch how {
	case kit.AnyMount:
		return "where it stands"
	case kit.Held:
		return "on the table, to be held"
	case kit.OnBody:
		return "on the body"
	}
	out := how.String()
	at := it.At
	if it.Station > 0 && it.Station < len(p.Stations) {
		out += " at " + p.Stations[it.Station].Name
		at.Right, at.Ahead = at.Right-p.Stations[it.Station].At.Right, at.Ahead-p.Stations[it.Station].At.Ahead
	}
	say := func(v float64, plus, minus string) {
		switch v = math.Round(v); {
		case v > 0:
			out += fmt.Sprintf(", %.0f cm %s", v, plus)
		case v < 0:
			out += fmt.Sprintf(", %.0f cm %s", -v, minus)
		}
	}
	say(at.Right, "to the right", "to the left")
	say(at.Ahead, "ahead", "behind")
	return out
}

// open lists what a check objected to before, and still does.
func (a *Absence) open() {
	for i := range a.Plan.Result.Findings {
		f := &a.Plan.Result.Findings[i]
		if f.Severity == check.Error && slices.ContainsFunc(a.Before.Findings, func(o check.Finding) bool { return o.Severity == check.Error && sameError(&o, f) }) {
			a.Open = append(a.Open, *f)
		}
	}
}

// mostDecided is how many findings of one kind are put to whoever leads.
const mostDecided = 2

// decide lists what whoever leads has to say yes or no to.
func (a *Absence) decide() {
	p := &a.Plan
	if lost := lostOf(p); lost > 0 {
		if a.Other != nil {
			then := "nothing is lost"
			if n := lostOf(a.Other); n > 0 {
				then = words.Count(n, "stroke is", "strokes are") + " lost"
			}
			a.Decide = append(a.Decide, fmt.Sprintf("Leave it at %s lost, or give everything away anew (--anew)? Then %s, and %s, counted line by line, are played otherwise than rehearsed.",
				words.Count(lost, "stroke", "strokes"), then, words.Count(a.Other.Moved, "bar", "bars")))
		}
		for _, t := range p.brings {
			if t.back > 0 {
				a.Decide = append(a.Decide, fmt.Sprintf("Can it be had: %s? It brings back %s.", t.change, t.share(lost)))
			}
		}
	}
	for _, c := range a.Carry {
		if c.Lacks {
			a.Decide = append(a.Decide, fmt.Sprintf("Who brings a %s for %s? (%s)", c.What, c.Player, c.From))
		}
	}
	a.put(check.Compromise, GoodEnough+" ")
	a.tight()
}

// fresh are the findings of one severity that a check says of the plan and did not say
// before.
func (a *Absence) fresh(severity check.Severity) []*check.Finding {
	var out []*check.Finding
	for i := range a.Plan.Result.Findings {
		f := &a.Plan.Result.Findings[i]
		if f.Severity == severity && !slices.ContainsFunc(a.Before.Findings, func(o check.Finding) bool {
			return o.Rule == f.Rule && o.Player == f.Player && (o.Message() == f.Message() || o.HasPlace && f.HasPlace && o.At == f.At && o.Limb == f.Limb)
		}) {
			out = append(out, f)
		}
	}
	return out
}

// put asks about what the plan costs.
func (a *Absence) put(severity check.Severity, ask string) {
	list := a.fresh(severity)
	for _, f := range list[:min(len(list), mostDecided)] {
		where := ""
		if f.HasPlace {
			where = "bar " + f.PlaceWords() + ": "
		}
		a.Decide = append(a.Decide, ask+where+f.Message())
	}
	if n := len(list) - mostDecided; n > 0 {
		a.Decide = append(a.Decide, fmt.Sprintf("%sSo in %s more, which a check of the plan names.", ask, words.Count(n, "place", "places")))
	}
}

// tight lists where somebody has to hurry, each hand's places together.
func (a *Absence) tight() {
	var who []string
	places := map[string][]string{}
	found := a.fresh(check.Warning)
	slices.SortStableFunc(found, func(f, g *check.Finding) int { return f.At.Cmp(g.At) })
	for _, f := range found {
		if !f.Timed || !f.HasPlace {
			if said := AllRight + " " + f.Message(); !slices.Contains(a.Decide, said) {
				a.Decide = append(a.Decide, said)
			}
			continue
		}
		key := f.Player + "’s " + f.Limb
		if places[key] == nil {
			who = append(who, key)
		}
		if !slices.Contains(places[key], f.PlaceWords()) {
			places[key] = append(places[key], f.PlaceWords())
		}
	}
	for i, key := range who {
		who[i] = key + " before " + list(places[key])
	}
	if len(who) > 0 {
		a.Decide = append(a.Decide, "Try out first what has to be done in haste: "+strings.Join(who, "; ")+".")
	}
}

// Unwritten are the strokes of those who are not there that no part has written: nobody
// is asked for them.
func (a *Absence) Unwritten() (n int) {
	for i := range a.Before.Score.Coverage.Extra {
		if e := &a.Before.Score.Coverage.Extra[i]; slices.Contains(a.Without, e.Cue.Player.Name) {
			n += 1 + e.Last - e.First
		}
	}
	return n
}
