package kit

import (
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/words"
)

// An Account is what there is to say about an instrument, in the order in which
// it is said.
type Account struct {
	Name  string // its id, its name and the letters it goes by
	Facts []Fact
	Ways  []WayTold
	Rest  []Fact // what it may stand for, what it is never played with, and notes
}

// A Fact is a text and the word it stands behind.
type Fact struct{ Word, Text string }

// A WayTold is a way of playing in a sentence.
type WayTold struct {
	Way  *Way
	Says string
	How  []string // how it is set up and played; none for the usual way
	Same bool     // How is that of the way before
}

// Account says what an instrument is and how it may be played.
func (cat *Catalogue) Account(in *Instrument) Account {
	a := Account{Name: named(in.ID, in.Called, in.Abbrevs)}
	a.sound(in)
	a.room(in)
	var told []string
	for k, w := range in.Ways {
		t := WayTold{Way: w, Says: cat.DescribeWay(w)}
		if k > 0 { // nobody has to be told the usual way
			t.How = in.How(w)
		}
		if t.Same = len(t.How) > 0 && slices.Equal(t.How, told); len(t.How) > 0 {
			told = t.How
		}
		a.Ways = append(a.Ways, t)
	}
	rest := func(word, text string) { a.Rest = append(a.Rest, Fact{word, text}) }
	for _, st := range in.StandsFor {
		rest("for", cat.nameOf(st.For)+": "+st.Costs)
	}
	for _, st := range cat.StandIns(in) {
		rest("instead", st.In.Name()+": "+st.Costs)
	}
	for _, id := range in.Doublers {
		rest("marches", "its notes are the "+cat.nameOf(id)+"' too, though they are not written for them")
	}
	for _, b := range in.Never {
		rest("never", "with "+strings.Join(implementNames(cat, b.With), ", ")+": "+b.Reason)
	}
	for _, n := range in.Notes {
		rest("note", n)
	}
	rest("basis", basisWords(in.Basis))
	return a
}

func (a *Account) fact(word, text string) { a.Facts = append(a.Facts, Fact{word, text}) }

// sound says what an instrument is and how it sounds.
func (a *Account) sound(in *Instrument) {
	if len(in.Also) > 0 {
		a.fact("also", strings.Join(in.Also, ", "))
	}
	a.fact("family", in.Family)
	if len(in.Sounds) > 0 {
		a.fact("sound", strings.Join(in.Sounds, ", ")+" (MusicXML)")
	}
	if len(in.MIDI) > 0 {
		a.fact("key", strings.Trim(fmt.Sprint(in.MIDI), "[]")+" (General MIDI percussion"+keysFromTheLeft(in)+")")
	}
	if in.Pitched() {
		a.fact("notes", in.Range.String()+" as written"+[]string{", and sounds so", ", sounding an octave higher", ", sounding two octaves higher", ", sounding three octaves higher"}[in.Octaves])
	}
	for n, k := range in.Kettles {
		a.fact(fmt.Sprintf("kettle %d", n+1), fmt.Sprintf("%g cm across, %s to %s", k.Across, k.Low, k.High))
	}
	if len(in.MemberNames) > 0 {
		a.fact("row", strings.Join(in.MemberNames, ", ")+", from the left")
	}
	if in.HandTuned {
		a.fact("tuning", "by hand, with handles")
	}
	ring := "short"
	if in.Rings > 0 {
		ring = fmt.Sprintf("about %g s", in.Rings)
	}
	a.fact("rings", ring)
	if len(in.StopsBy) > 0 {
		a.fact("stopped", "by "+strings.ReplaceAll(strings.Join(in.StopsBy, ", "), "holding-hand", "the hand that holds it"))
	}
	if in.Snares != NoSnares {
		a.fact("snares", [...]string{"", "thrown off by a lever", "those beside it buzz when it is played loud"}[in.Snares])
	}
}

// keysFromTheLeft says how the keys of a set go with its drums.
func keysFromTheLeft(in *Instrument) string {
	row := in.Row()
	if _, ok := in.Key(row); !ok {
		return ""
	}
	if len(in.MIDI) == row {
		return "; of its row from the left"
	}
	return fmt.Sprintf("; the first %d are those of its row from the left", row)
}

// room says how much room an instrument takes and how it is handled.
func (a *Account) room(in *Instrument) {
	a.fact("zone", fmt.Sprintf("%g cm wide", in.Zone))
	switch {
	case in.Round:
		a.fact("size", fmt.Sprintf("%g cm across, from above", in.Wide))
	case in.Wide > 0:
		a.fact("size", fmt.Sprintf("%g by %g cm, from above", in.Wide, in.Deep))
	}
	high := fmt.Sprintf("%g cm above the floor", in.Height)
	if in.Over > 0 {
		high += fmt.Sprintf("; its edge may hang %g cm over something lower", in.Over)
	}
	a.fact("height", high)
	switch in.Seat {
	case "":
	case "itself":
		a.fact("seat", "the instrument itself")
	default:
		a.fact("seat", "a "+in.Seat)
	}
	a.fact("handling", handlingWords(in.Handling, in.Noise))
	if in.Carry != Anyhow {
		a.fact("carried", in.carried())
	}
	if in.Late > 0 {
		a.fact("early", fmt.Sprintf("the hand is needed %g s before the sound: %s", in.Late, in.LateWhy))
	}
}

// Describe says in words what an instrument is and how it may be played.
func (cat *Catalogue) Describe(in *Instrument) string {
	out := &strings.Builder{}
	a := cat.Account(in)
	fmt.Fprintln(out, a.Name)
	for _, f := range a.Facts {
		field(out, f.Word, f.Text)
	}
	fmt.Fprintln(out, "  played")
	for _, t := range a.Ways {
		for i, line := range words.Wrap(t.Says, 86) {
			fmt.Fprintf(out, "    %s%s\n", map[bool]string{true: "- ", false: "  "}[i == 0], line)
		}
		if t.Same {
			fmt.Fprintln(out, "        how: as above")
			continue
		}
		for _, line := range t.How {
			for i, l := range words.Wrap(line, 78) {
				fmt.Fprintf(out, "        %s%s\n", map[bool]string{true: "", false: "  "}[i == 0], l)
			}
		}
	}
	for _, f := range a.Rest {
		field(out, f.Word, f.Text)
	}
	return out.String()
}

// named is what heads an entry.
func named(id, called string, abbrevs []string) string {
	name := id + ": " + called
	if len(abbrevs) > 0 {
		name += " (" + strings.Join(abbrevs, ", ") + ")"
	}
	return name
}

func handlingWords(h Handling, n Noise) string {
	return handlings[h] + " to take and lay, " + noises[n]
}

func basisWords(b string) string {
	if b == "published" {
		return "published sources and common practice; zones and ring times are estimates"
	}
	return "common practice, no source"
}

func implementNames(cat *Catalogue, ids []string) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = id
		if im := cat.Implement(id); im != nil {
			out[i] = im.Name()
		}
	}
	return out
}

// carried says who gets the instrument to its place.
func (in *Instrument) carried() string {
	by := [...]string{"", "by one person", "by two people", "on wheels, and by two over steps"}[in.Carry]
	if in.Kilos > 0 {
		by += fmt.Sprintf(", about %g kg", in.Kilos)
	}
	return by
}

func (cat *Catalogue) nameOf(id string) string {
	if in := cat.Instrument(id); in != nil {
		return in.Name()
	}
	return id
}

// DescribeWay says one way of playing in a sentence.
func (cat *Catalogue) DescribeWay(w *Way) string {
	parts := []string{w.Mount.String() + ", " + limbsOf(w) + cat.withWords(w)}
	if w.Rolls {
		parts = append(parts, rollWords(w))
	}
	if w.Shaken {
		parts = append(parts, "shaken, even rhythms only")
	}
	if w.Keeps {
		parts = append(parts, "a light implement may stay in the fingers")
	}
	if w.Named != "" {
		parts = append(parts, fmt.Sprintf("asked for as %q", w.Named))
	}
	switch {
	case w.Seated:
		parts = append(parts, "seated")
	case w.Stays:
		parts = append(parts, "the player stays where they are")
	}
	if w.Least > 0 {
		parts = append(parts, fmt.Sprintf("strokes take %g s at an easy pace", w.Least))
	}
	if w.Apart > 0 {
		parts = append(parts, fmt.Sprintf("strokes run together below %g s", w.Apart))
	}
	switch {
	case w.Softest > 0 && w.Loudest > 0:
		parts = append(parts, fmt.Sprintf("from %s to %s", w.Softest, w.Loudest))
	case w.Softest > 0:
		parts = append(parts, fmt.Sprintf("no softer than %s", w.Softest))
	case w.Loudest > 0:
		parts = append(parts, fmt.Sprintf("no louder than %s", w.Loudest))
	}
	if len(w.Needs) > 0 {
		parts = append(parts, "needs "+strings.ReplaceAll(strings.Join(w.Needs, ", "), "-", " "))
	}
	if w.Costs != "" {
		parts = append(parts, "costs: "+w.Costs)
	}
	return strings.Join(parts, "; ")
}

// withWords is what a way is played with, behind its limbs.
func (cat *Catalogue) withWords(w *Way) string {
	var with []string
	for _, c := range w.With {
		name := implementNames(cat, []string{c.Implement})[0]
		if c.Count == 2 {
			name = "two " + name + "s in the hand"
		}
		with = append(with, name)
	}
	if with == nil {
		return ""
	}
	return ", with " + strings.Join(with, " or ")
}

// rollWords is how long a way can be rolled.
func rollWords(w *Way) string {
	roll := "rolls"
	if w.RollsFor > 0 {
		roll += fmt.Sprintf(" for up to %g s", w.RollsFor)
	}
	if w.RollLoud > 0 {
		roll += fmt.Sprintf(", loud ones up to %g s", w.RollLoud)
	}
	return roll
}

func limbsOf(w *Way) string {
	switch w.Limb {
	case Foot:
		return words.Count(w.Hands, "foot", "feet")
	case Mouth:
		if w.Hands > 0 {
			return "mouth and one hand"
		}
		return "mouth"
	}
	limbs := words.Count(w.Hands, "hand", "hands")
	if w.Feet > 0 {
		limbs += " and " + words.Count(w.Feet, "foot", "feet")
	}
	return limbs
}

// AccountOf says what an implement is and what it plays.
func (cat *Catalogue) AccountOf(im *Implement) Account {
	a := Account{Name: named(im.ID, im.Called, im.Abbrevs)}
	fact := func(word, text string) { a.Facts = append(a.Facts, Fact{word, text}) }
	if len(im.Also) > 0 {
		fact("also", strings.Join(im.Also, ", "))
	}
	fact("weighs", weights[im.Weight])
	if im.Length > 0 {
		fact("length", fmt.Sprintf("%g cm", im.Length))
	}
	fact("handling", handlingWords(im.Handling, im.Noise))
	var plays []string
	for _, in := range cat.Instruments() {
		if slices.ContainsFunc(in.Ways, func(w *Way) bool {
			return slices.ContainsFunc(w.With, func(c Choice) bool { return c.Implement == im.ID })
		}) {
			plays = append(plays, in.Name())
		}
	}
	fact("plays", strings.Join(plays, ", "))
	return a
}

// DescribeImplement says in words what an implement is and what it plays.
func (cat *Catalogue) DescribeImplement(im *Implement) string {
	out := &strings.Builder{}
	a := cat.AccountOf(im)
	fmt.Fprintln(out, a.Name)
	for _, f := range a.Facts {
		field(out, f.Word, f.Text)
	}
	return out.String()
}

// field writes a text behind its word, wrapped.
func field(out *strings.Builder, word, text string) {
	for _, line := range words.Wrap(text, 84) {
		fmt.Fprintf(out, "  %-9s %s\n", word, line)
		word = ""
	}
}
