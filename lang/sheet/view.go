package sheet

// A distance is from how far a cue sheet is read: on a stand at arm's length and
// a little more, on a desk near by, or in a pit, at a metre and in bad light.
type distance uint8

const (
	Stand distance = iota
	Desk
	Pit
)

// Distances are the names of them, in order.
func Distances() []string { return []string{"stand", "desk", "pit"} }

// DistanceNamed finds one by its name.
func DistanceNamed(name string) (distance, bool) {
	for i, n := range Distances() {
		if n == name {
			return distance(i), true
		}
	}
	return Stand, false
}

// size is how large things are drawn, beside those of a stand: a step of paper
// sizes more for a pit, which is the square root of two, and less for a desk.
func (d distance) size() float64 {
	switch d {
	case Desk:
		return 0.85
	case Pit:
		return 1.41
	}
	return 1
}

// sizesUp are how much larger a part is drawn that does not fill its pages.
var sizesUp = []float64{1.41, 1.3, 1.2, 1.1}

// forPit draws what is on a page for bad light: lines are heavier, nothing is
// grey under words, and nothing is written in grey.
func (p *Page) forPit() {
	for i := range p.Items {
		it := &p.Items[i]
		if it.Line != noInk {
			it.Thick *= 1.3
		}
		if it.Fill == wash {
			it.Fill, it.Line, it.Thick = white, black, max(0.5, it.Thick)
		}
		for _, ink := range []*ink{&it.Line, &it.Fill} {
			if *ink == middling || *ink == pale {
				*ink = black
			}
		}
	}
}

// dark turns a page to white on black.
func (p *Page) dark() {
	turned := [...]ink{noInk: noInk, black: white, middling: pale, pale: middling, wash: middling, white: black}
	items := append(make([]item, 0, len(p.Items)+1), item{Kind: box, Rect: Rect{0, 0, p.W, p.H}, Fill: black, Part: groundArt})
	for _, it := range p.Items {
		it.Line, it.Fill = turned[it.Line], turned[it.Fill]
		items = append(items, it)
	}
	p.Items = items
}
