package exchange

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// keysDown reads the notes of a track of ours by hand: when each begins and
// ends, and how hard it is struck. It knows delta times and the events that we
// write, and no more.
func keysDown(t *testing.T, data []byte, track int) (out [][3]int) {
	at := 14
	for range track {
		at += 8 + int(data[at+4])<<24 + int(data[at+5])<<16 + int(data[at+6])<<8 + int(data[at+7])
	}
	end := at + 8 + int(data[at+4])<<24 + int(data[at+5])<<16 + int(data[at+6])<<8 + int(data[at+7])
	open, tick := map[byte]int{}, 0
	for at += 8; at < end; {
		delta := 0
		for more := true; more; at++ {
			delta, more = delta<<7|int(data[at]&0x7f), data[at]&0x80 != 0
		}
		tick += delta
		switch status := data[at]; {
		case status == 0xff:
			at += 3 + int(data[at+2])
		case status&0xf0 == 0xc0:
			at += 2
		default:
			switch status & 0xf0 {
			case 0x90:
				require.NotContains(t, open, data[at+1], "a key that is down goes down again")
				open[data[at+1]] = len(out)
				out = append(out, [3]int{tick, -1, int(data[at+2])})
			case 0x80:
				out[open[data[at+1]]][1] = tick
				delete(open, data[at+1])
			}
			at += 3
		}
	}
	require.Empty(t, open, "every key comes up again")
	return out
}

func midi(t *testing.T, text string) []byte {
	r := check.Check("x.handful", syntax.Parse(text), check.Options{})
	require.Empty(t, r.Score.Problems)
	data, _, err := MIDI(r, MIDIOptions{})
	require.NoError(t, err)
	return data
}

// Under a hairpin it gets louder evenly, by how far the way is.
func TestHairpinsAreHeard(t *testing.T) {
	loud := func(bars string) (out []int) {
		for _, k := range keysDown(t, midi(t, "tempo 100\nbars 2\nplayer Ida\n  R snare-drum with snare-stick | "+bars+"\n"), 1) {
			out = append(out, k[2])
		}
		return out
	}
	p, f := loud("p 1")[0], loud("f 1")[0]
	assert.Equal(t, []int{p, p + (f-p)/4, p + (f-p)/2, p + (f-p)*3/4, f, f}, loud("p cresc 1 2 3 4 | f 1 2"))
	assert.Equal(t, []int{f, f, f, f}, loud("f 1 2 3 4"))
	back := loud("f dim 1 3 | p 1")
	assert.Equal(t, []int{f, (f + p) / 2, p}, back)
	accent := loud("p cresc 1 2 3> 4 | f 1")
	assert.Equal(t, p+(f-p)/2+16, accent[2])
	open := loud("mf cresc 1 2 3 4")
	for i := range open[1:] {
		assert.Greater(t, open[i+1], open[i], "one that leads to nothing swells all the same: %v", open)
	}
}

// What rings sounds until it is stopped, struck again or has rung out; what is
// dry is a key that is let go of at once.
func TestStopsAreHeard(t *testing.T) {
	rings := keysDown(t, midi(t, "tempo 60\nbars 2\nplayer Ida\n  R suspended-cymbal with yarn-mallet | 1 3x | 1 2\n"), 1)
	require.Len(t, rings, 3)
	assert.Equal(t, 2*ticksPerQuarter, rings[0][1]-rings[0][0], "to its stop")
	assert.Equal(t, ticksPerQuarter, rings[1][1]-rings[1][0], "to the next stroke")
	assert.Greater(t, rings[2][1]-rings[2][0], ticksPerQuarter, "on")
	short := keysDown(t, midi(t, "tempo 60\nbars 1\nplayer Ida\n  R triangle clipped with triangle-beater | 1. 3\n"), 1)
	require.Len(t, short, 2)
	assert.Less(t, short[0][1]-short[0][0], ticksPerQuarter, "choked")
	dry := keysDown(t, midi(t, "tempo 60\nbars 1\nplayer Ida\n  R woodblock clamped with rubber-mallet | 1 3\n"), 1)
	assert.Equal(t, heldTicks, dry[0][1]-dry[0][0])
}

func TestTheTableOfWhoPlaysWhat(t *testing.T) {
	text := "tempo 60\nbars 4\nprinted \"101\" at 1\nplayer \"=1+1\"\n  kit\n    snare-drum at right 20 ahead 40\n    triangle clipped at left 30 ahead 50\n" +
		"  R snare-drum with snare-stick | 1 3 | 1\n  from 3\n  L triangle clipped with triangle-beater | 1 | 2 3\n"
	r := check.Check("x.handful", syntax.Parse(text), check.Options{})
	require.Empty(t, r.Score.Problems)
	data, err := Table(r, CSV)
	require.NoError(t, err)
	rows, err := csv.NewReader(strings.NewReader(string(data))).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 3)
	assert.Equal(t, []string{"'=1+1", "1", "2", "101", "102", "snare drum", "", "R", "snare stick", "", "", "20", "40"}, append(rows[1][:9:9], "", "", rows[1][11], rows[1][12]))
	assert.Equal(t, []string{"3", "4", "103", "104", "triangle"}, rows[2][1:6])
	assert.Equal(t, []string{"L", "triangle beater", "clipped"}, rows[2][7:10])
	assert.Equal(t, []string{"-30", "50"}, rows[2][11:13])
	assert.Equal(t, []string{"3", "3"}, []string{rows[1][14], rows[2][14]})
}
