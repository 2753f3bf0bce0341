package sheet

import (
	"slices"
	"strings"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/pdf"
)

// A way of playing that is not the usual one, with how it is done.
type unusual struct {
	names []string // what is played so
	lines []string
}

// unusualWays are the ways of playing that a player has here and that need
// telling, in the order of their first use; what is done alike stands
// together.
func (v *part) unusualWays() []unusual {
	var out []unusual
	for i := range v.m.Chosen {
		ch := &v.m.Chosen[i]
		if ch.Way == nil || ch.Cue == nil || ch.Cue.Item == nil {
			continue
		}
		in := ch.Cue.Item.Inst
		if len(in.Ways) == 0 || ch.Way == in.Usual() {
			continue // nobody has to be told the usual way
		}
		lines := in.How(ch.Way)
		if len(lines) == 0 {
			continue
		}
		k := slices.IndexFunc(out, func(u unusual) bool { return slices.Equal(u.lines, lines) })
		if k < 0 {
			k = len(out)
			out = append(out, unusual{lines: lines})
		}
		if name := ch.Cue.Item.Called() + ", " + v.wayWords(ch); !slices.Contains(out[k].names, name) {
			out[k].names = append(out[k].names, name)
		}
	}
	return out
}

// wayWords tells a way of playing from the others of its instrument.
func (v *part) wayWords(ch *motion.Chosen) string {
	w := ch.Way
	list := []string{w.Mount.String()}
	switch {
	case w.Limb == kit.Foot:
		list = append(list, "by foot")
	case w.Limb == kit.Mouth:
		list = append(list, "by mouth")
	case w.Hands == 1:
		list = append(list, "with one hand")
	default:
		list = append(list, "with both hands")
	}
	if im := v.Catalogue.Implement(ch.Choice.Implement); im != nil {
		if ch.Choice.Count == 2 {
			list = append(list, "two "+im.Name()+"s in the hand")
		} else {
			list = append(list, im.Name())
		}
	}
	if w.Shaken {
		list = append(list, "shaken")
	}
	if ch.Rolled {
		list = append(list, "rolled")
	}
	if w.Named != "" {
		list = append(list, w.Named)
	}
	return strings.Join(list, ", ")
}

// howLines sets how everything is done that is not played in its usual way,
// cautions in bold.
func (v *part) howLines(fl *flow) {
	list := v.unusualWays()
	if len(list) == 0 {
		return
	}
	for i, u := range list {
		head := fl.d.f.wrap(capital(strings.Join(u.names, "; ")), paraSize, true, fl.room())
		h := float64(len(head)+len(fl.howWraps(u.lines[0])))*paraLead + 8 // no head stands alone
		if i == 0 {
			fl.need(h + 25)
			fl.heading("How it is done")
		}
		fl.need(h)
		fl.y += 4
		end := fl.d.under(pdf.Paragraph)
		for _, line := range head {
			fl.y += paraLead
			fl.d.words(margin0, fl.y, line, paraSize, true, black)
		}
		end()
		fl.d.sayHeading(strings.Join(head, " "))
		for _, line := range u.lines {
			fl.need(float64(len(fl.howWraps(line)))*paraLead + 2) // and no line goes over to another page
			fl.indented(line, howIndent, isCaution(line))
		}
	}
}

const howIndent = 12.0

// howWraps is a line as it is set.
func (fl *flow) howWraps(line string) []string {
	return fl.d.f.wrap(line, paraSize, isCaution(line), fl.room()-howIndent)
}

func isCaution(line string) bool { return strings.HasPrefix(line, "!") }
