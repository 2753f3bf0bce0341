package sheet

import (
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/pdf"
	"example.org/handful/lang/score"
)

// An ink is how dark something is drawn. There is no colour, so that a sheet
// reads the same in print, in a dark pit and to everybody's eyes.
type ink uint8

const (
	noInk ink = iota
	black
	middling
	pale
	wash
	white
)

// kind says what an item is.
type kind uint8

const (
	line     kind = iota // from X, Y by W, H
	box                  // the rectangle itself
	disc                 // the circle inside the rectangle
	wording              // text inside the rectangle, on the baseline Base
	outlined             // a path inside the rectangle
)

// A Rect is a place on a page, in points from the upper left.
type Rect struct{ X, Y, W, H float64 }

// meets says whether two places have more than an edge in common.
func (r Rect) meets(o Rect) bool {
	const touch = 0.05
	return r.X+r.W > o.X+touch && o.X+o.W > r.X+touch && r.Y+r.H > o.Y+touch && o.Y+o.H > r.Y+touch
}

// An item is one thing drawn.
type item struct {
	Rect
	Kind  kind
	Line  ink // of the outline
	Fill  ink // of what is inside, or of words
	Bold  bool
	Thick float64
	Dash  float64
	Size  float64 // of words
	Base  float64
	Text  string
	Path  []segment
	Part  artPart
	Of    *score.Stroke // what it stands for, if it is a stroke
	Limb  body.Limb
	Makes *motion.Change // the change that it shows the time of

	tag      int  // what it is a part of, from 1; 0: nothing that was said
	pictured bool // whether that is a picture
}

// Part says what an item is on the sheet.
type artPart uint8

const (
	plainArt   artPart = iota
	strokeArt          // the mark of one stroke in one lane
	rollArt            // a roll's span
	countArt           // a count on the ruler
	holdArt            // what a hand holds
	changeArt          // the time there is for a change
	cueArt             // what somebody else plays
	groundArt          // the paper itself
	stemArt            // the stem of a note
	beamArt            // a beam
	restArt            // a rest
	bodyArt            // the outline of an instrument or a table on a plan
	smallPrint         // words that nobody reads while playing
	noteArt            // a head more than one for each stroke
	signArt            // an accidental or a clef
	pinArt             // half of a hairpin
	repeatArt          // a dot of a repeat
)

// A segment is one piece of an outline: a move (no curve points), a line, a
// quadratic or a cubic curve, in points of the page.
type segment struct {
	Op byte // M L Q C
	At [6]float64
}

// A Page is one side of paper.
type Page struct {
	W, H  float64 // of the drawing; the paper is Scale times as large
	Scale float64
	Items []item
	Title string
	Said  []saying // the same, to be read aloud, in order
	f     *faces
	tags  []tag
	tag   int // that of what is drawn now
}

// A saying is a paragraph, a heading or a table of what a page says.
type saying struct {
	Text    string
	Heading bool
	Table   *table
}

// A table is a part of a page in words.
type table struct {
	Caption string
	Head    []string
	Rows    [][]string
	Lead    int // how many cells of a row say what it is about
}

// A Doc is one thing that somebody takes along.
type Doc struct {
	Kind   string // cues, plan, practice, packing, section, conductor
	Title  string
	Piece  string
	Player string // "" for the whole section
	Paper  Paper
	Pages  []*Page
	f      *faces
	filled float64 // the share of its pages that has something on it
	stuck  int     // how many pages are turned without a free hand
	part   *part   // whose cue sheet it is
	lines  []laid  // of a cue sheet, where they stand
}

// A Paper is a size of paper, in points.
type Paper struct {
	Name  string
	W, H  float64
	Scale float64 // how large things are drawn on it
}

// Papers are the sizes that pages are made for. A3 is read from further off,
// A5 is held nearer.
func Papers() []Paper {
	return []Paper{
		{"A4", 595.28, 841.89, 1},
		{"Letter", 612, 792, 1},
		{"A5", 419.53, 595.28, 0.85},
		{"A3", 841.89, 1190.55, 1.3},
	}
}

// PaperNamed finds a size of paper.
func PaperNamed(name string) (Paper, bool) {
	for _, p := range Papers() {
		if p.Name == name {
			return p, true
		}
	}
	return Paper{}, false
}

// say notes what the page says, for whoever does not see it.
func (p *Page) say(text string) { p.Said = append(p.Said, saying{Text: text}) }

func (p *Page) sayHeading(text string) { p.Said = append(p.Said, saying{Text: text, Heading: true}) }

func (p *Page) sayTable(t table) { p.Said = append(p.Said, saying{Table: &t}) }

// A pen draws on one page.
type pen struct{ *Page }

func (d pen) add(it item) *item {
	if it.tag = d.tag; it.tag > 0 {
		it.pictured = d.tags[it.tag-1].kind == pdf.Figure
	}
	d.Items = append(d.Items, it)
	return &d.Items[len(d.Items)-1]
}

func (d pen) line(x1, y1, x2, y2, thick float64, ink ink) *item {
	return d.add(item{Kind: line, Rect: Rect{x1, y1, x2 - x1, y2 - y1}, Thick: thick, Line: ink})
}

func (d pen) box(r Rect, line, fill ink, thick float64) *item {
	return d.add(item{Kind: box, Rect: r, Line: line, Fill: fill, Thick: thick})
}

func (d pen) disc(x, y, r float64, line, fill ink, thick float64) *item {
	return d.add(item{Kind: disc, Rect: Rect{x - r, y - r, 2 * r, 2 * r}, Line: line, Fill: fill, Thick: thick})
}

// Text is set so that its letters lie between these, in its size, above and
// below the baseline; accents on capitals and deep tails included.
const (
	above = 0.95
	below = 0.22
)

// words puts text on a baseline, from its left edge.
func (d pen) words(x, base float64, text string, size float64, bold bool, ink ink) *item {
	return d.add(item{Kind: wording, Rect: Rect{x, base - above*size, d.f.width(text, size, bold), (above + below) * size},
		Base: base, Text: text, Size: size, Bold: bold, Fill: ink})
}

// centred puts text on a baseline around x.
func (d pen) centred(x, base float64, text string, size float64, bold bool, ink ink) *item {
	return d.words(x-d.f.width(text, size, bold)/2, base, text, size, bold, ink)
}

// right puts text on a baseline up to x.
func (d pen) right(x, base float64, text string, size float64, bold bool, ink ink) *item {
	return d.words(x-d.f.width(text, size, bold), base, text, size, bold, ink)
}

// squeeze draws the items from the first on smaller, around a place.
func (p *Page) squeeze(first int, x, y, k float64) {
	for i := first; i < len(p.Items); i++ {
		it := &p.Items[i]
		it.X, it.Y, it.W, it.H = x+(it.X-x)*k, y+(it.Y-y)*k, it.W*k, it.H*k
		it.Base, it.Size, it.Thick = y+(it.Base-y)*k, it.Size*k, it.Thick*k
		for n := range it.Path {
			at := &it.Path[n].At
			for j := 0; j < len(at); j += 2 {
				at[j], at[j+1] = x+(at[j]-x)*k, y+(at[j+1]-y)*k
			}
		}
	}
}
