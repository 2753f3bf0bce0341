package written

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"

	"example.org/handful/lang/kit"
)

//go:embed tables/drum-set-places.csv
var placesTable string

// staffPlaces is the table: place and notehead → instrument.
var staffPlaces = sync.OnceValue(func() map[[2]string]string {
	out := map[[2]string]string{}
	for line := range strings.Lines(placesTable) {
		if cells := strings.Split(strings.TrimSpace(line), ","); len(cells) == 3 && cells[0] != "place" && !strings.HasPrefix(line, "#") {
			out[[2]string{cells[0], cells[1]}] = cells[2]
		}
	}
	return out
})

// byPlace is what stands at a place on a drum set's staff with a notehead.
func byPlace(step, head string) (id string, ok bool) {
	if head == "normal" {
		head = ""
	}
	if head == "cross" {
		head = "x"
	}
	id, ok = staffPlaces()[[2]string{step, head}]
	return id, ok
}

// setLine is the line of a note in the part of a drum set whose notes do not
// say which instrument they are for: the one that usually stands at its place.
func (r *xmlReader) setLine(p *xmlPart, n *rawNote) (string, bool) {
	if p.among != kit.InDrumSet || len(p.instruments) > 1 || n.step == "" || len(p.changed) > 0 {
		return "", false
	}
	if len(p.instruments) == 1 && r.opt.Catalogue.Read(p.instruments[0].name, kit.Alone).Sure() != nil && !r.wholeSet(p.instruments[0].name) {
		return "", false
	}
	id, ok := byPlace(n.step, n.head)
	if !ok {
		r.lose(p, fmt.Sprintf("notes at %s of a drum set's staff: what stands there is not known, and they are written as the whole set's", n.step))
		return "", false
	}
	p.placed = true
	p.named[id] = true
	r.lose(p, fmt.Sprintf("notes at %s do not say what they are for: taken for the %s, which usually stands there", n.step, r.opt.Catalogue.Instrument(id).Name()))
	return id, true
}

// wholeSet says whether a name is that of the drum set as a whole.
func (r *xmlReader) wholeSet(name string) bool {
	in := r.opt.Catalogue.Read(name, kit.Alone)
	return len(in.Kinds) > 0 && in.Kinds[0].IsDrumSet()
}
