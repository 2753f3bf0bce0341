package syntax_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

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
		{"profile student", syntax.InPlayer, ""},
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

// A long line takes no longer than its words, and nothing makes it fail.
func TestNextOfALongLine(t *testing.T) {
	for _, word := range []string{" and x", " with x", " 3", " in", ", x", ` "`, " on"} {
		for _, first := range []string{"R a as written in 3", "R holds x", "omit x in 3", "likes x", "way held takes 1 hand needs x", "order 1-2"} {
			syntax.Next(first+strings.Repeat(word, 150), syntax.InPlayer)
		}
	}
}
