package check_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
	"example.org/handful/lang/syntax"
)

// Sets of up to eight instruments that nobody places: where they are assumed
// to stand nothing is in anything else, every hand reaches what it plays, and
// where there is no such place it is said. Written down, it is the same.
func TestAssumedKitsHaveRoom(t *testing.T) {
	all := kit.Standard().Instruments()
	r := rand.New(rand.NewPCG(20, 26))
	tight := 0
	for round := range 150 {
		var b strings.Builder
		b.WriteString("tempo 40\nplayer Ida\n")
		seen := map[string]bool{}
		for range 1 + r.IntN(8) {
			in := all[r.IntN(len(all))]
			if seen[in.ID] {
				continue
			}
			seen[in.ID] = true
			w := in.Ways[r.IntN(len(in.Ways))]
			limb := "RL"[r.IntN(2):][:1]
			switch {
			case w.Limb == kit.Foot:
				limb += "F"
			case w.Limb == kit.Mouth:
				limb = "mouth"
			}
			fmt.Fprintf(&b, "  %s %s %s", limb, in.ID, w.Mount)
			if len(w.With) > 0 {
				fmt.Fprintf(&b, " with %s", w.With[0].Implement)
			}
			fmt.Fprintf(&b, " | -%d | 1 |\n", 2*len(seen))
		}
		text := b.String()
		res := check.Check("set.handful", syntax.Parse(text), check.Options{})
		p := res.Score.Players[0]
		var bodies []room.Body
		var names []string
		for _, it := range p.Items {
			list := p.BodiesOf(it)
			if len(list) == 0 {
				continue
			}
			for _, body := range list {
				for k, o := range bodies {
					if room.Shares(it.Inst, p.Item(names[k]).Inst) || it.NoRoom && body.Into(o) > 0 && noRoomSaid(res, it.Inst) {
						continue
					}
					assert.LessOrEqual(t, body.Into(o), 1e-9, "%d: %s and %s\n%s", round, it.Name, names[k], text)
				}
			}
			for _, body := range list {
				bodies, names = append(bodies, body), append(names, it.Name)
			}
			if it.NoRoom {
				tight++
				assert.True(t, noRoomSaid(res, it.Inst), "%s has no room, and nothing says so\n%s", it.Name, text)
			} else {
				for _, f := range res.Findings {
					assert.False(t, f.Rule.Name == "out-of-reach" && strings.Contains(f.Message(), it.Inst.Name()), "%s\n%s", f.Message(), text)
				}
			}
		}
		for _, tb := range p.Tables {
			for k, o := range bodies {
				if !p.Item(names[k]).NoRoom {
					assert.LessOrEqual(t, room.Table(tb.At, tb.Facing).Into(o), 1e-9, "the table and %s\n%s", names[k], text)
				}
			}
		}
		if round%5 > 0 {
			continue
		}
		for i := range res.Findings {
			f := &res.Findings[i]
			if f.Rule.Name != "assumed-kit" {
				continue
			}
			for _, fix := range res.Fixes(f) {
				after, ok := res.After(fix.Edits)
				require.True(t, ok)
				for _, g := range after.Findings {
					assert.False(t, g.Rule.Name == "same-space" && !strings.Contains(f.Message(), "no room"), "%s\n%s", g.Message(), after.File.Text())
				}
			}
		}
	}
	assert.Less(t, tight, 60, "sets of eight are meant to find room as a rule")
}

func noRoomSaid(r *check.Result, in *kit.Instrument) bool {
	for _, f := range r.Findings {
		if f.Rule.Name == "assumed-kit" {
			_, after, _ := strings.Cut(f.Message(), "no room within reach for ")
			return strings.Contains(after, in.Name())
		}
	}
	return false
}

// Random kits: every move that is offered parts the two for good, and adds no
// error or warning of any kind.
func TestMovesThatAreOfferedMakeRoom(t *testing.T) {
	ids := []string{"snare-drum", "glockenspiel", "bass-drum", "tom-toms", "suspended-cymbal", "hi-hat", "tam-tam", "timbales"}
	r := rand.New(rand.NewPCG(6, 28))
	offered := 0
	for range 25 {
		var b strings.Builder
		b.WriteString("tempo 40\nplayer Ida\n  kit\n")
		n := 2 + r.IntN(3)
		from := r.IntN(len(ids))
		for k := range n {
			side := []string{"right", "left"}[r.IntN(2)]
			fmt.Fprintf(&b, "    %s %s at %s %d ahead %d\n", ids[(from+k)%len(ids)], map[bool]string{true: "hung", false: "on stand"}[ids[(from+k)%len(ids)] == "tam-tam"], side, r.IntN(40), 35+r.IntN(30))
		}
		for k := range n {
			fmt.Fprintf(&b, "  %s %s | -%d | 1 |\n", "RL"[k%2:k%2+1], ids[(from+k)%len(ids)], 2*k+1)
		}
		res := check.Check("kit.handful", syntax.Parse(b.String()), check.Options{})
		for i := range res.Findings {
			f := &res.Findings[i]
			if f.Rule.Name != "same-space" {
				continue
			}
			for _, fix := range res.Fixes(f) {
				if !strings.HasPrefix(fix.Title, "move ") {
					continue
				}
				offered++
				after, ok := res.After(fix.Edits)
				require.True(t, ok)
				assert.Less(t, howMany(after, "same-space"), howMany(res, "same-space"), fix.Title)
				for _, g := range after.Findings {
					assert.False(t, g.Rule.Name == "out-of-reach", "%s: %s\n%s", fix.Title, g.Message(), after.File.Text())
					assert.False(t, g.Rule.Name == "same-space" && g.Where == f.Where && g.Related[0].Where == f.Related[0].Where, "%s\n%s", g.Message(), after.File.Text())
				}
			}
		}
	}
	assert.Greater(t, offered, 30)
}

func howMany(r *check.Result, rule string) int {
	n := 0
	for i := range r.Findings {
		if r.Findings[i].Rule.Name == rule {
			n++
		}
	}
	return n
}
