package sheet

import (
	"fmt"
	"math"
	"slices"

	"handful/lang/check"
	"handful/lang/score"
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

// differences is what is left out, replaced, or pays in sound.
func differences(fl *flow, r *check.Result) {
	t := Table{Caption: "What will sound different", Head: []string{"where", "what", "why or how"}, Lead: 2}
	for _, o := range r.Score.Omits {
		if o.Strokes == 0 {
			continue
		}
		what := "no " + named(r.Score, o.Name)
		if o.Part != "" {
			what += " (" + o.Part + ")"
		}
		t.Rows = append(t.Rows, []string{barsWords(r.Score, o.From, o.To), what, o.Reason})
	}
	for _, g := range r.Score.Coverage.Uncovered {
		a, b := &g.Line.Strokes[g.First], &g.Line.Strokes[g.Last]
		t.Rows = append(t.Rows, []string{barsWords(r.Score, int(a.Bar), int(b.Bar)), "no " + g.Line.Inst.Name() + " (" + g.Line.Part.Name + ")", "nobody plays it"})
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Severity == check.Compromise {
			t.Rows = append(t.Rows, []string{atPlace(f), f.Player, f.Message})
		}
	}
	if len(t.Rows) == 0 {
		fl.para("Everything sounds as it is written.", true)
		return
	}
	fl.table(t, 1, 1.6, 3.4)
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
		return fmt.Sprintf("bar %d", from)
	case from == s.Grid.First() && to == s.Grid.Last():
		return "throughout"
	}
	return fmt.Sprintf("bars %d–%d", from, to)
}

func ceilings(fl *flow, r *check.Result) {
	t := Table{Caption: "How fast it can go", Head: []string{"player", "at most", "what limits it"}, Lead: 1}
	for _, c := range r.Ceilings() {
		switch {
		case math.IsInf(c.Factor, 1):
			t.Rows = append(t.Rows, []string{c.Player, "no limit", "nothing here"})
		case c.Factor <= 0:
			t.Rows = append(t.Rows, []string{c.Player, "not at any tempo", c.Words + ", at " + c.Place})
		default:
			t.Rows = append(t.Rows, []string{c.Player, fmt.Sprintf("%.0f%% of the written tempo (%.0f a minute)", math.Floor(c.Factor*100), math.Floor(c.CountsPerMinute)), c.Words + ", at " + c.Place})
		}
	}
	if len(t.Rows) > 0 {
		fl.table(t, 1.2, 2, 3)
	}
}

// breaths is the places where a change does not fit easily: a breath there, a
// little time before the count, would make it easy.
func breaths(fl *flow, r *check.Result, views []*part) {
	t := Table{Caption: "Where a breath would help", Head: []string{"before", "who", "for what", "how much"}, Lead: 2}
	type place struct {
		at  float64
		row []string
	}
	var all []place
	for _, v := range views {
		for i := range v.shifts {
			sh := &v.shifts[i]
			if !sh.Tight() && !sh.Short() {
				continue
			}
			all = append(all, place{sh.at.Float(), []string{"bar " + r.Score.Place(sh.at), v.p.Name, doing(sh.Change), secs(-sh.Spare())}})
		}
	}
	slices.SortStableFunc(all, func(a, b place) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return 0
	})
	for _, p := range all {
		t.Rows = append(t.Rows, p.row)
	}
	if len(t.Rows) > 0 {
		fl.table(t, 1, 1.4, 3.4, 1)
	}
}
