package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/plan"
	"example.org/handful/lang/words"
)

// Absent is the page for the hour before a concert at which somebody is missing: who
// plays what who did not before, what to carry where before the beginning, what nobody
// plays and why, and what has to be decided. What would take two pages is told shorter.
func Absent(a *plan.Absence, opt Options) Doc {
	if opt.Paper.W == 0 {
		opt.Paper = Papers()[0]
	}
	doc := absentPage(a, &opt, false)
	if len(doc.Pages) > 1 {
		doc = absentPage(a, &opt, true)
	}
	if len(doc.Pages) > 1 {
		shorter := *a
		shorter.Decide = fewer(a.Decide)
		doc = absentPage(&shorter, &opt, true)
	}
	return doc
}

// fewer puts together what is to be judged, behind the first of it: a check of
// the plan has the rest.
func fewer(decide []string) (out []string) {
	more, at := 0, -1
	for _, d := range decide {
		if strings.HasPrefix(d, plan.GoodEnough) || strings.HasPrefix(d, plan.AllRight) {
			if at >= 0 {
				more++
				continue
			}
			at = len(out)
		}
		out = append(out, d)
	}
	if more > 0 {
		out = slices.Insert(out, at+1, fmt.Sprintf("%s %s more cost sound or have little to spare: a check of the plan names them.", plan.GoodEnough, words.Count(more, "thing", "things")))
	}
	return out
}

func absentPage(a *plan.Absence, opt *Options, short bool) Doc {
	who := andWords(a.Without)
	doc := Doc{Kind: "without", Title: "Without " + who, Piece: pieceOf(a.Plan.Result), Paper: opt.Paper, f: opt.faces()}
	fl := newFlow(&doc, "Without "+who, "without "+who)
	fl.para(absentWords(a), true)
	carrying(fl, a)
	playing(fl, a, short)
	unplayed(fl, a, short)
	if len(a.Decide) > 0 {
		fl.heading("To be decided")
		for _, d := range a.Decide {
			fl.bullet(d)
		}
	}
	if len(a.Open) > 0 {
		fl.heading("Open before already, and left as it is")
		for i := range a.Open {
			f := &a.Open[i]
			text := f.Message()
			if f.HasPlace {
				text = "bar " + f.PlaceWords() + ": " + text
			}
			fl.para(text, false)
		}
	}
	doc.finish()
	return doc
}

// AbsentDocs is that page, and the sheets of everybody who plays something new.
func AbsentDocs(a *plan.Absence, opt Options) []Doc {
	if opt.Paper.W == 0 {
		opt.Paper = Papers()[0]
	}
	out := []Doc{Absent(a, opt)}
	for i, m := range a.Plan.Result.Motions {
		name := m.Player.Name
		if opt.Player != "" && name != opt.Player || !slices.ContainsFunc(a.New, func(n plan.NewCue) bool { return n.Player == name }) {
			continue
		}
		v := newPart(a.Plan.Result, i, opt.faces())
		v.unfolded = opt.Unfolded
		out = append(out, v.sheets(&opt)...)
	}
	return out
}

// absentWords is the whole answer in a sentence or two.
func absentWords(a *plan.Absence) string {
	lost, taken := 0, 0
	for _, l := range a.Plan.Lost {
		lost += l.Strokes
	}
	var players []string
	for i := range a.New {
		taken += a.New[i].Strokes
		if p := a.New[i].Player; !slices.Contains(players, p) {
			players = append(players, p)
		}
	}
	var out []string
	switch {
	case taken == 0 && lost == 0:
		out = append(out, "Nothing that is written is missing, and nobody plays anything new.")
	case taken == 0:
		out = append(out, fmt.Sprintf("Nobody can take any of the %s over beside what they play.", words.Count(lost, "stroke", "strokes")))
	case lost == 0:
		out = append(out, fmt.Sprintf("%s over, and nothing is lost.", tookWords(players, taken)))
	default:
		out = append(out, fmt.Sprintf("%s over; nobody plays %s.", tookWords(players, taken), words.Count(lost, "stroke", "strokes")))
	}
	if n := a.Unwritten(); n > 0 {
		out = append(out, fmt.Sprintf("%s that no part has written are nobody’s.", words.Count(n, "stroke", "strokes")))
	}
	out = append(out, "Everything else stays as it is.")
	return strings.Join(out, " ")
}

func tookWords(players []string, n int) string {
	verb := "takes"
	if len(players) > 1 {
		verb = "take"
	}
	return fmt.Sprintf("%s %s %s", andWords(players), verb, words.Count(n, "stroke", "strokes"))
}

func andWords(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}

// carrying is what has to be done before the beginning. What goes the same way
// stands together.
func carrying(fl *flow, a *plan.Absence) {
	if len(a.Carry) == 0 && len(a.Unused) == 0 {
		return
	}
	fl.heading("Before the downbeat")
	for i, c := range a.Carry {
		same := func(o plan.Carried) bool { return o.Player == c.Player && o.Where == c.Where && o.From == c.From }
		if slices.ContainsFunc(a.Carry[:i], same) {
			continue
		}
		var what []string
		for _, o := range a.Carry[i:] {
			if same(o) {
				what = append(what, o.What)
			}
		}
		fl.bullet(fmt.Sprintf("%s: %s – %s (%s)", c.Player, andWords(what), c.Where, c.From))
	}
	if len(a.Unused) > 0 {
		fl.para("Not used now: "+andWords(a.Unused)+".", false)
	}
}

// playing is who does what new, as it comes; short, what comes again stands where it
// comes first.
func playing(fl *flow, a *plan.Absence, short bool) {
	if len(a.New) == 0 {
		return
	}
	fl.heading("Who plays what, as it comes")
	t := table{Head: []string{"where", "who", "what", "first"}, Lead: 2}
	for i := range a.New {
		n := &a.New[i]
		same := func(o plan.NewCue) bool {
			return short && o.Player == n.Player && o.Limb == n.Limb && o.Instrument == n.Instrument && o.Of == n.Of && o.With == n.With
		}
		if slices.ContainsFunc(a.New[:i], same) {
			continue
		}
		places := [][2]int{{n.From, n.To}}
		for _, o := range a.New[i+1:] {
			if same(o) {
				places = append(places, [2]int{o.From, o.To})
			}
		}
		where := placesWords(places)
		if n.Mark != "" {
			where = n.Mark + ", " + where
		}
		what := n.Limb + ": " + n.Instrument
		if n.With != "" {
			what += " with " + n.With
		}
		if n.Of != "" {
			what += ", for the " + n.Of
		}
		first := n.Before
		if first != "" {
			first += fmt.Sprintf(" (%s, easy in %s)", secs(n.Window), secs(n.Easy))
		}
		t.Rows = append(t.Rows, []string{where, n.Player, what, first})
	}
	fl.table(t, 1.1, 0.45, 2.75, 3.2)
}

// unplayed is what nobody plays, and why; short, each line once, with all its reasons.
func unplayed(fl *flow, a *plan.Absence, short bool) {
	if len(a.Plan.Lost) == 0 {
		return
	}
	fl.heading("Nobody plays")
	t := table{Head: []string{"where", "what", "why"}, Lead: 2}
	for i, l := range a.Plan.Lost {
		same := func(o plan.Loss) bool {
			return o.Part == l.Part && o.Line == l.Line && (short || o.Because == l.Because)
		}
		if slices.ContainsFunc(a.Plan.Lost[:i], same) {
			continue
		}
		var places [][2]int
		var why []string
		n := 0
		for _, o := range a.Plan.Lost[i:] {
			if !same(o) {
				continue
			}
			places = append(places, [2]int{o.From, o.To})
			n += o.Strokes
			because := o.Because
			if short {
				because, _, _ = strings.Cut(because, ": ")
				because, _, _ = strings.Cut(because, " beside ")
			}
			if !slices.Contains(why, because) {
				why = append(why, because)
			}
		}
		t.Rows = append(t.Rows, []string{placesWords(places), fmt.Sprintf("%s, %s", named(a.Plan.Result.Score, l.Line), words.Count(n, "stroke", "strokes")), strings.Join(why, "; ")})
	}
	fl.table(t, 1.6, 1.75, 4.2)
}

// joined are stretches of bars in order, those that follow one another or overlap as one.
func joined(places [][2]int) (out [][2]int) {
	places = slices.Clone(places)
	slices.SortFunc(places, func(a, b [2]int) int { return cmp.Compare(a[0], b[0]) })
	for _, p := range places {
		if n := len(out) - 1; n >= 0 && p[0] <= out[n][1]+1 {
			out[n][1] = max(out[n][1], p[1])
			continue
		}
		out = append(out, p)
	}
	return out
}

// placesWords are stretches of bars, in words.
func placesWords(places [][2]int) string {
	places = joined(places)
	var list []string
	for _, p := range places {
		if p[0] == p[1] {
			list = append(list, fmt.Sprint(p[0]))
		} else {
			list = append(list, fmt.Sprintf("%d–%d", p[0], p[1]))
		}
	}
	word := "bars "
	if len(places) == 1 && places[0][0] == places[0][1] {
		word = "bar "
	}
	return word + strings.Join(list, ", ")
}
