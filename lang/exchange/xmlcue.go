package exchange

import (
	"cmp"
	"slices"

	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/words"
)

// cueSize is what makes a note a small one in print.
const cueSize = ` size="cue"`

// nobody is the name of the part of what no player has anything to do with.
const nobody = "Not played"

// A cue is a written stroke that nobody plays, on its way into a part as a
// small note.
type cue struct {
	gap    score.Gap
	stroke int // of the gap's line
	reader *motion.Result
}

// cues says whether a voice is one of small notes.
func (v *voice) cues() bool { return v.number%voicesOfStaff == cueVoice }

// A passage is a line of a part, or the whole part where the line is "".
type passage struct{ part, line string }

// A tally counts the strokes of passages that each player plays.
type tally map[passage]map[*motion.Result]int

func (n tally) add(of passage, m *motion.Result, strokes int) {
	if n[of] == nil {
		n[of] = map[*motion.Result]int{}
	}
	n[of][m] += strokes
}

// most is who plays most of a passage, the first of several; nil where nobody
// plays anything of it.
func (n tally) most(of passage, motions []*motion.Result) (who *motion.Result) {
	for _, m := range motions {
		if has := n[of][m]; has > 0 && (who == nil || has > n[of][who]) {
			who = m
		}
	}
	return who
}

// tally counts who plays how much of each line and of each part.
func (w *xmlWriter) tally(motions []*motion.Result) tally {
	n := tally{}
	in := w.partsOf()
	for _, m := range motions {
		for _, c := range m.Player.Cues {
			for _, part := range in[c.Voice] {
				if c.Of == "" || c.Of == part {
					n.add(passage{part, c.Voice}, m, len(c.Strokes))
					n.add(passage{part, ""}, m, len(c.Strokes))
				}
			}
		}
	}
	return n
}

// partsOf is in which parts a line of each name stands.
func (w *xmlWriter) partsOf() map[string][]string {
	in := map[string][]string{}
	for _, p := range w.Parts {
		for _, l := range p.Lines {
			if !slices.Contains(in[l.Name], p.Name) {
				in[l.Name] = append(in[l.Name], p.Name)
			}
		}
	}
	return in
}

// omitted finds the written strokes that nobody plays, and who reads each: the
// player who plays most of its line, else of its part; and where nobody plays
// anything of that, a part of its own, which comes last.
func (w *xmlWriter) omitted(motions []*motion.Result) ([]*motion.Result, []cue) {
	n := w.tally(motions)
	other := &motion.Result{Player: &score.Player{Name: nobody}}
	counts := map[*motion.Result]int{}
	var cues []cue
	for _, g := range slices.Concat(w.Coverage.Left, w.Coverage.Uncovered) {
		who := cmp.Or(n.most(passage{g.Line.Part.Name, g.Line.Name}, motions), n.most(passage{g.Line.Part.Name, ""}, motions), other)
		for i := g.First; i <= g.Last; i++ {
			if g.Line.Strokes[i].Sounds() && g.Line.Inst != nil {
				cues = append(cues, cue{g, i, who})
				counts[who] += g.Line.StruckAt(i).Count()
			}
		}
	}
	if counts[other] > 0 {
		motions = append(slices.Clone(motions), other)
	}
	for _, m := range motions {
		if n := counts[m]; n > 0 {
			w.tell("as cue notes in the part %q: %s that nobody plays", m.Player.Name, words.Count(n, "written stroke", "written strokes"))
		}
	}
	return motions, cues
}

// cue adds the small notes that stand in a player's part.
func (w *xmlWriter) cue(p *xmlPlayer, cues []cue) {
	spans := w.Time.Spans()
	for _, c := range cues {
		if c.reader != p.m {
			continue
		}
		st := &c.gap.Line.Strokes[c.stroke]
		s := outStroke{at: st.At, end: st.End, voice: cueVoice, item: p.itemOf(c.gap.Line), struck: c.gap.Line.StruckAt(c.stroke), flags: st.Flags, grace: st.Grace, cue: true}
		s.marks = marksAt(c.gap.Line.Words, st.At)
		for _, t := range s.things() {
			if !slices.Contains(p.things, t) {
				p.things = append(p.things, t)
			}
		}
		bar := int(st.Bar)
		if measure, ok := p.measureOf[[2]int{-1, bar}]; ok {
			p.strokes[measure] = append(p.strokes[measure], s)
			continue
		}
		for i, span := range spans {
			if measure, ok := p.measureOf[[2]int{i, bar}]; ok && c.gap.Passes&(1<<min(62, span.Pass-1)) != 0 {
				p.strokes[measure] = append(p.strokes[measure], s)
			}
		}
	}
}

// itemOf is what a player would play a written line on: what of that kind there
// is in the part already, or one that nobody has.
func (p *xmlPlayer) itemOf(l *score.Line) *score.Item {
	for _, t := range p.things {
		if t.item.Inst == l.Inst {
			return t.item
		}
	}
	return &score.Item{Name: l.Inst.ID, Inst: l.Inst}
}
