package check

import (
	"fmt"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/words"
)

var tooFast = &Rule{
	Name:       "too-fast",
	Severities: []Severity{Error, Warning},
	Finds:      "one limb, or two in turn, on one instrument faster than their rate",
	Means: `Strokes follow one another quicker than they can be made, or than they are made in comfort. What can be made
belongs to the kind of motion: a stick on what throws it back, by rebound in twos and threes, hand to hand, to and fro, scraped,
with fingers, with two mallets in a hand, by foot. There are three bands. Below the limit nobody whom one would book can do it
reliably, every night: an error. The limit stands by how many strokes come in a row: up to four, up to about thirty, or more.
From there to the fastest that people make on average it is at the edge, a warning; from there to comfort it is tight, a warning
that is told once for each instrument. Between two hands the grace strokes of a flam, drag or ruff take their time as well. Where strokes say which bar or drum they are for, a hand's leap
from one to another is judged by how far it is and how wide what it goes to is.`,
	Why: `What was written for two hands and is played by one goes twice as fast for that hand.`,
	Stands: `The table of rates, each row with its source: comfortable rates from Solomon 2016 (one hand 208 ms, doubles 75 ms,
hand to hand 104 ms, with hard mallets 88 ms, two mallets in one hand 125 ms, one foot 300 ms, two feet 150 ms); one-hand tapping
of 5 to 7 a second, Fujii et al. 2009–2011; contests of 60 s for the limits. What is common practice alone makes no error of its own.`,
	Trips: `tempo 160
player Ida
  R snare-drum with snare-stick | 1 1e 1& 1a 2 2e 2& 2a
`,
	Passes: `tempo 160
player Ida
  RL snare-drum with snare-stick | 1 1& 2 2& 3 3& 4 4&
`,
	each: true,
	Look: func(c *Context) {
		for _, m := range c.Motions {
			for _, r := range repetitions(m, func(at beat.Rat) bool { return c.weighed(m.Player.Name, at) }) {
				place, limb := r.Place(), limbsInTurn(r.Limbs)
				c.At(m, place).With(limb).and(r.others).Needs(r.Pace, r.Gap, Sum{"from stroke to stroke", r.Technique.What, r.Pace, r.Technique.Source}).
					Says(r.severity, "%s's %s %s; %s", m.Player.Name, limb, r.does(m, limb), r.verdict()).
					orHandToHand(place.Cue).orStandIn(place.Cue).OrAccept()
			}
		}
	},
}

// does says what the limb does too fast.
func (r *repetition) does(m *motion.Result, limb string) string {
	in := r.Place().Item().Called()
	if r.Leap > 0 {
		h := r.Limbs.First()
		return fmt.Sprintf("leaps %.0f cm on the %s here, from %s to %s in %s", r.Leap, in, keysOf(m, r.From, h), keysOf(m, r.To, h), short(r.Gap))
	}
	return fmt.Sprintf("strike%s %s %s here", oneOrTwo(limb), r.what(), r.every())
}

// keysOf names the bars or drums that a hand strikes.
func keysOf(m *motion.Result, e *motion.Event, h body.Limb) string {
	var list []string
	for _, k := range m.Strikes(e, h) {
		if k.Pitch.None() && k.Name == "" {
			list = append(list, "number "+k.String())
		} else {
			list = append(list, k.String())
		}
	}
	return strings.Join(list, " and ")
}

// what is what is struck; a hand may shake what is in its palm in turn with it.
func (r *repetition) what() string {
	in := r.Place().Item().Inst
	if from := r.From.Item().Inst; r.Strokes == 2 && from != in {
		return fmt.Sprintf("the %s, in turn with the %s,", in.Name(), from.Name())
	}
	return "the " + in.Name()
}

// every says how quickly the strokes come.
func (r *repetition) every() string {
	switch {
	case r.Strokes > body.Few:
		return fmt.Sprintf("%d times in a row, every %s,", r.Strokes, short(r.Gap))
	case r.Grace > 0:
		return fmt.Sprintf("after %s, %s counted,", short(r.Gap), words.Count(r.Grace, "grace stroke", "grace strokes"))
	}
	return "every " + short(r.Gap)
}

// verdict says in which band they lie.
func (r *repetition) verdict() string {
	switch {
	case r.severity == Error && r.Strokes > body.Phrase:
		return "for so many the limit is " + short(r.Pace.Limit)
	case r.severity == Error && r.Strokes > body.Few:
		return "for more than a few the limit is " + short(r.Pace.Limit)
	case r.severity == Error:
		return "the limit is " + short(r.Pace.Limit)
	case !r.tight:
		return fmt.Sprintf("that is at the edge: %s is the fastest on average, at %.0f %% of this tempo", short(r.Pace.Floor), 100*r.Gap/r.Pace.Floor)
	}
	return fmt.Sprintf("%s is comfortable, at %.0f %% of this tempo", short(r.Pace.Steady), 100*r.Gap/r.Pace.Steady)
}

// oneOrTwo is the ending of what one limb does, and two in turn do.
func oneOrTwo(limb string) string {
	if strings.HasSuffix(limb, "in turn") {
		return ""
	}
	return "s"
}
