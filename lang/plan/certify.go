package plan

import (
	"example.org/handful/lang/proof"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// certificate is the bound of a plan as data, for whoever does not believe it.
func (j *job) certificate() *proof.Certificate {
	w := &j.weights
	c := &proof.Certificate{
		Format: proof.Format, Piece: j.name, SHA256: proof.Sum(j.file),
		Cast:     proof.Cast{Added: j.opt.Profile, Usual: j.opt.Usual, Tempo: j.opt.TempoFactor},
		Weights:  proof.Weights{Stroke: w.Stroke, Exposed: w.Exposed, Driving: w.Driving, Climax: w.Climax, Doubled: w.Doubled},
		StandIns: j.opt.StandIns, Moments: []proof.Moment{},
	}
	for _, who := range j.people {
		c.Cast.Players = append(c.Cast.Players, who.name)
	}
	for i, l := range j.file.Lines {
		if o, ok := l.Stmt.(*syntax.Omit); ok && !j.opt.Keep && !l.Broken && o.Reason != nil && ours(o.Reason.Value()) {
			c.Anew = append(c.Anew, i+1)
		}
	}
	for _, i := range j.crowded {
		bar := j.bars[i]
		for _, m := range j.bounds.crowding(bar).moments {
			out := proof.Moment{Bar: bar[0].bar, LostAtLeast: m.lost}
			for _, at := range m.notes {
				q := bar[at[0]]
				_, count := j.score.Grid.Place(q.strokes[at[1]].At)
				out.Strokes = append(out.Strokes, proof.Stroke{
					Part: q.track.part.Name, Line: q.track.name, Nth: at[1] + 1, Count: count.String(),
					Hands: j.stock.leastHands(q, q.strokes[at[1]].Has(score.Roll)), Weight: q.weighs(at[1]),
				})
			}
			c.Claim.LostAtLeast += m.lost
			c.Moments = append(c.Moments, out)
		}
	}
	return c
}
