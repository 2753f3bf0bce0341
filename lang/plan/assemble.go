package plan

import (
	"encoding/binary"
	"slices"
	"strings"
	"sync"

	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
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
		if before >= len(a.file.Lines) && !strings.HasSuffix(a.file.Text(), "\n") && a.file.Text() != "" {
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
		return a.file.Text() // the edits are ours and do not overlap
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

// remarkWide is how wide what a file says of its plan is at most.
const remarkWide = 90

// assemble writes the file that a plan stands for, with what it says of what is left out.
func (j *job) assemble(all []plays, omits []outLine) (*assembly, error) {
	w := assembler{
		job: j, a: &assembly{file: j.file}, owner: j.owners(),
		inCast: map[string]bool{}, same: map[string]bool{}, blocks: map[string][]outLine{}, done: map[string]bool{}, last: -1,
	}
	for _, p := range j.people {
		w.inCast[p.name] = true
		if old := j.old.Score.Player(p.name); old != nil && (j.opt.Keep || j.asToday(all, p)) && j.adds(all, p) == nil {
			w.same[p.name] = true
			continue
		}
		lines, err := j.blockOf(all, p)
		if err != nil {
			return nil, err
		}
		w.blocks[p.name] = lines
	}
	for _, text := range j.remarks {
		for i, l := range words.Wrap(text, remarkWide) {
			w.put(outLine{old: -1, text: remark + strings.Repeat("  ", min(i, 1)) + l})
		}
	}
	w.shared = j.sharedKit(all)
	for i := range j.file.Lines {
		w.line(i)
	}
	w.newPlayers()
	if len(omits) > 0 {
		w.put(outLine{old: -1})
		w.put(omits...)
	}
	w.a.lastLast()
	return w.a, nil
}

// lastLast puts the empty line behind a file's last line break behind all that is added
// at its end: so lines stand where a check of the text finds them.
func (a *assembly) lastLast() {
	last := len(a.file.Lines) - 1
	at := slices.IndexFunc(a.lines, func(l outLine) bool { return l.old == last })
	if last < 0 || at < 0 || a.file.Lines[last].Text != "" {
		return
	}
	l := a.lines[at]
	a.lines = append(slices.Delete(a.lines, at, at+1), l)
}

// An assembler goes through the lines of the file, and writes the new one.
type assembler struct {
	*job
	a      *assembly
	owner  []string
	inCast map[string]bool
	same   map[string]bool      // players whose blocks stay as they are
	blocks map[string][]outLine // new text of the others, by name
	done   map[string]bool      // whose is written
	last   int                  // behind which line of a the last player's block ends
	shared []outLine            // what players share that the file has nothing of, until it is written
}

func (w *assembler) put(lines ...outLine) { w.a.lines = append(w.a.lines, lines...) }

// line writes what becomes of a line.
func (w *assembler) line(i int) {
	l, who := w.file.Lines[i], w.owner[i]
	if said(l) {
		return
	}
	if o, ok := l.Stmt.(*syntax.Omit); ok && !w.opt.Keep && !l.Broken && o.Reason != nil && ours(o.Reason.Value()) {
		w.takeBlanks()
		return
	}
	if _, ok := l.Stmt.(*syntax.Player); ok && who != "" {
		w.writeShared()
	}
	_, isAccept := l.Stmt.(*syntax.Accept)
	switch {
	case who == "" || w.same[who] || isAccept && w.inCast[who]:
		w.put(outLine{old: i})
	case !w.inCast[who]: // who does not play goes; what was remarked stays
		if c := l.Comment(); c != "" {
			w.put(outLine{old: -1, text: c})
		}
		return
	case w.opt.Keep:
		if _, from := l.Stmt.(*syntax.From); from { // before the first from: what follows may be for one pass only
			w.writeBlock(who)
		}
		w.put(outLine{old: i})
		if w.isLast(i) {
			w.writeBlock(who)
		}
	case !w.done[who]:
		w.writeBlock(who)
		if w.isLast(i) && !w.endsWith(i) {
			w.put(outLine{old: -1})
		}
	default:
		if strings.TrimSpace(l.Text) == "" && (i+1 == len(w.owner) || w.owner[i+1] != who) {
			w.put(outLine{old: i})
		}
		return
	}
	if who != "" && !isAccept {
		w.last = len(w.a.lines)
	}
}

// writeShared writes the kit for everybody before the first player, set off as that is.
func (w *assembler) writeShared() {
	if w.shared == nil {
		return
	}
	n := len(w.a.lines)
	apart := n > 0 && w.a.lines[n-1].old >= 0 && strings.TrimSpace(w.file.Lines[w.a.lines[n-1].old].Text) == ""
	w.put(w.shared...)
	if w.shared = nil; apart {
		w.put(outLine{old: -1})
	}
}

// endsWith says whether nothing but blanks comes behind a line of the file.
func (w *assembler) endsWith(i int) bool {
	return !slices.ContainsFunc(w.file.Lines[i+1:], func(l *syntax.Line) bool { return strings.TrimSpace(l.Text) != "" })
}

// isLast says whether a line is its player's last.
func (w *assembler) isLast(i int) bool { return !slices.Contains(w.owner[i+1:], w.owner[i]) }

// takeBlanks takes back the blank lines of the file that were written last.
func (w *assembler) takeBlanks() {
	for n := len(w.a.lines) - 1; n >= 0 && w.a.lines[n].old >= 0 && strings.TrimSpace(w.file.Lines[w.a.lines[n].old].Text) == ""; n-- {
		w.a.lines = w.a.lines[:n]
	}
}

// writeBlock writes a player's new text, once.
func (w *assembler) writeBlock(who string) {
	if !w.done[who] {
		w.done[who] = true
		w.put(w.blocks[who]...)
	}
}

// newPlayers writes the blocks of those who have none yet, behind the last
// player's.
func (w *assembler) newPlayers() {
	var fresh []outLine
	if w.shared != nil {
		fresh = append([]outLine{{old: -1}}, w.shared...)
	}
	for _, p := range w.people {
		if !w.same[p.name] && !w.done[p.name] {
			fresh = append(fresh, outLine{old: -1})
			fresh = append(fresh, w.blocks[p.name]...)
		}
	}
	if w.last < 0 {
		w.last = len(w.a.lines)
	}
	w.a.lines = slices.Insert(w.a.lines, w.last, fresh...)
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

func (j *job) omits(all []plays) (out []outLine) {
	for _, o := range Omissions(j.losses(all)) {
		omit := &syntax.Omit{What: syntax.Word(o.Line), Reason: new(syntax.Quoted(o.Because))}
		for _, p := range o.Places {
			omit.In = append(omit.In, syntax.BarsBetween(p[0], p[1]))
		}
		for _, t := range j.tracks {
			if t.name == o.Line && t.part.Name == o.Part && t.shared {
				omit.Of = new(syntax.Quoted(o.Part))
			}
		}
		out = append(out, outLine{old: -1, text: syntax.Print(omit)})
	}
	return out
}

// A blockKey is all that a player's block depends on and that changes while a plan is made.
type blockKey struct {
	who    int
	plays  string // what of a plan is the player's
	set    *setUp // where things stand
	asFile bool   // in the file's order
	loose  int    // lines that cannot stay
}

// Blocks are those that are remembered.
type blocks struct {
	sync.Mutex
	known map[blockKey][]outLine
}

// mostBlocks is how many blocks are remembered.
const mostBlocks = 64

func (j *job) blockKey(all []plays, p *person) blockKey {
	var mine []byte
	for _, q := range j.passages {
		if pl := all[q.id]; int(pl.player) == p.at {
			mine = binary.AppendUvarint(mine, uint64(q.id))
			mine = append(mine, byte(pl.option), pl.slots)
		}
	}
	return blockKey{p.at, string(mine), j.sets[p.at], j.asFile, len(j.loose[p.name])}
}

// blockOf is a player's new block; of plans that are tried one after the other most
// players have the same.
func (j *job) blockOf(all []plays, p *person) ([]outLine, error) {
	key := j.blockKey(all, p)
	j.blocks.Lock()
	lines, ok := j.blocks.known[key]
	j.blocks.Unlock()
	if ok {
		return lines, nil
	}
	lines, err := j.block(all, p)
	if err != nil {
		return nil, err
	}
	j.blocks.Lock()
	defer j.blocks.Unlock()
	if j.blocks.known == nil || len(j.blocks.known) >= mostBlocks {
		j.blocks.known = map[blockKey][]outLine{}
	}
	j.blocks.known[key] = lines
	return slices.Clip(lines), nil
}

// block is a player's new block, or with keep the lines that are added to it.
func (j *job) block(all []plays, p *person) ([]outLine, error) {
	var stays keeping
	if j.old.Score.Player(p.name) != nil {
		stays = j.stays(p.name)
	} else if j.opt.Profile != "" {
		stays.head = append(stays.head, syntax.Print(&syntax.Profile{Name: syntax.Word(j.opt.Profile)}))
	}
	mine := j.added(all, p)
	if j.opt.Keep && j.old.Score.Player(p.name) != nil {
		stays.opener, stays.kitOpener, stays.head, stays.tail, stays.ranged = "", "", nil, nil, true
	}
	stays.hardware = j.hardwareFor(mine, p)
	set, err := layOut(j.piece, p, mine, j.listed(p), j.sets[p.at], j.opt.Wide, j.opt.Deep)
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
		out = keepLines(out, set, j.listed(p).HasKit, stays.hardware)
	}
	return out, nil
}

// added is what of a plan is written into a player's block: with keep what is added to it.
func (j *job) added(all []plays, p *person) []plays {
	if !j.opt.Keep || j.old.Score.Player(p.name) == nil {
		return all
	}
	mine := slices.Clone(all)
	for _, q := range j.passages {
		if q.fixed {
			mine[q.id] = nobody
		}
	}
	return mine
}

// listed is a player as the file has it; of somebody new, what everybody shares.
func (j *job) listed(p *person) *score.Player {
	if old := j.old.Score.Player(p.name); old != nil {
		return old
	}
	return &score.Player{Stations: []score.Station{{}}, Items: j.old.Score.Shared}
}

// keepLines are the lines of a block that are added to one that stays: what
// is new in the kit, and the cues. No from is among them: it would end what is
// open above it. Who has no kit gets none: all of what they have would have to be in
// it.
func keepLines(block []outLine, set *setUp, hasKit bool, hardware []string) []outLine {
	var kits, cues []outLine
	for _, l := range block {
		word, _, _ := strings.Cut(strings.TrimSpace(l.text), " ")
		switch {
		case len(l.means) > 0:
			cues = append(cues, l)
		case hasKit && (set.byName[word] != nil && set.byName[word].item == nil || slices.Contains(hardware, word)):
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
