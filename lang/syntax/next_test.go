package syntax_test

import (
	"fmt"
	"math/bits"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/handful/lang/syntax"
)

func TestWhatMayStandNext(t *testing.T) {
	for _, c := range []struct {
		line string
		in   syntax.Block
		want string // words, and <roles>
	}{
		{"accept", syntax.InHead, "<rule>"},
		{"accept short-change at 3", syntax.InHead, "at in for because"},
		{"omit woodblock in 3", syntax.InHead, "<place> in of because"},
		{"tempo 96 to 80", syntax.InHead, "over"},
		{"mark", syntax.InHead, ""}, // a new name
		{"use", syntax.InHead, "<file>"},
		{"R", syntax.InPlayer, "holds takes lays forearm-damps knee-damps damps turns-page-at <instrument>"},
		{"R triangle on", syntax.InPlayer, "stand body"},
		{"R triangle held with 2", syntax.InPlayer, "butt-of <implement>"},
		{"R triangle as", syntax.InPlayer, "written"},
		{"R triangle as written", syntax.InPlayer, "on in of"},
		{"R takes snare-stick", syntax.InPlayer, "and at"},
		{"rolls one-handed", syntax.InPlayer, "<word>"},
		{"profile student", syntax.InPlayer, "reach fastest margin"},
		{"from 3 on", syntax.InPlayer, "pass"},
		{"stops by hand or", syntax.InInstrument, "hand fingers forearm body knee pedal holding-hand itself"},
		{"drum is", syntax.InKit, "<kind>"},
		{"2 drum, 1", syntax.InGear, "<thing>"},
		{"way held takes", syntax.InInstrument, "<number> mouth"},
		{"R triangle | 1", syntax.InPlayer, ""},
		{"  # nothing", syntax.InPlayer, ""},
	} {
		var got []string
		for _, e := range syntax.Next(c.line, c.in) {
			if e.Words != "" {
				got = append(got, strings.ReplaceAll(e.Words, " ", "-"))
			} else {
				got = append(got, fmt.Sprintf("<%s>", e.Role))
			}
		}
		assert.Equal(t, c.want, strings.Join(got, " "), c.line)
	}
}

// words are where the words of a line begin; a text in quotes is one.
func words(line string) (starts []int) {
	quoted := false
	for i := range len(line) {
		if !quoted && line[i] != ' ' && (i == 0 || line[i-1] == ' ') {
			starts = append(starts, i)
		}
		if line[i] == '"' && line[max(0, i-1)] != '\\' {
			quoted = !quoted
		}
	}
	return starts
}

// offers says whether something that may come is what stands at a byte of a line.
func offers(list []syntax.Expected, line string, at int, leaf syntax.Leaf) bool {
	return slices.ContainsFunc(list, func(e syntax.Expected) bool {
		if e.Words == "" {
			return leaf.Role == e.Role
		}
		return strings.HasPrefix(line[at:]+" ", e.Words+" ")
	})
}

// Before every word of a statement, that word is among what may come.
func checkNext(t interface {
	Helper()
	Fatalf(string, ...any)
}, s syntax.Stmt) {
	t.Helper()
	line := syntax.Print(s)
	l := syntax.ParseLine(line)
	in := syntax.Block(1) << bits.TrailingZeros8(uint8(l.Form.In))
	if _, ok := s.(*syntax.Item); ok {
		in = syntax.InKit // in a part only bars follow
	}
	leaves := map[int]syntax.Leaf{}
	syntax.Leaves(l.Stmt, func(leaf syntax.Leaf) { leaves[leaf.Start] = leaf })
	valueEnd := 0
	for _, at := range words(line)[1:] {
		if l.Bars != nil && at >= l.Bars.Span.Start {
			return
		}
		if at < valueEnd {
			continue // on stand is one value, and butt of one word
		}
		valueEnd = leaves[at].End
		if leaf := leaves[at]; leaf.Defines {
			continue
		} else if list := syntax.Next(line[:at-1], in); !offers(list, line, at, leaf) {
			t.Fatalf("%s\nbehind %q: %q (%s) is not among %+v", line, line[:at-1], line[at:], leaf.Role, list)
		}
	}
}

func TestWhatStandsThereMayStandThere(t *testing.T) {
	list := statements(t)
	for _, s := range list {
		checkNext(t, s)
	}
	pool := poolOf(list)
	rapid.Check(t, func(t *rapid.T) {
		s := pool.draw(t)
		if _, all := syntax.PrintedAll(s); all {
			checkNext(t, s)
		}
	})
}

// A long line takes no longer than its words, and nothing makes it fail.
func TestNextOfALongLine(t *testing.T) {
	for _, word := range []string{" and x", " with x", " 3", " in", ", x", ` "`, " on"} {
		for _, first := range []string{"R a as written in 3", "R holds x", "omit x in 3", "likes x", "way held takes 1 hand needs x", "order 1-2"} {
			syntax.Next(first+strings.Repeat(word, 150), syntax.InPlayer)
		}
	}
}
