package check

import (
	"slices"
	"strings"

	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

var unused = &Rule{
	Name:       syntax.RuleUnused,
	Severities: []Severity{Info},
	Finds:      "what nothing uses: kit, omissions, acceptances, empty cues and players, a pickup that no line begins with",
	Means: `An omission that leaves nothing out and an acceptance that meets no finding are often what is left of an earlier
version. An instrument in the kit that no cue plays still has to be carried. Lines begin with bar 1 unless  from 0  stands
above them: with a pickup and no such line everything may stand a bar late.`,
	Why:    `An acceptance that meets nothing today may hide something tomorrow.`,
	Stands: `The file itself.`,
	last:   true,
	Trips: `tempo 96
player Ida
  kit
    snare-drum on stand at ahead 40
    woodblock  clamped  at left 30 ahead 40
  R snare-drum | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  kit
    snare-drum on stand at ahead 40
    woodblock  clamped  at left 30 ahead 40
  R snare-drum | 1 2 3 4
  L woodblock  | 1 3
`,
	Look: func(c *Context) {
		for _, p := range c.Score.Problems {
			if p.Rule == syntax.RuleUnused {
				c.In(p.Where).about(Info, p.About)
			}
		}
		for _, p := range c.Score.Players {
			for _, it := range p.Items {
				if it.Listed && !it.Used && !it.Shared {
					c.In(it.Where).Of(p).Info("%s has the %s in the kit and never plays it", p.Name, it.Called()).Or("take it out of the kit", remove(it.Where))
				}
			}
			for _, h := range p.Hardware {
				if !h.Shared && !c.needs(p, h.Name) {
					c.In(h.Where).Of(p).Info("%s has %s in the kit, and nothing needs it", p.Name, a(strings.ReplaceAll(h.Name, "-", " "))).Or("take it out of the kit", remove(h.Where))
				}
			}
			if len(p.Cues) == 0 && len(p.Actions) == 0 && p.Refused == 0 {
				c.In(p.Where).Of(p).Info("%s has nothing to play yet", p.Name)
			}
		}
		for cue := range c.Cues() {
			if !cue.AsWritten && len(cue.Strokes) == 0 { // binding says it of the others
				c.AtCue(cue).Info("this cue has rests only, and plays nothing").Or("take the line out", c.removeCue(cue)...)
			}
		}
		c.emptyPickup()
		for _, o := range c.Score.Omits {
			if o.Strokes == 0 {
				c.In(o.Where).Info("this leaves nothing out: nothing is written for it there, or somebody plays it").Sure("take the line out", remove(o.Where))
			}
		}
		for i, a := range c.Score.Accepts {
			r := c.In(a.Where)
			if !slices.Contains(c.names, a.Rule) {
				if near := syntax.Nearest(a.Rule, c.names); near != "" {
					f := r.Info("there is no rule called %s; is it {near}?", a.Rule)
					f.MayMean(near)
					f.orNear(a.Named)
				} else {
					r.Info("there is no rule called %s;  handful explain  lists them", a.Rule)
				}
			} else if !c.accepted[i] {
				r.Info("this accepts a %s that is not found (any more)", a.Rule).Sure("take the line out", remove(a.Where))
			}
		}
	},
}

// needs says whether somebody plays in a way that needs a piece of hardware.
func (c *Context) needs(p *score.Player, hardware string) bool {
	for _, cue := range p.Cues {
		if motion.Wanted(cue).Hardware() == hardware {
			return true
		}
	}
	for m, ch := range c.Chosen() {
		if m.Player == p && slices.Contains(ch.Way.Needs, hardware) {
			return true
		}
	}
	return false
}

// emptyPickup tells of a pickup in which no line begins.
func (c *Context) emptyPickup() {
	pickup := c.pickup()
	if pickup == nil {
		return
	}
	var owners []score.Where
	lines := 0
	for _, p := range c.Score.Parts {
		if slices.ContainsFunc(p.Lines, func(l *score.Line) bool { return l.From == 0 }) {
			return
		}
		lines += len(p.Lines)
		if p.Where.File == 0 {
			owners = append(owners, p.Where)
		}
	}
	for _, p := range c.Score.Players {
		if slices.ContainsFunc(p.Cues, func(cue *score.Cue) bool { return cue.From == 0 && !cue.AsWritten }) {
			return
		}
		lines += len(p.Cues)
		owners = append(owners, p.Where)
	}
	if lines == 0 {
		return
	}
	var edits []Edit
	for _, w := range owners {
		edits = append(edits, c.below(int(w.Line), 1, &syntax.From{Place: syntax.Bar(0)}))
	}
	c.In(*pickup).Info("no line begins in the pickup, bar 0: lines begin with bar 1 unless  from 0  stands above them").
		Or("begin every part and player with the pickup", edits...)
}

// pickup is where the piece says that it has one.
func (c *Context) pickup() *score.Where {
	if c.Score.Grid.First() != 0 {
		return nil
	}
	for i, l := range c.File.Lines {
		if s, ok := l.Stmt.(*syntax.Length); ok && !l.Broken && s.Word.Text == "pickup" {
			return &score.Where{Line: int32(i), Start: int32(s.Word.Span().Start), End: int32(s.Value.Span().End)}
		}
	}
	return nil
}
