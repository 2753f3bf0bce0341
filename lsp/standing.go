package lsp

import (
	"context"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/lang/check"
)

// standing says how a document stands, for what an editor has at the bottom of
// its window and for a sheet that follows the caret: whose line it is at and in which bar, how
// much of what is written is played, up to which tempo it goes, and which tempo
// is supposed. Where the caret is in no player's lines it is about the one whose
// tempo is the lowest.
type standing struct {
	Player string `json:"player"` // at the caret, or ""
	Bar    int    `json:"bar"`    // that the caret is in, or 0
	Short  string `json:"short"`
	Long   string `json:"long"`
}

func (s *session) standing(ctx context.Context, id uri.URI, args []string) (string, error) {
	d, r, err := s.checked(ctx, id)
	if err != nil {
		return "", err
	}
	line := -1
	if len(args) > 0 {
		if line, err = strconv.Atoi(args[0]); err != nil {
			return "", refuse("%s wants the number of a line", commandStanding)
		}
	}
	col := 0
	if len(args) > 1 {
		if col, err = strconv.Atoi(args[1]); err != nil {
			return "", refuse("%s wants the number of a column", commandStanding)
		}
	}
	var is standing
	if p := d.playerAt(r, line); p != nil {
		is.Player = p.Name
	}
	if line >= 0 {
		row, at := d.at(protocol.Position{Line: uint32(line), Character: uint32(max(0, col))})
		is.Bar = barAt(r, row, at)
	}
	short, long := []string{}, []string{}
	if c := r.Score.Coverage; c.Written > 0 {
		played := c.Covered + c.Substituted
		short = append(short, fmt.Sprintf("%d %% played", int(check.RoundDown(100*float64(played)/float64(c.Written), 1))))
		long = append(long, coverageWords(r))
	}
	who, words, most := is.ceiling(r)
	if words != "" {
		short, long = append(short, who+": "+most), append(long, who+": "+words)
	}
	if conf := d.analysis.conf; conf.Tempo != "" {
		short, long = append(short, "at "+conf.Tempo), append(long, "what is found supposes "+conf.Tempo+" of the written tempo")
	}
	if len(short) == 0 {
		short = append(short, "nothing is written yet")
	}
	is.Short, is.Long = strings.Join(short, " · "), strings.Join(long, "\n")
	raw, err := json.Marshal(is)
	return string(raw), err
}

// ceiling is whose tempo is told: in words, and as the number that it goes to.
func (is *standing) ceiling(r *check.Result) (who, words, most string) {
	least := -1
	ceilings := r.Ceilings()
	for i, m := range r.Motions {
		switch c := &ceilings[i]; {
		case is.Player != "" && m.Player.Name != is.Player:
		case least < 0 || c.Edge.Factor < ceilings[least].Edge.Factor:
			least = i
		}
	}
	if least < 0 {
		return "", "", ""
	}
	c := &ceilings[least]
	switch {
	case c.Cannot.Never():
		most = "not at any tempo"
	case c.Edge.Never():
		most = "at the edge at any tempo"
	case c.Edge.None():
		most = "any tempo"
	default:
		most = "up to " + r.TempoWords(&c.Edge)
	}
	return r.Motions[least].Player.Name, r.Says(c), most
}
