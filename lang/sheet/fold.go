package sheet

import (
	"example.org/handful/lang/body"
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/score"
)

// folded draws bars that are like the one or the two before them once, and says
// how many more there are. A bar that differs in hand, thing, dynamics, what is
// held, words or road is always drawn.
func (v *part) folded(blocks []block, busy []bool) []block {
	broken := v.breaks()
	bars := map[int]string{}
	print := func(b *block) string {
		text, ok := bars[b.from]
		if !ok {
			text = v.fingerprint(b)
			bars[b.from] = text
		}
		return text
	}
	plain := func(b *block) bool {
		return b.from == b.to && !b.rest && !b.cut && b.cue == nil && busy[b.from] && v.steady(b)
	}
	var out []block
	for i := 0; i < len(blocks); {
		best, period := 0, 0
		for _, p := range []int{1, 2} {
			n := 0
			if i < p || slices.ContainsFunc(blocks[i-p:i], func(b block) bool { return b.rest || b.cut || b.cue != nil || v.swells(&b) }) {
				continue
			}
			for i+n < len(blocks) {
				b, model := &blocks[i+n], &blocks[i+n-p]
				if !plain(b) || broken[b.from] || v.holdAtEnd(&blocks[i-1]) != v.holdAtEnd(b) || print(b) != print(model) {
					break
				}
				n++
			}
			if broken[blocks[i].from] || p == 2 && broken[blocks[i-1].from] {
				n = 0
			}
			n -= n % p
			if n >= 2*p && n > best {
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
	}
	return out
}

// fingerprint is everything that is played in a bar.
func (v *part) fingerprint(b *block) string {
	var w strings.Builder
	fmt.Fprintf(&w, "%s %s;", v.Grid.Meter(b.from), b.length)
	v.between(b.start, b.start.Add(b.length), func(st *struck, goesOn bool) {
		fmt.Fprintf(&w, "%s %s %p %d %d %d %d %d %d %t;", st.At.Sub(b.start), st.End.Sub(b.start), st.cue.Item, st.cue.Pass, st.limbs, st.Dyn, st.Flags, st.Grace, st.Stroke.Hand, goesOn)
	})
	return w.String()
}

// steady says whether nothing happens in a bar but strokes: no word, dynamic,
// change, pause or stop.
func (v *part) steady(b *block) bool {
	end := b.start.Add(b.length)
	in := func(at beat.Rat) bool { return !at.Less(b.start) && at.Less(end) }
	for _, st := range v.in(b) {
		if len(st.marks) > 0 {
			return false
		}
	}
	for i := range v.shifts {
		sh := &v.shifts[i] // one that lasts all through the bar makes no difference to it
		if through := !b.start.Less(sh.from) && !sh.at.Less(end); !through && (b.start.Less(sh.at) && sh.from.Less(end) || in(sh.at) || in(sh.from)) {
			return false
		}
	}
	for _, a := range v.p.Actions {
		if in(a.At) {
			return false
		}
	}
	for _, r := range v.Remarks {
		if v.reads(&r) && in(r.At) {
			return false
		}
	}
	for _, c := range v.p.Cues {
		for _, w := range c.Words {
			if in(w.At) {
				return false
			}
		}
	}
	for _, p := range v.Pauses {
		if in(p.At) {
			return false
		}
	}
	for _, k := range v.clashes() {
		if in(k.at) {
			return false
		}
	}
	return v.padded(b)
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

// swells says whether a bar has a word for what grows or falls, so that bars
// after it are not like it though they are written alike.
func (v *part) swells(b *block) bool {
	for _, st := range v.in(b) {
		for _, m := range st.marks {
			if dynamicGlyphs[m] == "" {
				return true
			}
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

// foldNumbers is the bars to tick off: each, or the first of each two.
func foldNumbers(b *block) string {
	var out []string
	for bar := b.from; bar <= b.to; bar += b.fold {
		out = append(out, fmt.Sprint(bar))
	}
	return strings.Join(out, "  ")
}
