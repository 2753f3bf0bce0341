package check

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A CueLine is a whole cue for a line that nobody has written yet: what may
// stand behind the limb. What it says of itself beyond its text is known once
// it has been tried.
type CueLine struct {
	Text  string
	Short string // without the mount that it says and need not, or ""
	Costs string // what the sound pays, "" for nothing

	Plays    int    // strokes that nobody else plays
	Tightest string // the change that leaves it the least, in words; "" where it brings none
	Told     int    // findings that come with it, none of them an error or a warning
	spare    float64
}

// Most cues that are tried for one line, and ways of one instrument among them:
// each is a check of the piece, and whoever is offered thirty reads none.
const (
	mostCueLines = 12
	mostWays     = 6
)

// CueLines lists what a limb could play of what nobody plays yet, in a line of a
// player in which nothing stands: what plays most first, in the ways that cost
// nothing in sound before those that do, and what stands in for it last.
func (r *Result) CueLines(line int, limb body.Limb) []CueLine {
	c := &Context{Result: r}
	seat := r.Score.Sources[0].Seats[line]
	if seat.Owner < 0 {
		return nil
	}
	owner, ok := r.File.Lines[seat.Owner].Stmt.(*syntax.Player)
	if !ok {
		return nil
	}
	p := r.Score.Player(owner.Name.Value())
	from, to, ok := c.section(line, seat.Owner)
	if p == nil || !ok {
		return nil
	}
	var out []CueLine
	for _, v := range c.open(from, to) {
		out = append(out, c.waysOf(p, limb, &v)...)
	}
	return out[:min(len(out), mostCueLines)]
}

// section is from which bar to which a line of a block counts; not ok where it
// is for one pass alone, or begins where nothing is.
func (c *Context) section(line, owner int) (from, to int, ok bool) {
	from, to = c.Score.Grid.First(), c.Score.Grid.Last()
	under := true
	for i := line - 1; i > owner && under; i-- {
		if s, is := c.File.Lines[i].Stmt.(*syntax.From); is && !c.File.Lines[i].Broken && c.Score.Sources[0].Seats[i].Owner == owner {
			if from, ok = c.barOf(s.Place.Text); !ok || s.Pass != nil {
				return 0, 0, false
			}
			under = false
		}
	}
	for i, l := range c.File.Lines {
		if s, is := l.Stmt.(*syntax.From); is && !l.Broken && c.Score.Sources[0].Seats[i].Owner == owner {
			if bar, ok := c.barOf(s.Place.Text); ok && bar > from {
				to = min(to, bar-1)
			}
		}
	}
	return from, to, true
}

func (c *Context) barOf(place string) (bar int, ok bool) {
	p, ok := syntax.ParsePlace(place)
	if !ok || p.Mark == "" {
		return p.Bar, ok
	}
	for _, m := range c.Score.Marks {
		if m.Name == p.Mark {
			return m.Bar + p.Bar, true
		}
	}
	return 0, false
}

// An openVoice is what nobody plays of the lines of one name in a section.
type openVoice struct {
	in      *kit.Instrument
	name    string
	written *syntax.AsWritten
	strokes int
}

// open lists the voices of which something is left in a section: what has most
// strokes first.
func (c *Context) open(from, to int) []openVoice {
	type left struct {
		line    *score.Line
		bars    []syntax.Atom
		strokes int
	}
	var lines []*left
	for _, g := range c.Score.Coverage.Uncovered {
		first, last := int(g.Line.Strokes[g.First].Bar), int(g.Line.Strokes[g.Last].Bar)
		if g.Refused || last < from || first > to {
			continue
		}
		i := slices.IndexFunc(lines, func(l *left) bool { return l.line.Name == g.Line.Name && l.line.Part == g.Line.Part })
		if i < 0 {
			i = len(lines)
			lines = append(lines, &left{line: g.Line})
		}
		lines[i].bars = append(lines[i].bars, syntax.BarsBetween(max(first, from), min(last, to)))
		lines[i].strokes += g.Sounding()
	}
	var out []openVoice
	for _, l := range lines {
		w := &syntax.AsWritten{}
		all, parts := c.voiceIn(l.line, from, to)
		if l.strokes < all {
			w.In = l.bars
		}
		if parts > 1 {
			w.Of = new(syntax.Quoted(l.line.Part.Name))
		}
		out = append(out, openVoice{l.line.Inst, l.line.Name, w, l.strokes})
	}
	slices.SortStableFunc(out, func(a, b openVoice) int { return b.strokes - a.strokes })
	return out
}

// voiceIn is how many strokes a voice has in a section in the part of a line,
// covered or not, and in how many parts it has any.
func (c *Context) voiceIn(l *score.Line, from, to int) (all, parts int) {
	for _, part := range c.Score.Parts {
		n := 0
		for _, o := range part.Lines {
			if o.Name == l.Name {
				n += soundingIn(o, from, to)
			}
		}
		if n > 0 {
			parts++
		}
		if part == l.Part {
			all = n
		}
	}
	return all, parts
}

func soundingIn(l *score.Line, from, to int) int {
	n := 0
	for i := range l.Strokes {
		if st := &l.Strokes[i]; int(st.Bar) >= from && int(st.Bar) <= to && st.Sounds() {
			n += l.StruckAt(i).Count()
		}
	}
	return n
}

// waysOf writes a voice's line in each way in which the limb could play it.
func (c *Context) waysOf(p *score.Player, limb body.Limb, v *openVoice) []CueLine {
	var plain, paid []CueLine
	have := inUse(p, limb)
	for _, w := range waysFor(v.in, limb) {
		for _, with := range choicesOf(w, have) {
			if line := v.line(p, limb, v.name, v.in, w, with); line.Costs == "" {
				plain = append(plain, line)
			} else {
				paid = append(paid, line)
			}
		}
	}
	list := slices.Concat(plain, paid, c.insteadOf(p, limb, v, have))
	return list[:min(len(list), mostWays)]
}

// insteadOf writes a voice's line on what the player has that stands in for it.
func (c *Context) insteadOf(p *score.Player, limb body.Limb, v *openVoice, have []string) []CueLine {
	var out []CueLine
	for _, st := range c.standInsFor(p, v.in) {
		if !st.there || p.Item(st.name) == nil {
			continue
		}
		i := slices.IndexFunc(st.In.Ways, func(w *kit.Way) bool {
			return w.Limb == kit.KindOf(limb) && (st.mount == kit.AnyMount || st.mount == w.Mount)
		})
		if i >= 0 {
			w := st.In.Ways[i]
			line := v.line(p, limb, st.name, st.In, w, choicesOf(w, have)[0])
			line.Costs = strings.TrimSuffix(st.Costs+"; "+line.Costs, "; ")
			out = append(out, line)
		}
	}
	return out
}

// waysFor are the ways in which a limb plays an instrument without being asked for
// one in words: one of each mount before a second one of any.
func waysFor(in *kit.Instrument, limb body.Limb) []*kit.Way {
	var ways, again []*kit.Way
	for _, w := range in.Ways {
		switch {
		case w.Limb != kit.KindOf(limb) || in.AskFor(w) != (kit.Ask{}):
		case slices.ContainsFunc(ways, func(o *kit.Way) bool { return o.Mount == w.Mount }):
			again = append(again, w)
		default:
			ways = append(ways, w)
		}
	}
	return append(ways, again...)
}

// line writes the voice in one way, on an instrument of the player's that is its
// own or stands in for it.
func (v *openVoice) line(p *score.Player, limb body.Limb, name string, in *kit.Instrument, w *kit.Way, with kit.Choice) CueLine {
	cue := &syntax.Cue{Name: syntax.Word(name), With: with.ThingFor(limb), AsWritten: v.written}
	if in != v.in {
		cue.For = new(syntax.Word(v.name))
	}
	line := CueLine{Text: syntax.Print(cue), Costs: w.Costs}
	if it := p.Item(name); (it == nil || it.Mount != w.Mount) && severalMounts(in) {
		if w.Mount == in.Usual().Mount {
			line.Short = line.Text
		}
		cue.Mount = &syntax.Mount{Text: w.Mount.String()}
		line.Text = syntax.Print(cue)
	}
	return line
}

// severalMounts says whether an instrument can be fixed in more ways than one.
func severalMounts(in *kit.Instrument) bool {
	return slices.ContainsFunc(in.Ways, func(w *kit.Way) bool { return w.Mount != in.Usual().Mount })
}

// choicesOf is with what a way may be played: what the limb has in hand for
// other lines of the player's first, then what is usual.
func choicesOf(w *kit.Way, have []string) []kit.Choice {
	if len(w.With) == 0 {
		return []kit.Choice{{}}
	}
	var out []kit.Choice
	for _, name := range have {
		if i := slices.IndexFunc(w.With, func(ch kit.Choice) bool { return ch.Implement == name }); i >= 0 && i > 0 {
			out = append(out, w.With[i])
		}
	}
	out = out[:min(len(out), 1)]
	return append(out, w.With[0])
}

// inUse are the implements that the player's other lines name, those of the same
// limb first.
func inUse(p *score.Player, limb body.Limb) []string {
	var same, others []string
	for _, cue := range p.Cues {
		for _, with := range cue.With {
			if cue.Limb == limb {
				same = appendNew(same, with.Implement)
			} else {
				others = appendNew(others, with.Implement)
			}
		}
	}
	return append(same, others...)
}

// Try puts a cue behind a limb into the line, checks the piece with it, and says
// whether it holds: it plays what nobody played, and no error and no warning
// comes with it that was not there without. Then it says what it brings. A check
// that was stopped proves nothing.
func (r *Result) Try(line int, limb body.Limb, cue *CueLine) (holds bool) {
	after, ok := r.After([]Edit{{Line: line, End: len(r.File.Lines[line].Text), Text: "  " + limb.String() + " " + cue.Text}})
	if !ok || after.Stopped {
		return false
	}
	was, is := r.Score.Coverage, after.Score.Coverage
	cue.Plays = is.Covered + is.Substituted - was.Covered - was.Substituted
	if cue.Plays <= 0 || !r.holds(after, false) {
		return false
	}
	cue.Told = max(0, len(after.Findings)-len(r.Findings))
	cue.spare = math.Inf(1)
	for _, m := range after.Motions {
		for i := range m.Changes {
			ch := &m.Changes[i]
			if ch.From == nil || !brings(ch, line) || ch.Spare() >= cue.spare {
				continue
			}
			cue.spare = ch.Spare()
			cue.Tightest = fmt.Sprintf("%.2f s to spare at %s", math.Round(ch.Spare()*100)/100, after.Score.Place(ch.To.At()))
			if ch.Lays || ch.Takes || ch.Walks {
				cue.Tightest += ": " + Doing(ch)
			}
		}
	}
	return true
}

// BestFirst orders cues that hold: what pays nothing in sound and brings no
// remark first, then what plays most, then what leaves most time.
func BestFirst(list []CueLine) {
	slices.SortStableFunc(list, func(a, b CueLine) int {
		pays := func(c *CueLine) int { return min(1, len(c.Costs)) + min(1, c.Told) }
		return cmp.Or(b.Plays-a.Plays, pays(&a)-pays(&b), cmp.Compare(b.spare, a.spare))
	})
}

// A Leaving is a statement that leaves out what nobody plays, without its reason.
type Leaving struct {
	syntax.Omit
	Strokes int
}

// Gaps writes what nobody plays as statements that leave it out.
func (r *Result) Gaps() []Leaving {
	var out []Leaving
	for _, g := range r.Score.Coverage.Uncovered {
		if !g.Refused {
			bars := syntax.BarsBetween(int(g.Line.Strokes[g.First].Bar), int(g.Line.Strokes[g.Last].Bar))
			out = append(out, Leaving{syntax.Omit{What: syntax.Word(g.Line.Name), In: []syntax.Atom{bars}, Of: new(syntax.Quoted(g.Line.Part.Name))}, g.Sounding()})
		}
	}
	return out
}

// Acceptance is the statement that would accept a finding, without its reason;
// nil for what cannot be weighed.
func (f *Finding) Acceptance() *syntax.Accept {
	if f.Rule == nil || f.Rule.text || f.Rule.last || f.WholeFile() {
		return nil
	}
	accept := &syntax.Accept{Rule: syntax.Word(f.Rule.Name)}
	if f.HasPlace && f.Times > 0 {
		accept.In = new(syntax.BarsBetween(f.Bar, max(f.Bar, f.LastBar)))
	} else if f.HasPlace {
		accept.At = new(syntax.Bar(f.Bar))
	}
	if f.Player != "" {
		accept.Player = new(syntax.TitleOf(f.Player))
	}
	return accept
}

// brings says whether a change leads to or from what a line of the piece plays.
func brings(ch *motion.Change, line int) bool {
	of := func(e *motion.Event) bool {
		return e != nil && e.Cue != nil && e.Cue.Where.File == 0 && int(e.Cue.Where.Line) == line
	}
	return of(ch.From) || of(ch.To)
}
