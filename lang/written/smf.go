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
	data   []byte // of a channel event its one or two bytes
}

// An smfNote is a key that is struck, or a program that is chosen: of what a
// channel does, all that is kept.
type smfNote struct {
	tick          int64
	status        byte // with its channel
	key, velocity byte // or the program
}

// An smfTrack is what is kept of a track.
type smfTrack struct {
	metas []smfEvent
	notes []smfNote
	last  int64 // the tick of its last event
}

// An smfFile is a file's header and its tracks' events.
type smfFile struct {
	format   int
	division int  // ticks in a quarter note, or in a second when smpte
	smpte    bool // … at a frame rate
	perSec   float64
	tracks   []smfTrack
}

// parseSMF reads the chunks of a file. What does not fit the standard is an
// error with its track and byte; nothing is allocated before it has been seen
// to be there. Our own reader: the libraries to be had read hostile lengths on
// trust.
func parseSMF(data []byte) (*smfFile, error) {
	if len(data) < 14 || string(data[:4]) != "MThd" {
		return nil, errors.New("byte 0: this is no Standard MIDI File")
	}
	size := be32(data[4:])
	if size < 6 || 8+size > len(data) {
		return nil, fmt.Errorf("byte 4: the header says it is %d bytes long", size)
	}
	f := &smfFile{format: be16(data[8:])}
	if f.format > 1 {
		return nil, fmt.Errorf("byte 8: format %d holds independent sequences; formats 0 and 1 are read", f.format)
	}
	if err := f.divide(be16(data[12:])); err != nil {
		return nil, err
	}
	events := 0
	for at := 8 + size; at < len(data); {
		if len(data)-at < 8 {
			return nil, fmt.Errorf("byte %d: a chunk begins and the file ends", at)
		}
		kind, size := string(data[at:at+4]), be32(data[at+4:])
		at += 8
		if size > len(data)-at {
			return nil, fmt.Errorf("track %d, byte %d: the chunk says it is %d bytes long, and %d are left", len(f.tracks)+1, at-4, size, len(data)-at)
		}
		if kind == "MTrk" {
			if err := f.track(data[at:at+size], at, &events); err != nil {
				return nil, err
			}
		}
		at += size
	}
	if len(f.tracks) == 0 {
		return nil, errors.New("there are no tracks in it")
	}
	return f, nil
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

// track reads one more track, which begins at byte at of the file.
func (f *smfFile) track(data []byte, at int, events *int) error {
	if len(f.tracks) == MaxTracks {
		return fmt.Errorf("byte %d: more than %d tracks", at, MaxTracks)
	}
	t, err := parseTrack(data, at, events)
	if err != nil {
		return fmt.Errorf("track %d, %w", len(f.tracks)+1, err)
	}
	f.tracks = append(f.tracks, t)
	return nil
}

func be16(b []byte) int { return int(b[0])<<8 | int(b[1]) }
func be32(b []byte) int { return be16(b)<<16 | be16(b[2:]) }

// parseTrack reads one track; base is the byte of the file where it begins.
func parseTrack(data []byte, base int, events *int) (out smfTrack, err error) {
	r := trackReader{data: data, base: base}
	var tick int64
	for r.at < len(data) {
		delta, n := varLen(data[r.at:])
		if n == 0 {
			return out, r.fail("a time that does not end")
		}
		r.at += n
		tick += int64(delta)
		if r.at == len(data) {
			return out, r.fail("a time with no event behind it")
		}
		if *events++; *events > maxEvents {
			return out, r.fail("more than %d events", maxEvents)
		}
		e, err := r.event()
		if err != nil {
			return out, err
		}
		e.tick, out.last = tick, tick
		switch {
		case e.status == 0xff:
			out.metas = append(out.metas, e)
		case e.status&0xf0 == 0x90 && e.data[1] > 0:
			out.notes = append(out.notes, smfNote{tick, e.status, e.data[0], e.data[1]})
		case e.status&0xf0 == 0xc0:
			out.notes = append(out.notes, smfNote{tick, e.status, e.data[0], 0})
		}
		if e.status == 0xff && e.meta == 0x2f {
			break
		}
	}
	return out, nil
}

// A trackReader reads the events of one track.
type trackReader struct {
	data    []byte
	base    int // the byte of the file where it begins
	at      int
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
	e := smfEvent{status: status}
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
	e := smfEvent{status: status, data: r.data[r.at : r.at+size]}
	for _, b := range e.data {
		if b&0x80 != 0 {
			return e, r.fail("a data byte of %#x", b)
		}
	}
	r.at += size
	r.running = status
	return e, nil
}

// varLen reads a number of up to four bytes of seven bits; n is 0 when there
// is none.
func varLen(data []byte) (v uint32, n int) {
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
