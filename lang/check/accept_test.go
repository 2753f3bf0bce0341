package check

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

const fourJumps = `tempo 120
part "P"
  snare-drum | 1 2 3 4 | % x7
  triangle   | 4&      | - | 4& | -5
player Ida
  R snare-drum with snare-stick as written
  R triangle clipped with triangle-beater as written
`

func errorsAt(text string) (at []string, unused int) {
	r := Check("a", syntax.Parse(text), Options{})
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Severity == Error {
			at = append(at, f.Rule.Name+" "+f.PlaceWords())
		}
		if f.Rule.Name == "unused" {
			unused++
		}
	}
	return at, unused
}

// What is weighed at one place stays there, though alike places are told of
// together.
func TestAnAcceptIsForItsPlaceAlone(t *testing.T) {
	at, _ := errorsAt(fourJumps)
	require.Equal(t, []string{"short-change 2.1", "short-change 1.4&"}, at)
	at, unused := errorsAt(fourJumps + "accept short-change at 1.4& because \"x\"\naccept short-change at 2 because \"x\"\n")
	assert.Equal(t, []string{"short-change 4.1", "short-change 3.4&"}, at)
	assert.Zero(t, unused)
	at, unused = errorsAt(fourJumps + "accept short-change at 3 for Ida because \"x\"\n")
	assert.Equal(t, []string{"short-change 2.1", "short-change 1.4&"}, at)
	assert.Zero(t, unused)
	at, unused = errorsAt(fourJumps + "accept short-change in 1-4 because \"x\"\n")
	assert.Empty(t, at)
	assert.Zero(t, unused)
}

// A fix that makes more places impossible than it mends is not offered, though
// they would be told of in one finding.
func TestAFixIsJudgedByPlacesNotByFindings(t *testing.T) {
	text := `tempo 120
part "P"
  suspended-cymbal | f 1 3x      | 1
  woodblock        | 2 2& 3 3& 4 | 1
  cowbell          | 2 2& 3 3& 4 | 1
player Ida
  R suspended-cymbal with snare-stick as written
  R woodblock with snare-stick as written
  L cowbell with snare-stick as written
`
	places := func(r *Result) (n int) {
		for _, rule := range Rules() {
			n += r.Count(rule, Error)
		}
		return n
	}
	r := Check("a", syntax.Parse(text), Options{})
	require.NotZero(t, places(r))
	for i := range r.Findings {
		for _, fix := range r.Fixes(&r.Findings[i]) {
			after, ok := r.After(fix.Edits)
			require.True(t, ok)
			assert.LessOrEqual(t, places(after), places(r), fix.Title)
		}
	}
}

// What is taken and laid at set places in one gap is told of change by change,
// where each is.
func TestSetPlacesAreToldOfOneByOne(t *testing.T) {
	text := "tempo 60\nplayer Ida\n  R holds snare-stick\n  R snare-drum with snare-stick | 1 | 1\n  R takes yarn-mallet at 1.2\n  R lays yarn-mallet at 1.3\n"
	r := Check("a", syntax.Parse(text), Options{})
	var told []string
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Timed {
			told = append(told, f.PlaceWords()+" "+f.Message())
			r.Fixes(f)
		}
	}
	require.NotEmpty(t, told)
	assert.Contains(t, told[0], "1.2 ")
	assert.Contains(t, told[0], "to lay the snare stick, take the yarn mallet")
}
