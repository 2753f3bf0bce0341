package score

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/syntax"
)

// meters reads meter changes and the pickup, and makes the grid.
func (b *binder) meters(longest, said int, furthest Where) {
	var changes []beat.MeterChange
	var pickup beat.Rat
	for i, l := range b.Sources[0].File.Lines {
		if l.Broken {
			continue
		}
		switch s := l.Stmt.(type) {
		case *syntax.Meter:
			if m, ok := b.meterChange(i, s); ok {
				changes = append(changes, m)
				longest = max(longest, min(m.Bar, maxBars))
			}
		case *syntax.Length:
			if s.Word.Text == "pickup" {
				pickup = b.pickup(i, s)
			}
		}
	}
	b.longest, b.said = longest, said
	if longest > maxBars && said == 0 {
		b.tooLong = true
		b.fault(syntax.RuleTooLarge, furthest, tooManyBars, maxBars, longest)
	}
	longest = min(longest, maxBars)
	if said > 0 {
		longest = said
	}
	b.Grid = beat.NewGrid(changes, pickup, max(1, longest))
}

// meterChange reads a meter and the bar that it begins with.
func (b *binder) meterChange(line int, s *syntax.Meter) (m beat.MeterChange, ok bool) {
	m.Bar = 1
	if m.Meter, ok = b.meter(line, s); !ok || s.From == nil {
		return m, ok
	}
	var hasCount bool
	if m.Bar, _, hasCount, ok = b.place(0, line, *s.From, false); ok && hasCount {
		b.fault(syntax.RuleUnknownPlace, at(0, line, s.From.Span()), meterBeginsWithBar)
	}
	return m, ok
}

func (b *binder) meter(line int, s *syntax.Meter) (beat.Meter, bool) {
	where := at(0, line, s.Value.Span())
	up, low, ok := fraction(s.Value.Text)
	if !ok {
		b.fault(syntax.RuleValue, where, notAMeter, quoteWord(s.Value.Text))
		return beat.Meter{}, false
	}
	var m beat.Meter
	var err error
	switch {
	case s.In == nil:
		m, err = beat.NewMeter(up, low, nil)
	case strings.Contains(s.In.Text, "+"):
		where = at(0, line, s.In.Span())
		var groups []int
		for _, g := range strings.Split(s.In.Text, "+") {
			n, errG := strconv.Atoi(g)
			if errG != nil || len(groups) > 64 {
				b.fault(syntax.RuleValue, where, notAGrouping, quoteWord(s.In.Text))
				return m, false
			}
			groups = append(groups, n)
		}
		m, err = beat.NewMeter(up, low, groups)
	default:
		where = at(0, line, s.In.Span())
		n, errN := strconv.Atoi(s.In.Text)
		if errN != nil {
			b.fault(syntax.RuleValue, where, notSomeCounts, quoteWord(s.In.Text))
			return m, false
		}
		m, err = beat.InMeter(up, low, n)
	}
	if err != nil {
		b.found(syntax.RuleValue, where, syntax.AboutOf(err))
		return m, false
	}
	return m, true
}

// fraction reads 4/4.
func fraction(text string) (up, low int, ok bool) {
	a, c, found := strings.Cut(text, "/")
	if !found || len(a) > 4 || len(c) > 4 {
		return 0, 0, false
	}
	up, err1 := strconv.Atoi(a)
	low, err2 := strconv.Atoi(c)
	return up, low, err1 == nil && err2 == nil && up > 0 && low > 0
}

func (b *binder) pickup(line int, s *syntax.Length) beat.Rat {
	c := s.Value.Text
	if up, low, ok := fraction(c); ok {
		return beat.R(int64(up), int64(low))
	}
	return beat.R(int64(b.whole(at(0, line, s.Value.Span()), c, 1, 64)), 1)
}

// head reads tempo, road map and pauses, which need the bars.
func (b *binder) head() {
	var tempos []beat.TempoChange
	var lines []int // theirs
	for i, l := range b.Sources[0].File.Lines {
		if l.Broken {
			continue
		}
		switch s := l.Stmt.(type) {
		case *syntax.Printed:
			if s.Word.Text == "title" && b.Title == "" && b.Sources[0].Seats[i].Block == syntax.InHead {
				b.Title = s.Text.Value()
			}
		case *syntax.Remark:
			b.remark(i, s)
		case *syntax.Tempo:
			if t, ok := b.tempo(i, s); ok {
				tempos, lines = append(tempos, t), append(lines, i)
			}
		case *syntax.Pause:
			if pos, _, ok := b.moment(0, i, s.Place); ok {
				b.Pauses = append(b.Pauses, Pause{Break: s.Word.Text == "break", At: pos, Where: b.wholeLine(0, i)})
			}
		case *syntax.Numbered:
			b.numbering(i, s)
		default:
			b.roadSign(i, s)
		}
	}
	b.countOn()
	b.tempoMap(tempos, lines)
	b.road()
	b.upTo.head = len(b.Problems)
}

// tempoMap makes the tempo map of the changes that the lines say.
func (b *binder) tempoMap(tempos []beat.TempoChange, lines []int) {
	factor := b.opt.TempoFactor
	if factor <= 0 {
		factor = 1
	}
	b.Supposed = factor
	first := 0
	for i := range tempos {
		if tempos[i].At.Less(tempos[first].At) {
			first = i
		}
		tempos[i].From *= factor
		tempos[i].To *= factor
	}
	if b.HasTempo = len(tempos) > 0; b.HasTempo && (beat.Rat{}).Less(tempos[first].At) {
		where := b.wholeLine(0, lines[first])
		b.LateTempo = &where
	}
	b.Tempo = beat.NewTempoMap(tempos, factor*DefaultTempo/4)
}

// roadSign reads a line of the road map.
func (b *binder) roadSign(i int, stmt syntax.Stmt) {
	section := func(a syntax.Atom) (Section, bool) {
		from, to, ok := b.span(0, i, a)
		return Section{From: from, To: to, Where: b.wholeLine(0, i)}, ok
	}
	switch s := stmt.(type) {
	case *syntax.Repeat:
		if r, ok := section(s.Range); ok {
			r.Times = 2
			if s.Times != nil {
				r.Times = b.times(at(0, i, s.Times.Span()), s.Times.Text)
			}
			b.Repeats = append(b.Repeats, r)
		}
	case *syntax.Ending:
		if e, ok := section(s.Range); ok {
			e.Numbers = b.numbers(at(0, i, s.Numbers.Span()), s.Numbers.Text)
			b.Endings = append(b.Endings, e)
		}
	case *syntax.Vamp:
		if v, ok := section(s.Range); ok {
			b.Vamps = append(b.Vamps, v)
		}
	case *syntax.Order:
		for _, leg := range s.Legs {
			if o, ok := section(leg); ok {
				o.Where = at(0, i, leg.Span())
				b.Orders = append(b.Orders, o)
			}
		}
	}
}

// remark reads a note, or what to listen for.
func (b *binder) remark(i int, s *syntax.Remark) {
	seat := b.Sources[0].Seats[i]
	r := Remark{Cue: s.Word.Text == "cue", Text: s.Text.Value(), Where: b.wholeLine(0, i)}
	switch seat.Block {
	case syntax.InPlayer:
		if p, ok := b.Sources[0].File.Lines[seat.Owner].Stmt.(*syntax.Player); ok {
			r.Player = p.Name.Value()
		}
	case syntax.InHead:
	default:
		return // of an instrument's entry
	}
	if s.At != nil {
		var ok bool
		if r.At, r.Bar, ok = b.moment(0, i, *s.At); !ok {
			return
		}
		r.Placed = true
	} else if r.Cue {
		b.fault(syntax.RuleSyntax, r.Where, listeningWithoutPlace, syntax.Quote(r.Text))
		return
	}
	b.Remarks = append(b.Remarks, r)
}

func (b *binder) times(where Where, text string) int {
	n, err := strconv.Atoi(strings.TrimPrefix(text, "x"))
	if !strings.HasPrefix(text, "x") || err != nil || n < 2 {
		b.fault(syntax.RuleValue, where, notHowOften, quoteWord(text))
		return 2
	}
	return min(n, maxPlayedBars)
}

func (b *binder) numbers(where Where, text string) []int {
	var out []int
	for _, part := range strings.Split(text, ",") {
		n := b.whole(where, part, 1, 63)
		if len(out) < 63 {
			out = append(out, n)
		}
	}
	return out
}

// tempo bounds, in counts a minute; common practice, no source: what any
// metronome shows, and well to either side.
const (
	slowest  = 5
	quickest = 999
)

func (b *binder) tempo(line int, s *syntax.Tempo) (t beat.TempoChange, ok bool) {
	bar := b.Grid.First()
	value := s.First
	pos := beat.Rat{}
	if s.From != nil {
		if pos, bar, ok = b.moment(0, line, *s.From); !ok {
			return t, false
		}
	}
	if s.Over != nil {
		from, to, ok := b.span(0, line, *s.Over)
		if !ok {
			return t, false
		}
		bar = from
		pos = b.Grid.Start(from)
		t.Over = b.Grid.Start(to + 1).Add(pos.Neg())
	}
	t.At = pos
	unit := b.countUnit(bar)
	if s.Value != nil {
		value = *s.Value
		up, low, ok := fraction(s.First.Text)
		if !ok || up > 64 || low > 64 {
			b.fault(syntax.RuleValue, at(0, line, s.First.Span()), notANoteValue, quoteWord(s.First.Text))
			return t, false
		}
		unit = beat.R(int64(up), int64(low))
	}
	t.From, ok = b.speed(at(0, line, value.Span()), value.Text, unit)
	t.To = t.From
	if ok && s.To != nil {
		t.To, ok = b.speed(at(0, line, s.To.Span()), s.To.Text, unit)
	}
	return t, ok
}

func (b *binder) speed(where Where, text string, unit beat.Rat) (float64, bool) {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !(v >= slowest && v <= quickest) {
		b.fault(syntax.RuleValue, where, notATempo, quoteWord(text)).within(slowest, quickest)
		return 0, false
	}
	return v * unit.Float(), true
}

// countUnit is the note value that a plain tempo counts in: the bar's count,
// or its shortest where counts differ.
func (b *binder) countUnit(bar int) beat.Rat {
	m := b.Grid.Meter(bar)
	unit := m.CountLength(1)
	for i := 2; i <= m.Counts(); i++ {
		if l := m.CountLength(i); l.Less(unit) {
			unit = l
		}
	}
	return unit
}

// road unrolls repeats, endings, vamps and the order into what is played.
func (b *binder) road() {
	var repeats []beat.Repeat
	var endings []beat.Ending
	var vamps []beat.Vamp
	var order []beat.Leg
	for _, s := range b.Repeats {
		repeats = append(repeats, beat.Repeat{From: s.From, To: s.To, Times: s.Times})
	}
	for _, s := range b.Endings {
		endings = append(endings, beat.Ending{Numbers: s.Numbers, From: s.From, To: s.To})
	}
	for _, s := range b.Vamps {
		vamps = append(vamps, beat.Vamp{From: s.From, To: s.To})
	}
	for _, s := range b.Orders {
		order = append(order, beat.Leg{From: s.From, To: s.To})
	}
	road, problems := beat.Unroll(b.Grid.First(), b.Grid.Last(), repeats, endings, vamps, order, maxPlayedBars)
	b.Road = road
	lists := map[string][]Section{"repeat": b.Repeats, "ending": b.Endings, "vamp": b.Vamps, "order": b.Orders}
	for _, p := range problems {
		var where Where
		if list := lists[p.Kind]; p.Index >= 0 && p.Index < len(list) {
			where = list[p.Index].Where
		}
		b.found(syntax.RuleRoadMap, where, syntax.About{Template: p.Template, Things: p.Things})
	}
	b.Time = beat.NewTimeline(b.Grid, b.Tempo, road)
	b.passes = newPassIndex(road)
}

// passIndex says how often each bar is played.
type passIndex struct {
	starts []int // first bar of each run
	counts []int
}

func newPassIndex(r beat.Road) *passIndex {
	deltas := map[int]int{}
	for _, s := range r.Spans {
		deltas[s.From]++
		deltas[s.To+1]--
	}
	x := &passIndex{}
	for _, bar := range sortedKeys(deltas) {
		n := deltas[bar]
		if len(x.counts) > 0 {
			n += x.counts[len(x.counts)-1]
		}
		x.starts = append(x.starts, bar)
		x.counts = append(x.counts, n)
	}
	return x
}

// most is how often the bar of a range is played that is played most often.
func (x *passIndex) most(from, to int) int {
	n := 0
	first, exact := slices.BinarySearch(x.starts, from)
	if !exact {
		first--
	}
	for i := max(first, 0); i < len(x.starts) && x.starts[i] <= to; i++ {
		n = max(n, x.counts[i])
	}
	return n
}

// Passes is how often a bar is played.
func (s *Score) Passes(bar int) int {
	x := s.passes
	lo, hi := 0, len(x.starts)
	for lo < hi {
		mid := (lo + hi) / 2
		if x.starts[mid] <= bar {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo == 0 {
		return 0
	}
	return x.counts[lo-1]
}

// mask has a bit for each pass of a bar, up to 63.
func (s *Score) mask(bar int) uint64 { return 1<<min(s.Passes(bar), 63) - 1 }

// Place says where a moment stands, as players say it: bar 23, count 3.
func (s *Score) Place(pos beat.Rat) string {
	bar, c := s.Grid.Place(pos)
	return strconv.Itoa(bar) + "." + c.String()
}

// ParseTempoFactor reads a share of the written tempo: 110%, or 1.1.
func ParseTempoFactor(text string) (float64, error) {
	percent := strings.HasSuffix(text, "%")
	f, err := strconv.ParseFloat(strings.TrimSuffix(text, "%"), 64)
	if percent {
		f /= 100
	}
	if err != nil || !(f >= 0.1 && f <= 10) {
		return 0, fmt.Errorf("%s: write a share of the written tempo between 10%% and 1000%%, such as 110%% or 1.1", text)
	}
	return f, nil
}
