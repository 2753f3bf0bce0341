package lang

import (
	"go/ast"
	"go/token"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/uudashr/gocognit"
)

// How hard functions may be to follow. Cognitive complexity is G. Ann
// Campbell's measure (SonarSource, 2018), counted by a library of others.
const (
	longFunction  = 20 // above this, a function is counted
	mostLong      = 60 // so many may be, in all
	longestIsOver = 40 // and none is above this
)

// TestFunctionsCanBeFollowed holds all the packages that are built, tests
// aside, to a number of long functions: whoever writes one more takes another
// one apart.
func TestFunctionsCanBeFollowed(t *testing.T) {
	var long []gocognit.Stat
	seen := 0
	eachFileIn(t, "..", func(pkg, path string, file *ast.File) {
		for _, s := range gocognit.ComplexityStats(file, token.NewFileSet(), nil) {
			seen++
			if s.Complexity > longFunction {
				long = append(long, s)
			}
			assert.LessOrEqual(t, s.Complexity, longestIsOver, "%s: %s takes named steps", path, s.FuncName)
		}
	})
	require.Greater(t, seen, 1000, "functions are found")
	assert.LessOrEqual(t, len(long), mostLong, "functions above %d: %v", longFunction, long)
}
