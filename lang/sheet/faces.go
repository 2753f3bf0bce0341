package sheet

import (
	"errors"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/go-text/typesetting/harfbuzz"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"example.org/handful/lang/words"
)

// faces measures words in the two weights that sheets are set in, and in more
// fonts for what those do not have, in their order.
type faces struct {
	weights [2]*face
	more    []*face

	shapes sync.Mutex
	known  map[shapeKey][]run
}

type face struct {
	ttf    []byte
	font   *sfnt.Font
	mu     sync.Mutex
	buf    sfnt.Buffer
	widths map[rune]letter
	usual  [128]letter // those of ASCII, which nobody has to wait for

	once sync.Once
	hb   *harfbuzz.Font
}

// A letter is the glyph of a character by itself, and how wide it is in ems: less
// than 0 where the font does not have it.
type letter struct {
	id    uint16
	width float64
}

func newFace(ttf []byte) (*face, error) {
	parsed, err := sfnt.Parse(ttf)
	if err != nil {
		return nil, err
	}
	w := &face{ttf: ttf, font: parsed, widths: map[rune]letter{}}
	for r := range w.usual {
		w.usual[r] = w.letter(rune(r))
	}
	return w, nil
}

// standardFaces are the Go fonts: Latin, Greek and Cyrillic.
var standardFaces = sync.OnceValue(func() *faces {
	f := &faces{known: map[shapeKey][]run{}}
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

// NewFont reads a TrueType font.
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

// with is the faces with more fonts for what they lack.
func (f *faces) with(more []*Font) *faces {
	if len(more) == 0 {
		return f
	}
	out := &faces{weights: f.weights, known: map[shapeKey][]run{}}
	for _, m := range more {
		out.more = append(out.more, m.face)
	}
	return out
}

// face is one of the fonts, by its number.
func (f *faces) face(source int, bold bool) *face {
	if source > 0 {
		return f.more[source-1]
	}
	return f.weight(bold)
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
	if !isPlain(text) {
		if runs, ok := f.shaped(text, bold); ok {
			for i := range runs {
				sum += runs[i].wide
			}
			return sum * size
		}
	}
	for _, r := range text {
		sum += f.advance(r, bold)
	}
	return sum * size
}

func (f *faces) advance(r rune, bold bool) float64 {
	if source := f.source(r); source >= 0 {
		_, a := f.face(source, bold).glyph(r)
		return a
	}
	return foreign(r)
}

// source is which font draws a character: 0 the compiled-in one, from 1 on those
// that were brought, -1 none.
func (f *faces) source(r rune) int {
	for i := range len(f.more) + 1 {
		if f.has(i, r) {
			return i
		}
	}
	return -1
}

func (f *faces) has(source int, r rune) bool {
	_, a := f.face(source, false).glyph(r)
	return a >= 0
}

const unitsPerEm = 1000

// glyph is a character by itself: its glyph, and how wide that is in ems.
func (w *face) glyph(r rune) (id uint16, width float64) {
	if r >= 0 && int(r) < len(w.usual) {
		return w.usual[r].id, w.usual[r].width
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	l, ok := w.widths[r]
	if !ok {
		l = w.letter(r)
		w.widths[r] = l
	}
	return l.id, l.width
}

// letter finds a character in the font; the caller has the lock, or the only face.
func (w *face) letter(r rune) letter {
	i, err := w.font.GlyphIndex(&w.buf, r)
	if err != nil || i == 0 {
		return letter{width: -1}
	}
	return letter{uint16(i), w.wide(i)}
}

// wide is how wide a glyph is, in ems; the caller has the lock.
func (w *face) wide(id sfnt.GlyphIndex) float64 {
	a, err := w.font.GlyphAdvance(&w.buf, id, fixed.I(unitsPerEm), font.HintingNone)
	if err != nil {
		return -1
	}
	return float64(a) / 64 / unitsPerEm
}

// glyphWidth is the same for a glyph that was asked for by its number.
func (w *face) glyphWidth(id uint16) float64 {
	w.mu.Lock()
	defer w.mu.Unlock()
	return max(0, w.wide(sfnt.GlyphIndex(id)))
}

// em is how many units of the font are one em.
func (w *face) em() int { return int(w.font.UnitsPerEm()) }

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

// head is as much of a word as fits, at least one character. It is measured as a whole:
// letters of two directions beside one another take more room than each by itself.
func (f *faces) head(word string, size float64, bold bool, room float64) string {
	for i, r := range word {
		if i > 0 && !unicode.In(r, unicode.M, unicode.Cf) && f.width(word[:i+utf8.RuneLen(r)], size, bold) > room { // marks stay with their letter
			return word[:i]
		}
	}
	return word
}
