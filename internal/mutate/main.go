// Command mutate asks how much a package's own tests would notice: it changes
// one thing in the package's code, runs the package's tests, and counts how
// often they fail. It writes nothing into the tree: each change is laid over
// it for one run.
//
//	go run ./internal/mutate [-n 20] [-seed 1] [-first REGEXP] [-late REGEXP] [-skip REGEXP] [-short=false] PACKAGE_DIR…
//
// The tests are built once for a change and run in steps, and the first that
// fails ends it: those that -first names, where {file} stands for the name of
// the changed file as a rule has it; then all but those that -late names; then
// the rest; and without -short all of them once more in their long form.
//
// What is changed: comparisons (< and <=, > and >=, == and !=), && and ||,
// + and -, whole numbers by one, conditions that are made false, and truths
// that are turned round. A change that does not compile is not counted.
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/format"
	"go/parser"
	"go/token"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

func main() {
	n := flag.Int("n", 20, "how many changes to try of each package")
	seed := flag.Uint64("seed", 1, "which ones")
	var t tests
	flag.StringVar(&t.first, "first", "", "tests that are run before all others; {file} is the changed file's name")
	flag.StringVar(&t.late, "late", "", "tests that are run last: those that take long")
	flag.StringVar(&t.skip, "skip", "", "no tests that match: those that fail as it is")
	flag.BoolVar(&t.short, "short", true, "the tests' short form alone")
	flag.DurationVar(&t.wait, "wait", 5*time.Minute, "after which a step counts as failed")
	flag.Parse()
	for _, dir := range flag.Args() {
		if err := mutate(dir, *n, *seed, &t); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}

// tests says how a package's tests are run.
type tests struct {
	first, late, skip string
	short             bool
	wait              time.Duration
}

// steps are the arguments of each run of a package's tests.
func (t *tests) steps(file string) [][]string {
	var out [][]string
	step := func(args ...string) {
		if t.skip != "" {
			args = append(args, "-test.skip", t.skip)
		}
		out = append(out, append(args, "-test.failfast", "-test.timeout", t.wait.String()))
	}
	if t.first != "" {
		name := strings.ReplaceAll(strings.TrimSuffix(filepath.Base(file), ".go"), "_", "-")
		step("-test.short", "-test.run", strings.ReplaceAll(t.first, "{file}", name))
	}
	late := t.late
	if late != "" {
		skip := t.skip
		if t.skip != "" {
			t.skip += "|"
		}
		t.skip += late
		step("-test.short")
		t.skip = skip
		step("-test.short", "-test.run", late)
	} else {
		step("-test.short")
	}
	if !t.short {
		step()
	}
	return out
}

// A change is one thing to change in a file: its n-th.
type change struct {
	file string
	n    int
}

var others = map[token.Token]token.Token{
	token.LSS: token.LEQ, token.LEQ: token.LSS, token.GTR: token.GEQ, token.GEQ: token.GTR,
	token.EQL: token.NEQ, token.NEQ: token.EQL, token.LAND: token.LOR, token.LOR: token.LAND,
	token.ADD: token.SUB, token.SUB: token.ADD,
}

// walk visits what can be changed in a file, in its order, until one is
// changed.
func walk(f *ast.File, visit func(what string, at token.Pos, do func()) bool) {
	done := false
	offer := func(what string, at token.Pos, do func()) {
		if !done {
			done = visit(what, at, do)
		}
	}
	ast.Inspect(f, func(n ast.Node) bool {
		if done {
			return false
		}
		switch n := n.(type) {
		case *ast.GenDecl:
			return n.Tok != token.IMPORT && n.Tok != token.TYPE
		case *ast.BinaryExpr:
			if to, ok := others[n.Op]; ok && !text(n) {
				offer(fmt.Sprintf("%s becomes %s", n.Op, to), n.OpPos, func() { n.Op = to })
			}
		case *ast.BasicLit:
			if v, err := strconv.Atoi(n.Value); n.Kind == token.INT && err == nil {
				offer(fmt.Sprintf("%d becomes %d", v, v+1), n.Pos(), func() { n.Value = strconv.Itoa(v + 1) })
			}
		case *ast.IfStmt:
			offer("the condition becomes false", n.Cond.Pos(), func() {
				n.Cond = &ast.BinaryExpr{X: &ast.ParenExpr{X: n.Cond}, Op: token.LAND, Y: ast.NewIdent("false")}
			})
		case *ast.ReturnStmt:
			for _, r := range n.Results {
				if id, ok := r.(*ast.Ident); ok && (id.Name == "true" || id.Name == "false") {
					offer(id.Name+" is turned round", id.Pos(), func() { id.Name = map[string]string{"true": "false", "false": "true"}[id.Name] })
				}
			}
		}
		return true
	})
}

// text says whether a sum is one of words.
func text(n *ast.BinaryExpr) bool {
	found := false
	ast.Inspect(n, func(n ast.Node) bool {
		if l, ok := n.(*ast.BasicLit); ok && l.Kind == token.STRING {
			found = true
		}
		return !found
	})
	return found && n.Op == token.ADD
}

func mutate(dir string, n int, seed uint64, t *tests) error {
	names, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		return err
	}
	var all []change
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		if ast.IsGenerated(f) {
			continue
		}
		count := 0
		walk(f, func(string, token.Pos, func()) bool { count++; return false })
		for i := range count {
			all = append(all, change{name, i})
		}
	}
	switch failed, err := t.fail(dir, "", "unchanged.go"); {
	case err != nil:
		return fmt.Errorf("%s: its tests cannot be built: %w", dir, err)
	case failed:
		return fmt.Errorf("%s: its tests fail as it is", dir)
	}
	r := rand.New(rand.NewPCG(seed, 0))
	r.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	tried, noticed := 0, 0
	for _, c := range all {
		if tried == n {
			break
		}
		what, ok, failed, err := try(dir, c, t)
		if err != nil {
			return err
		}
		if !ok {
			continue
		}
		tried++
		word := "not noticed"
		if failed {
			noticed++
			word = "noticed"
		}
		fmt.Printf("%-11s %s\n", word, what)
	}
	fmt.Printf("%s: %d of %d noticed (of %d that there are, seed %d)\n", dir, noticed, tried, len(all), seed)
	return nil
}

// try makes one change and runs the tests over it.
func try(dir string, c change, t *tests) (what string, ok, failed bool, err error) {
	fset := token.NewFileSet()
	f, err := parser.ParseFile(fset, c.file, nil, parser.ParseComments)
	if err != nil {
		return "", false, false, err
	}
	at := 0
	walk(f, func(words string, pos token.Pos, do func()) bool {
		if at == c.n {
			p := fset.Position(pos)
			what = fmt.Sprintf("%s:%d: %s", filepath.Base(p.Filename), p.Line, words)
			do()
			return true
		}
		at++
		return false
	})
	tmp, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return "", false, false, err
	}
	defer os.RemoveAll(tmp)
	changed := filepath.Join(tmp, "changed.go")
	out, err := os.Create(changed)
	if err != nil {
		return "", false, false, err
	}
	err = format.Node(out, fset, f)
	out.Close()
	if err != nil {
		return "", false, false, err
	}
	abs, err := filepath.Abs(c.file)
	if err != nil {
		return "", false, false, err
	}
	overlay := filepath.Join(tmp, "overlay.json")
	text, err := json.Marshal(map[string]map[string]string{"Replace": {abs: changed}})
	if err != nil {
		return "", false, false, err
	}
	if err := os.WriteFile(overlay, text, 0o600); err != nil {
		return "", false, false, err
	}
	failed, err = t.fail(dir, overlay, c.file)
	return what, err == nil, failed, nil
}

// fail builds a package's tests over a change and runs them, step by step. The
// error is that they could not be built.
func (t *tests) fail(dir, overlay, file string) (bool, error) {
	tmp, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return false, err
	}
	defer os.RemoveAll(tmp)
	binary := filepath.Join(tmp, "tests")
	build := exec.Command("go", "test", "-c", "-vet=off", "-ldflags=-s -w", "-overlay="+overlay, "-o", binary, "./"+filepath.ToSlash(dir))
	if err := build.Run(); err != nil {
		return false, err
	}
	for _, args := range t.steps(file) {
		run := exec.Command(binary, args...)
		run.Dir = dir
		if run.Run() != nil {
			return true, nil
		}
	}
	return false, nil
}
