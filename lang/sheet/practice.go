package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/pdf"
	"example.org/handful/lang/score"
	"example.org/handful/lang/words"
)

// A drill is one change to rehearse: the changes that are alike, by the
// tightest of them.
type drill struct {
	*motion.Change
	Bar   int
	Count beat.Count
	More  int // how many others are like it
}

// margin is what is left of its window at an easy pace, in seconds; less than
// 0 is tight.
func (d *drill) margin() float64 { return d.Spare() }

// Drills is a player's changes from the tightest on.
func drillsOf(s *score.Score, m *motion.Result) []drill {
	type key struct {
		hand     body.Limb
		from, to *score.Cue
		action   *score.Action
		need     int64
		retunes  motion.Retuning
	}
	at := map[key]int{}
	var out []drill
	for _, c := range changes(m) {
		if !worthSaying(c) {
			continue
		}
		k := key{hand: c.Hand, to: c.To.Cue, action: c.To.Action, need: int64(math.Round(c.Need.Floor * 1000))}
		if c.From != nil {
			k.from = c.From.Cue
		}
		if c.Retunes != nil {
			k.retunes = *c.Retunes
		}
		n, ok := at[k]
		if !ok {
			at[k] = len(out)
			out = append(out, drill{Change: c})
			continue
		}
		out[n].More++
		if c.Spare() < out[n].Spare() {
			out[n].Change = c
		}
	}
	for i := range out {
		out[i].Bar, out[i].Count = s.Grid.Place(out[i].To.At())
	}
	slices.SortStableFunc(out, func(a, b drill) int {
		switch {
		case a.Spare() < b.Spare():
			return -1
		case a.Spare() > b.Spare():
			return 1
		}
		return 0
	})
	return alike(out)
}

// alike puts drills together that are the same in everything but their place.
func alike(list []drill) []drill {
	type key struct {
		hand     body.Limb
		from, to *score.Item
		doing    string
		window   int64
		need     int64
	}
	at := map[key]int{}
	var out []drill
	for _, d := range list {
		k := key{d.Hand, nil, d.To.Item(), check.Doing(d.Change), int64(math.Round(d.Window * 1000)), int64(math.Round(d.Need.Steady * 1000))}
		if d.From != nil {
			k.from = d.From.Item()
		}
		if n, ok := at[k]; ok {
			out[n].More += d.More + 1
			continue
		}
		at[k] = len(out)
		out = append(out, d)
	}
	return out
}

// mostDrills is how many changes a practice sheet has: what does not get into
// the hands in a week of evenings does not get there from paper either (common
// practice, no source).
const mostDrills = 12

func (v *part) practice(paper Paper) Doc {
	doc := v.doc("practice", "Practice sheet", paper)
	fl := newFlow(&doc, v.p.Name+": practise the changes", "practice")
	all := drillsOf(v.Score, v.m)
	if len(all) == 0 {
		fl.para("Nothing has to be laid, taken or walked to in time here: there is no change to practise.", false)
		doc.finish()
		return doc
	}
	var drills []drill
	for _, d := range all {
		if d.Need.Steady > worthDrilling*d.Window {
			drills = append(drills, d)
		}
	}
	if len(drills) == 0 {
		fl.para("No change takes more than 60 % of the time that there is for it: there is none to practise.", false)
	} else {
		fl.para("The tightest first. Go through the motions without the instruments at the lowest tempo until they are quiet, then with a click up the ladder; tick a step off when it has been easy three times running.", false)
	}
	for i := range drills[:min(mostDrills, len(drills))] {
		v.drill(fl, i+1, &drills[i])
	}
	if rest := len(all) - min(mostDrills, len(drills)); rest > 0 && len(drills) > 0 {
		fl.para(fmt.Sprintf("%s more time than these.", words.Count(rest, "more has", "more have")), false)
	}
	for _, d := range all {
		if d.Retunes != nil && d.Need.Steady <= worthDrilling*d.Window {
			fl.bullet(fmt.Sprintf("%s, before bar %d, count %s.", retuneWords(d.Change), d.Bar, d.Count))
		}
	}
	fl.care(v.strains()...)
	doc.finish()
	return doc
}

// worthDrilling is the share of its time that a change takes at an easy pace from
// which on it is practised: what takes less is nobody's trouble (a demand of the
// house, no source).
const worthDrilling = 0.6

// drill sets one change: where, what, its window, its motions and its ladder.
func (v *part) drill(fl *flow, n int, d *drill) {
	var motions []string
	for _, m := range d.Motions {
		motions = append(motions, m.Words)
	}
	rehearse := "Rehearse: " + strings.Join(motions, ", then ") + "."
	c, line := v.motif(fl, d)
	h := 118 + fl.paraHeight(v.drillWords(d)) + fl.paraHeight(rehearse)
	if line != nil {
		h += line.h + 10
	}
	fl.need(min(h, (fl.bottom()-margin0)*0.9)) // a drill stands on one page
	fl.y += 18
	end := fl.d.under(pdf.Heading2)
	head := fmt.Sprintf("%d   bar %s, count %s, %s", n, v.OnPage(d.Bar), d.Count, d.Hand.Name())
	fl.d.words(margin0, fl.y, head, 11.5, true, black)
	verdict := "easy"
	if d.Short() {
		verdict = "! NO TIME"
	} else if d.AtEdge() {
		verdict = "! AT THE EDGE"
	} else if d.Tight() {
		verdict = "! TIGHT"
	}
	fl.d.right(fl.d.W-margin0, fl.y, verdict, paraSize, true, black)
	end()
	fl.d.sayHeading(head + ": " + verdict)
	fl.para(v.drillWords(d), false)
	if line != nil {
		c.drawMotif(fl, line)
	}
	v.window(fl, d)
	fl.para(rehearse, false)
	v.climb(fl, d)
}

// climb is the ladder of a drill: a box to tick off before each tempo.
func (v *part) climb(fl *flow, d *drill) {
	text, steps, unit := v.ladder(d)
	if len(steps) == 0 {
		fl.para(text, true)
		return
	}
	const size, box = 10.5, 8.0
	fl.need(18)
	end := fl.d.under(pdf.Paragraph)
	fl.y += 15
	glyph, equal := noteGlyph(unit)
	x := margin0
	if glyph != "" {
		fl.d.pictogram([]string{glyph}, Rect{x, fl.y - 10, 8, 11}, black)
		x += 10
	}
	x += fl.d.words(x, fl.y, equal, size, true, black).W + 8
	for _, step := range steps {
		fl.d.box(Rect{x, fl.y - box, box, box}, black, noInk, 0.9)
		x += box + 4
		x += fl.d.words(x, fl.y, step, size, true, black).W + 16
	}
	fl.y += 2
	end()
	fl.d.say(text)
	if _, more, ok := strings.Cut(text, ". "); ok {
		fl.para(more, true)
	}
}

// motif is the bars of a drill in notes, from where the hand comes to where it is
// wanted: the last of them, where they are many; nil where they are more lines than a
// drill is read from.
func (v *part) motif(fl *flow, d *drill) (*cueSheet, *system) {
	const most, highest = 3, 220
	last, _ := v.Grid.Place(d.To.At())
	first := last
	if d.From != nil && d.From.Span == d.To.Span {
		first, _ = v.Grid.Place(d.From.At())
	}
	first = max(first, last-most+1, v.Grid.First())
	if first > last || last > v.Grid.Last() || last > maxBars {
		return nil, nil
	}
	c := &cueSheet{part: v, doc: *fl.doc, d: fl.d}
	c.labW = c.labelWidth(fl.d.W)
	c.left, c.right = margin0+limbW+c.labW+5, fl.d.W-margin0
	if v.clefs {
		c.left += clefW
	}
	var blocks []block
	for bar := first; bar <= last; bar++ {
		blocks = append(blocks, v.block(bar, bar, false))
		v.measure(fl.d.f, &blocks[len(blocks)-1])
	}
	s := spread(lastThatFit(blocks, c.right-c.left), c.right-c.left, true)
	v.lanes(s, v.usesHands())
	if c.arrange(s); s.h > highest {
		return nil, nil
	}
	return c, s
}

// drawMotif puts them on the page.
func (c *cueSheet) drawMotif(fl *flow, s *system) {
	fl.need(s.h + 4)
	c.d = fl.d
	said := len(fl.d.Said)
	c.draw(s, fl.y+4)
	fl.d.Said = fl.d.Said[:said]
	for i := range fl.d.Items {
		if it := &fl.d.Items[i]; it.Part == strokeArt {
			it.Part, it.Of = noteArt, nil // the cue sheet has the stroke itself
		}
	}
	fl.y += s.h + 6
}

// lastThatFit is as many of the last blocks as stand on one line in full size, or the
// last one.
func lastThatFit(blocks []block, room float64) []block {
	first := len(blocks)
	for first > 0 && (first == len(blocks) || blocks[first-1].least <= room) {
		first--
		room -= blocks[first].least
	}
	return blocks[first:]
}

func (v *part) drillWords(d *drill) string {
	text := capital(check.Doing(d.Change))
	if d.From != nil && d.From.Item() != nil {
		text = "From the " + d.From.Item().Called() + ": " + check.Doing(d.Change)
	}
	if d.To.Item() != nil && !d.To.Kind.Stops() {
		text += ", and play the " + d.To.Item().Called()
	}
	text += ". There is " + secs(d.Window) + "; it takes " + secs(d.Need.Steady) + " at an easy pace, " + secs(d.Need.Floor) + " at the fastest that people do it on average, and nobody does it under " + secs(d.Need.Limit) + "."
	if d.Retunes != nil {
		text = retuneWords(d.Change) + text[strings.Index(text, ". There is"):]
	}
	if d.More > 0 {
		text += fmt.Sprintf(" The same %s.", often(d.More))
	}
	return text
}

func often(n int) string {
	if n == 1 {
		return "comes once more"
	}
	return fmt.Sprintf("comes %d times more", n)
}

func capital(text string) string {
	r := []rune(text)
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}

// window draws the time there is, and under it what an easy pace and the very
// fastest take of it.
func (v *part) window(fl *flow, d *drill) {
	room := fl.room() - 92
	have := max(0, d.Window) // less is a hand that is still busy
	scale := room / max(have, d.Need.Steady, 0.01)
	fl.need(46)
	fl.y += 6
	bars := []struct {
		name string
		s    float64
		fill ink
	}{{"there is", have, white}, {"easy pace", d.Need.Steady, wash}, {"fastest", d.Need.Floor, wash}, {"nobody under", d.Need.Limit, black}}
	alt := make([]string, len(bars))
	for i, b := range bars {
		alt[i] = b.name + " " + secs(b.s)
	}
	defer fl.d.pictured("The time there is, and what the change takes of it: " + strings.Join(alt, ", ") + ".")()
	for _, b := range bars {
		fl.d.words(margin0, fl.y+7.5, b.name, 8, false, black).Part = smallPrint
		fl.d.box(Rect{margin0 + 54, fl.y, max(0.5, b.s*scale), 7}, black, b.fill, 0.8)
		fl.d.words(margin0+54+b.s*scale+4, fl.y+7, secs(b.s), 8, false, black).Part = smallPrint
		fl.y += 10
	}
}

// ladder is the tempos to practise at: from where the change is easy to the
// tempo that is written, in at most six steps.
func (v *part) ladder(d *drill) (text string, steps []string, unit beat.Rat) {
	at := d.To.At()
	unit = unitAt(v.Score, at)
	written := v.Tempo.At(at) / unit.Float()
	name := unit.String()
	if d.Window <= 0 || d.Need.Steady <= 0 {
		return "No tempo makes time for this: the hand is busy until it is wanted.", nil, unit
	}
	easy := written * d.Window / d.Need.Steady
	top := written
	if d.Short() {
		top = math.Floor(written * d.Window / d.Need.Limit)
	}
	low, high := math.Floor(easy), top
	if easy >= written {
		low = math.Floor(written * easyShare) // up to the tempo, with something in hand
	}
	const most = 5
	n := max(1, min(most, int(math.Ceil((high-low)/4))))
	last := ""
	for i := 0; i <= n; i++ {
		if step := fmt.Sprintf("%.0f", low+(high-low)*float64(i)/float64(n)); step != last {
			steps = append(steps, step)
			last = step
		}
	}
	text = fmt.Sprintf("Tempo ladder (%s a minute): %s.", name, strings.Join(steps, " · "))
	switch {
	case d.Short():
		text += fmt.Sprintf(" Beyond %.0f nobody can do it; %.0f is written.", top, written)
	case easy >= written:
		text += fmt.Sprintf(" Easy at the written %.0f, and up to %.0f.", written, math.Floor(easy))
	}
	return text, steps, unit
}

// easyShare is the share of the written tempo at which a change is first gone
// through that is easy at that (common practice, no source).
const easyShare = 0.75
