package sheet

import (
	"bytes"
	"cmp"
	"maps"
	"slices"
	"unicode"

	"github.com/go-text/typesetting/bidi"
	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/harfbuzz"
	"github.com/go-text/typesetting/language"

	"example.org/handful/lang/pdf"
)

// A run is text that one font draws in one direction, as glyphs in the order in
// which they are read.
type run struct {
	source   int     // which font: 0 the compiled-in one, from 1 on those that were brought
	from     int     // of the text
	at, wide float64 // in ems
	glyphs   []pdf.Glyph
}

// joins are the scripts whose letters join, change places or stand over one
// another; the rest that has to be shaped is what runs from right to left, and marks.
var joins = []*unicode.RangeTable{
	unicode.Arabic, unicode.Hebrew, unicode.Syriac, unicode.Thaana, unicode.Nko, unicode.Mongolian, unicode.Adlam,
	unicode.Devanagari, unicode.Bengali, unicode.Gurmukhi, unicode.Gujarati, unicode.Oriya, unicode.Tamil, unicode.Telugu,
	unicode.Kannada, unicode.Malayalam, unicode.Sinhala, unicode.Thai, unicode.Lao, unicode.Tibetan, unicode.Myanmar, unicode.Khmer,
	unicode.Mn, unicode.Mc, unicode.Me, unicode.Cf,
}

// isPlain says whether text is its letters one after the other, from left to right.
func isPlain(text string) bool {
	for _, r := range text {
		if r >= 0x300 && !(r >= 0x370 && r < 0x483 || r >= 0x2010 && r < 0x202a || r >= 0x2030 && r < 0x2060 || r >= 0x3000 && r < 0xa000 && !unicode.Is(unicode.Mn, r)) && unicode.In(r, joins...) {
			return false
		}
	}
	return true
}

// runs is text as it is drawn, in the order in which it is read. Letters that are one after
// the other are not shaped, which would change nothing and takes its time.
func (f *faces) runs(text string, bold bool) []run {
	if !isPlain(text) {
		if out, ok := f.shaped(text, bold); ok {
			return out
		}
	}
	var out []run
	x := 0.0
	for _, r := range text {
		source, wide := f.source(r), foreign(r)
		g := pdf.Glyph{Text: string(r)}
		if source >= 0 {
			g.ID, wide = f.face(source, bold).glyph(r)
		}
		source = max(0, source)
		if n := len(out); n == 0 || out[n-1].source != source {
			out = append(out, run{source: source, at: x})
		}
		last := &out[len(out)-1]
		g.X = last.wide
		last.glyphs = append(last.glyphs, g)
		last.wide += wide
		x += wide
	}
	return out
}

// shaped is text in the order and with the glyphs that its scripts ask for: the
// Unicode bidirectional algorithm (UAX #9) in lines that run from left to right, as
// the sheets do, and each piece shaped by its font. It is not ok with a font that
// cannot be shaped with.
func (f *faces) shaped(text string, bold bool) ([]run, bool) {
	f.shapes.Lock()
	defer f.shapes.Unlock()
	key := shapeKey{text, bold}
	if out, ok := f.known[key]; ok {
		return out, out != nil
	}
	if len(f.known) > mostKnown {
		clear(f.known)
	}
	out := f.shape([]rune(text), bold)
	f.known[key] = out
	return out, out != nil
}

// mostKnown is how many shaped texts are kept, for a server that goes on and on.
const mostKnown = 4096

type shapeKey struct {
	text string
	bold bool
}

func (f *faces) shape(text []rune, bold bool) (out []run) {
	defer func() {
		if recover() != nil { // a font from outside may be broken in ways nobody foresaw
			out = nil
		}
	}()
	var p bidi.Paragraph
	levels := p.Segment(text, bidi.LeftToRight)
	var order []bidi.Run
	for i := range levels.NumRuns() {
		order = append(order, levels.Run(i))
	}
	reorder(order)
	at := 0.0
	for _, piece := range order {
		some := f.pieces(text, piece.Start, piece.End)
		if !piece.IsLeftToRight() {
			slices.Reverse(some)
		}
		for _, s := range some {
			r, ok := f.shapeOne(text, s, !piece.IsLeftToRight(), bold)
			if !ok {
				return nil
			}
			r.at, r.from = at, s.from
			at += r.wide
			out = append(out, r)
		}
	}
	slices.SortStableFunc(out, func(a, b run) int { return a.from - b.from })
	return out
}

// reorder turns around what runs from right to left, and again what runs from
// left to right within that (rule L2).
func reorder(runs []bidi.Run) {
	for level := bidi.Level(125); level > 0; level-- {
		for from := 0; from < len(runs); from++ {
			to := from
			for to < len(runs) && runs[to].Level >= level {
				to++
			}
			if to > from+1 {
				slices.Reverse(runs[from:to])
			}
			from = max(from, to-1)
		}
	}
}

// A scripted is a piece of text of one script that one font draws.
type scripted struct {
	from, to int
	source   int
	script   language.Script
}

// pieces divides text where the font or the script changes. What belongs to any
// script stays with what is before it, where that font has it.
func (f *faces) pieces(text []rune, from, to int) (out []scripted) {
	for i := from; i < to; i++ {
		next := scripted{i, i + 1, max(0, f.source(text[i])), language.LookupScript(text[i])}
		if n := len(out); n > 0 && f.goesOn(&out[n-1], &next, text[i]) {
			out[n-1].to, out[n-1].script = next.to, next.script
			continue
		}
		out = append(out, next)
	}
	return out
}

// goesOn says whether a character belongs to the piece before it, and gives it
// the script and the font of that where it may have any.
func (f *faces) goesOn(last, next *scripted, r rune) bool {
	anywhere := next.script == language.Common || next.script == language.Inherited
	if anywhere {
		next.script = last.script
	}
	if (anywhere || last.script == language.Common) && (unseen(r) || f.has(last.source, r)) {
		next.source = last.source
	}
	return next.source == last.source && (next.script == last.script || last.script == language.Common)
}

// unseen says whether a character only says how others are set.
func unseen(r rune) bool { return unicode.Is(unicode.Cf, r) }

func (f *faces) shapeOne(text []rune, s scripted, leftwards, bold bool) (run, bool) {
	face := f.face(s.source, bold)
	shaper := face.shaper()
	if shaper == nil {
		return run{}, false
	}
	buf := harfbuzz.NewBuffer()
	buf.AddRunes(text, s.from, s.to-s.from)
	buf.ClusterLevel = harfbuzz.MonotoneCharacters // marks are characters of their own
	buf.Props.Direction, buf.Props.Script = harfbuzz.LeftToRight, s.script
	if leftwards {
		buf.Props.Direction = harfbuzz.RightToLeft
	}
	face.shape(buf, shaper)
	em := float64(face.em())
	r := run{source: s.source}
	for _, pos := range buf.Pos {
		r.glyphs = append(r.glyphs, pdf.Glyph{X: r.wide + float64(pos.XOffset)/em, Rise: float64(pos.YOffset) / em})
		r.wide += float64(pos.XAdvance) / em
	}
	for i, info := range buf.Info {
		r.glyphs[i].ID = uint16(info.Glyph)
	}
	r.read(face, text, s, buf.Info, leftwards)
	return r, true
}

// read notes what each glyph stands for, and puts them in the order in which that
// is read: from the right where text runs leftwards, and within a syllable as it
// is written.
func (r *run) read(face *face, text []rune, s scripted, infos []harfbuzz.GlyphInfo, leftwards bool) {
	clusters := map[int][]pdf.Glyph{}
	for i, info := range infos {
		clusters[info.Cluster] = append(clusters[info.Cluster], r.glyphs[i])
	}
	r.glyphs = r.glyphs[:0]
	froms := slices.Sorted(maps.Keys(clusters))
	for i, from := range froms {
		to := s.to
		if i+1 < len(froms) {
			to = froms[i+1]
		}
		some := face.spell(clusters[from], text[from:to])
		if !leftwards && !slices.IsSortedFunc(some, func(a, b pdf.Glyph) int { return cmp.Compare(a.X, b.X) }) {
			some[0].Next = len(some) - 1
		}
		r.glyphs = append(r.glyphs, some...)
	}
}

// spell gives the glyphs that stand for characters together their parts of them:
// to each that is the glyph of one of them by itself, that, and to the first of the
// others what is left. They come in the order of the characters.
func (w *face) spell(glyphs []pdf.Glyph, text []rune) []pdf.Glyph {
	places := make([]int, len(glyphs))
	left := slices.Clone(text)
	for i := range glyphs {
		places[i] = -1
		for k, r := range text {
			if id, _ := w.glyph(r); id == glyphs[i].ID && left[k] >= 0 {
				glyphs[i].Text, places[i], left[k] = string(r), k, -1
				break
			}
		}
	}
	rest, first := "", len(text)
	for k, r := range left {
		if r >= 0 {
			rest, first = rest+string(r), min(first, k)
		}
	}
	order := make([]int, len(glyphs))
	for i := range glyphs {
		if order[i] = i; places[i] < 0 { // the others belong to the one before
			glyphs[i].Text, places[i], rest = rest, min(first, len(text)-1), ""
		}
	}
	if rest != "" { // characters that are not seen
		glyphs[0].Text += rest
	}
	slices.SortStableFunc(order, func(a, b int) int { return places[a] - places[b] })
	out := make([]pdf.Glyph, len(glyphs))
	for k, i := range order {
		out[k] = glyphs[i]
	}
	return out
}

// shape is one at a time: a font keeps what it has worked out.
func (w *face) shape(buf *harfbuzz.Buffer, shaper *harfbuzz.Font) {
	w.mu.Lock()
	defer w.mu.Unlock()
	buf.Shape(shaper, nil)
}

// shaper is a font for shaping, made when it is first asked for; nil where it
// cannot be one.
func (w *face) shaper() *harfbuzz.Font {
	w.once.Do(func() {
		defer func() { _ = recover() }() // as above
		if f, err := font.ParseTTF(bytes.NewReader(w.ttf)); err == nil {
			w.hb = harfbuzz.NewFont(f)
		}
	})
	return w.hb
}
