package check

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// lines says a result in full, so that two can be compared.
func lines(r *Result) string {
	var b strings.Builder
	for i := range r.Findings {
		f := &r.Findings[i]
		fmt.Fprintf(&b, "%d:%d-%d %s %s %s %s\n", f.Where.Line, f.Where.Start, f.Where.End, f.Severity, f.Rule.Name, f.PlaceWords(), f.Message())
		for _, n := range f.Related {
			fmt.Fprintf(&b, "  %d:%d-%d %s\n", n.Where.Line, n.Where.Start, n.Where.End, n.Message())
		}
	}
	for _, m := range r.Motions {
		fmt.Fprintf(&b, "%s %d %v %v %d\n", m.Player.Name, m.Cost, m.Cannot.Factor, m.Edge.Factor, len(m.Changes))
		for i := range m.Changes {
			c := &m.Changes[i]
			fmt.Fprintf(&b, "  %s %d %.3f %.3f %s\n", c.Hand, c.To.Where().Line, c.Window, c.Need.Floor, c.After.Words())
		}
	}
	for _, c := range r.Ceilings() {
		fmt.Fprintf(&b, "%+v\n", c)
	}
	fmt.Fprintf(&b, "%d %d %d %d\n", r.Score.Coverage.Written, r.Score.Coverage.Covered, r.Score.Coverage.Substituted, r.Score.Coverage.Omitted)
	return b.String()
}

// A piece that is checked again after edits comes out as if it had been
// checked afresh, whatever was taken over.
func TestRecheckingIsCheckingAfresh(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		text := band(24)
		r := checkText(text)
		for range rapid.IntRange(1, 4).Draw(t, "edits") {
			all := strings.Split(text, "\n")
			i := rapid.IntRange(0, len(all)-1).Draw(t, "line")
			switch rapid.IntRange(0, 4).Draw(t, "edit") {
			case 0:
				all = append(all[:i], all[i+1:]...)
			case 1:
				all = append(all[:i], append([]string{"# a remark"}, all[i:]...)...)
			case 2:
				all[i] = strings.Replace(all[i], "1", "2", 1)
			case 3:
				all[i] = strings.NewReplacer("  R ", "  L ", "  L ", "  R ").Replace(all[i])
			case 4:
				all[i] = strings.Replace(all[i], "tempo 72", "tempo 172", 1)
			}
			text = strings.Join(all, "\n")
			r = Recheck(r, syntax.Reparse(text, r.File))
		}
		if got, want := lines(r), lines(checkText(text)); got != want {
			t.Fatalf("taken over:\n%s\nafresh:\n%s\n%s", got, want, text)
		}
	})
}

// What is wrong in a part that is taken over as it was is found as often as it is checked,
// and of a part without anything wrong nothing is.
func TestUnclearNamesOfPartsTakenOverAreFound(t *testing.T) {
	text := "tempo 96\nbars 2\npart \"P\"\n  Gong | 1 | -\npart \"Q\"\n  triangle | 1 | 2\nplayer Ida\n  R tam-tam for Gong as written\nplayer Per\n  L triangle as written\n  R cowbell | 1 | 2\n"
	r := Check("a", syntax.Parse(text), Options{Score: score.Options{Remember: true}})
	for _, bars := range []string{"| 1 | 3", "| 2 | 3", "| 2 | 1 3"} {
		edited := strings.Replace(text, "cowbell | 1 | 2", "cowbell "+bars, 1)
		r = Recheck(r, syntax.Reparse(edited, r.File))
		require.Equal(t, lines(Check("a", syntax.Parse(edited), Options{})), lines(r), edited)
		require.True(t, slices.ContainsFunc(r.Findings, func(f Finding) bool { return f.Rule == unclearName }), edited)
		clear := []bool{r.clear[r.Score.Parts[0]], r.clear[r.Score.Parts[1]]}
		require.Equal(t, []bool{false, true}, clear)
	}
}

// What rules keep of players and parts that are the very ones holds for as long as they are,
// whoever else is edited.
func TestWhatRulesKeepOfPlayersAndPartsHolds(t *testing.T) {
	text := `title "Slow"
tempo 96
bars 12
part "Q"
  suspended-cymbal | 1 3x | -11
part "P"
  bass-drum | 1 | %x11
player Ida
  R snare-drum with snare-stick | f 1 2 3 4 | -9 | 1 2 3 4
player Per
  R bass-drum | p 1 | % x11
player Tam
  R suspended-cymbal with snare-stick | 1 3x | -11
`
	edits := []struct {
		from, to string
		rules    string // that find something behind it
	}{
		{"R bass-drum | p 1 |", "R bass-drum | f 1 |", "snares-on"},
		{"with snare-stick | 1 3x |", "with snare-stick | 1 |", "snares-on ring-over"},
		{"with snare-stick | 1 |", "with snare-stick | 1 3x |", "snares-on"},
		{"| f 1 2 3 4 | -9 |", "| f 1 2 3 4 | 1 | -8 |", "snares-on"},
		{"| f 1 2 3 4 | 1 | -8 |", "| f 1 2 3 4 | -3 | 1 | -5 |", ""},
		{"with snare-stick | 1 3x |", "with snare-stick | 1 |", "ring-over"},
		{"  suspended-cymbal | 1 3x |", "  suspended-cymbal | 1 |", ""},
		{"  suspended-cymbal | 1 |", "  suspended-cymbal | 1 3x |", "ring-over"},
		{"title \"Slow\"", "title \"Slow March\"", "ring-over implied-cymbals"},
		{"R bass-drum | f 1 |", "R bass-drum | f 2 |", "ring-over implied-cymbals"},
		{"title \"Slow March\"", "title \"Slow\"", "ring-over"},
		{"R bass-drum | f 2 |", "R bass-drum | f 1 |", "ring-over"},
		{"| f 1 2 3 4 | -3 | 1 | -5 |", "| f 1 2 3 4 | -9 |", "snares-on ring-over"},
		{"R bass-drum | f 1 |", "R bass-drum | p 1 |", "ring-over"},
	}
	r := Check("a", syntax.Parse(text), Options{Score: score.Options{Remember: true}})
	for _, e := range edits {
		require.Contains(t, text, e.from)
		text = strings.Replace(text, e.from, e.to, 1)
		r = Recheck(r, syntax.Reparse(text, r.File))
		require.Equal(t, lines(Check("a", syntax.Parse(text), Options{})), lines(r), text)
		for _, rule := range []*Rule{snaresOn, ringOver, impliedCymbals} {
			found := slices.ContainsFunc(r.Findings, func(f Finding) bool { return f.Rule == rule })
			require.Equal(t, slices.Contains(strings.Fields(e.rules), rule.Name), found, "%s in\n%s", rule.Name, text)
		}
	}
}
