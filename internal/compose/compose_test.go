package compose

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/handful/lang/syntax"
)

// Every form of the table comes up, lines come twice, and what was made is in
// large part understood, else it would test nothing but the first message.
func TestEveryStatementComesUp(t *testing.T) {
	seen := map[*syntax.Form]int{}
	lines, right, twice := 0, 0, 0
	for seed := range uint64(1500) {
		at := map[string]bool{}
		for _, l := range syntax.Parse(Text(rand.New(rand.NewPCG(seed, 1)))).Lines {
			if l.Form == nil {
				continue
			}
			seen[l.Form]++
			lines++
			if len(l.Problems) == 0 {
				right++
			}
			if at[l.Text] {
				twice++
			}
			at[l.Text] = true
		}
	}
	for _, f := range syntax.Forms() {
		assert.NotZero(t, seen[f], "no text has %s", f.Word)
	}
	assert.Greater(t, twice, lines/100)
	assert.Greater(t, right, lines/2)
	assert.Less(t, right, lines)
	t.Logf("%d lines, %d understood, %d twice in their text", lines, right, twice)
}

// The same choices make the same text.
func TestTheSameChoicesMakeTheSameText(t *testing.T) {
	data := []byte("some bytes of a fuzz target, any bytes at all")
	assert.Equal(t, Text(Bytes(data)), Text(Bytes(data)))
	assert.NotEqual(t, Text(Bytes(data)), Text(Bytes(data[5:])))
}
