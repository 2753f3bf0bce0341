// Command mutate asks how much a package's own tests would notice: it changes
// one thing in the package's code, runs the package's tests, and counts how
// often they fail. It writes nothing into the tree: each change is laid over
// it for one run.
//
//	go run ./internal/mutate [-n 20] [-seed 1] [-first REGEXP] [-late REGEXP] [-skip REGEXP] [-short=false] PACKAGE_DIR…
//
// All changes are built in at once, each behind a question that an environment
// variable answers; what cannot be built so is built by itself. The tests are
// run in steps, and the first that fails ends it: those that -first names, where {file} stands for the name of
// the changed file as a rule has it; then all but those that -late names; then
// the rest; and without -short all of them once more in their long form.
//
// What is changed: comparisons (< and <=, > and >=, == and !=), && and ||,
// + and -, whole numbers by one, conditions that are made false, and truths
// that are turned round. A change that does not compile is not counted.
package main

import (
	"bytes"
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
	"regexp"
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

// A place is where something can be changed in a file.
type place struct {
	what string
	at   token.Pos
	do   func()         // make the change
	ask  func(k string) // make it depend on whether the k-th change is asked for
}

// places are what can be changed in a file, in its order.
func places(f *ast.File) []place {
	var out []place
	offer := func(what string, at token.Pos, do func(), ask func(k string)) {
		out = append(out, place{what, at, do, ask})
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.GenDecl:
			return n.Tok != token.IMPORT && n.Tok != token.TYPE
		case *ast.BinaryExpr:
			if to, ok := others[n.Op]; ok && !text(n) {
				offer(fmt.Sprintf("%s becomes %s", n.Op, to), n.OpPos, func() { n.Op = to }, func(k string) { askOp(n, to, k) })
			}
		case *ast.BasicLit:
			if v, err := strconv.Atoi(n.Value); n.Kind == token.INT && err == nil {
				offer(fmt.Sprintf("%d becomes %d", v, v+1), n.Pos(), func() { n.Value = strconv.Itoa(v + 1) },
					func(k string) { n.Value = fmt.Sprintf("mutateNumber(%s, %d)", k, v) })
			}
		case *ast.IfStmt:
			offer("the condition becomes false", n.Cond.Pos(), func() {
				n.Cond = &ast.BinaryExpr{X: &ast.ParenExpr{X: n.Cond}, Op: token.LAND, Y: ast.NewIdent("false")}
			}, func(k string) {
				n.Cond = &ast.BinaryExpr{X: &ast.ParenExpr{X: n.Cond}, Op: token.LAND, Y: ast.NewIdent("!mutateAsked(" + k + ")")}
			})
		case *ast.ReturnStmt:
			for _, id := range truths(n) {
				offer(id.Name+" is turned round", id.Pos(), func() { id.Name = map[string]string{"true": "false", "false": "true"}[id.Name] },
					func(k string) {
						id.Name = map[string]string{"true": "!", "false": ""}[id.Name] + "mutateAsked(" + k + ")"
					})
			}
		}
		return true
	})
	return out
}

// askOp makes an expression one with another operator where the k-th change is
// asked for.
func askOp(n *ast.BinaryExpr, to token.Token, k string) {
	if n.Op == token.ADD || n.Op == token.SUB {
		n.Y = &ast.CallExpr{Fun: ast.NewIdent("mutateSign"), Args: []ast.Expr{ast.NewIdent(k), n.Y}}
		return
	}
	is := &ast.BinaryExpr{X: n.X, Op: n.Op, Y: n.Y}
	other := &ast.BinaryExpr{X: n.X, Op: to, Y: n.Y}
	n.X = both("mutateAsked("+k+")", other)
	n.Op = token.LOR
	n.Y = both("!mutateAsked("+k+")", is)
}

// truths are true and false where they are returned.
func truths(n *ast.ReturnStmt) (out []*ast.Ident) {
	for _, r := range n.Results {
		if id, ok := r.(*ast.Ident); ok && (id.Name == "true" || id.Name == "false") {
			out = append(out, id)
		}
	}
	return out
}

// both is a condition in front of another one.
func both(first string, then ast.Expr) ast.Expr {
	return &ast.ParenExpr{X: &ast.BinaryExpr{X: ast.NewIdent(first), Op: token.LAND, Y: &ast.ParenExpr{X: then}}}
}

// questions is what the changes that are built in at once ask.
const questions = `package %s

import (
	"os"
	"strconv"
)

var mutateThis, _ = strconv.Atoi(os.Getenv("MUTATE"))

func mutateAsked(k int) bool { return mutateThis == k }

func mutateNumber(k, v int) int {
	if mutateThis == k {
		return v + 1
	}
	return v
}

func mutateSign[T int | int8 | int16 | int32 | int64 | uint8 | uint16 | uint32 | uint64 | float64](k int, v T) T {
	if mutateThis == k {
		return -v
	}
	return v
}
`

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
	all, err := changes(dir)
	if err != nil {
		return err
	}
	r := rand.New(rand.NewPCG(seed, 0))
	r.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	tmp, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return err
	}
	defer os.RemoveAll(tmp)
	together, in, err := t.together(tmp, dir, all[:min(len(all), n+n/4)])
	if err != nil {
		return err
	}
	if t.fail(dir, together, "unchanged.go", 0) {
		return fmt.Errorf("%s: its tests fail as it is", dir)
	}
	tried, noticed := 0, 0
	for i, c := range all {
		if tried == n {
			break
		}
		binary, k := together, i+1
		f, what, err := changed(c)
		if err != nil {
			return err
		}
		if i >= len(in) || !in[i] {
			binary, k = filepath.Join(tmp, "one"), 0
			if t.build(tmp, dir, binary, map[string]*ast.File{c.file: f}, false) != nil {
				continue
			}
		}
		tried++
		word := "not noticed"
		if t.fail(dir, binary, c.file, k) {
			noticed++
			word = "noticed"
		}
		fmt.Printf("%-11s %s\n", word, what)
	}
	fmt.Printf("%s: %d of %d noticed (of %d that there are, seed %d)\n", dir, noticed, tried, len(all), seed)
	return nil
}

// changes are all that can be changed in a package.
func changes(dir string) (all []change, err error) {
	names, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parse(name)
		if err != nil {
			return nil, err
		}
		if ast.IsGenerated(f) {
			continue
		}
		for i := range places(f) {
			all = append(all, change{name, i})
		}
	}
	return all, nil
}

var fset = token.NewFileSet()

func parse(file string) (*ast.File, error) {
	return parser.ParseFile(fset, file, nil, parser.ParseComments)
}

// changed is a file with one change in it.
func changed(c change) (*ast.File, string, error) {
	f, err := parse(c.file)
	if err != nil {
		return nil, "", err
	}
	p := places(f)[c.n]
	at := fset.Position(p.at)
	p.do()
	return f, fmt.Sprintf("%s:%d: %s", filepath.Base(at.Filename), at.Line, p.what), nil
}

// together builds the tests with as many of the changes as can be built in at
// once, and says which these are.
func (t *tests) together(tmp, dir string, list []change) (binary string, in []bool, err error) {
	binary = filepath.Join(tmp, "together")
	in = make([]bool, len(list))
	for i := range in {
		in[i] = true
	}
	for {
		files, err := asking(list, in)
		if err != nil {
			return "", nil, err
		}
		err = t.build(tmp, dir, binary, files, true)
		if err == nil {
			return binary, in, nil
		}
		if !leaveOut(tmp, err.Error(), in) {
			return "", nil, err
		}
	}
}

// asking are the files with those of the changes built in that are in.
func asking(list []change, in []bool) (map[string]*ast.File, error) {
	files := map[string]*ast.File{}
	at := map[string][]place{}
	for i, c := range list {
		if !in[i] {
			continue
		}
		if files[c.file] == nil {
			f, err := parse(c.file)
			if err != nil {
				return nil, err
			}
			files[c.file], at[c.file] = f, places(f)
		}
		at[c.file][c.n].ask(strconv.Itoa(i + 1))
	}
	return files, nil
}

var (
	asked     = regexp.MustCompile(`mutate(?:Asked|Number|Sign)\((\d+)`)
	complaint = regexp.MustCompile(`([^/\s]+\.go):(\d+):\d+: `)
)

// leaveOut takes out the changes in whose lines the compiler found something
// wrong, and says whether there were any.
func leaveOut(tmp, complaints string, in []bool) (any bool) {
	for _, m := range complaint.FindAllStringSubmatch(complaints, -1) {
		text, err := os.ReadFile(filepath.Join(tmp, m[1]))
		lines := strings.Split(string(text), "\n")
		n, _ := strconv.Atoi(m[2])
		if err != nil || n > len(lines) {
			continue
		}
		for _, k := range asked.FindAllStringSubmatch(lines[n-1], -1) {
			if i, _ := strconv.Atoi(k[1]); in[i-1] {
				in[i-1], any = false, true
			}
		}
	}
	return any
}

// build builds a package's tests with changed files laid over it.
func (t *tests) build(tmp, dir, binary string, files map[string]*ast.File, ask bool) error {
	replace := map[string]string{}
	for name, f := range files {
		var b bytes.Buffer
		if err := format.Node(&b, fset, f); err != nil {
			return err
		}
		abs, err := filepath.Abs(name)
		if err != nil {
			return err
		}
		replace[abs] = filepath.Join(tmp, filepath.Base(name))
		if err := os.WriteFile(replace[abs], b.Bytes(), 0o600); err != nil {
			return err
		}
		if ask {
			abs = filepath.Join(filepath.Dir(abs), "mutate_questions.go")
			replace[abs] = filepath.Join(tmp, "mutate_questions.go")
			if err := os.WriteFile(replace[abs], fmt.Appendf(nil, questions, f.Name.Name), 0o600); err != nil {
				return err
			}
		}
	}
	text, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return err
	}
	overlay := filepath.Join(tmp, "overlay.json")
	if err := os.WriteFile(overlay, text, 0o600); err != nil {
		return err
	}
	out, err := exec.Command("go", "test", "-c", "-vet=off", "-gcflags=-e", "-ldflags=-s -w", "-overlay", overlay, "-o", binary, "./"+filepath.ToSlash(dir)).CombinedOutput()
	if err != nil {
		return fmt.Errorf("%w: %s", err, out)
	}
	return nil
}

// fail runs a package's tests, step by step, with the k-th of the changes that
// are built in, and says whether they fail.
func (t *tests) fail(dir, binary, file string, k int) bool {
	for _, args := range t.steps(file) {
		run := exec.Command(binary, args...)
		run.Dir = dir
		run.Env = append(os.Environ(), "MUTATE="+strconv.Itoa(k))
		if run.Run() != nil {
			return true
		}
	}
	return false
}
