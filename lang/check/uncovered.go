package check

import (
	"fmt"
	"math/bits"
	"strings"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

var uncovered = &Rule{
	Name:       "uncovered",
	Severities: []Severity{Error, Warning},
	Finds:      "a written stroke that nobody plays and nobody omitted",
	Means: `Every stroke of every part is played by somebody, substituted by another sound, or left out with a reason. These
are none of the three. While there is no player at all, all of it is one warning: the piece is not cast yet.`,
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
	check: func(c *Context) {
		if len(c.Score.Players) == 0 && len(c.opt.Score.Without) == 0 {
			c.reportUncast()
			return
		}
		for _, g := range c.Score.Coverage.Uncovered {
			if g.Refused {
				continue // who was to play it stands in a line that could not be read, and that is told
			}
			first, last := &g.Line.Strokes[g.First], &g.Line.Strokes[g.Last]
			n := 0
			for i := g.First; i <= g.Last; i++ {
				if g.Line.Strokes[i].Sounds() {
					n++
				}
			}
			passes := ""
			if all := c.Score.Passes(int(first.Bar)); all > 1 && bits.OnesCount64(g.Passes) < min(all, 63) {
				passes = " on pass " + passWords(g.Passes)
			}
			where := fmt.Sprintf("in bar %d", first.Bar)
			if first.Bar != last.Bar {
				where = fmt.Sprintf("in bars %d to %d", first.Bar, last.Bar)
			}
			f := Finding{Severity: Error, Where: first.Where(),
				Message: fmt.Sprintf("nobody plays the %s of %s %s%s: %s", g.Line.Inst.Name(), g.Line.Part.Name, where, passes, plural(n, "stroke"))}
			f.place(c.Score, first.At)
			c.proposeCover(c.report(f), g, int(first.Bar), int(last.Bar))
		}
	},
}

// reportUncast says of a piece without players that somebody has to play it,
// once: which lines nobody plays is no news as long as nobody plays anything.
func (c *Context) reportUncast() {
	n := 0
	for _, g := range c.Score.Coverage.Uncovered {
		for i := g.First; i <= g.Last; i++ {
			if g.Line.Strokes[i].Sounds() {
				n++
			}
		}
	}
	if n == 0 {
		return
	}
	said := "1 stroke is written, and nobody plays it yet"
	if n > 1 {
		said = fmt.Sprintf("%d strokes are written, and nobody plays them yet", n)
	}
	c.report(Finding{Severity: Warning, Where: c.Score.Coverage.Uncovered[0].Line.Part.Where,
		Message: said + ": give the piece its players, or have it planned for some"})
}

// passWords lists passes: 2, 3 and 4.
func passWords(mask uint64) string {
	var list []string
	for m := mask; m != 0; m &= m - 1 {
		list = append(list, fmt.Sprint(bits.TrailingZeros64(m)+1))
	}
	if n := len(list); n > 1 {
		return strings.Join(list[:n-1], ", ") + " and " + list[n-1]
	}
	return list[0]
}

// proposeCover offers the gap to every player, for either hand, and to leave
// it out.
func (c *Context) proposeCover(f *Finding, g score.Gap, from, to int) {
	f.later = append(f.later, func(f *Finding) { c.cover(f, g, from, to) })
}

func (c *Context) cover(f *Finding, g score.Gap, from, to int) {
	in, of := []syntax.Atom{syntax.BarsBetween(from, to)}, new(syntax.Quoted(g.Line.Part.Name))
	for _, p := range c.Score.Players {
		last := c.lastLineOf(p)
		if last < 0 {
			continue
		}
		for _, limb := range []string{"R", "L"} {
			f.propose(fmt.Sprintf("give it to %s's %s", p.Name, map[string]string{"R": "right hand", "L": "left hand"}[limb]), true,
				c.below(last, 1, &syntax.LimbLine{Limb: syntax.Word(limb),
					Cue: &syntax.Cue{Name: syntax.Word(g.Line.Name), AsWritten: &syntax.AsWritten{In: in, Of: of}}}))
		}
	}
	c.proposeCoverOn(f, g, in, of)
	f.lastly("leave it out, with your reason", c.atEnd(&syntax.Omit{What: syntax.Word(g.Line.Name), In: in, Of: of, Reason: whySo()}))
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}
