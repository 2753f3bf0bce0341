package sheet

// A label is words that want to stand at some place along a system.
type label struct {
	x     float64 // where it would like to begin
	lines []string
	w     float64
	size  float64
	bold  bool
	ink   ink
	said  string // to be read aloud
	mark  bool   // in a frame
	lead  string // a pictogram before the words
	shelf int    // filled by pack: lines above it
}

// A shelf is a strip of labels that never overlap: each stands in the first
// row, from the top or from the bottom, in which there is room for it.
type shelf struct {
	labels      []label
	left, right float64
	pitch       float64 // height of a row
	slack       float64 // how far a label may move to the right to stay in a row
	up          bool    // rows are filled from the lowest on
	rows        int
}

const (
	labelGap = 5
	leadW    = 10.0
)

// glyph puts a pictogram before a label's words.
func (l *label) glyph(name string) {
	if name != "" {
		l.lead = name
		l.w += leadW
	}
}

// sign makes a label of a pictogram alone.
func (l *label) sign(name string) {
	l.lines = []string{""}
	l.glyph(name)
}

// put adds text, broken into lines no wider than the room.
func (s *shelf) put(f *faces, x float64, text string, size float64, bold bool, ink ink, room float64) *label {
	l := label{x: x, size: size, bold: bold, ink: ink, said: text}
	l.lines = f.wrap(text, size, bold, min(room, s.right-s.left))
	for _, line := range l.lines {
		l.w = max(l.w, f.width(line, size, bold))
	}
	s.labels = append(s.labels, l)
	return &s.labels[len(s.labels)-1]
}

// pack gives every label its place.
func (s *shelf) pack() {
	var taken [][]Rect // by row
	for i := range s.labels {
		l := &s.labels[i]
		l.x = max(s.left, min(l.x, s.right-l.w))
		want := l.x
		for row := 0; ; row++ {
			l.x = s.beside(taken, row, l, want)
			if s.free(taken, row, l) {
				for k := range l.lines {
					for len(taken) <= row+k {
						taken = append(taken, nil)
					}
					taken[row+k] = append(taken[row+k], Rect{X: l.x, W: l.w})
				}
				l.shelf = row
				break
			}
		}
	}
	s.rows = len(taken)
}

// beside is where a label stands in a row, where it would like to or as little
// behind that as lets it stand there; where that is too far it stays.
func (s *shelf) beside(taken [][]Rect, row int, l *label, want float64) float64 {
	x := want
	for k := range l.lines {
		if row+k >= len(taken) {
			break
		}
		for _, r := range taken[row+k] { // from left to right is not needed: what moves is looked at again
			if r.X < x+l.w+labelGap && x < r.X+r.W+labelGap {
				x = r.X + r.W + 2*labelGap
			}
		}
	}
	if x > want+s.slack || x+l.w > s.right {
		return want
	}
	return x
}

func (s *shelf) free(taken [][]Rect, row int, l *label) bool {
	for k := range l.lines {
		if row+k >= len(taken) {
			return true
		}
		for _, r := range taken[row+k] {
			if r.X < l.x+l.w+labelGap && l.x < r.X+r.W+labelGap {
				return false
			}
		}
	}
	return true
}

func (s *shelf) height() float64 { return float64(s.rows) * s.pitch }

// draw puts the labels below y.
func (s *shelf) draw(d pen, y float64) {
	for _, l := range s.labels {
		row := l.shelf
		if s.up {
			row = s.rows - l.shelf - len(l.lines)
		}
		base := y + float64(row)*s.pitch + s.pitch*0.76
		for k, line := range l.lines {
			if l.mark {
				d.box(Rect{l.x - 3, base - l.size*above - 0.5, l.w + 6, l.size*(above+below) + 0.5}, black, noInk, 1.4)
			}
			x := l.x
			if l.lead != "" {
				if k == 0 {
					d.pictogram([]string{l.lead}, Rect{x, base - l.size, leadW - 2, l.size + 0.5}, l.ink)
				}
				x += leadW
			}
			if line != "" {
				d.words(x, base+float64(k)*s.pitch, line, l.size, l.bold, l.ink)
			}
		}
	}
}
