package syntax_test

import (
	"fmt"
	"math/bits"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/syntax"
)

func TestWhatMayStandNext(t *testing.T) {
	for _, c := range []struct {
		line string
		in   syntax.Block
		want string // words, and <roles>
	}{
		{"accept", syntax.InHead, "<rule>"},
		{"accept short-change at 3", syntax.InHead, "in for because"},
		{"omit woodblock in 3", syntax.InHead, "<place> of because"},
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
		{"R triangle with beater", syntax.InPlayer, "and held on-stand padded clipped clamped hung floor on-body shaken in-one-hand two-in-one-hand by-foot <way> for as-written"},
		{"R triangle with beater held shaken for snare-drum", syntax.InPlayer, "in-one-hand two-in-one-hand by-foot <way> as-written"},
		{`R triangle "palm" with beater held`, syntax.InPlayer, "shaken in-one-hand two-in-one-hand by-foot for as-written"},
		{"R triangle as written on 1 3", syntax.InPlayer, "<count> in of"},
		{"R triangle as written of \"Bells\" in 3", syntax.InPlayer, "<place> on"},
		{"accept short-change at 3 for Nell", syntax.InHead, "in because"},
		{"omit woodblock in 3 of \"Bells\"", syntax.InHead, "because"},
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
	draws.Check(t, func(t *rapid.T) {
		s := pool.draw(t)
		if _, all := syntax.PrintedAll(s); all {
			checkNext(t, s)
		}
	})
}

// saysTwice says whether a line is told that what begins at a byte of it stands
// there a second time.
func saysTwice(line string, at int) bool {
	return slices.ContainsFunc(syntax.ParseLine(line).Problems, func(p syntax.Problem) bool {
		return p.Template == syntax.SaidTwiceInLine && p.Span.Start == at
	})
}

// again puts words of a line behind it a second time, any three at most. What is
// offered there says nothing twice. It counts what can stand there and what
// would be said twice.
func again(t interface {
	Helper()
	Fatalf(string, ...any)
}, s syntax.Stmt) (offered, twice int) {
	t.Helper()
	line := syntax.Print(s)
	l := syntax.ParseLine(line)
	if l.Bars != nil {
		line = strings.TrimRight(line[:l.Bars.Span.Start], " ")
	}
	list := syntax.Next(line, syntax.Block(1)<<bits.TrailingZeros8(uint8(l.Form.In)))
	starts := append(words(line), len(line)+1)
	for i := 1; i < len(starts); i++ {
		for _, to := range starts[i+1 : min(i+4, len(starts))] {
			clause := line[starts[i] : to-1]
			mount := strings.HasPrefix(clause, "on stand") || strings.HasPrefix(clause, "on body") // and no counts
			next := slices.IndexFunc(list, func(e syntax.Expected) bool {
				return e.Words != "" && strings.HasPrefix(clause+" ", e.Words+" ") && !(mount && e.Words == "on") || e.Quoted && clause[0] == '"'
			})
			switch again := saysTwice(line+" "+clause, len(line)+1); {
			case again && next >= 0:
				t.Fatalf("%s %s\n%+v is offered, and is there already", line, clause, list[next])
			case again:
				twice++
			case next >= 0:
				offered++
			}
		}
	}
	return offered, twice
}

// What a line has once is not offered behind it again. That nothing else is
// withheld, TestWhatStandsThereMayStandThere asks.
func TestNoClauseIsOfferedTwice(t *testing.T) {
	offered, twice, met := 0, 0, map[string]bool{}
	list := statements(t)
	for _, s := range list {
		if line, _, _ := strings.Cut(syntax.Print(s), "|"); !met[line] {
			met[line] = true
			o, n := again(t, s)
			offered, twice = offered+o, twice+n
		}
	}
	assert.Greater(t, twice, 100, "hardly anything was said twice")
	assert.Greater(t, offered, 100, "hardly anything was offered")
	pool := poolOf(list)
	draws.Check(t, func(t *rapid.T) {
		s := pool.draw(t)
		if _, all := syntax.PrintedAll(s); all {
			again(t, s)
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
