package written

import (
	_ "embed"
	"strings"
	"sync"

	"example.org/handful/lang/kit"
)

//go:embed tables/noteheads.csv
var headTable string

var headLines = sync.OnceValue(func() [][2]string {
	var out [][2]string
	for line := range strings.Lines(headTable) {
		if cells := strings.Split(strings.TrimSpace(line), ","); len(cells) == 2 && !strings.HasPrefix(line, "#") && cells[0] != "sound" {
			out = append(out, [2]string{cells[0], cells[1]})
		}
	}
	return out
})

// HeadOf is the notehead that an instrument is written with, in the words of
// MusicXML; "" is the plain one. The longest sound that fits counts.
func HeadOf(in *kit.Instrument) string {
	sound, head := "", ""
	for _, have := range in.Sounds {
		for _, line := range headLines() {
			if strings.HasPrefix(have+".", line[0]+".") && len(line[0]) > len(sound) {
				sound, head = line[0], line[1]
			}
		}
	}
	return head
}
