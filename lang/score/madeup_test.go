package score_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A made-up piece is known as data before it is text, so the data says what
// must be read: every stroke at its place with its signs, on its instrument,
// where that stands; what is held, taken and laid; and what covers what.
func TestWhatIsReadIsWhatWasMeant(t *testing.T) {
	pieces, strokes := 0, 0
	madeup.Try(t, 500, func(t *rapid.T) {
		p := madeup.Draw(t, madeup.Options{Notes: true, Players: 2, Roads: true, Actions: true})
		p.Written = rapid.Bool().Draw(t, "as written")
		text := p.Text()
		s := score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
		fail := func(format string, a ...any) {
			t.Helper()
			t.Fatalf(format+"\n%s", append(a, text)...)
		}
		for _, x := range s.Problems {
			fail("line %d: %s", x.Where.Line+1, x.Message())
		}
		if len(s.Players) != len(p.Players) {
			fail("%d players", len(s.Players))
		}
		pieces++
		sounds := 0
		for i := range p.Players {
			strokes += check(fail, s, p, &p.Players[i], s.Players[i], &sounds)
		}
		c := s.Coverage
		want := sounds
		if !p.Written {
			want = 0
		}
		if c.Written != want || c.Covered != want || c.Substituted != 0 || c.Omitted != 0 || len(c.Uncovered) != 0 || len(c.Doubled) != 0 || len(c.Extra) != 0 {
			fail("%d sound: %+v", want, c)
		}
	})
	t.Logf("%d pieces, %d strokes", pieces, strokes)
}

var limbs = map[string]body.Limb{
	"R": body.Right, "L": body.Left, "RL": body.RightFirst, "LR": body.LeftFirst, "R+L": body.Together,
	"RF": body.RightFoot, "LF": body.LeftFoot, "mouth": body.Mouth,
}

var loud = map[string]kit.Dynamic{"": 0, "p": kit.P, "f": kit.F}

// has says whether a hand has what is meant, one thing or two.
func has(first, second *kit.Implement, meant string) bool {
	what, beside, two := strings.Cut(meant, " and ")
	return first != nil && first.ID == what && two == (second != nil) && (!two || second.ID == beside)
}

func check(fail func(string, ...any), s *score.Score, p *madeup.Piece, meant *madeup.Player, got *score.Player, sounds *int) int {
	if got.Name != meant.Name {
		fail("%s is %s", meant.Name, got.Name)
	}
	if want := meant.Profile; want != "" && got.Profile.Name != want || want == "" && got.Profile.Name != "experienced" {
		fail("%s's profile is %s", meant.Name, got.Profile.Name)
	}
	for h, hold := range meant.Holds {
		g := got.Holds[h]
		what, egg := strings.CutSuffix(hold, " and shaker")
		if g.Said != (hold != "") || hold != "" && !has(g.Implement, g.Beside, what) || egg != (g.Inst != nil) {
			fail("hand %d holds %+v, and not %q", h, g, hold)
		}
	}
	for _, k := range meant.Kit {
		it := got.Item(k.Inst)
		if it == nil || !it.Placed || !it.Listed || it.Shared {
			fail("the %s is %+v", k.Inst, it)
			continue
		}
		right := float64(k.Right)
		if k.Far {
			right += float64(meant.FarRight)
		}
		if it.At.Right != right || it.At.Ahead != float64(k.Ahead) || (it.Station != 0) != k.Far || it.Mount.String() != k.Mount {
			fail("the %s stands at %+v, station %d, %s; meant is %+v", k.Inst, it.At, it.Station, it.Mount, k)
		}
	}
	tables := 1
	if meant.Far {
		tables = 2
	}
	if len(got.Tables) != tables || len(got.Stations) != tables || got.Tables[0].At.Right != float64(meant.Table[0]) || got.Tables[0].At.Ahead != float64(meant.Table[1]) {
		fail("%d tables and %d stations: %+v", len(got.Tables), len(got.Stations), got.Tables)
	}
	if len(got.Actions) != len(meant.Actions) {
		fail("%d actions", len(got.Actions))
	}
	for i, a := range meant.Actions {
		g := got.Actions[i]
		kind := map[string]score.ActionKind{"takes": score.Take, "lays": score.Lay}[a.Verb]
		if g.Kind != kind || g.Limb != limbs[a.Limb] || g.Bar != a.Bar || g.At != place(p, a.Bar, a.Pos) || kind == score.Take && !has(g.Implement, g.Beside, a.What) {
			fail("the action is %+v", g)
		}
	}
	n, at := 0, 0
	for _, sec := range meant.Sections {
		for k := range sec.Cues {
			c := &sec.Cues[k]
			if at >= len(got.Cues) {
				fail("%s has %d cues", meant.Name, len(got.Cues))
			}
			g := got.Cues[at]
			at++
			if g.Limb != limbs[c.Limb] || g.Item.Inst.ID != c.Thing.Inst || g.Mount.String() != c.Thing.Mount || g.AsWritten != p.Written || g.Pass != sec.Pass {
				fail("%s is read as %s %s %s", c.Says(), g.Limb, g.Item.Name, g.Mount)
			}
			if _, beside, ok := strings.Cut(c.With, " and "); ok != (g.Beside != nil) || ok && g.Beside.ID != beside {
				fail("%s is read with %v beside", c.Says(), g.Beside)
			}
			if len(g.Strokes) != len(c.Strokes) {
				fail("%s in %d has %d strokes, and %d are meant", c.Says(), sec.From, len(g.Strokes), len(c.Strokes))
			}
			for i, m := range c.Strokes {
				st := &g.Strokes[i]
				bar := sec.From + m.Bar
				end := place(p, bar, m.Pos)
				if m.Roll > 0 { // a roll beyond its cue ends with the last sixteenth of it
					until := m.Pos + m.Roll
					if last := (c.Bars-m.Bar)*4*p.Beats - 1; until > last {
						until = last
					}
					end = place(p, bar, until)
				}
				rolls := m.Roll > 0 && end != place(p, bar, m.Pos)
				if st.At != place(p, bar, m.Pos) || st.End != end || int(st.Bar) != bar || int(st.Grace) != m.Grace || st.Dyn != loud[m.Dyn] || st.Hand != 0 ||
					st.Has(score.Short) != m.Short || st.Has(score.Stop) != m.Stop || st.Has(score.Roll) != rolls || st.Has(score.Accent) {
					fail("%s: %+v is read as %+v", c.Says(), m, *st)
				}
				if !m.Stop {
					*sounds += 1 + strings.Count(m.Aim, "+") // each note of a chord is one
				}
				n++
			}
		}
	}
	if at != len(got.Cues) {
		fail("%s has %d cues, and %d are meant", meant.Name, len(got.Cues), at)
	}
	for k, span := range s.Time.Spans() {
		if sec := s.Time.Seconds(k, place(p, span.From, 0)); k == 0 && sec != 0 {
			fail("it begins at %v", sec)
		}
		length := s.Time.Seconds(k, place(p, span.To+1, 0)) - s.Time.Seconds(k, place(p, span.From, 0))
		if want := float64((span.To-span.From+1)*p.Beats) * 60 / float64(p.Tempo); length < want-1e-9 || length > want+1e-9 {
			fail("bars %d to %d last %v s, and not %v", span.From, span.To, length, want)
		}
	}
	return n
}

// place is a sixteenth of a bar, in whole notes from the beginning.
func place(p *madeup.Piece, bar, pos int) beat.Rat {
	return beat.R(int64((bar-1)*p.Beats*4+pos), 16)
}
