package sheet

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// chart is who covers what, passage by passage, and how the load is shared.
func chart(results []*check.Result, views [][]*part, opt Options) Doc {
	doc := Doc{Kind: "chart", Title: "Section chart", Piece: programme(results), Paper: opt.Paper, f: opt.faces()}
	fl := newFlow(&doc, "Section chart", "section chart")
	for i, r := range results {
		if len(results) > 1 {
			fl.heading(pieceOf(r))
		}
		parts(fl, r.Score, views[i])
		passages(fl, r.Score, views[i])
	}
	fl.heading("Loads compared")
	loads(fl, views)
	doc.finish()
	return doc
}

// A passage is the bars between two rehearsal marks.
type passage struct {
	name     string
	from, to int
}

func passagesOf(s *score.Score) []passage {
	marks := slices.Clone(s.Marks)
	slices.SortStableFunc(marks, func(a, b score.Mark) int { return a.Bar - b.Bar })
	out := []passage{{"", s.Grid.First(), s.Grid.Last()}}
	for _, m := range marks {
		if m.Bar <= out[len(out)-1].from {
			out[len(out)-1].name = m.Name
			continue
		}
		out[len(out)-1].to = m.Bar - 1
		out = append(out, passage{m.Name, m.Bar, s.Grid.Last()})
	}
	return out
}

func (p passage) words(s *score.Score) string {
	bars := fmt.Sprintf("bars %s–%s", s.OnPage(p.from), s.OnPage(p.to))
	if p.from == p.to {
		bars = "bar " + s.OnPage(p.from)
	}
	return strings.TrimSpace(p.name + " " + bars)
}

// mostPassages is how many passages stand side by side.
const mostPassages = 7

// parts is the written lines down and the passages across: who plays each, with
// which hand, and reversed what nobody plays.
func parts(fl *flow, s *score.Score, views []*part) {
	lines := linesOf(s)
	if len(lines) == 0 {
		return
	}
	all := passagesOf(s)
	tables := (len(all) + mostPassages - 1) / mostPassages
	each := (len(all) + tables - 1) / tables // as many in each, so that columns are alike
	for group := range slices.Chunk(all, each) {
		t := table{Caption: "Who has which written line", Head: []string{"written"}, Lead: 1}
		weights := []float64{1.7}
		for _, p := range group {
			t.Head = append(t.Head, strings.TrimSpace(p.name+" "+barList(span2(p.from, p.to))))
			weights = append(weights, 1)
		}
		for _, l := range lines {
			row := []string{l.part + ": " + named(s, l.name)}
			for _, p := range group {
				row = append(row, whoHas(s, views, l.part, l.name, p))
			}
			if strings.Join(row[1:], "") != "" {
				t.Rows = append(t.Rows, row)
			}
		}
		if len(t.Rows) > 0 {
			fl.table(t, weights...)
		}
	}
}

// A writtenLine is an instrument of a part, however many lines of text it has.
type writtenLine struct{ part, name string }

func linesOf(s *score.Score) (lines []writtenLine) {
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			if k := (writtenLine{p.Name, l.Name}); !slices.Contains(lines, k) {
				lines = append(lines, k)
			}
		}
	}
	return lines
}

// whoHas is who plays a written line in a passage, and with which hands; "" where
// nothing is written.
func whoHas(s *score.Score, views []*part, part, name string, p passage) string {
	written, lost := 0, 0
	for _, o := range s.Parts {
		for _, l := range o.Lines {
			if o.Name == part && l.Name == name {
				written += p.sounding(l.Strokes)
			}
		}
	}
	if written == 0 {
		return ""
	}
	for _, g := range s.Coverage.Uncovered {
		if g.Line.Part.Name == part && g.Line.Name == name {
			lost += p.sounding(g.Line.Strokes[g.First : g.Last+1])
		}
	}
	var who []string
	for _, v := range views {
		if limbs := v.limbsOn(part, name, p); limbs != 0 {
			who = append(who, v.p.Name+" "+limbs.Letters())
		}
	}
	switch {
	case len(who) == 0 && lost == 0:
		return "left out"
	case len(who) == 0 || lost >= written:
		return nobody
	case lost > 0:
		who = append(who, fmt.Sprintf("%d lost", lost))
	}
	return strings.Join(who, ", ")
}

func (p passage) has(bar int) bool { return bar >= p.from && bar <= p.to }

// sounding is how many of some strokes sound in the passage.
func (p passage) sounding(strokes []score.Stroke) (n int) {
	for i := range strokes {
		if st := &strokes[i]; p.has(int(st.Bar)) && st.Sounds() {
			n++
		}
	}
	return n
}

// limbsOn is the limbs with which a player plays a written line in a passage.
func (v *part) limbsOn(part, name string, p passage) (limbs body.Limbs) {
	for i := range v.strokes {
		st := &v.strokes[i]
		if p.has(int(st.Bar)) && st.cue.Voice == name && (st.cue.Of == "" || st.cue.Of == part) {
			limbs |= st.limbs
		}
	}
	return limbs
}

// mostAcross is how many players stand side by side in one table.
const mostAcross = 4

func passages(fl *flow, s *score.Score, views []*part) {
	for group := range slices.Chunk(views, mostAcross) {
		t := table{Caption: "Who covers what", Head: []string{"passage"}, Lead: 1}
		weights := []float64{1.1}
		for _, v := range group {
			t.Head = append(t.Head, v.p.Name)
			weights = append(weights, 2)
		}
		for _, p := range passagesOf(s) {
			row := []string{p.words(s)}
			for _, v := range group {
				row = append(row, v.covers(p))
			}
			t.Rows = append(t.Rows, row)
		}
		fl.table(t, weights...)
	}
}

// covers is the instruments of a passage with the limbs that play them.
func (v *part) covers(p passage) string {
	var items []*score.Item
	limbs := map[*score.Item]body.Limbs{}
	from, to := v.Grid.Start(p.from), v.Grid.Start(p.to+1)
	first := sort.Search(len(v.strokes), func(i int) bool { return !v.strokes[i].At.Less(from) })
	for i := first; i < len(v.strokes) && v.strokes[i].At.Less(to); i++ {
		st := &v.strokes[i]
		if _, ok := limbs[st.cue.Item]; !ok {
			items = append(items, st.cue.Item)
		}
		limbs[st.cue.Item] |= st.limbs
	}
	if len(items) == 0 {
		return "rests"
	}
	var words []string
	for _, it := range items {
		var who []string
		for l := range limbs[it].Each() {
			who = append(who, l.String())
		}
		words = append(words, strings.Join(who, "+")+" "+it.Called())
	}
	return strings.Join(words, ", ")
}

// loads sets side by side what each player has to do in the whole programme.
func loads(fl *flow, views [][]*part) {
	t := table{Caption: "Loads, repeats counted", Head: []string{"player", "plays", "strokes", "changes", "tight", "walks"}, Lead: 1}
	var order []string
	sums := map[string]*burden{}
	most := 0.0
	for _, piece := range views {
		for _, v := range piece {
			b := sums[v.p.Name]
			if b == nil {
				b = &burden{}
				sums[v.p.Name] = b
				order = append(order, v.p.Name)
			}
			b.add(v)
			most = max(most, float64(b.strokes))
		}
	}
	for _, name := range order {
		b := sums[name]
		t.Rows = append(t.Rows, []string{name, fmt.Sprintf("%.0f%% of the time", 100*b.busy/max(b.total, 1e-9)),
			fmt.Sprint(b.strokes), fmt.Sprint(b.changes), fmt.Sprint(b.tight), fmt.Sprint(b.walks)})
	}
	fl.table(t, 2, 2, 1.2, 1.2, 1, 1)
	fl.bars(order, func(name string) float64 { return float64(sums[name].strokes) / max(most, 1) })
}

// bars draws shares side by side, to compare them at a glance.
func (fl *flow) bars(names []string, share func(string) float64) {
	fl.need(20)
	fl.y += 14
	for _, name := range names {
		fl.need(16)
		end := fl.d.pictured(fmt.Sprintf("%s: %.0f%% of the strokes of the busiest.", name, 100*share(name)))
		w := fl.room() / 4
		fl.d.words(margin0, fl.y+9, fl.d.f.fit(name, tableSize, false, w-6), tableSize, false, black)
		fl.d.box(Rect{margin0 + w, fl.y + 1, max(1, (fl.room()-w)*share(name)), 9}, black, middling, 0.6)
		end()
		fl.y += 15
	}
	fl.para("Bars: strokes of each player, against the busiest.", false)
}

// A burden is what one player has to do.
type burden struct {
	strokes, changes, tight, walks int
	busy, total                    float64
}

// stretch is how long after a stroke a player still counts as playing, in
// seconds: a bar or so (common practice, no source).
const stretch = 2.0

func (b *burden) add(v *part) {
	b.total += v.Time.Total()
	until := 0.0
	for i := range v.m.Events {
		e := &v.m.Events[i]
		if e.Kind == motion.Strike || e.Kind == motion.RollOn {
			b.strokes++
		}
		end := min(max(e.T1, e.T0+stretch), v.Time.Total())
		b.busy += max(0, end-max(until, e.T0))
		until = max(until, end)
	}
	for i := range v.m.Changes {
		c := &v.m.Changes[i]
		if !worthSaying(c) {
			continue
		}
		if c.Lays || c.Takes {
			b.changes++
		}
		if c.Tight() || c.Short() {
			b.tight++
		}
		if c.Walks {
			b.walks++
		}
	}
}
