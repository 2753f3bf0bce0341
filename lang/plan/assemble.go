package plan

import (
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// An assembly is the file as it will be: each line either one of the file
// that came in, or new.
type assembly struct {
	file  *syntax.File
	lines []outLine
}

// An outLine is a line of the text.
type outLine struct {
	old   int // of the file, or -1
	text  string
	means []*passage
}

func (a *assembly) edits() []check.Edit {
	var out []check.Edit
	at := 0
	var fresh []string
	flush := func(before int) {
		if len(fresh) == 0 {
			return
		}
		text := strings.Join(fresh, "\n") + "\n"
		fresh = nil
		if before >= len(a.file.Lines) && !strings.HasSuffix(a.file.Text, "\n") && a.file.Text != "" {
			text = "\n" + text
		}
		out = append(out, check.Edit{Line: before, Text: text})
	}
	for _, l := range a.lines {
		if l.old < 0 {
			fresh = append(fresh, l.text)
			continue
		}
		for ; at < l.old; at++ {
			flush(at)
			out = append(out, check.Edit{Line: at, Whole: true})
		}
		flush(at)
		at++
	}
	for ; at < len(a.file.Lines); at++ {
		flush(at)
		out = append(out, check.Edit{Line: at, Whole: true})
	}
	flush(len(a.file.Lines))
	return out
}

// text is the file with the edits made.
func (a *assembly) text() string {
	text, ok := check.Apply(a.file, a.edits())
	if !ok {
		return a.file.Text // the edits are ours and do not overlap
	}
	return text
}

// strip is the file without the blocks of players that are not to stay.
func (j *job) strip(stays func(player string) bool) *assembly {
	a := &assembly{file: j.file}
	owner := j.owners()
	for i := range j.file.Lines {
		if owner[i] == "" || stays(owner[i]) {
			a.lines = append(a.lines, outLine{old: i})
		}
	}
	return a
}

// owners says for every line whose it is: a player's, or nobody's. A blank
// or a comment is a player's when it stands between two lines of players.
func (j *job) owners() []string {
	seats := j.file.Seats()
	out := make([]string, len(j.file.Lines))
	before, open := "", []int(nil)
	for i, l := range j.file.Lines {
		if l.Form == nil {
			open = append(open, i)
			continue
		}
		mine := ""
		if s := seats[i]; s.Owner >= 0 && (s.Block == syntax.InPlayer || s.Inner >= 0) {
			if p, ok := j.file.Lines[s.Owner].Stmt.(*syntax.Player); ok {
				mine = p.Name.Value()
			}
		}
		if a, ok := l.Stmt.(*syntax.Accept); ok && a.Player != nil {
			mine = a.Player.Value()
		}
		if mine != "" && before != "" {
			for _, k := range open {
				out[k] = before
			}
		}
		out[i], before, open = mine, mine, nil
	}
	return out
}

// assemble writes the file that a plan stands for.
func (j *job) assemble(all []plays) (*assembly, error) {
	inCast := map[string]*person{}
	for _, p := range j.people {
		inCast[p.name] = p
	}
	blocks := map[string][]outLine{} // new text of players, by name
	same := map[string]bool{}
	for _, p := range j.people {
		old := j.old.Score.Player(p.name)
		if old != nil && (j.opt.Keep || j.asToday(all, p)) && j.adds(all, p) == nil {
			same[p.name] = true
			continue
		}
		lines, err := j.block(all, p)
		if err != nil {
			return nil, err
		}
		blocks[p.name] = lines
	}
	owner := j.owners()
	a := &assembly{file: j.file}
	last := -1 // behind which line of a the last player's block ends
	done := map[string]bool{}
	for i, l := range j.file.Lines {
		who := owner[i]
		if o, ok := l.Stmt.(*syntax.Omit); ok && !j.opt.Keep && !l.Broken && o.Reason != nil && ours(o.Reason.Value()) {
			for n := len(a.lines) - 1; n >= 0 && a.lines[n].old >= 0 && strings.TrimSpace(j.file.Lines[a.lines[n].old].Text) == ""; n-- {
				a.lines = a.lines[:n] // with the blank line before it
			}
			continue
		}
		_, isAccept := l.Stmt.(*syntax.Accept)
		switch {
		case who == "" || same[who] || isAccept && inCast[who] != nil:
			a.lines = append(a.lines, outLine{old: i})
		case inCast[who] == nil: // who does not play goes; what was remarked stays
			if c := l.Comment(); c != "" {
				a.lines = append(a.lines, outLine{old: -1, text: c})
			}
			continue
		case j.opt.Keep:
			_, from := l.Stmt.(*syntax.From)
			if from && !done[who] { // before the first from: what follows may be for one pass only
				done[who] = true
				a.lines = append(a.lines, blocks[who]...)
			}
			a.lines = append(a.lines, outLine{old: i})
			if !slices.Contains(owner[i+1:], who) && !done[who] {
				done[who] = true
				a.lines = append(a.lines, blocks[who]...)
			}
		case !done[who]:
			done[who] = true
			a.lines = append(a.lines, blocks[who]...)
			if i+1 < len(owner) && !slices.Contains(owner[i+1:], who) {
				a.lines = append(a.lines, outLine{old: -1})
			}
		default:
			if strings.TrimSpace(l.Text) == "" && (i+1 == len(owner) || owner[i+1] != who) {
				a.lines = append(a.lines, outLine{old: i})
			}
			continue
		}
		if who != "" && !isAccept {
			last = len(a.lines)
		}
	}
	var fresh []outLine
	for _, p := range j.people {
		if !same[p.name] && !done[p.name] {
			fresh = append(fresh, outLine{old: -1})
			fresh = append(fresh, blocks[p.name]...)
		}
	}
	if last < 0 {
		last = len(a.lines)
	}
	a.lines = slices.Insert(a.lines, last, fresh...)
	if omits := j.omits(all); len(omits) > 0 {
		a.lines = append(a.lines, outLine{old: -1})
		a.lines = append(a.lines, omits...)
	}
	return a, nil
}

// asToday says whether a player plays what today's cues say, and nothing else.
func (j *job) asToday(all []plays, p *person) bool {
	for _, q := range j.passages {
		if (int(all[q.id].player) == p.at || int(q.today.player) == p.at) && all[q.id] != q.today {
			return false
		}
	}
	return true
}

// adds are the passages that a player gets beside what is kept.
func (j *job) adds(all []plays, p *person) []*passage {
	var out []*passage
	for _, q := range j.passages {
		if int(all[q.id].player) == p.at && all[q.id] != q.today {
			out = append(out, q)
		}
	}
	return out
}

func (j *job) omits(all []plays) []outLine {
	var out []outLine
	for _, l := range j.losses(all) {
		omit := &syntax.Omit{What: syntax.Word(l.Line), In: []syntax.Atom{syntax.BarsBetween(l.From, l.To)}, Reason: new(syntax.Quoted(l.Because))}
		for _, t := range j.tracks {
			if t.name == l.Line && t.part.Name == l.Part && t.shared {
				omit.Of = new(syntax.Quoted(l.Part))
			}
		}
		out = append(out, outLine{old: -1, text: syntax.Print(omit)})
	}
	return out
}

// block is a player's new block, or with keep the lines that are added to it.
func (j *job) block(all []plays, p *person) ([]outLine, error) {
	var stays keeping
	var old map[string]body.Point
	if j.old.Score.Player(p.name) != nil {
		stays = j.stays(p.name)
		old = j.listed(p)
	} else if j.opt.Profile != "" {
		stays.head = append(stays.head, syntax.Print(&syntax.Profile{Name: syntax.Word(j.opt.Profile)}))
	}
	mine := all
	if j.opt.Keep && j.old.Score.Player(p.name) != nil {
		mine = slices.Clone(all)
		for _, q := range j.passages {
			if q.fixed {
				mine[q.id] = nobody
			}
		}
		stays.opener, stays.kitOpener, stays.head, stays.tail, stays.ranged = "", "", nil, nil, true
	}
	set, err := layOut(j.piece, p.at, mine, old, j.sets[p.at], j.opt.Wide, j.opt.Deep)
	if err != nil {
		return nil, err
	}
	text, means := j.playerText(mine, p, set, stays)
	var out []outLine
	k := 0
	for _, l := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		o := outLine{old: -1, text: l}
		if strings.TrimSpace(l) != "" && k < len(means) {
			o.means = means[k]
			k++
		}
		out = append(out, o)
	}
	if j.opt.Keep && j.old.Score.Player(p.name) != nil {
		out = keepLines(out, set)
	}
	return out, nil
}

// listed is where a player's own kit has things.
func (j *job) listed(p *person) map[string]body.Point {
	old := map[string]body.Point{}
	if player := j.old.Score.Player(p.name); player != nil {
		for _, it := range player.Items {
			if it.Listed {
				old[it.Name] = it.At
			}
		}
	}
	return old
}

// keepLines are the lines of a block that are added to one that stays: what
// is new in the kit, and the cues. No from is among them: it would end what is
// open above it.
func keepLines(block []outLine, set *setUp) []outLine {
	var kits, cues []outLine
	for _, l := range block {
		word, _, _ := strings.Cut(strings.TrimSpace(l.text), " ")
		switch {
		case len(l.means) > 0:
			cues = append(cues, l)
		case set.byName[word] != nil && !set.byName[word].kept:
			kits = append(kits, l)
		}
	}
	var out []outLine
	if len(kits) > 0 {
		out = append(out, outLine{old: -1, text: "  kit"})
		out = append(out, kits...)
	}
	return append(out, cues...)
}
