package guide

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/handful/lang/kit"
)

// Drawings of an instrument from the front and from above. Their measures are
// the catalogue's; the shapes are those of its family and show nothing that the
// catalogue does not say.
const (
	frontScale = 1.3   // px a centimetre, the same for all, so that they can be compared
	somebody   = 175.0 // cm tall, for scale
	frontHigh  = 215.0 // cm that are shown from the floor up
	planWidth  = 280.0 // px, of the view from above
	planHigh   = 220.0
	margin     = 26.0
)

// num is a length as SVG writes it.
func num(v float64) string {
	return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64)
}

// room is how wide and deep the instrument is; what nothing gives a size is
// drawn as wide as where it is struck.
func room(in *kit.Instrument) (wide, deep float64, round bool) {
	if !in.Sized() {
		return in.Zone, in.Zone, true
	}
	if in.Round {
		return in.Wide, in.Wide, true
	}
	return in.Wide, in.Deep, false
}

// low and high are between which heights the instrument is drawn.
func between(in *kit.Instrument) (low, high float64) {
	low, high = in.Low, in.High
	if high <= low {
		low, high = in.Height-2, in.Height
	}
	return low, high
}

// Front is the view from the front, with somebody beside it and the floor.
func Front(in *kit.Instrument) string {
	wide, _, _ := room(in)
	low, high := between(in)
	k := frontScale
	top := max(frontHigh, high+15)
	floor := top*k + 4
	left := 70.0 // cm, for who stands there
	space := max(wide+105, 150)
	w, h := (left+space)*k, floor+26
	cx := (left + (space-40)/2) * k
	y := func(cm float64) float64 { return floor - cm*k }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="front" viewBox="0 0 %s %s" width="%s" height="%s" data-scale="%g" role="img" aria-label="%s">`, num(w), num(h), num(w), num(h), k,
		escape(fmt.Sprintf("From the front: %s, %g cm wide, from %g to %g cm above the floor, struck at %g cm, beside somebody %g cm tall.", in.Name(), wide, low, high, in.Height, somebody)))
	fmt.Fprintf(&b, `<path class="ground" d="M0 %s H%s"/>`, num(floor), num(w))
	person(&b, 34*k, y, k)
	// What holds it up, where it does not stand by itself.
	usual := in.Usual().Mount
	switch {
	case low > 6 && (usual == kit.Hung):
		fmt.Fprintf(&b, `<path class="stand" d="M%s %s V%s H%s V%s M%s %s V%s"/>`, num(cx-(wide/2+8)*k), num(floor), num(y(high+12)), num(cx+(wide/2+8)*k), num(floor), num(cx), num(y(high+12)), num(y(high)))
	case low > 6 && usual != kit.Held && usual != kit.OnBody:
		fmt.Fprintf(&b, `<path class="stand" d="M%s %s V%s L%s %s M%s %s L%s %s"/>`, num(cx), num(y(low)), num(y(22)), num(cx-22*k), num(floor), num(cx), num(y(22)), num(cx+22*k), num(floor))
	}
	fmt.Fprintf(&b, `<g class="thing %s">`, in.Family)
	front(&b, in, cx, y, wide, low, high, k)
	b.WriteString(`</g>`)
	fmt.Fprintf(&b, `<path class="measure" d="M%s %s H%s"/>`, num(cx-(wide/2+14)*k), num(y(in.Height)), num(cx+(wide/2+14)*k))
	label := fmt.Sprintf("%g cm", in.Height)
	fmt.Fprintf(&b, `<text x="%s" y="%s" text-anchor="end">%s</text>`, num(w-4), num(y(in.Height)-5), label)
	fmt.Fprintf(&b, `<path class="bar" d="M%s %s h%s m0 -4 v8 m%s -8 v8"/>`, num(cx-wide/2*k), num(floor+9), num(wide*k), num(-wide*k))
	fmt.Fprintf(&b, `<text x="%s" y="%s" text-anchor="end">%g cm</text>`, num(w-4), num(floor+14), wide)
	b.WriteString("</svg>")
	return b.String()
}

// person is somebody in outline: head, trunk with arms, legs.
func person(b *strings.Builder, x float64, y func(float64) float64, k float64) {
	fmt.Fprintf(b, `<g class="person"><circle cx="%s" cy="%s" r="%s"/><path d="`, num(x), num(y(somebody-10)), num(10*k))
	outline := [...][2]float64{{-6, 152}, {-18, 148}, {-23, 140}, {-24, 82}, {-18, 82}, {-15, 125}, {-14, 88}, {-13, 0}, {-3, 0}, {0, 84}, {3, 0}, {13, 0}, {14, 88}, {15, 125}, {18, 82}, {24, 82}, {23, 140}, {18, 148}, {6, 152}}
	for i, p := range outline {
		fmt.Fprintf(b, "%c%s %s", "ML"[min(i, 1)], num(x+p[0]*k), num(y(p[1])))
	}
	b.WriteString(`z"/></g>`)
}

// front draws the thing itself as its family looks, within its measures.
func front(b *strings.Builder, in *kit.Instrument, cx float64, y func(float64) float64, wide, low, high, k float64) {
	box := func(x, wide, low, high, r float64) {
		fmt.Fprintf(b, `<rect x="%s" y="%s" width="%s" height="%s" rx="%s"/>`, num(x), num(y(high)), num(wide*k), num((high-low)*k), num(r))
	}
	x := cx - wide*k/2
	n := max(1, in.Members)
	switch {
	case in.Family == kit.Keyboard && low == 0 && high > 40:
		board := min(14.0, high/4)
		box(x, wide, high-board, high, 2)
		for _, at := range [...]float64{0.06, 0.94} {
			fmt.Fprintf(b, `<path d="M%s %s V%s"/>`, num(x+wide*k*at), num(y(high-board)), num(y(0)))
		}
		fmt.Fprintf(b, `<path d="M%s %s H%s"/>`, num(x+wide*k*0.06), num(y(22)), num(x+wide*k*0.94))
	case in.Family == kit.Metal && high-low <= 12:
		mid, half := (high+low)/2, (high-low)/2
		fmt.Fprintf(b, `<path d="M%s %s Q%s %s %s %s Q%s %s %s %s z"/>`, num(x), num(y(mid-half)), num(cx), num(y(mid+half*3)), num(x+wide*k), num(y(mid-half)), num(cx), num(y(mid-half*0.2)), num(x), num(y(mid-half)))
	case in.Family == kit.Membrane:
		each := wide / float64(n)
		for i := range n {
			at := x + float64(i)*each*k
			box(at, each, low, high, 3)
			if hoop := min(4, (high-low)/5); low == 0 && high > 60 && n > 0 {
				fmt.Fprintf(b, `<path d="M%s %s h%s"/>`, num(at), num(y(high-hoop)), num(each*k))
			} else {
				fmt.Fprintf(b, `<path d="M%s %s h%s M%s %s h%s"/>`, num(at), num(y(high-hoop)), num(each*k), num(at), num(y(low+hoop)), num(each*k))
			}
		}
	case n > 1:
		each := wide / float64(n)
		for i := range n {
			box(x+float64(i)*each*k, each*0.9, low, high, 2)
		}
	case in.Family == kit.Wood && high-low <= 30:
		box(x, wide, low, high, 2)
		fmt.Fprintf(b, `<path d="M%s %s H%s"/>`, num(x+wide*k*0.15), num(y(low+(high-low)*0.6)), num(x+wide*k*0.85))
	case in.Family == kit.Rattle && high-low <= 60:
		box(x, wide, low, high, min(wide, high-low)*k/2)
	default:
		box(x, wide, low, high, 4)
	}
}

// above is the view from above, with the player's side at the bottom, as large
// as fits.
func above(in *kit.Instrument) string {
	wide, deep, round := room(in)
	k := min((planWidth-2*margin)/wide, (planHigh-2*margin)/deep)
	k = min(k, 12) // what is tiny stays small
	w, h := planWidth, deep*k+2*margin+30
	cx, cy := w/2, margin+deep*k/2
	var b strings.Builder
	said := fmt.Sprintf("%g by %g cm", wide, deep)
	if round {
		said = fmt.Sprintf("%g cm across", wide)
	}
	fmt.Fprintf(&b, `<svg class="above" viewBox="0 0 %s %s" width="%s" height="%s" data-scale="%g" role="img" aria-label="%s">`, num(w), num(h), num(w), num(h), k,
		escape(fmt.Sprintf("From above: %s, %s; the player's side is at the bottom, and it is struck within %g cm.", in.Name(), said, in.Zone)))
	fmt.Fprintf(&b, `<g class="thing %s">`, in.Family)
	n := max(1, in.Members)
	switch {
	case n > 1:
		each := wide * k / float64(n)
		fmt.Fprintf(&b, `<rect class="extent" x="%s" y="%s" width="%s" height="%s" rx="3"/>`, num(cx-wide*k/2), num(cy-deep*k/2), num(wide*k), num(deep*k))
		for i := range n {
			r := min(each, deep*k) / 2
			fmt.Fprintf(&b, `<circle cx="%s" cy="%s" r="%s"/>`, num(cx-wide*k/2+each*(float64(i)+0.5)), num(cy), num(r*0.96))
		}
	case round:
		fmt.Fprintf(&b, `<circle class="extent" cx="%s" cy="%s" r="%s"/>`, num(cx), num(cy), num(wide*k/2))
	default:
		fmt.Fprintf(&b, `<rect class="extent" x="%s" y="%s" width="%s" height="%s" rx="3"/>`, num(cx-wide*k/2), num(cy-deep*k/2), num(wide*k), num(deep*k))
		if in.Family == kit.Keyboard {
			const bars = 15
			var d strings.Builder
			for i := 1; i < bars; i++ {
				short := deep * k * 0.3 * float64(i) / bars
				fmt.Fprintf(&d, "M%s %sV%s", num(cx-wide*k/2+wide*k*float64(i)/bars), num(cy-deep*k/2+short/2), num(cy+deep*k/2-short/2))
			}
			fmt.Fprintf(&b, `<path d="%s"/>`, d.String())
		}
	}
	b.WriteString(`</g>`)
	if z := in.Zone * k / 2; n == 1 && in.Family != kit.Keyboard {
		fmt.Fprintf(&b, `<circle class="zone" cx="%s" cy="%s" r="%s"/>`, num(cx), num(cy), num(z))
	}
	y := h - 22
	step := barLength(k)
	fmt.Fprintf(&b, `<path class="bar" d="M%s %s h%s m0 -4 v8 m%s -8 v8"/>`, num(margin), num(y), num(step*k), num(-step*k))
	fmt.Fprintf(&b, `<text x="%s" y="%s">%g cm</text>`, num(margin+step*k+8), num(y+5), step)
	b.WriteString("</svg>")
	return b.String()
}

// barLength is a round length that is drawn well at a scale.
func barLength(k float64) float64 {
	for _, cm := range [...]float64{1, 2, 5, 10, 20} {
		if cm*k >= 36 {
			return cm
		}
	}
	return 50
}

// escape is a text fit for HTML, between tags or in quotes.
func escape(text string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;").Replace(text)
}
