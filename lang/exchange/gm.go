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
		if key, err := strconv.Atoi(cells[0]); err == nil && len(cells) > 3 {
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

// programOf is the General MIDI program of an instrument with bars or skins in
// tune, from 0, or -1.
func programOf(in *kit.Instrument) int {
	for program, id := range percussionPrograms {
		if id == in.ID && len(in.MIDI) == 0 {
			return program
		}
	}
	return -1
}

// keyOf is the key that an instrument sounds on in the percussion channel.
func keyOf(in *kit.Instrument) int {
	if len(in.MIDI) > 0 {
		return in.MIDI[0]
	}
	if key, ok := familyKeys[in.Family]; ok {
		return key
	}
	return 37
}
