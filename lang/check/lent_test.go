package check

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/motion"
	"example.org/handful/lang/syntax"
)

// wholeReport is all that a result says, what may be done about it included.
func wholeReport(r *Result) string {
	var b strings.Builder
	for i := range r.Findings {
		f := &r.Findings[i]
		fmt.Fprintln(&b, f.Rule.Name, f.Severity, f.Where, f.Player, f.Limb, f.Place(), f.Message(), f.Need, f.Window, f.Sums)
		for _, n := range f.Related {
			fmt.Fprintln(&b, n.Where, n.Message())
		}
		for _, p := range f.toTry() {
			fmt.Fprintln(&b, p.Title, p.Edits)
		}
	}
	for _, c := range r.Ceilings() {
		fmt.Fprintln(&b, c.Player, r.Says(&c))
	}
	return b.String()
}

// What is found in the room of pieces before is what each finds in its own, and so is what is
// tried on it.
func TestALentRoomFindsNothingOfThePieceBefore(t *testing.T) {
	var rooms motion.Rooms
	room := NewRoom()
	found := 0
	for range 2 {
		for _, rule := range Rules() {
			if rule.mistake != "" {
				continue
			}
			for _, text := range []string{rule.Trips, rule.Passes} {
				own := Check("t", syntax.Parse(text), Options{Load: rule.load})
				lent := Check("t", syntax.Parse(text), Options{Load: rule.load, Rooms: &rooms, Room: room})
				require.Equal(t, wholeReport(own), wholeReport(lent), text)
				more := text + "# more\n"
				require.Equal(t, wholeReport(Check("t", syntax.Parse(more), Options{Load: rule.load})), wholeReport(tryOut(lent, syntax.Reparse(more, lent.File))), text)
				found += len(lent.Findings)
				lent.Done()
				room.Clear()
			}
		}
	}
	require.Greater(t, found, 200)
}
