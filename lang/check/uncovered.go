package check

import (
	"fmt"
	"math/bits"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// RuleUncovered is the name of the rule for strokes that nobody plays.
const RuleUncovered = "uncovered"

var uncovered = &Rule{
	Name:       RuleUncovered,
	Severities: []Severity{Error, Warning},
	Finds:      "a written stroke that nobody plays and nobody omitted",
	Means: `Every stroke of every part is played by somebody, substituted by another sound, or left out with a reason. These
are none of the three. While no player has anything to play, all of it is one warning: the piece is not cast yet.`,
	Why:    `What nobody has on the stand is missed first in the concert.`,
	Stands: `The parts of the file, stroke by stroke, on every pass.`,
	Trips: `tempo 96
part "Percussion"
  triangle  | 1 3 | %
  woodblock | 2 4 | %
player Ida
  R triangle clipped as written
`,
	Passes: `tempo 96
part "Percussion"
  triangle  | 1 3 | %
  woodblock | 2 4 | %
player Ida
  R triangle clipped as written
omit woodblock because "the keyboard has it"
`,
	Look: func(c *Context) {
		if c.isUncast() {
			c.uncast()
			return
		}
		for _, g := range c.Score.Coverage.Uncovered {
			if g.Refused {
				continue // who was to play it stands in a line that could not be read, and that is told
			}
			first, last, passes := &g.Line.Strokes[g.First], &g.Line.Strokes[g.Last], ""
			if all := c.Score.Passes(int(first.Bar)); all > 1 && bits.OnesCount64(g.Passes) < min(all, 63) {
				passes = " on pass " + passWords(g.Passes)
			}
			c.In(first.Where()).When(first.At).Error("nobody plays the %s of %s in %s%s: %s",
				g.Line.Inst.Name(), g.Line.Part.Name, barsFromTo(c.Score, first.Bar, last.Bar), passes, plural(g.Sounding(), "stroke")).
				orLater(func(f *Finding) { f.orCover(g) })
		}
	},
}

// isUncast says whether no player has a cue, not even one in a line that could not be
// read. Who is without somebody has cast the piece before.
func (c *Context) isUncast() bool {
	return len(c.opt.Score.Without) == 0 &&
		!slices.ContainsFunc(c.Score.Players, func(p *score.Player) bool { return len(p.Cues) > 0 }) &&
		!slices.ContainsFunc(c.Score.Coverage.Uncovered, func(g score.Gap) bool { return g.Refused })
}

// uncast says of a piece in which no player has a cue that somebody has to play it, once:
// which lines nobody plays is no news as long as nobody plays anything.
func (c *Context) uncast() {
	n := 0
	for _, g := range c.Score.Coverage.Uncovered {
		n += g.Sounding()
	}
	if n == 0 {
		return
	}
	said := "1 stroke is written, and nobody plays it yet"
	if n > 1 {
		said = fmt.Sprintf("%d strokes are written, and nobody plays them yet", n)
	}
	what := "give the piece its players, or have it planned for some (handful plan)"
	if len(c.Score.Players) > 0 {
		what = "give the players their cues, or have it planned for them (handful plan)"
	}
	c.In(c.Score.Coverage.Uncovered[0].Line.Part.Where).Warning("%s: %s", said, what)
}

// orCover offers the gap to every player, for either hand, and to leave it out.
func (f *Finding) orCover(g score.Gap) {
	c, bars := f.in, syntax.BarsBetween(int(g.Line.Strokes[g.First].Bar), int(g.Line.Strokes[g.Last].Bar))
	written := &syntax.AsWritten{In: []syntax.Atom{bars}, Of: new(syntax.Quoted(g.Line.Part.Name))}
	for _, p := range c.Score.Players {
		last := c.lastLineOf(p)
		if last < 0 {
			continue
		}
		for _, limb := range []body.Limb{body.Right, body.Left} {
			f.Or(fmt.Sprintf("give it to %s's %s", p.Name, limb.Name()),
				c.below(last, 1, &syntax.LimbLine{Limb: syntax.Word(limb.String()), Cue: &syntax.Cue{Name: syntax.Word(g.Line.Name), AsWritten: written}}))
		}
	}
	f.orCoverOn(g, written)
	f.lastly("leave it out, with your reason", c.atEnd(&syntax.Omit{What: syntax.Word(g.Line.Name), In: written.In, Of: written.Of, Reason: whySo()}))
}
