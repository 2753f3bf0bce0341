package sheet

import (
	"cmp"
	"math"
	"slices"
	"sort"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/words"
)

// A part is one player's music as a sheet shows it: on paper, each bar once,
// with what the hands hold and change when it is first played.
type part struct {
	*score.Score
	res      *check.Result
	m        *motion.Result
	p        *score.Player
	f        *faces
	strokes  []struck // by place
	held     []int    // those whose roll goes on over a bar line
	shifts   []shift  // by place
	tunes    []retune // by place
	shared   []bool   // by bar: both hands play one thing
	first    []int    // span in which a bar is first played, by bar; -1 never
	rulings  map[rowKey]*ruling
	clefs    bool      // something stands on a staff
	pins     []hairpin // by place
	shifted  extent    // of the shifts
	pinned   extent    // of the hairpins
	knots    []clash   // by place
	heardOf  []extent  // see sounding
	voices   map[voiceKey]voice
	swelling map[*score.Cue][]score.Word // dynamics while a roll goes on
	sized    []block                     // see measured

	unfolded bool // every bar is drawn
	close    bool // lines hold as much as they can, and begin where they may
}

// struck is one stroke and the limbs that play it.
type struck struct {
	*score.Stroke
	cue   *score.Cue
	limbs body.Limbs
	marks []string // dynamics written before it
	keys  string   // the bars or drums that it is for; "" where it does not say
	aims  *score.Struck
	named []string // those of them whose names are written at it
}

// A shift is a change as a sheet shows it: the times alike are one.
type shift struct {
	*motion.Change
	leeway
	passes []int // of the bar in which it begins, on which it is made; nil for every one
	first  bool  // it is made when what comes is first played
	again  bool  // the same way comes again, in as much time or more, and is not said there
}

// A leeway is where the time for a change is on paper: all of it, or what is
// before or behind a jump of the road map, that it runs over.
type leeway struct {
	from   beat.Rat // where it begins
	at     beat.Rat // where it ends: at the next thing, or at the jump
	span   int      // in which it is played
	lap    int      // 0 is all, 1 before the jump and 2 behind it
	to     int      // the bar that is jumped to
	before float64  // seconds of the change that have gone by
	lasts  float64  // seconds of it that are here; 0 is all
}

func newPart(r *check.Result, i int, f *faces) *part {
	v := &part{f: f, voices: map[voiceKey]voice{}, swelling: map[*score.Cue][]score.Word{}, Score: r.Score, res: r, m: r.Motions[i], p: r.Motions[i].Player}
	v.first = firstSpans(r.Score)
	v.collect()
	v.shared = v.sharedBars()
	v.ruled()
	v.pins = v.hairpins()
	v.pinned = extentOf(len(v.pins), func(i int) (a, b beat.Rat) { return v.pins[i].from, v.pins[i].to })
	v.knots = v.clashes()
	v.gather()
	v.tunes = v.retunes()
	return v
}

func firstSpans(s *score.Score) []int {
	first := make([]int, s.Grid.Last()+1)
	for i := range first {
		first[i] = -1
	}
	for k, sp := range s.Time.Spans() {
		for bar := max(0, sp.From); bar <= sp.To && bar < len(first); bar++ {
			if first[bar] < 0 {
				first[bar] = k
			}
		}
	}
	return first
}

// seconds is when a written place is first played; false if it never is.
func (v *part) seconds(bar int, at beat.Rat) (float64, bool) {
	if bar < 0 || bar >= len(v.first) || v.first[bar] < 0 {
		return 0, false
	}
	return v.Time.Seconds(v.first[bar], at), true
}

// collect lists every stroke on paper once, with the limbs that play it.
func (v *part) collect() {
	type key struct {
		cue *score.Cue
		i   int32
	}
	limbs := map[key]body.Limbs{}
	for i := range v.m.Events {
		e := &v.m.Events[i]
		if e.Cue != nil && e.Kind != motion.Choke {
			limbs[key{e.Cue, e.Stroke}] |= e.Limbs
		}
	}
	w := score.NewSigns(v.Score)
	for _, c := range v.p.Cues {
		swells := c.Swells()
		if swells != nil {
			v.swelling[c] = swells
		}
		for i := range c.Strokes {
			l, ok := limbs[key{c, int32(i)}]
			if !ok {
				l = v.limbsOf(c, &c.Strokes[i])
			}
			marks := append(w.Before(c, &c.Strokes[i]), score.SignsAt(swells, c.Strokes[i].At)...)
			v.strokes = append(v.strokes, struck{&c.Strokes[i], c, l, marks, c.StruckAt(i).String(), c.StruckAt(i), nil})
		}
	}
	slices.SortStableFunc(v.strokes, func(a, b struck) int { return a.At.Cmp(b.At) })
	v.inForce()
	for i := range v.strokes {
		st := &v.strokes[i]
		if bar, _ := v.Grid.Place(st.At); v.Grid.Start(bar + 1).Less(st.End) {
			v.held = append(v.held, i)
		}
	}
}

// between visits the strokes from one place to another, and first the rolls
// that are already going on.
func (v *part) between(from, to beat.Rat, visit func(st *struck, goesOn bool)) {
	for _, i := range v.held {
		st := &v.strokes[i]
		if !st.At.Less(from) {
			break
		}
		if from.Less(st.End) {
			visit(st, true)
		}
	}
	i := sort.Search(len(v.strokes), func(i int) bool { return !v.strokes[i].At.Less(from) })
	for ; i < len(v.strokes) && v.strokes[i].At.Less(to); i++ {
		visit(&v.strokes[i], false)
	}
}

// A voiceLine is what one limb, or one way of using both hands, plays on one thing.
type voiceLine struct {
	item *score.Item
	limb body.Limb
}

// inForce adds the dynamic that holds where a cue begins in the middle of a
// written line, and where a simile brings another one.
func (v *part) inForce() {
	last := map[voiceLine]kit.Dynamic{}
	for i := range v.strokes {
		st := &v.strokes[i]
		if st.Dyn == 0 || !st.Sounds() {
			continue
		}
		k := voiceLine{st.cue.Item, st.cue.Limb}
		if len(st.marks) == 0 && st.Dyn != last[k] {
			st.marks = []string{st.Dyn.String()}
		}
		last[k] = st.Dyn
	}
}

// limbsOf is the limbs of a stroke that the motions leave out: a stop that
// takes no hand, or a bar that is never played.
func (v *part) limbsOf(c *score.Cue, st *score.Stroke) body.Limbs {
	limb := c.Limb
	if limb == body.AnyHand {
		limb = v.m.AnyHands[c]
	}
	switch {
	case st.Hand == 'R':
		return body.R
	case st.Hand == 'L':
		return body.L
	case limb == body.RightFirst:
		return body.R
	case limb == body.LeftFirst:
		return body.L
	}
	return body.Of(limb)
}

// worthSaying is which changes a sheet shows: whatever is laid, taken or
// walked to, and any other that is not easy.
func worthSaying(c *motion.Change) bool {
	if c.From == nil && !c.Tight() && !c.Short() {
		return false // made ready before the beginning
	}
	return c.Lays || c.Takes || c.Walks || c.Retunes != nil || c.Tight() || c.Short()
}

// isReach says whether a change is nothing but a way from one thing to another that can be
// done, if not with ease. In a figure that goes to and fro it comes many times a bar, and a
// page says it once, and again only where there is less time for it.
func isReach(c *motion.Change) bool {
	return !c.Lays && !c.Takes && !c.Walks && c.Retunes == nil && !c.Short() && !c.AtEdge() && c.From != nil &&
		c.From.Item() != nil && c.To.Item() != nil && !c.To.Kind.Stops() && c.To.Kind != motion.PageTurn
}

// gather puts the changes at the written place where they are made; one that is
// made on several passes is shown once, with the least time there is.
func (v *part) gather() {
	type key struct {
		hand  body.Limb
		at    beat.Rat
		doing string
		lap   int
		to    int
	}
	type reach struct {
		hand     body.Limb
		from, to *score.Item
	}
	seen, reached := map[key]int{}, map[reach]int{}
	spans := v.Time.Spans()
	for i := range v.m.Changes {
		c := &v.m.Changes[i]
		if !worthSaying(c) {
			continue
		}
		for _, st := range v.stretches(c) {
			k := key{c.Hand, st.at, check.Doing(c), st.lap, st.to}
			pass := spans[st.span].Pass
			n, ok := seen[k]
			if !ok && st.lap == 0 && isReach(c) {
				r := reach{c.Hand, c.From.Item(), c.To.Item()}
				if first, again := reached[r]; again && v.shifts[first].Spare() <= c.Spare()+heard {
					v.shifts[first].again = true
					continue
				}
				reached[r] = len(v.shifts)
			}
			if !ok {
				seen[k] = len(v.shifts)
				v.shifts = append(v.shifts, shift{Change: c, leeway: st, passes: []int{pass}, first: v.firstTo(c)})
				continue
			}
			v.shifts[n].merge(shift{c, st, []int{pass}, v.firstTo(c), false})
		}
	}
	v.onEveryPass()
	slices.SortStableFunc(v.shifts, func(a, b shift) int {
		return cmp.Or(a.at.Cmp(b.at), cmp.Compare(a.Hand, b.Hand))
	})
	v.shifted = extentOf(len(v.shifts), func(i int) (a, b beat.Rat) { return v.shifts[i].from, v.shifts[i].at })
}

// merge adds the same change on another pass; what is shown is the one with the least time.
func (s *shift) merge(o shift) {
	s.passes, s.first = append(s.passes, o.passes...), s.first || o.first
	if o.Spare() < s.Spare() {
		s.Change, s.leeway = o.Change, o.leeway
	}
}

// firstTo says whether a change is made when what comes behind it is first played.
func (v *part) firstTo(c *motion.Change) bool {
	bar := c.To.Bar()
	return bar >= 0 && bar < len(v.first) && v.first[bar] == int(c.To.Span)
}

// onEveryPass takes the passes from changes that are made each time that the bar in
// which they begin is played.
func (v *part) onEveryPass() {
	for i := range v.shifts {
		s := &v.shifts[i]
		s.passes = v.fewer(s.passes, s.from)
	}
}

// fewer is some passes of the bar of a place in order; nil where they are all.
func (v *part) fewer(passes []int, at beat.Rat) []int {
	slices.Sort(passes)
	passes = slices.Compact(passes)
	if bar, _ := v.Grid.Place(at); len(passes) >= v.Passes(bar) {
		return nil
	}
	return passes
}

// stretches is where the time for a change is on paper: in one, or up to the jump
// of the road map that it runs over and on from where that goes.
func (v *part) stretches(c *motion.Change) []leeway {
	spans := v.Time.Spans()
	last := int(c.To.Span)
	begins, out, in := last, -1, -1
	for begins > 0 && c.From != nil && c.Start < v.Time.Start(begins)-heard {
		begins--
		if spans[begins].To+1 != spans[begins+1].From {
			if out = begins; in < 0 {
				in = begins + 1
			}
		}
	}
	at := c.To.At()
	if out < 0 {
		return []leeway{{from: v.placeIn(begins, c, at), at: at, span: begins}}
	}
	end, again := v.Grid.Start(spans[out].To+1), v.Grid.Start(spans[in].From)
	to := spans[in].From
	before := v.Time.Start(out+1) - c.Start
	behind := max(0, c.Window-(v.Time.Start(in)-c.Start))
	var list []leeway
	if from := v.placeIn(begins, c, end); from.Less(end) {
		list = append(list, leeway{from, end, begins, 1, to, 0, before})
	}
	if again.Less(at) || list == nil {
		list = append(list, leeway{again, at, last, 2, to, c.Window - behind, behind})
	}
	return list
}

// placeIn is the place, at the latest the given one, at which the time for a
// change begins in a span.
func (v *part) placeIn(span int, c *motion.Change, latest beat.Rat) beat.Rat {
	if c.From != nil && span == int(c.From.Span) {
		if end := endOf(c.From); math.Abs(v.Time.Seconds(span, end)-c.Start) < heard {
			return earlier(end, latest)
		}
	}
	lo := v.Grid.Start(v.Time.Spans()[span].From)
	if !lo.Less(latest) || v.Time.Seconds(span, lo) >= c.Start {
		return earlier(lo, latest)
	}
	return v.placeAt(span, c.Start, lo, latest)
}

// heard is far below what can be heard or drawn, in seconds.
const heard = 1e-3

// endOf is the written place at which an event is over.
func endOf(e *motion.Event) beat.Rat {
	if e.Cue == nil {
		return e.Action.At
	}
	return e.Cue.Strokes[e.Stroke].End
}

// grain is how finely a place is told that is no stroke's, in whole notes: a
// quarter of a triplet eighth.
const grain = 96

// placeAt is the written place of a played second, between two places.
func (v *part) placeAt(span int, t float64, lo, hi beat.Rat) beat.Rat {
	a, b := lo.MulInt(grain).Floor(), hi.MulInt(grain).Floor()
	for b-a > 1 {
		mid := (a + b) / 2
		if v.Time.Seconds(span, beat.R(mid, grain)) <= t {
			a = mid
		} else {
			b = mid
		}
	}
	if at := beat.R(b, grain); lo.Less(at) && at.Less(hi) {
		return at
	}
	return lo
}

// gripWords is what a hand holds, without an article; "" for nothing.
func gripWords(g motion.Grip) string {
	words := g.Words()
	if words == "nothing" {
		return ""
	}
	return strings.TrimPrefix(words, "the ")
}

// margin says how much time there is for a change and what is left of it.
func margin(c *motion.Change) string {
	return secs(c.Window) + ",\u00a0" + together(check.Spare(c))
}

// secs is a time that stays with its unit.
func secs(s float64) string { return together(words.Seconds(max(0, s))) }

// together is words that stay on one line.
func together(text string) string { return strings.ReplaceAll(text, " ", "\u00a0") }

// items are the player's instruments that are used, in the order of use.
func (v *part) items() []*score.Item {
	var out []*score.Item
	for _, st := range v.strokes {
		if !slices.Contains(out, st.cue.Item) {
			out = append(out, st.cue.Item)
		}
	}
	for _, a := range v.p.Actions {
		if a.Item != nil && !slices.Contains(out, a.Item) {
			out = append(out, a.Item)
		}
	}
	return out
}

// mountOf is how an item is played most: what the path chose first.
func (v *part) mountOf(it *score.Item) kit.Mount {
	for _, ch := range v.m.Chosen {
		if ch.Cue.Item == it && ch.Way != nil {
			return ch.Way.Mount
		}
	}
	if it.Mount != kit.AnyMount {
		return it.Mount
	}
	return it.Inst.Usual().Mount
}
