package plan

import (
	"context"
	"fmt"
	"strings"

	"example.org/handful/lang/proof"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

// A Smallest is the least number of players who lose nothing, and why one
// fewer would.
type Smallest struct {
	Players int
	Plan    Plan
	// Fewer is the best plan for one fewer; its Why names the moments at which more
	// hands are wanted than they have, and its Certificate is what Verdict is about.
	Fewer   *Plan
	Verdict proof.Verdict
}

// proven says whether it is certain that one fewer loses something: whether what the
// certificate claims has been shown without the search.
func (s *Smallest) proven() bool { return s.Fewer == nil || s.Verdict.LostAtLeast > 1e-9 }

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
	case s.proven():
		with := "with the usual hardware"
		if s.Fewer.Certificate.StandIns {
			with += ", and whatever stands in for what"
		}
		fmt.Fprintf(&b, "one fewer cannot do it: at least %g is lost, weighted, whoever plays what %s\n", s.Verdict.LostAtLeast, with)
		for _, why := range Crowded(s.Fewer.Why) {
			fmt.Fprintf(&b, "why: %s\n", why)
		}
	default:
		fmt.Fprintf(&b, "found none with %s that loses nothing: the best one found loses %g, weighted, and that is no proof that there is none\n", words.Count(s.Players-1, "player", "players"), s.Fewer.Value)
	}
	return b.String()
}

// Fewest finds the smallest number of players who lose nothing. It begins with
// one, and asks no more of the file's own players than that they come first.
func Fewest(ctx context.Context, name string, f *syntax.File, opt Options) (*Smallest, error) {
	opt.Keep, opt.unable = false, true // whoever comes first may be of no use
	var before *Plan
	for n := 1; ; n++ {
		opt.Players = n
		p, err := File(ctx, name, f, opt)
		if err != nil {
			return nil, err
		}
		if n == maxPlayers && p.empty() {
			opt.unable = false
			_, err := File(ctx, name, f, opt)
			return nil, err
		}
		if len(p.Lost) == 0 || n == maxPlayers || ctx.Err() != nil {
			few := &Smallest{Players: n, Plan: p, Fewer: before}
			if before != nil && len(before.Certificate.Moments) > 0 {
				few.Verdict, _ = proof.Verify(ctx, name, f, before.Certificate, proof.Options{Load: opt.Load, Uses: opt.Uses}) // what is stopped is no proof
			}
			return few, nil
		}
		before = &p
	}
}
