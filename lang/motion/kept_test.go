package motion_test

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A path is taken over from before a change only where it comes out the same
// afresh, whatever small thing was changed; and where nothing was, it is taken
// over.
func TestAPathIsTakenOverOnlyWhereItIsTheSame(t *testing.T) {
	kept, fresh := 0, 0
	madeup.Try(t, 800, func(t *rapid.T) {
		p := madeup.Draw(t, madeup.Options{Notes: true, Players: 1, Roads: true, Actions: true})
		q := p.Clone()
		pl := &q.Players[0]
		what := rapid.SampledFrom([]string{"nothing", "tempo", "table", "spot", "ahead", "holds", "profile", "stroke", "limb", "head", "action", "with"}).Draw(t, "what")
		switch what {
		case "tempo":
			q.Tempo++
		case "table":
			pl.Table[1] += 5
		case "spot":
			if len(pl.Kit) > 0 {
				pl.Kit[0].Right += 5
			}
		case "ahead":
			if len(pl.Kit) > 0 {
				pl.Kit[len(pl.Kit)-1].Ahead += 5
			}
		case "holds":
			pl.Holds[1] = "yarn-mallet"
		case "profile":
			pl.Profile = map[string]string{"": "student", "student": "professional", "professional": ""}[pl.Profile]
		case "stroke":
			for _, s := range pl.Sections {
				for k := range s.Cues {
					if c := &s.Cues[k]; len(c.Strokes) > 1 {
						c.Strokes = slices.Delete(c.Strokes, 0, 1)
					}
				}
			}
		case "limb":
			for _, s := range pl.Sections {
				for k := range s.Cues {
					if c := &s.Cues[k]; c.Limb == "R" {
						c.Limb = "L"
					}
				}
			}
		case "head":
			q.Head = []string{fmt.Sprintf("repeat 1-%d x3", q.Bars)}
		case "action":
			pl.Actions = append(pl.Actions, madeup.Action{Limb: "R", Verb: "takes", What: "timpani-mallet", Bar: 1, Pos: 4})
		case "with":
			for _, s := range pl.Sections {
				for k := range s.Cues {
					if c := &s.Cues[k]; c.With == "snare-stick" {
						c.With = "wire-brush"
					}
				}
			}
		}
		bind := func(text string) *score.Score {
			return score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
		}
		a, b := bind(p.Text()), bind(q.Text())
		old := motion.Solve(a, a.Players[0])
		got, ok := motion.Reuse(old, a, b, b.Players[0])
		if !ok {
			fresh++
			if what == "nothing" {
				t.Fatalf("nothing was changed, and the path is not taken over\n%s", p.Text())
			}
			return
		}
		kept++
		want := motion.Solve(b, b.Players[0])
		if x, y := line(got), line(want); x != y {
			t.Fatalf("%s was changed:\ntaken over\n%s\nafresh\n%s\n%s\nto\n%s", what, x, y, p.Text(), q.Text())
		}
	})
	t.Logf("%d paths taken over, %d not", kept, fresh)
}

// line says a result in full.
func line(r *motion.Result) string {
	s := fmt.Sprintln(r.Player.Name, r.Cost, r.Cannot.Factor, r.Edge.Factor, len(r.Events), len(r.Conflicts))
	for i := range r.Changes {
		c := &r.Changes[i]
		s += fmt.Sprintln(c.Hand.Name(), c.To.T0, c.Window, c.Need, c.Before.Words(), c.After.Words(), words(c))
	}
	for h := range 2 {
		for _, sp := range r.Spells[h] {
			s += fmt.Sprintln(sp.From, sp.Place, sp.Grip.Words())
		}
	}
	for i := range r.Chosen {
		c := &r.Chosen[i]
		s += fmt.Sprintln(c.Cue.Item.Name, c.Way.Mount, c.Choice.Implement, c.Count, c.Substitute)
	}
	return s
}
