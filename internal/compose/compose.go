// Package compose makes .handful texts up for tests: statements of every kind
// in every order, lines twice, clauses twice, blocks mixed, comments and blanks
// anywhere. What comes out is text that somebody could have typed, right and
// wrong alike; about half of it is a piece that makes sense.
//
// Whatever is random comes from a [Source], so that a seed, the bytes of a fuzz
// target or a property test's own draws can drive it.
package compose

import (
	"fmt"
	"strings"

	"example.org/handful/lang/syntax"
)

// A Source makes the choices: a number from 0 up to, but not including, n.
// The generators of math/rand/v2 are sources.
type Source interface{ IntN(n int) int }

// Bytes is a source that reads its choices off bytes, for fuzz targets; when
// they are used up it answers with small numbers that change.
func Bytes(data []byte) Source { return &bytesSource{data: data} }

type bytesSource struct {
	data []byte
	at   int
	more uint32
}

func (s *bytesSource) IntN(n int) int {
	if n <= 1 {
		return 0
	}
	v := 0
	for range 1 + min(n/256, 1) {
		b := 0
		if s.at < len(s.data) {
			b = int(s.data[s.at])
		} else {
			s.more = s.more*1664525 + 1013904223
			b = int(s.more >> 24)
		}
		s.at++
		v = v<<8 | b
	}
	return v % n
}

// Text makes a whole file up.
func Text(s Source) string {
	c := &composer{Source: s}
	switch c.IntN(4) {
	case 0:
		c.mixture(1 + c.IntN(24))
	case 1:
		c.piece()
		c.mixture(1 + c.IntN(6))
	default:
		c.piece()
	}
	for range c.IntN(3) {
		c.disturb()
	}
	end := "\n"
	if c.one(12) {
		end = "\r\n"
	}
	return strings.Join(c.lines, end) + end
}

// Planned makes a piece up whose written parts are right, whatever its players'
// blocks say.
func Planned(s Source) string {
	c := &composer{Source: s}
	c.put(`title "Tide Table"`)
	c.put(c.of("tempo 60", "tempo 96", "tempo 40"))
	c.put("mark A at 5")
	for i := range 1 + c.IntN(3) {
		c.put(fmt.Sprintf("part \"P%d\"", i+1))
		c.put("  " + c.of("snare-drum", "woodblock", "triangle", "tambourine", "suspended-cymbal") + " " + c.rightBars(2+c.IntN(6)))
		if c.one(3) {
			c.put("  " + c.of("claves", "cowbell", "bass-drum") + " " + c.rightBars(2+c.IntN(6)))
		}
	}
	for i := range 1 + c.IntN(3) {
		c.put("player " + []string{"Ida", "Nell", `"Jo B"`}[i])
		if c.one(2) {
			c.put("  " + c.of("profile student", `note "bring pads"`, `cue "trumpet" at 2`, "R holds snare-stick", "L holds yarn-mallet"))
		}
		if c.one(3) {
			c.put("  kit")
			c.put("    woodblock clamped at left 30 ahead 40")
		}
		for range c.IntN(4) {
			c.put("  " + c.of("R", "L", "RL") + " " + c.of("snare-drum", "woodblock", "triangle", "tambourine") + " as written" + c.of("", "", " in 1-2"))
		}
		for range c.IntN(3) {
			c.put("  " + c.of("R takes yarn-mallet at 2.1", "L lays it at 2.3", "L damps triangle at 3.1", "any turns page at 2.4", "from 2 on pass 1", "R turns page at 1.3"))
		}
	}
	return strings.Join(c.lines, "\n") + "\n"
}

func (c *composer) rightBars(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString("| ")
		if i > 0 && c.one(3) {
			b.WriteString(c.of("%", "-") + " ")
			continue
		}
		b.WriteString(c.of("mf 1 3", "1 2 3 4", "f 1~3", "1 2& 4", "'2 4", "1. 3>", `"soft" 1`, "p cresc 1 2 3 4") + " ")
	}
	return strings.TrimRight(b.String(), " ")
}

// Line makes one line up that belongs in a block, from the table of forms.
func Line(s Source, in syntax.Block) string { return (&composer{Source: s}).line(in) }

// Bars makes a bar list up, with its first bar line.
func Bars(s Source) string { return (&composer{Source: s}).bars(1 + s.IntN(5)) }

type composer struct {
	Source
	lines []string
}

// one is true once in n times.
func (c *composer) one(n int) bool { return c.IntN(n) == 0 }

func (c *composer) of(words ...string) string { return words[c.IntN(len(words))] }

func (c *composer) put(text string) {
	if c.one(14) {
		text += "  # " + c.of("ask her first", "watch", "| not bars |", `"`, "\\", "é", "a # b")
	}
	if c.one(25) {
		c.lines = append(c.lines, c.of("", "  # a comment alone", "\t", "#"))
	}
	c.lines = append(c.lines, text)
}

// piece is a piece that makes sense as far as chance allows.
func (c *composer) piece() {
	c.put(`title "` + c.of("Ferry Landing", "Tide Table", `Three "Bells"`, `C:\\new`, "Überfahrt") + `"`)
	c.put(c.of("meter 4/4", "meter 3/4", "meter 6/8 in 2", "meter 7/8 in 2+2+3", "meter 4/4"))
	c.put(c.of("tempo 96", "tempo 60", "tempo 1/4 = 120", "tempo 30"))
	c.put("bars 16")
	c.put("mark A at " + c.of("5", "8", "9"))
	for range c.IntN(4) {
		c.put(c.line(syntax.InHead))
	}
	if c.one(4) {
		c.put("gear")
		for range 1 + c.IntN(3) {
			c.put("  " + c.amounts())
		}
	}
	for i := range 1 + c.IntN(3) {
		c.put(fmt.Sprintf("part %q", "P"+fmt.Sprint(i+1)))
		for range 1 + c.IntN(3) {
			c.put("  " + c.instrument() + " " + c.bars(1+c.IntN(4)))
		}
		if c.one(3) {
			c.put("  from " + c.of("A", "9", "5", "A+2"))
			c.put("  " + c.instrument() + " " + c.bars(1+c.IntN(4)))
		}
	}
	for i := range 1 + c.IntN(3) {
		c.put("player " + []string{"Ida", "Nell", `"Jo B"`}[i])
		for range c.IntN(3) {
			c.put("  " + c.line(syntax.InPlayer))
		}
		if c.one(2) {
			c.put("  kit")
			for range c.IntN(4) {
				c.put("    " + c.line(syntax.InKit))
			}
		}
		for range c.IntN(5) {
			c.put("  " + c.cue())
		}
	}
}

// mixture is lines of any block in any order.
func (c *composer) mixture(n int) {
	blocks := []syntax.Block{syntax.InHead, syntax.InPart, syntax.InPlayer, syntax.InKit, syntax.InInstrument, syntax.InImplement, syntax.InGear}
	for range n {
		c.put(strings.Repeat(" ", c.IntN(5)) + c.line(blocks[c.IntN(len(blocks))]))
	}
}

// disturb does to a line what hands and files do to lines.
func (c *composer) disturb() {
	if len(c.lines) == 0 {
		return
	}
	i := c.IntN(len(c.lines))
	l := c.lines[i]
	words := strings.Split(l, " ")
	k := c.IntN(len(words))
	switch c.IntN(10) {
	case 0, 1, 2: // the same line again, below or anywhere
		at := i
		if c.one(2) {
			at = c.IntN(len(c.lines) + 1)
		}
		c.lines = append(c.lines[:at], append([]string{l}, c.lines[at:]...)...)
	case 3: // a line elsewhere
		at := c.IntN(len(c.lines))
		c.lines[i], c.lines[at] = c.lines[at], l
	case 4: // words twice
		end := min(len(words), k+1+c.IntN(2))
		c.lines[i] = strings.Join(append(append(append([]string{}, words[:end]...), words[k:end]...), words[end:]...), " ")
	case 5: // a word gone
		c.lines[i] = strings.Join(append(append([]string{}, words[:k]...), words[k+1:]...), " ")
	case 6: // half a line, as while typing
		c.lines[i] = l[:len(l)*c.IntN(10)/10]
	case 7: // blanks
		c.lines[i] = strings.Replace(l, " ", c.of("  ", "\t", "   "), 1+c.IntN(3))
	case 8: // another block's word before it
		c.lines[i] = c.of("kit", "player Ida", `part "P1"`, "from 5", "R", "instrument x", "cue", "note") + " " + strings.TrimSpace(l)
	case 9: // a clause of another statement behind it
		c.lines[i] = l + " " + c.clause()
	}
}

func (c *composer) clause() string {
	return c.of("with "+c.implement(), "with 2 "+c.implement(), "for "+c.instrument(), "in "+c.span(), "at "+c.place(), `of "P1"`, "on 1 3", "as written",
		"from "+c.place(), c.mount(), c.asked(), `because "why"`, "is woodblock", "at right 20 ahead 40", "on pass 2", "x3", "for Ida", "over "+c.span(), c.bars(1))
}

// line is a line of a block: a form of the table, or an instrument's or a limb's line.
func (c *composer) line(in syntax.Block) string {
	switch {
	case in&syntax.InPart != 0 && !c.one(4):
		return c.instrument() + " " + c.bars(1+c.IntN(5))
	case in&syntax.InPlayer != 0 && !c.one(3):
		return c.cue()
	case in&syntax.InKit != 0 && !c.one(4):
		return c.item()
	case in&syntax.InGear != 0:
		return c.amounts()
	}
	var forms []*syntax.Form
	for _, f := range syntax.Forms() {
		if f.In&in != 0 && f.Opens == 0 || c.one(40) {
			forms = append(forms, f)
		}
	}
	if len(forms) == 0 {
		return "kit"
	}
	return c.vary(forms[c.IntN(len(forms))])
}

// vary is a form's sample with other numbers, places and names in it, and now
// and then another clause.
func (c *composer) vary(f *syntax.Form) string {
	words := strings.Split(f.Sample, " ")
	for i, w := range words {
		if i == 0 || w == "" || !c.one(2) {
			continue
		}
		first := w[0]
		switch {
		case strings.Contains(w, `"`):
		case first >= '0' && first <= '9' && strings.Contains(w, "-"):
			words[i] = c.span()
		case first >= '0' && first <= '9' && strings.Contains(w, "."):
			words[i] = c.place()
		case first >= '0' && first <= '9' && !strings.ContainsAny(w, "/+,"):
			words[i] = fmt.Sprint(1 + c.IntN(20))
		case w == "snare-drum" || w == "woodblock":
			words[i] = c.instrument()
		}
	}
	text := strings.Join(words, " ")
	if c.one(12) {
		text += " " + c.clause()
	}
	return text
}

func (c *composer) instrument() string {
	return c.of("snare-drum", "woodblock", "triangle", "suspended-cymbal", "tambourine", "bass-drum", "sleigh-bells", "timpani", "glockenspiel", "tam-tam",
		"snare drum", "wood block", "S.D.", "nonesuch")
}

// amounts is a line of a gear block.
func (c *composer) amounts() string {
	var out []string
	for range 1 + c.IntN(3) {
		text := fmt.Sprint(c.IntN(5)) + " " + c.of(c.instrument(), c.implement(), "clamp", "stand", "table", "cord")
		if c.one(3) {
			text += c.of(` "the hall's"`, ` "ours"`, ` ""`)
		}
		out = append(out, text)
	}
	return strings.Join(out, c.of(", ", ",", " "))
}

func (c *composer) implement() string {
	return c.of("snare-stick", "yarn-mallet", "rubber-mallet", "triangle-beater", "fingers", "yarn-mallets", "yarn mallets", "sticks", "nonesuch", "butt of snare-stick", "butt of triangle-beater")
}

func (c *composer) asked() string {
	return c.of("shaken", "in one hand", "one-handed", "two in one hand", "by foot", `"on the thigh"`, `"struck"`, `"no \"such\" way"`)
}

// beside is a second thing in the hand, now and then.
func (c *composer) beside() string {
	if c.one(6) {
		return " and " + c.implement()
	}
	return ""
}

func (c *composer) mount() string {
	return c.of("held", "on stand", "padded", "clipped", "clamped", "hung", "floor", "on body")
}

func (c *composer) limb() string {
	return c.of("R", "L", "R", "L", "RL", "LR", "R+L", "L+R", "RF", "LF", "mouth", "any", "RH", "LH")
}

func (c *composer) place() string {
	return c.of("1", "4", "9", "12.3", "2.2&", "A", "A+2", "A+1.3", "16.4", "99", "B")
}

func (c *composer) span() string {
	return c.of("1", "1-4", "5-8", "9-16", "A-12", "A", "8-5", "1-4, 9-12")
}

func (c *composer) item() string {
	text := c.instrument()
	if c.one(5) {
		text = c.of("high-block", "low block", "spare") + " is " + text
	}
	if c.one(2) {
		text += " " + c.mount()
	}
	if !c.one(3) {
		text += " at " + c.of("right", "left") + fmt.Sprintf(" %d ahead %d", 5*c.IntN(20), 5*c.IntN(16))
	}
	if c.one(9) {
		text = c.of("table at right 20 ahead 40", "station timps at right 180 behind 40", "table at timps right 10")
	}
	return text
}

// cue is one limb's line.
func (c *composer) cue() string {
	limb := c.limb()
	switch c.IntN(12) {
	case 0:
		return c.of("R", "L") + " holds " + c.implement() + c.beside()
	case 1:
		return c.of("R", "L") + " takes " + c.implement() + c.beside() + " at " + c.place()
	case 2:
		return c.of("R", "L") + " lays " + c.of("it", c.implement()) + " at " + c.place()
	case 3:
		return c.of("R damps ", "L forearm damps ", "L damps ") + c.instrument() + " at " + c.place()
	case 4:
		return c.of("R", "L", "any") + " turns page at " + c.place()
	case 5:
		return "from " + c.of("A", "5", "9", "A+4 on pass 2", "1")
	case 6:
		return c.bars(1 + c.IntN(3))
	}
	text := limb + " " + c.instrument()
	clauses := []string{c.mount(), "with " + c.implement() + c.beside(), "for " + c.instrument(), c.asked()}
	for range c.IntN(3) {
		text += " " + clauses[c.IntN(len(clauses))]
	}
	if c.one(3) {
		return text + " " + c.bars(1+c.IntN(4))
	}
	text += " as written"
	for range c.IntN(4) {
		text += " " + c.of("on 1 3", "on 2&", "in "+c.span(), `of "P1"`, `of "P2"`)
	}
	return text
}

// bars is a bar list of n cells.
func (c *composer) bars(n int) string {
	var b strings.Builder
	for range n {
		b.WriteString("| ")
		b.WriteString(c.cell())
		b.WriteByte(' ')
	}
	if c.one(3) {
		b.WriteByte('|')
	}
	return strings.TrimRight(b.String(), " ")
}

func (c *composer) cell() string {
	switch c.IntN(8) {
	case 0:
		return c.of("-", "-2", "- 3", "-8")
	case 1:
		return c.of("%", "% x2", "%2", "%2 x2")
	}
	var signs []string
	for count := 1; count <= 4; count++ {
		if c.one(3) {
			continue
		}
		if c.one(6) {
			signs = append(signs, c.of("p", "mf", "f", "ff", "cresc", "dim", "sfz", "fp", `"soft"`, `"a \"b\" c"`, `"C:\\x"`, "cresc.", "sfp", "rfz"))
		}
		n := fmt.Sprint(count)
		signs = append(signs, c.of(n, n, n, n+" "+n+"&", n+".", n+">", "'"+n, "''"+n, n+"R", n+"L>", n+"x", n+"~"+n+"&", n+"e&a", n+"t "+n+"l", n+"+2/5", n+"+1/2"))
	}
	switch c.IntN(10) {
	case 0:
		signs = append(signs, "4~")
	case 1:
		signs = append([]string{c.of("~", "~1", "~2&.")}, signs...)
	case 2:
		signs = append(signs, c.of("foo", "9", "1q", "", "&", "'", "2+3/2"))
	}
	if len(signs) == 0 {
		return "-"
	}
	return strings.Join(signs, " ")
}
