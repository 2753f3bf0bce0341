// Command mutate asks how much a package's own tests would notice: it changes
// one thing in the package's code, runs the package's tests, and counts how
// often they fail. It writes nothing into the tree: each change is laid over
// it for one run.
//
//	go run ./internal/mutate [-n 20] [-seed 1] [-run REGEXP] [-skip REGEXP] [-short=false] PACKAGE_DIR…
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
	run := flag.String("run", "", "only tests that match")
	skip := flag.String("skip", "", "no tests that match: those that fail as it is")
	short := flag.Bool("short", true, "the tests' short form")
	wait := flag.Duration("wait", 3*time.Minute, "after which a run counts as failed")
	flag.Parse()
	for _, dir := range flag.Args() {
		if err := mutate(dir, *n, *seed, *run, *skip, *short, *wait); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
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

func mutate(dir string, n int, seed uint64, run, skip string, short bool, wait time.Duration) error {
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
	r := rand.New(rand.NewPCG(seed, 0))
	r.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	tried, noticed := 0, 0
	for _, c := range all {
		if tried == n {
			break
		}
		what, ok, failed, err := try(dir, c, run, skip, short, wait)
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
func try(dir string, c change, run, skip string, short bool, wait time.Duration) (what string, ok, failed bool, err error) {
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
	pkg := "./" + filepath.ToSlash(dir)
	if exec.Command("go", "build", "-overlay", overlay, pkg).Run() != nil {
		return what, false, false, nil
	}
	args := []string{"test", "-overlay", overlay, fmt.Sprintf("-short=%v", short), "-failfast", "-timeout", wait.String()}
	if run != "" {
		args = append(args, "-run", run)
	}
	if skip != "" {
		args = append(args, "-skip", skip)
	}
	return what, true, exec.Command("go", append(args, pkg)...).Run() != nil, nil
}
