package check

import (
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// Or offers a way out that somebody has to weigh: it changes what is heard, or
// who does what. Only edits of the piece's own file can be made, and only what
// helps is shown: see proven.
func (f *Finding) Or(title string, edits ...Edit) *Finding { return f.propose(title, true, edits...) }

// Sure offers what needs nobody's judgement.
func (f *Finding) Sure(title string, edits ...Edit) *Finding {
	return f.propose(title, false, edits...)
}

// OrAccept offers to accept the finding; the reason is the arranger's to write.
func (f *Finding) OrAccept() *Finding { return f.orLater((*Finding).accept) }

func (f *Finding) propose(title string, judgement bool, edits ...Edit) *Finding {
	f.proposals = append(f.proposals, proposal{Fix: Fix{Title: title, Edits: edits, Judgement: judgement}})
	return f
}

// orLater offers what is only put into words when somebody asks.
func (f *Finding) orLater(offer func(*Finding)) *Finding {
	f.later = append(f.later, offer)
	return f
}

// lastly offers what is left where nothing else helps.
func (f *Finding) lastly(title string, edits ...Edit) {
	f.proposals = append(f.proposals, proposal{Fix: Fix{Title: title, Edits: edits, Judgement: true}, rank: lastResort})
}

// accept writes the acceptance of a finding to the end of the piece.
func (f *Finding) accept() {
	if accept := f.Acceptance(); accept != nil {
		accept.Reason = whySo()
		f.lastly("accept it, with your reason", f.in.atEnd(accept))
	}
}

func whySo() *syntax.Str { return new(syntax.Quoted(syntax.NoReasonYet)) }

// orNear offers each of the names that somebody may have meant. Where there is
// but one, it is the one thing in a text that can be mended without weighing
// anything.
func (f *Finding) orNear(named score.Where) {
	if named.File != 0 {
		return
	}
	for _, near := range f.Near {
		f.propose("write "+near, len(f.Near) > 1, replace(named, near))
	}
}

// orPlay offers other ways to play cues: with the other hand, on another mount,
// and on what stands in for the instrument.
func (f *Finding) orPlay(cues ...*score.Cue) *Finding {
	for _, cue := range cues {
		f.orPlayAfter(nil, cue)
	}
	return f
}

// orPlayAfter is orPlay where it is known what the hand holds when it comes to
// the cue.
func (f *Finding) orPlayAfter(ch *motion.Change, cue *score.Cue) *Finding {
	if cue == nil {
		return f
	}
	f.orOtherHand(cue)
	if ch != nil && ch.Before.Implement != nil {
		f.orPlayWith(ch.Before.Implement, cue)
	}
	seen := map[kit.Mount]bool{motion.Wanted(cue): true}
	for _, w := range cue.Item.Inst.Ways {
		if seen[w.Mount] || w.Limb != kit.Hand {
			continue
		}
		seen[w.Mount] = true
		title := fmt.Sprintf("play the %s %s", cue.Item.Called(), w.Mount)
		if w.Costs != "" {
			title += " (" + w.Costs + ")"
		}
		f.Or(title, mountEdit(cue, w.Mount))
	}
	return f.orStandInAfter(ch, cue)
}

// orPlayWith offers to play a cue with what is in the hand, if the instrument
// is played with that at all.
func (f *Finding) orPlayWith(held *kit.Implement, cue *score.Cue) {
	if len(cue.With) > 0 && cue.With[0].Implement == held.ID {
		return
	}
	in := cue.Item.Inst
	if slices.ContainsFunc(in.Ways, func(w *kit.Way) bool { return w.Lists(held.ID) }) {
		f.Or(fmt.Sprintf("play the %s with the %s that is in the hand already", in.Name(), held.Name()), withEdit(cue, held.ID))
	}
}

func (f *Finding) orOtherHand(cue *score.Cue) {
	if cue.Limb.IsHand() {
		other := cue.Limb.Other()
		f.Or("play the "+cue.Item.Called()+" with the "+other.Name(), limbEdit(cue, other))
	}
}

// orHandToHand offers to share a cue of one hand between the two.
func (f *Finding) orHandToHand(cue *score.Cue) *Finding {
	switch cue.Limb {
	case body.Right, body.AnyHand:
		f.Or("play it hand to hand", limbEdit(cue, body.RightFirst))
	case body.Left:
		f.Or("play it hand to hand", limbEdit(cue, body.LeftFirst))
	}
	return f
}

// orThisHand offers the one hand that somebody has, on a line that begins with
// a limb.
func (f *Finding) orThisHand(line score.Where, who *score.Person) {
	only := body.Right
	switch who.Hands() {
	case body.R:
	case body.L:
		only = body.Left
	default:
		return
	}
	if s, ok := f.in.File.Lines[line.Line].Stmt.(*syntax.LimbLine); ok && line.File == 0 {
		at := s.Limb.Span()
		f.Or("with the "+only.Name(), Edit{Line: int(line.Line), Start: at.Start, End: at.End, Text: only.String()})
	}
}

// orSomebodyElse offers to give a cue that takes its strokes from the parts to
// each of the others.
func (f *Finding) orSomebodyElse(cue *score.Cue) *Finding {
	c := f.in
	if !cue.AsWritten || cue.Pass != 0 || cue.Where.File != 0 || cue.To < cue.From {
		return f
	}
	l := c.File.Lines[cue.Where.Line]
	s, ok := l.Stmt.(*syntax.LimbLine)
	if !ok || len(l.Problems) > 0 || s.Cue == nil || s.Cue.AsWritten == nil {
		return f
	}
	same, said, written := *s, *s.Cue, *s.Cue.AsWritten
	same.Cue, said.AsWritten = &said, &written
	if written.In == nil {
		written.In = []syntax.Atom{syntax.BarsBetween(cue.From, cue.To)}
	}
	for _, p := range c.Score.Players {
		if last := c.lastLineOf(p); p != cue.Player && last >= 0 {
			f.Or("give it to "+p.Name, remove(cue.Where), c.below(last, 1, &same))
		}
	}
	return f
}

// orAlone offers to have nothing beside what plays in the hand.
func (f *Finding) orAlone(cue *score.Cue) *Finding {
	if cue != nil && cue.Beside != nil {
		w := cue.AndWhere
		w.Start = cue.WithWhere.End
		f.Or("have nothing but the "+f.in.Score.Catalogue.Implement(cue.With[0].Implement).Name()+" in the hand", replace(w, ""))
	}
	return f
}

// orOneHandRoll offers the instrument's one-hand rolls.
func (f *Finding) orOneHandRoll(e *motion.Event) *Finding {
	cue := e.Cue
	if cue == nil || cue.Limb.TwoHands() {
		return f
	}
	for _, w := range cue.Item.Inst.Ways {
		if !w.Rolls || w.Hands != 1 || w.Limb != kit.Hand || w.Mount != motion.Wanted(cue) || len(w.With) == 0 {
			continue
		}
		words := w.With[0].Implement
		if w.With[0].Count == 2 {
			words = "2 " + words + "s"
		}
		edit := withEdit(cue, words)
		if f.in.namesTwo(cue) {
			edit.Start -= len("2 ")
		}
		f.Or(fmt.Sprintf("roll on the %s with one hand, %s", cue.Item.Called(), words), edit)
	}
	return f
}

// namesTwo says whether a 2, or a 4, stands before the implement that a cue names.
func (c *Context) namesTwo(cue *score.Cue) bool {
	w := cue.WithWhere
	if len(cue.With) == 0 || w.Start < 2 {
		return false
	}
	said := c.File.Lines[w.Line].Text[w.Start-2 : w.Start]
	return said == "2 " || said == "4 "
}

// orChange offers what may help a change that does not fit: the other hand, the
// implement that is in the hand already, another way of playing, and in the end
// to accept it.
func (f *Finding) orChange(g *changeGroup) {
	f.orLater(func(f *Finding) {
		cue := g.To.Cue
		f.orPlayAfter(g.Change, cue)
		if g.From != nil {
			f.orLetGo(g.From, g.To, g.Need.Steady)
		}
		if g.From != nil && g.From.Cue != nil && g.From.Cue != cue {
			f.orOtherHand(g.From.Cue)
			f.orStandIn(g.From.Cue)
		}
		f.orEarlier(g)
		f.orOtherStop(g.To)
		f.orBothMallets(g.Change)
		f.orInFingers(g)
		f.orNearerTable(g)
		f.accept()
	})
}

// orEarlier offers to drop a set place for taking or laying, so that the change
// may begin as soon as the hand is free.
func (f *Finding) orEarlier(g *changeGroup) {
	for _, a := range g.player.Player.Actions {
		if a.Kind != score.Take && a.Kind != score.Lay || a.Limb != g.Hand || g.To.At().Less(a.At) || g.From != nil && a.At.Less(g.From.At()) {
			continue
		}
		f.Or(fmt.Sprintf("%s it earlier: as soon as the hand is free, not at %s", takeOrLay(a), f.in.Score.Place(a.At)), remove(a.Where))
	}
}

// releaseTime is what to leave between a roll and what comes after it where it
// is not known what that takes, in seconds: modelled.
const releaseTime = 0.5

// orLetGo offers to let go of a written roll early enough for what comes after
// it, so that the change has its time at a steady pace.
func (f *Finding) orLetGo(roll, next *motion.Event, need float64) *Finding {
	w := roll.Where()
	if roll.Kind != motion.RollOn || roll.Cue == nil || roll.Cue.AsWritten || w.File != 0 {
		return f
	}
	token := f.in.File.Lines[w.Line].Text[w.Start:w.End]
	tilde := strings.IndexByte(token, '~')
	if tilde <= 0 || tilde == len(token)-1 {
		return f // it goes on over the bar line
	}
	st := &roll.Cue.Strokes[roll.Stroke]
	lasts := st.End.Sub(st.At).Float()
	grid := f.in.Score.Grid
	for k := 2 * grid.Meter(int(st.Bar)).Counts(); k > 1; k-- { // every half count, from the end
		count := beat.Count{Beat: (k + 1) / 2}
		if k%2 == 0 {
			count.Frac = beat.R(1, 2)
		}
		at, ok := grid.At(int(st.Bar), count)
		if !ok || !st.At.Less(at) || !at.Less(st.End) {
			continue
		}
		ends := roll.T0 + at.Sub(st.At).Float()/lasts*(roll.T1-roll.T0)
		if next.T0-ends < need-1e-6 {
			continue
		}
		w.Start += int32(tilde) + 1
		return f.Or(fmt.Sprintf("let go of the roll on the %s early, at %s", roll.Item().Called(), f.in.Score.Place(at)), replace(w, count.String()))
	}
	return f
}

// orOtherStop offers the other hand for a stop that a line gives to one.
func (f *Finding) orOtherStop(stop *motion.Event) {
	if !stop.Kind.Stops() || stop.Action == nil || stop.Action.Where.File != 0 {
		return
	}
	w, other := stop.Action.Where, body.Left
	if stop.Action.Limb == body.Left {
		other = body.Right
	}
	w.End = w.Start + 1
	f.Or("let the other hand stop it", replace(w, other.String()))
}

// orBothMallets offers to keep a pair of mallets in a hand that lays one of
// them, or takes a second one.
func (f *Finding) orBothMallets(ch *motion.Change) {
	from, to := ch.Before, ch.After
	if from.Implement == nil || from.Implement != to.Implement || from.Count == to.Count {
		return
	}
	cue := ch.To.Cue
	if from.Count < to.Count {
		if ch.From == nil {
			return
		}
		cue = ch.From.Cue
	}
	if cue != nil {
		f.Or("keep both mallets in the hand", withEdit(cue, syntax.Print(kit.Choice{Implement: from.Implement.ID, Count: 2}.ThingFor(cue.Limb))))
	}
}

// orInFingers offers to have both things in the hand that it would lay and
// take: the one that it lays stays beside the other, or the one that it takes is
// there already.
func (f *Finding) orInFingers(g *changeGroup) {
	laid, taken := g.Laid().Implement, g.Taken().Implement
	if !g.Takes || laid == nil || taken == nil || laid == taken || g.From == nil || laid.AloneBecause()+taken.AloneBecause() != "" {
		return
	}
	offer := func(cue *score.Cue, plays, stays *kit.Implement, title string) {
		if cue == nil || cue.Beside != nil || cue.Where.File != 0 || !cue.Limb.IsHand() && cue.Limb != body.AnyHand || len(cue.With) > 0 && cue.With[0].Count != 1 {
			return
		}
		f.Or(title, withEdit(cue, plays.ID+" and "+stays.ID))
	}
	offer(g.To.Cue, taken, laid, "keep the "+laid.Name()+" in the fingers")
	title := fmt.Sprintf("take the %s up together with the %s", taken.Name(), laid.Name())
	for _, sp := range g.player.Spells[g.Hand] {
		if sp.From < g.From.T0 && sp.Grip.Of(taken) > 0 && sp.Grip.Of(laid) == 0 {
			title = "keep the " + taken.Name() + " in the fingers"
		}
	}
	offer(g.From.Cue, laid, taken, title)
}

// orNearerTable offers a table nearer to what a change is for. Beside an
// instrument there is room for one at this distance, in cm: modelled.
func (f *Finding) orNearerTable(g *changeGroup) {
	it, p := g.To.Item(), g.player.Player
	if !g.Takes && !g.Lays || it == nil || !it.Placed || it.Station != 0 {
		return
	}
	const beside = 45
	for _, t := range p.Tables {
		if t.Assumed || t.Station != 0 || t.Where.File != 0 || t.Spot == (score.Where{}) {
			continue
		}
		for _, side := range []float64{beside, -beside} {
			f.Or("move the table nearer to the "+it.Called(), replace(t.Spot, syntax.Print(syntax.SpotAt("", it.At.Right+side, it.At.Ahead, 0))))
		}
		return
	}
}
