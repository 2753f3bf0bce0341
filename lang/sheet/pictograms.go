package sheet

import (
	_ "embed"
	"math"
	"strconv"
	"strings"
	"sync"
)

// The outlines are copied from a SMuFL font under the SIL Open Font License,
// which stands beside them, by internal/glyphs.
//
//go:embed glyphs/outlines.txt
var outlineText string

// A pictogram is a SMuFL glyph, in thousandths of an em around its own box.
type pictogram struct {
	segments []segment
	box      Rect
}

var pictograms = sync.OnceValue(func() map[string]pictogram {
	all := map[string]pictogram{}
	for _, line := range strings.Split(outlineText, "\n") {
		name, path, _ := strings.Cut(line, " ")
		if name != "" {
			all[name] = readPictogram(path)
		}
	}
	return all
})

func readPictogram(path string) pictogram {
	words := strings.Fields(path)
	p := pictogram{}
	left, top, right, bottom := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for i := 0; i < len(words); {
		s := segment{Op: words[i][0]}
		i++
		for k := 0; k < points(s.Op)*2 && i < len(words); k, i = k+1, i+1 {
			v, _ := strconv.ParseFloat(words[i], 64)
			s.At[k] = v
			if k%2 == 0 {
				left, right = min(left, v), max(right, v)
			} else {
				top, bottom = min(top, v), max(bottom, v)
			}
		}
		p.segments = append(p.segments, s)
	}
	if len(p.segments) > 0 {
		p.box = Rect{left, top, right - left, bottom - top}
	}
	return p
}

// points is how many points a segment has.
func points(op byte) int {
	switch op {
	case 'Q':
		return 2
	case 'C':
		return 3
	}
	return 1
}

// pictogram draws the first of the glyphs that is there, as large as fits the
// place, in its middle, and says whether there was one.
func (d pen) pictogram(names []string, r Rect, ink ink) bool {
	for _, name := range names {
		p, ok := pictograms()[name]
		if !ok || p.box.W <= 0 || p.box.H <= 0 {
			continue
		}
		k := min(r.W/p.box.W, r.H/p.box.H)
		x := r.X + (r.W-k*p.box.W)/2 - k*p.box.X
		y := r.Y + (r.H-k*p.box.H)/2 - k*p.box.Y
		d.outline(p, x, y, k, ink)
		return true
	}
	return false
}

func (d pen) outline(p pictogram, x, y, k float64, ink ink) *item {
	path := make([]segment, len(p.segments))
	for i, s := range p.segments {
		path[i].Op = s.Op
		for j := 0; j < points(s.Op)*2; j += 2 {
			path[i].At[j], path[i].At[j+1] = x+k*s.At[j], y+k*s.At[j+1]
		}
	}
	return d.add(item{Kind: outlined, Rect: Rect{x + k*p.box.X, y + k*p.box.Y, k * p.box.W, k * p.box.H}, Fill: ink, Path: path})
}
