package pdf

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode/utf16"
)

// A Font is one whose glyphs are asked for by their numbers (9.7): every glyph
// that it has can be shown, not only those of single characters.
type Font struct {
	name   string
	number int
	used   map[uint16]string // and what each one stands for
	width  func(id uint16) float64
	cut    func(used map[uint16]bool) []byte
}

// A Glyph is shown where it stands, in ems of its font.
type Glyph struct {
	ID      uint16
	X, Rise float64 // from the beginning of the words, and above their line
	Text    string  // what it stands for; "" for what belongs to the one before
	Next    int     // how many behind it stand with it in another order than they are read
}

// Font brings a font, with how wide its glyphs are in ems. It is asked for at the
// end, in TrueType, cut down to what was used.
func (f *File) Font(name string, width func(id uint16) float64, cut func(used map[uint16]bool) []byte) *Font {
	font := &Font{name: name, number: len(f.fonts) + 1, used: map[uint16]string{}, width: width, cut: cut}
	f.fonts = append(f.fonts, font)
	return font
}

// Words shows glyphs on a line, in the order in which they are read.
func (p *Page) Words(font *Font, size, x, y float64, grey int, glyphs []Glyph) {
	p.ink(grey)
	for len(glyphs) > 0 {
		n, odd := font.next(glyphs)
		if e := p.now; odd && e != nil { // what they stand for is said here (14.9.4), so that they come as they stand
			p.begin(e, "Span", "/ActualText "+text(textOf(glyphs[:n])))
			p.show(font, size, x, y, slices.SortedStableFunc(slices.Values(glyphs[:n]), func(a, b Glyph) int { return cmp.Compare(a.X, b.X) }))
			p.begin(e, e.kind, "")
		} else {
			p.show(font, size, x, y, glyphs[:n])
		}
		glyphs = glyphs[n:]
	}
}

func textOf(glyphs []Glyph) (all string) {
	for _, g := range glyphs {
		all += g.Text
	}
	return all
}

// next is how many of the glyphs stand for what they always do, one by one; or else
// how many are odd: several for the same text, or one for another text than before.
func (f *Font) next(glyphs []Glyph) (n int, odd bool) {
	for n < len(glyphs) {
		last := min(n+1+glyphs[n].Next, len(glyphs))
		for last < len(glyphs) && glyphs[last].Text == "" {
			last++
		}
		alone := true
		for _, g := range glyphs[n:last] {
			alone = f.standsFor(g) && alone
		}
		if !alone || last > n+1 {
			if n > 0 {
				return n, false
			}
			return last, true
		}
		n = last
	}
	return n, false
}

// standsFor says whether a glyph stands for its text wherever it is, and notes it.
// Spaces of all kinds are one.
func (f *Font) standsFor(g Glyph) bool {
	was := f.used[g.ID]
	if was == "" || g.Text == "" {
		f.used[g.ID] = was + g.Text
		return true
	}
	return was == g.Text || strings.TrimSpace(was+g.Text) == ""
}

// show shows glyphs one after the other.
func (p *Page) show(font *Font, size, x, y float64, glyphs []Glyph) {
	b := p.out.AvailableBuffer()
	at, rise := glyphs[0].X, 0.0
	b = fmt.Appendf(b, "BT/F%d %s Tf %s %s Td[<", font.number, num(size), num(x+at*size), num(p.h-y))
	for _, g := range glyphs {
		if g.Rise != rise {
			rise = g.Rise
			b = fmt.Appendf(b, ">]TJ %s Ts[<", num(rise*size))
		}
		if away := at - g.X; away > 1e-4 || away < -1e-4 {
			b = fmt.Appendf(b, ">%s<", num(away*1000))
		}
		b = fmt.Appendf(b, "%04X", g.ID)
		at = g.X + font.width(g.ID)
	}
	b = append(b, ">]TJ"...)
	if rise != 0 {
		b = append(b, " 0 Ts"...)
	}
	p.out.Write(append(b, " ET\n"...))
}

// embed writes a font with its measures, and what its glyphs stand for.
func (f *File) embed(font *Font) ref {
	used := map[uint16]bool{0: true}
	for id := range font.used {
		used[id] = true
	}
	ttf := font.cut(used)
	m := measure(ttf)
	sum := sha256.Sum256(ttf)
	tag := make([]byte, 6)
	for i := range tag {
		tag[i] = 'A' + sum[i]%26
	}
	name := string(tag) + "+" + font.name
	file := f.putStream(fmt.Sprintf("/Length1 %d", len(ttf)), ttf)
	descriptor := f.put(fmt.Sprintf("<</Type/FontDescriptor/FontName/%s/Flags 4/FontBBox[%d %d %d %d]/ItalicAngle 0/Ascent %d/Descent %d/CapHeight %d/StemV 80/FontFile2 %v>>",
		name, m.box[0], m.box[1], m.box[2], m.box[3], m.ascent, m.descent, m.capital, file))
	ids := slices.Sorted(maps.Keys(used))
	var widths strings.Builder
	for _, id := range ids {
		fmt.Fprintf(&widths, "%d[%s]", id, num(1000*font.width(id)))
	}
	kid := f.put(fmt.Sprintf("<</Type/Font/Subtype/CIDFontType2/BaseFont/%s/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)/Supplement 0>>/FontDescriptor %v/DW 0/W[%s]/CIDToGIDMap/Identity>>",
		name, descriptor, widths.String()))
	to := f.putStream("", []byte(standsFor(font.used)))
	return f.put(fmt.Sprintf("<</Type/Font/Subtype/Type0/BaseFont/%s/Encoding/Identity-H/DescendantFonts[%v]/ToUnicode %v>>", name, kid, to))
}

// measures are those of a font as a whole, in thousandths of an em.
type measures struct {
	box                      [4]int
	ascent, descent, capital int
}

// measure reads them where OpenType has them: in head, hhea and OS/2. What is not
// there is nothing.
func measure(ttf []byte) (m measures) {
	at := func(table string, offset int) int {
		for i := 12; i+16 <= len(ttf) && i < 12+16*int(binary.BigEndian.Uint16(ttf[4:])); i += 16 {
			where := int(binary.BigEndian.Uint32(ttf[i+8:])) + offset
			if size := int(binary.BigEndian.Uint32(ttf[i+12:])); string(ttf[i:i+4]) == table && offset+2 <= size && where+2 <= len(ttf) {
				return int(int16(binary.BigEndian.Uint16(ttf[where:])))
			}
		}
		return 0
	}
	em := max(1, at("head", 18))
	thousandths := func(v int) int { return v * 1000 / em }
	for i := range m.box {
		m.box[i] = thousandths(at("head", 36+2*i))
	}
	m.ascent, m.descent = thousandths(at("hhea", 4)), thousandths(at("hhea", 6))
	if m.capital = m.ascent; at("OS/2", 0) >= 2 {
		m.capital = thousandths(at("OS/2", 88))
	}
	return m
}

// standsFor is the map from glyphs to characters (9.10.3).
func standsFor(used map[uint16]string) string {
	var lines []string
	for _, id := range slices.Sorted(maps.Keys(used)) {
		if used[id] == "" {
			continue
		}
		line := fmt.Sprintf("<%04X><", id)
		for _, u := range utf16.Encode([]rune(used[id])) {
			line += fmt.Sprintf("%04X", u)
		}
		lines = append(lines, line+">\n")
	}
	var b strings.Builder
	b.WriteString("/CIDInit/ProcSet findresource begin 12 dict begin begincmap/CIDSystemInfo<</Registry(Adobe)/Ordering(UCS)/Supplement 0>>def\n" +
		"/CMapName/Adobe-Identity-UCS def/CMapType 2 def 1 begincodespacerange<0000><FFFF>endcodespacerange\n")
	for some := range slices.Chunk(lines, 100) { // no more in one list
		fmt.Fprintf(&b, "%d beginbfchar\n%sendbfchar\n", len(some), strings.Join(some, ""))
	}
	return b.String() + "endcmap CMapName currentdict/CMap defineresource pop end end\n"
}
