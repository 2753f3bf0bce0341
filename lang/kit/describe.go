package kit

import (
	"fmt"
	"slices"
	"strings"

	"handful/lang/words"
)

// Describe says in words what an instrument is and how it may be played.
func (cat *Catalogue) Describe(in *Instrument) string {
	out := &strings.Builder{}
	fmt.Fprintf(out, "%s: %s", in.ID, in.Called)
	if len(in.Abbrevs) > 0 {
		fmt.Fprintf(out, " (%s)", strings.Join(in.Abbrevs, ", "))
	}
	fmt.Fprintln(out)
	if len(in.Also) > 0 {
		field(out, "also", strings.Join(in.Also, ", "))
	}
	fmt.Fprintf(out, "  family    %s\n", in.Family)
	if len(in.Sounds) > 0 {
		fmt.Fprintf(out, "  sound     %s (MusicXML)\n", strings.Join(in.Sounds, ", "))
	}
	if len(in.MIDI) > 0 {
		fmt.Fprintf(out, "  key       %s (General MIDI percussion)\n", strings.Trim(fmt.Sprint(in.MIDI), "[]"))
	}
	ring := "short"
	if in.Rings > 0 {
		ring = fmt.Sprintf("about %g s", in.Rings)
	}
	fmt.Fprintf(out, "  rings     %s\n", ring)
	if len(in.StopsBy) > 0 {
		fmt.Fprintf(out, "  stopped   by %s\n", strings.ReplaceAll(strings.Join(in.StopsBy, ", "), "holding-hand", "the hand that holds it"))
	}
	fmt.Fprintf(out, "  zone      %g cm wide\n", in.Zone)
	switch {
	case in.Round:
		fmt.Fprintf(out, "  size      %g cm across, from above\n", in.Wide)
	case in.Wide > 0:
		fmt.Fprintf(out, "  size      %g by %g cm, from above\n", in.Wide, in.Deep)
	}
	fmt.Fprintf(out, "  height    %g cm above the floor", in.Height)
	if in.Over > 0 {
		fmt.Fprintf(out, "; its edge may hang %g cm over something lower", in.Over)
	}
	fmt.Fprintln(out)
	switch in.Seat {
	case "":
	case "itself":
		fmt.Fprintln(out, "  seat      the instrument itself")
	default:
		fmt.Fprintf(out, "  seat      a %s\n", in.Seat)
	}
	fmt.Fprintf(out, "  handling  %s\n", handlingWords(in.Handling, in.Noise))
	if in.Carry != Anyhow {
		fmt.Fprintf(out, "  carried   %s\n", in.Carried())
	}
	if in.Late > 0 {
		fmt.Fprintf(out, "  early     the hand is needed %g s before the sound: %s\n", in.Late, in.LateWhy)
	}
	fmt.Fprintln(out, "  played")
	var told []string
	for k, w := range in.Ways {
		for i, line := range words.Wrap(cat.DescribeWay(w), 86) {
			fmt.Fprintf(out, "    %s%s\n", map[bool]string{true: "- ", false: "  "}[i == 0], line)
		}
		how := in.How(w)
		switch {
		case k == 0 || len(how) == 0:
			continue // nobody has to be told the usual way
		case slices.Equal(how, told):
			fmt.Fprintln(out, "        how: as above")
			continue
		}
		told = how
		for _, line := range how {
			for i, l := range words.Wrap(line, 78) {
				fmt.Fprintf(out, "        %s%s\n", map[bool]string{true: "", false: "  "}[i == 0], l)
			}
		}
	}
	for _, st := range in.StandsFor {
		field(out, "for", cat.nameOf(st.For)+": "+st.Costs)
	}
	for _, st := range cat.StandIns(in) {
		field(out, "instead", st.In.Name()+": "+st.Costs)
	}
	for _, b := range in.Never {
		field(out, "never", "with "+strings.Join(implementNames(cat, b.With), ", ")+": "+b.Reason)
	}
	for _, n := range in.Notes {
		field(out, "note", n)
	}
	fmt.Fprintf(out, "  basis     %s\n", basisWords(in.Basis))
	return out.String()
}

func handlingWords(h Handling, n Noise) string {
	return [...]string{"easy", "careful", "awkward"}[h] + " to take and lay, " + [...]string{"silent", "soft", "audible", "loud"}[n]
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

// Carried says who gets the instrument to its place.
func (in *Instrument) Carried() string {
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
	parts := []string{w.Mount.String() + ", " + limbsOf(w)}
	if len(w.With) > 0 {
		var with []string
		for _, c := range w.With {
			name := implementNames(cat, []string{c.Implement})[0]
			if c.Count == 2 {
				name = "two " + name + "s in the hand"
			}
			with = append(with, name)
		}
		parts[0] += ", with " + strings.Join(with, " or ")
	}
	if w.Rolls {
		roll := "rolls"
		if w.RollsFor > 0 {
			roll += fmt.Sprintf(" for up to %g s", w.RollsFor)
		}
		parts = append(parts, roll)
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

// DescribeImplement says in words what an implement is and what it plays.
func (cat *Catalogue) DescribeImplement(im *Implement) string {
	out := &strings.Builder{}
	fmt.Fprintf(out, "%s: %s", im.ID, im.Called)
	if len(im.Abbrevs) > 0 {
		fmt.Fprintf(out, " (%s)", strings.Join(im.Abbrevs, ", "))
	}
	fmt.Fprintln(out)
	if len(im.Also) > 0 {
		field(out, "also", strings.Join(im.Also, ", "))
	}
	fmt.Fprintf(out, "  weighs    %s\n", [...]string{"nothing", "light", "medium", "heavy"}[im.Weight])
	if im.Length > 0 {
		fmt.Fprintf(out, "  length    %g cm\n", im.Length)
	}
	fmt.Fprintf(out, "  handling  %s\n", handlingWords(im.Handling, im.Noise))
	var plays []string
	for _, in := range cat.Instruments() {
		if slices.ContainsFunc(in.Ways, func(w *Way) bool {
			return slices.ContainsFunc(w.With, func(c Choice) bool { return c.Implement == im.ID })
		}) {
			plays = append(plays, in.Name())
		}
	}
	field(out, "plays", strings.Join(plays, ", "))
	return out.String()
}

// field writes a text behind its word, wrapped.
func field(out *strings.Builder, word, text string) {
	for _, line := range words.Wrap(text, 84) {
		fmt.Fprintf(out, "  %-9s %s\n", word, line)
		word = ""
	}
}
