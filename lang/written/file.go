package written

import (
	"path"
	"slices"
	"strings"

	"example.org/handful/lang/syntax"
)

// endings are those of files in other formats, whose parts can be used.
var endings = []string{".musicxml", ".xml", ".mxl", ".mid", ".midi"}

// Elsewhere says whether a file is in another format, by its name.
func Elsewhere(name string) bool {
	return slices.Contains(endings, strings.ToLower(path.Ext(name)))
}

// File is the tree of a file that a piece uses: of its text, or of the text
// that is made of it if it is in another format.
func File(name, text string) (*syntax.File, error) {
	if !Elsewhere(name) {
		return syntax.Parse(text), nil
	}
	made, lost, err := Text(text, Options{Numbers: true})
	if err != nil {
		return nil, err
	}
	f := syntax.Parse(made)
	for _, l := range lost {
		f.Lost = append(f.Lost, l.String())
	}
	return f, nil
}
