package sheet

import (
	"errors"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"example.org/handful/lang/words"
)

// faces measures words in the two weights that sheets are set in, and in one
// more font for what those do not have.
type faces struct {
	weights [2]*face
	more    *face // nil: none
}

type face struct {
	ttf    []byte
	font   *sfnt.Font
	mu     sync.Mutex
	buf    sfnt.Buffer
	widths map[rune]float64
}

func newFace(ttf []byte) (*face, error) {
	parsed, err := sfnt.Parse(ttf)
	if err != nil {
		return nil, err
	}
	return &face{ttf: ttf, font: parsed, widths: map[rune]float64{}}, nil
}

// standardFaces are the Go fonts: Latin, Greek and Cyrillic.
var standardFaces = sync.OnceValue(func() *faces {
	f := &faces{}
	for i, ttf := range [][]byte{goregular.TTF, gobold.TTF} {
		w, err := newFace(ttf)
		if err != nil {
			panic("the compiled-in font does not parse: " + err.Error())
		}
		f.weights[i] = w
	}
	return f
})

// A Font is one that the caller brings, for characters that the compiled-in
// ones do not have.
type Font struct{ face *face }

// NewFont reads a TrueType font. Letters are set one by one as it has them: a
// script whose letters join looks better in a browser.
func NewFont(ttf []byte) (*Font, error) {
	w, err := newFace(ttf)
	if err != nil {
		return nil, err
	}
	if directory(ttf)["glyf"] == nil {
		return nil, errors.New("only TrueType outlines can be put into a PDF, and this font has others")
	}
	return &Font{w}, nil
}

// with is the faces with another font for what they lack.
func (f *faces) with(more *Font) *faces {
	if more == nil {
		return f
	}
	return &faces{f.weights, more.face}
}

func (f *faces) weight(bold bool) *face {
	if bold {
		return f.weights[1]
	}
	return f.weights[0]
}

// width is how wide text is.
func (f *faces) width(text string, size float64, bold bool) float64 {
	sum := 0.0
	for _, r := range text {
		sum += f.advance(r, bold)
	}
	return sum * size
}

func (f *faces) advance(r rune, bold bool) float64 {
	if a := f.weight(bold).advance(r); a >= 0 {
		return a
	}
	if f.more != nil {
		if a := f.more.advance(r); a >= 0 {
			return a
		}
	}
	return foreign(r)
}

// source is which font draws a character: 0 the compiled-in one, 1 the one
// that was brought, -1 none.
func (f *faces) source(r rune) int {
	switch {
	case r > 0xffff: // more than a PDF's fonts are written with
		return -1
	case f.weights[0].advance(r) >= 0:
		return 0
	case f.more != nil && f.more.advance(r) >= 0:
		return 1
	}
	return -1
}

const unitsPerEm = 1000

// advance is how wide a character is, in ems; less than 0 where the font does
// not have it.
func (w *face) advance(r rune) float64 {
	w.mu.Lock()
	defer w.mu.Unlock()
	if a, ok := w.widths[r]; ok {
		return a
	}
	a := -1.0
	if i, err := w.font.GlyphIndex(&w.buf, r); err == nil && i != 0 {
		if adv, err := w.font.GlyphAdvance(&w.buf, i, fixed.I(unitsPerEm), font.HintingNone); err == nil {
			a = float64(adv) / 64 / unitsPerEm
		}
	}
	w.widths[r] = a
	return a
}

// foreign is the room, in ems, given to a character that the font does not
// have. Another font draws it, and is held to this room.
func foreign(r rune) float64 {
	switch {
	case unicode.Is(unicode.Mn, r) || unicode.Is(unicode.Me, r) || unicode.Is(unicode.Cf, r):
		return 0
	case r >= 0x1100 && (unicode.Is(unicode.Han, r) || unicode.Is(unicode.Hangul, r) || unicode.Is(unicode.Hiragana, r) || unicode.Is(unicode.Katakana, r)) || r >= 0x3000 && r < 0x3040 || r >= 0xff00 && r < 0xff61 || r >= 0x1f000:
		return 1
	}
	return 0.65
}

// fit is the text, cut off with an ellipsis where it is wider than the room.
func (f *faces) fit(text string, size float64, bold bool, room float64) string {
	if f.width(text, size, bold) <= room {
		return text
	}
	runes := []rune(text)
	for n := len(runes) - 1; n > 0; n-- {
		if cut := strings.TrimRight(string(runes[:n]), " ") + "…"; f.width(cut, size, bold) <= room {
			return cut
		}
	}
	return ""
}

// wrap breaks text into lines no wider than the room. A word that is wider
// than that is broken inside.
func (f *faces) wrap(text string, size float64, bold bool, room float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.FieldsFunc(text, words.BreaksAt) {
		if next := strings.TrimSpace(line + " " + word); f.width(next, size, bold) <= room {
			line = next
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for f.width(word, size, bold) > room {
			head := f.head(word, size, bold, room)
			lines = append(lines, head)
			word = word[len(head):]
		}
		line = word
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// head is as much of a word as fits, at least one character.
func (f *faces) head(word string, size float64, bold bool, room float64) string {
	sum := 0.0
	for i, r := range word {
		sum += f.width(string(r), size, bold)
		if sum > room && i > 0 {
			return word[:i]
		}
	}
	return word
}
