package proof

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// Options are how the file is read.
type Options struct {
	Load score.Loader
	Uses []string // files that the piece uses without saying so
}

// A Verdict is what is certain of a certificate.
type Verdict struct {
	LostAtLeast float64  // of the moments that hold
	Holds       int      // moments
	Against     []string // what does not hold, in words
}

// Proven says whether all that the certificate claims is certain.
func (v *Verdict) Proven(c *Certificate) bool {
	return len(v.Against) == 0 && v.LostAtLeast >= c.Claim.LostAtLeast-small
}

// small is a share of a stroke, less than what any can count that is worth counting, and
// as good as no time.
const small = 1e-6

// Sum is the sum of a file's text that a certificate names.
func Sum(f *syntax.File) string {
	sum := sha256.Sum256([]byte(f.Text()))
	return hex.EncodeToString(sum[:])
}

// A verifier knows what of a piece is certain.
type verifier struct {
	ctx    context.Context
	name   string
	opt    Options
	cert   *Certificate
	score  *score.Score
	own    []string // lines of the file that say what things are
	people []person
	lines  map[[2]string]*line
	takes  map[string]int
	alone  map[string][]grip
	pairs  map[string]bool
	atOnce []string // rules that say that a hand has two things to do at once
	things []string // rules that are about what there is and where it stands
}

// A person is one of the cast.
type person struct {
	profile string
	hands   int
}

// Verify says what of a certificate is true of a file. The error says why nothing can
// be said of it.
func Verify(ctx context.Context, name string, f *syntax.File, c *Certificate, opt Options) (Verdict, error) {
	if Sum(f) != c.SHA256 {
		return Verdict{}, fmt.Errorf("the certificate is of another text than that of %s", name)
	}
	v := &verifier{ctx: ctx, name: name, opt: opt, cert: c, lines: map[[2]string]*line{}, takes: map[string]int{}, alone: map[string][]grip{}, pairs: map[string]bool{},
		atOnce: []string{"hand-overlap", "both-hands-full", "two-hand-roll"},
		things: []string{"same-space", "missing-gear", "not-enough-gear"}}
	v.score = check.Check(name, f, check.Options{Score: score.Options{TempoFactor: c.Cast.Tempo, Profile: c.Cast.Usual, Uses: opt.Uses}, Load: opt.Load, Stop: v.stopped}).Score
	if err := v.cast(); err != nil {
		return Verdict{}, err
	}
	v.own = ownLines(f)
	v.read()
	v.weigh()
	var out Verdict
	seen := map[*stroke]bool{}
	for i := range c.Moments {
		m := &c.Moments[i]
		lost, against := v.moment(m, seen)
		if ctx.Err() != nil {
			return out, ctx.Err()
		}
		if against != "" {
			out.Against = append(out.Against, fmt.Sprintf("bar %d: %s", m.Bar, against))
			continue
		}
		out.LostAtLeast += lost
		out.Holds++
	}
	if len(out.Against) == 0 && out.LostAtLeast < c.Claim.LostAtLeast-small {
		out.Against = append(out.Against, fmt.Sprintf("the moments come to %g, and %g is claimed", out.LostAtLeast, c.Claim.LostAtLeast))
	}
	return out, nil
}

func (v *verifier) stopped() bool { return v.ctx.Err() != nil }

// cast is who plays, as the file and the certificate have it.
func (v *verifier) cast() error {
	for _, n := range v.cert.Cast.Players {
		who := person{profile: v.cert.Cast.Added, hands: 2}
		if p := v.score.Player(n); p != nil {
			who = person{profile: p.Profile.Name, hands: p.Person.Hands().Count()}
		}
		if who.profile == "" {
			who.profile = body.Experienced().Name
		}
		if _, ok := body.ProfileNamed(who.profile); !ok {
			return fmt.Errorf("there is no profile %s: student, experienced or professional", who.profile)
		}
		v.people = append(v.people, who)
	}
	if len(v.people) == 0 {
		return fmt.Errorf("the certificate names nobody who plays")
	}
	return nil
}

// profiles are the paces of the cast, each once.
func (v *verifier) profiles() []string {
	var out []string
	for _, who := range v.people {
		if !slices.Contains(out, who.profile) {
			out = append(out, who.profile)
		}
	}
	return out
}

// ownLines are the lines of a file that say what things are, and which files it uses.
func ownLines(f *syntax.File) []string {
	var out []string
	seats := f.Seats()
	for i, l := range f.Lines {
		_, use := l.Stmt.(*syntax.Use)
		if b := seats[i].Block; use || b == syntax.InInstrument || b == syntax.InImplement {
			out = append(out, l.Text)
		}
	}
	return out
}

// moment is what a moment must lose, or what does not hold of it, in words.
func (v *verifier) moment(m *Moment, seen map[*stroke]bool) (lost float64, against string) {
	var set []*stroke
	for i := range m.Strokes {
		said := &m.Strokes[i]
		st := v.find(m.Bar, said)
		switch {
		case st == nil:
			return 0, fmt.Sprintf("there is no stroke %d of the %s of %s that somebody would have to play", said.Nth, said.Line, said.Part)
		case seen[st]:
			return 0, fmt.Sprintf("stroke %d of the %s of %s is counted twice", said.Nth, said.Line, said.Part)
		case said.Weight > st.weight+small:
			return 0, fmt.Sprintf("stroke %d of the %s of %s counts %g, and not %g", said.Nth, said.Line, said.Part, st.weight, said.Weight)
		}
		seen[st] = true
		set = append(set, st)
	}
	slices.SortStableFunc(set, func(a, b *stroke) int {
		switch {
		case a.on < b.on-small:
			return -1
		case a.on > b.on+small:
			return 1
		}
		return 0
	})
	for i, a := range set {
		if n := v.least(a.line, a.roll); n < 1 {
			return 0, fmt.Sprintf("the %s may be played without a hand", a.line.name)
		}
		for _, b := range set[i+1:] {
			if !v.apart(a, b) {
				return 0, fmt.Sprintf("one hand may play the %s and, %.2f s later, the %s", a.line.name, b.on-a.on, b.line.name)
			}
		}
	}
	lost = v.mustGo(set)
	if lost < m.LostAtLeast-small {
		return 0, fmt.Sprintf("%g must be lost, and %g is claimed", lost, m.LostAtLeast)
	}
	return lost, ""
}

// mustGo is the least weight that has to be taken out of strokes that each want hands of
// their own: of all that the hands there are can play together, what is left over of
// the heaviest. By dynamic programming over hands, and people with two of them.
func (v *verifier) mustGo(set []*stroke) float64 {
	hands, pairs := 0, 0
	for _, who := range v.people {
		hands += who.hands
		pairs += who.hands / 2
	}
	kept := make([][]float64, hands+1) // by hands and pairs that are busy
	for i := range kept {
		kept[i] = make([]float64, pairs+1)
	}
	all := 0.0
	for _, st := range set {
		n := v.least(st.line, st.roll)
		all += st.weight
		for h := hands; h >= n; h-- {
			for p := pairs; p >= n/2; p-- {
				kept[h][p] = max(kept[h][p], kept[h-n][p-n/2]+st.weight)
			}
		}
	}
	return all - kept[hands][pairs]
}

// A line is one instrument's strokes in a part, wherever they stand.
type line struct {
	part, name string
	inst       *kit.Instrument
	order      int
	bars       map[int][]*stroke
}

func (l *line) key() string { return l.inst.ID + " " + l.name }

// A stroke is one written stroke.
type stroke struct {
	line    *line
	bar     int
	on, off float64 // seconds, the first time it is played
	roll    bool
	sounds  bool
	dyn     kit.Dynamic
	written *score.Stroke
	weight  float64
}

func (v *verifier) find(bar int, said *Stroke) *stroke {
	l := v.lines[[2]string{said.Part, said.Line}]
	if l == nil || said.Nth < 1 || said.Nth > len(l.bars[bar]) || !l.bars[bar][said.Nth-1].sounds {
		return nil
	}
	return l.bars[bar][said.Nth-1]
}

// read lists what is written, where it is played and the file itself does not leave it
// out.
func (v *verifier) read() {
	when := map[int]int{} // the first span that has a bar
	for i, sp := range v.score.Time.Spans() {
		for bar := sp.From; bar <= sp.To; bar++ {
			if _, ok := when[bar]; !ok {
				when[bar] = i
			}
		}
	}
	for _, part := range v.score.Parts {
		for _, from := range part.Lines {
			key := [2]string{part.Name, from.Name}
			l := v.lines[key]
			if l == nil {
				l = &line{part: part.Name, name: from.Name, inst: from.Inst, order: len(v.lines), bars: map[int][]*stroke{}}
				v.lines[key] = l
			}
			for i := range from.Strokes {
				st := &from.Strokes[i]
				bar := int(st.Bar)
				span, played := when[bar]
				if !played || v.omitted(l, bar) {
					continue
				}
				s := &stroke{line: l, bar: bar, written: st, roll: st.Has(score.Roll), sounds: st.Sounds(), dyn: st.Dyn}
				s.on = v.score.Time.Seconds(span, st.At)
				s.off = s.on
				if s.roll {
					s.off += v.score.Tempo.Between(st.At, st.End)
				}
				l.bars[bar] = append(l.bars[bar], s)
			}
		}
	}
	for _, l := range v.lines {
		for _, list := range l.bars {
			slices.SortStableFunc(list, func(a, b *stroke) int { return a.written.At.Cmp(b.written.At) })
		}
	}
}

// omitted says whether the file leaves a line out in a bar, for a reason of its own.
func (v *verifier) omitted(l *line, bar int) bool {
	return slices.ContainsFunc(v.score.Omits, func(o *score.Omit) bool {
		return o.Name == l.name && (o.Part == "" || o.Part == l.part) && o.From <= bar && bar <= o.To && !(o.Where.File == 0 && slices.Contains(v.cert.Anew, int(o.Where.Line)+1))
	})
}

// weigh says what each stroke counts.
func (v *verifier) weigh() {
	type sum struct {
		busiest, sounding, metals int
		loudest                   kit.Dynamic
	}
	sums := map[int]*sum{}
	loudest := kit.Dynamic(0)
	lines := make([]*line, len(v.lines))
	for _, l := range v.lines {
		lines[l.order] = l
		for bar, list := range l.bars {
			s := sums[bar]
			if s == nil {
				s = &sum{}
				sums[bar] = s
			}
			n, loud := sounding(list)
			s.busiest, s.loudest, loudest = max(s.busiest, n), max(s.loudest, loud), max(loudest, loud)
			if n > 0 {
				s.sounding++
				if l.inst.Family == kit.Metal {
					s.metals++
				}
			}
		}
	}
	w := &v.cert.Weights
	for _, l := range lines {
		for bar, list := range l.bars {
			s := sums[bar]
			n, _ := sounding(list)
			each := w.Stroke
			switch {
			case s.sounding == 1:
				each *= w.Exposed
			case n == s.busiest && n >= v.score.Grid.Meter(bar).Counts():
				each *= w.Driving
			}
			if s.loudest == loudest && loudest >= kit.F && s.metals == 1 && l.inst.Family == kit.Metal {
				each *= w.Climax
			}
			if slices.ContainsFunc(lines[:l.order], func(o *line) bool { return o.inst == l.inst && hasAll(o.bars[bar], list) }) {
				each *= w.Doubled
			}
			if worth := v.score.WorthOf(l.part, l.name, bar); worth != nil {
				each *= worth.Times
			}
			for _, st := range list {
				st.weight = each
				if st.roll { // which counts for each count that it lasts
					m := v.score.Grid.Meter(bar)
					st.weight *= max(1, st.written.End.Sub(st.written.At).Float()*float64(m.Counts()*m.Lower)/float64(m.Upper))
				}
			}
		}
	}
}

// sounding is how many strokes sound, and how loud the loudest is.
func sounding(list []*stroke) (n int, loudest kit.Dynamic) {
	for _, st := range list {
		if st.sounds {
			n, loudest = n+1, max(loudest, st.dyn)
		}
	}
	return n, loudest
}

// hasAll says whether some strokes are at all the places where others sound.
func hasAll(some, others []*stroke) bool {
	if len(some) == 0 {
		return false
	}
	return !slices.ContainsFunc(others, func(o *stroke) bool {
		return o.sounds && !slices.ContainsFunc(some, func(s *stroke) bool { return s.written.At == o.written.At })
	})
}
