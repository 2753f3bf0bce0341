package kit

import (
	"slices"
	"strings"
	"sync"

	"example.org/handful/lang/syntax"
)

// Standard is the catalogue in the binary. Its entries are read when somebody
// asks for them: a page that has five instruments reads five.
var Standard = sync.OnceValue(Open)

// Open makes another catalogue of the binary's, with nothing read yet.
func Open() *Catalogue {
	shelf := &shelf{instruments: make(map[string]*entry, 256), implements: make(map[string]*entry, 64)}
	for _, f := range catalogueFiles {
		shelf.index(f.name, *f.text)
	}
	return &Catalogue{shelf: shelf}
}

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

// index finds the blocks of a file without reading them: each begins with its
// word at the beginning of a line, behind a blank line.
func (s *shelf) index(file, text string) {
	line, counted := 0, 0
	for at := 0; at < len(text); {
		end := len(text)
		if i := strings.Index(text[at:], "\n\ni"); i >= 0 {
			end = at + i + 2
		}
		if rest, ok := strings.CutPrefix(text[at:end], "instrument "); ok {
			line += strings.Count(text[counted:at], "\n")
			counted = at
			s.instruments[idAt(rest)] = &entry{file: file, line: line, text: text[at:end]}
		} else if rest, ok := strings.CutPrefix(text[at:end], "implement "); ok {
			line += strings.Count(text[counted:at], "\n")
			counted = at
			s.implements[idAt(rest)] = &entry{file: file, line: line, text: text[at:end]}
		}
		at = end
	}
}

// idAt is the word that a text begins with.
func idAt(text string) string {
	if i := strings.IndexAny(text, " \n"); i >= 0 {
		return text[:i]
	}
	return text
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

// ReadAhead reads those of the catalogue's instruments that a text has lines of.
func ReadAhead(text string) {
	instruments := Standard().shelf.instruments
	for line := range strings.Lines(text) {
		if e := instruments[idAt(strings.TrimLeft(line, " "))]; e != nil {
			e.load()
		}
	}
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
	names := make([]string, len(catalogueFiles))
	for i, f := range catalogueFiles {
		names[i] = f.name
	}
	return names
}

// BlockText is the block that says what the catalogue says of an instrument of
// its own, or "".
func BlockText(in *Instrument) string {
	if e := Standard().shelf.instruments[in.ID]; e != nil && !in.Own {
		return strings.TrimRight(e.text, "\n") + "\n"
	}
	return ""
}

// CatalogueText is the text of one of the catalogue's files, or "".
func CatalogueText(name string) string {
	for _, f := range catalogueFiles {
		if f.name == name {
			return *f.text
		}
	}
	return ""
}
