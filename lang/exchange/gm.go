package exchange

import (
	_ "embed"
	"strconv"
	"strings"
	"sync"

	"handful/lang/kit"
)

//go:embed tables/general-midi-percussion.csv
var gmTable string

// A gmKey is one key of the General MIDI percussion map.
type gmKey struct {
	key  int
	name string
}

// gmKeys is the percussion key map of General MIDI, levels 1 and 2.
var gmKeys = sync.OnceValue(func() []gmKey {
	var out []gmKey
	for _, line := range strings.Split(gmTable, "\n") {
		cells := strings.Split(line, ",")
		// The orchestra's own map, which a bank number asks for, has other keys.
		if key, err := strconv.Atoi(cells[0]); err == nil && len(cells) > 4 && len(cells[4]) == len("GM1") {
			out = append(out, gmKey{key, cells[3]})
		}
	}
	return out
})

// familyKeys stand in for instruments that the key map does not have: a sound
// of their family. Ours; the standard names none.
var familyKeys = map[string]int{
	"membrane": 38, "metal": 53, "wood": 76, "shaken": 70, "keyboard": 76, "wind": 72, "effect": 37, "body": 39, "composite": 36,
}

//go:embed tables/general-midi-programs.csv
var programTable string

//go:embed tables/nearest-keys.csv
var nearestTable string

// gmPrograms is what programs of General MIDI are read as, and which program
// an instrument is written with; programs count from 0.
type gmPrograms struct {
	reads  map[int]string
	writes map[string]int
	near   map[string]int // keys of instruments that have no other sound
}

var programs = sync.OnceValue(func() *gmPrograms {
	g := &gmPrograms{reads: map[int]string{}, writes: map[string]int{}, near: map[string]int{}}
	for line := range strings.Lines(programTable) {
		cells := strings.Split(strings.TrimSpace(line), ",")
		program, err := strconv.Atoi(cells[0])
		if err != nil || len(cells) < 4 {
			continue
		}
		if cells[2] != "" {
			g.reads[program], g.writes[cells[2]] = cells[2], program
		}
		for _, id := range strings.Fields(cells[3]) {
			g.writes[id] = program
		}
	}
	for line := range strings.Lines(nearestTable) {
		id, key, _ := strings.Cut(strings.TrimSpace(line), ",")
		if k, err := strconv.Atoi(key); err == nil {
			g.near[id] = k
		}
	}
	return g
})

// programOf is the General MIDI program of an instrument that the percussion
// map has no key for, from 0, or -1.
func programOf(in *kit.Instrument) int {
	if program, ok := programs().writes[in.ID]; ok && len(in.MIDI) == 0 && !in.Own {
		return program
	}
	return -1
}

// keyOf is the key that an instrument sounds on in the percussion channel.
func keyOf(in *kit.Instrument) int {
	if len(in.MIDI) > 0 {
		return in.MIDI[0]
	}
	if key, ok := programs().near[in.ID]; ok && !in.Own {
		return key
	}
	if key, ok := familyKeys[in.Family]; ok {
		return key
	}
	return 37
}
