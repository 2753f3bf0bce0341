package lsp

import (
	"encoding/binary"
	"math/rand/v2"
	"testing"
	"time"
)

// tape is a source of chances that were written down, two bytes each so that
// every byte counts, and a plain count behind them.
type tape struct {
	data  []byte
	count uint64
}

func (s *tape) Uint64() uint64 {
	if len(s.data) < 2 {
		s.count++
		return s.count * 0x9e3779b97f4a7c15
	}
	v := binary.LittleEndian.Uint16(s.data)
	s.data = s.data[2:]
	return (uint64(v) + 1) * 0x9e3779b97f4a7c15
}

// FuzzEdits drives a session through any sequence of edits and requests: what
// it shows at the end is what a fresh check finds.
func FuzzEdits(f *testing.F) {
	f.Add([]byte("edits and requests in any order"))
	f.Add([]byte{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 200, 201, 202, 203, 204, 205})
	f.Fuzz(func(t *testing.T, data []byte) {
		storm(t, rand.New(&tape{data: data}), 3, min(len(data)/4, 60))
	})
}

// FuzzTraffic sends any bytes: the session answers or ends, and does not hang.
func FuzzTraffic(f *testing.F) {
	hello := `{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"processId":null,"rootUri":null,"capabilities":{}}}`
	f.Add("Content-Length: 2\r\n\r\n{}")
	f.Add("Content-Length: 107\r\n\r\n" + hello)
	f.Add("Content-Length: -1\r\n\r\n")
	f.Add("Content-Length: 99999999999999999999\r\n\r\n")
	f.Add("\r\n\r\n")
	f.Fuzz(func(t *testing.T, data string) {
		c := dial(t, Options{})
		c.lax = true
		c.raw(data)
		c.toServer.Close()
		select {
		case code := <-c.done:
			c.done <- code
		case <-time.After(patience):
			t.Fatal("the session does not end")
		}
	})
}
