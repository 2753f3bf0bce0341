package check

import (
	"fmt"
	"slices"

	"example.org/handful/lang/kit"
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
	check: func(c *Context) {
		for _, p := range c.Score.Problems {
			if p.Rule == syntax.RuleUnused {
				c.report(Finding{Severity: Info, Where: p.Where, Message: p.Message})
			}
		}
		for _, p := range c.Score.Players {
			for _, it := range p.Items {
				if it.Listed && !it.Used && !it.Shared {
					c.report(Finding{Severity: Info, Where: it.Where, Player: p.Name,
						Message: fmt.Sprintf("%s has the %s in the kit and never plays it", p.Name, it.Inst.Name())}).
						propose("take it out of the kit", true, remove(it.Where))
				}
			}
			for _, cue := range p.Cues {
				if !cue.AsWritten && len(cue.Strokes) == 0 { // binding says it of the others
					c.report(Finding{Severity: Info, Where: cue.Where, Player: p.Name, Limb: cue.Limb.Name(), Message: "this cue has rests only, and plays nothing"}).
						propose("take the line out", true, c.removeCue(cue)...)
				}
			}
			if len(p.Cues) == 0 && len(p.Actions) == 0 && p.Refused == 0 {
				c.report(Finding{Severity: Info, Where: p.Where, Player: p.Name, Message: p.Name + " has nothing to play yet"})
			}
		}
		c.emptyPickup()
		for _, o := range c.Score.Omits {
			if o.Strokes == 0 {
				c.report(Finding{Severity: Info, Where: o.Where, Message: "this leaves nothing out: nothing is written for it there, or somebody plays it"}).
					propose("take the line out", false, remove(o.Where))
			}
		}
		for i, a := range c.Score.Accepts {
			switch {
			case !slices.Contains(c.names, a.Rule):
				msg := fmt.Sprintf("there is no rule called %s;  handful explain  lists them", a.Rule)
				if near := kit.Nearest(a.Rule, c.names); near != "" {
					msg = fmt.Sprintf("there is no rule called %s; is it %s?", a.Rule, near)
				}
				c.report(Finding{Severity: Info, Where: a.Where, Message: msg})
			case !c.accepted[i]:
				c.report(Finding{Severity: Info, Where: a.Where, Message: fmt.Sprintf("this accepts a %s that is not found (any more)", a.Rule)}).
					propose("take the line out", false, remove(a.Where))
			}
		}
	},
}

// emptyPickup tells of a pickup in which no line begins.
func (c *Context) emptyPickup() {
	if c.Score.Grid.First() != 0 {
		return
	}
	var edits []Edit
	some := false
	for _, p := range c.Score.Parts {
		for _, l := range p.Lines {
			if some = true; l.From == 0 {
				return
			}
		}
		if p.Where.File == 0 {
			edits = append(edits, c.below(int(p.Where.Line), 1, &syntax.From{Place: syntax.Bar(0)}))
		}
	}
	for _, p := range c.Score.Players {
		for _, cue := range p.Cues {
			if some = true; cue.From == 0 && !cue.AsWritten {
				return
			}
		}
		edits = append(edits, c.below(int(p.Where.Line), 1, &syntax.From{Place: syntax.Bar(0)}))
	}
	for i, l := range c.File.Lines {
		if s, ok := l.Stmt.(*syntax.Length); ok && some && !l.Broken && s.Word.Text == "pickup" {
			c.report(Finding{Severity: Info, Where: score.Where{Line: int32(i), Start: int32(s.Word.Span().Start), End: int32(s.Value.Span().End)},
				Message: "no line begins in the pickup, bar 0: lines begin with bar 1 unless  from 0  stands above them"}).
				propose("begin every part and player with the pickup", true, edits...)
			return
		}
	}
}
