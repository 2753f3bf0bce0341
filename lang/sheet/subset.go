package sheet

import (
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// A lettering is the texts of a page: of each weight the characters, and the glyphs
// of what has to be shaped.
type lettering struct {
	f      *faces
	used   [2]map[rune]bool
	shaped map[*face]map[uint16]bool
}

func newLettering(f *faces) *lettering {
	return &lettering{f, [2]map[rune]bool{{}, {}}, map[*face]map[uint16]bool{}}
}

func (l *lettering) read(text string, bold bool) {
	used := l.used[0]
	if bold {
		used = l.used[1]
	}
	for _, r := range text {
		used[r] = true
	}
	if isPlain(text) {
		return
	}
	for _, run := range l.f.runs(text, bold) {
		face := l.f.face(run.source, bold)
		if l.shaped[face] == nil {
			l.shaped[face] = map[uint16]bool{}
		}
		for _, g := range run.glyphs {
			l.shaped[face][g.ID] = true
		}
	}
}

// fontFaces is the style that brings the fonts along, cut down to the
// characters of the page, so that words are as wide as they were measured.
func fontFaces(p *Page) string {
	l := newLettering(p.f)
	for i := range p.Items {
		l.read(p.Items[i].Text, p.Items[i].Bold)
	}
	return l.style()
}

// allFaces is the same for pages whose words stand beside them as well, where
// a browser decides what is bold.
func allFaces(f *faces, title string, pages []*Page) string {
	l := newLettering(f)
	read := func(text string) { l.read(text, false) }
	for r := ' '; r <= '~'; r++ {
		l.used[0][r] = true
	}
	read(title + "…–×−←→½") // what lines that are broken anew and the page itself say
	for _, p := range pages {
		read(p.Title)
		for i := range p.Items {
			read(p.Items[i].Text)
		}
		for _, s := range p.Said {
			read(s.Text)
			if s.Table == nil {
				continue
			}
			read(s.Table.Caption)
			for _, row := range append([][]string{s.Table.Head}, s.Table.Rows...) {
				for _, cell := range row {
					read(cell)
				}
			}
		}
	}
	l.used[1] = l.used[0]
	return l.style()
}

// style is the fonts as a browser takes them. Those that were brought are one
// family, each for its characters.
func (l *lettering) style() string {
	var b strings.Builder
	write := func(family, weight, more string, w *face, used map[rune]bool) {
		fmt.Fprintf(&b, "@font-face{font-family:'%s';font-weight:%s;%ssrc:url(data:font/ttf;base64,%s)}",
			family, weight, more, base64.StdEncoding.EncodeToString(l.cut(w, used)))
	}
	for i, weight := range [...]string{"400", "700"} {
		if len(l.used[i]) > 0 {
			write("Handful Sheet", weight, "", l.f.weights[i], l.used[i])
		}
	}
	for n, w := range l.f.more {
		own := map[rune]bool{}
		for _, set := range l.used {
			for r := range set {
				if l.f.source(r) == n+1 || len(l.shaped[w]) > 0 && unseen(r) {
					own[r] = true
				}
			}
		}
		if len(own) > 0 {
			write("Handful More", "400 700", "unicode-range:"+ranges(own)+";", w, own)
		}
	}
	return b.String()
}

// ranges is characters as a style names them.
func ranges(set map[rune]bool) string {
	var out []string
	for _, r := range slices.Sorted(maps.Keys(set)) {
		out = append(out, fmt.Sprintf("U+%X", r))
	}
	return strings.Join(out, ",")
}

// cut is a font for a browser; one that shapes keeps what says how.
func (l *lettering) cut(w *face, used map[rune]bool) []byte {
	if len(l.shaped[w]) == 0 || !slices.Contains(l.f.more, w) {
		return subset(w, used)
	}
	glyphs := w.glyphs(used)
	maps.Copy(glyphs, l.shaped[w])
	return cutDown(w, glyphs, append([]string{"GDEF", "GPOS", "GSUB"}, webTables...))
}

// webTables are what a browser asks of a font, in their order.
var webTables = []string{"OS/2", "cmap", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "name", "post"}

// printTables are what a PDF asks of one, which names glyphs by their numbers.
func printTables() []string {
	return slices.DeleteFunc(slices.Clone(webTables), func(t string) bool { return t == "cmap" || t == "name" || t == "post" })
}

// subset is a TrueType font with the outlines of some characters only; all
// other characters stay in it, empty. Hinting and kerning are left out. A font
// that is not understood is given back as it is.
func subset(f *face, used map[rune]bool) []byte { return cutDown(f, f.glyphs(used), webTables) }

// cutDown is the same by glyphs, with some of its tables.
func cutDown(f *face, used map[uint16]bool, tables []string) []byte {
	ttf := f.ttf
	dir := directory(ttf)
	head, loca, glyf := dir["head"], dir["loca"], dir["glyf"]
	if len(head) < 54 || len(loca) < 4 || glyf == nil {
		return ttf
	}
	long := binary.BigEndian.Uint16(head[50:]) == 1
	offset := func(i int) int {
		if long {
			return int(binary.BigEndian.Uint32(loca[4*i:]))
		}
		return 2 * int(binary.BigEndian.Uint16(loca[2*i:]))
	}
	count := len(loca)/2 - 1
	if long {
		count = len(loca)/4 - 1
	}
	outline := func(i int) []byte {
		from, to := offset(i), offset(i+1)
		if from > to || to > len(glyf) {
			return nil
		}
		return glyf[from:to]
	}
	keep := keptGlyphs(used, count, outline)
	var newGlyf, newLoca []byte
	for i := range count {
		newLoca = binary.BigEndian.AppendUint32(newLoca, uint32(len(newGlyf)))
		if keep[i] {
			newGlyf = append(newGlyf, withoutHints(outline(i))...)
			for len(newGlyf)%4 != 0 {
				newGlyf = append(newGlyf, 0)
			}
		}
	}
	newLoca = binary.BigEndian.AppendUint32(newLoca, uint32(len(newGlyf)))
	newHead := slices.Clone(head)
	binary.BigEndian.PutUint16(newHead[50:], 1)
	binary.BigEndian.PutUint32(newHead[8:], 0)
	dir["head"], dir["loca"], dir["glyf"] = newHead, newLoca, newGlyf
	dir["post"] = shortPost(dir["post"])
	return assemble(dir, tables)
}

func directory(ttf []byte) map[string][]byte {
	dir := map[string][]byte{}
	if len(ttf) < 12 {
		return dir
	}
	for i := range int(binary.BigEndian.Uint16(ttf[4:])) {
		if len(ttf) < 12+16*(i+1) {
			break
		}
		e := ttf[12+16*i:]
		at, n := int(binary.BigEndian.Uint32(e[8:])), int(binary.BigEndian.Uint32(e[12:]))
		if at+n <= len(ttf) {
			dir[string(e[:4])] = ttf[at : at+n]
		}
	}
	return dir
}

// glyphs is the glyphs of characters.
func (w *face) glyphs(used map[rune]bool) map[uint16]bool {
	out := map[uint16]bool{}
	for r := range used {
		id, _ := w.glyph(r)
		out[id] = true
	}
	return out
}

// keptGlyphs is some glyphs, and those they are made of.
func keptGlyphs(used map[uint16]bool, count int, outline func(int) []byte) []bool {
	keep := make([]bool, count)
	todo := []int{0}
	for id := range used {
		todo = append(todo, int(id))
	}
	for len(todo) > 0 {
		i := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if i >= count || keep[i] {
			continue
		}
		keep[i] = true
		todo = append(todo, components(outline(i))...)
	}
	return keep
}

// The flags of a component, as OpenType's glyf table has them.
const (
	argsAreWords  = 1 << 0
	haveScale     = 1 << 3
	moreToCome    = 1 << 5
	haveTwoScales = 1 << 6
	haveMatrix    = 1 << 7
	instructions  = 1 << 8
)

// components lists the glyphs that a composite glyph is made of.
func components(g []byte) (out []int) {
	if len(g) < 10 || int16(binary.BigEndian.Uint16(g)) >= 0 {
		return nil
	}
	for at := 10; at+4 <= len(g); {
		flags := binary.BigEndian.Uint16(g[at:])
		out = append(out, int(binary.BigEndian.Uint16(g[at+2:])))
		at += 4 + componentSize(flags)
		if flags&moreToCome == 0 {
			break
		}
	}
	return out
}

func componentSize(flags uint16) int {
	n := 2
	if flags&argsAreWords != 0 {
		n = 4
	}
	switch {
	case flags&haveScale != 0:
		n += 2
	case flags&haveTwoScales != 0:
		n += 4
	case flags&haveMatrix != 0:
		n += 8
	}
	return n
}

// withoutHints is a glyph without its instructions; one that is broken is left
// out.
func withoutHints(g []byte) []byte {
	if len(g) < 12 {
		return nil
	}
	g = slices.Clone(g)
	contours := int(int16(binary.BigEndian.Uint16(g)))
	if contours >= 0 {
		at := 10 + 2*contours
		if at+2 > len(g) {
			return nil
		}
		n := int(binary.BigEndian.Uint16(g[at:]))
		if at+2+n > len(g) {
			return nil
		}
		binary.BigEndian.PutUint16(g[at:], 0)
		return slices.Delete(g, at+2, at+2+n)
	}
	for at := 10; at+4 <= len(g); {
		flags := binary.BigEndian.Uint16(g[at:])
		binary.BigEndian.PutUint16(g[at:], flags&^instructions)
		at += 4 + componentSize(flags)
		if flags&moreToCome == 0 && at <= len(g) {
			return g[:at]
		}
	}
	return nil
}

// shortPost is a post table that names no glyphs.
func shortPost(post []byte) []byte {
	if len(post) < 32 {
		return post
	}
	p := slices.Clone(post[:32])
	binary.BigEndian.PutUint32(p, 0x00030000)
	return p
}

// assemble puts tables together to a font.
func assemble(dir map[string][]byte, tables []string) []byte {
	var names []string
	for _, n := range tables {
		if dir[n] != nil {
			names = append(names, n)
		}
	}
	n := len(names)
	power, log := 1, 0
	for power*2 <= n {
		power, log = power*2, log+1
	}
	out := binary.BigEndian.AppendUint32(nil, 0x00010000)
	for _, v := range []int{n, power * 16, log, n*16 - power*16} {
		out = binary.BigEndian.AppendUint16(out, uint16(v))
	}
	at := 12 + 16*n
	var body []byte
	headAt := 0
	for _, name := range names {
		t := dir[name]
		if name == "head" {
			headAt = at + len(body)
		}
		out = append(out, name...)
		out = binary.BigEndian.AppendUint32(out, checksum(t))
		out = binary.BigEndian.AppendUint32(out, uint32(at+len(body)))
		out = binary.BigEndian.AppendUint32(out, uint32(len(t)))
		body = append(body, t...)
		for len(body)%4 != 0 {
			body = append(body, 0)
		}
	}
	out = append(out, body...)
	binary.BigEndian.PutUint32(out[headAt+8:], 0xb1b0afba-checksum(out))
	return out
}

func checksum(t []byte) (sum uint32) {
	for i := 0; i < len(t); i += 4 {
		var word [4]byte
		copy(word[:], t[i:])
		sum += binary.BigEndian.Uint32(word[:])
	}
	return sum
}
