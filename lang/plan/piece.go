package plan

import (
	"cmp"
	"math"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// A track is one written line through the whole piece: all that a part has
// for one instrument.
type track struct {
	index   int // of the piece's tracks
	part    *score.Part
	name    string // as written
	inst    *kit.Instrument
	shared  bool     // another part has a line of this name
	alike   []*track // of all parts, the lines of this name, itself among them
	strokes []score.Stroke
	bars    []*passage  // in order; in unison, those of the line that has the strokes
	byBar   map[int]int // index into bars
	cuts    []float64   // by bar: what it costs that the line stops, or comes in, before it
	more    map[int]int // by bar: the notes of chords beyond one a stroke
	noted   bool        // some strokes may say which bar or drum they strike
}

// A passage is what one line has in one bar: the least that is given away.
type passage struct {
	id      int
	track   *track
	bar     int
	place   int // among the bars of its line
	row     int // of its bar among those with something written
	strokes []score.Stroke
	on, off []float64 // seconds, first time played
	widened bool      // it has every way of playing it
	early   []float64 // by how much each may be let go of, if it is a roll and something follows
	t0, t1  float64
	letGo   float64   // that of what ends last
	sounds  int       // strokes that sound
	others  int       // of them, those that only lines of other parts have
	share   []float64 // for how many strokes each of them counts
	shares  float64   // all of those
	dyn     [2]kit.Dynamic
	roll    bool
	lasts   float64 // bars: more than one where a roll goes on
	weight  float64
	options []option
	least   int  // hands it takes at the very least
	fixed   bool // kept as it is today
	closed  bool // nothing of this plan: whoever plays it or not, it stays so
	today   plays
	unison  []*passage // of other parts, that the same strokes give
	groups  []int      // of what stays with one person, those it is in
	worth   *score.Worth
}

// A plays says how a passage is played, or that it is not.
type plays struct {
	player int8 // -1: nobody
	option int8
	slots  uint8
}

var nobody = plays{player: -1}

// more adds to the ways of playing a passage, as long as their number has room in a [plays].
func (q *passage) more(o option) bool {
	if len(q.options) > math.MaxInt8 {
		return false
	}
	q.options = append(q.options, o)
	return true
}

// A piece is what there is to plan.
type piece struct {
	score    *score.Score
	tracks   []*track // in the order in which a plan looks at them
	lines    []*track // the same as the file has them
	asFile   bool     // cues are written in that order
	passages []*passage
	bars     [][]*passage // by bar as played first, those with something written
	weights  Weights
	written  float64
	keep     bool                    // what is left out stays left out
	doubled  bool                    // some bars of several parts could be played by the same strokes
	groups   [][]*passage            // what stays with one person each
	own      map[*kit.Instrument]int // how many there are of what is hard to bring, where no gear block speaks of it
	joint    []*kit.Instrument       // at which two people stand who are to
	oneByOne bool                    // people stand at one thing, one after the other and with time between
}

// spans finds for every bar the first time that it is played.
func firstSpans(s *score.Score) map[int]int {
	first := map[int]int{}
	for k, sp := range s.Time.Spans() {
		for b := sp.From; b <= sp.To; b++ {
			if _, ok := first[b]; !ok {
				first[b] = k
			}
		}
	}
	return first
}

// take reads the parts of a score; with unite what parts have on one instrument is one where
// one hand gives all of it, which strikes as often as pace says at the most.
func take(s *score.Score, w Weights, keep, unite bool, pace func(in *kit.Instrument) float64) *piece {
	p := &piece{score: s, weights: w, keep: keep}
	names := map[string]map[*score.Part]bool{}
	for _, part := range s.Parts {
		byName := map[string]*track{}
		for _, l := range part.Lines {
			t := byName[l.Name]
			if t == nil {
				t = &track{part: part, name: l.Name, inst: l.Inst, byBar: map[int]int{}, more: map[int]int{}}
				byName[l.Name] = t
				p.tracks = append(p.tracks, t)
				if names[l.Name] == nil {
					names[l.Name] = map[*score.Part]bool{}
				}
				names[l.Name][part] = true
			}
			t.strokes = append(t.strokes, l.Strokes...)
			for i := range l.Struck {
				t.noted = true
				if n := l.StruckAt(i).Count(); n > 1 && l.Strokes[i].Sounds() {
					t.more[int(l.Strokes[i].Bar)] += n - 1
				}
			}
		}
	}
	for _, t := range p.tracks {
		t.shared = len(names[t.name]) > 1
		slices.SortStableFunc(t.strokes, func(a, b score.Stroke) int { return a.At.Cmp(b.At) })
	}
	p.order()
	first := firstSpans(s)
	for _, t := range p.tracks {
		t.strokes = slices.DeleteFunc(t.strokes, func(s score.Stroke) bool { // what a road map leaves out is nobody's
			_, played := first[int(s.Bar)]
			return !played
		})
		p.cut(t, first)
	}
	slices.SortStableFunc(p.passages, func(a, b *passage) int {
		return cmp.Or(cmp.Compare(a.bar, b.bar), cmp.Compare(a.track.index, b.track.index))
	})
	p.number()
	p.weigh()
	p.unite(unite, pace)
	p.group()
	p.cutUp()
	return p
}

// group notes what stays with one person.
func (p *piece) group() {
	for _, t := range p.score.Together {
		var list []*passage
		for _, q := range p.passages {
			if t.Has(q.track.part.Name, q.track.name, q.bar) || slices.ContainsFunc(q.unison, func(o *passage) bool { return t.Has(o.track.part.Name, o.track.name, o.bar) }) {
				list = append(list, q)
			}
		}
		if len(list) < 2 {
			continue
		}
		for _, q := range list {
			q.groups = append(q.groups, len(p.groups))
		}
		p.groups = append(p.groups, list)
	}
}

// number gives passages their ids and bars what they have.
func (p *piece) number() {
	p.bars = nil
	for i, q := range p.passages {
		q.id = i
		if n := len(p.bars); n == 0 || p.bars[n-1][0].bar != q.bar {
			p.bars = append(p.bars, nil)
		}
		q.row = len(p.bars) - 1
		p.bars[q.row] = append(p.bars[q.row], q)
	}
}

// unite makes one passage of those of a bar that the same strokes on the same
// instrument give: all parts' lines of one name, where one of them has every stroke
// of the others or one hand gives the strokes of all, and no cue says of which part it
// plays them.
func (p *piece) unite(really bool, pace func(in *kit.Instrument) float64) {
	for _, t := range p.tracks {
		for _, o := range p.tracks {
			if o.name == t.name {
				t.alike = append(t.alike, o)
			}
		}
	}
	host := map[*passage]*passage{}
	for _, bar := range p.bars {
		for _, q := range bar {
			if !q.track.shared || host[q] != nil || len(q.unison) > 0 || p.parted(q) {
				continue
			}
			all, others := p.together(q, bar, pace)
			if others == nil {
				continue
			}
			p.doubled = true
			if !really {
				return
			}
			if all != nil {
				q.takeOn(all, others)
			}
			q.unison = others
			for _, o := range others {
				host[o] = q
				o.track.bars[o.place] = q
				q.weight += o.weight
			}
		}
	}
	p.passages = slices.DeleteFunc(p.passages, func(q *passage) bool { return host[q] != nil })
	p.number()
}

// together are the other passages of a bar that the same strokes give as one of them, if they can
// be one, and where none has all of the strokes, all that they have.
func (p *piece) together(q *passage, bar []*passage, pace func(in *kit.Instrument) float64) (all joined, others []*passage) {
	for _, o := range bar {
		if o != q && o.track.name == q.track.name {
			others = append(others, o)
		}
	}
	if len(others) == 0 || !slices.ContainsFunc(others, func(o *passage) bool { return !gives(q, o) }) {
		return nil, others
	}
	if slices.ContainsFunc(others, func(o *passage) bool { return givesAll(o, q, others) }) {
		return nil, nil // its turn comes
	}
	all = join(append([]*passage{q}, others...))
	if !all.within(pace(q.track.inst)) || p.partly(all, q) {
		return nil, nil
	}
	return all, others
}

// givesAll says whether one of some passages has the strokes of another and of all the rest.
func givesAll(o, q *passage, others []*passage) bool {
	return gives(o, q) && !slices.ContainsFunc(others, func(r *passage) bool { return r != o && !gives(o, r) })
}

// A joinedStroke is a stroke that some lines have together, and what it weighs.
type joinedStroke struct {
	score.Stroke
	on, weight float64
}

// joined are the strokes of several lines of one instrument in a bar; those at one time are one.
type joined []joinedStroke

// join puts together what some passages of one instrument have; nil where their strokes are more
// than single strokes that are all alike.
func join(list []*passage) joined {
	var out joined
	for _, q := range list {
		if q.track.noted {
			return nil
		}
		for i := range q.strokes {
			st := &q.strokes[i]
			if st.Flags&^score.Accent != 0 || st.Grace > 0 {
				return nil
			}
			out = append(out, joinedStroke{*st, q.on[i], q.weighs(i)})
		}
	}
	slices.SortStableFunc(out, func(a, b joinedStroke) int { return a.At.Cmp(b.At) })
	n := 0
	for _, st := range out {
		if n > 0 && out[n-1].At == st.At {
			out[n-1].weight += st.weight
			continue
		}
		out[n] = st
		n++
	}
	return out[:n]
}

// within says whether no stroke comes sooner after the one before than one hand can repeat them
// at ease.
func (s joined) within(pace float64) bool {
	for i := 1; i < len(s); i++ {
		if s[i].on-s[i-1].on < pace-1e-6 {
			return false
		}
	}
	return len(s) > 0
}

// partly says whether a cue of the file plays some of what lines have together in the bar of a
// passage, and not all.
func (p *piece) partly(all joined, q *passage) bool {
	for _, who := range p.score.Players {
		for _, c := range who.Cues {
			if c.Voice != q.track.name || !q.touched(c) {
				continue
			}
			has := map[beat.Rat]bool{}
			for i := range c.Strokes {
				has[c.Strokes[i].At] = true
			}
			if slices.ContainsFunc(all, func(s joinedStroke) bool { return !has[s.At] }) {
				return true
			}
		}
	}
	return false
}

// takeOn gives a passage what it and others have together; what the others weigh is not
// added yet.
func (q *passage) takeOn(all joined, others []*passage) {
	q.strokes, q.on, q.off, q.share = nil, nil, nil, nil
	q.others, q.sounds = len(all)-q.sounds, len(all)
	q.early, q.shares = make([]float64, len(all)), 0
	for i := range all {
		q.strokes, q.on, q.off = append(q.strokes, all[i].Stroke), append(q.on, all[i].on), append(q.off, all[i].on)
		q.share = append(q.share, all[i].weight)
		q.shares += all[i].weight
	}
	q.t0, q.t1, q.letGo = q.on[0], q.on[len(q.on)-1], 0
	for _, o := range others {
		if q.dyn[0] == 0 || o.dyn[0] != 0 && o.dyn[0] < q.dyn[0] {
			q.dyn[0] = o.dyn[0]
		}
		q.dyn[1] = max(q.dyn[1], o.dyn[1])
	}
}

// parted says whether a cue of the file plays a bar of a line for one part alone.
func (p *piece) parted(q *passage) bool {
	for _, who := range p.score.Players {
		for _, c := range who.Cues {
			if c.Voice == q.track.name && c.Of != "" && q.bar >= c.From && q.bar <= c.To {
				return true
			}
		}
	}
	return false
}

// gives says whether the strokes of one passage are all those of another, rolls as
// long.
func gives(q, o *passage) bool {
	if !holds(q, o) {
		return false
	}
	for i := range o.strokes {
		for k := range q.strokes {
			if a, b := &o.strokes[i], &q.strokes[k]; a.At == b.At && (a.Has(score.Roll) != b.Has(score.Roll) || a.Has(score.Roll) && a.End != b.End || a.Grace != b.Grace) {
				return false
			}
		}
	}
	return true
}

// cut makes a passage of every bar that a track has something in.
func (p *piece) cut(t *track, first map[int]int) {
	for i := 0; i < len(t.strokes); {
		bar := int(t.strokes[i].Bar)
		j := i
		for j < len(t.strokes) && int(t.strokes[j].Bar) == bar {
			j++
		}
		if span, played := first[bar]; played && !p.omitted(t, bar) {
			q := &passage{track: t, bar: bar, place: len(t.bars), strokes: t.strokes[i:j:j], today: nobody}
			p.time(q, span)
			t.byBar[bar] = len(t.bars)
			t.bars = append(t.bars, q)
			p.passages = append(p.passages, q)
		}
		i = j
	}
}

// omitted says whether a track is left out in a bar. What an earlier plan left
// out this one may do better.
func (p *piece) omitted(t *track, bar int) bool {
	return slices.ContainsFunc(p.score.Omits, func(o *score.Omit) bool {
		return (p.keep || !ours(o.Reason)) && o.Name == t.name && (o.Part == "" || o.Part == t.part.Name) && bar >= o.From && bar <= o.To
	})
}

// time says when the strokes of a passage are played, and how loud.
func (p *piece) time(q *passage, span int) {
	q.share = make([]float64, len(q.strokes))
	q.early = make([]float64, len(q.strokes))
	for k := range q.strokes {
		st := &q.strokes[k]
		at := p.score.Time.Seconds(span, st.At)
		end := at
		if st.Has(score.Roll) {
			q.roll = true
			lasts := p.score.Tempo.Between(st.At, st.End)
			end += lasts
			q.early[k] = motion.LetGo(p.score, st, lasts)
		}
		q.on, q.off = append(q.on, at), append(q.off, end)
		if end >= q.t1 {
			q.t1, q.letGo = end, q.early[k]
		}
		if !st.Sounds() {
			continue
		}
		q.sounds++
		q.share[k] = p.shareOf(st)
		q.shares += q.share[k]
		if st.Dyn != 0 {
			if q.dyn[0] == 0 || st.Dyn < q.dyn[0] {
				q.dyn[0] = st.Dyn
			}
			q.dyn[1] = max(q.dyn[1], st.Dyn)
		}
	}
	q.t0 = q.on[0]
	q.lasts = max(1, q.strokes[len(q.strokes)-1].End.Sub(q.strokes[0].At).Float()/p.score.Grid.Meter(q.bar).Length().Float())
}

// free is from when on a hand has time that a stroke has kept.
func (q *passage) free(stroke int) float64 { return q.off[stroke] - q.early[stroke] }

// shareOf is for how many strokes one counts: a roll for as many as it lasts counts,
// for who leaves out a roll of four bars leaves out more than one stroke.
func (p *piece) shareOf(st *score.Stroke) float64 {
	if !st.Has(score.Roll) {
		return 1
	}
	m := p.score.Grid.Meter(int(st.Bar))
	return max(1, st.End.Sub(st.At).Float()/m.Length().Float()*float64(m.Counts()))
}

// weighs is what one of a passage's strokes is worth.
func (q *passage) weighs(stroke int) float64 { return q.weight * q.share[stroke] / q.shares }

// weigh says what each passage is worth.
func (p *piece) weigh() {
	loudest, least := kit.Dynamic(0), 1.0
	for _, q := range p.passages {
		loudest = max(loudest, q.dyn[1])
	}
	for _, bar := range p.bars {
		b := barSum{counts: p.score.Grid.Meter(bar[0].bar).Counts()}
		for _, q := range bar {
			b.add(q)
		}
		b.climax = b.loud == loudest && b.loud >= kit.F && b.metals == 1
		for _, q := range bar {
			q.weight = p.worth(q, &b, bar) * q.shares
			if q.worth = p.score.WorthOf(q.track.part.Name, q.track.name, q.bar); q.worth != nil {
				q.weight *= q.worth.Times
				least = min(least, q.worth.Times)
			}
			p.written += q.weight
		}
	}
	p.weights.Lost /= least // so that a stroke of what matters least still outweighs how it is played
}

// A barSum is what all lines do in a bar.
type barSum struct {
	counts           int // of the bar
	most             int // strokes in one line
	sounding, metals int // lines
	loud             kit.Dynamic
	climax           bool // one line of metal in the loudest of bars
}

func (b *barSum) add(q *passage) {
	b.most, b.loud = max(b.most, q.sounds), max(b.loud, q.dyn[1])
	if q.sounds > 0 {
		b.sounding++
		if q.metal() {
			b.metals++
		}
	}
}

func (q *passage) metal() bool { return q.track.inst.Family == kit.Metal }

// worth is what a stroke of a passage is worth, beside others of its bar.
func (p *piece) worth(q *passage, b *barSum, bar []*passage) float64 {
	w := p.weights.Stroke
	if b.sounding == 1 {
		w *= p.weights.Exposed
	} else if q.sounds == b.most && q.sounds >= b.counts {
		w *= p.weights.Driving
	}
	if b.climax && q.metal() {
		w *= p.weights.Climax
	}
	if slices.ContainsFunc(bar, func(o *passage) bool {
		return o != q && o.track.inst == q.track.inst && holds(o, q) && (o.track.index < q.track.index || !holds(q, o))
	}) {
		w *= p.weights.Doubled
	}
	return w
}

// holds says whether one passage has all the strokes of another.
func holds(o, q *passage) bool {
	i := 0
	for k := range q.strokes {
		if !q.strokes[k].Sounds() {
			continue
		}
		for i < len(o.strokes) && o.strokes[i].At.Less(q.strokes[k].At) {
			i++
		}
		if i >= len(o.strokes) || o.strokes[i].At != q.strokes[k].At {
			return false
		}
	}
	return true
}
