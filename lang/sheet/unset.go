package sheet

import (
	"fmt"
	"strings"
	"unicode"
)

// joined are the scripts whose letters join, change places or run from right to
// left. A PDF has letters one after another, from left to right, so that these
// would be wrong there and not only plain; a browser sets them as they are.
var joined = [...]*unicode.RangeTable{
	unicode.Arabic, unicode.Hebrew, unicode.Syriac, unicode.Thaana, unicode.Nko, unicode.Mongolian,
	unicode.Devanagari, unicode.Bengali, unicode.Gurmukhi, unicode.Gujarati, unicode.Oriya, unicode.Tamil, unicode.Telugu,
	unicode.Kannada, unicode.Malayalam, unicode.Sinhala, unicode.Tibetan, unicode.Myanmar, unicode.Khmer,
}

// CannotSet is an error that names the first words of documents that a PDF cannot
// have as they are written, whose they are, and which letters it is for.
func CannotSet(docs []Doc) error {
	for i := range docs {
		doc := &docs[i]
		for _, p := range doc.Pages {
			for n := range p.Items {
				text := p.Items[n].Text
				missing, wrong := letters(p.f, text)
				switch {
				case missing != "":
					return fmt.Errorf("%s cannot be in a PDF: its fonts have no %s (--font FILE.ttf brings a font; --to html shows it, and prints)", doc.whose(text), missing)
				case wrong != "":
					return fmt.Errorf("%s cannot be in a PDF, which would have %s one by one from left to right; --to html shows it as it is written, and prints", doc.whose(text), wrong)
				}
			}
		}
	}
	return nil
}

// letters is what of a text no font has, and what would be set wrongly, each
// letter once.
func letters(f *faces, text string) (missing, wrong string) {
	for _, r := range text {
		switch {
		case r <= unicode.MaxLatin1:
		case unicode.In(r, joined[:]...):
			if !strings.ContainsRune(wrong, r) {
				wrong += string(r)
			}
		case f.source(r) < 0 && !strings.ContainsRune(missing, r):
			missing += string(r)
		}
	}
	return missing, wrong
}

// whose says what a text of a document is: the name of the piece, of a player or
// of an instrument where that is in it, else what is written.
func (doc *Doc) whose(text string) string {
	odd := func(name string) bool {
		missing, wrong := letters(doc.f, name)
		return missing+wrong != "" && strings.Contains(text, name)
	}
	switch {
	case doc.Player != "" && odd(doc.Player):
		return fmt.Sprintf("the name of the player %q", doc.Player)
	case odd(doc.Piece):
		return fmt.Sprintf("the title %q", doc.Piece)
	case doc.part != nil:
		for _, it := range doc.part.items() {
			if name := itemName(it); odd(name) {
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
