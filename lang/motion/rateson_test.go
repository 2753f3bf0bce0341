package motion

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// longPart is a part of many bars of which no stroke is far from being too quick, for limbs with a few
// things each.
func longPart(rnd *rand.Rand, bars int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "tempo %d\nplayer Ida\n  kit\n    snare-drum at left 10 ahead 40\n    tom-toms:low at right 20 ahead 40\n    cowbell clamped at left 20 ahead 50\n    woodblock clamped at right 30 ahead 50\n", 60+20*rnd.IntN(8))
	things := [...]string{"snare-drum with snare-stick", "snare-drum with snare-stick", "cowbell with snare-stick", "woodblock with snare-stick", "snare-drum with snare-stick"}
	limbs := [][]string{{"R", "L"}, {"RL"}, {"R", "L", "RF"}, {"R", "L", "RF", "LF"}, {"RL", "RF", "LF"}}[rnd.IntN(5)]
	if rnd.IntN(8) == 0 {
		b.WriteString("  R holds egg-shaker\n")
		things, limbs = [...]string{"egg-shaker", "woodblock with snare-stick", "egg-shaker", "cowbell with snare-stick", "egg-shaker"}, []string{"R", "R"}
	}
	longest := []int{2, 12}[rnd.IntN(2)]
	for bar := 1; bar <= bars; {
		n := min(1+rnd.IntN(longest), bars-bar+1)
		fmt.Fprintf(&b, "  from %d\n", bar)
		for _, limb := range limbs {
			thing := "bass-drum-pedal"
			if !strings.HasSuffix(limb, "F") {
				thing = things[rnd.IntN(len(things))]
			}
			fmt.Fprintf(&b, "  %s %s", limb, thing)
			for range n {
				b.WriteString(" |" + quickBar(rnd))
			}
			b.WriteString("\n")
		}
		bar += n
	}
	return b.String()
}

// quickBar is a bar of strokes at some of its sixteenths, of one kind or at random.
func quickBar(rnd *rand.Rand) string {
	letters := [...]string{"", "e", "&", "a"}
	kind, some := rnd.IntN(8), ""
	for n := range 16 {
		var on bool
		switch kind {
		case 0:
			on = n%2 == 0
		case 1:
			on = n%4 == 0
		case 2:
			on = n%4 < 2
		case 3:
			on = true
		case 4:
			on = n%8 < 3
		case 5:
			on = n == 0
		default:
			on = rnd.IntN(2) == 0
		}
		if on {
			grace := ""
			if rnd.IntN(40) == 0 {
				grace = "'"
			}
			some += fmt.Sprintf(" %s%d%s", grace, 1+n/4, letters[n%4])
		}
	}
	switch rnd.IntN(24) {
	case 0:
		some = " 1~2"
	case 1, 2:
		some = ""
	}
	if some == "" {
		return " -"
	}
	return some
}

// otherBar writes something else into a bar.
func otherBar(rnd *rand.Rand, text string) string {
	lines := strings.Split(text, "\n")
	var may []int
	for i, l := range lines {
		if strings.Contains(l, "|") {
			may = append(may, i)
		}
	}
	i := may[rnd.IntN(len(may))]
	bars := strings.Split(lines[i], "|")
	k := 1 + rnd.IntN(len(bars)-1)
	bars[k] = quickBar(rnd)
	if rnd.IntN(6) == 0 {
		bars[k] = []string{" 1~2", " 1~", " 1x 2", " 1 3.", " > 1 2"}[rnd.IntN(5)]
	}
	if was := strings.Split(lines[i], "|")[k]; rnd.IntN(6) == 0 && strings.Contains(was, " 1 ") {
		bars[k] = strings.Replace(was, " 1 ", " '1 ", 1)
	}
	lines[i] = strings.Join(bars, "|")
	return strings.Join(lines, "\n")
}

// sameScan requires that two scans of one path have found the same.
func sameScan(t *testing.T, fresh, got *rateScan, text string) {
	plain := func(list []Rate) (out []string) {
		for _, r := range list {
			from, to := -1, -1
			if r.From != nil {
				from = r.From.Index()
				require.True(t, r.From == &got.res.Events[from] || r.From == &fresh.res.Events[from])
			}
			if r.To != nil {
				to = r.To.Index()
			}
			r.From, r.To = nil, nil
			out = append(out, fmt.Sprintf("%d %d %+v", from, to, r))
		}
		return out
	}
	require.Equal(t, plain(fresh.list), plain(got.list), text)
	require.Equal(t, fresh.ends, got.ends, text)
	require.Equal(t, fresh.status, got.status, text)
	for _, b := range [][2]borne{{fresh.edge.first(), got.edge.first()}, {fresh.cannot.first(), got.cannot.first()}} {
		require.Equal(t, b[0].Factor, b[1].Factor, text)
		require.Equal(t, plain([]Rate{b[0].Rate}), plain([]Rate{b[1].Rate}), text)
	}
	require.Equal(t, fresh.edge.last().Factor, got.edge.last().Factor, text)
	require.Equal(t, fresh.cannot.last().Factor, got.cannot.last().Factor, text)
	for i := range got.list {
		for _, e := range []*Event{got.list[i].From, got.list[i].To} {
			if e != nil {
				require.Same(t, &got.res.Events[e.index], e)
			}
		}
	}
}

// Rates that are found by going on from those before an edit are those that are found from nothing, to
// the last field, however often it is done.
func TestRatesThatGoOnAreThoseFromNothing(t *testing.T) {
	parts, drawn, edits := 60, 30, 18
	if testing.Short() {
		parts, drawn, edits = 20, 10, 8
	}
	var texts []string
	rnd := rand.New(rand.NewPCG(20, 28))
	for n := range parts {
		texts = append(texts, longPart(rnd, []int{12, 40, 90}[n%3]))
	}
	piece := rapid.Custom(func(t *rapid.T) string {
		return madeup.Draw(t, madeup.Options{Players: 2, Roads: true, Actions: true, Quick: true}).Text()
	})
	for n := range drawn {
		texts = append(texts, piece.Example(n))
	}
	goes, all, listed := 0, 0, 0
	for n, text := range texts {
		seen := lens{by: []float64{1, 1000}[n%2], through: map[*moveKind]bool{}}
		file := syntax.Parse(text)
		last := score.Bind("t", file, nil, score.Options{Remember: true})
		were, rates := make([]*Result, len(last.Players)), make([]*rated, len(last.Players))
		for i, p := range last.Players {
			were[i] = SolveAfter(nil, last, p, nil)
			first := seen.scan(were[i], nil)
			first.all()
			rates[i] = seen.keep(first)
			were[i].scanned()
		}
		for range edits {
			other := file.Text()
			if n < parts {
				other = otherBar(rnd, other)
			}
			if n >= parts || rnd.IntN(5) == 0 {
				other = otherwise(rnd, other, text)
			}
			if rnd.IntN(20) == 0 {
				other = strings.Replace(other, "player Ida\n", "player Ida\n  profile student\n", 1)
			}
			file = syntax.Reparse(other, file)
			now := score.Bind("t", file, nil, score.Options{Remember: true, Earlier: last})
			were, rates = slices.Grow(were, len(now.Players)), slices.Grow(rates, len(now.Players))
			for i, p := range now.Players {
				if i == len(were) {
					were, rates = append(were, nil), append(rates, nil)
				}
				r, ok := Reuse(were[i], last, now, p)
				if !ok {
					r = SolveAfter(were[i], now, p, nil)
				}
				fresh, got := seen.scan(r, nil), seen.scan(r, rates[i])
				fresh.all()
				if all++; got.goOn() {
					goes++
				} else {
					got.all()
				}
				listed += len(got.list)
				sameScan(t, fresh, got, file.Text())
				were[i], rates[i] = r, seen.keep(got)
				got.giveBack()
				room := emptyRoom(got.idle)
				require.Zero(t, len(room.cues)+len(room.how)+len(room.items))
				got.idle.Put(&room)
				if r.scanned(); ok && r.rates.rated.Load() != nil {
					require.Equal(t, &r.Events[0], &r.rates.rated.Load().events[0])
				}
				if fresh = newRateScan(r, nil, nil); seen.by == 1 {
					fresh.sort()
					fresh.all()
					require.Equal(t, len(fresh.list), len(r.rates.list))
				}
				require.Nil(t, r.rates.before)
			}
			were, rates = were[:len(now.Players)], rates[:len(now.Players)]
			last = now
		}
	}
	t.Logf("%d of %d went on, with %d rates", goes, all, listed)
	require.Greater(t, goes, all/3)
}

// A lens makes limits so many times as long, so that all is listed that a scan looks at.
type lens struct {
	by      float64
	through map[*moveKind]bool // what was seen
}

func (l *lens) scan(r *Result, was *rated) *rateScan {
	s := newRateScan(r, was, nil)
	s.sort()
	for _, k := range s.kinds.list[1:] {
		if l.through[k.moveKind] {
			continue
		}
		l.through[k.moveKind] = true
		for _, p := range []*paces{&k.one, &k.two, &k.pair, &k.triple, &k.open} {
			for _, q := range []*body.Pace{&p.few, &p.phrase, &p.kept} {
				q.Limit, q.Floor, q.Steady = q.Limit*l.by, q.Floor*l.by, q.Steady*l.by
			}
		}
	}
	return s
}

// keep is what another scan goes on from, where one may.
func (l *lens) keep(s *rateScan) *rated {
	if !s.plain || s.res.course == nil {
		return nil
	}
	return s.keep()
}

// The lowest factor, and the first that is hardly above it, are the same whether all are looked at or a
// few beside the lowest of before, also where many differ by hardly anything.
func TestTheLowestIsJoinedWithThatOfBefore(t *testing.T) {
	madeup.Try(t, 6000, func(t *rapid.T) {
		n := rapid.IntRange(3, 12).Draw(t, "strokes")
		events := make([]Event, n)
		list := make([]int32, n)
		for i := range events {
			events[i].index, list[i] = int32(i), int32(i)
		}
		all := rapid.Bool().Draw(t, "whatever is known") // as with the mouth
		factors := func(what string) []float64 {
			least := rapid.IntRange(0, 12).Draw(t, what+" at the least")
			return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) float64 {
				return 1 + 0.3e-9*float64(least+rapid.IntRange(0, 6).Draw(t, "hairs"))
			}), n, n).Draw(t, what)
		}
		add := func(l *lowest, list []float64, from, to int) {
			for i := from; i < to; i++ {
				if all || list[i] < l.near {
					l.add(list[i], &Rate{To: &events[i], at: int32(i)}, 0)
				}
			}
		}
		was, now := factors("before"), factors("now")
		first := rapid.IntRange(0, n-1).Draw(t, "first")
		tail := rapid.IntRange(first, n).Draw(t, "tail")
		now = append(append(append([]float64(nil), was[:first]...), now[first:tail]...), was[tail:]...)
		old, fresh, got := nothingYet(), nothingYet(), nothingYet()
		add(&old, was, 0, n)
		add(&fresh, now, 0, n)
		kept := extreme{old.first(), old.last()}
		g := going{rateScan: &rateScan{res: &Result{Events: events}}, first: first, tail: tail, limbs: body.R}
		g.lists[0], g.redone[0] = list, stretch{judged: first, to: tail}
		got.beside(&kept)
		add(&got, now, first, tail)
		if !g.join(&got, &kept) {
			lost := int(kept.first.Rate.at) >= first && int(kept.first.Rate.at) < tail || int(kept.last.Rate.at) >= first && int(kept.last.Rate.at) < tail
			if !lost && fresh.last().Factor >= kept.first.Factor*clearly {
				t.Fatal("what stands was not taken over")
			}
			return
		}
		if fresh.first() != got.first() || fresh.last().Factor != got.last().Factor {
			t.Fatalf("%d and %g from nothing, %d and %g beside that of before", fresh.first().Rate.at, fresh.last().Factor, got.first().Rate.at, got.last().Factor)
		}
		if i := slices.IndexFunc(now, func(f float64) bool { return f*clearly <= slices.Min(now) }); int32(i) != fresh.first().Rate.at {
			t.Fatalf("%d is the first, not %d", i, fresh.first().Rate.at)
		}
	})
}
