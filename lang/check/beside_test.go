package check

import (
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// On one core and on more the same is found, at first and after each edit of a piece with
// so much to play that how quick it is is worked out beside the first rules.
func TestOnOneCoreAndOnMoreTheSameIsFound(t *testing.T) {
	text := strings.Replace(band(1200), "tempo 72", "tempo 200", 1)
	found := func(cores int) (list []string) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		r := Check("t", syntax.Parse(text), Options{Score: score.Options{Remember: true}})
		for _, m := range r.Motions {
			require.Greater(t, len(m.Events), muchPlayed)
		}
		list = append(list, told(r))
		for _, with := range []string{"| 1 2 3& 4 |", "| 1 1& 2 2& 3 3& 4 4& |", "| 1 3& |"} {
			const was = "| 1 2& 3 4 |"
			at := strings.LastIndex(text, was) // of the last player alone
			now := text[:at] + with + text[at+len(was):]
			r = Recheck(r, syntax.Reparse(now, r.File))
			list = append(list, told(r))
		}
		return list
	}
	one := found(1)
	require.Contains(t, one[0], tooFast.Name)
	for _, cores := range []int{2, 3} {
		require.Equal(t, one, found(cores), "%d cores", cores)
	}
}

// A failure of the program on another core is one of whoever checks.
func TestAFailureBesideIsOneOfTheCheck(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(2))
	m := &motion.Result{Player: &score.Player{}, Events: make([]motion.Event, muchPlayed)}
	m.Events[0] = motion.Event{Cue: &score.Cue{}, Limbs: body.R} // of nothing at all
	r := &Result{Motions: []*motion.Result{m}}
	wait := r.ratesBeside([]int{0})
	fault := Contained(wait)
	require.NotNil(t, fault)
	assert.Contains(t, fault.Place, "motion")
}
