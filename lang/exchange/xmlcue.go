package exchange

import (
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

// omitted finds the written strokes that nobody plays, and who reads each: the
// player who plays most of its line, else of its part; and where nobody plays
// anything of that, a part of its own, which comes last.
func (w *xmlWriter) omitted(motions []*motion.Result) ([]*motion.Result, []cue) {
	type what struct{ part, line string } // of the line "" for all of the part
	plays := map[what]map[*motion.Result]int{}
	in := map[string][]string{} // the parts in which a line of a name stands
	for _, p := range w.Parts {
		for _, l := range p.Lines {
			if !slices.Contains(in[l.Name], p.Name) {
				in[l.Name] = append(in[l.Name], p.Name)
			}
		}
	}
	for _, m := range motions {
		for _, c := range m.Player.Cues {
			for _, part := range in[c.Voice] {
				for _, of := range []what{{part, c.Voice}, {part, ""}} {
					if plays[of] == nil {
						plays[of] = map[*motion.Result]int{}
					}
					if c.Of == "" || c.Of == part {
						plays[of][m] += len(c.Strokes)
					}
				}
			}
		}
	}
	most := func(of what) (who *motion.Result) {
		for _, m := range motions {
			if n := plays[of][m]; n > 0 && (who == nil || n > plays[of][who]) {
				who = m
			}
		}
		return who
	}
	var cues []cue
	other := &motion.Result{Player: &score.Player{Name: nobody}}
	alone := false
	counts := map[*motion.Result]int{}
	for _, list := range [][]score.Gap{w.Coverage.Left, w.Coverage.Uncovered} {
		for _, g := range list {
			who := most(what{g.Line.Part.Name, g.Line.Name})
			if who == nil {
				who = most(what{g.Line.Part.Name, ""})
			}
			if who == nil {
				who, alone = other, true
			}
			for i := g.First; i <= g.Last; i++ {
				if g.Line.Strokes[i].Sounds() && g.Line.Inst != nil {
					cues = append(cues, cue{g, i, who})
					counts[who] += g.Line.StruckAt(i).Count()
				}
			}
		}
	}
	if alone {
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
