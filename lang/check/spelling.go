package check

import "example.org/handful/lang/score"

// proposeNear offers each of the names that somebody may have meant. Where
// there is but one, it is the one thing in a text that can be mended without
// weighing anything.
func (f *Finding) proposeNear(p *score.Problem) {
	if p.Named.File != 0 {
		return
	}
	for _, near := range p.Near {
		f.propose("write "+near, len(p.Near) > 1, replace(p.Named, near))
	}
}
