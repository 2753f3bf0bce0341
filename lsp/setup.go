package lsp

import (
	"context"
	"encoding/json"
	"math"
	"strconv"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A setupPlan is a player's set-up seen from above, for an editor that draws it and lets
// things be moved. Lengths are centimetres from where the player first stands.
type setupPlan struct {
	Version  int32          `json:"version"` // of the text that it is about
	Player   string         `json:"player"`
	Players  []string       `json:"players"` // all there are
	Reach    float64        `json:"reach"`
	Lean     float64        `json:"lean"`
	Stations []setupStation `json:"stations"`
	Things   []setupThing   `json:"things"`
}

type setupStation struct {
	Name  string  `json:"name"`
	Right float64 `json:"right"`
	Ahead float64 `json:"ahead"`
}

type setupThing struct {
	Name    string      `json:"name"`
	Place   string      `json:"place"` // as the text writes it
	Right   float64     `json:"right"`
	Ahead   float64     `json:"ahead"`
	Line    int         `json:"line"`    // of the document; -1: another file's
	Written bool        `json:"written"` // the text says where it is
	Moves   bool        `json:"moves"`   // the text can
	Clashes bool        `json:"clashes"`
	Bodies  []setupBody `json:"bodies"`
}

type setupBody struct {
	Right float64 `json:"right"`
	Ahead float64 `json:"ahead"`
	Wide  float64 `json:"wide"`
	Deep  float64 `json:"deep"`
	Turn  float64 `json:"turn"`
	Round bool    `json:"round"`
}

// setup is the set-up of the player at a line, else of the player who is named behind
// it, else of the first.
func (s *session) setup(ctx context.Context, id uri.URI, args []string) (string, error) {
	d, r, err := s.sound(ctx, id)
	if err != nil {
		return "", err
	}
	line := -1
	if len(args) > 0 {
		if line, err = strconv.Atoi(args[0]); err != nil {
			return "", refuse("%s wants the number of a line", commandSetup)
		}
	}
	p := d.playerAt(r, line)
	if p == nil && len(args) > 1 {
		p = r.Score.Player(args[1])
	}
	if p == nil && len(r.Score.Players) > 0 {
		p = r.Score.Players[0]
	}
	if p == nil {
		return "", refuse("nobody plays here yet, so there is no set-up")
	}
	is := setupPlan{Version: d.version, Player: p.Name, Reach: p.Profile.Reach, Lean: p.Profile.Lean, Things: []setupThing{}}
	for _, o := range r.Score.Players {
		is.Players = append(is.Players, o.Name)
	}
	for _, st := range p.Stations {
		is.Stations = append(is.Stations, setupStation{st.Name, st.At.Right, st.At.Ahead})
	}
	things := r.Things(p)
	clash := check.Overlaps(things)
	for i := range things {
		is.Things = append(is.Things, setupThingOf(r, p, &things[i], clash[i]))
	}
	raw, err := json.Marshal(is)
	return string(raw), err
}

func setupThingOf(r *check.Result, p *score.Player, t *check.Thing, clashes bool) setupThing {
	st := p.Stations[t.Station]
	is := setupThing{
		Name: t.Name, Right: t.At.Right, Ahead: t.At.Ahead, Line: -1, Written: t.Written, Clashes: clashes,
		Place: syntax.Print(syntax.SpotAt(st.Name, t.At.Right-st.At.Right, t.At.Ahead-st.At.Ahead, 0)),
		Moves: len(r.Put(p, t, 0, 0)) > 0,
	}
	if t.Where.File == 0 {
		is.Line = int(t.Where.Line)
	}
	for _, b := range t.Bodies {
		is.Bodies = append(is.Bodies, setupBody{b.At.Right, b.At.Ahead, b.Wide, b.Deep, b.Turn, b.Round})
	}
	return is
}

// playerAt is the player to whom a line of the document belongs, or nil.
func (d *document) playerAt(r *check.Result, line int) *score.Player {
	seats := d.seats()
	if line < 0 || line >= len(seats) || seats[line].Owner < 0 {
		return nil
	}
	p, ok := d.parsed().Lines[seats[line].Owner].Stmt.(*syntax.Player)
	if !ok {
		return nil
	}
	return r.Score.Player(p.Name.Value())
}

// putThing writes where a thing of a player's is to stand: behind the URI the version of the
// text that the set-up was about, the player, the number of the thing in it, and how far
// to the right and ahead.
func (s *session) putThing(ctx context.Context, id uri.URI, args []string) (string, error) {
	if !s.can.applyEdit {
		return "", refuse("this editor does not let the server change its text")
	}
	d, r, err := s.sound(ctx, id)
	if err != nil {
		return "", err
	}
	if len(args) < 5 {
		return "", refuse("%s wants the version, a player, the number of a thing, and how far to the right and ahead it is to stand", commandPut)
	}
	if args[0] != strconv.Itoa(int(d.version)) {
		return "", refuse("the text has changed meanwhile: look again where it stands")
	}
	p := r.Score.Player(args[1])
	n, err0 := strconv.Atoi(args[2])
	right, err1 := strconv.ParseFloat(args[3], 64)
	ahead, err2 := strconv.ParseFloat(args[4], 64)
	if p == nil || err0 != nil || err1 != nil || err2 != nil || !(math.Abs(right) <= farthest) || !(math.Abs(ahead) <= farthest) {
		return "", refuse("%s wants a player of the piece, and numbers: centimetres, at most %d", commandPut, farthest)
	}
	things := r.Things(p)
	if n < 0 || n >= len(things) {
		return "", refuse("%s has no thing of number %d", p.Name, n)
	}
	t := &things[n]
	edits := r.Put(p, t, right-t.At.Right, ahead-t.At.Ahead)
	if len(edits) == 0 {
		return "", refuse("where the %s stands is said in another file", t.Name)
	}
	label := "move the " + t.Name
	got, err := s.client.ApplyEdit(ctx, &protocol.ApplyWorkspaceEditParams{Label: &label, Edit: *s.editOf(d, edits)})
	if err == nil && !got.Applied {
		err = refuse("the editor did not take it: the text may have changed meanwhile")
	}
	return "", err
}

// farthest is how many centimetres from where a player stands something may be put.
const farthest = 9999
