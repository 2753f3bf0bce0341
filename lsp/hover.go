package lsp

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"go.lsp.dev/protocol"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

// Hover says what is known about the place under the cursor.
func (s *session) Hover(ctx context.Context, p *protocol.HoverParams) (*protocol.Hover, error) {
	d, r, err := s.checked(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	f := d.parsed()
	line, col := d.at(p.Position)
	l := f.Lines[line]
	h := hover{s: s, d: d, r: r, line: line, pos: p.Position}
	at, ok := pieceAt(l, d.seats()[line], col)
	text, where := h.reason(col, ok && (at.role == roleStroke || at.role == roleKey || at.role == roleSign))
	if ok {
		if word := h.about(l, at); word != "" {
			if text != "" {
				text += "\n\n"
			}
			text, where = text+word, at.Span
		}
	}
	if text == "" {
		return nil, nil
	}
	return &protocol.Hover{Contents: s.markup(text), Range: ptr(d.where(line, where))}, nil
}

// markup is Markdown for clients that show it, else the plain text.
func (s *session) markup(text string) *protocol.MarkupContent {
	if s.can.markdown {
		return &protocol.MarkupContent{Kind: protocol.MarkupKindMarkdown, Value: text}
	}
	return &protocol.MarkupContent{Kind: protocol.MarkupKindPlainText, Value: plainText(text)}
}

type hover struct {
	s    *session
	d    *document
	r    *check.Result
	line int
	pos  protocol.Position
	told bool // the arithmetic of what is under the cursor
}

// about says what a piece of a line is, by what it is there for.
func (h *hover) about(l *syntax.Line, at piece) string {
	cat := h.r.Score.Catalogue
	switch nameRole(at.role, at.text, cat) {
	case roleStroke, roleKey, roleSign:
		if said := h.placed(l, at); said != "" {
			return said
		}
		return h.stroke(at)
	case roleInstrument:
		if in := instrumentAt(h.d, h.r, subject{role: roleInstrument, name: at.text}, h.pos); in != nil {
			return block(cat.Describe(in))
		}
	case roleImplement:
		if im := cat.Implement(at.text); im != nil {
			return block(cat.DescribeImplement(im))
		}
	case roleMount:
		return h.way(l, func(w *kit.Way) bool { return w.Mount.String() == at.text || w.Mount.String() == "on "+at.text })
	case roleWay, roleWayName:
		return h.asked(l)
	case rolePlayer:
		return h.player(at.text)
	case roleRule:
		if rule := check.RuleNamed(at.text); rule != nil {
			return fmt.Sprintf("**%s**: finds %s.\n\n%s\n\n%s", rule.Name, rule.Finds, rule.Means, rule.Stands)
		}
	case roleMark:
		return h.mark(at.text)
	case rolePlace:
		return h.place(at.text)
	case roleLimb:
		return h.limb(at.text)
	case roleWord:
		if i := slices.IndexFunc(syntax.Forms(), func(f *syntax.Form) bool { return f.Word == at.text }); i >= 0 {
			form := syntax.Forms()[i]
			return fmt.Sprintf("**%s**: %s\n\n%s", form.Word, form.Says, fenced("handful", form.Shape))
		}
	}
	return ""
}

func (h *hover) mark(name string) string {
	for _, m := range h.r.Score.Marks {
		if m.Name == name {
			return fmt.Sprintf("**mark %s**, bar %d%s, at %s", md(m.Name), m.Bar, md(h.r.Score.InPrint(m.Bar)), h.times(h.r.Score.Grid.Start(m.Bar), m.Bar, 0))
		}
	}
	return ""
}

func (h *hover) place(text string) string {
	grid := h.r.Score.Grid
	place, ok := syntax.ParsePlace(text)
	if !ok || place.Mark != "" || !grid.Has(place.Bar) {
		return ""
	}
	pos := grid.Start(place.Bar)
	if exact, ok := grid.At(place.Bar, place.Count); ok && place.HasCount {
		pos = exact
	}
	return fmt.Sprintf("**bar %d**%s, %s, at %s", place.Bar, md(h.r.Score.InPrint(place.Bar)), grid.Meter(place.Bar), h.times(pos, place.Bar, 0))
}

func (h *hover) limb(word string) string {
	for _, limb := range syntax.Limbs() {
		if limb[0] == word {
			return fmt.Sprintf("**%s**: %s%s", limb[0], limb[1], h.chosen())
		}
	}
	return ""
}

// chosen says which hand a line for either hand has got.
func (h *hover) chosen() string {
	for _, m := range h.r.Motions {
		for cue, limb := range m.AnyHands {
			if cue.Where.File == 0 && int(cue.Where.Line) == h.line {
				return "; here the " + limb.Name() + " has it"
			}
		}
	}
	return ""
}

// asked says which ways a cue asks for in words.
func (h *hover) asked(l *syntax.Line) string {
	for _, p := range h.r.Score.Players {
		for _, cue := range p.Cues {
			if cue.Asks != nil && cue.Where.File == 0 && int(cue.Where.Line) == h.line {
				return h.way(l, func(w *kit.Way) bool { return slices.Contains(cue.Asks.Ways, w) })
			}
		}
	}
	return h.way(l, func(*kit.Way) bool { return false })
}

// way says what it costs to play the line's instrument in the ways that are
// meant.
func (h *hover) way(l *syntax.Line, meant func(*kit.Way) bool) string {
	var name string
	switch s := l.Stmt.(type) {
	case *syntax.LimbLine:
		if s.Cue != nil {
			name = s.Cue.Name.Text
		}
	case *syntax.Item:
		name = s.Name.Text
	}
	in := instrumentAt(h.d, h.r, subject{role: roleInstrument, name: name}, h.pos)
	if in == nil {
		return ""
	}
	var out []string
	for _, w := range in.Ways {
		if meant(w) {
			out = append(out, "- "+md(h.r.Score.Catalogue.DescribeWay(w)))
			if w != in.Usual() {
				for _, line := range in.How(w) {
					out = append(out, "  - "+md(line))
				}
			}
		}
	}
	if out == nil {
		return fmt.Sprintf("the catalogue has no way of playing the %s like that", md(in.Name()))
	}
	return "**" + md(in.Name()) + "**\n\n" + strings.Join(out, "\n")
}

// player says how much a player has to do, and how fast it can go.
func (h *hover) player(name string) string {
	for i, m := range h.r.Motions {
		if m.Player.Name != name {
			continue
		}
		lines := []string{fmt.Sprintf("**%s**: %s, %s", md(name), words.Count(len(m.Events), "thing to do", "things to do"), words.Count(countChanges(m), "change", "changes"))}
		if said := m.Player.Person.Words(); len(said) > 0 {
			lines = append(lines, "- "+md(strings.Join(said, "; ")))
		}
		lines = append(lines, "- "+md(h.r.Says(&h.r.Ceilings()[i])))
		if ch := tightest(m, timed); ch != nil {
			lines = append(lines, fmt.Sprintf("- tightest at %s: the %s has %s to %s, %s", h.r.Score.Place(ch.To.At()), ch.Hand.Name(), words.Seconds(ch.Window), md(check.Doing(ch)), check.Spare(ch)))
		}
		return strings.Join(lines, "\n")
	}
	return ""
}

func countChanges(m *motion.Result) int {
	n := 0
	for i := range m.Changes {
		if real(&m.Changes[i]) {
			n++
		}
	}
	return n
}

// real says whether something is laid, taken or walked to, beyond the way from
// one instrument to the next.
func real(ch *motion.Change) bool { return ch.Lays || ch.Takes || ch.Walks }

// timed says whether a real change has a time in which it must be made.
func timed(ch *motion.Change) bool { return ch.From != nil && real(ch) }

// tightest is the change with the least to spare, of those that are meant.
func tightest(m *motion.Result, meant func(*motion.Change) bool) *motion.Change {
	var worst *motion.Change
	for i := range m.Changes {
		if ch := &m.Changes[i]; meant(ch) && (worst == nil || ch.Spare() < worst.Spare()) {
			worst = ch
		}
	}
	return worst
}

// clock writes a time as minutes and seconds.
func clock(s float64) string {
	tenths := int(math.Floor(s*10 + 1e-6))
	return fmt.Sprintf("%d:%02d.%d", tenths/600, tenths/10%60, tenths%10)
}

// times are when a written place is played, on every pass.
func (h *hover) times(pos beat.Rat, bar, pass int) string {
	var out []string
	for _, t := range secondsOf(h.r.Score, pos, bar, pass) {
		if len(out) == 4 {
			return strings.Join(out, ", ") + " …"
		}
		out = append(out, clock(t))
	}
	if out == nil {
		return "no time: this bar is never played"
	}
	return strings.Join(out, ", ")
}

// secondsOf is when a written place is played: on one pass, or for 0 on every
// one.
func secondsOf(sc *score.Score, pos beat.Rat, bar, pass int) []float64 {
	var out []float64
	for i, span := range sc.Time.Spans() {
		if span.From <= bar && bar <= span.To && (pass == 0 || span.Pass == pass) {
			out = append(out, sc.Time.Seconds(i, pos))
		}
	}
	return out
}

// placed says which of a set a line of a kit is about.
func (h *hover) placed(l *syntax.Line, at piece) string {
	s, ok := l.Stmt.(*syntax.Item)
	if !ok {
		return ""
	}
	set, which, one := s.Member()
	if !one || at.role != roleKey || which.Span() != at.Span {
		return ""
	}
	items := h.r.Score.Shared
	if o := playerOf(h.d.parsed(), h.d.seats(), h.line); o >= 0 {
		for _, pl := range h.r.Score.Players {
			if int(pl.Where.Line) == o {
				items = pl.Items
			}
		}
	}
	in := instrumentAt(h.d, h.r, subject{role: roleInstrument, name: set.Text}, h.pos)
	if in == nil {
		return ""
	}
	n, lacks := in.MemberCalled(which.Text)
	if lacks != "" {
		return md(lacks)
	}
	for _, it := range items {
		if it.Inst == in {
			return md(it.DescribeMember(n))
		}
	}
	return md(in.DescribeMember(n))
}

// stroke says what is going on when a stroke in the bars is played, and what
// its hand needs to get there.
func (h *hover) stroke(at piece) string {
	pos, bar, cue, struck, ok := h.written(at)
	if !ok {
		return ""
	}
	sc := h.r.Score
	_, count := sc.Grid.Place(pos)
	var b strings.Builder
	pass := 0
	if cue != nil {
		pass = cue.Pass
	}
	fmt.Fprintf(&b, "**bar %d, count %s**, at %s\n\n", bar, count, h.times(pos, bar, pass))
	for _, said := range struck {
		b.WriteString("- " + md(said) + "\n")
	}
	if struck != nil {
		b.WriteByte('\n')
	}
	when := secondsOf(sc, pos, bar, pass)
	if len(when) > 0 {
		b.WriteString("| | does | holds |\n| --- | --- | --- |\n")
		for _, m := range h.r.Motions {
			if cue == nil || cue.Player == m.Player {
				h.doing(&b, m, when[0], len(h.r.Motions) > 1 && cue == nil)
			}
		}
	}
	if cue != nil && !h.told {
		for _, m := range h.r.Motions {
			if worst := tightest(m, func(ch *motion.Change) bool { return ch.To.Cue == cue && ch.To.At() == pos && len(ch.Motions) > 0 }); worst != nil {
				b.WriteString("\n" + changeWords(worst))
			}
		}
	}
	return b.String()
}

// written finds the place in the music of a stroke in the text: its first, if
// a simile plays it again.
func (h *hover) written(at piece) (pos beat.Rat, bar int, cue *score.Cue, struck []string, ok bool) {
	here := func(list []score.Stroke, keys []*score.Struck, of *score.Item) bool {
		for i := range list {
			w := list[i].Where()
			if w.File == 0 && int(w.Line) == h.line && int(w.Start) <= at.Start && at.Start < int(w.End) && (!ok || list[i].At.Less(pos)) {
				pos, bar, ok = list[i].At, int(list[i].Bar), true
				struck = nil
				if i < len(keys) {
					struck = describeKeys(keys[i], of)
				}
			}
		}
		return ok
	}
	for _, p := range h.r.Score.Players {
		for _, c := range p.Cues {
			if !c.AsWritten && here(c.Strokes, c.Struck, c.Item) {
				return pos, bar, c, struck, true
			}
		}
	}
	for _, part := range h.r.Score.Parts {
		for _, l := range part.Lines {
			if here(l.Strokes, l.Struck, &score.Item{Inst: l.Inst}) {
				return pos, bar, nil, struck, true
			}
		}
	}
	return pos, bar, nil, nil, false
}

// describeKeys says of each bar or drum that is struck where it is and how it
// sounds.
func describeKeys(s *score.Struck, of *score.Item) []string {
	if s == nil {
		return nil
	}
	in := of.Inst
	var out []string
	for _, k := range s.Keys {
		said := of.DescribeMember(k.Member(in))
		if !k.Pitch.None() {
			said = in.DescribeNote(k.Pitch)
		}
		if said == "" {
			said = k.String() + " is not on the " + in.Name()
		}
		out = append(out, said)
	}
	return out
}

// doing writes what each limb of a player does and holds at a moment.
func (h *hover) doing(b *strings.Builder, m *motion.Result, t float64, named bool) {
	who := ""
	if named {
		who = md(m.Player.Name) + ", "
	}
	does := map[body.Limb][]string{}
	first, _ := slices.BinarySearchFunc(m.Events, t-1e-6, func(e motion.Event, t float64) int {
		switch {
		case e.T0 < t:
			return -1
		case e.T0 > t:
			return 1
		}
		return 0
	})
	for i := max(0, first-64); i < len(m.Events) && m.Events[i].T0 <= t+1e-6; i++ {
		e := &m.Events[i]
		if e.T1 < t-1e-6 {
			continue
		}
		for limb := range e.Limbs.Each() {
			does[limb] = append(does[limb], eventWords(e))
		}
	}
	for limb := range body.Mouth + 1 {
		what, holds := strings.Join(does[limb], ", "), ""
		if limb.IsHand() {
			holds = m.HoldsAt(limb, t).Words()
		}
		if what != "" || holds != "" {
			fmt.Fprintf(b, "| %s%s | %s | %s |\n", who, limb.Name(), md(what), md(holds))
		}
	}
}

func eventWords(e *motion.Event) string {
	switch {
	case e.Kind == motion.PageTurn:
		return "turns the page"
	case e.Item() == nil:
		return "is busy"
	}
	name := e.Item().Called()
	switch e.Kind {
	case motion.RollOn:
		return "rolls on the " + name
	case motion.Stop, motion.Choke:
		return "stops the " + name
	}
	return "strikes the " + name
}
