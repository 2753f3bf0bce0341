package check

import (
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A Thing is what stands somewhere in a player's set-up.
type Thing struct {
	Name    string
	At      body.Point // where it is struck, or a table's middle
	Station int
	Bodies  []room.Body // none of what takes no room
	Where   score.Where // the line that it stands in, or the player's
	Written bool        // the text says where it is

	standingThing
}

// Things is a player's set-up, as the text has it and as it is taken to be where it
// does not say. What is held or worn stands nowhere.
func (r *Result) Things(p *score.Player) []Thing {
	var out []Thing
	for _, t := range standing(p) {
		if len(t.bodies) == 0 {
			continue // it is held, wherever the text has it
		}
		is := Thing{Name: strings.TrimPrefix(t.name, "the "), Bodies: t.bodies, Where: t.where, Written: t.spot.End != 0, standingThing: t}
		if t.table != nil {
			is.At, is.Station = t.table.At, t.table.Station
		} else {
			is.At, is.Station = t.at(), t.item.Station
		}
		out = append(out, is)
	}
	for _, it := range p.Items {
		bodies := p.BodiesOf(it)
		if it.Placed || len(bodies) == 0 || !it.Used && !it.Listed {
			continue
		}
		out = append(out, Thing{Name: it.Called(), At: it.At, Station: it.Station, Bodies: bodies, Where: it.Where, standingThing: standingThing{item: it}})
	}
	for i := range p.Tables {
		if t := &p.Tables[i]; t.Assumed {
			out = append(out, Thing{
				Name: "table", At: t.At, Station: t.Station, Bodies: []room.Body{room.Table(t.At, t.Facing)}, Where: p.Where,
				standingThing: standingThing{table: t},
			})
		}
	}
	return out
}

// Put is the edits after which a thing of a player's stands so many centimetres to the
// right and ahead of where it stands; none where no line of this file can say so.
func (r *Result) Put(p *score.Player, t *Thing, right, ahead float64) []Edit {
	if t.Written {
		if t.spot.File != 0 {
			return nil
		}
		return []Edit{replace(t.spot, t.spotText(p, right, ahead))}
	}
	f := r.File
	moved := func(it *score.Item) body.Point {
		at := it.At
		if it == t.item {
			at.Right += right
			at.Ahead += ahead
		}
		return at
	}
	tables := func(b *score.Table) body.Point {
		at := b.At
		if b == t.table {
			at.Right += right
			at.Ahead += ahead
		}
		return at
	}
	if t.one > 0 {
		return oneOf(r.File, p, t, right, ahead)
	}
	if !p.HasKit {
		if p.Where.File != 0 {
			return nil
		}
		return []Edit{below(f, int(p.Where.Line), 1, kitLines(p, moved, tables)...)}
	}
	if t.item != nil && t.item.Listed {
		return placed(f, t.item, moved(t.item), p)
	}
	if p.Where.File != 0 {
		return nil
	}
	st := p.Stations[t.Station]
	spot := syntax.SpotAt(st.Name, t.At.Right+right-st.At.Right, t.At.Ahead+ahead-st.At.Ahead, 0)
	var line syntax.Stmt = &syntax.Stand{Word: syntax.Word("table"), Spot: spot}
	if t.item != nil {
		item := kitItem(p, t.item, t.At)
		item.Spot = spot
		line = item
	}
	if last := lastOfKit(f, int(p.Where.Line)); last >= 0 {
		return []Edit{below(f, last, 2, line)}
	}
	return []Edit{below(f, int(p.Where.Line), 1, &syntax.Kit{Word: syntax.Word("kit")}, line)}
}

// oneOf writes where one of a set is to stand, below the line of the set.
func oneOf(f *syntax.File, p *score.Player, t *Thing, right, ahead float64) []Edit {
	if t.item.Where.File != 0 {
		return nil
	}
	st, at := p.Stations[t.Station], t.At
	return []Edit{below(f, int(t.item.Where.Line), 2, &syntax.Item{
		Name: syntax.MemberOf(t.item.Name, t.item.Inst.MemberWords()[t.one-1]),
		Spot: syntax.SpotAt(st.Name, at.Right+right-st.At.Right, at.Ahead+ahead-st.At.Ahead, 0),
	})}
}

// placed writes a place into the line of a kit that has none, or none for this
// drum of a set.
func placed(f *syntax.File, it *score.Item, at body.Point, p *score.Player) []Edit {
	if it.Where.File != 0 {
		return nil
	}
	l := f.Lines[it.Where.Line]
	line, ok := l.Stmt.(*syntax.Item)
	if !ok || l.Broken || line.Spot != nil {
		return nil
	}
	st := p.Stations[it.Station]
	says := *line
	says.Spot = syntax.SpotAt(st.Name, at.Right-st.At.Right, at.Ahead-st.At.Ahead, 0)
	indent := len(l.Text) - len(strings.TrimLeft(l.Text, " \t"))
	return []Edit{{Line: int(it.Where.Line), Start: indent, End: len(strings.TrimRight(l.Code(), " \t")), Text: syntax.Print(&says)}}
}

// lastOfKit is the last line of a player's own kit, or -1.
func lastOfKit(f *syntax.File, player int) int {
	last := -1
	for i, seat := range f.Seats() {
		if seat.Owner == player && seat.Inner >= 0 && f.Lines[i].Form != nil {
			last = i
		}
	}
	return last
}

// kitItem is the line of a kit for a thing at a place.
func kitItem(p *score.Player, it *score.Item, at body.Point) *syntax.Item {
	mount := it.Mount
	for _, cue := range p.Cues {
		if m := cue.SaidMount(); cue.Item == it && m != kit.AnyMount {
			mount = m
		}
	}
	if mount == kit.AnyMount {
		mount = it.Inst.Usual().Mount
	}
	return &syntax.Item{Name: syntax.Word(it.Name), Mount: &syntax.Mount{Text: mount.String()}, Spot: syntax.SpotAt("", at.Right, at.Ahead, 0), Facing: syntax.Facing(it.Facing)}
}

// Overlaps says which of some things stand in one another.
func Overlaps(things []Thing) []bool {
	out := make([]bool, len(things))
	for i := range things {
		for k := range things[:i] {
			a, b := &things[i], &things[k]
			if a.partOf(&b.standingThing) {
				continue
			}
			if _, clash := room.Between(a.Bodies, b.Bodies); clash {
				out[i], out[k] = true, true
			}
		}
	}
	return out
}
