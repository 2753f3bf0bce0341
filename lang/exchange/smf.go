package exchange

// An smfTrack is a track that is being written.
type smfTrack struct {
	data  []byte
	tick  int64
	until int64 // where it ends, if that is behind its last event
}

func (t *smfTrack) time(tick int64) {
	d := uint32(max(0, min(tick-t.tick, 1<<28-1)))
	t.tick = max(t.tick, tick)
	var buf [4]byte
	n := 3
	buf[3] = byte(d & 0x7f)
	for d >>= 7; d > 0; d >>= 7 {
		n--
		buf[n] = byte(d&0x7f) | 0x80
	}
	t.data = append(t.data, buf[n:]...)
}

func (t *smfTrack) event(tick int64, bytes ...byte) {
	t.time(tick)
	t.data = append(t.data, bytes...)
}

func (t *smfTrack) meta(tick int64, kind byte, data []byte) {
	t.time(tick)
	t.data = append(t.data, 0xff, kind)
	size := len(data)
	if size > 127 {
		t.data = append(t.data, byte(size>>7)|0x80)
	}
	t.data = append(t.data, byte(size&0x7f))
	t.data = append(t.data, data[:min(size, 1<<14-1)]...)
}

// writeSMF puts tracks into a file of format 1.
func writeSMF(division int, tracks []*smfTrack) []byte {
	out := []byte{'M', 'T', 'h', 'd', 0, 0, 0, 6, 0, 1, byte(len(tracks) >> 8), byte(len(tracks)), byte(division >> 8), byte(division)}
	for _, t := range tracks {
		t.meta(max(t.tick, t.until), 0x2f, nil)
		n := len(t.data)
		out = append(out, 'M', 'T', 'r', 'k', byte(n>>24), byte(n>>16), byte(n>>8), byte(n))
		out = append(out, t.data...)
	}
	return out
}
