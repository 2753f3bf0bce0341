package sheet

import (
	"math"
	"slices"
	"sort"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
)

// A block is a bar, or a rest of many bars drawn as one.
type block struct {
	from, to int // bars
	start    beat.Rat
	length   beat.Rat
	rest     bool
	cut      bool     // never played
	fold     int      // bars like the one before (1) or the two before (2)
	cue      *cueLine // what others play before an entry
	left     int      // bars that the rest has left: of an open one with it, else behind it
	lone     bool     // a rest of one bar
	x, w     float64  // on the page
	padL     float64  // room before the first count, and after the last
	padR     float64
	least    float64   // width that keeps everything apart
	ideal    float64   // width that reads well
	counts   []counted // of its ruler
}

// counted is one count to say: a beat, or a place between that is struck.
type counted struct {
	at     float64 // share of the bar
	text   string
	struck bool
	beat   bool
}

// cueLine is what another player has in a bar.
type cueLine struct {
	player string
	cue    *score.Cue
	at     []beat.Rat
	ends   []beat.Rat // of each, which for what is only struck is where it begins
}

// maxBars is how many bars a cue sheet has at most: hours of music, and more
// paper than a stand holds.
const maxBars = 20_000

// restOfMany is how many bars of rest are drawn as one. As many before an entry are
// open, with what others play in them.
const restOfMany = 2

// blocks lays the whole piece out bar by bar, long rests together.
func (v *part) blocks() []block {
	busy := v.busyBars()
	all, road := v.breaks()
	var out []block
	last := min(v.Grid.Last(), maxBars)
	var run resting
	for bar := v.Grid.First(); bar <= last; {
		end := v.restTo(bar, last, busy, all)
		if bar > run.to || bar == v.Grid.First() {
			run = v.restFrom(bar, end, v.restTo(bar, last, busy, road), busy)
		}
		rest := min(end, run.shut)
		if rest-bar+1 >= restOfMany || bar <= rest && rest < run.to { // one that is counted down from, too
			b := v.block(bar, rest, true)
			b.left = run.to - rest
			out = append(out, b)
			bar = rest + 1
		}
		for ; bar <= end; bar++ {
			b := v.block(bar, bar, false)
			run.opens(&b)
			out = append(out, b)
		}
	}
	if v.unfolded {
		return out
	}
	return v.folded(out, busy)
}

// A resting is a rest up to where the player enters: bars, as far as nobody turns back
// and nothing is left out.
type resting struct {
	from, to int
	shut     int      // the last of its bars without what others play in it
	cue      *cueLine // that is heard in those behind it
	rests    bool     // it is one, and not a bar with something to do
}

// restFrom is the rest that a bar begins: up to the entry, or up to where a mark stands
// in it if none comes.
func (v *part) restFrom(bar, mark, entry int, busy []bool) resting {
	r := resting{from: bar, to: mark, rests: !busy[bar] && v.first[bar] >= 0}
	if r.rests && entry < min(v.Grid.Last(), maxBars) {
		r.to = entry
	}
	r.shut = r.to
	if r.rests && r.to < v.Grid.Last() && busy[r.to+1] {
		r.cue, r.shut = v.cueBefore(max(bar, r.to+1-restOfMany), r.to)
	}
	return r
}

// opens gives an open bar of the rest what others play in it, and how many bars are
// left.
func (r *resting) opens(b *block) {
	if !r.rests || b.from < r.from || b.from > r.to {
		return
	}
	b.lone = r.from == r.to
	if r.cue != nil {
		b.cue = r.cue.in(b.start, b.start.Add(b.length))
	}
	if !b.lone || b.cue != nil {
		b.left = r.to - b.from + 1
	}
}

// restTo is the last bar of the rest that a bar begins; the bar itself where it is none.
func (v *part) restTo(bar, last int, busy, broken []bool) int {
	end := bar
	for !busy[bar] && end < last && !busy[end+1] && !broken[end+1] && (v.first[end+1] < 0) == (v.first[bar] < 0) {
		end++
	}
	return end
}

func (v *part) block(from, to int, rest bool) block {
	b := block{from: from, to: to, start: v.Grid.Start(from), rest: rest, cut: v.first[from] < 0, padL: padLeft, padR: padRight}
	for _, list := range [][]score.Section{v.Repeats, v.Vamps} {
		for _, r := range list {
			if r.From == from {
				b.padL = padLeft + padRepeat
			}
			if r.To == to {
				b.padR = padRight + padRepeat
			}
		}
	}
	b.length = v.Grid.Start(to + 1).Sub(b.start)
	return b
}

// busyBars is which bars hold something to do: a stroke, a roll that goes on,
// a change at a set place, words.
func (v *part) busyBars() []bool {
	busy := make([]bool, v.Grid.Last()+2)
	for _, st := range v.strokes {
		from, _ := v.Grid.Place(st.At)
		to := from
		if st.At.Less(st.End) {
			if bar, c := v.Grid.Place(st.End); v.Grid.Start(bar).Less(st.End) || c != v.Grid.FirstCount(bar) {
				to = bar
			} else {
				to = bar - 1
			}
		}
		for bar := max(0, from); bar <= to && bar <= v.Grid.Last(); bar++ {
			busy[bar] = true
		}
	}
	for _, a := range v.p.Actions {
		if v.Grid.Has(a.Bar) {
			busy[a.Bar] = true
		}
	}
	for _, p := range v.Pauses {
		if bar, _ := v.Grid.Place(p.At); v.Grid.Has(bar) {
			busy[bar] = true
		}
	}
	return busy
}

// reads says whether a note or a cue stands at a place of this player's sheet.
func (v *part) reads(r *score.Remark) bool {
	return r.Placed && (r.Player == "" || r.Player == v.p.Name)
}

// breaks is the bars before which a rest of many bars must end, since whoever counts
// it counts to there; and those of them at which the road turns, so that what comes
// behind is not always what stands next.
func (v *part) breaks() (all, road []bool) {
	all, road = make([]bool, v.Grid.Last()+2), make([]bool, v.Grid.Last()+2)
	set := func(bar int, lists ...[]bool) {
		for _, list := range lists {
			if bar >= 0 && bar < len(list) {
				list[bar] = true
			}
		}
	}
	for _, m := range v.Marks {
		set(m.Bar, all)
	}
	for _, list := range [][]score.Section{v.Repeats, v.Endings, v.Vamps} {
		for _, s := range list {
			set(s.From, all, road)
			set(s.To+1, all, road)
		}
	}
	for _, sp := range v.Time.Spans() {
		set(sp.From, road)
		set(sp.To+1, road)
	}
	for _, r := range v.Remarks {
		if v.reads(&r) {
			set(r.Bar, all)
			if r.At != v.Grid.Start(r.Bar) {
				set(r.Bar+1, all)
			}
		}
	}
	for bar := max(1, v.Grid.First()+1); bar <= v.Grid.Last(); bar++ {
		if v.countsAnew(bar) {
			set(bar, all)
		}
	}
	return all, road
}

// countsAnew says whether a bar has another meter than the one before it or a tempo.
func (v *part) countsAnew(bar int) bool {
	return v.Grid.Meter(bar).String() != v.Grid.Meter(bar-1).String() || v.tempoAt(bar) != ""
}

// cueBefore is what can be heard of others in the last bars of a rest, and the last
// bar before those in which it is; the last of all where there is nothing.
func (v *part) cueBefore(bar, end int) (cue *cueLine, rest int) {
	if cue = v.cueFor(bar, end); cue == nil {
		return nil, end
	}
	for rest = bar - 1; cue.in(v.Grid.Start(rest+1), v.Grid.Start(rest+2)) == nil; {
		rest++
	}
	return cue, rest
}

// in is the same from one place to another; nil where there is nothing of it.
func (l *cueLine) in(from, to beat.Rat) *cueLine {
	out := &cueLine{player: l.player, cue: l.cue}
	for i, at := range l.at {
		if !at.Less(from) && at.Less(to) {
			out.at, out.ends = append(out.at, at), append(out.ends, l.ends[i])
		}
	}
	if out.at == nil {
		return nil
	}
	return out
}

// sounding is where the strokes of each player's cues are.
func (v *part) sounding() []extent {
	if v.heardOf == nil {
		for _, p := range v.Players {
			v.heardOf = append(v.heardOf, extentOf(len(p.Cues), func(i int) (a, b beat.Rat) {
				if strokes := p.Cues[i].Strokes; len(strokes) > 0 {
					return strokes[0].At, strokes[len(strokes)-1].At
				}
				at := v.Grid.Start(p.Cues[i].From)
				return at, at
			}))
		}
	}
	return v.heardOf
}

// cueFor is what can be heard of others in some bars: the line that is heard best,
// and of those heard alike the one with the most strokes.
func (v *part) cueFor(bar, end int) *cueLine {
	from, to := v.Grid.Start(bar), v.Grid.Start(end+1)
	var best *cueLine
	most := 0
	for i, other := range v.Players {
		if other == v.p {
			continue
		}
		lo, hi := v.sounding()[i].about(from, to)
		for _, c := range other.Cues[lo:hi] {
			i := sort.Search(len(c.Strokes), func(i int) bool { return !c.Strokes[i].At.Less(from) })
			first := i
			line := &cueLine{player: other.Name, cue: c}
			for ; i < len(c.Strokes) && c.Strokes[i].At.Less(to); i++ {
				if c.Strokes[i].Sounds() {
					line.at, line.ends = append(line.at, c.Strokes[i].At), append(line.ends, c.Strokes[i].End)
				}
			}
			if n := v.heard(line, c.Strokes[first:i]); len(line.at) > 0 && (best == nil || n > most) {
				best, most = line, n
			}
		}
	}
	return best
}

// heard is how well a line of others is heard in a bar, to tell one from
// another: by how loud its strokes there are, by whether it is of metal, bars or
// wood, which stand out of skins, and by whether it strikes on the beat. What is
// busy helps little: it is only what decides between two alike. (Common practice,
// no source.)
func (v *part) heard(l *cueLine, strokes []score.Stroke) int {
	score, loudest := 0, 0
	switch l.cue.Item.Inst.Family {
	case "metal", "keyboard":
		score = 3
	case "wood":
		score = 2
	}
	for i := range strokes {
		loudest = max(loudest, int(strokes[i].Dyn))
	}
	onBeat := 0
	for _, at := range l.at {
		if _, c := v.Grid.Place(at); c.Frac.IsZero() {
			onBeat++
		}
	}
	return 100*(score+loudest) + 10*min(onBeat, 4) + min(len(l.at), 9)
}

// A system is one line of blocks across the page.
type system struct {
	blocks []block
	lanes  []*lane
	scale  float64 // of the marks, below 1 where a bar is too full
	h      float64
	top    shelf // what stands over the ruler
	free   float64
	hand   body.Limb // freest at its end
}

// Marks on a sheet, in points.
const (
	strokeR   = 4.3
	padLeft   = 9.5
	padRight  = 4.0
	padRepeat = 6.0
	perCount  = 16.5
	restWidth = 62.0
	countSize = 10.2
	foldSize  = 9.5
	foldWidth = 52.0
)

// measure finds how wide a block must and should be.
func (v *part) measure(f *faces, b *block) {
	if b.rest {
		b.least, b.ideal = restWidth-8, restWidth
		switch {
		case b.to-b.from > 6:
			b.ideal *= 1.3
		case b.to == b.from:
			b.least, b.ideal = restWidth/2, restWidth/2
		default: // each bar has its number
			b.ideal = max(b.ideal, f.width(b.downTo(), restSize, true)+13)
			b.least = max(b.least, min(b.ideal, restWidth))
		}
		return
	}
	if b.fold > 0 {
		b.least, b.ideal = foldWidth, max(foldWidth, min(150, f.width(v.foldNumbers(b), foldSize, false)+14))
		return
	}
	v.beforeFirst(f, b)
	v.besideNumber(f, b)
	axis := v.measureLines(f, b)
	b.counts = v.ruler(b)
	if b.cue != nil {
		axis = append(axis, v.cueReach(b)...)
	}
	for _, c := range b.counts {
		if c.beat && !c.struck && b.cue == nil {
			w := f.width(c.text, countSize, false) / 2
			axis = append(axis, onAxis{c.at, w, w, true})
		}
	}
	b.measureAxis(axis)
	inner := b.length.Float()
	m := v.Grid.Meter(b.from)
	b.ideal = max(1.08*b.least, b.padL+b.padR+perCount*inner/max(m.Length().Float()/float64(m.Counts()), 1.0/64))
	switch {
	case b.cue != nil:
		b.ideal = max(b.least, 0.6*b.ideal)
	case len(v.in(b)) == 0:
		b.ideal = max(b.least, 0.7*b.ideal)
	}
}

// An onAxis is something that stands at the axis of time, and how far it
// reaches to either side.
type onAxis struct {
	at, left, right float64
	number          bool
}

// measureAxis widens a block so that no two things at the axis are on one
// another: dynamics of both hands stand one below the other, numbers between
// them.
func (b *block) measureAxis(axis []onAxis) {
	for _, m := range axis {
		for _, o := range axis {
			if o.at < m.at && (o.number || m.number) {
				b.least = max(b.least, (o.right+m.left+0.8)/(m.at-o.at)+b.padL+b.padR)
			}
		}
		if m.number {
			b.least = max(b.least, b.padL+m.right/max(1-m.at, 0.02)-m.right+b.padR)
		}
	}
}

// A strand is what stands beside one another in a block: a limb's notes, its
// letters or its dynamics.
type strand struct {
	limb body.Limb
	what byte // n for notes, k for bars and drums, l for letters, d for dynamics
}

// strands widen a block so that no two things of a strand are on one another.
type strands struct {
	*block
	last map[strand]onAxis
}

// in is where in the block a moment stands, from 0 to 1.
func (b *block) in(r beat.Rat) float64 { return r.Sub(b.start).Float() / b.length.Float() }

func (s *strands) need(k strand, at, left, right float64) {
	if e, ok := s.last[k]; ok && at > e.at {
		s.least = max(s.least, (e.right+left+0.8)/(at-e.at)+s.padL+s.padR)
	}
	s.least = max(s.least, s.padL+right/max(1-at, 0.02)-right+s.padR)
	s.last[k] = onAxis{at: at, right: right}
}

// measureLines makes room for what stands on the lines of a block, and gives
// what stands at its axis.
func (v *part) measureLines(f *faces, b *block) (axis []onAxis) {
	b.least = b.padL + b.padR + 16
	room := &strands{b, map[strand]onAxis{}}
	for limb := range v.limbsOfBlock(b).Each() {
		w := v.voiceOf(b, limb)
		shared := v.sharedIn(b) && limb.IsHand()
		for i := range w.bar.Notes {
			if n := &w.bar.Notes[i]; !n.Bar {
				left, right := w.reachOf(i, limb != body.Left)
				if half := v.underHalf(f, &w, i, shared); half > 0 {
					left, right = max(left, half), max(right, half)
				}
				room.need(strand{limb, 'n'}, b.in(w.place(n)), left, right)
			}
		}
		axis = append(axis, v.measureTones(f, room, limb, &w)...)
	}
	return axis
}

func (v *part) measureTones(f *faces, room *strands, limb body.Limb, w *voice) (axis []onAxis) {
	shared := v.sharedIn(room.block) && limb.IsHand()
	both := shared && alwaysBoth(w)
	for i := range w.tones {
		t := &w.tones[i]
		at := room.in(t.at)
		dyn, hand := v.signsOf(t, shared)
		if !w.ok {
			room.need(strand{limb, 'n'}, at, 4, 4)
		}
		if keys := t.keys(); keys != "" {
			half := f.width(keys, keysSize, true)/2 + 1
			room.need(strand{limb, 'k'}, at, half, half)
		}
		if hand != "" && !both {
			room.need(strand{limb, 'l'}, at, 4.2, 4.2+float64(len(hand)-1)*1.5)
		}
		if pin := t.pinned(); len(dyn) > 0 || pin {
			right := dynamicsWidth(f, dyn, 1) + 3 - strokeR
			if pin {
				right += pinLeast
			}
			room.need(strand{limb, 'd'}, at, strokeR, right)
			if limb.IsHand() {
				axis = append(axis, onAxis{at, strokeR, right, false})
			}
		}
	}
	return axis
}

// reachOf is how far a note of a voice reaches to either side, as it stands
// among its neighbours.
func (w *voice) reachOf(i int, up bool) (left, right float64) {
	n := &w.bar.Notes[i]
	left, right = w.reach(n, up)
	if i+1 < len(w.bar.Notes) && !w.bar.Notes[i+1].Rest() {
		heads := 7.0 // a flag is above what comes, if it is no rest; heads are not
		if !n.Rest() {
			_, r := w.tones[n.Event].beside(up)
			heads = max(heads, r)
		}
		right = min(right, heads)
	}
	if n.Rest() && i > 0 && flagged(&w.bar.Notes[i-1]) {
		left, right = left-restAside, right+restAside
	}
	return left, right
}

// underHalf is half the width of what stands under the heads of a note, where a
// rest stands beside it, that reaches down to that; else 0.
func (v *part) underHalf(f *faces, w *voice, i int, shared bool) (half float64) {
	rest := func(k int) bool { return k >= 0 && k < len(w.bar.Notes) && w.bar.Notes[k].Rest() }
	n := &w.bar.Notes[i]
	if n.Rest() || n.Event >= len(w.tones) || !rest(i-1) && !rest(i+1) {
		return 0
	}
	t := &w.tones[n.Event]
	if keys := t.keys(); keys != "" {
		half = f.width(keys, keysSize, true)/2 + 1
	}
	if _, hand := v.signsOf(t, shared); len(hand) > 1 && !alwaysBoth(w) {
		half = max(half, f.width(hand, bothSize, true)/2+0.6)
	}
	return half
}

// besideNumber makes room before the first note of the right hand for the number
// of the bar, which stands beside its stem.
func (v *part) besideNumber(f *faces, b *block) {
	w := v.voiceOf(b, body.Right)
	if len(w.tones) == 0 {
		return
	}
	bracket := len(w.bar.Tuplets) > 0 && w.bar.Tuplets[0].First == 0 // over a rest too
	if w.tones[0].at != b.start && !bracket {
		return
	}
	stem := 3.0 // right of the head's middle; a beam begins over the cross of a stop
	if bracket {
		stem = -bracketOut
	}
	if w.tones[0].damp != nil {
		stem = min(stem, -0.5)
	}
	for _, st := range w.tones[0].strokes {
		if !st.Sounds() {
			stem = min(stem, -0.5)
		}
		if st.Has(score.Roll) {
			stem = min(stem, -4)
		}
		if st.Grace > 0 {
			stem = min(stem, -5-5*float64(st.Grace))
		}
	}
	b.padL = max(b.padL, f.width(v.OnPage(b.from), numSize, false)+3.5-stem)
}

// beforeFirst makes room before the first notes of a bar for what stands before
// them: accidentals, small notes, and the names of bars and drums, which are wider
// than heads.
func (v *part) beforeFirst(f *faces, b *block) {
	signs := b.padL - padLeft // of the road map
	for limb := range v.limbsOfBlock(b).Each() {
		if w := v.voiceOf(b, limb); len(w.tones) > 0 && w.tones[0].at == b.start {
			if keys := w.tones[0].keys(); keys != "" {
				b.padL = max(b.padL, f.width(keys, keysSize, true)/2+2.5+signs)
			}
			if len(w.bar.Notes) > 0 && !w.bar.Notes[0].Rest() {
				left, _ := w.reach(&w.bar.Notes[0], limb != body.Left)
				b.padL = max(b.padL, left+2.5+signs)
			}
		}
	}
}

// in is the strokes of a block.
func (v *part) in(b *block) []struck {
	end := b.start.Add(b.length)
	i := sort.Search(len(v.strokes), func(i int) bool { return !v.strokes[i].At.Less(b.start) })
	j := sort.Search(len(v.strokes), func(i int) bool { return !v.strokes[i].At.Less(end) })
	return v.strokes[i:j]
}

// ruler is what is counted in a bar: every beat, and every place between that
// is struck.
func (v *part) ruler(b *block) []counted {
	m := v.Grid.Meter(b.from)
	inner := b.length.Float()
	struckAt := map[beat.Rat]bool{}
	var places []beat.Rat
	add := func(at beat.Rat, is bool) {
		if was, ok := struckAt[at]; !ok {
			places = append(places, at)
			struckAt[at] = is
		} else if is && !was {
			struckAt[at] = true
		}
	}
	first := v.Grid.FirstCount(b.from)
	for i := first.Beat; i <= m.Counts(); i++ {
		if at, ok := v.Grid.At(b.from, beat.Count{Beat: i}); ok {
			add(at, false)
		}
	}
	for _, st := range v.in(b) {
		add(st.At, true)
	}
	if b.cue != nil {
		for _, at := range b.cue.at {
			add(at, false)
		}
	}
	sort.Slice(places, func(i, j int) bool { return places[i].Less(places[j]) })
	out := make([]counted, 0, len(places))
	for _, at := range places {
		_, c := v.Grid.Place(at)
		text := c.String()
		isBeat := c.Frac.IsZero()
		if !isBeat {
			text = offBeat(c)
		}
		out = append(out, counted{at: at.Sub(b.start).Float() / inner, text: text, struck: struckAt[at], beat: isBeat})
	}
	return out
}

// offBeat is what is said between the beats: e & a, t l, or the fraction.
func offBeat(c beat.Count) string {
	s := beat.Count{Beat: 1, Frac: c.Frac}.String()
	if s[1] == '+' {
		return s[2:]
	}
	return s[1:]
}

// measured are the part's blocks with the room that each takes, for whoever breaks
// them into lines. They are the same on every paper and every screen.
func (v *part) measured(f *faces) []block {
	if v.sized == nil {
		v.sized = v.blocks()
		for i := range v.sized {
			v.measure(f, &v.sized[i])
		}
	}
	return slices.Clone(v.sized)
}

// systems parts the blocks into lines no wider than the room.
func (v *part) systems(blocks []block, room float64) []*system {
	marked := map[int]bool{}
	for _, m := range v.Marks {
		marked[m.Bar] = true
	}
	n := len(blocks)
	cost, next := make([]float64, n+1), make([]int, n) // of the best lines from a block on
	care := 1.0
	if v.close {
		care = careWhenClose
	}
	staves := make([][]rowKey, n)
	for i := range blocks {
		staves[i] = v.stavesOf(&blocks[i])
	}
	for i := n - 1; i >= 0; i-- {
		cost[i], next[i] = math.Inf(1), i+1
		var l lineSum
		for j := i; j < n; j++ {
			b := &blocks[j]
			if l.least += b.least; j > i && l.least > room {
				break
			}
			l.addBlock(b, j-i, marked[b.from], care)
			l.addStaves(staves[j], care)
			ends := j+1 == n || marked[blocks[j+1].from]
			inside := care * costAtEnd(blocks[i:], j-i, ends, i > 0 && !marked[blocks[i].from])
			if all := inside + l.cost(room, ends) + cost[j+1]; all < cost[i] {
				cost[i], next[i] = all, j+1
			}
		}
	}
	var out []*system
	for i := 0; i < n; i = next[i] {
		out = append(out, spread(blocks[i:next[i]], room, next[i] == n))
	}
	return out
}

// What a line costs in the search for where to break: each line, being closer
// or wider than reads well, a rehearsal mark that does not begin it, and a fold
// whose bars stand on the line before.
const (
	costLine       = 1.0
	costClose      = 0.6
	costWide       = 0.35
	costMarkInside = 0.45
	costCueInside  = 0.6 // a line that ends within what is open before an entry
	costLoneBar    = 0.3 // one block of a passage left over for the last
	costNewStaff   = 0.5 // one more, for a limb that has one already
	costBareFold   = 1000.0
)

// careWhenClose is the share of what marks and staves inside a line cost, where
// that may save a page.
const careWhenClose = 0.2

// costAtEnd is what it costs that a line of blocks ends with one of them: within what is
// open before an entry, or with the first one, which is left over of a passage.
func costAtEnd(blocks []block, last int, ends, leftOver bool) float64 {
	switch {
	case !ends && blocks[last].left > 0 && blocks[last+1].left > 0:
		return costCueInside
	case ends && last == 0 && leftOver:
		return costLoneBar
	}
	return 0
}

// lineSum is how wide the blocks of a line are together, and what it costs to have
// them there.
type lineSum struct {
	least, ideal, extra float64
	staves              []rowKey
}

// addBlock adds one, behind some others of the line.
func (l *lineSum) addBlock(b *block, behind int, marked bool, care float64) {
	l.ideal += b.ideal
	if marked && behind > 0 {
		l.extra += costMarkInside * care
	}
	if b.fold > 0 && b.fold < phrase && behind < b.fold {
		l.extra += costBareFold
	}
}

func (l *lineSum) addStaves(more []rowKey, care float64) {
	for _, k := range more {
		if slices.Contains(l.staves, k) {
			continue
		}
		if slices.ContainsFunc(l.staves, func(o rowKey) bool { return o.limb == k.limb }) {
			l.extra += costNewStaff * care
		}
		l.staves = append(l.staves, k)
	}
}

// stavesOf is the staves with a clef that a block needs.
func (v *part) stavesOf(b *block) (out []rowKey) {
	if !v.clefs || b.rest || b.fold > 0 {
		return nil
	}
	for limb := range v.limbsOfBlock(b).Each() {
		w := v.voiceOf(b, limb)
		for i := range w.tones {
			for _, h := range w.tones[i].heads {
				if h.staff && !slices.Contains(out, h.row) {
					out = append(out, h.row)
				}
			}
		}
	}
	return out
}

func (l *lineSum) cost(room float64, ends bool) float64 {
	cost := costLine + l.extra
	if l.ideal > room {
		t := min(1, (l.ideal-room)/max(l.ideal-l.least, 1e-9))
		return cost + costClose*t*t
	}
	if t := min(1.5, room/max(l.ideal, 1)-1); !ends {
		cost += costWide * t * t
	}
	return cost
}

// spread gives the blocks of a line their widths: in proportion to how long
// they last, except where one needs more, and all of the room together.
func spread(blocks []block, room float64, last bool) *system {
	s := &system{blocks: blocks, scale: 1}
	least := 0.0
	for i := range blocks {
		least += blocks[i].least
	}
	if least > room {
		s.scale = room / least
		for i := range blocks {
			b := &blocks[i] // what stands before its first count is as small
			b.w, b.padL, b.padR = b.least*s.scale, b.padL*s.scale, b.padR*s.scale
		}
		return s
	}
	width := func(k float64) (sum float64) {
		for i := range blocks {
			b := &blocks[i]
			b.w = max(b.least, k*b.ideal)
			if b.rest || b.fold > 0 {
				b.w = max(b.least, min(k, 1.3)*b.ideal)
			}
			sum += b.w
		}
		return sum
	}
	lo, hi := 0.0, 1.9
	if last {
		hi = 1.25
	}
	for range 50 {
		if mid := (lo + hi) / 2; width(mid) <= room {
			lo = mid
		} else {
			hi = mid
		}
	}
	width(lo)
	return s
}
