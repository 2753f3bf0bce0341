package written

import (
	_ "embed"
	"strconv"
	"strings"
	"sync"
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

//go:embed tables/general-midi-programs.csv
var programTable string

// A Program is a line of the table of General MIDI's programs.
type Program struct {
	Number int      // from 0
	Reads  string   // the instrument that it is read as, or ""
	Writes []string // the instruments that are written with it besides
}

// Programs are the programs of General MIDI that are percussion, in order.
var Programs = sync.OnceValue(func() []Program {
	var out []Program
	for line := range strings.Lines(programTable) {
		cells := strings.Split(strings.TrimSpace(line), ",")
		if number, err := strconv.Atoi(cells[0]); err == nil && len(cells) > 3 {
			out = append(out, Program{number, cells[2], strings.Fields(cells[3])})
		}
	}
	return out
})

// readAs is the instrument that a program is read as, or "".
func readAs(program int) string {
	for _, p := range Programs() {
		if p.Number == program {
			return p.Reads
		}
	}
	return ""
}
