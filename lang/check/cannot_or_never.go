package check

import (
	"fmt"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
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
	each: true,
	Look: func(c *Context) {
		for _, m := range c.Motions {
			for _, a := range c.refusals(m) {
				r := c.In(a.where).Of(m.Player).With(a.limb).and(a.others)
				if a.placed {
					if c.weighed(m.Player.Name, a.at) {
						continue
					}
					r = r.When(a.at)
				}
				f := r.Error("%s", a.words)
				if a.said != a.where {
					f.Also(a.said, "it is said here")
				}
				if a.fixes != nil {
					f.orLater(a.fixes)
				}
				f.OrAccept()
			}
		}
	},
}

// A refusal is something that a person is asked for and cannot or never does.
type refusal struct {
	others
	words  string
	where  score.Where
	said   score.Where // where the player's block says so
	at     beat.Rat
	bar    int
	placed bool
	limb   string
	fixes  func(*Finding)
}

// refusals are what a player is asked for and cannot or never does, alike ones
// together, the earliest first within each kind.
func (r *Result) refusals(m *motion.Result) []refusal {
	p := m.Player
	if score.SamePerson(&p.Person, &score.Person{}) {
		return nil
	}
	l := refusing{m: m, p: p, who: &p.Person, seen: map[any]int{}}
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
func (l *refusing) event(e *motion.Event, said score.Where, limb body.Limbs, fixes func(*Finding), format string, args ...any) refusal {
	return refusal{words: fmt.Sprintf(format, args...), where: e.Where(), said: said, at: e.At(), bar: e.Bar(), placed: true, limb: limbOf(limb), fixes: fixes}
}

// cue is a refusal of a cue, at its first stroke.
func (l *refusing) cue(cue *score.Cue, where, said score.Where, fixes func(*Finding), format string, args ...any) refusal {
	st := &cue.Strokes[0]
	return refusal{words: fmt.Sprintf(format, args...), where: where, said: said, at: st.At, bar: int(st.Bar), placed: true, limb: cue.Limb.Name(), fixes: fixes}
}

// action is a refusal of what is to be done at a set place.
func (l *refusing) action(a *score.Action, said score.Where, fixes func(*Finding), format string, args ...any) refusal {
	return refusal{words: fmt.Sprintf(format, args...), where: a.Where, said: said, at: a.At, bar: a.Bar, placed: true, limb: a.Limb.Name(), fixes: fixes}
}

// hands refuses what needs a hand that is not there.
func (l *refusing) hands() {
	said, has := l.p.WhereHands(), l.p.Name+" has "+l.who.HandsWords()
	told := l.missingHand(said, has)
	for i := range l.m.Chosen {
		ch := &l.m.Chosen[i]
		e := ch.First
		if told[ch.Cue] || ch.Way == nil || !motion.TakesBoth(e.Limbs, ch.Way, ch.Rolled) {
			continue
		}
		takesTwo := "to play the " + e.Item().Called() + " takes two"
		switch {
		case ch.Way.Mount == kit.Held && len(ch.Way.With) > 0:
			takesTwo = "one hand holds the " + e.Item().Called() + " while the other strikes it"
		case ch.Rolled:
			takesTwo = "the roll on the " + e.Item().Called() + " takes two"
		}
		fixes := func(f *Finding) { f.orPlay(ch.Cue).orSomebodyElse(ch.Cue) }
		l.add(ch.Cue, l.event(e, said, e.Limbs, fixes, "%s for playing, and %s", has, takesTwo))
		l.list[l.seen[ch.Cue]].fixes = fixes
	}
	for _, cue := range l.p.Cues {
		if cue.Limb == body.Mouth && l.who.Hands() == 0 && len(cue.Strokes) > 0 && handAtMouth(cue) {
			l.add(cue, l.cue(cue, cue.Name, said, func(f *Finding) { f.orPlay(cue) }, "%s for playing, and one has to hold the %s to the mouth", has, cue.Item.Called()))
		}
	}
	l.missingHandAtSetPlaces(said, has)
}

// missingHandAtSetPlaces refuses what is held at the start, taken or laid with a
// hand that is not there.
func (l *refusing) missingHandAtSetPlaces(said score.Where, has string) {
	for h, hold := range l.p.Holds {
		if hand := body.Limb(h); l.who.Without.Has(hand) && (hold.Implement != nil || hold.Inst != nil) {
			l.add(hold, refusal{words: fmt.Sprintf("%s for playing, and the %s is to hold something at the start", has, hand.Name()),
				where: hold.Where, said: said, limb: hand.Name(), fixes: func(f *Finding) { f.orThisHand(hold.Where, l.who) }})
		}
	}
	for _, a := range l.p.Actions {
		if (a.Kind == score.Take || a.Kind == score.Lay) && a.Limb.IsHand() && l.who.Without.Has(a.Limb) {
			l.add(a, l.action(a, said, func(f *Finding) { f.orThisHand(a.Where, l.who) }, "%s for playing, and the %s is to %s something", has, a.Limb.Name(), takeOrLay(a)))
		}
	}
}

// missingHand refuses what is played, damped or turned with a hand that is not
// there, and says for which cues.
func (l *refusing) missingHand(said score.Where, has string) (told map[*score.Cue]bool) {
	told = map[*score.Cue]bool{}
	for i := range l.m.Events {
		e := &l.m.Events[i]
		lacks := e.Limbs & l.who.Without
		if lacks == 0 {
			continue
		}
		if e.Action != nil {
			fixes := func(f *Finding) { f.orThisHand(e.Action.Where, l.who) }
			l.add(e.Action, l.event(e, said, lacks, fixes, "%s for playing, and the %s is to %s", has, limbOf(lacks), toDo(e)))
			continue
		}
		told[e.Cue] = true
		how := "with the " + limbOf(lacks)
		switch e.Cue.Limb {
		case body.Together:
			how = "with both hands"
		case body.RightFirst, body.LeftFirst:
			how = "hand to hand"
		}
		l.add(e.Cue, l.event(e, said, lacks, func(f *Finding) {
			f.orThisHand(e.Cue.Where, l.who)
			f.orSomebodyElse(e.Cue)
		}, "%s for playing, and the %s %s played %s here", has, e.Item().Called(), e.Item().Inst.Verb("is", "are"), how))
	}
	return told
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
		fixes := func(f *Finding) { f.orOtherGrip(ch) }
		switch {
		case (ch.Choice.Count == 2 || ch.Cue.Beside != nil) && l.who.FourMallets == score.Cannot:
			l.add(alike{in, "mallets"}, l.event(e, l.p.WhereMallets(), e.Limbs&body.Hands, fixes, "%s does not have two mallets in a hand, and the %s is played so here", l.p.Name, in.Name()))
		case l.who.OneHandRoll == score.Cannot && motion.OneHandRoll(e.Limbs, ch.Way, ch.Rolled):
			l.add(alike{in, "rolls"}, l.event(e, l.p.WhereRolls(), e.Limbs&body.Hands, fixes, "%s does not roll one-handed, and the %s is rolled so here", l.p.Name, in.Name()))
		}
	}
}

// orOtherGrip offers one mallet in a hand, or to roll with two hands.
func (f *Finding) orOtherGrip(ch *motion.Chosen) {
	cue := ch.Cue
	if len(cue.With) > 0 && cue.With[0].Count == 2 && f.in.namesTwo(cue) {
		one := replace(cue.WithWhere, cue.With[0].Implement)
		one.Start -= len("2 ")
		f.Or("one "+cue.With[0].Implement+" in the hand", one)
	}
	f.orAlone(cue)
	if cue.Limb.IsHand() && ch.Rolled {
		f.Or("roll on the "+cue.Item.Called()+" hand to hand", limbEdit(cue, body.RightFirst))
	}
	f.orSomebodyElse(cue).orStandIn(cue)
}

// forearms refuses what is to be stopped with the forearm.
func (l *refusing) forearms() {
	for _, a := range l.p.Actions {
		if a.Kind != score.Damp || a.By != "forearm" {
			continue
		}
		l.add(a, l.action(a, l.p.WhereForearms(), func(f *Finding) {
			if at := strings.Index(f.in.File.Lines[a.Where.Line].Text, "forearm damps"); at >= 0 {
				f.Or("damp it with the hand", Edit{Line: int(a.Where.Line), Start: at, End: at + len("forearm ")})
			}
		}, "%s does not damp with the forearm, and is to stop the %s so", l.p.Name, a.Item.Inst.Name()))
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
		l.add(in, l.cue(cue, cue.Name, never.Where, func(f *Finding) { f.orSomebodyElse(cue).orStandIn(cue) },
			"%s never plays the %s%s", l.p.Name, in.Name(), because))
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
			if cue.Item == it && len(cue.Strokes) > 0 {
				l.add(it, l.cue(cue, cue.Strokes[0].Where(), said, func(f *Finding) { f.orSomebodyElse(cue).orStandIn(cue) },
					"%s is seated and never walks, and has to get over to the %s", l.p.Name, it.Called()))
			}
		}
	}
	for _, cue := range l.p.Cues {
		if it := cue.Item; it.Mount == kit.Floor && motion.Wanted(cue) == kit.Held && len(cue.Strokes) > 0 {
			l.add(it, l.cue(cue, it.Where, said, nil, "%s is seated and never stoops, and has to take the %s up from the floor", l.p.Name, it.Called()))
		}
	}
	for _, t := range l.p.Tables {
		if t.At.Up <= motion.BelowKnee {
			l.add(t, refusal{words: fmt.Sprintf("%s is seated and never stoops, and this table is below the knee", l.p.Name), where: t.Where, said: said})
		}
	}
}
