package exchange

import (
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/rhythm"
	"example.org/handful/lang/score"
)

// pause gives the fermatas and caesuras of a measure to notes of its voices, a
// fermata to one that begins at its place and a caesura to one that ends there.
// Where nothing is struck they stand on rests: a rest or a roll is divided for
// them, and a measure in which nothing is played gets a voice of rests.
func (w *xmlWriter) pause(voices []voice, bar int, m beat.Meter, from beat.Rat) []voice {
	start, length := w.Grid.Start(bar), w.Grid.Length(bar)
	var open []beat.Rat
	var here []int
	for k, h := range w.Pauses {
		if within(h, start, start.Add(length)) {
			here = append(here, k)
			if v, _ := bearer(voices, h); v == nil {
				open = append(open, h.At.Sub(start).Add(from))
			}
		}
	}
	if len(here) == 0 {
		return voices
	}
	if len(voices) == 0 || voices[0].cues() {
		voices = slices.Insert(voices, 0, voice{number: 1, start: start.Sub(from)})
	}
	if v := &voices[0]; len(open) > 0 {
		if spelt, ok := rhythm.Spell(m, from, length, v.events, open...); ok {
			v.spelt = spelt
		}
	}
	for _, k := range here {
		v, i := bearer(voices, w.Pauses[k])
		if v == nil {
			continue
		}
		sign := "<fermata/>"
		if w.Pauses[k].Break {
			sign = "<articulations><caesura/></articulations>"
		}
		if v.pauses == nil {
			v.pauses = map[int]string{}
		}
		v.pauses[i] += sign
		w.paused[k] = true
	}
	return voices
}

// within says whether a pause stands in a measure: a caesura behind a note of it.
func within(h score.Pause, start, end beat.Rat) bool {
	if h.Break {
		return start.Less(h.At) && !end.Less(h.At)
	}
	return !h.At.Less(start) && h.At.Less(end)
}

// tellPauses lists the fermatas and caesuras that stand in no part, as a caesura
// before the first bar.
func (w *xmlWriter) tellPauses() {
	for k, h := range w.Pauses {
		if w.paused[k] {
			continue
		}
		name := "fermata"
		if h.Break {
			name = "caesura"
		}
		bar, count := w.Grid.Place(h.At)
		w.tell("left out: the %s at bar %d%s, count %s: no part has a note or a rest for it", name, bar, w.InPrint(bar), count)
	}
}

// bearer is the note that a pause stands on: one that is struck where there is
// one, else a rest or what goes on there. It is none of the small notes, which
// nobody plays.
func bearer(voices []voice, h score.Pause) (in *voice, note int) {
	for k := range voices {
		v := &voices[k]
		if v.cues() {
			continue
		}
		for i := range v.spelt.Notes {
			n := &v.spelt.Notes[i]
			at := v.start.Add(n.At)
			if h.Break {
				at = at.Add(n.Length)
			}
			if at != h.At {
				continue
			}
			if !n.Rest() && !n.TieStop {
				return v, i
			}
			if in == nil {
				in, note = v, i
			}
		}
	}
	return in, note
}
