package sheet

import "example.org/handful/lang/check"

// Options are what sheets are made for.
type Options struct {
	Paper  Paper
	Player string  // only this one's; "" for everybody's and the section's
	Fonts  []*Font // for scripts that the compiled-in fonts do not have, in their order

	For      distance // from how far what stands before a player is read
	Dark     bool     // cue sheets white on black
	Unfolded bool     // every bar of a cue sheet is drawn
}

// sheets are a player's own.
func (v *part) sheets(opt *Options) []Doc {
	out := []Doc{v.cuesFor(opt), v.plan(opt.stands()), v.practice(opt.stands())}
	opt.suits(out[1:])
	return out
}

// afar is the paper with everything on it as large as it is read from far; small paper
// is read from as far as large.
func (o *Options) afar() Paper {
	paper := o.Paper
	if o.For != Desk {
		paper.Scale = max(paper.Scale, 1)
	}
	paper.Scale *= o.For.size()
	return paper
}

// stands is the paper of what stands before a player beside the cue sheet. What lies on
// a desk is taken up to be read.
func (o *Options) stands() Paper {
	if o.For == Desk {
		return o.Paper
	}
	return o.afar()
}

// suits draws that as the light is where it is read.
func (o *Options) suits(docs []Doc) {
	for i := range docs {
		for _, p := range docs[i].Pages {
			if o.For == Pit {
				p.forPit()
			}
		}
	}
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
			if opt.Player != "" && m.Player.Name != opt.Player {
				continue
			}
			v := newPart(r, i, opt.faces())
			v.unfolded = opt.Unfolded
			views[n] = append(views[n], v)
		}
		wanted = append(wanted, views[n]...)
	}
	own := make([][]Doc, len(wanted))
	check.Each(len(wanted), func(i int) {
		own[i] = wanted[i].sheets(&opt)
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
