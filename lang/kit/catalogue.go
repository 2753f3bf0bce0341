package kit

import (
	"embed"
	"path"
	"sync"

	"handful/lang/syntax"
)

//go:embed catalogue/*.handful
var files embed.FS

// Standard is the catalogue in the binary.
var Standard = sync.OnceValue(func() *Catalogue {
	var ins []*Instrument
	var ims []*Implement
	for _, name := range CatalogueFiles() {
		f := syntax.Parse(CatalogueText(name))
		moreIns, moreIms, _ := Read(name, f, f.Seats(), false)
		ins = append(ins, moreIns...)
		ims = append(ims, moreIms...)
	}
	return (*Catalogue)(nil).With(ins, ims)
})

// CatalogueFiles lists the files of the catalogue.
func CatalogueFiles() []string {
	entries, _ := files.ReadDir("catalogue") // embedded: it is there
	names := make([]string, len(entries))
	for i, e := range entries {
		names[i] = e.Name()
	}
	return names
}

// CatalogueText is the text of one of the catalogue's files, or "".
func CatalogueText(name string) string {
	text, err := files.ReadFile(path.Join("catalogue", name))
	if err != nil {
		return ""
	}
	return string(text)
}
