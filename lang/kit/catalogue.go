package kit

import (
	"embed"
	"path"
	"slices"
	"strings"
	"sync"

	"handful/lang/syntax"
)

//go:embed catalogue/*.handful
var files embed.FS

// Standard is the catalogue in the binary. Its entries are read when somebody
// asks for them: a page that has five instruments reads five.
var Standard = sync.OnceValue(func() *Catalogue {
	shelf := &shelf{instruments: map[string]*entry{}, implements: map[string]*entry{}}
	for _, name := range CatalogueFiles() {
		shelf.index(name, CatalogueText(name))
	}
	return &Catalogue{shelf: shelf}
})

// A shelf holds the catalogue's entries, read or not.
type shelf struct {
	instruments map[string]*entry
	implements  map[string]*entry
	all         sync.Once
	read        *Catalogue // every entry, once somebody needs them all
}

// An entry is one block of the catalogue's text. It is read once.
type entry struct {
	file string
	line int // of the file, where the block begins
	text string
	once sync.Once
	in   *Instrument
	im   *Implement
}

// index finds the blocks of a file without reading them.
func (s *shelf) index(file, text string) {
	var open *entry
	start := 0
	shut := func(at int) {
		if open != nil {
			open.text = text[start:at]
		}
	}
	for at, line := 0, 0; at < len(text); line++ {
		end := strings.IndexByte(text[at:], '\n') + at + 1
		if end == at {
			end = len(text)
		}
		word, rest, _ := strings.Cut(strings.TrimRight(text[at:end], "\n"), " ")
		if word == "instrument" || word == "implement" {
			shut(at)
			id, _, _ := strings.Cut(rest, " ")
			open, start = &entry{file: file, line: line}, at
			if word == "instrument" {
				s.instruments[id] = open
			} else {
				s.implements[id] = open
			}
		}
		at = end
	}
	shut(len(text))
}

func (e *entry) load() {
	e.once.Do(func() {
		f := syntax.Parse(e.text)
		ins, ims, _ := Read(e.file, f, f.Seats(), false)
		for _, in := range ins {
			in.Line += e.line
			e.in = in
		}
		for _, im := range ims {
			im.Line += e.line
			e.im = im
		}
	})
}

func (s *shelf) instrument(id string) *Instrument {
	e := s.instruments[id]
	if e == nil {
		return nil
	}
	e.load()
	return e.in
}

func (s *shelf) implement(id string) *Implement {
	e := s.implements[id]
	if e == nil {
		return nil
	}
	e.load()
	return e.im
}

// everything reads all entries.
func (s *shelf) everything() *Catalogue {
	s.all.Do(func() {
		var ins []*Instrument
		var ims []*Implement
		for _, e := range s.instruments {
			e.load()
			ins = append(ins, e.in)
		}
		for _, e := range s.implements {
			e.load()
			ims = append(ims, e.im)
		}
		slices.SortFunc(ins, func(a, b *Instrument) int { return strings.Compare(a.ID, b.ID) })
		slices.SortFunc(ims, func(a, b *Implement) int { return strings.Compare(a.ID, b.ID) })
		s.read = (*Catalogue)(nil).With(ins, ims)
	})
	return s.read
}

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
