package check

import (
	"fmt"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

var cannotOrNever = &Rule{
	Name:       "cannot-or-never",
	Severities: []Severity{Error},
	Finds:      "a person who is asked for what they cannot or never do",
	Means: `The player's block says which hands there are for playing, that somebody is seated, that a grip, a one-hand roll or
the forearm is not theirs, or what they never play; and a cue, a change or the set-up asks for just that. A roll or a
held instrument takes both hands though its cue names one.`,
	Why:    `People know what they can do. What they are asked against that is not played, or is played with pain.`,
	Stands: `What the player's block says. What it does not say is taken to be as anybody's.`,
	Trips: `tempo 96
player Ida
  hands R
  RL snare-drum with snare-stick | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  hands R
  R snare-drum with snare-stick | 1 2 3 4
`,
	check: func(c *Context) {
		for _, m := range c.Motions {
			for _, a := range c.refusals(m) {
				if a.placed && c.weighed(m.Player.Name, a.at) {
					continue
				}
				f := Finding{Severity: Error, Where: a.where, Player: m.Player.Name, Limb: a.limb,
					Message: a.words + times(a.more, a.bar, a.lastBar), Times: a.more, LastBar: a.lastBar}
				if a.placed {
					f.place(c.Score, a.at)
				}
				if a.said != a.where {
					f.Related = append(f.Related, note(a.said, "it is said here"))
				}
				got := c.report(f)
				if a.fixes != nil {
					got.later = append(got.later, func(f *Finding) { a.fixes(c, f) })
				}
				c.proposeAccept(got)
			}
		}
	},
}

// A refusal is something that a person is asked for and cannot or never does.
type refusal struct {
	words   string
	where   score.Where
	said    score.Where // where the player's block says so
	at      beat.Rat
	bar     int
	placed  bool
	limb    string
	more    int // places like this one
	lastBar int
	fixes   func(*Context, *Finding)
}

// refusals are what a player is asked for and cannot or never does, alike ones
// together, the earliest first within each kind.
func (r *Result) refusals(m *motion.Result) []refusal {
	p := m.Player
	if score.SamePerson(&p.Person, &score.Person{}) {
		return nil
	}
	l := refusing{Result: r, m: m, p: p, who: &p.Person, seen: map[any]int{}}
	if l.who.Without != 0 {
		l.hands()
	}
	if l.who.OneHandRoll == score.Cannot || l.who.FourMallets == score.Cannot {
		l.grips()
	}
	if l.who.ForearmDamps == score.Cannot {
		l.forearms()
	}
	if len(l.who.Never) > 0 {
		l.nevers()
	}
	if l.who.Seated {
		l.seated()
	}
	return l.list
}

type refusing struct {
	*Result
	m    *motion.Result
	p    *score.Player
	who  *score.Person
	list []refusal
	seen map[any]int // what was refused already, by what makes it alike
}

// add refuses something, or counts one more of what was refused already.
func (l *refusing) add(key any, a refusal) {
	if i, ok := l.seen[key]; ok {
		if was := &l.list[i]; a.at != was.at {
			was.more++
			was.lastBar = max(was.lastBar, a.bar)
		}
		return
	}
	l.seen[key] = len(l.list)
	a.lastBar = a.bar
	l.list = append(l.list, a)
}

// event is a refusal of an event.
func (l *refusing) event(e *motion.Event, said score.Where, limb body.Limbs, format string, args ...any) refusal {
	return refusal{words: fmt.Sprintf(format, args...), where: e.Where(), said: said, at: e.At(), bar: e.Bar(), placed: true, limb: limbOf(limb)}
}

// hands refuses what needs a hand that is not there.
func (l *refusing) hands() {
	said, has := l.p.WhereHands(), l.p.Name+" has "+l.who.HandsWords()
	told := map[*score.Cue]bool{}
	for i := range l.m.Events {
		e := &l.m.Events[i]
		lacks := e.Limbs & l.who.Without
		if lacks == 0 {
			continue
		}
		switch {
		case e.Kind == motion.PageTurn:
			l.add(e.Action, l.event(e, said, lacks, "%s for playing, and the %s is to turn the page", has, limbOf(lacks)).
				fixed(func(c *Context, f *Finding) { c.otherLimb(f, e.Action.Where, l.who) }))
		case e.Action != nil:
			l.add(e.Action, l.event(e, said, lacks, "%s for playing, and the %s is to damp the %s", has, limbOf(lacks), e.Item().Inst.Name()).
				fixed(func(c *Context, f *Finding) { c.otherLimb(f, e.Action.Where, l.who) }))
		default:
			told[e.Cue] = true
			how := "with the " + limbOf(lacks)
			switch e.Cue.Limb {
			case body.Together:
				how = "with both hands"
			case body.RightFirst, body.LeftFirst:
				how = "hand to hand"
			}
			l.add(e.Cue, l.event(e, said, lacks, "%s for playing, and the %s is played %s here", has, e.Item().Inst.Name(), how).
				fixed(func(c *Context, f *Finding) {
					c.otherLimb(f, e.Cue.Where, l.who)
					c.proposeOthers(f, e.Cue)
				}))
		}
	}
	for i := range l.m.Chosen {
		ch := &l.m.Chosen[i]
		e := ch.First
		switch {
		case told[ch.Cue] || ch.Way == nil:
			continue
		case !motion.TakesBoth(e.Limbs, ch.Way, ch.Rolled):
			continue
		case ch.Way.Mount == kit.Held && len(ch.Way.With) > 0:
			l.add(ch.Cue, l.event(e, said, e.Limbs, "%s for playing, and one hand holds the %s while the other strikes it", has, e.Item().Inst.Name()))
		case ch.Rolled:
			l.add(ch.Cue, l.event(e, said, e.Limbs, "%s for playing, and the roll on the %s takes two", has, e.Item().Inst.Name()))
		default:
			l.add(ch.Cue, l.event(e, said, e.Limbs, "%s for playing, and to play the %s takes two", has, e.Item().Inst.Name()))
		}
		l.list[l.seen[ch.Cue]].fixes = func(c *Context, f *Finding) {
			c.proposeForCue(f, ch.Cue, nil)
			c.proposeOthers(f, ch.Cue)
		}
	}
	for _, cue := range l.p.Cues {
		if cue.Limb == body.Mouth && l.who.Hands() == 0 && len(cue.Strokes) > 0 && handAtMouth(cue) {
			st := &cue.Strokes[0]
			l.add(cue, refusal{words: fmt.Sprintf("%s for playing, and one has to hold the %s to the mouth", has, cue.Item.Inst.Name()), where: cue.Name, said: said,
				at: st.At, bar: int(st.Bar), placed: true, limb: cue.Limb.Name(), fixes: func(c *Context, f *Finding) { c.proposeForCue(f, cue, nil) }})
		}
	}
	for h, hold := range l.p.Holds {
		if hand := body.Limb(h); l.who.Without&(1<<h) != 0 && (hold.Implement != nil || hold.Inst != nil) {
			l.add(hold, refusal{words: fmt.Sprintf("%s for playing, and the %s is to hold something at the start", has, hand.Name()),
				where: hold.Where, said: said, limb: hand.Name(), fixes: func(c *Context, f *Finding) { c.otherLimb(f, hold.Where, l.who) }})
		}
	}
	for _, a := range l.p.Actions {
		if (a.Kind == score.Take || a.Kind == score.Lay) && a.Limb.IsHand() && l.who.Without&(1<<a.Limb) != 0 {
			verb := map[score.ActionKind]string{score.Take: "take", score.Lay: "lay"}[a.Kind]
			l.add(a, refusal{words: fmt.Sprintf("%s for playing, and the %s is to %s something", has, a.Limb.Name(), verb), where: a.Where, said: said,
				at: a.At, bar: a.Bar, placed: true, limb: a.Limb.Name(), fixes: func(c *Context, f *Finding) { c.otherLimb(f, a.Where, l.who) }})
		}
	}
}

// handAtMouth says whether what is blown is held there by a hand, in every way
// of playing it that its mount leaves.
func handAtMouth(cue *score.Cue) bool {
	held := false
	for _, w := range cue.Item.Inst.Ways {
		if w.Limb == kit.Mouth && w.Mount == motion.Wanted(cue) {
			if w.Hands == 0 {
				return false
			}
			held = true
		}
	}
	return held
}

func (a refusal) fixed(fixes func(*Context, *Finding)) refusal {
	a.fixes = fixes
	return a
}

// grips refuses one-hand rolls and two mallets in a hand.
func (l *refusing) grips() {
	type alike struct {
		in   *kit.Instrument
		what string
	}
	for i := range l.m.Chosen {
		ch := &l.m.Chosen[i]
		if ch.Way == nil {
			continue
		}
		e, in := ch.First, ch.Cue.Item.Inst
		fixes := func(c *Context, f *Finding) {
			if len(ch.Cue.With) > 0 && ch.Cue.With[0].Count == 2 {
				w := ch.Cue.WithWhere
				if text := c.File.Lines[w.Line].Text; w.Start >= 2 && text[w.Start-2:w.Start] == "2 " {
					f.propose("one "+ch.Cue.With[0].Implement+" in the hand", true, Edit{Line: int(w.Line), Start: int(w.Start) - 2, End: int(w.End), Text: ch.Cue.With[0].Implement})
				}
			}
			c.proposeAlone(f, ch.Cue)
			if ch.Cue.Limb.IsHand() && ch.Rolled {
				f.propose("roll on the "+in.Name()+" hand to hand", true, limbEdit(ch.Cue, body.RightFirst))
			}
			c.proposeOthers(f, ch.Cue)
			c.proposeStandIns(f, ch.Cue, nil)
		}
		switch {
		case (ch.Choice.Count == 2 || ch.Cue.Beside != nil) && l.who.FourMallets == score.Cannot:
			l.add(alike{in, "mallets"}, l.event(e, l.p.WhereMallets(), e.Limbs&body.Hands, "%s does not have two mallets in a hand, and the %s is played so here", l.p.Name, in.Name()).fixed(fixes))
		case l.who.OneHandRoll == score.Cannot && motion.OneHandRoll(e.Limbs, ch.Way, ch.Rolled):
			l.add(alike{in, "rolls"}, l.event(e, l.p.WhereRolls(), e.Limbs&body.Hands, "%s does not roll one-handed, and the %s is rolled so here", l.p.Name, in.Name()).fixed(fixes))
		}
	}
}

// forearms refuses what is to be stopped with the forearm.
func (l *refusing) forearms() {
	for _, a := range l.p.Actions {
		if a.Kind != score.Damp || a.By != "forearm" {
			continue
		}
		l.add(a, refusal{words: fmt.Sprintf("%s does not damp with the forearm, and is to stop the %s so", l.p.Name, a.Item.Inst.Name()),
			where: a.Where, said: l.p.WhereForearms(), at: a.At, bar: a.Bar, placed: true, limb: a.Limb.Name(),
			fixes: func(c *Context, f *Finding) {
				text := c.File.Lines[a.Where.Line].Text
				if at := strings.Index(text, "forearm damps"); at >= 0 {
					f.propose("damp it with the hand", true, Edit{Line: int(a.Where.Line), Start: at, End: at + len("forearm ")})
				}
			}})
	}
}

// nevers refuses the instruments that somebody never plays.
func (l *refusing) nevers() {
	for _, cue := range l.p.Cues {
		in := cue.Item.Inst
		never := l.who.Refuses(in)
		if never == nil || len(cue.Strokes) == 0 {
			continue
		}
		because := ""
		if never.Reason != "" {
			because = ": " + never.Reason
		}
		st := &cue.Strokes[0]
		l.add(in, refusal{words: fmt.Sprintf("%s never plays the %s%s", l.p.Name, in.Name(), because), where: cue.Name, said: never.Where,
			at: st.At, bar: int(st.Bar), placed: true, limb: cue.Limb.Name(),
			fixes: func(c *Context, f *Finding) {
				c.proposeOthers(f, cue)
				c.proposeStandIns(f, cue, nil)
			}})
	}
}

// seated refuses ways to another place, and what has to be bent down for.
func (l *refusing) seated() {
	said := l.p.WhereSeated()
	for _, it := range l.m.OutOf {
		if tooHigh(l.p, it) {
			continue // out-of-reach says so
		}
		for _, cue := range l.p.Cues {
			if cue.Item != it || len(cue.Strokes) == 0 {
				continue
			}
			st := &cue.Strokes[0]
			l.add(it, refusal{words: fmt.Sprintf("%s is seated and never walks, and has to get over to the %s", l.p.Name, it.Inst.Name()),
				where: st.Where(), said: said, at: st.At, bar: int(st.Bar), placed: true, limb: cue.Limb.Name(),
				fixes: func(c *Context, f *Finding) {
					c.proposeOthers(f, cue)
					c.proposeStandIns(f, cue, nil)
				}})
		}
	}
	for _, cue := range l.p.Cues {
		if it := cue.Item; it.Mount == kit.Floor && motion.Wanted(cue) == kit.Held && len(cue.Strokes) > 0 {
			st := &cue.Strokes[0]
			l.add(it, refusal{words: fmt.Sprintf("%s is seated and never stoops, and has to take the %s up from the floor", l.p.Name, it.Inst.Name()),
				where: it.Where, said: said, at: st.At, bar: int(st.Bar), placed: true, limb: cue.Limb.Name()})
		}
	}
	for _, t := range l.p.Tables {
		if t.At.Up <= motion.BelowKnee {
			l.add(t, refusal{words: fmt.Sprintf("%s is seated and never stoops, and this table is below the knee", l.p.Name), where: t.Where, said: said})
		}
	}
}

// otherLimb offers the hand that is there, on a line that begins with a limb.
func (c *Context) otherLimb(f *Finding, line score.Where, who *score.Person) {
	only, name := "R", "right"
	switch who.Hands() {
	case body.R:
	case body.L:
		only, name = "L", "left"
	default:
		return
	}
	l := c.File.Lines[line.Line]
	if s, ok := l.Stmt.(*syntax.LimbLine); ok && line.File == 0 {
		at := s.Limb.Span()
		f.propose("with the "+name+" hand", true, Edit{Line: int(line.Line), Start: at.Start, End: at.End, Text: only})
	}
}

// proposeOthers offers to give a cue that takes its strokes from the parts to
// somebody else.
func (c *Context) proposeOthers(f *Finding, cue *score.Cue) {
	if !cue.AsWritten || cue.Pass != 0 || cue.Where.File != 0 || cue.To < cue.From {
		return
	}
	l := c.File.Lines[cue.Where.Line]
	s, ok := l.Stmt.(*syntax.LimbLine)
	if !ok || len(l.Problems) > 0 || s.Cue == nil || s.Cue.AsWritten == nil {
		return
	}
	same, said, written := *s, *s.Cue, *s.Cue.AsWritten
	same.Cue, said.AsWritten = &said, &written
	if written.In == nil {
		written.In = []syntax.Atom{syntax.BarsBetween(cue.From, cue.To)}
	}
	for _, p := range c.Score.Players {
		if last := c.lastLineOf(p); p != cue.Player && last >= 0 {
			f.propose("give it to "+p.Name, true, remove(cue.Where), c.below(last, 1, &same))
		}
	}
}

// bars are a range of bars as the notation writes it.
// lastLineOf is the last line of a player's block with something on it, or -1.
func (c *Context) lastLineOf(p *score.Player) int {
	last := -1
	for i, s := range c.Score.Sources[0].Seats {
		if s.Owner == int(p.Where.Line) && (s.Block == syntax.InPlayer || s.Block == syntax.InKit) && c.File.Lines[i].Form != nil {
			last = i
		}
	}
	return last
}
