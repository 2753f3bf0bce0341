package written

import (
	"errors"
	"fmt"
)

// Limits on a Standard MIDI File.
const (
	MaxTracks = 1000
	maxEvents = 4_000_000
)

// An smfEvent is one event of a track.
type smfEvent struct {
	tick   int64
	status byte // with its channel; 0xff for a meta event
	meta   byte
	data   string // of a channel event its one or two bytes
}

// An smfStruck is a key that is struck, as it is kept: a file has as many of
// them as it has strokes, in as little as three bytes each.
type smfStruck struct {
	low           uint32 // its tick
	high          uint16
	key, velocity byte // no velocity: it is part of a roll that began before
}

// lastTick is the last that is kept: far behind the last bar that is read.
const lastTick = 1<<48 - 1

func (s *smfStruck) tick() int64 { return int64(s.high)<<32 | int64(s.low) }

// smfStrucks is a list of them, in pieces: one that grows is there twice for a
// moment.
type smfStrucks struct {
	pieces [][]smfStruck
	n      int
}

const smfPiece = 1 << 12

func (l *smfStrucks) add(s smfStruck) {
	if last := len(l.pieces) - 1; last < 0 || len(l.pieces[last]) == smfPiece {
		room := smfPiece
		if last < 0 {
			room = 64
		}
		l.pieces = append(l.pieces, make([]smfStruck, 0, room))
	}
	last := len(l.pieces) - 1
	l.pieces[last] = append(l.pieces[last], s)
	l.n++
}

func (l *smfStrucks) at(i int) *smfStruck { return &l.pieces[i/smfPiece][i%smfPiece] }

// drop lets go of the pieces that are all before a stroke.
func (l *smfStrucks) drop(i int) { clear(l.pieces[:i/smfPiece]) }

// An smfFile is a file's header and what its tracks hold.
type smfFile struct {
	format   int
	division int  // ticks in a quarter note, or in a second when smpte
	smpte    bool // … at a frame rate
	perSec   float64
	tracks   int
	events   int
}

// parseSMF reads the chunks of a file. What does not fit the standard is an
// error with its track and byte; nothing is allocated before it has been seen
// to be there. Our own reader: the libraries to be had read hostile lengths on
// trust. Of what it reads it keeps what counts, and nothing of the rest.
func (r *smfReader) parse(data string) error {
	if len(data) < 14 || data[:4] != "MThd" {
		return errors.New("byte 0: this is no Standard MIDI File")
	}
	size := be32(data[4:])
	if size < 6 || 8+size > len(data) {
		return fmt.Errorf("byte 4: the header says it is %d bytes long", size)
	}
	r.format = be16(data[8:])
	if r.format > 1 {
		return fmt.Errorf("byte 8: format %d holds independent sequences; formats 0 and 1 are read", r.format)
	}
	if err := r.divide(be16(data[12:])); err != nil {
		return err
	}
	for at := 8 + size; at < len(data); {
		if len(data)-at < 8 {
			return fmt.Errorf("byte %d: a chunk begins and the file ends", at)
		}
		kind, size := data[at:at+4], be32(data[at+4:])
		at += 8
		if size > len(data)-at {
			return fmt.Errorf("track %d, byte %d: the chunk says it is %d bytes long, and %d are left", r.tracks+1, at-4, size, len(data)-at)
		}
		if kind == "MTrk" {
			if r.tracks++; r.tracks > MaxTracks {
				return fmt.Errorf("byte %d: more than %d tracks", at, MaxTracks)
			}
			if err := r.track(data[at:at+size], at); err != nil {
				return fmt.Errorf("track %d, %w", r.tracks, err)
			}
		}
		at += size
	}
	if r.tracks == 0 {
		return errors.New("there are no tracks in it")
	}
	return nil
}

// divide reads the header's division: ticks in a quarter note, or in the frames
// of a second.
func (f *smfFile) divide(division int) error {
	switch {
	case division&0x8000 != 0:
		frames, ticks := 256-(division>>8), division&0xff
		rate := map[int]float64{24: 24, 25: 25, 29: 30000.0 / 1001, 30: 30}[frames]
		if rate == 0 || ticks == 0 {
			return fmt.Errorf("byte 12: %d frames of %d ticks a second is no division", frames, ticks)
		}
		f.smpte, f.perSec = true, rate*float64(ticks)
	case division == 0:
		return errors.New("byte 12: a division of 0 ticks")
	default:
		f.division = division
	}
	return nil
}

func be16(b string) int { return int(b[0])<<8 | int(b[1]) }
func be32(b string) int { return be16(b)<<16 | be16(b[2:]) }

// track reads one track; base is the byte of the file where it begins.
func (r *smfReader) track(data string, base int) error {
	t := trackReader{data: data, base: base}
	into := sortedTrack{number: r.tracks}
	for t.at < len(data) {
		delta, n := varLen(data[t.at:])
		if n == 0 {
			return t.fail("a time that does not end")
		}
		t.at += n
		t.tick += int64(delta)
		if t.at == len(data) {
			return t.fail("a time with no event behind it")
		}
		if r.events++; r.events > maxEvents {
			return t.fail("more than %d events", maxEvents)
		}
		if t.tick > lastTick {
			return t.fail("a time behind all that is read")
		}
		e, err := t.event()
		if err != nil {
			return err
		}
		if e.status == 0xff && e.meta == 0x2f {
			break
		}
		if e.status == 0xff {
			r.meta(e, &into)
		} else {
			r.channelEvent(e, &into)
		}
	}
	r.close(&into, t.tick)
	return nil
}

// A trackReader reads the events of one track.
type trackReader struct {
	data    string
	base    int // the byte of the file where it begins
	at      int
	tick    int64
	running byte // the status that an event without one has, or 0
}

func (r *trackReader) fail(format string, args ...any) error {
	return fmt.Errorf("byte %d: %s", r.base+r.at, fmt.Sprintf(format, args...))
}

// event reads an event behind its time.
func (r *trackReader) event() (smfEvent, error) {
	status := r.data[r.at]
	switch {
	case status&0x80 == 0:
		if status = r.running; status == 0 {
			return smfEvent{}, r.fail("an event without a status")
		}
		return r.channelEvent(status)
	case status == 0xff || status == 0xf0 || status == 0xf7:
		r.at++
		return r.longEvent(status)
	case status >= 0xf0:
		return smfEvent{}, r.fail("status %#x has no place in a file", status)
	}
	r.at++
	return r.channelEvent(status)
}

// longEvent reads an event that says how long it is: a meta event, or one of a
// system.
func (r *trackReader) longEvent(status byte) (smfEvent, error) {
	e := smfEvent{tick: r.tick, status: status}
	if status == 0xff {
		if r.at == len(r.data) {
			return e, r.fail("a meta event without a kind")
		}
		e.meta = r.data[r.at]
		r.at++
	}
	size, n := varLen(r.data[r.at:])
	if left := len(r.data) - r.at - n; n == 0 || int(size) > left {
		return e, r.fail("an event of %d bytes, and %d are left", size, max(0, left))
	}
	r.at += n
	e.data = r.data[r.at : r.at+int(size)]
	r.at += int(size)
	r.running = 0
	return e, nil
}

// channelEvent reads an event of a channel, of one byte or two.
func (r *trackReader) channelEvent(status byte) (smfEvent, error) {
	size := 2
	if kind := status & 0xf0; kind == 0xc0 || kind == 0xd0 {
		size = 1
	}
	if size > len(r.data)-r.at {
		return smfEvent{}, r.fail("an event that ends in the middle")
	}
	e := smfEvent{tick: r.tick, status: status, data: r.data[r.at : r.at+size]}
	for i := range len(e.data) {
		if b := e.data[i]; b&0x80 != 0 {
			return e, r.fail("a data byte of %#x", b)
		}
	}
	r.at += size
	r.running = status
	return e, nil
}

// varLen reads a number of up to four bytes of seven bits; n is 0 when there
// is none.
func varLen(data string) (v uint32, n int) {
	for n < 4 && n < len(data) {
		b := data[n]
		v = v<<7 | uint32(b&0x7f)
		n++
		if b&0x80 == 0 {
			return v, n
		}
	}
	return v, 0
}
