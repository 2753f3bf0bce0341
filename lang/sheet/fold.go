package sheet

import (
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/body"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/score"
)

// periods are after how many bars what is folded comes again: one, two, or a
// phrase of four.
var periods = []int{1, 2, phrase}

const phrase = 4

// folded draws bars that are like the one, the two or the four before them once,
// and says how many more there are. A bar that differs in hand, thing, dynamics, what is
// held, words or road is always drawn.
func (v *part) folded(blocks []block, busy []bool) []block {
	broken, _ := v.breaks()
	alike := v.alike(busy)
	var out []block
	drawn := 0 // the first of the blocks from which on all are drawn
	for i := 0; i < len(blocks); {
		best, period := 0, 0
		for _, p := range periods {
			if p == phrase && i-p < drawn {
				continue // not all of the phrase stands there
			}
			n := v.likeBefore(blocks, i, p, broken, alike)
			if n -= n % p; n >= min(2*p, phrase) && n > best {
				best, period = n, p
			}
		}
		if best == 0 {
			out = append(out, blocks[i])
			i++
			continue
		}
		first, last := blocks[i], blocks[i+best-1]
		first.to, first.fold = last.to, period
		first.length = last.start.Add(last.length).Sub(first.start)
		first.padR = last.padR
		out = append(out, first)
		i += best
		drawn = i
	}
	return out
}

// likeBefore is how many blocks from one on are like those before them, so many
// earlier.
func (v *part) likeBefore(blocks []block, i, period int, broken []bool, alike func(b, model *block) bool) int {
	if i < period || slices.ContainsFunc(blocks[i-period+1:i+1], func(b block) bool { return broken[b.from] }) ||
		slices.ContainsFunc(blocks[i-period:i], func(b block) bool { return b.rest || b.cut || b.cue != nil && !b.lone || v.swells(&b) }) {
		return 0
	}
	hold, n := v.holdAtEnd(&blocks[i-1]), 0
	for i+n < len(blocks) {
		b := &blocks[i+n]
		if broken[b.from] || v.holdAtEnd(b) != hold || !alike(b, &blocks[i+n-period]) {
			break
		}
		n++
	}
	return n
}

// alike says of blocks whether the first is one plain bar in which nothing else
// is played than in the other.
func (v *part) alike(busy []bool) func(b, model *block) bool {
	bars := map[int]string{}
	print := func(b *block) string {
		text, ok := bars[b.from]
		if !ok {
			text = v.fingerprint(b)
			bars[b.from] = text
		}
		return text
	}
	return func(b, model *block) bool {
		return b.from == b.to && !b.rest && !b.cut && (b.lone || b.cue == nil && busy[b.from]) && v.steady(b) && print(b) == print(model)
	}
}

// fingerprint is everything that is played in a bar.
func (v *part) fingerprint(b *block) string {
	var w strings.Builder
	fmt.Fprintf(&w, "%s %s;", v.Grid.Meter(b.from), b.length)
	v.between(b.start, b.start.Add(b.length), func(st *struck, goesOn bool) {
		fmt.Fprintf(&w, "%s %s %p %d %d %d %d %d %d %s %t;", st.At.Sub(b.start), st.End.Sub(b.start), st.cue.Item, st.cue.Pass, st.limbs, st.Dyn, st.Flags, st.Grace, st.Stroke.Hand, st.keys, goesOn)
	})
	return w.String()
}

// steady says whether nothing happens in a bar but strokes: no word, dynamic,
// change, pause or stop.
func (v *part) steady(b *block) bool {
	end := b.start.Add(b.length)
	in := func(at beat.Rat) bool { return !at.Less(b.start) && at.Less(end) }
	return v.padded(b) &&
		!slices.ContainsFunc(v.in(b), func(st struck) bool { return len(st.marks) > 0 }) &&
		!slices.ContainsFunc(v.shiftsAbout(b.start, end), func(sh shift) bool { // one that began before makes no difference to a bar that it lasts through
			through := sh.from.Less(b.start) && !sh.at.Less(end)
			return !through && (b.start.Less(sh.at) && sh.from.Less(end) || in(sh.at) || in(sh.from))
		}) &&
		!slices.ContainsFunc(v.p.Actions, func(a *score.Action) bool { return in(a.At) }) &&
		!slices.ContainsFunc(v.Remarks, func(r score.Remark) bool { return v.reads(&r) && in(r.At) }) &&
		!slices.ContainsFunc(v.p.Cues, func(c *score.Cue) bool {
			for i, w := range c.Words {
				if in(w.At) && (i == 0 || !v.saysAgain(c.Words[i-1], w)) {
					return true
				}
			}
			return false
		}) &&
		!slices.ContainsFunc(v.tunes, func(r retune) bool { return in(r.at) }) &&
		!slices.ContainsFunc(v.Pauses, func(p score.Pause) bool { return in(p.At) }) &&
		!slices.ContainsFunc(v.knots, func(k clash) bool { return in(k.at) })
}

// saysAgain says whether a word only repeats the one before it, a bar or two
// before, as under a simile: it is said once, and again on each line.
func (v *part) saysAgain(before, w score.Word) bool {
	a, _ := v.Grid.Place(before.At)
	b, _ := v.Grid.Place(w.At)
	return before.Text == w.Text && b-a <= 2
}

// padded says whether no sign of the road map stands at a bar.
func (v *part) padded(b *block) bool {
	for _, list := range [][]score.Section{v.Repeats, v.Vamps} {
		for _, r := range list {
			if r.From == b.from || r.To == b.from {
				return false
			}
		}
	}
	return !slices.ContainsFunc(v.Endings, func(e score.Section) bool { return e.From <= b.from && b.from <= e.To })
}

// swells says whether what grows or falls begins in a bar, so that bars after it
// are not like it though they are written alike.
func (v *part) swells(b *block) bool {
	for _, st := range v.in(b) {
		if slices.ContainsFunc(st.marks, pinSign) {
			return true
		}
	}
	return false
}

// holdAtEnd is what both hands hold at the end of a bar.
func (v *part) holdAtEnd(b *block) string {
	t, ok := v.seconds(b.to, b.start.Add(b.length))
	if !ok {
		return ""
	}
	return gripWords(v.m.HoldsAt(body.Right, t-1e-6)) + "/" + gripWords(v.m.HoldsAt(body.Left, t-1e-6))
}

// foldNumbers is the bars to tick off: each, or the first of each two or four.
func (v *part) foldNumbers(b *block) string {
	var out []string
	for bar := b.from; bar <= b.to; bar += b.fold {
		out = append(out, v.OnPage(bar))
	}
	return strings.Join(out, "  ")
}
