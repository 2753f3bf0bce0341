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
type stirred struct {
	voices []stirring
	at     map[string]int // where each stands, of so many that it is worth it
}

type stirring struct {
	voice     string
	stretches []stretch
}

// fewVoices are so many that looking through them is no more work than a table.
const fewVoices = 4

// of is what is stirred of a voice, or nil.
func (s *stirred) of(voice string) *stirring {
	if s.at != nil {
		if i, ok := s.at[voice]; ok {
			return &s.voices[i]
		}
		return nil
	}
	for i := range s.voices {
		if s.voices[i].voice == voice {
			return &s.voices[i]
		}
	}
	return nil
}

// with is the same of a voice that may not be among them yet.
func (s *stirred) with(voice string) *stirring {
	if v := s.of(voice); v != nil {
		return v
	}
	s.voices = append(s.voices, stirring{voice: voice})
	switch n := len(s.voices); {
	case s.at != nil:
		s.at[voice] = n - 1
	case n > fewVoices:
		s.at = map[string]int{}
		for i := range s.voices {
			s.at[s.voices[i].voice] = i
		}
	}
	return &s.voices[len(s.voices)-1]
}

// A stretch is a range of bars.
type stretch struct {
	from, to int
	stirred  bool
}

// voices are those of a part or a player, each once, as long as they are few.
type voices struct {
	few  []string
	many bool
}

// mostVoices is how many are still looked through.
const mostVoices = 32

// usualVoices is for how many there is room at first.
const usualVoices = 4

func (v *voices) add(voice string) {
	switch {
	case v.many || slices.Contains(v.few, voice):
	case len(v.few) == mostVoices:
		v.few, v.many = nil, true
	default:
		if v.few == nil {
			v.few = make([]string, 0, usualVoices)
		}
		v.few = append(v.few, voice)
	}
}

func (v voices) equal(w voices) bool { return v.many == w.many && slices.Equal(v.few, w.few) }

// concerns says whether something may be stirred of one of some voices.
func (b *binder) concerns(v voices) bool {
	return b.stirred == nil || v.many || slices.ContainsFunc(v.few, func(voice string) bool { return b.stirred.of(voice) != nil })
}

func (s *stirred) stir(voice string, from, to int) {
	if from <= to {
		v := s.with(voice)
		v.stretches = append(v.stretches, stretch{from, to, true})
	}
}

func (s *stirred) line(l *Line) { s.stir(l.Name, l.From, l.To) }

func (s *stirred) cue(c *Cue) {
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
	return b.stirred == nil || b.stirred.of(voice).touches(from, to)
}

func (v *stirring) touches(from, to int) bool {
	if v != nil {
		for i := range v.stretches {
			if s := &v.stretches[i]; s.from <= to && from <= s.to {
				return true
			}
		}
	}
	return false
}

func (b *binder) touchesCue(c *Cue) bool {
	if b.stirred == nil {
		return true
	}
	v := b.stirred.of(c.Voice)
	if v == nil {
		return false
	}
	return v.touches(c.bars())
}

// stirs says whether an edit has changed something of some strokes, and not everywhere.
func (b *binder) stirs() bool { return b.stirred != nil && len(b.stirred.voices) > 0 }

// touchesPart says it of any written line of a part.
func (b *binder) touchesPart(p *Part) bool {
	return b.stirs() && b.concerns(p.voices) && slices.ContainsFunc(p.Lines, func(l *Line) bool { return b.touches(l.Name, l.From, l.To) })
}

// touchesPlayer says it of any cue of a player.
func (b *binder) touchesPlayer(p *Player) bool {
	return b.stirs() && b.concerns(p.voices) && slices.ContainsFunc(p.Cues, b.touchesCue)
}

// spread lets what is stirred be felt as far as bars hang together.
func (b *binder) spread() {
	if !b.stirs() {
		return
	}
	add := func(voice string, from, to int) {
		if v := b.stirred.of(voice); v != nil && from <= to {
			v.stretches = append(v.stretches, stretch{from, to, false})
		}
	}
	for _, p := range b.Parts {
		if !b.concerns(p.voices) {
			continue
		}
		for _, l := range p.Lines {
			add(l.Name, l.From, l.To)
		}
	}
	for _, p := range b.Players {
		if !b.concerns(p.voices) {
			continue
		}
		for _, c := range p.Cues {
			if b.stirred.of(c.Voice) != nil {
				from, to := c.bars()
				add(c.Voice, from, to)
			}
		}
	}
	for _, o := range b.Omits {
		add(o.Name, o.From, o.To)
	}
	for i := range b.stirred.voices {
		v := &b.stirred.voices[i]
		v.stretches = together(v.stretches)
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

// A likeness says which lines of each part and which cues of each player of an earlier
// score are those of this one, by their number there; -1 are those that were not there.
// Nil is that all are.
type likeness struct {
	old         *Score
	lines, cues [][]int32
	byLine      map[*Line]*Line // of the earlier score, once somebody asks
	byCue       map[*Cue]*Cue
}

// was is the number that the k-th of the i-th had.
func was(lists [][]int32, i, k int) int {
	if lists == nil || lists[i] == nil {
		return k
	}
	return int(lists[i][k])
}

// compare finds what of the earlier score's coverage holds, if anything does.
func (b *binder) compare() {
	old := b.opt.Earlier
	if old == nil || old.rest == nil || old.Catalogue != b.Catalogue || len(old.Parts) != len(b.Parts) || len(old.Players) != len(b.Players) ||
		!b.Grid.Equal(old.Grid) || !slices.Equal(b.passes.starts, old.passes.starts) ||
		!slices.Equal(b.passes.counts, old.passes.counts) || !slices.EqualFunc(b.Omits, old.Omits, sameOmit) {
		return
	}
	like, stirs := &likeness{old: old}, &stirred{}
	for i, p := range b.Parts {
		was := old.Parts[i]
		if was.Name != p.Name {
			return
		}
		like.lines = append(like.lines, alike(was.Lines, p.Lines, coversAlike, stirs.line))
	}
	for i, p := range b.Players {
		was := old.Players[i]
		if was.Name != p.Name {
			return
		}
		like.cues = append(like.cues, alike(was.Cues, p.Cues, playsAlike, stirs.cue))
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
func (b *binder) stirRefused(stirs *stirred) {
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

// alike finds which of some things are which of those before, from the beginning and
// from the end on, and stirs the others.
func alike[T any](old, now []*T, same func(x, y *T) bool, stir func(*T)) (list []int32) {
	if len(old) == len(now) && (len(old) == 0 || &old[0] == &now[0]) {
		return nil
	}
	list = make([]int32, 0, len(now))
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
			list = append(list, int32(k))
		case k >= len(now)-tail:
			list = append(list, int32(len(old)-len(now)+k))
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
func (b *binder) takeCue(t tally, k int, c *Cue) {
	of := b.before.of
	from, to := t.step(k)
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
func (b *binder) takeLine(t tally, k int, l *Line) {
	c, of := &b.Coverage, b.before.of
	from, to := t.step(k)
	b.counts(from, to)
	for _, g := range of.Left[from.left:to.left] {
		g.Line = l
		c.Left = append(c.Left, g)
	}
	for _, g := range of.Uncovered[from.uncovered:to.uncovered] {
		g.Line = l
		c.Uncovered = append(c.Uncovered, g)
	}
}

// counts adds what became of strokes from one place in the reckoning to another.
func (b *binder) counts(from, to reckoned) {
	c := &b.Coverage
	c.Written += int(to.written - from.written)
	c.Covered += int(to.covered - from.covered)
	c.Substituted += int(to.substituted - from.substituted)
	c.Omitted += int(to.omitted - from.omitted)
}

// takePart takes over what became of all lines of a part that is the very one.
func (b *binder) takePart(i int) tally {
	t, c, of := b.before.lines[i], &b.Coverage, b.before.of
	from, to := t.all()
	t.before = c.reckoned()
	b.counts(from, to)
	c.Left = append(c.Left, of.Left[from.left:to.left]...)
	c.Uncovered = append(c.Uncovered, of.Uncovered[from.uncovered:to.uncovered]...)
	return t
}

// takePlayer takes over what was found of all cues of a player who is the very one.
func (b *binder) takePlayer(i int) tally {
	t, c, of := b.before.cues[i], &b.Coverage, b.before.of
	from, to := t.all()
	t.before = c.reckoned()
	for _, p := range of.Plainer[from.plainer:to.plainer] {
		p.Line = b.lineNow(p.Line)
		c.Plainer = append(c.Plainer, p)
	}
	for _, d := range of.Doubled[from.doubled:to.doubled] {
		d.By, d.Line = b.cueNow(d.By), b.lineNow(d.Line)
		c.Doubled = append(c.Doubled, d)
	}
	c.Extra = append(c.Extra, of.Extra[from.extra:to.extra]...)
	return t
}

// lineNow is what is in the place of a written line of the earlier score.
func (b *binder) lineNow(l *Line) *Line {
	if slices.Contains(b.Parts, l.Part) {
		return l
	}
	if b.like.byLine == nil {
		b.like.byLine = map[*Line]*Line{}
		pairs(b.like.lines, b.like.old.Parts, b.Parts, func(p *Part) []*Line { return p.Lines }, b.like.byLine)
	}
	return b.like.byLine[l]
}

// cueNow does it with a cue.
func (b *binder) cueNow(c *Cue) *Cue {
	if slices.Contains(b.Players, c.Player) {
		return c
	}
	if b.like.byCue == nil {
		b.like.byCue = map[*Cue]*Cue{}
		pairs(b.like.cues, b.like.old.Players, b.Players, func(p *Player) []*Cue { return p.Cues }, b.like.byCue)
	}
	return b.like.byCue[c]
}

// pairs puts what is in the place of what into a table.
func pairs[O, T any](like [][]int32, old, now []*O, of func(*O) []*T, to map[*T]*T) {
	for i, o := range now {
		before := of(old[i])
		for k, x := range of(o) {
			if n := was(like, i, k); n >= 0 {
				to[before[n]] = x
			}
		}
	}
}
