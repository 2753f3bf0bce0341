package sheet

import (
	"fmt"
	"math"
	"strings"

	"example.org/handful/lang/motion"
)

// A laid is a line of a cue sheet as it stands on a page: its place, and which of
// the page's items are its own.
type laid struct {
	Rect
	page        int
	first, last int
	bars        []laidBar
}

// A laidBar is a bar of a line, or bars drawn as one: from where to where it
// reaches, and where its time runs.
type laidBar struct {
	from, to  int
	x, w      float64
	at, inner float64
}

// laid notes where a line has been drawn, and how much smaller than it is.
func (c *cueSheet) laid(s *system, first int, y, k float64) laid {
	l := laid{Rect: Rect{margin0, y, c.d.W - 2*margin0, s.h * k}, page: len(c.doc.Pages) - 1, first: first, last: len(c.d.Items)}
	x := func(v float64) float64 { return margin0 + (v-margin0)*k }
	for i := range s.blocks {
		b := &s.blocks[i]
		l.bars = append(l.bars, laidBar{b.from, b.to, x(b.x), b.w * k, x(b.x + b.padL), b.inner() * k})
	}
	return l
}

// A screen is a cue sheet for a width of screen: the same lines as on paper,
// broken anew, one below the other.
type screen struct {
	nth   int // among the widths
	width int // in pixels of a browser, which grow when the page is zoomed
	doc   Doc
}

// The widths that cue sheets are laid out for, and how large they are drawn: the
// smallest letters of a line are 8 points high, and 16 pixels here. Where a
// screen is wider than one of them, more would be left empty at its side.
const (
	pixels     = 2.0
	screenEdge = 3.0    // points beside a line
	scrollH    = 4000.0 // what is laid out in one go
)

func screenWidths() []int { return []int{344, 712, 1032} }

// A view is what a page is shown in: any at all, or one of some width alone.
type view struct {
	alone    bool
	nth      int // among the widths
	from, to int // how wide it is, in pixels of a browser
}

func everyView() view { return view{} }

// viewsFrom is from how many pixels on each width is shown, as the page's style has it.
func viewsFrom() []int { return []int{0, 760, 1080} }

func viewOf(width int) view {
	v, list := view{alone: true, to: math.MaxInt32}, viewsFrom()
	for v.nth+1 < len(list) && width >= list[v.nth+1] {
		v.nth++
	}
	v.from = list[v.nth]
	if v.nth+1 < len(list) {
		v.to = list[v.nth+1] - 1
	}
	return v
}

// screens lays the cue sheet out for screens.
func (v *part) screens(view view) []screen {
	var out []screen
	for n, w := range screenWidths() {
		if view.alone && n != view.nth {
			continue
		}
		paper := Paper{Name: "screen", W: float64(w)/pixels + 2*(margin0-screenEdge), H: scrollH, Scale: 1}
		out = append(out, screen{n, w, v.cues(paper)})
	}
	return out
}

// write is the lines of a screen, each a picture of its own.
func (sc *screen) write(b *strings.Builder, form svgForm) {
	for i := range sc.doc.lines {
		l := &sc.doc.lines[i]
		x, w := l.X-screenEdge, l.W+2*screenEdge
		first, last := l.bars[0].from, l.bars[len(l.bars)-1].to
		name := fmt.Sprintf("Bars %d to %d", first, last)
		if first == last {
			name = fmt.Sprintf("Bar %d", first)
		}
		fmt.Fprintf(b, `<svg class="line" viewBox="%s %s %s %s" width="%s" height="%s" role="img" aria-label="%s" font-family="%s">`+"\n",
			num(x), num(l.Y-1), num(w), num(l.H+2), num(w*pixels), num((l.H+2)*pixels), name, fontStack)
		page := sc.doc.Pages[l.page]
		for k := l.first; k < l.last; k++ {
			page.Items[k].writeSVG(b, form)
		}
		b.WriteString("</svg>\n")
	}
}

// bars is where the bars of a screen stand, a line each: from, to, left, width,
// and where its time runs.
func barsOf(lines []laid, left float64) [][][6]float64 {
	out := make([][][6]float64, 0, len(lines))
	for i := range lines {
		var line [][6]float64
		for _, b := range lines[i].bars {
			line = append(line, [6]float64{float64(b.from), float64(b.to), cents(b.x - left), cents(b.w), cents(b.at - left), cents(b.inner)})
		}
		out = append(out, line)
	}
	return out
}

// changeNumbers numbers the changes of a part as they come first on paper: one
// that runs over a jump stands there in two pieces.
func (v *part) changeNumbers() map[*motion.Change]int {
	out := map[*motion.Change]int{}
	for i := range v.shifts {
		if _, ok := out[v.shifts[i].Change]; !ok {
			out[v.shifts[i].Change] = len(out)
		}
	}
	return out
}
