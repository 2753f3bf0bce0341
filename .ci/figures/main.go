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
	"os"
	"path/filepath"
	"sort"
	"strings"
)

type figures struct{ lines, names int }

func main() {
	root := "."
	if len(os.Args) > 1 {
		root = os.Args[1]
	}
	of := map[string]*figures{}
	var all figures
	err := filepath.WalkDir(root, func(at string, d fs.DirEntry, err error) error {
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
		rel, err := filepath.Rel(root, filepath.Dir(at))
		if err != nil {
			return err
		}
		f := of[rel]
		if f == nil {
			f = &figures{}
			of[rel] = f
		}
		lines, names := strings.Count(string(text), "\n"), shown(file)
		f.lines, f.names = f.lines+lines, f.names+names
		all.lines, all.names = all.lines+lines, all.names+names
		return nil
	})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	var dirs []string
	for dir := range of {
		dirs = append(dirs, dir)
	}
	sort.Strings(dirs)
	fmt.Printf("%-28s %7s %7s\n", "package", "lines", "shown")
	for _, dir := range dirs {
		fmt.Printf("%-28s %7d %7d\n", dir, of[dir].lines, of[dir].names)
	}
	fmt.Printf("%-28s %7d %7d\n", "all", all.lines, all.names)
}

// shown counts the names of a file that other packages can use.
func shown(file *ast.File) (n int) {
	if file.Name.Name == "main" {
		return 0
	}
	for _, d := range file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if d.Name.IsExported() && (d.Recv == nil || receiverShown(d.Recv)) {
				n++
			}
		case *ast.GenDecl:
			for _, s := range d.Specs {
				switch s := s.(type) {
				case *ast.TypeSpec:
					if s.Name.IsExported() {
						n++
					}
				case *ast.ValueSpec:
					for _, name := range s.Names {
						if name.IsExported() {
							n++
						}
					}
				}
			}
		}
	}
	return n
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
