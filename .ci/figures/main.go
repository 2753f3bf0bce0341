// Figures prints, for each package, how many lines it has without tests and how
// many names it shows to others: types, functions, methods of such types,
// variables and constants.
//
// go run ./.ci/figures [folder]
package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

type figures struct{ lines, names int }

func main() {
	root := "."
	if len(os.Args) > 1 {
		root = os.Args[1]
	}
	of, err := count(root)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	var all figures
	fmt.Printf("%-28s %7s %7s\n", "package", "lines", "shown")
	for _, dir := range slices.Sorted(maps.Keys(of)) {
		f := of[dir]
		all.lines, all.names = all.lines+f.lines, all.names+f.names
		fmt.Printf("%-28s %7d %7d\n", dir, f.lines, f.names)
	}
	fmt.Printf("%-28s %7d %7d\n", "all", all.lines, all.names)
}

// count is the figures of each folder with Go files.
func count(root string) (map[string]figures, error) {
	of := map[string]figures{}
	return of, filepath.WalkDir(root, func(at string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() && at != root && (strings.HasPrefix(name, ".") || name == "testdata" || name == "node_modules") {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return nil
		}
		text, err := os.ReadFile(at)
		if err != nil {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), at, text, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		dir, err := filepath.Rel(root, filepath.Dir(at))
		if err != nil {
			return err
		}
		f := of[dir]
		of[dir] = figures{f.lines + strings.Count(string(text), "\n"), f.names + shown(file)}
		return nil
	})
}

// shown counts the names of a file that other packages can use.
func shown(file *ast.File) (n int) {
	if file.Name.Name == "main" {
		return 0
	}
	for _, name := range declared(file) {
		if name.IsExported() {
			n++
		}
	}
	return n
}

// declared is the names of a file's declarations, but for methods of types that
// are not shown.
func declared(file *ast.File) (names []*ast.Ident) {
	for _, d := range file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if d.Recv == nil || receiverShown(d.Recv) {
				names = append(names, d.Name)
			}
		case *ast.GenDecl:
			for _, s := range d.Specs {
				switch s := s.(type) {
				case *ast.TypeSpec:
					names = append(names, s.Name)
				case *ast.ValueSpec:
					names = append(names, s.Names...)
				}
			}
		}
	}
	return names
}

func receiverShown(recv *ast.FieldList) bool {
	t := recv.List[0].Type
	for {
		switch x := t.(type) {
		case *ast.StarExpr:
			t = x.X
		case *ast.IndexExpr:
			t = x.X
		case *ast.Ident:
			return x.IsExported()
		default:
			return false
		}
	}
}
