package plan

import (
	"fmt"
	"strings"
)

// Weights say what counts for how much. The first group weighs a written
// stroke that is lost; the second weighs, against each other and far below any
// stroke, what else a plan costs. All are judgement: common practice, no
// source.
type Weights struct {
	Stroke  float64 // any stroke
	Exposed float64 // times: nothing else sounds in its bar
	Driving float64 // times: it has the most strokes of its bar, one a count or more
	Climax  float64 // times: the only metal in one of the loudest bars
	Doubled float64 // times: another part has the same strokes, or more, on the same instrument

	Lost       float64 // every weighted stroke that is lost
	Tight      float64 // a change that is only possible in haste
	Sound      float64 // a bar played in a way that costs sound
	Loud       float64 // a bar louder or softer than the way of playing allows
	Line       float64 // a line goes to another player
	Hand       float64 // a line goes to another hand
	Way        float64 // a line goes on in another way
	Instrument float64 // one more player has the instrument
	Change     float64 // a hand takes or lays something
	Place      float64 // a hand goes from one instrument to another
	Even       float64 // a player has all the strokes and the others none
	Moved      float64 // a bar is not played as it is today
}

// DefaultWeights is what counts when nothing is said.
func DefaultWeights() Weights {
	return Weights{
		Stroke: 1, Exposed: 2, Driving: 1.5, Climax: 3, Doubled: 0.25,
		Lost: 1000, Tight: 20, Sound: 3, Loud: 6, Line: 8, Hand: 3, Way: 3, Instrument: 10, Change: 1, Place: 0.2, Even: 30, Moved: 12,
	}
}

// usualStyle is the same with what is lost weighed so, and all else as usual.
func (w Weights) usualStyle() Weights {
	out := DefaultWeights()
	out.Stroke, out.Exposed, out.Driving, out.Climax, out.Doubled, out.Lost = w.Stroke, w.Exposed, w.Driving, w.Climax, w.Doubled, w.Lost
	return out
}

// A named weight is one that can be set.
type named struct {
	name string
	at   func(*Weights) *float64
}

func weightTable() []named {
	return []named{
		{"stroke", func(w *Weights) *float64 { return &w.Stroke }},         // any stroke that is lost
		{"exposed", func(w *Weights) *float64 { return &w.Exposed }},       // times, where nothing else sounds in the bar
		{"driving", func(w *Weights) *float64 { return &w.Driving }},       // times, for the busiest line of a bar
		{"climax", func(w *Weights) *float64 { return &w.Climax }},         // times, for the only metal in one of the loudest bars
		{"doubled", func(w *Weights) *float64 { return &w.Doubled }},       // times, where another part has all its strokes on the same instrument
		{"lost", func(w *Weights) *float64 { return &w.Lost }},             // a weighted stroke that is lost, against all below
		{"tight", func(w *Weights) *float64 { return &w.Tight }},           // a change that is only possible in haste
		{"sound", func(w *Weights) *float64 { return &w.Sound }},           // a bar played in a way that costs sound
		{"loud", func(w *Weights) *float64 { return &w.Loud }},             // a bar louder or softer than its way of playing allows
		{"line", func(w *Weights) *float64 { return &w.Line }},             // a line goes to another player
		{"hand", func(w *Weights) *float64 { return &w.Hand }},             // a line goes to another hand
		{"way", func(w *Weights) *float64 { return &w.Way }},               // a line goes on in another way
		{"instrument", func(w *Weights) *float64 { return &w.Instrument }}, // one more player has the instrument
		{"change", func(w *Weights) *float64 { return &w.Change }},         // a hand takes or lays something
		{"place", func(w *Weights) *float64 { return &w.Place }},           // a hand goes from one instrument to another
		{"even", func(w *Weights) *float64 { return &w.Even }},             // one player has all the strokes and the others none
		{"moved", func(w *Weights) *float64 { return &w.Moved }},           // a bar is not played as it is today
	}
}

// maxWeight keeps sums of costs far from where numbers lose their ones.
const maxWeight = 1e6

// Set gives a weight, by its name, another value.
func (w *Weights) Set(name string, value float64) error {
	var names []string
	for _, n := range weightTable() {
		if n.name == name {
			if !(value >= 0 && value <= maxWeight) {
				return fmt.Errorf("the weight %s is a number from 0 to %g", name, maxWeight)
			}
			*n.at(w) = value
			return nil
		}
		names = append(names, n.name)
	}
	return fmt.Errorf("there is no weight %s: %s", name, strings.Join(names, ", "))
}
