package guide

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// Every block of notation says which errors, warnings and compromises a check
// finds in it, and it finds those and no other. What it finds after a change,
// the command's test of the handbook checks, which also does what stands
// between.
func TestEveryBlockOfNotationFindsWhatItSays(t *testing.T) {
	checked := 0
	for _, topic := range Topics() {
		for _, b := range topic.Blocks() {
			if b.Kind != "handful" {
				continue
			}
			assert.Equal(t, syntax.Formatted(b.Text), b.Text, "%s: notation is shown in its canonical layout", topic.Name)
			r := check.Check("block.handful", syntax.Parse(b.Text), check.Options{})
			var found []string
			for i := range r.Findings {
				f := &r.Findings[i]
				if f.Severity != check.Info && !slices.Contains(found, f.Rule.Name) {
					found = append(found, f.Rule.Name)
				}
			}
			assert.ElementsMatch(t, b.Finds, found, "%s:\n%s%v", topic.Name, b.Text, messages(r))
			checked++
		}
	}
	assert.Greater(t, checked, 20)
}

func messages(r *check.Result) (out []string) {
	for i := range r.Findings {
		out = append(out, r.Findings[i].Message())
	}
	return out
}
