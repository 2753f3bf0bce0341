package plan

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// One more way of playing never makes a plan lose more: what is strapped to a foot, what may
// stand in, what is at the edge, both, and hardware beyond the usual.
func TestOneMoreWayNeverLosesMore(t *testing.T) {
	fewer := 0
	madeup.Try(t, 20, func(r *rapid.T) {
		text := madeup.Parts(r, 4, 5)
		players := rapid.IntRange(1, 2).Draw(r, "players")
		lost := func(opt Options) float64 {
			opt.Players = players
			p, err := File(context.Background(), "x.handful", syntax.Parse(text), opt)
			if err != nil && (strings.HasPrefix(err.Error(), "nobody in this cast can play") || strings.HasPrefix(err.Error(), "no plan was found in which anybody plays anything")) {
				return 1e9
			}
			require.NoError(r, err)
			return p.Value
		}
		plain := lost(Options{})
		require.LessOrEqual(r, plain, lost(Options{less: asFixed})+1e-9, "with what is strapped to a foot, %d players\n%s", players, text)
		for name, opt := range map[string]Options{"stand-ins": {StandIns: true}, "the edge": {AtTheEdge: true}, "stand-ins at the edge": {StandIns: true, AtTheEdge: true}, "hardware": {hardware: true}} {
			more := lost(opt)
			require.LessOrEqual(r, more, plain+1e-9, "with %s, %d players\n%s", name, players, text)
			if more < plain-1e-9 {
				fewer++
			}
		}
	})
	t.Log(fewer, "times less was lost")
}

// A bar of a line of a tiny piece, as a search through all plans sees it.
type tinyBar struct {
	bar     int
	strokes int
	line    string
	cues    []howPlayed
}

// tiny looks through every plan for one player that loses less than so many strokes: every
// bar of every line left out, or played by every limb in every way that needs no hardware
// beyond the usual. It asks nothing but the check. A plan of which a part is refused is gone
// on with no further: no cue mends what another one does wrong.
type tiny struct {
	text  string
	bars  []tinyBar
	most  int // strokes that may be lost
	asked int
	two   map[[2]string]bool   // cues of which it is known whether they go together
	fixed map[string]kit.Mount // how each thing is fixed, which stays so
}

// mostAsked is after how many questions a piece is let go of.
const mostAsked = 15_000

func (s *tiny) find(at, lost int, cues []string) string {
	if s.asked > mostAsked {
		return ""
	}
	if at == len(s.bars) {
		return strings.Join(cues, "\n")
	}
	line := s.bars[at].line
	for _, how := range s.bars[at].cues {
		was, ok := s.fixed[line]
		if ok && how.mount != kit.Held && how.mount != was {
			continue
		}
		if how.mount != kit.Held && !ok {
			s.fixed[line] = how.mount
		}
		found := ""
		if now := append(cues[:len(cues):len(cues)], how.cue); s.goes(now) {
			found = s.find(at+1, lost, now)
		}
		if !ok {
			delete(s.fixed, line)
		}
		if found != "" {
			return found
		}
	}
	if lost+s.bars[at].strokes <= s.most {
		return s.find(at+1, lost+s.bars[at].strokes, cues)
	}
	return ""
}

// goes says whether a check lets cues be; of those before the last it has.
func (s *tiny) goes(cues []string) bool {
	last := cues[len(cues)-1]
	for _, cue := range cues[:len(cues)-1] {
		two := [2]string{cue, last}
		if _, ok := s.two[two]; !ok {
			s.two[two] = s.ask(two[:])
		}
		if !s.two[two] {
			return false
		}
	}
	return s.ask(cues)
}

func (s *tiny) ask(cues []string) bool {
	s.asked++
	r := check.Check("x.handful", syntax.Parse(s.text+"player Ida\n"+strings.Join(cues, "\n")+"\n"), check.Options{})
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Severity == check.Error && f.Rule.Name != check.RuleUncovered || f.Severity == check.Warning && f.Timed && f.Window < f.Need.Floor-1e-6 {
			return false
		}
	}
	return true
}

func tinyOf(r *check.Result, text string) *tiny {
	s := &tiny{text: text, fixed: map[string]kit.Mount{}, two: map[[2]string]bool{}}
	for _, part := range r.Score.Parts {
		for _, l := range part.Lines {
			in := map[int]int{}
			for i := range l.Strokes {
				if l.Strokes[i].Sounds() {
					in[int(l.Strokes[i].Bar)]++
				}
			}
			for bar := 1; bar <= 2; bar++ {
				if in[bar] == 0 {
					continue
				}
				b := tinyBar{bar: bar, strokes: in[bar], line: l.Name}
				for _, how := range cuesFor(l.Inst, l.Name) {
					how.cue = fmt.Sprintf("  %s as written in %d of %q", how.cue, bar, part.Name)
					b.cues = append(b.cues, how)
				}
				s.bars = append(s.bars, b)
			}
		}
	}
	slices.SortStableFunc(s.bars, func(a, b tinyBar) int { return cmp.Compare(a.bar, b.bar) })
	return s
}

// Of tiny pieces a plan for one loses no more than the best there is, found by looking
// through all of them.
func TestAPlanOfATinyPieceLosesTheLeast(t *testing.T) {
	losing, whole, asked := 0, 0, 0
	madeup.Try(t, 20, func(r *rapid.T) {
		text := madeup.Parts(r, 3, 2)
		usual := DefaultWeights()
		usual.Exposed, usual.Driving, usual.Climax, usual.Doubled = 1, 1, 1, 1 // so that every stroke is one
		p, err := File(context.Background(), "x.handful", syntax.Parse(text), Options{Players: 1, Weights: &usual})
		require.NoError(r, err)
		clean(r, p)
		lost := p.Result.Score.Coverage.Omitted
		if lost == 0 {
			return
		}
		losing++
		s := tinyOf(check.Check("x.handful", syntax.Parse(text), check.Options{}), text)
		s.most = lost - 1
		found := s.find(0, 0, nil)
		asked += s.asked
		if s.asked <= mostAsked {
			whole++
		}
		assert.Empty(r, found, "a plan loses %d of this, and less can be lost:\n%s\n%s", lost, text, p.Text)
	})
	t.Logf("%d pieces in which something is lost, %d of them looked through to the end, %d questions", losing, whole, asked)
	if testing.Short() {
		return // of a few pieces it may be none
	}
	require.Positive(t, whole)
}
