// Package lang holds no code of its own; this file checks the house rules
// that the packages below it keep.
package lang

import (
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// Data flows down this list; imports only point up it.
var flow = []string{"words", "slab", "beat", "pitch", "body", "rhythm", "syntax", "kit", "written", "room", "score", "motion", "check", "proof", "exchange", "plan", "pdf", "sheet", "guide"}

// What nothing below the command and the server touches except through what
// it is handed.
var forbidden = []string{"os", "os/exec", "os/signal", "time", "net", "net/http", "math/rand", "math/rand/v2", "log"}

// What stands over the pipeline, and touches the world: the same direction.
var above = []string{"internal/folder", "internal/report", "internal/baseline", "internal/settings", "internal/since", "internal/cache", "lsp", "cmd/handful/disk", "cmd/handful"}

func eachFile(t *testing.T, visit func(pkg, path string, file *ast.File)) {
	eachFileIn(t, ".", visit)
}

// eachFileIn visits the files of our own that are built in, below a folder.
func eachFileIn(t *testing.T, root string, visit func(pkg, path string, file *ast.File)) {
	fset := token.NewFileSet()
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") ||
			root == "." && strings.Contains(path, "internal") {
			return err
		}
		file, err := parser.ParseFile(fset, path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		visit(filepath.Dir(path), path, file)
		return nil
	})
	require.NoError(t, err)
}

func TestImportsPointUpTheFlow(t *testing.T) {
	eachFile(t, func(pkg, path string, file *ast.File) {
		me := slices.Index(flow, pkg)
		require.GreaterOrEqual(t, me, 0, "%s is in no place of the flow", path)
		for _, imp := range file.Imports {
			name := strings.Trim(imp.Path.Value, `"`)
			if other, ok := strings.CutPrefix(name, "example.org/handful/lang/"); ok {
				assert.Less(t, slices.Index(flow, other), me, "%s imports %s, which is not above it", path, name)
			}
			assert.NotContains(t, forbidden, name, "%s touches the world through %s", path, name)
			assert.False(t, strings.HasPrefix(name, "example.org/handful/cmd") || strings.HasPrefix(name, "example.org/handful/lsp"), path)
		}
	})
}

func TestImportsPointUpAboveTheFlowToo(t *testing.T) {
	for me, pkg := range above {
		eachFileIn(t, filepath.Join("..", filepath.FromSlash(pkg)), func(_, path string, file *ast.File) {
			for _, imp := range file.Imports {
				name, ours := strings.CutPrefix(strings.Trim(imp.Path.Value, `"`), "example.org/handful/")
				if other := slices.Index(above, name); ours && name != pkg && !strings.HasPrefix(name, "lang/") {
					assert.True(t, other >= 0 && other < me, "%s imports %s, which is not above it", path, name)
				}
			}
		})
	}
}

// A package-level variable is a table, a compiled-in file, something built
// once, or a rule; nothing assigns to one.
func TestNoMutablePackageState(t *testing.T) {
	globals := map[string]map[string]bool{}
	eachFile(t, func(pkg, path string, file *ast.File) {
		if globals[pkg] == nil {
			globals[pkg] = map[string]bool{}
		}
		for _, d := range file.Decls {
			if g, ok := d.(*ast.GenDecl); ok && g.Tok == token.VAR {
				for _, s := range g.Specs {
					for _, n := range s.(*ast.ValueSpec).Names {
						if n.Name == "_" {
							continue
						}
						globals[pkg][n.Name] = true
					}
				}
			}
		}
	})
	eachFile(t, func(pkg, path string, file *ast.File) {
		for _, d := range file.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || fn.Body == nil {
				continue
			}
			local := map[string]bool{}
			ast.Inspect(fn, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.Field:
					for _, name := range n.Names {
						local[name.Name] = true
					}
				case *ast.AssignStmt:
					for _, l := range n.Lhs {
						for {
							if ix, ok := l.(*ast.IndexExpr); ok {
								l = ix.X
								continue
							}
							break
						}
						id, ok := l.(*ast.Ident)
						if !ok {
							continue
						}
						if n.Tok == token.DEFINE {
							local[id.Name] = true
							continue
						}
						assert.False(t, globals[pkg][id.Name] && !local[id.Name], "%s: %s assigns to the package variable %s", path, fn.Name.Name, id.Name)
					}
				}
				return true
			})
		}
	})
}

// namesOf are the ids of the catalogue.
func namesOf() map[string]bool {
	ids := map[string]bool{}
	for _, in := range kit.Standard().Instruments() {
		ids[in.ID] = true
	}
	for _, im := range kit.Standard().Implements() {
		ids[im.ID], ids[im.ID+"s"] = true, true
	}
	return ids
}

// No code knows an instrument or an implement by its name: what is asked of one
// is a property in the catalogue, and what is known of it elsewhere stands in a
// table. Pieces that are made up for tests, and examples that are notation, are
// no code.
func TestNoCodeKnowsAnInstrumentByName(t *testing.T) {
	homonyms := map[string]string{
		"kit/kit.go fingers": "what stops a ring: the fingers themselves",
	}
	looks := []string{"strings.Contains", "strings.HasPrefix", "strings.HasSuffix", "strings.Index", "strings.EqualFold", "strings.Cut", "strings.CutPrefix", "strings.CutSuffix"}
	ids, met := namesOf(), map[string]bool{}
	visit := func(_, path string, file *ast.File) {
		slash := filepath.ToSlash(path)
		if strings.HasPrefix(slash, "../internal/compose/") || strings.HasPrefix(slash, "../internal/madeup/") {
			return
		}
		isID := func(e ast.Expr) bool {
			s, ok := e.(*ast.SelectorExpr)
			return ok && s.Sel.Name == "ID"
		}
		isText := func(e ast.Expr) bool {
			l, ok := e.(*ast.BasicLit)
			return ok && l.Kind == token.STRING && l.Value != `""`
		}
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.BasicLit:
				text, _ := strconv.Unquote(n.Value)
				if n.Kind != token.STRING || !ids[text] {
					return true
				}
				key := slash + " " + text
				met[key] = true
				assert.NotEmpty(t, homonyms[key], "%s knows %q by name: make what it asks a property in the catalogue", path, text)
			case *ast.BinaryExpr: // also by a piece of the name
				compares := n.Op == token.EQL || n.Op == token.NEQ
				assert.False(t, compares && (isID(n.X) && isText(n.Y) || isID(n.Y) && isText(n.X)), "%s compares an id with a name", path)
			case *ast.SwitchStmt:
				assert.False(t, n.Tag != nil && isID(n.Tag), "%s chooses by an id", path)
			case *ast.CallExpr:
				assert.False(t, slices.ContainsFunc(n.Args, isID) && slices.ContainsFunc(n.Args, isText) && slices.Contains(looks, types.ExprString(n.Fun)),
					"%s looks for a name in an id", path)
			}
			return true
		})
	}
	for _, root := range []string{".", "../internal", "../lsp", "../cmd", "../handful.go"} {
		eachFileIn(t, root, visit)
	}
	for key := range homonyms {
		assert.True(t, met[key], "%s is not there any more", key)
	}
}

// What is said of a text stands in says.go, each sentence once, so that it is
// found, and is data until somebody reads it.
func TestWhatIsSaidOfATextStandsInOnePlace(t *testing.T) {
	told := 0
	eachFile(t, func(pkg, path string, file *ast.File) {
		if !slices.Contains([]string{"syntax", "kit", "score"}, pkg) {
			return
		}
		ast.Inspect(file, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			name := types.ExprString(call.Fun)
			switch name[strings.LastIndexByte(name, '.')+1:] {
			case "fault", "also", "Tells", "whole":
				told++
				for _, arg := range call.Args {
					text, literal := arg.(*ast.BasicLit)
					assert.False(t, literal && strings.Contains(text.Value, " "), "%s says %s by itself: put it into says.go", path, types.ExprString(arg))
				}
			}
			return true
		})
	})
	assert.Greater(t, told, 150)
}

func TestEveryPackageSaysWhatItIs(t *testing.T) {
	says := map[string]string{}
	eachFile(t, func(pkg, path string, file *ast.File) {
		if file.Doc != nil {
			says[pkg] = file.Doc.Text()
		}
	})
	for _, pkg := range flow {
		assert.Contains(t, says[pkg], "never", "the comment of package %s says what comes in, what goes out and what it never does", pkg)
	}
}

const examples = "../examples"

func exampleFiles(t *testing.T) []string {
	names, err := filepath.Glob(examples + "/*.handful")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(names), 6)
	return names
}

func TestExamplesAreInTheirCanonicalLayout(t *testing.T) {
	for _, name := range exampleFiles(t) {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.Equal(t, string(text), syntax.Formatted(string(text)), name)
	}
}

// Every finding in the examples is announced beside the line that it stands
// on, as in  # finds short-change, compromise  and nothing is announced that
// is not found.
func TestExamplesFindWhatTheySay(t *testing.T) {
	for _, name := range exampleFiles(t) {
		t.Run(filepath.Base(name), func(t *testing.T) {
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			r := check.Check(filepath.Base(name), syntax.Parse(string(text)), check.Options{})
			announced := map[int][]string{}
			for i, l := range r.File.Lines {
				if _, words, ok := strings.Cut(l.Text, "# finds "); ok {
					for _, w := range strings.Split(words, ",") {
						announced[i] = append(announced[i], strings.TrimSpace(w))
					}
				}
			}
			found := map[int][]string{}
			for _, f := range r.Findings {
				if f.Severity == check.Info || f.Severity == check.Compromise {
					continue
				}
				line := int(f.Where.Line)
				if !slices.Contains(found[line], f.Rule.Name) {
					found[line] = append(found[line], f.Rule.Name)
				}
				assert.Contains(t, announced[line], f.Rule.Name, "line %d: %s", line+1, f.Message())
			}
			for line, rules := range announced {
				for _, rule := range rules {
					assert.Contains(t, found[line], rule, "line %d announces it", line+1)
				}
			}
		})
	}
}
