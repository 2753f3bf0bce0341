package plan

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

// What a plan says of itself in the file that it writes: comments at the top, that the
// next plan puts its own in the place of.
const remark = "# plan: "

// said says whether a line of a file is what an earlier plan said of itself.
func said(l *syntax.Line) bool {
	return l.Form == nil && strings.HasPrefix(strings.TrimSpace(l.Text), remark)
}

// withoutSaid is a file's text without what an earlier plan said of itself.
func withoutSaid(f *syntax.File) string {
	var out []string
	for _, l := range f.Lines {
		if !said(l) {
			out = append(out, l.Text)
		}
	}
	return strings.Join(out, "\n")
}

// withoutOmits is a file's text without what a plan says there of what is left out.
func withoutOmits(f *syntax.File) string {
	var kept []string
	for _, l := range f.Lines {
		if o, ok := l.Stmt.(*syntax.Omit); !ok || l.Broken || o.Reason == nil || !ours(o.Reason.Value()) {
			kept = append(kept, l.Text)
		}
	}
	return strings.TrimRight(strings.Join(kept, "\n"), "\n") + "\n"
}

// sentences are the three that a section leader wants to know of a plan: what decided
// it, what is lost, and what would bring it back, each of which has been tried.
func (j *job) sentences(d *draft) []string {
	lost := j.losses(d.all)
	return []string{j.decided(d, lost), j.lostWords(lost), j.bringsBack(d, lost)}
}

func (j *job) decided(d *draft, lost []Loss) string {
	n := 0
	for _, t := range j.tracks {
		last := int8(-1)
		for _, q := range t.bars {
			if pl := d.all[q.id]; pl.player >= 0 {
				if last >= 0 && last != pl.player {
					n++
				}
				last = pl.player
			}
		}
	}
	stays := ""
	switch {
	case n > 0:
		stays = fmt.Sprintf("; lines go from one player to another %s", often(n))
	case len(j.people) > 1:
		stays = "; every line stays with one player"
	}
	stays += j.wished(d) + d.standTogether() + j.standsIn(d.all)
	forbidden := j.forbidden(lost)
	if set := j.atOdds(lost); len(set) == 1 {
		forbidden = append(forbidden, "no plan was found in which this holds and nothing is lost by it – "+demandWords(set))
	} else if len(set) > 1 {
		forbidden = append(forbidden, "no plan was found in which all of this holds and nothing is lost by it, and without any one of them there is one – "+demandWords(set))
	}
	if b := j.borrowed(d.all); len(b) > 0 {
		stays += "; it needs " + list(b) + ", which would have to be borrowed, unless  gear  says there is but one"
	}
	switch {
	case len(forbidden) > 0:
		return fmt.Sprintf("What decided it: %s%s.", strings.Join(forbidden, "; "), stays)
	case len(j.why) > 0:
		r := j.why[0]
		return fmt.Sprintf("What decided it: bar %d wants %s at once, and there are %d%s.", r.Bar, words.Count(r.Hands, "hand", "hands"), r.Have, stays)
	case len(lost) > 0 && !slices.ContainsFunc(lost, func(l Loss) bool { return kindOf(l.Because) != noRoom }):
		return fmt.Sprintf("What decided it: there are hands enough, and no room%s for all that they would need%s.", j.floorSpace(), stays)
	case len(lost) > 0:
		return fmt.Sprintf("What decided it: there are hands enough, and too little time to change what they hold or to get there%s.", stays)
	}
	return fmt.Sprintf("What decided it: that nothing is lost%s.", stays)
}

// floorSpace is, behind "no room", the floor that each player has, where that is said.
func (j *job) floorSpace() string {
	switch wide, deep := j.opt.Wide, j.opt.Deep; {
	case wide > 0 && deep > 0:
		return fmt.Sprintf(" on %g by %g cm of floor each", wide, deep)
	case wide > 0:
		return fmt.Sprintf(" on %g cm of floor from side to side", wide)
	case deep > 0:
		return fmt.Sprintf(" on %g cm of floor from front to back", deep)
	}
	return ""
}

// wished is what the file wants of a plan: what matters, and what stays with one person.
func (j *job) wished(d *draft) string {
	var out []string
	more, lost := false, 0
	for _, q := range j.passages {
		if q.worth != nil && q.worth.Times > 1 {
			more = true
			if d.all[q.id].player < 0 {
				lost += q.notes()
			}
		}
	}
	switch {
	case more && lost == 0:
		out = append(out, "all that is said to matter more is played")
	case more:
		out = append(out, fmt.Sprintf("of what is said to matter more, %s lost", words.Count(lost, "stroke is", "strokes are")))
	}
	for _, t := range j.score.Together {
		if names, who := j.playedTogether(d.all, t); who >= 0 {
			out = append(out, fmt.Sprintf("the %s %s %s with %s, as is wished", list(names), barsWord(t.From, t.To), stay(len(names)), j.people[who].name))
		}
	}
	if len(out) == 0 {
		return ""
	}
	return "; " + strings.Join(out, "; ")
}

// playedTogether is what of the lines that are to stay with one person is played, in words, and by whom.
func (j *job) playedTogether(all []plays, t *score.Together) (names []string, who int8) {
	who = nobody.player
	for _, name := range t.Names {
		for _, q := range j.passages {
			if pl := all[q.id]; pl.player >= 0 && q.track.name == name && t.Has(q.track.part.Name, name, q.bar) {
				names, who = append(names, q.track.called()), pl.player
				break
			}
		}
	}
	return names, who
}

func stay(things int) string {
	if things == 1 {
		return "stays"
	}
	return "stay"
}

func barsWord(from, to int) string {
	if from == to {
		return fmt.Sprintf("in bar %d", from)
	}
	return "in bars " + bars(from, to)
}

// mattersLess is what a file says of something lost that matters less than other
// things, or "".
func (j *job) mattersLess(lost []Loss, name string) string {
	for _, l := range lost {
		if l.Line != name {
			continue
		}
		if w := j.score.WorthOf(l.Part, l.Line, l.From); w != nil && w.Times < 1 {
			because := ""
			if w.Reason != "" {
				because = ": " + w.Reason
			}
			return ", which matters less" + because
		}
	}
	return ""
}

func (j *job) lostWords(lost []Loss) string {
	if len(lost) == 0 {
		return "What is lost: nothing."
	}
	var lines []Loss // of each, all that is lost of it
	for _, l := range lost {
		k := slices.IndexFunc(lines, func(o Loss) bool { return o.Line == l.Line })
		if k < 0 {
			lines = append(lines, l)
			continue
		}
		lines[k].Strokes += l.Strokes
		lines[k].Rolls += l.Rolls
	}
	var parts []string
	for i := range lines {
		name := lines[i].Line
		where, one := placesOf(lost, name)
		word := "bars "
		if one {
			word = "bar "
		}
		if len(where) > 4 {
			where = append(where[:3], fmt.Sprintf("%d more places", len(where)-3))
		}
		parts = append(parts, fmt.Sprintf("%s of the %s (%s%s)", strokesAndRolls(lines[i].Strokes, lines[i].Rolls), lines[i].Called, word+list(where), j.mattersLess(lost, name)))
	}
	return "What is lost: " + list(parts) + "."
}

// placesOf are the bars of a line that are lost, in order, each once, what follows one another as one.
func placesOf(lost []Loss, name string) (where []string, one bool) {
	var all []int
	for _, l := range lost {
		for bar := l.From; bar <= l.To && l.Line == name; bar++ {
			all = append(all, bar)
		}
	}
	slices.Sort(all)
	all = slices.Compact(all)
	for i := 0; i < len(all); {
		k := i + 1
		for k < len(all) && all[k] == all[k-1]+1 {
			k++
		}
		where = append(where, bars(all[i], all[k-1]))
		i = k
	}
	return where, len(all) == 1
}

func bars(from, to int) string {
	if from == to {
		return fmt.Sprint(from)
	}
	return fmt.Sprintf("%d-%d", from, to)
}

// slower is the share of the tempo that is tried where something is lost: the least
// that a conductor notices as little as players do; judgement.
const slower = 0.96

// A trial is a change that might bring back what is lost, and how many strokes it does.
type trial struct {
	change string
	back   int
}

// bringsBack says what would bring back what is lost, everything else being as it is.
func (j *job) bringsBack(d *draft, lost []Loss) string {
	if len(lost) == 0 {
		return "What would bring more: nothing is missing."
	}
	total := 0
	for _, l := range lost {
		total += l.Strokes
	}
	j.rest()
	j.brings = j.trying(d, lost)
	var out []string
	for _, t := range j.brings {
		out = append(out, t.change+": "+t.share(total))
	}
	return "What would bring it back, everything else as it is (each was tried) – " + strings.Join(out, "; ") + "."
}

// share is how much of what is lost a trial brings back, in words.
func (t trial) share(total int) string {
	switch t.back {
	case 0:
		return "nothing"
	case total:
		return "all of it"
	}
	return fmt.Sprintf("%d of the %s", t.back, words.Count(total, "stroke", "strokes"))
}

// asBorrowed is how a trial of what would have to be borrowed ends; it is only said where it
// brings something back.
const asBorrowed = " (--borrow)"

// trying tries one more player, a slower tempo, more hardware, and stand-ins.
func (j *job) trying(d *draft, lost []Loss) []trial {
	total := 0
	here := map[string]bool{}
	key := func(part, line string, bar int) string { return fmt.Sprint(part, "\n", line, "\n", bar) }
	for _, l := range lost {
		total += l.Strokes
		for b := l.From; b <= l.To; b++ {
			here[key(l.Part, l.Line, b)] = true
		}
	}
	text := withoutOmits(d.result.File)
	load := oneAtATime(j.opt.Load)
	try := func(text string, change func(o *Options)) (back int, p Plan) {
		o := Options{Keep: true, AtTheEdge: j.opt.AtTheEdge, StandIns: j.opt.StandIns, Borrow: j.opt.Borrow, Wide: j.opt.Wide, Deep: j.opt.Deep, Weights: j.opt.Weights, TempoFactor: j.opt.TempoFactor, Load: load, Profile: j.opt.Profile, Usual: j.opt.Usual, Uses: j.opt.Uses, open: j.opt.open, alone: true, unable: true, brings: &bringing{}, asked: j.opt.asked}
		if j.opt.only != nil { // what nobody played before either stays so
			o.only = func(part, line string, bar int) bool { return here[key(part, line, bar)] }
		}
		for _, who := range j.people {
			o.Names = append(o.Names, who.name)
		}
		change(&o)
		p, err := file(j.ctx, j.name, syntax.Parse(text), o)
		if err != nil {
			return 0, p
		}
		for _, l := range p.Lost {
			back -= l.Strokes
		}
		return max(0, back+total), p
	}
	late := j.late(d)
	var trials []func() trial
	if len(j.people) < maxPlayers {
		trials = append(trials, func() trial { return j.tryingOneMore(text, try) })
	}
	trials = append(trials, func() trial {
		n, _ := try(text, func(o *Options) {
			o.TempoFactor, o.asked, o.brings.late = factor(j.opt.TempoFactor)*slower, nil, late
		})
		return trial{"4 % slower", n}
	}, func() trial {
		n, p := try(text, func(o *Options) {
			o.hardware, o.brings.new = true, func(_ *passage, w *option) bool { return w.extra }
		})
		more := "more hardware"
		if needs := p.beyond; n > 0 && len(needs) > 0 {
			more = list(needs)
		}
		return trial{more, n}
	})
	if j.tooFew(d.all, lost) {
		trials = append(trials, func() trial { return j.tryingBorrowed(text, try) })
	}
	for _, i := range j.parting(lost) { // what stays with one person, were that not wished
		trials = append(trials, func() trial {
			n, _ := try(strings.Replace("\n"+text, "\n"+j.file.Lines[i].Text+"\n", "\n", 1), func(*Options) {})
			return trial{fmt.Sprintf("without %s (line %d)", strings.TrimSpace(j.file.Lines[i].Code()), i+1), n}
		})
	}
	if !j.opt.StandIns && j.couldStandIn(lost) {
		trials = append(trials, func() trial { return j.tryingStandIns(text, try) })
	}
	return j.tryAll(trials)
}

// everythingAnew says of a trial that only gains with nothing kept as it is.
const everythingAnew = ", everything given away anew"

// tryingOneMore tries one more player, at first beside all that is played as it is: of what there
// is one of, say, its player may stand in the way of that.
func (j *job) tryingOneMore(text string, try func(text string, change func(o *Options)) (int, Plan)) trial {
	n, _ := try(text, func(o *Options) { o.Players = len(o.Names) + 1 })
	anew := ""
	if n == 0 && !j.opt.Keep && j.opt.only == nil && len(j.passages) <= settleWork {
		if n, _ = try(text, func(o *Options) { o.Players, o.Keep, o.Effort = len(o.Names)+1, false, j.opt.Effort }); n > 0 {
			anew = everythingAnew
		}
	}
	return trial{"one more player" + anew, n}
}

// tryAll makes trials, the longest of them first, side by side where there is room for that.
func (j *job) tryAll(trials []func() trial) []trial {
	out := make([]trial, len(trials))
	one := func(i int) { out[len(trials)-1-i] = trials[len(trials)-1-i]() } // the longest first
	if len(j.passages) <= mostAtOnce {
		atOnce(len(trials), one)
	} else {
		for i := range trials {
			one(i)
		}
	}
	return slices.DeleteFunc(out, func(t trial) bool { return t.back == 0 && strings.HasSuffix(t.change, asBorrowed) })
}

// mostAtOnce is up to how many bars of lines plans are tried side by side: each wants room
// for a piece of its own.
const mostAtOnce = 5_500

// borrowedWork is up to how many bars of lines it is tried what comes of giving everything away
// anew with what would have to be borrowed.
const borrowedWork = 400

// tryingBorrowed tries more of what is hard to bring, at first beside all that is played as it is.
func (j *job) tryingBorrowed(text string, try func(text string, change func(o *Options)) (int, Plan)) trial {
	n, p := try(text, func(o *Options) {
		o.Borrow, o.brings.new = true, func(_ *passage, w *option) bool { return hardToBring(w.inst) }
	})
	anew := ""
	if n == 0 && !j.opt.Keep && len(j.passages) <= borrowedWork {
		if len(j.joint) > 0 { // of what stands between two there is one
			text = withoutOmits(j.file)
		}
		n, p = try(text, func(o *Options) { o.Borrow, o.Keep, o.Effort = true, false, j.opt.Effort })
		anew = everythingAnew
	}
	return trial{list(p.Borrowed) + anew + asBorrowed, n}
}

// tryingStandIns tries what the catalogue lets stand in, at first beside all that is
// played as it is.
func (j *job) tryingStandIns(text string, try func(text string, change func(o *Options)) (int, Plan)) trial {
	n, p := try(text, func(o *Options) { o.StandIns, o.brings.new = true, standsInFor })
	anew := ""
	if n == 0 && !j.opt.Keep && len(j.passages) <= settleWork { // what is played as it is may stand in its way
		if n, p = try(text, func(o *Options) { o.StandIns, o.Keep, o.Effort = true, false, j.opt.Effort }); n > 0 {
			anew = everythingAnew
		}
	}
	what := "stand-ins"
	if names := p.whatStoodIn(); n > 0 && len(names) > 0 {
		what = list(names[:min(3, len(names))])
	}
	return trial{what + anew + " (--stand-ins)", n}
}

// oneAtATime is a loader that several may ask.
func oneAtATime(load score.Loader) score.Loader {
	if load == nil {
		return nil
	}
	var one sync.Mutex
	return func(from, path string) (string, *syntax.File, error) {
		one.Lock()
		defer one.Unlock()
		return load(from, path)
	}
}

// whatStoodIn names what a plan plays for what.
func (p *Plan) whatStoodIn() []string {
	var out []string
	for _, s := range p.stoodIns {
		out = append(out, fmt.Sprintf("the %s for the %s", s.by.Name(), s.instead.Name()))
	}
	return out
}

// mostPartings is how many wishes are tried to do without.
const mostPartings = 2

// parting are the lines of the file that want something lost to stay with one person.
func (j *job) parting(lost []Loss) []int {
	var out []int
	for _, t := range j.score.Together {
		if len(out) < mostPartings && t.Where.File == 0 && slices.ContainsFunc(lost, func(l Loss) bool {
			return kindOf(l.Because) == notAlone && (t.Has(l.Part, l.Line, l.From) || t.Has(l.Part, l.Line, l.To))
		}) {
			out = append(out, int(t.Where.Line))
		}
	}
	return out
}

// couldStandIn says whether something may stand in for what is lost, or for what sounds
// in the same bars.
func (j *job) couldStandIn(lost []Loss) bool {
	return slices.ContainsFunc(j.passages, func(q *passage) bool {
		return len(j.stock.catalogue.StandIns(q.track.inst)) > 0 && slices.ContainsFunc(lost, func(l Loss) bool { return l.From <= q.bar && q.bar <= l.To })
	})
}

func factor(f float64) float64 {
	if f == 0 {
		return 1
	}
	return f
}

// borrowed is what more than one player has of what takes two people or wheels to bring,
// where no gear block says how many there are.
func (j *job) borrowed(all []plays) []string {
	var out []string
	seen := map[*kit.Instrument]bool{}
	for _, q := range j.passages {
		if all[q.id].player < 0 {
			continue
		}
		in := q.options[all[q.id].option].inst
		if seen[in] || !hardToBring(in) || j.score.GearOf(in) != nil || j.search.common[in] != nil {
			continue
		}
		seen[in] = true
		who := map[int8]bool{}
		for _, o := range j.passages {
			if pl := all[o.id]; pl.player >= 0 && o.options[pl.option].inst == in {
				who[pl.player] = true
			}
		}
		switch n := len(who); {
		case n == 2:
			out = append(out, in.Verb("a second ", "a second set of ")+in.Name())
		case n > 2:
			out = append(out, fmt.Sprintf("%s in all of the %s", words.Count(n, "one", "sets"), in.Name()))
		}
	}
	return out
}

// hardwareOf is what a plan needs beyond the hardware there is, in words.
func (j *job) hardwareOf(all []plays) []string {
	var out []string
	for _, q := range j.passages {
		if all[q.id].player < 0 {
			continue
		}
		for _, need := range j.needs(all, q, j.people[all[q.id].player]) {
			if text := fmt.Sprintf("a %s for the %s", strings.ReplaceAll(need, "-", " "), q.options[all[q.id].option].inst.Name()); !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	return out
}

// needs is the hardware beyond what is usual that a passage is played with, where it may
// be, and that its player's kit does not have yet.
func (j *job) needs(all []plays, q *passage, who *person) []string {
	pl := all[q.id]
	if pl.player < 0 || q.fixed {
		return nil
	}
	o := &q.options[pl.option]
	w := wayFor(o.manner, o.limb, q.roll)
	if w == nil || !j.stock.hardware && !j.stock.equipped(o.inst, w) {
		return nil
	}
	old := j.score.Player(who.name)
	return slices.DeleteFunc(beyond(o.inst, w), func(need string) bool { return old != nil && old.Has(need) })
}

// mountable says whether an instrument may be fixed so, where whoever leads has
// hardware beyond the usual.
func (k *stock) mountable(in *kit.Instrument, w *kit.Way) bool {
	said := k.said[in]
	return k.hardware && w.Mount != kit.Held && (said == kit.AnyMount || said == w.Mount)
}

// often is how many times, in words.
func often(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}
