package check

import (
	"cmp"
	"fmt"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// How many stand-ins are tried for one finding, and how many that hold are
// offered: each is a whole check of the piece, and whoever is offered ten
// reads none.
const (
	mostStandInsTried = 4
	mostStandIns      = 3
)

// A standIn is an instrument that somebody may play instead of another one.
type standIn struct {
	kit.Substitute
	name  string    // what it is called in the player's set-up
	mount kit.Mount // how the kit has it, if it does
	there bool      // a set-up or a gear block has it
	lacks bool      // the player's kit is written, and does not have it
}

// standInsFor lists what a player may play instead of an instrument: first
// what stands in the player's set-up, then what a gear block has, then what is
// taken to be there because nothing is said of it; and among those what is of
// the same family before what is not. What there is none of is not listed.
func (c *Context) standInsFor(p *score.Player, in *kit.Instrument) []standIn {
	var ranks [3][]standIn
	for _, s := range c.Score.Catalogue.StandIns(in) {
		st := standIn{Substitute: s, name: s.In.ID, lacks: p.HasKit}
		gear := c.Score.GearOf(s.In)
		rank := 2
		if gear != nil {
			rank, st.there = 1, true
		}
		for _, it := range p.Items {
			if it.Inst == s.In && (rank > 0 || it.Name == s.In.ID) {
				st.name, st.mount, st.there, st.lacks, rank = it.Name, it.Mount, true, p.HasKit && !it.Listed, 0
			}
		}
		if gear == nil || gear.Count > 0 {
			ranks[rank] = append(ranks[rank], st)
		}
	}
	for _, list := range ranks {
		slices.SortStableFunc(list, func(a, b standIn) int { return cmp.Compare(kinship(a.In, in), kinship(b.In, in)) })
	}
	return slices.Concat(ranks[:]...)
}

// kinship is 0 for what is of a family and 1 for what is not.
func kinship(a, b *kit.Instrument) int {
	if a.Family == b.Family {
		return 0
	}
	return 1
}

// title is what a fix that plays one instrument instead of another is called;
// way is set where the other is not played in its usual way.
func (s *standIn) title(doing string, way *kit.Way, p *score.Player) string {
	how, costs := "", s.Costs
	if way != nil {
		how = " " + way.Mount.String()
		if way.Costs != "" {
			costs += "; " + way.Costs
		}
	}
	title := fmt.Sprintf("%s on the %s%s instead (%s)", doing, s.In.Name(), how, costs)
	if s.lacks {
		title += fmt.Sprintf(", which %s's kit does not have yet", p.Name)
	}
	return title
}

// orStandIn offers to play cues on what may stand in for their instruments, with
// what that costs in sound.
func (f *Finding) orStandIn(cues ...*score.Cue) *Finding {
	for _, cue := range cues {
		f.orStandInAfter(nil, cue)
	}
	return f
}

// orStandInAfter is orStandIn where it is known what the hand holds when it
// comes to the cue: the stand-in is played with that if it can be.
func (f *Finding) orStandInAfter(ch *motion.Change, cue *score.Cue) *Finding {
	if cue != nil {
		f.instead = append(f.instead, func(f *Finding) { f.standIns(cue, ch) })
	}
	return f
}

func (f *Finding) standIns(cue *score.Cue, ch *motion.Change) {
	c := f.in
	if cue.Where.File != 0 {
		return
	}
	s, ok := c.File.Lines[cue.Where.Line].Stmt.(*syntax.LimbLine)
	if !ok || s.Cue == nil {
		return
	}
	written := cue.Item.Inst
	if cue.For != nil {
		written = cue.For
	}
	w := cue.Name
	w.End = int32(saidOf(s.Cue))
	list := slices.DeleteFunc(c.standInsFor(cue.Player, written), func(st standIn) bool { return st.In == cue.Item.Inst })
	for _, usual := range []bool{true, false} {
		for _, st := range list {
			var way *kit.Way // where it is not the usual one
			mount, on := st.mount, ""
			switch {
			case !usual:
				if way = oneHanded(st.In); way == nil || st.mount != kit.AnyMount || !cue.Limb.IsHand() {
					continue
				}
				mount = way.Mount
				on = " " + mount.String()
			case mount == kit.AnyMount:
				mount = st.In.Usual().Mount
			}
			f.standIn(&st, st.In.ID+" for "+cue.Voice, st.title("play the "+written.Name(), way, cue.Player),
				replace(w, st.name+on+st.with(mount, cue, ch)+" for "+cue.Voice))
		}
	}
}

// saidOf is where a cue's words end that say what is played, and how.
func saidOf(s *syntax.Cue) int {
	end := s.Name.Span().End
	if s.Mount != nil {
		end = max(end, s.Mount.Span().End)
	}
	if s.With != nil {
		end = max(end, s.With.Name.Span().End)
	}
	if s.For != nil {
		end = max(end, s.For.Span().End)
	}
	return end
}

// oneHanded is the first way in which one hand plays what is usually played
// with both, on another mount than the usual one.
func oneHanded(in *kit.Instrument) *kit.Way {
	usual := in.Usual()
	if usual.Limb != kit.Hand || usual.Hands < 2 {
		return nil
	}
	for _, w := range in.Ways {
		if w.Limb == kit.Hand && w.Hands == 1 && w.Mount != usual.Mount {
			return w
		}
	}
	return nil
}

// with names an implement for a cue that is played on the stand-in: what is in
// the hand already, or else what the cue names, if the stand-in is played with
// it.
func (s *standIn) with(mount kit.Mount, cue *score.Cue, ch *motion.Change) string {
	var with []kit.Choice
	if ch != nil && ch.Before.Implement != nil {
		with = append(with, kit.Choice{Implement: ch.Before.Implement.ID, Count: 1})
	}
	for _, choice := range append(with, cue.With...) {
		if choice.Butt = false; listsWith(s.In, mount, choice.Implement) {
			return " with " + syntax.Print(choice.ThingFor(cue.Limb))
		}
	}
	return ""
}

// orCoverOn offers a gap to every player on what may stand in for its
// instrument: what somebody has there already first, and then the nearest
// stand-in to each before the next nearest to any.
func (f *Finding) orCoverOn(g score.Gap, written *syntax.AsWritten) {
	c := f.in
	type offer struct {
		standIn
		p    *score.Player
		last int
	}
	var have []offer
	var others [][]offer // by how near the stand-in is
	for _, p := range c.Score.Players {
		last := c.lastLineOf(p)
		if last < 0 {
			continue
		}
		near := 0
		for _, st := range c.standInsFor(p, g.Line.Inst) {
			if p.Item(st.name) != nil {
				have = append(have, offer{st, p, last})
				continue
			}
			if near == len(others) {
				others = append(others, nil)
			}
			others[near] = append(others[near], offer{st, p, last})
			near++
		}
	}
	for _, o := range append(have, slices.Concat(others...)...) {
		for _, limb := range []body.Limb{body.Right, body.Left} {
			f.standIn(&o.standIn, "", o.title(fmt.Sprintf("give it to %s's %s,", o.p.Name, limb.Name()), nil, o.p),
				c.below(o.last, 1, &syntax.LimbLine{Limb: syntax.Word(limb.String()), Cue: &syntax.Cue{
					Name: syntax.Word(o.name), For: new(syntax.Word(g.Line.Name)), AsWritten: written}}))
		}
	}
}

// instead says whether a proposal plays something else.
func (p *proposal) instead() bool { return p.rank == byAnother || p.rank == byAbsent }

// standIn adds a fix that plays something else. It comes behind those that
// change nothing of the sound, and is proposed once; of those with the same
// what only the first that holds is offered.
func (f *Finding) standIn(st *standIn, what, title string, edits ...Edit) {
	rank := byAbsent
	if st.there {
		rank = byAnother
	}
	if !slices.ContainsFunc(f.proposals, func(p proposal) bool { return p.Title == title && slices.Equal(p.Edits, edits) }) {
		f.proposals = append(f.proposals, proposal{Fix: Fix{Title: title, Edits: edits, Judgement: true}, rank: rank, what: what})
	}
}

// standsIn says what a cue plays instead of what is written, and what it
// costs where the catalogue says it.
func (c *Context) standsIn(cue *score.Cue) string {
	said := fmt.Sprintf("the %s %s in for the %s", cue.Item.Called(), cue.Item.Inst.Verb("stands", "stand"), cue.For.Name())
	if costs, ok := c.Score.Catalogue.StandsIn(cue.Item.Inst, cue.For); ok {
		said += ": " + costs
	}
	return said
}
