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

// TestRulesAreNamedByConstants finds rules that are asked for by a word: one
// that is called otherwise some day would no longer be met, without a sound.
func TestRulesAreNamedByConstants(t *testing.T) {
	seen := 0
	eachFileIn(t, "..", func(pkg, path string, file *ast.File) {
		ast.Inspect(file, func(n ast.Node) bool {
			is, ok := n.(*ast.BinaryExpr)
			if !ok || !ofRule(is.X) {
				return true
			}
			seen++
			if lit, word := is.Y.(*ast.BasicLit); word && lit.Value != `""` {
				t.Errorf("%s asks for a rule by the word %s", path, lit.Value)
			}
			return true
		})
	})
	require.Greater(t, seen, 5, "rules are asked for by name")
}

// ofRule says whether an expression is the name of a rule.
func ofRule(e ast.Expr) bool {
	name, ok := e.(*ast.SelectorExpr)
	if !ok || name.Sel.Name != "Name" {
		return false
	}
	of, ok := name.X.(*ast.SelectorExpr)
	return ok && of.Sel.Name == "Rule"
}
