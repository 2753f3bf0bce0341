package plan

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A run is neighbouring passages of one line that one player plays alike.
type run struct {
	track    *track
	passages []*passage
	plays    plays
	option   *option
	left     bool  // the left hand begins what goes hand to hand
	hand     uint8 // of one that both hands share, the one that is being written
}

func (r *run) from() int { return r.passages[0].bar }
func (r *run) to() int   { return r.passages[len(r.passages)-1].bar }

// runs joins what one player plays alike, between the given bars.
func (p *piece) runs(all []plays, who int, from, to int) []run {
	var out []run
	lines := p.tracks
	if p.asFile {
		lines = p.lines
	}
	for _, t := range lines {
		open := false
		for _, q := range t.bars {
			pl := all[q.id]
			if q.track != t || int(pl.player) != who || q.bar < from || q.bar > to {
				open = false
				continue
			}
			o := &q.options[max(0, pl.option)]
			if last := len(out) - 1; open && out[last].option.manner == o.manner && out[last].plays.slots == pl.slots && p.sharedAlike(out[last].passages[0], out[last].option, q, o) && out[last].joint() == (len(q.unison) > 0) && !out[last].silentUntil(q.bar) {
				out[last].passages = append(out[last].passages, q)
				continue
			}
			out = append(out, run{track: t, passages: []*passage{q}, plays: pl, option: o})
			open = true
		}
	}
	return out
}

// sharedAlike says whether two passages are shared out between the hands at the same
// counts, or neither.
func (p *piece) sharedAlike(a *passage, oa *option, b *passage, ob *option) bool {
	if oa.split == nil || ob.split == nil {
		return oa.split == nil && ob.split == nil
	}
	return slices.Equal(p.countsOf(a, oa, right), p.countsOf(b, ob, right)) && slices.Equal(p.countsOf(a, oa, left), p.countsOf(b, ob, left))
}

// countsOf are those at which one hand plays a passage that both share.
func (p *piece) countsOf(q *passage, o *option, hand uint8) []string {
	var out []string
	for i := range q.strokes {
		if o.split[i] == hand && q.strokes[i].Sounds() {
			_, count := p.score.Grid.Place(q.strokes[i].At)
			out = append(out, count.String())
		}
	}
	return out
}

// joint says whether a run gives what several parts have in unison.
func (r *run) joint() bool { return len(r.passages[0].unison) > 0 }

// lines are those of which a run's cue gives everything in its bars.
func (r *run) lines() []*track {
	if r.joint() {
		return r.track.alike
	}
	return []*track{r.track}
}

// silentUntil says whether some line of a run has strokes between its end and a bar.
func (r *run) silentUntil(bar int) bool {
	return slices.ContainsFunc(r.lines(), func(t *track) bool { return t.silentBetween(r.to(), bar) })
}

// silentBetween says whether the line has strokes between two bars that are
// left out already.
func (t *track) silentBetween(from, to int) bool {
	i, _ := slices.BinarySearchFunc(t.strokes, from+1, func(s score.Stroke, bar int) int { return int(s.Bar) - bar })
	return i < len(t.strokes) && int(t.strokes[i].Bar) < to
}

// all says whether a run has everything that its lines have between two bars.
func (r *run) all(from, to int) bool {
	return !slices.ContainsFunc(r.lines(), func(t *track) bool { return !r.has(t, from, to) })
}

func (r *run) has(t *track, from, to int) bool {
	i, _ := slices.BinarySearchFunc(t.strokes, from, func(s score.Stroke, bar int) int { return int(s.Bar) - bar })
	k := 0
	for ; i < len(t.strokes) && int(t.strokes[i].Bar) <= to; i++ {
		bar := int(t.strokes[i].Bar)
		for k < len(r.passages) && r.passages[k].bar < bar {
			k++
		}
		if k >= len(r.passages) || r.passages[k].bar != bar {
			return false
		}
	}
	return true
}

// sections are the bars at which a page turns to something new: the marks,
// else none.
func (p *piece) sections() []int {
	out := []int{p.score.Grid.First()}
	for _, m := range p.score.Marks {
		if p.score.Grid.Has(m.Bar) {
			out = append(out, m.Bar)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func (p *piece) markAt(bar int) string {
	for _, m := range p.score.Marks {
		if m.Bar == bar {
			return m.Name
		}
	}
	return fmt.Sprint(bar)
}

// A written cue is a line of the text and what it stands for.
type writtenCue struct {
	text     string
	passages []*passage
}

// A chapter is the lines under one from.
type chapter struct {
	bar  int
	cues []writtenCue
}

// chapters writes one player's music; ranged without any from, so that every cue
// says its bars.
func (p *piece) chapters(all []plays, who int, leftFirst, ranged bool) []chapter {
	bounds := p.sections()
	if ranged {
		bounds = bounds[:1]
	}
	type part struct {
		from, to int
		runs     []run
	}
	var parts []part
	for i, from := range bounds {
		to := p.score.Grid.Last()
		if i+1 < len(bounds) {
			to = bounds[i+1] - 1
		}
		runs := p.runs(all, who, from, to)
		if len(runs) == 0 {
			continue
		}
		if n := len(parts) - 1; n >= 0 && p.goesOn(parts[n].runs, runs, parts[n].from, parts[n].to, from, to, all, who) {
			parts[n].to = to
			parts[n].runs = p.runs(all, who, parts[n].from, to)
			continue
		}
		parts = append(parts, part{from, to, runs})
	}
	var out []chapter
	for i, pt := range parts {
		until := p.score.Grid.Last()
		if i+1 < len(parts) {
			until = parts[i+1].from - 1
		}
		ch := chapter{bar: pt.from}
		slices.SortStableFunc(pt.runs, func(a, b run) int { return cmp.Compare(limbOrder(&a), limbOrder(&b)) })
		for k := range pt.runs {
			pt.runs[k].left = leftFirst
		}
		for _, alike := range together(pt.runs) {
			ch.cues = append(ch.cues, p.cuesOf(alike, pt.from, until, ranged)...)
		}
		out = append(out, ch)
	}
	return out
}

// mostNamed is how many stretches one line names, so that it can be read.
const mostNamed = 6

// together are runs that are played alike, as one cue says them: of a line, in one way and by the same
// hands.
func together(runs []run) (out [][]*run) {
	for i := range runs {
		r := &runs[i]
		k := slices.IndexFunc(out, func(o []*run) bool {
			a := o[0]
			return a.track == r.track && a.option.manner == r.option.manner && a.plays.slots == r.plays.slots && a.option.split == nil && r.option.split == nil && a.joint() == r.joint() && len(o) < mostNamed
		})
		if k < 0 {
			out = append(out, []*run{r})
			continue
		}
		out[k] = append(out[k], r)
	}
	return out
}

// cuesOf are the lines that say runs that are played alike: one, or one for each hand where both
// share the strokes.
func (p *piece) cuesOf(alike []*run, from, until int, ranged bool) (out []writtenCue) {
	var all []*passage
	for _, r := range alike {
		all = append(all, r.passages...)
	}
	if alike[0].option.split == nil {
		return []writtenCue{{p.cueText(alike, from, until, ranged), all}}
	}
	for _, hand := range [2]uint8{right, left} {
		alike[0].hand = hand
		out = append(out, writtenCue{p.cueText(alike, from, until, ranged), all})
	}
	return out
}

func limbOrder(r *run) int {
	return slices.Index([]body.Limb{body.Right, body.RightFirst, body.Together, body.Left, body.RightFoot, body.Mouth}, r.limb())
}

// goesOn says whether a section is the one before going on: the same lines, or
// some of them, played alike and throughout.
func (p *piece) goesOn(old, runs []run, from, to, next, end int, all []plays, who int) bool {
	for i := range runs {
		r := &runs[i]
		if !r.all(next, end) {
			return false
		}
		k := slices.IndexFunc(old, func(o run) bool { return o.track == r.track })
		if k < 0 || old[k].option.manner != r.option.manner || r.option.split != nil || old[k].option.split != nil || old[k].plays.slots != r.plays.slots || !old[k].all(from, to) {
			return false
		}
	}
	for i := range old { // none that somebody else has there
		if !old[i].all(from, to) {
			return false
		}
		for _, q := range old[i].track.bars {
			if q.bar >= next && q.bar <= end && int(all[q.id].player) != who {
				return false
			}
		}
	}
	return true
}

// limb is what the run is played with, in the notation's words.
func (r *run) limb() body.Limb {
	switch {
	case r.option.limb == body.Right && (r.plays.slots == left || r.hand == left):
		return body.Left
	case r.option.limb == body.RightFirst && r.left:
		return body.LeftFirst
	}
	return r.option.limb
}

func (p *piece) cueText(alike []*run, from, until int, ranged bool) string {
	r := alike[0]
	o := r.option
	cue := &syntax.Cue{Name: syntax.Word(o.name), AsWritten: &syntax.AsWritten{}}
	if o.mount != o.inst.Usual().Mount || r.mixed() {
		cue.Mount = &syntax.Mount{Text: o.mount.String()}
	}
	cue.With = o.with.ThingFor(o.limb)
	if o.name != r.track.name {
		cue.For = new(syntax.Word(r.track.name))
	}
	if ranged || !r.all(from, until) {
		for _, r := range alike {
			cue.AsWritten.In = append(cue.AsWritten.In, syntax.BarsBetween(r.from(), r.to()))
		}
	}
	if r.hand != 0 {
		for _, count := range p.countsOf(r.passages[0], r.option, r.hand) {
			cue.AsWritten.On = append(cue.AsWritten.On, syntax.Num{Text: count})
		}
	}
	if r.track.shared && !r.joint() {
		cue.AsWritten.Of = new(syntax.Quoted(r.track.part.Name))
	}
	return syntax.Print(&syntax.LimbLine{Limb: syntax.Word(r.limb().String()), Cue: cue})
}

// mixed says whether the kit has it fixed while it is held here.
func (r *run) mixed() bool { return r.option.mount == kit.Held }

// playerText writes one player's block, and says for its lines what they
// stand for.
func (p *piece) playerText(all []plays, who *person, set *setUp, stays keeping) (string, [][]*passage) {
	var lines []string
	var means [][]*passage
	add := func(text string, q []*passage) {
		lines = append(lines, text)
		means = append(means, q)
	}
	add(syntax.Print(&syntax.Player{Name: syntax.TitleOf(who.name)})+stays.opener, nil)
	for _, l := range stays.head {
		add("  "+l, nil)
	}
	for _, l := range kitOf(set, stays) {
		add(l, nil)
	}
	for i, ch := range p.chapters(all, who.at, who.who.LeadsLeft, stays.ranged) {
		if i > 0 || ch.bar != 1 && !stays.ranged {
			add("  "+syntax.Print(&syntax.From{Place: syntax.Atom{Text: p.markAt(ch.bar)}}), nil)
		}
		for _, c := range ch.cues {
			add("  "+c.text, c.passages)
		}
	}
	for _, l := range stays.tail {
		add("  "+l, nil)
	}
	return syntax.Formatted(strings.Join(lines, "\n") + "\n"), means
}

// kitOf are the lines of a player's kit; who plays nothing needs none.
func kitOf(set *setUp, stays keeping) []string {
	if len(set.things)+len(stays.kit)+len(stays.hardware) == 0 && stays.kitOpener == "" {
		return nil
	}
	out := []string{"  kit" + stays.kitOpener}
	for _, l := range stays.kit {
		out = append(out, "    "+l)
	}
	things := slices.Clone(set.things)
	slices.SortStableFunc(things, func(a, b *thing) int { return cmp.Compare(a.first, b.first) })
	for _, t := range things {
		if t.item == nil {
			out = append(out, "    "+t.text())
		}
	}
	for _, need := range stays.hardware {
		out = append(out, "    "+need)
	}
	if !slices.ContainsFunc(stays.kit, func(l string) bool { return strings.HasPrefix(l, "table") }) {
		out = append(out, "    "+syntax.Print(&syntax.Stand{Word: syntax.Word("table"), Spot: syntax.SpotAt("", set.table.Right, set.table.Ahead, 0)}))
	}
	return out
}

// hardwareFor is what a player's kit has to list besides instruments.
func (j *job) hardwareFor(all []plays, who *person) []string {
	var out []string
	for _, q := range j.passages {
		if int(all[q.id].player) == who.at {
			for _, need := range j.needs(all, q, who) {
				if !slices.Contains(out, need) {
					out = append(out, need)
				}
			}
		}
	}
	return out
}

func (t *thing) text() string {
	item := &syntax.Item{Name: syntax.Word(t.name), Mount: &syntax.Mount{Text: t.mount.String()}}
	if t.name != t.inst.ID {
		item.Is = new(syntax.Word(t.inst.ID))
	}
	if t.mount != kit.Held && t.mount != kit.OnBody {
		item.Spot, item.Facing = syntax.SpotAt("", t.at.Right, t.at.Ahead, 0), syntax.Facing(t.turn)
	}
	return syntax.Print(item)
}
