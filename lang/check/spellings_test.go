package check

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// spellingsPiece is where the spellings are tried: each block's line stands at
// its mark.
const spellingsPiece = `title "Tide Table"
meter 4/4
tempo 96
bars 64
mark A at 9
mark B at 17
repeat 41-44
#head
part "Percussion 1"
  snare-drum | mf 1 2 3 4 | % x63
part "Percussion 2"
  triangle | 1 | % x63
part "Percussion 3"
#part
player Ida
  kit
#kit
  L turns page at 60
#player
`

// tried is a line in its place: what is wrong with it there, and the line as the
// formatter writes it.
func tried(block, line string) (problems []score.Problem, is string) {
	text := strings.Replace(spellingsPiece, "#"+block+"\n", line+"\n", 1)
	at := strings.Count(text[:strings.Index(text, line+"\n")], "\n")
	f := syntax.Parse(text)
	s := score.Bind("x", f, nil, score.Options{})
	for _, p := range s.Problems {
		if p.Where.File == 0 && int(p.Where.Line) >= at && int(p.Where.Line) <= at+strings.Count(line, "\n") && p.Rule != syntax.RuleUnclearName && p.Rule != syntax.RuleReason {
			problems = append(problems, p)
		}
	}
	return problems, strings.Join(strings.Fields(syntax.FormatLines(f)[at]), " ")
}

// What people write first is understood, and written as the notation has it; or
// it is answered, and whatever the answer advises is itself understood there.
func TestWhatPeopleWrite(t *testing.T) {
	data, err := os.ReadFile("testdata/spellings.txt")
	require.NoError(t, err)
	block := ""
	understood, answered, readings, advice, changed := 0, 0, 0, 0, 0
	for n, line := range strings.Split(string(data), "\n") {
		if line == "" || line[0] == '#' {
			continue
		}
		if line[0] == '[' {
			block = strings.Trim(line, "[]")
			continue
		}
		if written, is, ok := cutLast(line, " = "); ok {
			understood++
			problems, got := tried(block, written)
			assert.Empty(t, problems, "line %d: %s", n+1, written)
			assert.Equal(t, is, got, "line %d: %s", n+1, written)
			again, same := tried(block, is)
			assert.Empty(t, again, is)
			assert.Equal(t, is, same, "what the formatter writes is the last word")
			assert.Nil(t, syntax.Same(written, is), "line %d: %s", n+1, written)
			if written != is {
				changed++
			}
			continue
		}
		written, answer, ok := cutLast(line, " ? ")
		require.True(t, ok, "line %d: %s", n+1, line)
		answered++
		answer, advised, has := strings.Cut(answer, " => ")
		problems, _ := tried(block, written)
		if !assert.NotEmpty(t, problems, "line %d: %s", n+1, written) {
			continue
		}
		p := problems[0]
		assert.Contains(t, p.Message(), strings.TrimSpace(answer), "line %d: %s", n+1, written)
		assert.NotContains(t, p.Message(), "syntax.")
		if has {
			advice++
			assert.Contains(t, p.Message(), advised, written)
			left, _ := tried(block, advised)
			assert.Empty(t, left, "line %d: %s is answered with %s", n+1, written, advised)
		}
		for _, r := range p.Readings {
			readings++
			assert.Contains(t, p.Message(), firstOf(p, r), "line %d: %s", n+1, written)
			where := "player"
			if block == "kit" {
				where = block
			}
			fixed := written[:p.Where.Start] + r.Text + written[p.Where.End:]
			if left, _ := tried(block, fixed); len(left) >= len(problems) {
				left2, _ := tried(where, fixed) // a page is turned by a player
				assert.Less(t, len(left2), len(problems), "line %d: %s is answered with %s: %s", n+1, written, r.Text, left[0].Message())
			}
		}
	}
	t.Logf("%d spellings: %d understood, %d of them in other words than the notation's; %d answered, with %d readings and %d pieces of advice that were tried",
		understood+answered, understood, changed, answered, readings, advice)
	assert.Greater(t, understood+answered, 250)
}

func cutLast(line, sep string) (before, after string, ok bool) {
	i := strings.LastIndex(line, sep)
	if sep == " = " { // a tempo has one of its own on either side
		for _, s := range []string{" = tempo ", " = R ", " = claves "} {
			if k := strings.LastIndex(line, s); k >= 0 {
				i = k
			}
		}
	}
	if i < 0 {
		return "", "", false
	}
	return line[:i], line[i+len(sep):], true
}

// firstOf is the reading as its message has it: long lists of limbs are named by
// the limb.
func firstOf(p score.Problem, r syntax.Reading) string {
	if strings.HasPrefix(p.Message(), "who plays this") {
		limb, _, _ := strings.Cut(r.Text, " ")
		return limb
	}
	return r.Text
}
