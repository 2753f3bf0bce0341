package lsp

import (
	"context"
	"encoding/json"
	"slices"
	"strconv"

	"go.lsp.dev/uri"

	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
)

// A barSeeker looks for the stroke at or before a place of the document, and where there
// is none before it for the first behind it.
type barSeeker struct {
	line, col int
	at, bar   int // of the best until now; at is -1 where there is none
}

func (k *barSeeker) look(strokes []score.Stroke) {
	for i := range strokes {
		w := strokes[i].Where()
		if w.File == 0 && int(w.Line) == k.line && k.better(int(w.Start)) {
			k.at, k.bar = int(w.Start), int(strokes[i].Bar)
		}
	}
}

func (k *barSeeker) better(at int) bool {
	return k.at < 0 || at <= k.col && (at > k.at || k.at > k.col)
}

// barAt is the bar that a place of the document is about: of the stroke at or before the
// column, else of the first that the line brings; 0 where there is none.
func barAt(r *check.Result, line, col int) int {
	for _, c := range cuesOf(r.Score, line, line) {
		switch {
		case c.AsWritten && len(c.Strokes) > 0:
			return int(c.Strokes[0].Bar)
		case c.AsWritten:
			return c.From
		}
	}
	k := barSeeker{line: line, col: col, at: -1}
	for _, p := range r.Score.Players {
		for _, c := range p.Cues {
			if !c.AsWritten { // a bar list goes on in lines of its own
				k.look(c.Strokes)
			}
		}
	}
	for _, part := range r.Score.Parts {
		for _, l := range part.Lines {
			k.look(l.Strokes)
		}
	}
	return k.bar
}

// lineOf is where a bar of a player's stands in the document: the stroke, the cue that
// plays there or has a rest there, or whoever it is. The player and the bar come behind
// the URI, without a name the first who plays there, and it answers with a range.
func (s *session) lineOf(ctx context.Context, id uri.URI, args []string) (string, error) {
	d, r, err := s.sound(ctx, id)
	if err != nil {
		return "", err
	}
	if len(args) < 2 {
		return "", refuse("%s wants a player and a bar", commandLineOf)
	}
	bar, err := strconv.Atoi(args[1])
	p := r.Score.Player(args[0])
	if args[0] == "" {
		p = firstIn(r.Score, bar)
	}
	if err != nil || p == nil {
		return "", refuse("%s wants a player of the piece and the number of a bar", commandLineOf)
	}
	where := barOf(p, bar)
	if where.File != 0 {
		return "", refuse("%s stands in another file", p.Name)
	}
	raw, err := json.Marshal(d.whereOf(where))
	return string(raw), err
}

// firstIn is the first player who plays in a bar, or nil.
func firstIn(sc *score.Score, bar int) *score.Player {
	for _, p := range sc.Players {
		for _, c := range p.Cues {
			if slices.ContainsFunc(c.Strokes, func(st score.Stroke) bool { return int(st.Bar) == bar }) {
				return p
			}
		}
	}
	return nil
}

// barOf is where in the text a bar of a player's comes from.
func barOf(p *score.Player, bar int) score.Where {
	rests := p.Where
	for _, c := range p.Cues {
		if c.Where.File != 0 || bar < c.From || bar > c.To {
			continue
		}
		for i := range c.Strokes {
			if int(c.Strokes[i].Bar) != bar {
				continue
			}
			if w := c.Strokes[i].Where(); !c.AsWritten && w.File == 0 {
				return w
			}
			return c.Where
		}
		if rests == p.Where {
			rests = c.Where
		}
	}
	return rests
}
