package sheet

import (
	"fmt"
	"strings"
	"unicode"
)

// CannotSet is an error that names the first words of documents that no font has
// the letters for, whose they are, and which letters those are.
func CannotSet(docs []Doc) error {
	for i := range docs {
		doc := &docs[i]
		for _, p := range doc.Pages {
			for n := range p.Items {
				text := p.Items[n].Text
				if missing := p.f.missing(text, p.Items[n].Bold); missing != "" {
					return fmt.Errorf("%s cannot be in a PDF: its fonts have no %s (--font FILE.ttf brings a font, and may be given more than once; --to html shows it, and prints)", doc.whose(text), missing)
				}
			}
		}
	}
	return nil
}

// missing is what of a text no font has, each letter once.
func (f *faces) missing(text string, bold bool) string {
	missing := ""
	for _, r := range text {
		if r > unicode.MaxLatin1 && !unseen(r) && f.source(r) < 0 && !strings.ContainsRune(missing, r) {
			missing += string(r)
		}
	}
	if missing != "" || isPlain(text) {
		return missing
	}
	for _, run := range f.runs(text, bold) { // a mark that its letter's font does not have
		for _, g := range run.glyphs {
			if g.ID == 0 {
				return g.Text
			}
		}
	}
	return ""
}

// whose says what a text of a document is: the name of the piece, of a player or
// of an instrument where that is in it, else what is written.
func (doc *Doc) whose(text string) string {
	odd := func(name string) bool {
		return doc.f.missing(name, false) != "" && strings.Contains(text, name)
	}
	switch {
	case doc.Player != "" && odd(doc.Player):
		return fmt.Sprintf("the name of the player %q", doc.Player)
	case odd(doc.Piece):
		return fmt.Sprintf("the title %q", doc.Piece)
	case doc.part != nil:
		for _, it := range doc.part.items() {
			if name := it.Called(); odd(name) {
				return fmt.Sprintf("the name of the instrument %q", name)
			}
		}
		for _, m := range doc.part.res.Motions {
			if odd(m.Player.Name) {
				return fmt.Sprintf("the name of the player %q", m.Player.Name)
			}
		}
	}
	return fmt.Sprintf("%q", text)
}
