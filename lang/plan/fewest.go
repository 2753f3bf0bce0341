package plan

import (
	"context"
	"fmt"
	"strings"

	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

// A Smallest is the least number of players who lose nothing, and why one
// fewer would.
type Smallest struct {
	Players int
	Plan    Plan
	// Fewer is the best plan for one fewer; its bound is above 0 where it is
	// proven that one fewer must lose something, and its Why names the moments.
	Fewer *Plan
}

// Proven says whether it is certain that one fewer loses something.
func (s *Smallest) Proven() bool { return s.Fewer == nil || s.Fewer.Bound > 1e-9 }

// Words is the answer, and what it rests on.
func (s *Smallest) Words() string {
	who := fmt.Sprintf("%d players", s.Players)
	if s.Players == 1 {
		who = "1 player"
	}
	var b strings.Builder
	own := s.Plan.Result.Score.Coverage.Omitted
	for _, l := range s.Plan.Lost {
		own -= l.Strokes
	}
	switch {
	case len(s.Plan.Lost) > 0:
		fmt.Fprintf(&b, "even %s leave something out\n", who)
	case own > 0:
		fmt.Fprintf(&b, "%s, and nothing is left out but what the file's own omit lines say: %s\n", who, words.Count(own, "stroke", "strokes"))
	default:
		fmt.Fprintf(&b, "%s, and nothing is left out\n", who)
	}
	switch {
	case s.Fewer == nil:
	case s.Proven():
		fmt.Fprintf(&b, "one fewer cannot do it: at least %g is lost, weighted, whoever plays what with the usual hardware\n", s.Fewer.Bound)
		for _, r := range s.Fewer.Why {
			fmt.Fprintf(&b, "why: %s\n", r.Words)
		}
	default:
		fmt.Fprintf(&b, "for one fewer nothing better was found than a plan that loses %g, weighted; that is no proof\n", s.Fewer.Value)
	}
	return b.String()
}

// Fewest finds the smallest number of players who lose nothing. It begins with
// one, and asks no more of the file's own players than that they come first.
func Fewest(ctx context.Context, name string, f *syntax.File, opt Options) (*Smallest, error) {
	opt.Keep = false
	var before *Plan
	for n := 1; ; n++ {
		opt.Players = n
		p, err := File(ctx, name, f, opt)
		if err != nil {
			return nil, err
		}
		if len(p.Lost) == 0 || n == MaxPlayers || ctx.Err() != nil {
			return &Smallest{n, p, before}, nil
		}
		before = &p
	}
}
