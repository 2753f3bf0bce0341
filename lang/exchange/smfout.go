package exchange

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/score"
	"example.org/handful/lang/written"
)

// MIDIOptions steer what is written.
type MIDIOptions struct {
	// Click adds a bar that counts in and a click throughout.
	Click bool
}

// ticks in a quarter note of the files that are written: a multiple of all the
// divisions that music is counted in.
const ticksPerQuarter = 960

// How strokes sound, in seconds: the time between two strokes of a roll, so
// short that they are read as one again, that of a grace stroke before its main
// one, and in ticks how long a key is held. Common practice, no source.
const (
	rollStep  = written.RollGap - 0.005
	graceStep = 0.030
	heldTicks = ticksPerQuarter / 16
)

// Where each limb is heard, from 0 at the left to 127 at the right.
var pans = map[body.Limb]byte{body.Right: 112, body.Left: 16, body.RightFoot: 80, body.LeftFoot: 48, body.Mouth: 64}

// The limbs that have a track each, and a voice in a part, in their order.
const limbTracks = body.Mouth + 1

// MIDI writes what the players play, in played order, as a Standard MIDI File
// of format 1: tempos and meters in the first track, then a track for each
// player's limb. Everything that has a key of the General MIDI percussion map
// sounds on channel 10, where pan belongs to the channel: it is set before
// every stroke, the right hand to the right and the left hand to the left, so
// that any player of such files makes it heard. What a file of this
// kind cannot say is told.
func MIDI(r *check.Result, opt MIDIOptions) (data []byte, told []string, err error) {
	s := r.Score
	spans := s.Time.Spans()
	if len(spans) == 0 {
		return nil, nil, errors.New("there are no bars to play")
	}
	w := &smfWriter{Score: s, opt: opt, marks: markWords{}}
	w.starts(spans)
	if w.end > 1<<27 {
		return nil, nil, errors.New("the piece is too long for a MIDI file")
	}
	tracks := []*smfTrack{w.conductor(spans)}
	if opt.Click {
		tracks = append(tracks, w.click(spans))
	}
	for _, m := range r.Motions {
		w.loud, w.stops = w.louds(m), w.stopped(m)
		for l := range limbTracks {
			if t := w.limb(m, l); t != nil {
				tracks = append(tracks, t)
			}
		}
	}
	if len(tracks) > written.MaxTracks {
		return nil, nil, fmt.Errorf("there are more than %d tracks", written.MaxTracks)
	}
	return writeSMF(ticksPerQuarter, tracks), w.told, nil
}

type smfWriter struct {
	*score.Score
	opt      MIDIOptions
	begin    []int64 // tick at which each span begins
	lead     int64   // ticks of the bar that counts in
	end      int64
	channels map[int]byte // of programs
	told     []string
	marks    markWords

	// Of the player whose tracks are being written:
	loud  []byte                  // how hard each of his events is struck
	stops map[*score.Item][]int64 // the ticks at which what rings is stopped, in order
}

func ticksOf(length beat.Rat) int64 { return length.MulInt(4 * ticksPerQuarter).Floor() }

func (w *smfWriter) starts(spans []beat.Span) {
	at := int64(0)
	if w.opt.Click {
		bar := spans[0].From
		w.lead = ticksOf(w.Grid.Meter(bar).Length()) + ticksOf(w.missing(bar)) // a pickup comes on its own count
		at = w.lead
	}
	for _, sp := range spans {
		w.begin = append(w.begin, at)
		at += ticksOf(w.Grid.Start(sp.To + 1).Sub(w.Grid.Start(sp.From)))
	}
	w.end = at
}

// missing is how much shorter a bar is than its meter: a pickup.
func (w *smfWriter) missing(bar int) beat.Rat {
	return w.Grid.Meter(bar).Length().Sub(w.Grid.Length(bar))
}

// lasting is the meter of a bar; of a pickup one that lasts as long.
func (w *smfWriter) lasting(bar int) beat.Meter {
	m := w.Grid.Meter(bar)
	if w.missing(bar).Sign() <= 0 {
		return m
	}
	length := w.Grid.Length(bar)
	for lower := m.Lower; lower <= 64; lower *= 2 {
		if n := length.MulInt(int64(lower)); n.Den() == 1 {
			if short, err := beat.NewMeter(int(n.Num()), lower, nil); err == nil {
				return short
			}
		}
	}
	return m
}

// tick is when a written position is played within a span.
func (w *smfWriter) tick(span int, pos beat.Rat) int64 {
	return w.begin[span] + ticksOf(pos.Sub(w.Grid.Start(w.Time.Spans()[span].From)))
}

// secondsPerQuarter is the tempo at a position, over a sixteenth.
func (w *smfWriter) secondsPerQuarter(pos beat.Rat) float64 {
	return w.Tempo.Between(pos, pos.Add(beat.R(1, 16))) * 4
}

// conductor is the track with title, meters, tempos and marks.
func (w *smfWriter) conductor(spans []beat.Span) *smfTrack {
	c := &conductor{smfWriter: w, lastTempo: -1}
	if w.Title != "" {
		c.meta(0, 0x03, []byte(w.Title))
	}
	if w.lead > 0 {
		c.meter(0, w.Grid.Meter(spans[0].From))
		c.tempo(0, w.Grid.Start(spans[0].From))
	}
	for i, sp := range spans {
		for bar := sp.From; bar <= sp.To; bar++ {
			if i > 0 || bar > sp.From || w.lead == 0 {
				c.meter(w.tick(i, w.Grid.Start(bar)), w.lasting(bar))
			}
			c.bar(i, bar)
		}
	}
	c.until = w.end
	return &c.smfTrack
}

// A conductor is the track that says what all follow, being written.
type conductor struct {
	*smfWriter
	smfTrack
	lastTempo int
	lastMeter string
}

// bar writes the marks of a bar and the tempo at each sixteenth of it.
func (c *conductor) bar(span, bar int) {
	for _, m := range c.Marks {
		if m.Bar == bar {
			c.meta(c.smfWriter.tick(span, c.Grid.Start(bar)), 0x06, []byte(m.Name))
		}
	}
	for pos := c.Grid.Start(bar); pos.Less(c.Grid.Start(bar + 1)); pos = pos.Add(beat.R(1, 16)) {
		c.tempo(c.smfWriter.tick(span, pos), pos)
	}
}

func (c *conductor) tempo(tick int64, pos beat.Rat) {
	us := int(math.Round(c.secondsPerQuarter(pos) * 1e6))
	us = max(1, min(us, 1<<24-1))
	if us != c.lastTempo {
		c.lastTempo = us
		c.meta(tick, 0x51, []byte{byte(us >> 16), byte(us >> 8), byte(us)})
	}
}

func (c *conductor) meter(tick int64, m beat.Meter) {
	if m.String() == c.lastMeter {
		return
	}
	c.lastMeter = m.String()
	power := byte(0)
	for 1<<power < m.Lower {
		power++
	}
	c.meta(tick, 0x58, []byte{byte(min(m.Upper, 255)), power, 24, 8})
}

// click is a track that counts: a bar alone, then all through.
func (w *smfWriter) click(spans []beat.Span) *smfTrack {
	t := &smfTrack{}
	t.meta(0, 0x03, []byte("click"))
	hit := func(tick int64, first bool) {
		key := byte(77)
		if first {
			key = 76
		}
		t.event(tick, 0xb9, 10, 64)
		t.event(tick, 0x99, key, 90)
		t.event(tick+heldTicks, 0x89, key, 0)
	}
	m := w.Grid.Meter(spans[0].From)
	at := int64(0)
	for at < w.lead {
		for c := 1; c <= m.Counts() && at < w.lead; c++ {
			hit(at, c == 1)
			at += ticksOf(m.CountLength(c))
		}
	}
	for i, sp := range spans {
		for bar := sp.From; bar <= sp.To; bar++ {
			m := w.Grid.Meter(bar)
			first := w.Grid.FirstCount(bar)
			for c := first.Beat; c <= m.Counts(); c++ {
				if pos, ok := w.Grid.At(bar, beat.Count{Beat: c}); ok {
					hit(w.tick(i, pos), c == 1)
				}
			}
		}
	}
	return t
}

// An smfStroke is one sounding key.
type smfStroke struct {
	on, off  int64 // ticks
	channel  byte
	key, vel byte
}

// limb is the track of one limb of a player, or nil if it plays nothing.
func (w *smfWriter) limb(m *motion.Result, limb body.Limb) *smfTrack {
	l := &limbTrack{smfWriter: w, limb: limb, programs: map[byte]int{}}
	for i := range m.Events {
		if e := &m.Events[i]; e.Limbs.Has(limb) && e.Cue != nil && !e.Kind.Stops() {
			l.play(e, w.loud[i])
		}
	}
	if len(l.list) == 0 {
		return nil
	}
	t := &smfTrack{}
	t.meta(0, 0x03, []byte(m.Player.Name+", "+limb.Name()))
	for _, channel := range slices.Sorted(maps.Keys(l.programs)) {
		t.event(0, 0xc0|channel, byte(l.programs[channel]))
	}
	for _, c := range l.changes() {
		if c.on {
			t.event(c.tick, 0xb0|c.channel, 10, pans[limb])
			t.event(c.tick, 0x90|c.channel, c.key, c.vel)
		} else {
			t.event(c.tick, 0x80|c.channel, c.key, 0)
		}
	}
	return t
}

// A keyChange is a key that goes down or up.
type keyChange struct {
	smfStroke
	tick int64
	on   bool
}

// changes are the keys that go down and up, in order: what is struck again
// while it sounds is let go of first, and what ends comes before what begins.
func (l *limbTrack) changes() (out []keyChange) {
	slices.SortStableFunc(l.list, func(a, b smfStroke) int { return cmp.Compare(a.on, b.on) })
	last := map[[2]byte]int{}
	for i := range l.list {
		s := &l.list[i]
		if k, ok := last[[2]byte{s.channel, s.key}]; ok {
			l.list[k].off = min(l.list[k].off, s.on)
		}
		last[[2]byte{s.channel, s.key}] = i
	}
	for _, s := range l.list {
		out = append(out, keyChange{s, s.on, true}, keyChange{s, s.off, false})
	}
	slices.SortStableFunc(out, func(a, b keyChange) int {
		return cmp.Or(cmp.Compare(a.tick, b.tick), cmp.Compare(onLast(a), onLast(b)))
	})
	return out
}

// onLast orders what ends before what begins at the same tick.
func onLast(c keyChange) int {
	if c.on {
		return 1
	}
	return 0
}

// stopped is when what rings is stopped, by a stop or by the hand that chokes it.
func (w *smfWriter) stopped(m *motion.Result) map[*score.Item][]int64 {
	out := map[*score.Item][]int64{}
	add := func(e *motion.Event) {
		if it := e.Item(); e.Kind.Stops() && it != nil {
			tick := w.tick(int(e.Span), e.At())
			if e.Kind == motion.Choke {
				tick += int64((e.T0 - w.Time.Seconds(int(e.Span), e.At())) * ticksPerQuarter / w.secondsPerQuarter(e.At()))
			}
			out[it] = append(out[it], tick)
		}
	}
	for _, events := range [][]motion.Event{m.Events, m.OtherStops(w.Score)} {
		for i := range events {
			add(&events[i])
		}
	}
	for _, list := range out {
		slices.Sort(list)
	}
	return out
}

// ends is when what is struck at a tick has rung out or is stopped.
func (l *limbTrack) ends(it *score.Item, tick int64, perTick float64) int64 {
	off := tick + heldTicks
	if it.Inst.Rings > 0 {
		off = max(off, tick+int64(it.Inst.Rings/perTick))
	}
	if i, _ := slices.BinarySearch(l.stops[it], tick+1); i < len(l.stops[it]) {
		off = min(off, l.stops[it][i])
	}
	return off
}

// hairpinSteps is how much louder or softer it gets under a hairpin that leads
// to no dynamic: common practice, no source.
const hairpinSteps = 2 * 16

// A swell is a hairpin under way on one thing.
type swell struct {
	way    int // 1: louder, -1: softer, 0: none
	from   int64
	begins byte
	under  []int // the events under it
}

// louds is how hard each event of a player is struck: by its dynamic, and under
// a hairpin evenly from where that begins to the dynamic where it ends.
func (w *smfWriter) louds(m *motion.Result) []byte {
	out := make([]byte, len(m.Events))
	signs := score.NewSigns(w.Score)
	pins := map[*score.Item]*swell{}
	tick := func(i int) int64 { e := &m.Events[i]; return w.tick(int(e.Span), e.At()) }
	closed := func(p *swell, to byte, end int64) {
		for _, i := range p.under {
			at := float64(tick(i)-p.from) / float64(max(1, end-p.from))
			v := float64(p.begins) + (float64(to)-float64(p.begins))*min(1, at)
			out[i] = byte(max(1, min(127, int(math.Round(v))+int(out[i]))))
		}
		*p = swell{}
	}
	open := func(p *swell) {
		if n := len(p.under); n > 0 {
			closed(p, byte(max(1, min(127, int(p.begins)+p.way*hairpinSteps))), tick(p.under[n-1]))
		}
		*p = swell{}
	}
	for i := range m.Events {
		e := &m.Events[i]
		if e.Cue == nil || e.Kind.Stops() {
			continue
		}
		st, it := &e.Cue.Strokes[e.Stroke], e.Item()
		p := pins[it]
		if p == nil {
			p = &swell{}
			pins[it] = p
		}
		level, way := false, 0
		for _, sign := range signs.Before(e.Cue, st) {
			switch sign {
			case "cresc":
				way = 1
			case "dim":
				way = -1
			default:
				level = level || sign == st.Dyn.String()
			}
		}
		base := velocity(st.Dyn, false)
		switch {
		case level:
			closed(p, base, tick(i))
		case way != 0:
			open(p)
		}
		if way != 0 {
			*p = swell{way: way, from: tick(i), begins: base}
		}
		if p.way != 0 {
			out[i] = velocity(st.Dyn, st.Has(score.Accent)) - base // what the accent adds
			p.under = append(p.under, i)
			continue
		}
		out[i] = velocity(st.Dyn, st.Has(score.Accent))
	}
	for _, p := range pins {
		open(p)
	}
	return out
}

// A limbTrack is the track of one limb that is being written.
type limbTrack struct {
	*smfWriter
	limb     body.Limb
	list     []smfStroke
	programs map[byte]int // by channel
}

func (l *limbTrack) add(tick, off int64, channel byte, keys []byte, vel byte) {
	tick = max(0, tick)
	for _, key := range keys {
		l.list = append(l.list, smfStroke{tick, max(tick+1, off), channel, key, vel})
	}
}

// play adds a stroke with its graces, or the strokes of a roll.
func (l *limbTrack) play(e *motion.Event, vel byte) {
	st := &e.Cue.Strokes[e.Stroke]
	channel, keys := l.keys(e)
	if len(keys) == 0 {
		return
	}
	tick := l.tick(int(e.Span), st.At)
	perTick := l.secondsPerQuarter(st.At) / ticksPerQuarter
	for g := int(st.Grace); g > 0; g-- {
		at := tick - int64(float64(g)*graceStep/perTick)
		l.add(at, at+heldTicks, channel, keys[:1], vel*2/3)
	}
	if e.Kind != motion.RollOn {
		l.add(tick, l.ends(e.Item(), tick, perTick), channel, keys, vel)
		return
	}
	end := l.tick(l.Lasts(int(e.Span), st.End))
	n := max(1, int(math.Round((e.T1-e.T0)/rollStep)))
	for k := range n {
		at := tick + (end-tick)*int64(k)/int64(n)
		l.add(at, min(end, at+heldTicks), channel, keys, vel)
	}
}

// keys are the channel and the keys that the limb's part of a stroke sounds on.
func (l *limbTrack) keys(e *motion.Event) (channel byte, keys []byte) {
	in, struck := e.Cue.Item.Inst, e.Cue.StruckAt(int(e.Stroke))
	if program := programOf(in); program < 0 {
		channel, keys = 9, l.drumKeys(struck, in)
		st := &e.Cue.Strokes[e.Stroke]
		for _, word := range l.marks.at(e.Cue, st.At) {
			if _, ok := written.MarkedKey(in, []string{word}, false); !ok {
				l.tell("%q at strokes on the %s, which has no key for that", word, in.Name())
			}
		}
		if key, ok := written.MarkedKey(in, l.marks.at(e.Cue, st.At), st.Has(score.Short)); ok && len(keys) == 1 {
			keys[0] = byte(key)
		}
	} else {
		channel, keys = l.channel(program), l.soundingKeys(struck, in)
		l.programs[channel] = program
	}
	if n := len(keys); n > 1 && e.Limbs.Has(body.Left) && e.Limbs.Has(body.Right) { // nobody crosses hands for a chord
		keys = map[body.Limb][]byte{body.Left: keys[:n/2], body.Right: keys[n/2:]}[l.limb]
	}
	return channel, keys
}

// drumKeys are the keys of the percussion map that a stroke sounds on, those of
// a set from the left.
func (w *smfWriter) drumKeys(s *score.Struck, in *kit.Instrument) []byte {
	var drums []int
	if s != nil {
		for _, k := range s.Keys {
			switch n := k.Member(in); {
			case !k.Pitch.None():
				w.tell("which note of the %s: MIDI has a key for the whole of it", in.Name())
			case n > 0:
				drums = append(drums, n)
			}
		}
	}
	slices.Sort(drums)
	var out []byte
	for _, n := range slices.Compact(drums) {
		if key, ok := in.Key(n); ok {
			out = append(out, byte(key))
			continue
		}
		w.tell("which of the %s: MIDI has no key for each, and all of them sound on one", in.Name())
	}
	if len(out) > 0 {
		return out
	}
	if _, ok := in.Key(1); ok && len(drums) == 0 {
		w.tell("strokes on the %s that do not say which: they sound on %s, since each has a key of its own", in.Name(), memberName(in, 1))
	}
	return []byte{byte(keyOf(in))}
}

// memberName is what the n-th of a set is called.
func memberName(in *kit.Instrument, n int) string {
	if n <= len(in.MemberNames) {
		return "the " + in.MemberNames[n-1] + " one"
	}
	return fmt.Sprintf("number %d", n)
}

// soundingKeys are the keys that a stroke sounds on where an instrument has a
// program; one in the middle of its range, where it does not say which note.
func (w *smfWriter) soundingKeys(s *score.Struck, in *kit.Instrument) (out []byte) {
	if in.Own {
		w.tell("the %s: it sounds as the %s does, which is what it comes in as", in.Name(), soundsAs(in))
	}
	if s != nil {
		for _, k := range s.Keys {
			if sounding := in.Sounding(k.Pitch); !sounding.None() {
				out = append(out, byte(sounding.Semitone()))
			}
		}
	}
	if len(out) == 0 && in.Pitched() {
		middle := pitch.FromSemitone((in.Range.Low.Semitone() + in.Range.High.Semitone()) / 2)
		w.tell("strokes on the %s that do not say which note: they sound as %s", in.Name(), middle)
		out = []byte{byte(in.Sounding(middle).Semitone())}
	}
	if len(out) == 0 {
		out = []byte{72}
	}
	slices.Sort(out)
	return out
}

// tell notes, once, what the file cannot say.
func (w *smfWriter) tell(format string, args ...any) {
	if what := "not in the file: " + fmt.Sprintf(format, args...); !slices.Contains(w.told, what) {
		w.told = append(w.told, what)
	}
}

// channel is that of a program: there are fifteen beside the percussion
// channel, and later programs share the last one.
func (w *smfWriter) channel(program int) byte {
	if w.channels == nil {
		w.channels = map[int]byte{}
	}
	c, ok := w.channels[program]
	if !ok {
		c = byte(min(len(w.channels), 14))
		if c >= 9 {
			c++
		}
		w.channels[program] = c
	}
	return c
}

// velocity reads a dynamic as how hard a key is struck: the middle of the
// sixteen steps that the reader takes for it; an accent is one step more.
func velocity(d kit.Dynamic, accent bool) byte {
	if d == 0 {
		d = kit.MF
	}
	v := (int(d)-1)*16 + 8
	if accent {
		v += 16
	}
	return byte(min(127, max(1, v)))
}
