package check

import (
	"fmt"
	"math"
	"strings"

	"handful/lang/kit"
	"handful/lang/score"
)

var assumedKit = &Rule{
	Name:       "assumed-kit",
	Severities: []Severity{Info},
	Finds:      "where things were taken to stand because the file does not say",
	Means: `What no kit places is taken to stand in an arc before the player in the order in which it is first used, each as large
as such a thing is and where it stands in nothing else; implements lie on a table 20 cm to the right and 40 cm ahead,
or next to there. Every time that depends on it is as good as that guess.`,
	Why: `A quarter of a second more or less is what decides many a change, and forty centimetres are a quarter of a
second.`,
	Stands: `Common practice, no source. Write the kit down and it is yours.`,
	Trips: `tempo 96
player Ida
  R snare-drum | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  kit
    snare-drum on stand at ahead 40
  R snare-drum | 1 2 3 4
`,
	check: func(c *Context) {
		for _, p := range c.Score.Players {
			var names, far []string
			for _, it := range p.Items {
				if it.Used && !it.Placed {
					names = append(names, it.Inst.Name())
					if it.NoRoom {
						far = append(far, "the "+it.Inst.Name())
					}
				}
			}
			if len(names) == 0 {
				continue
			}
			f := c.report(Finding{Severity: Info, Where: p.Where, Player: p.Name,
				Message: fmt.Sprintf("where %s has these is assumed: %s", p.Name, list(names))})
			if len(far) > 0 {
				f.Message += "; there is no room within reach for " + list(far)
			}
			if !p.HasKit {
				f.propose("write the kit down as it was assumed", true, c.below(int(p.Where.Line), kitText(p)))
			}
		}
	},
}

func list(names []string) string {
	const most = 8
	if len(names) > most {
		return strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", len(names)-most)
	}
	return strings.Join(names, ", ")
}

// kitText is the player's set-up as the notation writes it.
func kitText(p *score.Player) string {
	var b strings.Builder
	b.WriteString("  kit")
	for _, it := range p.Items {
		if !it.Used {
			continue
		}
		fmt.Fprintf(&b, "\n    %s", it.Name)
		mount := it.Mount
		for _, cue := range p.Cues {
			if m := cue.SaidMount(); cue.Item == it && m != kit.AnyMount {
				mount = m
			}
		}
		if mount == kit.AnyMount {
			mount = it.Inst.Usual().Mount
		}
		fmt.Fprintf(&b, " %s at%s", mount, spot(it.At.Right, "right", "left")+spot(it.At.Ahead, "ahead", "behind"))
		if it.Facing != 0 {
			fmt.Fprintf(&b, " facing %.0f", it.Facing)
		}
	}
	for _, t := range p.Tables {
		if t.Station == 0 {
			fmt.Fprintf(&b, "\n    table at%s", spot(t.At.Right, "right", "left")+spot(t.At.Ahead, "ahead", "behind"))
		}
	}
	return b.String()
}

func spot(v float64, plus, minus string) string {
	switch v = math.Round(v); {
	case v > 0:
		return fmt.Sprintf(" %s %.0f", plus, v)
	case v < 0:
		return fmt.Sprintf(" %s %.0f", minus, -v)
	}
	return ""
}
