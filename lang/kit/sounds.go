package kit

import (
	"slices"
	"strconv"
	"strings"
	"sync"
)

// soundIndex is which instruments of the binary have which sound ids.
var soundIndex = sync.OnceValue(func() map[string][]string {
	out := map[string][]string{}
	for id, e := range Standard().shelf.instruments {
		for line := range strings.Lines(e.text) {
			if rest, ok := strings.CutPrefix(strings.TrimSpace(line), "sound "); ok {
				for _, sound := range strings.Fields(rest) {
					out[sound] = append(out[sound], id)
				}
			}
		}
	}
	for _, ids := range out {
		slices.Sort(ids)
	}
	return out
})

// keyIndex is which instruments of the binary have which keys of the General
// MIDI percussion map.
var keyIndex = sync.OnceValue(func() map[int][]string {
	out := map[int][]string{}
	for id, e := range Standard().shelf.instruments {
		for line := range strings.Lines(e.text) {
			if rest, ok := strings.CutPrefix(strings.TrimSpace(line), "midi "); ok {
				for _, word := range strings.Fields(rest) {
					if key, err := strconv.Atoi(word); err == nil {
						out[key] = append(out[key], id)
					}
				}
			}
		}
	}
	for _, ids := range out {
		slices.Sort(ids)
	}
	return out
})

// ReadKey says what a key of the General MIDI percussion map may mean.
func (c *Catalogue) ReadKey(key int, among Among) Reading {
	var r Reading
	for at := c; at != nil; at = at.below {
		if at.shelf != nil {
			for _, id := range keyIndex()[key] {
				if in := c.Instrument(id); in != nil && !slices.Contains(r.Kinds, in) {
					r.Kinds = append(r.Kinds, in)
				}
			}
			continue
		}
		for _, in := range at.Instruments() {
			if slices.Contains(in.MIDI, key) && !slices.Contains(r.Kinds, in) {
				r.Kinds = append(r.Kinds, in)
			}
		}
	}
	if len(r.Kinds) > 1 {
		r.Meanings = "several instruments share the key"
	}
	if among == InDrumSet {
		c.inDrumSet(&r)
	}
	return r
}

// mostKin is how many instruments an id may leave open and still say something.
const mostKin = 6

// ReadSound says what a MusicXML sound id may mean: the instruments that have
// it first among their sounds, else those that have it at all, else, id by id
// toward its family, those that have the id above it or one that lies below
// that. A family by itself says nothing.
func (c *Catalogue) ReadSound(sound string) Reading {
	if r, ok := c.withSound(func(s string) bool { return s == sound }, sound); ok {
		return r
	}
	for up := sound; strings.Count(up, ".") >= 1; up = up[:strings.LastIndexByte(up, '.')] {
		if up != sound {
			if r, ok := c.withSound(func(s string) bool { return s == up }, up); ok {
				r.Meanings = "the sound is a kind of " + readable(up)
				return r
			}
		}
		below := up + "."
		if r, ok := c.withSound(func(s string) bool { return strings.HasPrefix(s, below) }, ""); ok {
			if len(r.Kinds) > mostKin {
				break
			}
			r.Meanings = "the sound is " + readable(up) + ", and nothing says of which kind"
			return r
		}
	}
	return Reading{}
}

// readable is the last word of a sound id, as a sentence says it.
func readable(sound string) string {
	return strings.ReplaceAll(sound[strings.LastIndexByte(sound, '.')+1:], "-", " ")
}

// withSound finds the instruments one of whose sounds fits; with exact, those
// whose first it is are the only ones.
func (c *Catalogue) withSound(fits func(string) bool, exact string) (Reading, bool) {
	var r Reading
	add := func(id string) {
		if in := c.Instrument(id); in != nil && !slices.Contains(r.Kinds, in) {
			r.Kinds = append(r.Kinds, in)
		}
	}
	for at := c; at != nil; at = at.below {
		at.sounding(fits, exact, add)
	}
	slices.SortFunc(r.Kinds, func(a, b *Instrument) int { return strings.Compare(a.ID, b.ID) })
	if exact != "" {
		if first := slices.DeleteFunc(slices.Clone(r.Kinds), func(in *Instrument) bool { return in.Sounds[0] != exact }); len(first) > 0 {
			r.Kinds = first
		}
	}
	if own := c.Instrument(exact[strings.LastIndexByte(exact, '.')+1:]); own != nil && slices.Contains(r.Kinds, own) {
		r.Kinds = []*Instrument{own} // drum.snare-drum is the snare drum, though others have no sound of their own
	}
	if len(r.Kinds) > 1 {
		r.Meanings = "several have the sound " + readable(exact)
	}
	return r, len(r.Kinds) > 0
}

// sounding names each instrument of this layer alone one of whose sounds fits,
// or is exact; for the shelf an index knows them.
func (c *Catalogue) sounding(fits func(string) bool, exact string, each func(id string)) {
	switch {
	case c.shelf == nil:
		for _, in := range c.instruments {
			if slices.ContainsFunc(in.Sounds, fits) {
				each(in.ID)
			}
		}
	case exact != "":
		for _, id := range soundIndex()[exact] {
			each(id)
		}
	default:
		for sound, ids := range soundIndex() {
			if fits(sound) {
				for _, id := range ids {
					each(id)
				}
			}
		}
	}
}
