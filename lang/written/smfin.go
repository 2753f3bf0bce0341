package written

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/pitch"
)

// tolerance is how far, in seconds, a stroke may be moved to the nearest count
// before that is reported: a fast one-hand stroke is ten times as long.
const tolerance = 0.012

// grids are the divisions of a quarter note that strokes are moved to: the
// simplest that fits a bar is taken.
var grids = []int64{1, 2, 3, 4, 6, 8, 12, 16, 24}

// An smfRoll is where a run of strokes ends: the tick of its last one, and that
// at which the next would be.
type smfRoll struct{ last, until int64 }

// An smfHit is one stroke of a MIDI file.
type smfHit struct {
	tick     int64
	roll     smfRoll // where it ends, if it is one
	sec      float64 // how long a tick lasts there
	key      byte
	velocity byte
}

func readSMF(data string, opt Options) (*Work, error) {
	r := &smfReader{opt: opt, work: &Work{}}
	if err := r.parse(data); err != nil {
		return nil, err
	}
	r.namer = &namer{opt: opt, work: r.work, own: map[string]string{}}
	r.maps()
	if len(r.parts) == 0 {
		return nil, errors.New("there is no percussion in it: no notes on channel 10, and no percussion program")
	}
	if err := r.lay(); err != nil {
		return r.work, err
	}
	r.namer.asks()
	return r.work, nil
}

type smfReader struct {
	smfFile
	opt    Options
	work   *Work
	namer  *namer
	tempos []smfTempo
	meters []smfMeter
	parts  []*smfPart
	asides []smfAside
	struck int64 // the last time something is
	last   int64 // where the file ends
	frame  int64 // where a first track without strokes ends, else 0
}

type smfTempo struct {
	tick int64
	sec  float64 // a quarter note's
}

type smfMeter struct {
	tick         int64
	upper, lower int
}

// An smfAside is something of a track that is no stroke and is not kept: what, how
// often, and when first.
type smfAside struct {
	track, channel int // channel -1: of the track
	what           string
	n              int
	tick           int64
}

// mostAsides is how many sorts of them are told apart.
const mostAsides = 1000

func (r *smfReader) aside(track, channel int, what string, tick int64) {
	i := slices.IndexFunc(r.asides, func(a smfAside) bool { return a.track == track && a.channel == channel && a.what == what })
	switch {
	case i >= 0:
		r.asides[i].n++
		r.asides[i].tick = min(r.asides[i].tick, tick)
	case len(r.asides) < mostAsides:
		r.asides = append(r.asides, smfAside{track, channel, what, 1, tick})
	}
}

// layAsides lists them, each where it comes first.
func (r *smfReader) layAsides(b *smfBars) {
	for _, a := range r.asides {
		what := a.what
		if a.n > 1 {
			what = fmt.Sprintf("%s, %d times", what, a.n)
		}
		where := fmt.Sprintf("track %d", a.track)
		if a.channel >= 0 {
			where += fmt.Sprintf(", channel %d", a.channel+1)
		}
		r.work.lose(Loss{Bar: b.number(a.tick), What: where + ": " + what})
	}
}

// maps puts tempos and meters, which may stand in any track, in order.
func (r *smfReader) maps() {
	if r.tracks > 1 && r.frame > r.struck {
		r.last = r.frame - 1 // what rings on behind the end of all makes no bar
	}
	slices.SortStableFunc(r.tempos, func(a, b smfTempo) int { return cmp.Compare(a.tick, b.tick) })
	slices.SortStableFunc(r.meters, func(a, b smfMeter) int { return cmp.Compare(a.tick, b.tick) })
	if r.smpte {
		// Without beats there is nothing to count: a quarter note is taken as half
		// a second, and that is said.
		r.division = max(1, int(math.Round(r.perSec/2)))
		r.tempos = []smfTempo{{0, float64(r.division) / r.perSec}}
		r.work.lose(Loss{Bar: -1, What: "this file counts seconds, not beats: its bars are written as 4/4 at a quarter note of half a second"})
	}
	if len(r.tempos) == 0 || r.tempos[0].tick > 0 {
		r.tempos = slices.Insert(r.tempos, 0, smfTempo{0, 0.5})
	}
	if len(r.meters) == 0 || r.meters[0].tick > 0 {
		r.meters = slices.Insert(r.meters, 0, smfMeter{0, 4, 4})
	}
}

// meta reads an event that is for the whole piece, or a track's name; the first
// track's is the piece's title.
func (r *smfReader) meta(e smfEvent, t *sortedTrack) {
	switch {
	case e.meta == 0x51 && len(e.data) == 3:
		us := int(e.data[0])<<16 | int(e.data[1])<<8 | int(e.data[2])
		switch n := len(r.tempos); {
		case n > 0 && r.tempos[n-1].tick == e.tick:
			r.tempos[n-1].sec = float64(us) / 1e6
		case n == maxTempos:
			r.work.lose(Loss{Bar: -1, What: "more tempos than are read"})
		default:
			r.tempos = append(r.tempos, smfTempo{e.tick, float64(us) / 1e6})
		}
	case e.meta == 0x58 && len(e.data) >= 2:
		switch n, m := len(r.meters), (smfMeter{e.tick, int(e.data[0]), 1 << min(e.data[1], 30)}); {
		case n > 0 && r.meters[n-1].tick == e.tick:
			r.meters[n-1] = m
		case n == maxTempos:
			r.work.lose(Loss{Bar: -1, What: "more meters than are read"})
		default:
			r.meters = append(r.meters, m)
		}
	case e.meta == 0x03:
		name := r.cleanText(e.data)
		t.name = cmp.Or(t.name, name)
		if t.number == 1 && r.work.Title == "" && r.format == 1 {
			r.work.Title = name
		}
	case e.meta == 0x06 && len(r.work.Marks) < 1000:
		r.work.Marks = append(r.work.Marks, Mark{r.cleanText(e.data), int(min(e.tick, math.MaxInt32))}) // a tick for now
	case e.meta == 0x06:
		r.aside(t.number, -1, "a mark beyond the thousandth", e.tick)
	case e.meta >= 0x01 && e.meta <= 0x0f:
		r.text(e, t)
	}
}

// text reads words that are no name and no mark: they stand as a note at their
// place; whose the music is, and what is behind all that is struck, in front.
func (r *smfReader) text(e smfEvent, t *sortedTrack) {
	switch text := r.cleanText(e.data); {
	case text == "":
	case e.meta == 0x02:
		if !slices.Contains(r.work.Credits, text) {
			r.work.Credits = append(r.work.Credits, text)
		}
	case len(r.work.Remarks) == maxTempos:
		r.aside(t.number, -1, "more words than are kept", e.tick)
	case e.meta == 0x04 && t.name == "":
		t.name = text // what instrument it is for
	default:
		r.work.Remarks = append(r.work.Remarks, Remark{Bar: int(min(e.tick, math.MaxInt32)), Text: text}) // a tick for now
	}
}

func (r *smfReader) cleanText(data string) string {
	text := strings.TrimSpace(strings.Map(func(c rune) rune {
		if c < ' ' || c == 0xfffd {
			return -1
		}
		return c
	}, data[:min(len(data), 4*mostText)]))
	text, long := cut(text, mostText)
	if long {
		r.work.lose(Loss{Bar: -1, What: fmt.Sprintf(textTooLong, mostText)})
	}
	return strings.Clone(text) // which holds no more than it says, and not the file
}

// An smfPart is the strokes of one track on one channel.
type smfPart struct {
	name    string
	channel int
	hits    smfStrucks
	keys    [128]smfKey
	drum    bool
	prog    int             // -1: of none that is percussion
	rolls   map[int]smfRoll // by the number of their first stroke
}

// An smfKey is a key of a part.
type smfKey struct {
	struck bool
	first  int64 // the tick at which it is struck first
}

// A sortedTrack is a track whose strokes are being sorted.
type sortedTrack struct {
	number   int
	name     string
	channels [16]*smfPart
	programs [16]int    // of each channel, by now
	parts    []*smfPart // those channels that are percussion
	struck   bool       // something is
}

// channelEvent sorts strokes into parts: by track, within it by channel, and where
// the program changes by program. What else is said to a machine is listed, unless
// it is before anything is struck: that is how the machine is set up.
func (r *smfReader) channelEvent(e smfEvent, t *sortedTrack) {
	channel := int(e.status & 0x0f)
	p := t.channels[channel]
	switch kind := e.status & 0xf0; {
	case kind == 0xc0:
		if t.programs[channel] = int(e.data[0]); p != nil && !p.drum {
			t.channels[channel] = nil
		} else if p != nil && p.prog != int(e.data[0]) {
			r.aside(t.number, channel, "another kit of sounds", e.tick)
		}
	case kind == 0x90 && e.data[1] > 0:
		t.struck = true
		r.struck = max(r.struck, e.tick)
		if p == nil {
			p = r.channel(t, channel)
		}
		if p.prog < 0 {
			r.aside(t.number, channel, fmt.Sprintf("a note of program %d, which is not percussion", t.programs[channel]+1), e.tick)
			return
		}
		p.strike(e)
	case p != nil && p.prog >= 0:
		if what := controlled(e); what != "" {
			r.aside(t.number, channel, what, e.tick)
		}
	}
}

// controllers are those of the standard that change what is heard of what is
// played.
var controllers = map[byte]string{1: "modulation", 4: "foot", 7: "volume", 11: "expression", 64: "pedal", 66: "sostenuto pedal", 67: "soft pedal"}

// controlled is what an event that is no note changes in how notes are heard, or "".
func controlled(e smfEvent) string {
	switch e.status & 0xf0 {
	case 0xa0:
		return "pressure on a key, by which a cymbal may be choked"
	case 0xb0:
		if name, ok := controllers[e.data[0]]; ok {
			return fmt.Sprintf("a change of controller %d (%s)", e.data[0], name)
		}
	case 0xd0:
		return "pressure on the keys"
	case 0xe0:
		return "a bend of the pitch"
	}
	return ""
}

// channel is where the strokes of a channel go: into the part of its program, or
// nowhere when that is not percussion.
func (r *smfReader) channel(t *sortedTrack, channel int) *smfPart {
	program := t.programs[channel]
	p := &smfPart{drum: channel == 9, channel: channel, prog: program}
	switch i := slices.IndexFunc(t.parts, func(o *smfPart) bool { return o.channel == channel && o.prog == program }); {
	case i >= 0:
		p = t.parts[i]
	case p.drum || readAs(program) != "" && program > 0:
		t.parts = append(t.parts, p)
	default:
		p.prog = -1
	}
	t.channels[channel] = p
	return p
}

// strike adds a stroke.
func (p *smfPart) strike(e smfEvent) {
	key := e.data[0]
	if k := &p.keys[key]; !k.struck {
		*k = smfKey{true, e.tick}
	}
	p.hits.add(smfStruck{uint32(e.tick), uint16(e.tick >> 32), key, e.data[1]})
}

// close takes a track's parts in.
func (r *smfReader) close(t *sortedTrack, last int64) {
	r.last = max(r.last, last)
	if t.number == 1 && !t.struck {
		r.frame = last
	}
	for _, p := range t.parts {
		p.name = cmp.Or(t.name, fmt.Sprintf("Track %d", t.number))
	}
	r.parts = append(r.parts, t.parts...)
}

// smfBars are the bars of a MIDI file, those of one meter together: a file of
// forty bytes may be a hundred thousand bars long.
type smfBars struct {
	quarter int64 // ticks in a quarter note
	runs    []smfRunOfBars
	n       int // how many there are
	first   int // the number of the first bar
	grid    *beat.Grid
}

// An smfRunOfBars is bars of one meter.
type smfRunOfBars struct {
	bar   int   // the index of its first
	tick  int64 // where that begins
	ticks int64 // how long each is
	meter beat.Meter
}

// of is the index of the bar that a tick lies in.
func (b *smfBars) of(tick int64) int {
	i, ok := slices.BinarySearchFunc(b.runs, tick, func(r smfRunOfBars, t int64) int { return cmp.Compare(r.tick, t) })
	if !ok {
		i = max(0, i-1)
	}
	r := &b.runs[i]
	return min(b.n-1, r.bar+int(max(0, tick-r.tick)/r.ticks))
}

// tick is where a bar begins.
func (b *smfBars) tick(bar int) int64 {
	i, ok := slices.BinarySearchFunc(b.runs, bar, func(r smfRunOfBars, n int) int { return cmp.Compare(r.bar, n) })
	if !ok {
		i--
	}
	r := &b.runs[max(0, i)]
	return r.tick + int64(bar-r.bar)*r.ticks
}

// number is the number of the bar that a tick lies in.
func (b *smfBars) number(tick int64) int { return b.of(tick) + b.first }

// exact is the place of a tick.
func (b *smfBars) exact(tick int64) beat.Rat {
	i := b.of(tick)
	return b.grid.Start(i + b.first).Add(beat.R(tick-b.tick(i), 4*b.quarter))
}

// near is the place nearest to a tick of a bar that falls on the given part of a
// quarter note, counted from the beginning of the bar.
func (b *smfBars) near(bar int, start beat.Rat, tick, division int64) beat.Rat {
	steps := math.Round(float64(tick-b.tick(bar)) * float64(division) / float64(b.quarter))
	return start.Add(beat.R(int64(steps), 4*division))
}

// lay puts strokes on the counts of bars.
func (r *smfReader) lay() error {
	b, err := r.bars()
	if err != nil {
		return err
	}
	r.pickup(b)
	b.grid = r.work.grid()
	r.layTempos(b)
	r.layMarks(b)
	r.layRemarks(b)
	r.layAsides(b)
	names := map[string]bool{}
	for _, p := range r.parts {
		name := p.name
		for k := 2; names[name]; k++ {
			name = fmt.Sprintf("%s (%d)", p.name, k)
		}
		names[name] = true
		r.work.Parts = append(r.work.Parts, r.layPart(p, name, b))
	}
	return nil
}

// bars are counted meter by meter; a change in the middle of a bar counts from
// the next.
func (r *smfReader) bars() (*smfBars, error) {
	b := &smfBars{quarter: int64(r.division), first: 1}
	next := 0
	m, _ := beat.NewMeter(4, 4, nil)
	for tick := int64(0); tick <= r.last; {
		for ; next < len(r.meters) && r.meters[next].tick <= tick; next++ {
			m = r.meterAt(next, tick, m, b)
		}
		ticks := m.Length().MulInt(4 * b.quarter).Floor()
		if ticks < 1 {
			return nil, fmt.Errorf("a bar of %s has no ticks at a division of %d", m, r.division)
		}
		until := r.last // bars of this meter lie one behind the other up to the next change
		if next < len(r.meters) {
			until = min(until, r.meters[next].tick-1)
		}
		n := int64(1)
		if until > tick {
			n += (until - tick) / ticks
		}
		if int64(b.n)+n > MaxBars {
			return nil, fmt.Errorf("there are more than %d bars in it", MaxBars)
		}
		if last := len(b.runs) - 1; last < 0 || b.runs[last].meter.String() != m.String() {
			r.work.Meters = append(r.work.Meters, beat.MeterChange{Bar: b.n + 1, Meter: m})
			b.runs = append(b.runs, smfRunOfBars{b.n, tick, ticks, m})
		}
		b.n += int(n)
		tick += n * ticks
	}
	return b, nil
}

// meterAt is the meter that the numbered change makes for the bar that begins at
// a tick, or the one before where it is none.
func (r *smfReader) meterAt(i int, tick int64, before beat.Meter, b *smfBars) beat.Meter {
	at := r.meters[i]
	m, err := beat.NewMeter(at.upper, at.lower, nil)
	switch {
	case err != nil:
		r.work.lose(Loss{Bar: b.n + 1, What: fmt.Sprintf("a meter of %d/%d: the one before holds on", at.upper, at.lower)})
		return before
	case at.tick < tick && m.String() != before.String():
		r.work.lose(Loss{Bar: b.n, What: fmt.Sprintf("a change of meter to %s within the bar: it is counted from the next one", m)})
	}
	return m
}

// pickup reads a first bar that is shorter than the second, and alone, as a
// pickup.
func (r *smfReader) pickup(b *smfBars) {
	w := r.work
	if len(w.Meters) > 1 && w.Meters[1].Bar == 2 && b.runs[0].meter.Length().Less(b.runs[1].meter.Length()) {
		b.first = 0
		w.Pickup = b.runs[0].meter.Length().Div(beat.R(1, int64(b.runs[1].meter.Lower)))
		w.Meters = w.Meters[1:]
		for i := range w.Lost {
			if w.Lost[i].Bar > 0 { // until here bars were counted without it
				w.Lost[i].Bar--
			}
		}
		w.lose(Loss{Bar: 0, What: fmt.Sprintf("a bar of %s before bars of %s: read as a pickup", b.runs[0].meter, b.runs[1].meter)})
		for i := range w.Meters {
			w.Meters[i].Bar--
		}
		w.Meters[0].Bar = b.first
	}
	w.Last = b.n - 1 + b.first
}

// layTempos writes the tempos that there can be, and forgets the others: what is
// a roll is told by how fast it is.
func (r *smfReader) layTempos(b *smfBars) {
	last, kept := 0.0, r.tempos[:0]
	for _, t := range r.tempos {
		rate := math.Round(60/max(t.sec, 1e-9)*1000) / 1000
		if rate < 1 || rate > 2000 {
			r.work.lose(Loss{Bar: b.number(t.tick), What: fmt.Sprintf("a tempo of %g quarter notes a minute: the one before holds on", rate)})
			if len(kept) > 0 || t.tick > 0 {
				continue
			}
			t.sec, rate = 0.5, 120
		}
		kept = append(kept, t)
		if rate == last {
			continue
		}
		last = rate
		r.work.Tempos = append(r.work.Tempos, Tempo{At: b.exact(t.tick), Unit: beat.R(1, 4), From: rate, To: rate})
	}
	r.tempos = kept
	r.work.foldRamps()
}

func (r *smfReader) layMarks(b *smfBars) {
	taken := map[string]bool{}
	marks := r.work.Marks
	r.work.Marks = nil
	for _, m := range marks {
		if m.Name != "" {
			r.work.Marks = append(r.work.Marks, Mark{markName(m.Name, taken), b.number(int64(m.Bar))})
		}
	}
}

func (r *smfReader) layRemarks(b *smfBars) {
	for i := range r.work.Remarks {
		k := &r.work.Remarks[i]
		tick := int64(k.Bar)
		if k.Bar, k.At = -1, (beat.Rat{}); tick > 0 && tick <= r.last {
			k.Bar, k.At = b.number(tick), b.exact(tick)
		}
	}
}

// layPart makes a written part of the strokes of a track. Its lines are there at
// once, what stands on them comes bar by bar.
func (r *smfReader) layPart(p *smfPart, name string, b *smfBars) *Part {
	if rolled, first := r.rolls(p); rolled > 0 {
		runs, as := fmt.Sprintf("%d runs", rolled), "rolls"
		if rolled == 1 {
			runs, as = "a run", "a roll"
		}
		r.work.lose(Loss{Part: name, Bar: b.number(first), What: fmt.Sprintf("%s of strokes less than %.0f ms apart: written as %s", runs, RollGap*1000, as)})
	}
	l := &smfLines{smfReader: r, from: p, bars: b, part: &Part{Name: name}, byName: map[string]*Line{}, left: map[*Line]*smfLeft{}}
	var keys []int
	for key, k := range p.keys {
		if k.struck {
			keys = append(keys, key)
		}
	}
	slices.SortStableFunc(keys, func(a, b int) int { return cmp.Compare(p.keys[a].first, p.keys[b].first) })
	for _, key := range keys {
		l.key(byte(key))
	}
	l.part.further = l.further
	return l.part
}

// smfLines are the lines of a part that a track's strokes are put on.
type smfLines struct {
	*smfReader
	from   *smfPart
	bars   *smfBars
	part   *Part
	byKey  [128]*Line
	drums  [128][]string      // which of a set a key is for, by name or number; none where that says nothing
	notes  [128][]pitch.Pitch // which note it is
	words  [128]string        // how it is struck
	short  [128]bool
	byName map[string]*Line // several keys may stand for one instrument
	left   map[*Line]*smfLeft

	next    int      // the stroke of the track that is laid next
	clock   int      // the tempo that it stands in
	bar     []smfHit // the strokes of one bar
	rolling int64    // the tick up to which some roll goes on
}

// smfLeft is what a line has not been left as it was.
type smfLeft struct {
	merged, cut smfCount
	loud        byte // how loud it is by now: sixteenths of the velocity, from 1
}

// asLoud is by how much a stroke may be louder or softer than any of a dynamic
// and still has it: a quarter of a step, which nobody hears as another one.
const asLoud = 4

// louder says whether a stroke is louder or softer than what it is by now.
func (l *smfLeft) louder(velocity byte) bool {
	from := 16 * (int(l.loud) - 1)
	return l.loud == 0 || int(velocity) < from-asLoud || int(velocity) >= from+16+asLoud
}

// An smfCount is how often something happens, and the bar in which it does first.
type smfCount struct{ n, bar int }

func (c *smfCount) add(at []beat.Rat, grid *beat.Grid) {
	if c.n == 0 && len(at) > 0 {
		c.bar, _ = grid.Place(at[0])
	}
	c.n += len(at)
}

// atOnce is how many bars are laid at once.
const atOnce = 4 * sectionBars

// further lays the next bars, up to one into which no roll goes on. It is false
// when all is laid.
func (l *smfLines) further() bool {
	last := 0
	for n := 0; l.next < l.from.hits.n && (n < atOnce || l.bars.tick(last) < l.rolling); n++ {
		last = l.layBar()
	}
	l.part.laid = l.bars.first + last + 1
	for _, line := range l.part.Lines {
		merged, cut := line.settle()
		l.left[line].merged.add(merged, l.bars.grid)
		l.left[line].cut.add(cut, l.bars.grid)
	}
	l.from.hits.drop(l.next)
	if l.next < l.from.hits.n {
		return true
	}
	l.part.laid = l.work.Last + 1
	l.from.hits, l.from.rolls = smfStrucks{}, nil
	l.settle()
	return false
}

// layBar puts the next bar's strokes on the counts that fit them best.
func (l *smfLines) layBar() (bar int) {
	hits := &l.from.hits
	bar = l.bars.of(hits.at(l.next).tick())
	end := int64(math.MaxInt64)
	if bar+1 < l.bars.n {
		end = l.bars.tick(bar + 1)
	}
	l.bar = l.bar[:0]
	for ; l.next < hits.n; l.next++ {
		s := hits.at(l.next)
		if s.tick() >= end {
			break
		}
		if s.velocity == 0 {
			continue
		}
		for l.clock+1 < len(l.tempos) && l.tempos[l.clock+1].tick <= s.tick() {
			l.clock++
		}
		l.bar = append(l.bar, smfHit{s.tick(), l.from.rolls[l.next], l.tempos[l.clock].sec / float64(l.division), s.key, s.velocity})
	}
	slices.SortStableFunc(l.bar, func(a, b smfHit) int { return cmp.Or(cmp.Compare(a.tick, b.tick), cmp.Compare(a.key, b.key)) })
	division, worst := l.fit(l.bar, l.bars.tick(bar))
	if worst > tolerance {
		l.work.lose(Loss{Part: l.part.Name, Bar: bar + l.bars.first, What: fmt.Sprintf("strokes that are up to %.0f ms off any count of a quarter's %dth part: moved to the nearest", worst*1000, division)})
	}
	start := l.bars.grid.Start(bar + l.bars.first)
	for i := range l.bar {
		l.layHit(&l.bar[i], bar, start, division)
	}
	return bar
}

// key makes the line of a key.
func (l *smfLines) key(key byte) {
	id := l.line(l.from, int(key))
	line := l.byName[id]
	if line == nil {
		line = &Line{Name: id}
		l.byName[id] = line
		l.left[line] = &smfLeft{}
		l.part.Lines = append(l.part.Lines, line)
	}
	l.byKey[key] = line
	in := l.opt.Catalogue.Instrument(id)
	if l.words[key] = keyMark(in, int(key)); l.words[key] == shortMark {
		l.words[key], l.short[key] = "", true
	}
	if l.from.drum {
		if drum := l.drumOn(int(key), in); drum != "" {
			l.drums[key] = []string{drum}
		}
	} else if in != nil && in.Pitched() {
		if note := pitch.FromSemitone(int(key)).Octaves(-in.Octaves); !note.None() {
			l.notes[key] = []pitch.Pitch{note}
		}
	}
}

// further are the keys of the percussion map that are a set's besides those of
// its drums, and which drum is the nearest: floor toms lie below the low one, and
// a muted drum is a drum. Ours.
var further = map[int]string{41: "low", 43: "low", 62: "high"}

// drumOn is which of a set sounds on a key, or "". Where the map has more keys
// than the set has drums, that is said.
func (l *smfLines) drumOn(key int, in *kit.Instrument) string {
	if in == nil {
		return ""
	}
	if n := in.MemberOn(key); n > 0 {
		if n <= len(in.MemberNames) {
			return in.MemberNames[n-1]
		}
		return strconv.Itoa(n)
	}
	drum, ok := further[key]
	if _, has := in.MemberNamed(drum); !ok || !has || !slices.Contains(in.MIDI, key) {
		return ""
	}
	l.work.lose(Loss{Part: l.part.Name, Bar: l.bars.number(l.from.keys[key].first), What: fmt.Sprintf(takenAsDrum, keyName(key), drum, in.Name())})
	return drum
}

// layHit writes a stroke of a bar, at the nearest count, and how loud it is.
func (l *smfLines) layHit(h *smfHit, bar int, start beat.Rat, division int64) {
	at := l.bars.near(bar, start, h.tick, division)
	if !at.Less(l.bars.grid.End()) {
		return
	}
	line := l.byKey[h.key]
	st := Stroke{At: at, End: at, Pitches: l.notes[h.key], Drums: l.drums[h.key]}
	if h.roll.until > 0 {
		l.rolling = max(l.rolling, h.roll.until)
		if end := l.rollEnd(h, division); at.Less(end) {
			st.End, st.Flags = end, Roll
		}
	}
	if l.short[h.key] {
		st.Flags |= Short
	}
	line.Strokes = append(line.Strokes, st)
	if word := l.words[h.key]; word != "" {
		line.Signs = append(line.Signs, Sign{At: at, Text: word, Words: true})
	}
	if left := l.left[line]; left.louder(h.velocity) {
		left.loud = h.velocity/16 + 1
		line.Signs = append(line.Signs, Sign{At: at, Text: loudness(h.velocity)})
	}
}

// rollEnd is where a roll ends: at the count of the bar's division where its
// next stroke would be or, if a stroke ends it there, its last one is; else at a
// finer count on which one of them is to the hair; else at the nearest.
func (l *smfLines) rollEnd(h *smfHit, division int64) beat.Rat {
	ends := [...]int64{h.roll.until, h.roll.last}
	near := func(tick, division int64) (at beat.Rat, off float64) {
		of := l.bars.of(tick)
		at = l.bars.near(of, l.bars.grid.Start(of+l.bars.first), tick, division)
		over := (tick - l.bars.tick(of)) * division % l.bars.quarter
		return at, float64(min(over, l.bars.quarter-over)) / float64(division) * h.sec
	}
	for _, tick := range ends {
		if at, off := near(tick, division); off <= tolerance {
			return at
		}
	}
	for _, finer := range grids[:len(grids)-2] { // the finest would fit whatever is played
		for _, tick := range ends {
			if at, off := near(tick, finer); off <= tolerance/4 {
				return at
			}
		}
	}
	at, _ := near(h.roll.until, division)
	return at
}

// settle says what could not stay as it was.
func (l *smfLines) settle() {
	for _, line := range l.part.Lines {
		left := l.left[line]
		if left.merged.n > 0 {
			l.work.lose(Loss{Part: l.part.Name, Bar: left.merged.bar, What: fmt.Sprintf("%d strokes on the %s that fall together with others", left.merged.n, line.Name)})
		}
		if left.cut.n > 0 {
			l.work.lose(Loss{Part: l.part.Name, Bar: left.cut.bar, What: fmt.Sprintf("%d rolls on the %s that go on under another note: each ends where that begins", left.cut.n, line.Name)})
		}
	}
}

// fit is the simplest division of the quarter note onto which a bar's strokes
// fall, and how far, in seconds, the worst is off.
func (r *smfReader) fit(hits []smfHit, start int64) (division int64, worst float64) {
	best, least := grids[len(grids)-1], math.Inf(1)
	quarter := int64(r.division)
	for _, g := range grids {
		off := 0.0
		for i := range hits {
			over := (hits[i].tick - start) * g % quarter // in g-ths of a tick
			if over = min(over, quarter-over); over > 0 {
				off = max(off, float64(over)/float64(g)*hits[i].sec)
			}
			if off >= least && off > tolerance/4 {
				break // no better than what there is
			}
		}
		if off <= tolerance/4 {
			return g, off
		}
		if off < least*0.999 {
			best, least = g, off
		}
	}
	return best, least
}

// RollGap is the time, in seconds, below which strokes on one key are closer
// together than any count that one hand plays, so that a run of them is a roll:
// common practice, no source.
const RollGap = 0.070

// rollRun is how many strokes such a run has at least.
const rollRun = 6

// rolls brings runs of strokes together, each into its first, and says how many
// there were and at which tick the first of them begins.
func (r *smfReader) rolls(p *smfPart) (n int, first int64) {
	p.rolls = map[int]smfRoll{}
	var runs [128]smfRun
	clock := 0
	for i := range p.hits.n {
		s := p.hits.at(i)
		tick := s.tick()
		run := &runs[s.key]
		if run.n > 0 && tick > run.last && float64(tick-run.last)*run.sec < RollGap {
			run.goesOn(p, i)
		} else {
			n += run.ends(p)
			*run = smfRun{n: 1, first: tick, strokes: [rollRun - 1]int{i}}
		}
		for clock+1 < len(r.tempos) && r.tempos[clock+1].tick <= tick {
			clock++
		}
		run.last, run.sec = tick, r.tempos[clock].sec/float64(r.division)
	}
	first = math.MaxInt64
	for key := range runs {
		n += runs[key].ends(p)
	}
	for i := range p.rolls {
		first = min(first, p.hits.at(i).tick())
	}
	return n, first
}

// An smfRun is strokes on one key that follow close upon one another.
type smfRun struct {
	n           int
	first, last int64 // ticks
	sec         float64
	strokes     [rollRun - 1]int // the first ones
}

// goesOn takes one more stroke in. Of a run that is long enough only the first
// stays.
func (u *smfRun) goesOn(p *smfPart, stroke int) {
	switch u.n++; {
	case u.n < rollRun:
		u.strokes[u.n-1] = stroke
		return
	case u.n == rollRun:
		for _, i := range u.strokes[1:] {
			p.hits.at(i).velocity = 0
		}
	}
	p.hits.at(stroke).velocity = 0
}

// ends says where the run ends as a roll, if it is one, and counts it.
func (u *smfRun) ends(p *smfPart) int {
	if u.n < rollRun {
		return 0
	}
	p.rolls[u.strokes[0]] = smfRoll{u.last, u.last + (u.last-u.first)/int64(u.n-1)}
	return 1
}

// line is the instrument that a key of a part stands for.
func (r *smfReader) line(p *smfPart, key int) string {
	if !p.drum {
		return readAs(p.prog)
	}
	id, _ := r.namer.name(source{name: keyName(key), key: key, part: p.name, percussion: true, among: p.among()})
	return id
}

// keyName is what General MIDI calls a key of the percussion map.
func keyName(key int) string {
	for _, k := range gmKeys() {
		if k.key == key {
			return k.name
		}
	}
	return fmt.Sprintf("key %d", key)
}

// among says whether the keys of a part are those of a drum set.
func (p *smfPart) among() kit.Among {
	for key, k := range p.keys {
		if p.drum && k.struck && kit.KeyTellsDrumSet(key) {
			return kit.InDrumSet
		}
	}
	return kit.Alone
}

// loudness reads a velocity as a dynamic: eight steps of sixteen.
func loudness(velocity byte) string { return kit.Dynamic(velocity/16 + 1).String() }
