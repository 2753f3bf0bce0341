package written

import "testing"

// longMIDI is a file of one percussion track: so many bars of 4/4, sixteenths
// of eight keys in turn, with a dynamic of their own.
func longMIDI(bars int) []byte {
	var t []byte
	keys := []byte{38, 81, 49, 75, 56, 54, 36, 42}
	for i := range bars * 16 {
		k, v := keys[i%len(keys)], byte(40+i%80)
		t = append(t, 0, 0x99, k, v, 24, 0x89, k, 0)
	}
	t = append(t, 0, 0xff, 0x2f, 0)
	n := len(t)
	head := []byte{'M', 'T', 'h', 'd', 0, 0, 0, 6, 0, 0, 0, 1, 0, 96, 'M', 'T', 'r', 'k', byte(n >> 24), byte(n >> 16), byte(n >> 8), byte(n)}
	return append(head, t...)
}

// BenchmarkMIDI reads a file of a megabyte; the target is 5 MB/s.
func BenchmarkMIDI(b *testing.B) {
	data := longMIDI(8192)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, _, err := Text(data, Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(data))/1e6/b.Elapsed().Seconds()*float64(b.N)/5, "of-5MB/s")
}
