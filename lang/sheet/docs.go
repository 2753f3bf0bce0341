package sheet

import "example.org/handful/lang/check"

// Options are what sheets are made for.
type Options struct {
	Paper  Paper
	Player string  // only this one's; "" for everybody's and the section's
	Fonts  []*Font // for scripts that the compiled-in fonts do not have, in their order

	For      distance // from how far cue sheets are read
	Dark     bool     // cue sheets white on black
	Unfolded bool     // every bar of a cue sheet is drawn
}

func (o *Options) faces() *faces { return standardFaces().with(o.Fonts) }

// Docs is everything that goes on the stands, in order: each player's sheets
// piece by piece, then the section's, then the conductor's.
func Docs(results []*check.Result, opt Options) []Doc {
	if opt.Paper.W == 0 {
		opt.Paper = Papers()[0]
	}
	var out []Doc
	views := make([][]*part, len(results))
	var wanted []*part
	for n, r := range results {
		for i, m := range r.Motions {
			v := newPart(r, i, opt.faces())
			v.unfolded = opt.Unfolded
			views[n] = append(views[n], v)
			if opt.Player == "" || m.Player.Name == opt.Player {
				wanted = append(wanted, v)
			}
		}
	}
	own := make([][]Doc, len(wanted))
	check.Each(len(wanted), func(i int) {
		v := wanted[i]
		own[i] = []Doc{v.cuesFor(&opt), v.plan(opt.Paper), v.practice(opt.Paper)}
	})
	for _, docs := range own {
		out = append(out, docs...)
	}
	if opt.Player == "" && len(results) > 0 {
		for n, r := range results {
			if len(views[n]) > 1 {
				out = append(out, floor(r, views[n], opt))
			}
		}
		out = append(out, packing(results, views, opt), chart(results, views, opt), conductor(results, views, opt))
	}
	return out
}
