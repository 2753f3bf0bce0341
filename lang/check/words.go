package check

import (
	"fmt"
	"math"
	"math/bits"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/words"
)

// seconds writes a time for a message.
func seconds(s float64) string { return words.Seconds(s) }

// short is a time from stroke to stroke, where a hundredth is too coarse.
func short(s float64) string {
	if s < 1 {
		return fmt.Sprintf("%.3f s", s)
	}
	return seconds(s)
}

// plural counts things: 1 stroke, 2 strokes.
func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// times says how many more places are like one.
func times(s *score.Score, n, bar, lastBar int) string {
	often := "once more"
	if n > 1 {
		often = fmt.Sprintf("%d times more", n)
	}
	switch {
	case n == 0:
		return ""
	case lastBar <= bar:
		return " (and " + often + " in this bar)"
	case n == 1:
		return fmt.Sprintf(" (and once more, in bar %d%s)", lastBar, s.InPrint(lastBar))
	}
	return fmt.Sprintf(" (and %s, to bar %d%s)", often, lastBar, s.InPrint(lastBar))
}

// barsFromTo names a stretch of bars: bar 3, or bars 3 to 5.
func barsFromTo(s *score.Score, from, to int32) string {
	if to > from {
		return fmt.Sprintf("bars %d to %d%s", from, to, s.StretchInPrint(int(from), int(to)))
	}
	return fmt.Sprintf("bar %d%s", from, s.InPrint(int(from)))
}

// barList names bars: bars 3, 9 and 12.
func barList(s *score.Score, bars []int) string {
	const most = 12
	if len(bars) == 1 {
		return fmt.Sprintf("bar %d%s", bars[0], s.InPrint(bars[0]))
	}
	var list []string
	for _, b := range bars[:min(len(bars), most)] {
		list = append(list, fmt.Sprint(b))
	}
	if len(bars) > most {
		return fmt.Sprintf("bars %s and on to %d", strings.Join(list, ", "), bars[len(bars)-1])
	}
	return "bars " + allOf(list)
}

// passWords lists passes: 2, 3 and 4.
func passWords(mask uint64) string {
	var list []string
	for m := mask; m != 0; m &= m - 1 {
		list = append(list, fmt.Sprint(bits.TrailingZeros64(m)+1))
	}
	return allOf(list)
}

func onPassWords(on uint64) string {
	if bits.OnesCount64(on) == 1 {
		return "on pass " + passWords(on)
	}
	return "on passes " + passWords(on)
}

// passBits has the bit of a pass, or those of all.
func passBits(pass int) uint64 {
	if pass == 0 {
		return math.MaxUint64
	}
	return 1 << (min(pass, 64) - 1)
}

// allOf lists all of some: 2, 3 and 4.
func allOf(list []string) string {
	last := len(list) - 1
	if last == 0 {
		return list[0]
	}
	return strings.Join(list[:last], ", ") + " and " + list[last]
}

// list names the first of some things.
func list(names []string) string {
	const most = 8
	if len(names) > most {
		return strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", len(names)-most)
	}
	return strings.Join(names, ", ")
}

// limbOf names the limb of a conflict; where none is told apart it is a matter
// of both hands.
func limbOf(limbs body.Limbs) string {
	if limbs.Count() == 0 {
		return body.Together.Name()
	}
	return limbs.First().Name()
}

// limbsInTurn names one limb, or two in turn.
func limbsInTurn(limbs body.Limbs) string {
	switch limbs {
	case body.Hands:
		return "hands in turn"
	case body.Feet:
		return "feet in turn"
	}
	return limbs.First().Name()
}

// verdictOf says what a need has to do with the band that it falls into.
func verdictOf(need body.Pace, band motion.Band) string {
	switch band {
	case motion.Missing:
		return "needs at least " + seconds(need.Limit)
	case motion.AtEdge:
		return fmt.Sprintf("is at the edge: people take %s at their fastest, and nobody does it under %s", seconds(need.Floor), seconds(need.Limit))
	}
	return fmt.Sprintf("is tight: %s at an easy pace, %s at the fastest", seconds(need.Steady), seconds(need.Floor))
}

// Doing says what a change is, in a player's words.
func Doing(ch *motion.Change) string {
	if ch.Retunes != nil {
		return fmt.Sprintf("tune %d to %s", ch.Retunes.Kettle, ch.Retunes.To)
	}
	var parts []string
	if laid := ch.Laid().Words(); ch.Lays && laid != "nothing" {
		parts = append(parts, "lay "+laid)
	}
	if ch.Walks {
		parts = append(parts, "get over there")
	}
	if ch.Takes {
		parts = append(parts, "take "+ch.Taken().Words())
	}
	switch {
	case ch.To.Kind.Stops():
		parts = append(parts, "damp the "+ch.To.Item().Called())
	case ch.To.Kind == motion.PageTurn:
		parts = append(parts, "turn the page")
	case len(parts) == 0:
		parts = append(parts, "get "+destination(ch.To))
	}
	return strings.Join(parts, ", ")
}

// Spare says how much time is left over for a change, at the steady pace or below
// it: on sheets, in hovers and lenses alike.
func Spare(ch *motion.Change) string {
	switch {
	case ch.Short():
		return seconds(ch.Need.Limit-ch.Window) + " too little"
	case ch.AtEdge():
		return seconds(ch.Need.Floor-ch.Window) + " below the fastest, at the edge"
	case ch.Tight():
		return seconds(ch.Window-ch.Need.Floor) + " above the fastest"
	}
	return seconds(ch.Spare()) + " to spare"
}

// FirstTuning says what each kettle is tuned to before the beginning, or "".
func FirstTuning(t *motion.Tuning) string {
	var out []string
	for i, p := range t.First {
		if !p.None() {
			out = append(out, fmt.Sprintf("%d to %s", i+1, p))
		}
	}
	return strings.Join(out, ", ")
}

// destination says where a change goes.
func destination(e *motion.Event) string {
	switch {
	case e.Kind == motion.PageTurn:
		return "to the page"
	case e.Item() == nil:
		return "to what follows"
	}
	return "to the " + e.Item().Called()
}

// lettingGo says that a roll before a change has to end early.
func lettingGo(ch *motion.Change) string {
	if ch.LetGo < 0.005 {
		return ""
	}
	return fmt.Sprintf(", letting go of the roll %s early", seconds(ch.LetGo))
}

// toDo says what an event asks of somebody.
func toDo(e *motion.Event) string {
	switch e.Kind {
	case motion.PageTurn:
		return "turn the page"
	case motion.Set:
		return setWords(e.Action, "take ", "lay down ")
	case motion.Stop, motion.Choke:
		return "damp the " + e.Item().Called()
	case motion.RollOn:
		return "roll on the " + e.Item().Called()
	}
	return "play the " + e.Item().Called()
}

// busyWith says what somebody is busy with at an event.
func busyWith(e *motion.Event) string {
	switch e.Kind {
	case motion.PageTurn:
		return "the page"
	case motion.RollOn:
		return "the roll on the " + e.Item().Called()
	case motion.Set:
		return setWords(e.Action, "taking ", "laying down ")
	}
	return "the " + e.Item().Called()
}

// setWords is what a take or a lay at a set place is.
func setWords(a *score.Action, take, lay string) string {
	verb := lay
	if a.Kind == score.Take {
		verb = take
	}
	switch {
	case a.Item != nil && a.Implement != nil:
		return verb + "the " + a.Implement.Name() + " and the " + a.Item.Inst.Name()
	case a.Item != nil:
		return verb + "the " + a.Item.Inst.Name()
	case a.Beside != nil:
		return verb + "the " + a.Implement.Name() + " and the " + a.Beside.Name()
	case a.Implement != nil && a.Count == 2:
		return verb + "two " + a.Implement.Name() + "s"
	case a.Implement != nil:
		return verb + "the " + a.Implement.Name()
	}
	return verb + "what it holds"
}

// takeOrLay is the verb of a take or a lay at a set place.
func takeOrLay(a *score.Action) string {
	if a.Kind == score.Take {
		return "take"
	}
	return "lay"
}

// howPlayed says how a cue's instrument is fixed, or held in one hand.
func howPlayed(ch *motion.Chosen) string {
	if ch.Way.Mount == kit.Held && ch.Way.Hands == 1 {
		return "in one hand"
	}
	return ch.Way.Mount.String()
}

// nameOfVoice is what a cue covers of the parts.
func nameOfVoice(cue *score.Cue) string {
	if cue.For != nil {
		return cue.For.Name()
	}
	return cue.Item.Called()
}
