package score

import (
	"cmp"
	"slices"

	"example.org/handful/lang/kit"
)

// What became of a stroke depends on the written lines and cues of its voice that have
// bars in common, and on what of it is left out there. So what an edit changes is felt
// as far as bars hang together by lines, cues and omits of that voice, and no further:
// beyond that, what became of strokes in an earlier score is taken over.

// stirred are the bars, by voice, in which something may have become of strokes that is
// another than in an earlier score. Nil is everywhere.
type stirred map[string][]stretch

// A stretch is a range of bars.
type stretch struct {
	from, to int
	stirred  bool
}

func (s stirred) stir(voice string, from, to int) {
	if from <= to {
		s[voice] = append(s[voice], stretch{from, to, true})
	}
}

func (s stirred) line(l *Line) { s.stir(l.Name, l.From, l.To) }

func (s stirred) cue(c *Cue) {
	from, to := c.bars()
	s.stir(c.Voice, from, to)
}

// bars are those in which a cue has to do with what is written; from is above to
// where there are none.
func (c *Cue) bars() (from, to int) {
	from, to = 1, 0
	if n := len(c.Strokes); n > 0 {
		from, to = int(c.Strokes[0].Bar), int(c.Strokes[n-1].Bar)
	}
	switch {
	case !c.AsWritten:
		return from, to
	case from > to:
		return c.From, c.To
	}
	return min(from, c.From), max(to, c.To)
}

// touches says whether something may have become of strokes of a voice in some bars
// that is another than in the earlier score.
func (b *binder) touches(voice string, from, to int) bool {
	return b.stirred == nil || slices.ContainsFunc(b.stirred[voice], func(s stretch) bool { return s.from <= to && from <= s.to })
}

func (b *binder) touchesCue(c *Cue) bool {
	from, to := c.bars()
	return b.touches(c.Voice, from, to)
}

// spread lets what is stirred be felt as far as bars hang together.
func (b *binder) spread() {
	add := func(voice string, from, to int) {
		if list := b.stirred[voice]; list != nil && from <= to {
			b.stirred[voice] = append(list, stretch{from, to, false})
		}
	}
	for _, p := range b.Parts {
		for _, l := range p.Lines {
			add(l.Name, l.From, l.To)
		}
	}
	for _, p := range b.Players {
		for _, c := range p.Cues {
			from, to := c.bars()
			add(c.Voice, from, to)
		}
	}
	for _, o := range b.Omits {
		add(o.Name, o.From, o.To)
	}
	for voice, list := range b.stirred {
		b.stirred[voice] = together(list)
	}
}

// together puts stretches that overlap together, and keeps those in which something is
// stirred.
func together(list []stretch) []stretch {
	slices.SortFunc(list, func(x, y stretch) int { return cmp.Compare(x.from, y.from) })
	var out []stretch
	now := list[0]
	for _, s := range list[1:] {
		if s.from <= now.to {
			now.to, now.stirred = max(now.to, s.to), now.stirred || s.stirred
			continue
		}
		if now.stirred {
			out = append(out, now)
		}
		now = s
	}
	if now.stirred {
		out = append(out, now)
	}
	return out
}

// A likeness says which lines and cues of an earlier score are those of this one, by
// their number in it; -1 are those that were not there. Nil is that all are.
type likeness struct {
	old         *Score
	lines, cues []int32
	byLine      map[*Line]*Line // of the earlier score, once somebody asks
	byCue       map[*Cue]*Cue
}

// was is the number that one of them had.
func was(list []int32, k int) int {
	if list == nil {
		return k
	}
	return int(list[k])
}

// compare finds what of the earlier score's coverage holds, if anything does.
func (b *binder) compare() {
	old := b.opt.Earlier
	if old == nil || old.rest == nil || old.Catalogue != b.Catalogue || len(old.Parts) != len(b.Parts) || len(old.Players) != len(b.Players) ||
		!b.Grid.Equal(old.Grid) || !slices.Equal(b.passes.starts, old.passes.starts) ||
		!slices.Equal(b.passes.counts, old.passes.counts) || !slices.EqualFunc(b.Omits, old.Omits, sameOmit) {
		return
	}
	like, stirs := &likeness{old: old}, stirred{}
	before := 0
	for i, p := range b.Parts {
		was := old.Parts[i]
		if was.Name != p.Name {
			return
		}
		like.lines = alike(like.lines, before, was.Lines, p.Lines, coversAlike, stirs.line)
		before += len(was.Lines)
	}
	before = 0
	for i, p := range b.Players {
		was := old.Players[i]
		if was.Name != p.Name {
			return
		}
		like.cues = alike(like.cues, before, was.Cues, p.Cues, playsAlike, stirs.cue)
		before += len(was.Cues)
	}
	b.stirRefused(stirs)
	b.before, b.like, b.stirred = old.rest.reckoning, like, stirs
	b.spread()
	for i, o := range b.Omits {
		if !b.touches(o.Name, o.From, o.To) {
			o.Strokes = old.Omits[i].Strokes
		}
	}
}

// stirRefused stirs the voices that other lines which were refused may be about.
func (b *binder) stirRefused(stirs stirred) {
	before := b.opt.Earlier.rest.refused
	if len(b.refused)+len(before) == 0 {
		return
	}
	type called struct {
		name string
		in   *kit.Instrument
	}
	asked := map[called]bool{}
	for _, p := range b.Parts {
		for _, l := range p.Lines {
			if asked[called{l.Name, l.Inst}] {
				continue
			}
			asked[called{l.Name, l.Inst}] = true
			if !slices.EqualFunc(refusals(before, l), refusals(b.refused, l), func(x, y refusal) bool { return x.from == y.from && x.to == y.to }) {
				stirs.stir(l.Name, 0, maxBars)
			}
		}
	}
}

func sameOmit(a, b *Omit) bool {
	return a.Name == b.Name && a.From == b.From && a.To == b.To && a.Part == b.Part
}

// alike adds to a list which of some things are which of those before, from the
// beginning and from the end on, and stirs the others.
func alike[T any](list []int32, before int, old, now []*T, same func(x, y *T) bool, stir func(*T)) []int32 {
	least := min(len(old), len(now))
	head, tail := 0, 0
	for head < least && (old[head] == now[head] || same(old[head], now[head])) {
		head++
	}
	for tail < least-head {
		x, y := old[len(old)-1-tail], now[len(now)-1-tail]
		if x != y && !same(x, y) {
			break
		}
		tail++
	}
	for k := range now {
		switch {
		case k < head:
			list = append(list, int32(before+k))
		case k >= len(now)-tail:
			list = append(list, int32(before+len(old)-len(now)+k))
		default:
			list = append(list, -1)
			stir(now[k])
		}
	}
	for _, x := range old[head : len(old)-tail] {
		stir(x)
	}
	return list
}

// coversAlike says whether two written lines are the same to whoever covers them.
func coversAlike(x, y *Line) bool {
	return x.Name == y.Name && x.Inst == y.Inst && x.From == y.From && x.To == y.To && struckAlike(x.Strokes, y.Strokes, x.Struck, y.Struck)
}

// playsAlike says whether two cues are the same to what they play.
func playsAlike(x, y *Cue) bool {
	return x.Voice == y.Voice && x.Of == y.Of && x.Pass == y.Pass && x.AsWritten == y.AsWritten && x.From == y.From && x.To == y.To &&
		x.Substitutes() == y.Substitutes() && struckAlike(x.Strokes, y.Strokes, x.Struck, y.Struck)
}

func struckAlike(a, b []Stroke, as, bs []*Struck) bool {
	return (sameStrokes(a, b) || slices.EqualFunc(a, b, func(s, t Stroke) bool {
		return s.At == t.At && s.Bar == t.Bar && s.Flags == t.Flags && s.Grace == t.Grace
	})) && slices.EqualFunc(as, bs, (*Struck).Equal)
}

// takeCue takes over what was found of the cue that had a number in the earlier score.
func (b *binder) takeCue(k int, c *Cue) {
	of := b.before.of
	from, to := step(b.before.cues, k)
	for _, p := range of.Plainer[from.plainer:to.plainer] {
		p.Cue, p.Line = c, b.lineNow(p.Line)
		b.Coverage.Plainer = append(b.Coverage.Plainer, p)
	}
	for _, d := range of.Doubled[from.doubled:to.doubled] {
		d.Also, d.By, d.Line = c, b.cueNow(d.By), b.lineNow(d.Line)
		b.Coverage.Doubled = append(b.Coverage.Doubled, d)
	}
	for _, e := range of.Extra[from.extra:to.extra] {
		e.Cue = c
		b.Coverage.Extra = append(b.Coverage.Extra, e)
	}
}

// takeLine does it with a written line.
func (b *binder) takeLine(k int, l *Line) {
	c, of := &b.Coverage, b.before.of
	from, to := step(b.before.lines, k)
	c.Written += int(to.written - from.written)
	c.Covered += int(to.covered - from.covered)
	c.Substituted += int(to.substituted - from.substituted)
	c.Omitted += int(to.omitted - from.omitted)
	for _, g := range of.Left[from.left:to.left] {
		g.Line = l
		c.Left = append(c.Left, g)
	}
	for _, g := range of.Uncovered[from.uncovered:to.uncovered] {
		g.Line = l
		c.Uncovered = append(c.Uncovered, g)
	}
}

// lineNow is what is in the place of a written line of the earlier score.
func (b *binder) lineNow(l *Line) *Line {
	if b.like.byLine == nil {
		b.like.byLine = map[*Line]*Line{}
		pairs(b.like.lines, b.like.old.Parts, b.Parts, func(p *Part) []*Line { return p.Lines }, b.like.byLine)
	}
	return b.like.byLine[l]
}

// cueNow does it with a cue.
func (b *binder) cueNow(c *Cue) *Cue {
	if b.like.byCue == nil {
		b.like.byCue = map[*Cue]*Cue{}
		pairs(b.like.cues, b.like.old.Players, b.Players, func(p *Player) []*Cue { return p.Cues }, b.like.byCue)
	}
	return b.like.byCue[c]
}

// pairs puts what is in the place of what into a table.
func pairs[O, T any](like []int32, old, now []*O, of func(*O) []*T, to map[*T]*T) {
	var before []*T
	for _, o := range old {
		before = append(before, of(o)...)
	}
	k := 0
	for _, o := range now {
		for _, x := range of(o) {
			if i := was(like, k); i >= 0 {
				to[before[i]] = x
			}
			k++
		}
	}
}
