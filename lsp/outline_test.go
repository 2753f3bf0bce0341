package lsp

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.lsp.dev/protocol"

	"example.org/handful/lang/syntax"
)

// Whatever has been typed of a piece, the name of what the outline shows lies within
// it: an editor that is told otherwise shows its user an error.
func TestTheOutlineHoldsItsNamesWhateverIsTyped(t *testing.T) {
	files := []string{"weir", "scene-change", "what-can-go-wrong"}
	if testing.Short() {
		files = files[:1]
	}
	asked := 0
	for _, name := range files {
		data, err := os.ReadFile("../examples/" + name + ".handful")
		require.NoError(t, err)
		text := string(data)
		f := syntax.Parse("")
		for at := range text {
			if !strings.Contains(text[:at], "\npart") && testing.Short() && at%7 != 0 {
				continue
			}
			for _, more := range []string{"", " ", "\"", "\t# why"} {
				typed := text[:at] + more
				f = syntax.Reparse(typed, f)
				list := symbolsOf(f, newIndex(typed, utf8Columns))
				for i := range list {
					for _, y := range append([]symbol{list[i]}, list[i].inner...) {
						asked++
						if !holds(y.whole, y.at) {
							assert.Fail(t, "a name outside of what has it", "%q at %v, and that at %v, behind %q", y.name, y.at, y.whole, typed[strings.LastIndexByte(typed, '\n')+1:])
						}
					}
				}
			}
			if t.Failed() {
				return
			}
		}
	}
	assert.Greater(t, asked, 10_000)
}

func holds(outer, inner protocol.Range) bool {
	before := func(a, b protocol.Position) bool {
		return a.Line < b.Line || a.Line == b.Line && a.Character <= b.Character
	}
	return before(outer.Start, inner.Start) && before(inner.Start, inner.End) && before(inner.End, outer.End)
}
