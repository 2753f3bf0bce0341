package main

import (
	"fmt"
	"os"
	"path/filepath"

	"handful/lsp/folder"
)

// input is one text to work on.
type input struct {
	path string // as it is shown; "-" for standard input
	text string
	root string // the folder that its use lines may read in
	name string // its path within the root, with slashes
}

// gather reads every file that the paths mean: files themselves, folders for
// every .handful file below, - for standard input. What cannot be read is said
// on stderr, and the rest still comes.
func gather(paths []string, s *streams) (inputs []input, failed bool) {
	fail := func(err error) {
		s.say(err)
		failed = true
	}
	if len(paths) == 0 {
		paths = []string{"."}
	}
	seen := map[string]bool{}
	again := func(p string) bool {
		was := seen[p]
		seen[p] = true
		return was
	}
	for _, p := range paths {
		if p == "-" {
			if again(p) {
				continue
			}
			text, err := folder.ReadAll(s.in, "standard input")
			if err != nil {
				fail(err)
				continue
			}
			inputs = append(inputs, input{path: "-", text: text, root: workingFolder(), name: "-"})
			continue
		}
		files, errs := folder.Below(p)
		for _, err := range errs {
			fail(err)
		}
		if len(files) == 0 && len(errs) == 0 {
			fmt.Fprintf(s.err, "handful: there is no %s file below %s\n", folder.Extension, clean(p))
		}
		for _, f := range files {
			if again(filepath.Clean(f)) {
				continue
			}
			text, err := readFile(f)
			if err != nil {
				fail(err)
				continue
			}
			root, name := workspaceOf(f)
			inputs = append(inputs, input{path: f, text: text, root: root, name: name})
		}
	}
	return inputs, failed
}

func readFile(p string) (string, error) {
	f, err := os.Open(p)
	if err != nil {
		return "", err
	}
	defer f.Close()
	return folder.ReadAll(f, p)
}

func workingFolder() string {
	dir, err := os.Getwd()
	if err != nil {
		return "."
	}
	return dir
}

// workspaceOf is the folder that a file's use lines may read in, and the
// file's name there: the working folder if the file is below it, else the
// file's own folder.
func workspaceOf(file string) (root, name string) {
	abs, err := filepath.Abs(file)
	if err != nil {
		return ".", filepath.ToSlash(file)
	}
	wd := workingFolder()
	if rel, err := filepath.Rel(wd, abs); err == nil && filepath.IsLocal(rel) {
		return wd, filepath.ToSlash(rel)
	}
	return filepath.Dir(abs), filepath.Base(abs)
}

// writeAtomically puts a text in the place of a file: written beside it,
// synced, and renamed over it, so that there is always either the old file or
// the new one. The file's mode stays.
func writeAtomically(file, text string) (err error) {
	if target, err := filepath.EvalSymlinks(file); err == nil {
		file = target // the link stays a link
	}
	info, err := os.Stat(file)
	if err != nil {
		return err
	}
	switch {
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s: only a file can be written, and this is none", file)
	case info.Mode().Perm()&0o200 == 0:
		return fmt.Errorf("%s: it is write-protected and stays as it is", file)
	}
	tmp, err := os.CreateTemp(filepath.Dir(file), "."+filepath.Base(file)+".*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			tmp.Close()
			os.Remove(tmp.Name())
		}
	}()
	if _, err = tmp.WriteString(text); err != nil {
		return err
	}
	if err = tmp.Chmod(info.Mode().Perm()); err != nil {
		return err
	}
	if err = tmp.Sync(); err != nil {
		return err
	}
	if err = tmp.Close(); err != nil {
		return err
	}
	return os.Rename(tmp.Name(), file)
}
