package sheet

import (
	"fmt"
	"math"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/check"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// conductor is what will sound different from what is written, how fast it
// can go, and where a breath would help.
func conductor(results []*check.Result, views [][]*part, opt Options) Doc {
	doc := Doc{Kind: "conductor", Title: "Conductor's page", Piece: programme(results), Paper: opt.Paper, f: opt.faces()}
	fl := newFlow(&doc, "For the conductor", "for the conductor")
	for i, r := range results {
		if len(results) > 1 {
			fl.heading(pieceOf(r))
		}
		differences(fl, r)
		ceilings(fl, r)
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

// differences is what is left out, replaced, or pays in sound, bar by bar.
func differences(fl *flow, r *check.Result) {
	type entry struct {
		at  beat.Rat
		row []string
	}
	var list []entry
	add := func(at beat.Rat, where, who, what string) { list = append(list, entry{at, []string{where, who, what}}) }
	for _, o := range r.Score.Omits {
		if o.Strokes > 0 {
			add(r.Score.Grid.Start(o.From), barsWords(r.Score, o.From, o.To), o.Part, "no "+named(r.Score, o.Name)+": "+o.Reason)
		}
	}
	for _, g := range r.Score.Coverage.Uncovered {
		a, b := &g.Line.Strokes[g.First], &g.Line.Strokes[g.Last]
		add(a.At, barsWords(r.Score, int(a.Bar), int(b.Bar)), g.Line.Part.Name, "no "+g.Line.Inst.Name()+": nobody plays it")
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Severity != check.Compromise {
			continue
		}
		at := r.Score.Grid.Start(r.Score.Grid.First())
		if f.HasPlace {
			at = f.At
		}
		add(at, atPlace(f), f.Player, f.Message)
	}
	if len(list) == 0 {
		fl.para("Everything sounds as it is written.", true)
		return
	}
	slices.SortStableFunc(list, func(a, b entry) int { return a.at.Cmp(b.at) })
	t := Table{Caption: "What will sound different", Head: []string{"where", "whose", "what"}, Lead: 2}
	for _, e := range list {
		t.Rows = append(t.Rows, e.row)
	}
	fl.table(t, 1, 1.2, 4)
}

func atPlace(f *check.Finding) string {
	if !f.HasPlace {
		return "throughout"
	}
	return "bar " + f.PlaceWords()
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

// ceilings is how fast each player can take it: up to where nothing is at the
// edge, and above where somebody cannot.
func ceilings(fl *flow, r *check.Result) {
	t := Table{Caption: "How fast it can go", Head: []string{"player", "easy up to", "at the edge above", "cannot above", "what limits it"}, Lead: 1}
	for i, c := range r.Ceilings() {
		limit := &c.Cannot
		if limit.None() {
			limit = &c.Edge
		}
		why := "nothing here, up to ten times as fast"
		if !limit.None() {
			why = limit.Words + ", at " + limit.Place
		}
		t.Rows = append(t.Rows, []string{c.Player, easyUpTo(r, r.Motions[i]), boundWords(&c.Edge), boundWords(&c.Cannot), why})
	}
	if len(t.Rows) > 0 {
		fl.table(t, 1.1, 1.6, 1.6, 1.6, 2.4)
	}
}

func boundWords(b *check.Bound) string {
	switch {
	case b.None():
		return "no limit"
	case b.Never():
		return "not at any tempo"
	}
	return tempoWords(b.Factor, b.CountsPerMinute)
}

func tempoWords(factor, perMinute float64) string {
	return fmt.Sprintf("%.0f a minute (%.0f%% of written)", math.Floor(perMinute), math.Floor(factor*100))
}

// easyUpTo is the tempo at which the tightest change is still easy.
func easyUpTo(r *check.Result, m *motion.Result) string {
	factor := math.Inf(1)
	var at beat.Rat
	for i := range m.Changes {
		c := &m.Changes[i]
		if worthSaying(c) && c.Need.Steady > 0 && c.Window/c.Need.Steady < factor {
			factor, at = c.Window/c.Need.Steady, c.To.At()
		}
	}
	switch {
	case math.IsInf(factor, 1):
		return "no changes"
	case factor <= 0:
		return "not at any tempo"
	}
	return tempoWords(factor, factor*r.Score.Tempo.At(at)/unitAt(r.Score, at).Float())
}

// breaths is the places where a change does not fit easily: a breath there, a
// little time before the count, would make it easy.
func breaths(fl *flow, r *check.Result, views []*part) {
	t := Table{Caption: "Where a breath would help", Head: []string{"before", "who", "for what", "how much"}, Lead: 2}
	type place struct {
		at  beat.Rat
		row []string
	}
	var all []place
	for _, v := range views {
		for i := range v.shifts {
			sh := &v.shifts[i]
			if sh.Tight() || sh.Short() {
				all = append(all, place{sh.at, []string{"bar " + r.Score.Place(sh.at), v.p.Name, doing(sh.Change), secs(-sh.Spare())}})
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
