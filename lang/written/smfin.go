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

// An smfHit is one stroke of a MIDI file.
type smfHit struct {
	tick     int64
	until    int64 // of a roll: where it ends
	key      byte
	velocity byte
}

func readSMF(data []byte, opt Options) (*Work, error) {
	f, err := parseSMF(data)
	if err != nil {
		return nil, err
	}
	r := &smfReader{smfFile: f, opt: opt, work: &Work{}}
	r.namer = &namer{opt: opt, work: r.work, own: map[string]string{}}
	r.maps()
	parts := r.hits()
	if len(parts) == 0 {
		return nil, errors.New("there is no percussion in it: no notes on channel 10, and no percussion program")
	}
	if err := r.lay(parts); err != nil {
		return r.work, err
	}
	r.namer.asks()
	return r.work, nil
}

type smfReader struct {
	*smfFile
	opt    Options
	work   *Work
	namer  *namer
	tempos []smfTempo
	meters []smfMeter
	last   int64
}

type smfTempo struct {
	tick int64
	sec  float64 // a quarter note's
}

type smfMeter struct {
	tick         int64
	upper, lower int
}

// maps reads tempos, meters, title and marks, which may stand in any track.
func (r *smfReader) maps() {
	struck := int64(0) // the last time
	for i, t := range r.tracks {
		r.last = max(r.last, t.last)
		if n := len(t.notes); n > 0 {
			struck = max(struck, t.notes[n-1].tick)
		}
		for _, e := range t.metas {
			r.meta(e, i == 0)
		}
	}
	if first := r.tracks[0]; len(r.tracks) > 1 && len(first.notes) == 0 && first.last > struck {
		r.last = first.last - 1 // what rings on behind the end of all makes no bar
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

// meta reads an event that is for the whole piece; the first track's name is
// its title.
func (r *smfReader) meta(e smfEvent, firstTrack bool) {
	switch {
	case e.meta == 0x51 && len(e.data) == 3:
		us := int(e.data[0])<<16 | int(e.data[1])<<8 | int(e.data[2])
		if us == 0 {
			r.work.lose(Loss{Bar: -1, What: "a tempo of 0: the one before holds on"})
			return
		}
		r.tempos = append(r.tempos, smfTempo{e.tick, float64(us) / 1e6})
	case e.meta == 0x58 && len(e.data) >= 2:
		if e.data[0] == 0 || e.data[1] > 6 {
			r.work.lose(Loss{Bar: -1, What: fmt.Sprintf("a meter of %d/2^%d: the one before holds on", e.data[0], e.data[1])})
			return
		}
		r.meters = append(r.meters, smfMeter{e.tick, int(e.data[0]), 1 << e.data[1]})
	case e.meta == 0x03 && firstTrack && r.work.Title == "" && r.format == 1:
		r.work.Title = cleanText(e.data)
	case e.meta == 0x06 && len(r.work.Marks) < 1000:
		r.work.Marks = append(r.work.Marks, Mark{cleanText(e.data), int(min(e.tick, math.MaxInt32))}) // a tick for now
	}
}

func cleanText(data []byte) string {
	return strings.TrimSpace(strings.Map(func(c rune) rune {
		if c < ' ' || c == 0xfffd {
			return -1
		}
		return c
	}, string(data)))
}

// An smfPart is the strokes of one track on one channel.
type smfPart struct {
	name string
	hits []smfHit
	drum bool
	prog int
}

// hits sorts the strokes into parts: by track, and within it by channel.
func (r *smfReader) hits() []*smfPart {
	var parts []*smfPart
	for i, t := range r.tracks {
		track := sortedTrack{number: i + 1, channels: map[int]*smfPart{}, programs: map[int]int{}}
		for _, e := range t.metas {
			if e.meta == 0x03 && track.name == "" {
				track.name = cleanText(e.data)
			}
		}
		for _, e := range t.notes {
			if e.status&0xf0 == 0xc0 {
				track.programs[int(e.status&0x0f)] = int(e.key)
				continue
			}
			p := r.channel(&track, int(e.status&0x0f))
			p.hits = append(p.hits, smfHit{tick: e.tick, key: e.key, velocity: e.velocity})
		}
		for _, p := range track.parts {
			p.name = cmp.Or(track.name, fmt.Sprintf("Track %d", track.number))
		}
		parts = append(parts, track.parts...)
	}
	return parts
}

// A sortedTrack is a track whose strokes are being sorted.
type sortedTrack struct {
	number   int
	name     string
	channels map[int]*smfPart
	programs map[int]int // of each channel, by now
	parts    []*smfPart  // those channels that are percussion
}

// channel is where the strokes of a channel go: into a part, or nowhere when
// its program is not percussion.
func (r *smfReader) channel(t *sortedTrack, channel int) *smfPart {
	p := t.channels[channel]
	if p == nil {
		p = &smfPart{drum: channel == 9, prog: t.programs[channel]}
		t.channels[channel] = p
		if p.drum || readAs(p.prog) != "" && p.prog > 0 {
			t.parts = append(t.parts, p)
		} else {
			r.work.lose(Loss{Bar: -1, What: fmt.Sprintf("track %d, channel %d: its program is not percussion", t.number, channel+1)})
		}
	}
	return p
}

// smfBars are the bars of a MIDI file.
type smfBars struct {
	quarter int64 // ticks in a quarter note
	bars    []smfBar
	first   int // the number of the first bar
	grid    *beat.Grid
}

type smfBar struct {
	tick  int64
	meter beat.Meter
}

// of is the index of the bar that a tick lies in.
func (b *smfBars) of(tick int64) int {
	i, ok := slices.BinarySearchFunc(b.bars, tick, func(b smfBar, t int64) int { return cmp.Compare(b.tick, t) })
	if !ok {
		i--
	}
	return max(0, i)
}

// number is the number of the bar that a tick lies in.
func (b *smfBars) number(tick int64) int { return b.of(tick) + b.first }

// exact is the place of a tick.
func (b *smfBars) exact(tick int64) beat.Rat {
	i := b.of(tick)
	return b.grid.Start(i + b.first).Add(beat.R(tick-b.bars[i].tick, 4*b.quarter))
}

// near is the place nearest to a tick that falls on the given part of a
// quarter note, counted from the beginning of its bar.
func (b *smfBars) near(tick, division int64) beat.Rat {
	i := b.of(tick)
	steps := math.Round(float64(tick-b.bars[i].tick) * float64(division) / float64(b.quarter))
	return b.grid.Start(i + b.first).Add(beat.R(int64(steps), 4*division))
}

// lay puts strokes on the counts of bars.
func (r *smfReader) lay(parts []*smfPart) error {
	b, err := r.bars()
	if err != nil {
		return err
	}
	r.pickup(b)
	b.grid = r.work.grid()
	r.layTempos(b)
	r.layMarks(b)
	names := map[string]bool{}
	for _, p := range parts {
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
	mi := 0
	for tick := int64(0); tick <= r.last; {
		for mi+1 < len(r.meters) && r.meters[mi+1].tick <= tick {
			mi++
		}
		m, err := beat.NewMeter(r.meters[mi].upper, r.meters[mi].lower, nil)
		if err != nil {
			m, _ = beat.NewMeter(4, 4, nil)
		}
		ticks := m.Length().MulInt(4 * b.quarter).Floor()
		if ticks < 1 {
			return nil, fmt.Errorf("a bar of %s has no ticks at a division of %d", m, r.division)
		}
		until := r.last // bars of this meter lie one behind the other up to the next change
		if mi+1 < len(r.meters) {
			until = min(until, r.meters[mi+1].tick)
		}
		if int64(len(b.bars))+(until-tick)/ticks >= MaxBars {
			return nil, fmt.Errorf("there are more than %d bars in it", MaxBars)
		}
		if n := len(b.bars); n == 0 || b.bars[n-1].meter.String() != m.String() {
			r.work.Meters = append(r.work.Meters, beat.MeterChange{Bar: n + 1, Meter: m})
		}
		b.bars = append(b.bars, smfBar{tick, m})
		tick += ticks
	}
	return b, nil
}

// pickup reads a first bar that is shorter than the second, and alone, as a
// pickup.
func (r *smfReader) pickup(b *smfBars) {
	w := r.work
	if len(w.Meters) > 1 && w.Meters[1].Bar == 2 && b.bars[0].meter.Length().Less(b.bars[1].meter.Length()) {
		b.first = 0
		w.Pickup = b.bars[0].meter.Length().Div(beat.R(1, int64(b.bars[1].meter.Lower)))
		w.Meters = w.Meters[1:]
		w.lose(Loss{Bar: 0, What: fmt.Sprintf("a bar of %s before bars of %s: read as a pickup", b.bars[0].meter, b.bars[1].meter)})
		for i := range w.Meters {
			w.Meters[i].Bar--
		}
		w.Meters[0].Bar = b.first
	}
	w.Last = len(b.bars) - 1 + b.first
}

func (r *smfReader) layTempos(b *smfBars) {
	last := 0.0
	for _, t := range r.tempos {
		rate := math.Round(60/t.sec*1000) / 1000
		if rate == last || rate < 1 || rate > 2000 {
			continue
		}
		last = rate
		r.work.Tempos = append(r.work.Tempos, Tempo{At: b.exact(t.tick), Unit: beat.R(1, 4), From: rate, To: rate})
	}
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

// layPart makes a written part of the strokes of a track, bar by bar.
func (r *smfReader) layPart(p *smfPart, name string, b *smfBars) *Part {
	hits, rolled := rolls(p.hits, r.secondsOf)
	if rolled > 0 {
		r.work.lose(Loss{Part: name, Bar: -1, What: fmt.Sprintf("%d runs of strokes less than %.0f ms apart: written as rolls", rolled, RollGap*1000)})
	}
	l := &smfLines{smfReader: r, from: p, bars: b, part: &Part{Name: name}, byName: map[string]*Line{}}
	for _, h := range hits {
		l.counts[h.key]++
	}
	for from := 0; from < len(hits); {
		bar, to := b.of(hits[from].tick), from+1
		for to < len(hits) && b.of(hits[to].tick) == bar {
			to++
		}
		l.layBar(bar, hits[from:to])
		from = to
	}
	l.settle()
	return l.part
}

// smfLines are the lines of a part that a track's strokes are put on.
type smfLines struct {
	*smfReader
	from   *smfPart
	bars   *smfBars
	part   *Part
	byKey  [128]*Line
	drums  [128]string      // which of a set a key is for, by name or number; "" where that says nothing
	counts [128]int         // strokes on each key
	byName map[string]*Line // several keys may stand for one instrument
}

// layBar puts a bar's strokes on the counts that fit them best.
func (l *smfLines) layBar(bar int, hits []smfHit) {
	division, worst := l.fit(hits, l.bars.bars[bar].tick)
	if worst > tolerance {
		l.work.lose(Loss{Part: l.part.Name, Bar: bar + l.bars.first, What: fmt.Sprintf("strokes that are up to %.0f ms off any count of a quarter's %dth part: moved to the nearest", worst*1000, division)})
	}
	for _, h := range hits {
		l.layHit(h, l.of(h.key), division)
	}
}

// of is the line of a key.
func (l *smfLines) of(key byte) *Line {
	line := l.byKey[key]
	if line == nil {
		id := l.line(l.from, int(key))
		if line = l.byName[id]; line == nil {
			line = &Line{Name: id}
			l.byName[id] = line
			l.part.Lines = append(l.part.Lines, line)
		}
		l.byKey[key] = line
		if l.from.drum {
			l.drums[key] = l.drumOn(int(key), l.opt.Catalogue.Instrument(id))
		}
		line.Strokes = slices.Grow(line.Strokes, l.counts[key])
	}
	return line
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
	l.work.lose(Loss{Part: l.part.Name, Bar: -1, What: fmt.Sprintf(takenAsDrum, keyName(key), drum, in.Name())})
	return drum
}

// layHit writes a stroke, at the nearest count, and how loud it is.
func (l *smfLines) layHit(h smfHit, line *Line, division int64) {
	at := l.bars.near(h.tick, division)
	if !at.Less(l.bars.grid.End()) {
		return
	}
	st := Stroke{At: at, End: at}
	if h.until > 0 {
		if end := l.bars.near(h.until, division); at.Less(end) {
			st.End, st.Flags = end, Roll
		}
	}
	if in := l.opt.Catalogue.Instrument(line.Name); !l.from.drum && in != nil && in.Pitched() {
		if note := pitch.FromSemitone(int(h.key)).Octaves(-in.Octaves); !note.None() {
			st.Pitches = []pitch.Pitch{note}
		}
	}
	if drum := l.drums[h.key]; drum != "" {
		st.Drums = []string{drum}
	}
	line.Strokes = append(line.Strokes, st)
	if loud := loudness(h.velocity); len(line.Signs) == 0 || line.Signs[len(line.Signs)-1].Text != loud {
		line.Signs = append(line.Signs, Sign{At: at, Text: loud})
	}
}

// settle puts the lines in order, and says what could not stay as it was.
func (l *smfLines) settle() {
	for _, line := range l.part.Lines {
		merged, cut := line.settle()
		if len(merged) > 0 {
			l.work.lose(Loss{Part: l.part.Name, Bar: -1, What: fmt.Sprintf("%d strokes on the %s that fall together with others", len(merged), line.Name)})
		}
		if len(cut) > 0 {
			l.work.lose(Loss{Part: l.part.Name, Bar: -1, What: fmt.Sprintf("%d rolls on the %s that go on under another note: each ends where that begins", len(cut), line.Name)})
		}
	}
}

// secondsOf is how long one tick is at a place.
func (r *smfReader) secondsOf(tick int64) float64 {
	i, ok := slices.BinarySearchFunc(r.tempos, tick, func(t smfTempo, at int64) int { return cmp.Compare(t.tick, at) })
	if !ok {
		i--
	}
	return r.tempos[max(0, i)].sec / float64(r.division)
}

// fit is the simplest division of the quarter note onto which a bar's strokes
// fall, and how far, in seconds, the worst is off.
func (r *smfReader) fit(hits []smfHit, start int64) (division int64, worst float64) {
	best, least := grids[len(grids)-1], math.Inf(1)
	for _, g := range grids {
		off := 0.0
		for _, h := range hits {
			exact := float64(h.tick-start) * float64(g) / float64(r.division)
			off = max(off, math.Abs(exact-math.Round(exact))*float64(r.division)/float64(g)*r.secondsOf(h.tick))
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

// rolls brings runs of strokes together, and says how many there were. It puts
// what is left into the list that it is given.
func rolls(hits []smfHit, secondsOf func(int64) float64) (out []smfHit, n int) {
	next := make([]int32, len(hits)) // the next stroke on the same key, or -1
	var after [256]int32
	for key := range after {
		after[key] = -1
	}
	for i := len(hits) - 1; i >= 0; i-- {
		next[i], after[hits[i].key] = after[hits[i].key], int32(i)
	}
	const within = -2 // a run
	out = hits[:0]
	for i := range hits {
		if next[i] == within {
			continue
		}
		h, last, run := hits[i], i, 1
		for k := next[i]; k >= 0 && hits[k].tick > hits[last].tick && float64(hits[k].tick-hits[last].tick)*secondsOf(hits[last].tick) < RollGap; k = next[k] {
			last, run = int(k), run+1
		}
		if run >= rollRun {
			h.until = hits[last].tick + (hits[last].tick-h.tick)/int64(run-1)
			n++
			for k := next[i]; k >= 0 && int(k) <= last; {
				k, next[k] = next[k], within
			}
		}
		out = append(out, h)
	}
	slices.SortStableFunc(out, func(a, b smfHit) int { return cmp.Or(cmp.Compare(a.tick, b.tick), cmp.Compare(a.key, b.key)) })
	return out, n
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
	if p.drum && slices.ContainsFunc(p.hits, func(h smfHit) bool { return kit.KeyTellsDrumSet(int(h.key)) }) {
		return kit.InDrumSet
	}
	return kit.Alone
}

// loudness reads a velocity as a dynamic: eight steps of sixteen.
func loudness(velocity byte) string { return kit.Dynamic(velocity/16 + 1).String() }
