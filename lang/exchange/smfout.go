package exchange

import (
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

// How strokes sound: the time between two strokes of a roll, of a grace stroke
// before its main one, and how long a key is held. Common practice, no source.
const (
	rollStep  = 0.065
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
// that any player of such files makes it heard.
func MIDI(r *check.Result, opt MIDIOptions) ([]byte, error) {
	s := r.Score
	spans := s.Time.Spans()
	if len(spans) == 0 {
		return nil, errors.New("there are no bars to play")
	}
	w := &smfWriter{Score: s, opt: opt}
	w.starts(spans)
	if w.end > 1<<27 {
		return nil, errors.New("the piece is too long for a MIDI file")
	}
	tracks := []*smfTrack{w.conductor(spans)}
	if opt.Click {
		tracks = append(tracks, w.click(spans))
	}
	for _, m := range r.Motions {
		for l := range limbTracks {
			if t := w.limb(m, l); t != nil {
				tracks = append(tracks, t)
			}
		}
	}
	if len(tracks) > written.MaxTracks {
		return nil, fmt.Errorf("there are more than %d tracks", written.MaxTracks)
	}
	return writeSMF(ticksPerQuarter, tracks), nil
}

type smfWriter struct {
	*score.Score
	opt      MIDIOptions
	begin    []int64 // tick at which each span begins
	lead     int64   // ticks of the bar that counts in
	end      int64
	channels map[int]byte // of programs
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
	t := &smfTrack{}
	if w.Title != "" {
		t.meta(0, 0x03, []byte(w.Title))
	}
	lastTempo, lastMeter := -1, ""
	tempo := func(tick int64, pos beat.Rat) {
		us := int(math.Round(w.secondsPerQuarter(pos) * 1e6))
		us = max(1, min(us, 1<<24-1))
		if us != lastTempo {
			lastTempo = us
			t.meta(tick, 0x51, []byte{byte(us >> 16), byte(us >> 8), byte(us)})
		}
	}
	meter := func(tick int64, m beat.Meter) {
		if m.String() == lastMeter {
			return
		}
		lastMeter = m.String()
		power := byte(0)
		for 1<<power < m.Lower {
			power++
		}
		t.meta(tick, 0x58, []byte{byte(min(m.Upper, 255)), power, 24, 8})
	}
	if w.lead > 0 {
		meter(0, w.Grid.Meter(spans[0].From))
		tempo(0, w.Grid.Start(spans[0].From))
	}
	step := beat.R(1, 16)
	for i, sp := range spans {
		for bar := sp.From; bar <= sp.To; bar++ {
			if i > 0 || bar > sp.From || w.lead == 0 {
				meter(w.tick(i, w.Grid.Start(bar)), w.lasting(bar))
			}
			for _, m := range w.Marks {
				if m.Bar == bar {
					t.meta(w.tick(i, w.Grid.Start(bar)), 0x06, []byte(m.Name))
				}
			}
			for pos := w.Grid.Start(bar); pos.Less(w.Grid.Start(bar + 1)); pos = pos.Add(step) {
				tempo(w.tick(i, pos), pos)
			}
		}
	}
	t.tick = max(t.tick, w.end)
	return t
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

// A smfStroke is one sounding key.
type smfStroke struct {
	tick     int64
	on       bool
	channel  byte
	key, vel byte
}

// limb is the track of one limb of a player, or nil if it plays nothing.
func (w *smfWriter) limb(m *motion.Result, limb body.Limb) *smfTrack {
	var list []smfStroke
	add := func(tick int64, channel, key, vel byte) {
		tick = max(0, tick)
		list = append(list, smfStroke{tick, true, channel, key, vel}, smfStroke{tick + heldTicks, false, channel, key, 0})
	}
	programs := map[byte]int{}
	for i := range m.Events {
		e := &m.Events[i]
		if !e.Limbs.Has(limb) || e.Cue == nil || e.Kind.Stops() {
			continue
		}
		st := &e.Cue.Strokes[e.Stroke]
		in := e.Cue.Item.Inst
		channel, keys := byte(9), []byte{byte(keyOf(in))}
		if p := programOf(in); p >= 0 {
			channel, keys = w.channel(p), soundingKeys(e.Cue.StruckAt(int(e.Stroke)), in)
			if n := len(keys); n > 1 && e.Limbs.Has(body.Left) && e.Limbs.Has(body.Right) {
				keys = map[body.Limb][]byte{body.Left: keys[:n/2], body.Right: keys[n/2:]}[limb] // nobody crosses hands for a chord
			}
			programs[channel] = p
		}
		vel := velocity(st)
		tick := w.tick(int(e.Span), st.At)
		perTick := w.secondsPerQuarter(st.At) / ticksPerQuarter
		for g := int(st.Grace); g > 0; g-- {
			add(tick-int64(float64(g)*graceStep/perTick), channel, keys[0], vel*2/3)
		}
		if e.Kind != motion.RollOn {
			for _, key := range keys {
				add(tick, channel, key, vel)
			}
			continue
		}
		end := w.tick(w.Lasts(int(e.Span), st.End))
		n := max(1, int(math.Round((e.T1-e.T0)/rollStep)))
		for k := range n {
			for _, key := range keys {
				add(tick+(end-tick)*int64(k)/int64(n), channel, key, vel)
			}
		}
	}
	if len(list) == 0 {
		return nil
	}
	slices.SortStableFunc(list, func(a, b smfStroke) int {
		switch {
		case a.tick != b.tick:
			return int(min(1, max(-1, a.tick-b.tick)))
		case a.on != b.on && !a.on:
			return -1
		case a.on != b.on:
			return 1
		}
		return 0
	})
	t := &smfTrack{}
	t.meta(0, 0x03, []byte(m.Player.Name+", "+limb.Name()))
	for _, channel := range slices.Sorted(maps.Keys(programs)) {
		t.event(0, 0xc0|channel, byte(programs[channel]))
	}
	for _, s := range list {
		if s.on {
			t.event(s.tick, 0xb0|s.channel, 10, pans[limb])
			t.event(s.tick, 0x90|s.channel, s.key, s.vel)
		} else {
			t.event(s.tick, 0x80|s.channel, s.key, 0)
		}
	}
	return t
}

// soundingKeys are the keys that a stroke sounds on where an instrument has a
// program; one in the middle, where it does not say which note.
func soundingKeys(s *score.Struck, in *kit.Instrument) (out []byte) {
	if s != nil {
		for _, k := range s.Keys {
			if sounding := in.Sounding(k.Pitch); !sounding.None() {
				out = append(out, byte(sounding.Semitone()))
			}
		}
	}
	if len(out) == 0 {
		out = []byte{72}
	}
	slices.Sort(out)
	return out
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
// sixteen steps that the reader takes for it.
func velocity(st *score.Stroke) byte {
	d := st.Dyn
	if d == 0 {
		d = kit.MF
	}
	v := (int(d)-1)*16 + 8
	if st.Has(score.Accent) {
		v += 16
	}
	return byte(min(127, max(1, v)))
}
