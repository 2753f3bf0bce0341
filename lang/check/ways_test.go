package check

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/handful/lang/kit"
)

// Every way of every instrument is played in a tiny piece that asks for it, with
// each of its implements, struck and rolled, while the other hand is free and
// while it is busy: it can be reached, and its cost is told.
func TestEveryWayIsReached(t *testing.T) {
	var never []string
	pieces, ways := 0, 0
	for _, in := range kit.Standard().Instruments() {
		for _, w := range in.Ways {
			ways++
			reached := false
			list := w.With
			if len(list) == 0 {
				list = []kit.Choice{{}}
			}
			for _, ch := range list {
				for _, roll := range []bool{false, true} {
					if roll && !w.Rolls {
						continue
					}
					for _, busy := range []bool{false, true} {
						text, ok := pieceFor(in, w, ch, roll, busy)
						if !ok {
							continue
						}
						pieces++
						if why := plays(text, w, roll); why == notItself {
							continue
						} else if why != "" {
							t.Errorf("%s, %s: %s\n%s", in.ID, kit.Standard().DescribeWay(w), why, text)
						} else {
							reached = true
						}
					}
				}
			}
			if !reached {
				never = append(never, in.ID+", "+kit.Standard().DescribeWay(w))
			}
		}
	}
	assert.Empty(t, never, "no piece plays these ways")
	t.Logf("%d ways in %d pieces", ways, pieces)
}

// pieceFor is a piece in which a way is asked for. It is not ok for what takes
// both hands, when one of them should be busy.
func pieceFor(in *kit.Instrument, w *kit.Way, ch kit.Choice, roll, busy bool) (string, bool) {
	limb := "R"
	both := w.Limb == kit.Hand && w.Hands == 2
	switch {
	case w.Limb == kit.Foot:
		limb = "RF"
	case w.Limb == kit.Mouth:
		limb = "mouth"
	case both && w.Fixed() && !roll:
		limb = "R+L"
	case both && w.Fixed():
		limb = "RL"
	}
	if busy && both {
		return "", false
	}
	ask := in.AskFor(w)
	if ask == (kit.Ask{}) && w.Costs != "" && w.Limb == kit.Hand && w.Hands == 1 {
		ask.OneHand = true
	}
	line := in.ID + " " + w.Mount.String() + " " + ask.String()
	if ch.Implement != "" {
		line += " with "
		if ch.Count == 2 {
			line += "2 "
		}
		line += ch.Implement
	}
	bars := "| mf 1 | 1"
	if roll {
		bars = "| mf 1~3 | 1~3"
	}
	if w.Softest > kit.MF || w.Loudest > 0 && w.Loudest < kit.MF {
		bars = strings.Replace(bars, "mf", max(w.Softest, min(w.Loudest, kit.MF)).String(), 1)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "tempo 20\nplayer Ida\n  %s %s %s\n", limb, line, bars)
	if w.Limb == kit.Foot && w.Hands == 2 {
		fmt.Fprintf(&b, "  LF %s | - | 3\n", line)
	}
	if w.Limb == kit.Hand && w.Feet == 0 && slices.ContainsFunc(in.Ways, func(o *kit.Way) bool { return o.Mount == w.Mount && o.Feet > 0 }) {
		b.WriteString("  RF bass-drum-pedal | 1 2 3 4 | 1 2 3 4\n  LF hi-hat | 1 2 3 4 | 1 2 3 4\n")
	}
	if busy {
		other := "woodblock"
		if in.ID == other {
			other = "cowbell"
		}
		fmt.Fprintf(&b, "  L %s clamped with snare-stick | 1 2 3 4 | 1 2 3 4\n", other)
	}
	return b.String(), true
}

// notItself is said of a stroke that another way of the same mount makes as well.
const notItself = "by another way"

// plays says what is wrong with a piece that should be playable in a way and
// tell its cost, or "".
func plays(text string, w *kit.Way, roll bool) string {
	r := checkText(text)
	told := w.Costs == ""
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Severity == Error {
			return f.Rule.Name + ": " + f.Message()
		}
		told = told || strings.Contains(f.Message(), w.Costs)
	}
	for _, ch := range r.Motions[0].Chosen {
		if ch.Cue.Where.Line != 2 || ch.Way != w {
			continue
		}
		if !told {
			return "its cost is not told"
		}
		return ""
	}
	for _, ch := range r.Motions[0].Chosen {
		if ch.Cue.Where.Line != 2 {
			continue
		}
		if !roll && w.Rolls && ch.Way.Mount == w.Mount {
			return notItself // a stroke of what is there for rolls needs no more than another way has
		}
		if ch.Cue.Where.Line == 2 {
			return "played instead: " + kit.Standard().DescribeWay(ch.Way)
		}
	}
	return "not played"
}
