// Package pdf writes files that are printed and can be read aloud.
//
// In come pages: shapes and glyphs in greys, where they stand, and what each of
// them is a part of. Out comes one file with the fonts inside, an outline and the
// structure. The form is that of ISO 32000-1; numbers in comments are its clauses.
//
// The package never knows what is drawn, never breaks a line or shapes a word, and
// never asks for the date.
package pdf

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"
)

// About is what is said of a file as a whole.
type About struct {
	Title    string
	Subject  string
	Language string // as in BCP 47
	Producer string
	Date     string // as in ISO 8601, 2000-01-01T00:00:00Z; may be empty
}

// A File is one that is being made.
type File struct {
	about   About
	objects []object // by number, from 1
	pages   []*Page
	fonts   []*Font
	root    *Element
	all     []*Element // in the order in which they were made
	marks   []bookmark
	tree    ref
}

type ref int

func (r ref) String() string { return strconv.Itoa(int(r)) + " 0 R" }

// An object is a dictionary, with a stream where it has one.
type object struct {
	dict   string
	stream []byte
	plain  bool // whether the stream stays as it is, for whoever looks for it
}

// New begins a file.
func New(about About) *File {
	f := &File{about: about}
	f.tree = f.reserve()
	f.root = &Element{file: f, kind: "Document", ref: f.reserve()}
	return f
}

func (f *File) reserve() ref {
	f.objects = append(f.objects, object{})
	return ref(len(f.objects))
}

func (f *File) put(dict string) ref {
	r := f.reserve()
	f.objects[r-1].dict = dict
	return r
}

func (f *File) putStream(dict string, stream []byte) ref {
	r := f.reserve()
	f.objects[r-1] = object{dict: dict, stream: stream}
	return r
}

// Page begins a page, in points.
func (f *File) Page(w, h float64) *Page {
	p := &Page{file: f, h: h, w: w, ref: f.reserve(), state: nothing}
	f.pages = append(f.pages, p)
	return p
}

type bookmark struct {
	title string
	level int
	page  *Page
	y     float64
}

// Bookmark leads from the outline to a place on a page, so far below its top.
func (f *File) Bookmark(title string, level int, p *Page, y float64) {
	f.marks = append(f.marks, bookmark{title, level, p, y})
}

// Bytes is the whole file. The same pages are the same bytes.
func (f *File) Bytes() []byte {
	pages := f.reserve()
	var fonts strings.Builder
	for i, font := range f.fonts {
		fmt.Fprintf(&fonts, "/F%d %v", i+1, f.embed(font))
	}
	resources := f.put("<</Font<<" + fonts.String() + ">>>>")
	var kids strings.Builder
	for n, p := range f.pages {
		fmt.Fprintf(&kids, "%v ", p.ref)
		content := f.putStream("", p.out.Bytes())
		f.objects[p.ref-1].dict = fmt.Sprintf("<</Type/Page/Parent %v/MediaBox[0 0 %s %s]/Resources %v/Contents %v/StructParents %d/Tabs/S>>",
			pages, num(p.w), num(p.h), resources, content, n)
	}
	f.objects[pages-1].dict = fmt.Sprintf("<</Type/Pages/Count %d/Kids[%s]>>", len(f.pages), kids.String())
	f.structure()
	outline := f.outline()
	meta := f.putStream("/Type/Metadata/Subtype/XML", []byte(f.xmp()))
	f.objects[meta-1].plain = true
	catalogue := fmt.Sprintf("<</Type/Catalog/Pages %v/StructTreeRoot %v/MarkInfo<</Marked true>>/Lang %s/Metadata %v/ViewerPreferences<</DisplayDocTitle true>>",
		pages, f.tree, text(f.about.Language), meta)
	if outline > 0 {
		catalogue += fmt.Sprintf("/Outlines %v", outline)
	}
	return f.write(f.put(catalogue+">>"), f.put(f.info()))
}

// write puts the objects one after the other: those without a stream together
// in one (7.5.7), and a table of where each is (7.5.8).
func (f *File) write(catalogue, info ref) []byte {
	var out bytes.Buffer
	out.WriteString("%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")
	type place struct{ kind, at, index int }
	places := make([]place, len(f.objects)+2)
	var index, body bytes.Buffer
	inside := 0
	packed := len(f.objects) + 1
	pack := newPacker()
	for i, o := range f.objects {
		if o.stream != nil {
			places[i] = place{1, out.Len(), 0}
			pack.writeStream(&out, i+1, o)
			continue
		}
		places[i] = place{2, packed, inside}
		fmt.Fprintf(&index, "%d %d ", i+1, body.Len())
		body.WriteString(o.dict + "\n")
		inside++
	}
	places[packed-1] = place{1, out.Len(), 0}
	pack.writeStream(&out, packed, object{dict: fmt.Sprintf("/Type/ObjStm/N %d/First %d", inside, index.Len()), stream: append(index.Bytes(), body.Bytes()...)})
	at := out.Len()
	places[packed] = place{1, at, 0}
	table := []byte{0, 0, 0, 0, 0, 255, 255} // object 0 is none
	for _, p := range places {
		table = append(table, byte(p.kind), byte(p.at>>24), byte(p.at>>16), byte(p.at>>8), byte(p.at), byte(p.index>>8), byte(p.index))
	}
	sum := sha256.Sum256(out.Bytes())
	pack.writeStream(&out, packed+1, object{dict: fmt.Sprintf("/Type/XRef/Size %d/W[1 4 2]/Root %v/Info %v/ID[<%x><%x>]", packed+2, catalogue, info, sum[:16], sum[:16]), stream: table})
	fmt.Fprintf(&out, "startxref\n%d\n%%%%EOF\n", at)
	return out.Bytes()
}

// A packer makes streams small, one after the other: to begin a new one for each costs
// more than the packing. Its level is one at which pages are as good as as small as they
// get, in half the time.
type packer struct {
	*zlib.Writer
	small bytes.Buffer
}

const level = 4

func newPacker() *packer {
	z, err := zlib.NewWriterLevel(nil, level)
	if err != nil {
		panic(err) // there is that level
	}
	return &packer{Writer: z}
}

func (p *packer) writeStream(out *bytes.Buffer, number int, o object) {
	data := o.stream
	filter := ""
	if !o.plain {
		p.small.Reset()
		p.Reset(&p.small)
		_, _ = p.Write(data) // a buffer takes everything
		_ = p.Close()
		data, filter = p.small.Bytes(), "/Filter/FlateDecode"
	}
	fmt.Fprintf(out, "%d 0 obj\n<<%s%s/Length %d>>stream\n", number, o.dict, filter, len(data))
	out.Write(data)
	out.WriteString("\nendstream\nendobj\n")
}

// outline is the bookmarks as a tree (12.3.3); 0 where there are none.
func (f *File) outline() ref {
	if len(f.marks) == 0 {
		return 0
	}
	top := f.reserve()
	refs := make([]ref, len(f.marks))
	for i := range refs {
		refs[i] = f.reserve()
	}
	parent := func(i int) int { // -1: the outline itself
		for k := i - 1; k >= 0; k-- {
			if f.marks[k].level < f.marks[i].level {
				return k
			}
		}
		return -1
	}
	below := map[int][]int{}
	for i := range f.marks {
		below[parent(i)] = append(below[parent(i)], i)
	}
	kids := func(i int) string {
		list := below[i]
		if len(list) == 0 {
			return ""
		}
		return fmt.Sprintf("/First %v/Last %v/Count %d", refs[list[0]], refs[list[len(list)-1]], len(list))
	}
	for i, m := range f.marks {
		up, at := top, parent(i)
		if at >= 0 {
			up = refs[at]
		}
		dict := fmt.Sprintf("<</Title %s/Parent %v/Dest[%v/XYZ null %s null]%s", text(m.title), up, m.page.ref, num(m.page.h-m.y), kids(i))
		around := below[at]
		n := slices.Index(around, i)
		if n > 0 {
			dict += fmt.Sprintf("/Prev %v", refs[around[n-1]])
		}
		if n+1 < len(around) {
			dict += fmt.Sprintf("/Next %v", refs[around[n+1]])
		}
		f.objects[refs[i]-1].dict = dict + ">>"
	}
	f.objects[top-1].dict = "<</Type/Outlines" + kids(-1) + ">>"
	return top
}

func (f *File) info() string {
	out := "<</Title " + text(f.about.Title) + "/Subject " + text(f.about.Subject) + "/Producer " + text(f.about.Producer)
	if f.about.Date != "" {
		day := "D:" + strings.NewReplacer("-", "", ":", "", "T", "").Replace(f.about.Date)
		out += "/CreationDate " + text(day) + "/ModDate " + text(day)
	}
	return out + ">>"
}

// xmp is the same for readers that look there (14.3.2).
func (f *File) xmp() string {
	safe := strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;")
	var b strings.Builder
	b.WriteString("<?xpacket begin=\"\ufeff\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n" +
		`<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about=""` +
		` xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:pdf="http://ns.adobe.com/pdf/1.3/" xmlns:xmp="http://ns.adobe.com/xap/1.0/">`)
	alt := func(tag, value string) {
		if value != "" {
			fmt.Fprintf(&b, `<dc:%s><rdf:Alt><rdf:li xml:lang="x-default">%s</rdf:li></rdf:Alt></dc:%s>`, tag, safe.Replace(value), tag)
		}
	}
	alt("title", f.about.Title)
	alt("description", f.about.Subject)
	fmt.Fprintf(&b, "<dc:language><rdf:Bag><rdf:li>%s</rdf:li></rdf:Bag></dc:language><pdf:Producer>%s</pdf:Producer>", safe.Replace(f.about.Language), safe.Replace(f.about.Producer))
	if f.about.Date != "" {
		fmt.Fprintf(&b, "<xmp:CreateDate>%s</xmp:CreateDate><xmp:ModifyDate>%s</xmp:ModifyDate>", f.about.Date, f.about.Date)
	}
	b.WriteString("</rdf:Description></rdf:RDF></x:xmpmeta>\n<?xpacket end=\"r\"?>")
	return b.String()
}

// text is a text string (7.9.2.2): as it is where that is plain, else in UTF-16.
func text(s string) string {
	if strings.ContainsFunc(s, func(r rune) bool { return r < ' ' || r > '~' }) {
		var b strings.Builder
		b.WriteString("<FEFF")
		for _, u := range utf16.Encode([]rune(s)) {
			fmt.Fprintf(&b, "%04X", u)
		}
		return b.String() + ">"
	}
	return "(" + strings.NewReplacer(`\`, `\\`, "(", `\(`, ")", `\)`).Replace(s) + ")"
}

// num is a measure, as fine as a printer can tell.
func num(v float64) string { return string(appendNum(nil, v)) }

func appendNum(b []byte, v float64) []byte {
	from := len(b)
	b = strconv.AppendFloat(b, v, 'f', 2, 64)
	b = bytes.TrimSuffix(bytes.TrimRight(b, "0"), []byte("."))
	if string(b[from:]) == "-0" {
		return append(b[:from], '0')
	}
	return b
}
