package exchange

import (
	_ "embed"
	"strconv"
	"strings"
	"sync"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/written"
)

// familyKeys stand in for instruments that the key map does not have: a sound
// of their family. Ours; the standard names none.
var familyKeys = map[string]int{
	kit.Membrane: 38, kit.Metal: 53, kit.Wood: 76, kit.Rattle: 70, kit.Keyboard: 76, kit.Wind: 72, kit.Effect: 37, kit.ByBody: 39, kit.Composite: 36,
}

//go:embed tables/nearest-keys.csv
var nearestTable string

// gmSounds is what instruments are written with in General MIDI.
type gmSounds struct {
	programs map[string]int // from 0
	near     map[string]int // keys of instruments that have no other sound
}

var sounds = sync.OnceValue(func() *gmSounds {
	g := &gmSounds{programs: map[string]int{}, near: map[string]int{}}
	for _, p := range written.Programs() {
		if p.Reads != "" {
			g.programs[p.Reads] = p.Number
		}
		for _, id := range p.Writes {
			g.programs[id] = p.Number
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
	if len(in.MIDI) > 0 {
		return -1
	}
	id := in.ID
	if in.Own {
		id = soundsAs(in)
	}
	if program, ok := sounds().programs[id]; ok {
		return program
	}
	return -1
}

// soundsAs is the instrument of the catalogue that one of the piece's own with
// notes goes out as: the first that has a program and is read alike, so that it
// comes in with the same notes as written. "" if there is none.
func soundsAs(in *kit.Instrument) string {
	if !in.Pitched() && len(in.Kettles) == 0 {
		return ""
	}
	for _, p := range written.Programs() {
		o := kit.Standard().Instrument(p.Reads)
		if o != nil && o.Pitched() && o.Octaves == in.Octaves && (len(o.Kettles) > 0) == (len(in.Kettles) > 0) {
			return o.ID
		}
	}
	return ""
}

// keyOf is the key that an instrument sounds on in the percussion channel; of a
// set that of its first drum.
func keyOf(in *kit.Instrument) int {
	if len(in.MIDI) > 0 {
		return in.MIDI[0]
	}
	if key, ok := sounds().near[in.ID]; ok && !in.Own {
		return key
	}
	if key, ok := familyKeys[in.Family]; ok {
		return key
	}
	return 37
}
