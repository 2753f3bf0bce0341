package sheet

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/check"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/words"
)

// conductor is what will sound different from what is written, in a sentence and
// in the lines that weigh most, how fast it can go, and where a breath would help.
func conductor(results []*check.Result, views [][]*part, opt Options) Doc {
	doc := Doc{Kind: "conductor", Title: "Conductor's page", Piece: programme(results), Paper: opt.Paper, f: opt.faces()}
	fl := newFlow(&doc, "For the conductor", "for the conductor")
	for i, r := range results {
		if len(results) > 1 {
			fl.heading(pieceOf(r))
		}
		fl.para(inAWord(r), true)
		differences(fl, r)
		fl.para(oneTempo(r), false)
		breaths(fl, r, views[i])
		if c := r.Score.Coverage; c.Written > 0 {
			fl.para(fmt.Sprintf("Strokes written: %d. As written: %d; on another instrument: %d; left out for a reason: %d; played by nobody: %d.",
				c.Written, c.Covered, c.Substituted, c.Omitted, c.Written-c.Covered-c.Substituted-c.Omitted), false)
		}
	}
	fl.para("A verdict on time is an aid to judgement, good to perhaps 30 % either way; the player who has to do it decides.", false)
	doc.finish()
	return doc
}

// inAWord is all that a conductor needs to know, in one sentence.
func inAWord(r *check.Result) string {
	c := r.Score.Coverage
	parts := []string{"Nothing is missing"}
	if lost := c.Written - c.Covered - c.Substituted; lost > 0 {
		parts[0] = words.Count(lost, "stroke is", "strokes are") + " missing"
	}
	for _, k := range swaps(r.Score) {
		parts = append(parts, fmt.Sprintf("%s of the %s %s on the %s", words.Count(k.strokes, "stroke", "strokes"), k.written, map[bool]string{true: "is", false: "are"}[k.strokes == 1], k.plays))
	}
	if _, easy, ok := easiest(r); ok && easy > 0 {
		parts = append(parts, fmt.Sprintf("keep to %.0f or less", math.Floor(easy)))
	}
	return strings.Join(parts, "; ") + "."
}

// A swap is what is played on another instrument than it is written for.
type swap struct {
	written, plays string
	strokes        int
}

func swaps(s *score.Score) (list []swap) {
	for _, p := range s.Players {
		for _, cue := range p.Cues {
			if !cue.Substitutes() {
				continue
			}
			k := swap{written: cue.For.Name(), plays: cue.Item.Called()}
			i := slices.IndexFunc(list, func(o swap) bool { return o.written == k.written && o.plays == k.plays })
			if i < 0 {
				list, i = append(list, k), len(list)
			}
			list[i].strokes += len(soundingBars(cue, false))
		}
	}
	return list
}

// soundingBars is the bar of each stroke of a cue that sounds, or of its rolls and
// graces alone.
func soundingBars(cue *score.Cue, rolls bool) (bars []int) {
	for i := range cue.Strokes {
		if st := &cue.Strokes[i]; st.Sounds() && (!rolls || st.Has(score.Roll) || st.Grace > 0) {
			bars = append(bars, int(st.Bar))
		}
	}
	return bars
}

// mostLines is how many differences a conductor's page has of one piece.
const mostLines = 5

// A difference is something that sounds otherwise than it is written, in the bars
// in which it does.
type difference struct {
	weight    int // what is missing comes first, then what is on another instrument
	bars      []int
	who, what string
}

// differences is what is left out, replaced, or pays in sound: what weighs most,
// each with all its bars.
func differences(fl *flow, r *check.Result) {
	list := soundsOtherwise(r)
	if len(list) == 0 {
		fl.para("Everything sounds as it is written.", true)
		return
	}
	t := table{Caption: "What will sound different", Head: []string{"bars", "whose", "what"}, Lead: 2}
	for _, d := range list[:min(mostLines, len(list))] {
		where := "throughout"
		if len(d.bars) > 0 {
			where = barList(d.bars)
		}
		t.Rows = append(t.Rows, []string{where, d.who, d.what})
	}
	fl.table(t, 1.4, 1, 3.8)
	if more := len(list) - mostLines; more > 0 {
		fl.para(fmt.Sprintf("%s weigh less; the check has them.", words.Count(more, "more difference", "more differences")), false)
	}
}

func soundsOtherwise(r *check.Result) (list []difference) {
	paid := costsOf(r)
	add := func(weight int, bars []int, who, what string) {
		i := slices.IndexFunc(list, func(d difference) bool { return d.who == who && d.what == what })
		if i < 0 {
			list, i = append(list, difference{weight, nil, who, what}), len(list)
		}
		list[i].bars = append(list[i].bars, bars...)
	}
	for _, o := range r.Score.Omits {
		if o.Strokes > 0 {
			add(1, span2(o.From, o.To), o.Part, "no "+named(r.Score, o.Name)+": "+o.Reason)
		}
	}
	for _, g := range r.Score.Coverage.Uncovered {
		var bars []int
		for i := g.First; i <= g.Last; i++ {
			bars = append(bars, int(g.Line.Strokes[i].Bar))
		}
		add(0, bars, g.Line.Part.Name, "no "+g.Line.Inst.Name()+": nobody plays it")
	}
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Severity == check.Compromise {
			weight, bars := barsOfCost(r, f, paid)
			add(weight, bars, f.Player, f.Message())
		}
	}
	for i := range list {
		slices.Sort(list[i].bars)
		list[i].bars = slices.Compact(list[i].bars)
	}
	slices.SortStableFunc(list, func(a, b difference) int {
		return cmp.Or(a.weight-b.weight, len(b.bars)-len(a.bars))
	})
	return list
}

// barsOfCost is every bar in which what a finding says is so: it is said once for
// a player and an instrument, at its first place.
func barsOfCost(r *check.Result, f *check.Finding, paid costing) (weight int, bars []int) {
	const swapped, costs = 2, 3
	for _, m := range r.Motions {
		if m.Player.Name != f.Player {
			continue
		}
		for _, cue := range m.Player.Cues {
			if cue.Where.Line != f.Where.Line || cue.Where.File != f.Where.File {
				continue
			}
			if cue.Substitutes() && strings.Contains(f.Message(), cue.For.Name()) {
				return swapped, barsAlike(m, cue, f, func(o *score.Cue) bool { return o.For == cue.For })
			}
			bars = append(bars, barsAlike(m, cue, f, func(o *score.Cue) bool { return paid.same(cue, o) })...)
		}
	}
	if bars == nil && f.HasPlace {
		bars = []int{f.Bar}
	}
	return costs, bars
}

// barsAlike is the bars of a player's cues on the same thing that are like one.
func barsAlike(m *motion.Result, cue *score.Cue, f *check.Finding, alike func(*score.Cue) bool) (bars []int) {
	for _, o := range m.Player.Cues {
		if o.Item == cue.Item && alike(o) {
			bars = append(bars, soundingBars(o, f.Rule.Name != check.RuleCompromise)...)
		}
	}
	return bars
}

// A costing is what the ways in which each cue is played cost.
type costing map[*score.Cue]map[string]bool

func costsOf(r *check.Result) costing {
	list := costing{}
	for _, m := range r.Motions {
		for i := range m.Chosen {
			x := &m.Chosen[i]
			if x.Way == nil {
				continue
			}
			if list[x.Cue] == nil {
				list[x.Cue] = map[string]bool{}
			}
			list[x.Cue][x.Way.Costs] = true
		}
	}
	return list
}

// same says whether two cues are played in a way that costs the same.
func (c costing) same(a, b *score.Cue) bool {
	for cost := range c[a] {
		if c[b][cost] {
			return true
		}
	}
	return a == b
}

func span2(from, to int) (bars []int) {
	for bar := from; bar <= to; bar++ {
		bars = append(bars, bar)
	}
	return bars
}

// barList writes bars as they are said: 1, 9–24, 41.
func barList(bars []int) string {
	var out []string
	for i := 0; i < len(bars); {
		n := i
		for n+1 < len(bars) && bars[n+1] == bars[n]+1 {
			n++
		}
		text := fmt.Sprint(bars[i])
		if n > i {
			text += fmt.Sprintf("–%d", bars[n])
		}
		out = append(out, text)
		i = n + 1
	}
	return strings.Join(out, ", ")
}

func named(s *score.Score, name string) string {
	if in := s.Catalogue.Resolve(name); in != nil {
		return in.Name()
	}
	return name
}

func barsWords(s *score.Score, from, to int) string {
	switch {
	case from == to:
		return "bar " + s.OnPage(from)
	case from == s.Grid.First() && to == s.Grid.Last():
		return "throughout"
	}
	return fmt.Sprintf("bars %s–%s", s.OnPage(from), s.OnPage(to))
}

// oneTempo says how fast the piece can go: up to where every change is easy, and
// above where somebody is at the edge, or cannot.
func oneTempo(r *check.Result) string {
	var edge, cannot *check.Ceiling
	all := r.Ceilings()
	for i := range all {
		if c := &all[i]; edge == nil || c.Edge.Factor < edge.Edge.Factor {
			edge = c
		}
		if c := &all[i]; cannot == nil || c.Cannot.Factor < cannot.Cannot.Factor {
			cannot = c
		}
	}
	var parts []string
	if factor, easy, ok := easiest(r); ok && factor > 0 {
		parts = append(parts, "every change is easy up to "+tempoWords(factor, easy))
	}
	say := func(what string, who string, b *check.Bound) {
		if b.None() {
			return
		}
		if b.Never() {
			parts = append(parts, "no tempo keeps "+who+" from "+what)
			return
		}
		parts = append(parts, fmt.Sprintf("above %s %s is %s: %s, at %s", tempoWords(b.Factor, b.CountsPerMinute), who, what, b.Words, b.Place))
	}
	if edge != nil {
		say("at the edge", edge.Player, &edge.Edge)
		say("out of time", cannot.Player, &cannot.Cannot)
	}
	if len(parts) == 0 {
		return "Tempo: nothing here limits it, up to ten times as fast."
	}
	return "Tempo: " + strings.Join(parts, "; ") + "."
}

func tempoWords(factor, perMinute float64) string {
	return fmt.Sprintf("%.0f a minute (%.0f%% of written)", math.Floor(perMinute), math.Floor(factor*100))
}

// easiest is the tempo at which the tightest change of anybody is still easy.
func easiest(r *check.Result) (factor, perMinute float64, ok bool) {
	factor = math.Inf(1)
	var at beat.Rat
	for _, m := range r.Motions {
		for i := range m.Changes {
			c := &m.Changes[i]
			if worthSaying(c) && c.Need.Steady > 0 && c.Window/c.Need.Steady < factor {
				factor, at = c.Window/c.Need.Steady, c.To.At()
			}
		}
	}
	if math.IsInf(factor, 1) {
		return 0, 0, false
	}
	factor = max(0, factor)
	return factor, factor * r.Score.Tempo.At(at) / unitAt(r.Score, at).Float(), true
}

// breaths is the places where a change does not fit easily: a breath there, a
// little time before the count, would make it easy.
func breaths(fl *flow, r *check.Result, views []*part) {
	t := table{Caption: "Where a breath would help", Head: []string{"before", "who", "for what", "how much"}, Lead: 2}
	type place struct {
		at  beat.Rat
		row []string
	}
	var all []place
	for _, v := range views {
		for i := range v.shifts {
			sh := &v.shifts[i]
			if sh.Tight() || sh.Short() {
				all = append(all, place{sh.at, []string{"bar " + r.Score.Place(sh.at), v.p.Name, check.Doing(sh.Change), secs(-sh.Spare())}})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b place) int { return a.at.Cmp(b.at) })
	for _, p := range all {
		t.Rows = append(t.Rows, p.row)
	}
	if len(t.Rows) > 0 {
		fl.table(t, 1, 1.4, 3.4, 1)
	}
}
