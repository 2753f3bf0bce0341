package check

import (
	"slices"
	"strings"
	"sync"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

var impliedCymbals = &Rule{
	Name:       "implied-cymbals",
	Severities: []Severity{Warning},
	Finds:      "a march's bass-drum line that the cymbals are presumed to double",
	Means: `In marches the cymbals play the bass drum's notes unless the part says B.D. only or senza piatti, and are often not
written at all. This part has a bass drum and no such words, and no part has crash cymbals while it plays.`,
	Why:    `The cymbals that nobody counted need a second player or an attached plate.`,
	Stands: `Grove's Dictionary 1879; Encyclopædia Britannica 1911: cymbals play the bass-drum line unless marked otherwise.`,
	Trips: `title "Quayside March"
tempo 112
part "Bass Drum"
  bass-drum | 1 2 3 4 | %
player Per
  R bass-drum as written
`,
	Passes: `title "Quayside March"
tempo 112
part "Bass Drum"
  bass-drum | "B.D. only" 1 2 3 4 | %
player Per
  R bass-drum as written
`,
	Look: func(c *Context) {
		march := sync.OnceValue(func() bool { // few pieces have a line that somebody might double
			if c.old == nil || c.old.march == nil || !score.SameHead(c.old.Score, c.Score) {
				is := c.march()
				c.Result.march = &is
			} else {
				c.Result.march = c.old.march
			}
			return *c.Result.march
		})
		for _, part := range c.Score.Parts {
			for _, l := range part.Lines {
				if len(l.Inst.Doublers) > 0 && len(l.Strokes) > 0 && march() && !c.doubled(part, l) && !saysOnly(l) {
					c.In(l.Where).When(l.Strokes[0].At).
						Warning("in a march the cymbals are presumed to play the bass drum's notes in %s: write them as a line, or the words \"B.D. only\"", part.Name).OrAccept()
					break
				}
			}
		}
	},
}

// doubled says whether something is written that may be meant to double a
// line: any cymbal in its own part, or in another part the very ones, in some
// bar that it plays in.
func (c *Context) doubled(part *score.Part, drum *score.Line) bool {
	var doublers []*kit.Instrument
	for _, id := range drum.Inst.Doublers {
		if in := c.Score.Catalogue.Instrument(id); in != nil {
			doublers = append(doublers, in)
		}
	}
	plays := map[int32]bool{}
	for i := range drum.Strokes {
		plays[drum.Strokes[i].Bar] = true
	}
	for _, p := range c.Score.Parts {
		for _, l := range p.Lines {
			switch {
			case p == part && slices.ContainsFunc(doublers, l.Inst.Akin):
				return true
			case slices.Contains(doublers, l.Inst) && slices.ContainsFunc(l.Strokes, func(s score.Stroke) bool { return plays[s.Bar] }):
				return true
			}
		}
	}
	return false
}

// march says whether the piece calls itself one.
func (c *Context) march() bool {
	for _, l := range c.File.Lines {
		text := ""
		switch s := l.Stmt.(type) {
		case *syntax.Printed:
			text = s.Text.Text
		case *syntax.Remark:
			text = s.Text.Text
		}
		if strings.Contains(strings.ToLower(text), "march") {
			return true
		}
	}
	return false
}

func saysOnly(l *score.Line) bool {
	for _, w := range l.Words {
		text := strings.ToLower(w.Text)
		for _, only := range []string{"b.d. only", "bass drum only", "senza piatti", "no cym", "without cym", "sans cymbales", "ohne becken"} {
			if strings.Contains(text, only) {
				return true
			}
		}
	}
	return false
}
