package kit

import (
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/syntax"
)

// A Problem is something wrong with a definition.
type Problem struct {
	Line int
	syntax.Problem
}

// Read collects the instruments and implements that a file defines. seats are
// the file's own. Names of implements are checked by the caller, which knows
// what else is in reach.
func Read(name string, f *syntax.File, seats []syntax.Seat, own bool) (ins []*Instrument, ims []*Implement, problems []Problem) {
	r := reader{file: name, lines: f.Lines, own: own, defined: map[string]int{}}
	for i, l := range f.Lines {
		if l.Stmt == nil {
			continue
		}
		if d, ok := l.Stmt.(*syntax.Define); ok && d.Name.Text != "" {
			r.define(i, d)
			continue
		}
		if l.Broken {
			continue
		}
		switch b := seats[i].Block; {
		case b == syntax.InInstrument && r.in != nil:
			r.in.read(l, r.at(i))
		case b == syntax.InImplement && r.im != nil:
			r.im.read(l, r.at(i))
		case l.Form != nil && l.Form.Opens != 0:
			r.close()
		}
	}
	r.close()
	return r.ins, r.ims, r.problems
}

// A reader reads the definitions of a file.
type reader struct {
	file     string
	lines    []*syntax.Line
	own      bool
	in       *Instrument // the one that is being defined, if it is an instrument
	im       *Implement  // … an implement
	defined  map[string]int
	ins      []*Instrument
	ims      []*Implement
	problems []Problem
}

func (r *reader) fault(line int, at syntax.Span, template string, things ...any) *syntax.Problem {
	r.problems = append(r.problems, Problem{line, syntax.Problem{Rule: syntax.RuleDefinition, Span: at, About: syntax.Tells(template, things...), Named: at}})
	return &r.problems[len(r.problems)-1].Problem
}

// at notes problems of one line.
func (r *reader) at(line int) faultFunc {
	return func(at syntax.Span, template string, things ...any) *syntax.Problem {
		return r.fault(line, at, template, things...)
	}
}

// define begins a definition.
func (r *reader) define(line int, d *syntax.Define) {
	r.close()
	what := d.Word.Text + " " + d.Name.Text
	if first, ok := r.defined[what]; ok {
		r.fault(line, d.Name.Span(), definedTwice, d.Name.Text, first+1)
	}
	r.defined[what] = line
	if d.Word.Text == "instrument" {
		r.in = &Instrument{ID: d.Name.Text, Zone: 15, Own: r.own, File: r.file, Line: line}
		r.ins = append(r.ins, r.in)
	} else {
		r.im = &Implement{ID: d.Name.Text, Weight: Light, Own: r.own, File: r.file, Line: line}
		r.ims = append(r.ims, r.im)
	}
}

// close ends a definition, and says what it lacks.
func (r *reader) close() {
	if in := r.in; in != nil {
		if len(in.Ways) == 0 {
			r.fault(in.Line, wordSpan(r.lines[in.Line]), noWayOfPlaying, in.ID)
			in.Ways = []*Way{{Mount: OnStand, Hands: 1}}
		}
		in.settle()
	}
	r.in, r.im = nil, nil
}

func wordSpan(l *syntax.Line) syntax.Span {
	if d, ok := l.Stmt.(*syntax.Define); ok {
		return d.Name.Span()
	}
	return syntax.Span{Start: 0, End: len(l.Text)}
}

// A faultFunc notes a problem at a place of the line that is read.
type faultFunc func(at syntax.Span, template string, things ...any) *syntax.Problem

func (in *Instrument) read(l *syntax.Line, fault faultFunc) {
	switch s := l.Stmt.(type) {
	case *syntax.Remark:
		in.Notes = append(in.Notes, s.Text.Value())
	case *syntax.Texts:
		if s.Word.Text == "also" {
			in.Also = append(in.Also, texts(s.Text)...)
			return
		}
		in.Called = s.Text[0].Value()
		in.lower = lowerFirst(in.Called)
		in.Abbrevs = append(in.Abbrevs, texts(s.Text[1:])...)
	case *syntax.Words:
		in.words(s, fault)
	case *syntax.Speaks:
		in.Late = number(s.Late, 0, 60, fault)
		if s.Why != nil {
			in.LateWhy = s.Why.Value()
		}
	case *syntax.Stops:
		in.StopsBy = stoppedBy(s, fault)
	case *syntax.Never:
		if len(s.What) > 0 {
			fault(s.What[0].Names()[0].Span(), neverWithForm)
			return
		}
		ban := Ban{With: names(s.With)}
		if s.Reason != nil {
			ban.Reason = s.Reason.Value()
		} else {
			fault(syntax.Span{Start: len(strings.TrimRight(l.Text, " \t")) - 1, End: len(strings.TrimRight(l.Text, " \t"))}, neverWithoutReason)
		}
		in.Never = append(in.Never, ban)
	case *syntax.StandsFor:
		st := StandIn{For: s.For.Text}
		if s.Costs != nil {
			st.Costs = s.Costs.Value()
		} else {
			fault(s.For.Span(), standsForWithoutCost, st.For)
		}
		in.StandsFor = append(in.StandsFor, st)
	case *syntax.Way:
		in.Ways = append(in.Ways, way(s, fault))
	}
}

var (
	noises    = []string{"silent", "soft", "audible", "loud"}
	handlings = []string{"easy", "careful", "awkward"}
	weights   = []string{"nothing", "light", "medium", "heavy"}
	bases     = []string{"published", "common-practice"}
	carries   = []string{"one", "two", "wheels"}
	snares    = []string{"lever", "buzz"}
	seats     = []string{"stool", "chair", "itself"}
	heads     = []string{"hard", "soft"}
	// motions are the kinds of stroke that have a row in the table of rates.
	tunings = []string{"foot", "hand"}
	motions = []string{"stick", "tip", "block", "bell", "bells", "bar", "beater", "kettle", "gong", "cymbal", "dribble",
		"shake", "accent", "jingle", "drop", "scrape", "turn", "hung", "corner", "knock", "clap", "clash", "castanet", "paddle",
		"fingertips", "two-fingers", "finger", "open-hand", "heel-and-tip", "thumb-and-heel", "fist-and-knee", "pedal", "chick", "tongue"}
	gearAllowed = 64 // words of gear a way may list
)

func oneOf(a syntax.Atom, words []string, fault faultFunc) int {
	i := slices.Index(words, a.Text)
	if i < 0 {
		p := fault(a.Span(), notOneOf, a.Text)
		p.Expected = words
		p.MayMean(syntax.Nearest(a.Text, words))
	}
	return max(0, i)
}

func (in *Instrument) words(s *syntax.Words, fault faultFunc) {
	first := s.Text[0]
	switch s.Word.Text {
	case "family":
		in.Family = syntax.Families()[oneOf(first, syntax.Families(), fault)]
	case "sound":
		in.Sounds = append(in.Sounds, atoms(s.Text)...)
	case "glyph":
		in.Glyphs = append(in.Glyphs, atoms(s.Text)...)
	case "midi":
		for _, a := range s.Text {
			in.MIDI = append(in.MIDI, int(number(syntax.Num(a), 0, 127, fault)))
		}
	case "zone":
		in.Zone = numberOr(in.Zone, syntax.Num(first), 0.5, 300, fault) // what is no width makes nothing narrow
	case "size":
		switch len(s.Text) {
		case 1:
			in.Wide = number(syntax.Num(first), 1, 1000, fault)
			in.Deep, in.Round = in.Wide, true
		case 2:
			in.Wide, in.Deep = number(syntax.Num(first), 1, 1000, fault), number(syntax.Num(s.Text[1]), 1, 1000, fault)
			in.Round = false
		default:
			fault(s.Word.Span(), sizeForm)
		}
	case "height":
		in.Height = number(syntax.Num(first), 1, 400, fault)
	case "fills":
		if len(s.Text) != 2 {
			fault(s.Word.Span(), fillsForm)
			return
		}
		low, high := number(syntax.Num(first), 0, 400, fault), number(syntax.Num(s.Text[1]), 0, 400, fault)
		if high < low {
			fault(s.Text[1].Span(), fillsBackwards, high, low)
			low, high = high, low
		}
		in.Low, in.High = low, high
	case "carry":
		in.Carry = Carry(oneOf(first, carries, fault) + 1)
		if len(s.Text) > 1 {
			in.Kilos = number(syntax.Num(s.Text[1]), 0.01, 1000, fault)
		}
	case "over":
		in.Over = number(syntax.Num(first), 0, 200, fault)
	case "members":
		in.Members = int(number(syntax.Num(first), 1, 24, fault))
	case "doubler":
		in.Doublers = append(in.Doublers, atoms(s.Text)...)
	case "snares":
		in.Snares = Snares(oneOf(first, snares, fault) + 1)
	case "tuning":
		in.HandTuned = oneOf(first, tunings, fault) == 1
	case "shares":
		in.Shares = append(in.Shares, atoms(s.Text)...)
	case "seat":
		in.Seat = seats[oneOf(first, seats, fault)]
	case "rings":
		if first.Text == "short" {
			in.Rings = 0
			return
		}
		in.Rings = number(syntax.Num(first), 0, 120, fault)
	case "moves":
		in.Moves = motions[oneOf(first, motions, fault)]
	case "noise":
		in.Noise = Noise(oneOf(first, noises, fault))
	case "handling":
		in.Handling = Handling(oneOf(first, handlings, fault))
	case "basis":
		in.Basis = bases[oneOf(first, bases, fault)]
	default:
		if !in.pitches(s, fault) {
			fault(s.Word.Span(), nothingOfInstrument, s.Word.Text)
		}
	}
}

// settle supplies what a definition does not say of its heights: the height
// of a table top, and a body as tall as a drum. Common practice, no source.
func (in *Instrument) settle() {
	if !in.Pitched() && len(in.Kettles) > 0 {
		in.Range = Range{in.Kettles[0].Low, in.Kettles[0].High}
		for _, k := range in.Kettles {
			if k.Low.Semitone() < in.Range.Low.Semitone() {
				in.Range.Low = k.Low
			}
			if k.High.Semitone() > in.Range.High.Semitone() {
				in.Range.High = k.High
			}
		}
	}
	if in.Height == 0 {
		in.Height = 85
		if in.High > 0 {
			in.Height = in.High
		}
	}
	if in.High == 0 {
		in.Low, in.High = max(1, in.Height-20), in.Height
	}
	if in.Seat == "" && slices.ContainsFunc(in.Ways, func(w *Way) bool { return w.Seated }) {
		in.Seat = "stool"
	}
}

func (im *Implement) read(l *syntax.Line, fault faultFunc) {
	switch s := l.Stmt.(type) {
	case *syntax.Texts:
		if s.Word.Text == "also" {
			im.Also = append(im.Also, texts(s.Text)...)
			return
		}
		im.Called = s.Text[0].Value()
		im.lower = lowerFirst(im.Called)
		im.Abbrevs = append(im.Abbrevs, texts(s.Text[1:])...)
	case *syntax.ButtEnd:
		im.Butt = s.As.Text
		if s.Costs != nil {
			im.ButtCost = s.Costs.Value()
		} else {
			fault(s.As.Span(), buttWithoutCost, im.Butt)
		}
	case *syntax.Words:
		switch s.Word.Text {
		case "weighs":
			im.Weight = Weight(oneOf(s.Text[0], weights, fault))
		case "length":
			im.Length = number(syntax.Num(s.Text[0]), 1, 200, fault)
		case "head":
			im.Soft = oneOf(s.Text[0], heads, fault) == 1
		case "noise":
			im.Noise = Noise(oneOf(s.Text[0], noises, fault))
		case "handling":
			im.Handling = Handling(oneOf(s.Text[0], handlings, fault))
		case "basis":
			im.Basis = bases[oneOf(s.Text[0], bases, fault)]
		case "glyph":
			im.Glyphs = append(im.Glyphs, atoms(s.Text)...)
		default:
			fault(s.Word.Span(), nothingOfImplement, s.Word.Text)
		}
	}
}

func way(s *syntax.Way, fault faultFunc) *Way {
	w := &Way{Mount: MountNamed(s.Mount.String())}
	switch {
	case s.Mouth:
		w.Limb = Mouth
		if s.MouthToo != nil {
			w.Hands = int(number(*s.MouthToo, 1, 1, fault))
		}
	default:
		w.Hands = int(number(*s.Hands, 1, 2, fault))
		if strings.HasPrefix(s.Limb, "f") {
			w.Limb = Foot
		}
	}
	if s.AndFeet != nil {
		w.Feet = int(number(*s.AndFeet, 1, 2, fault))
		if w.Limb == Foot {
			fault(s.AndFeet.Span(), feetForm)
		}
	}
	for _, t := range s.With {
		c := Choice{Implement: t.Name.Text, Count: 1}
		if t.Butt != nil {
			fault(t.Butt.Span(), buttInWay)
		}
		if t.Count != nil {
			c.Count = int(number(*t.Count, 1, 2, fault))
		}
		w.With = append(w.With, c)
	}
	for _, c := range s.Clauses {
		w.clause(c, fault)
	}
	return w
}

func (w *Way) clause(c *syntax.Clause, fault faultFunc) {
	switch {
	case c.Rolls:
		w.Rolls = true
		if c.UpTo != nil {
			w.RollsFor = number(*c.UpTo, 0.1, 600, fault)
		}
		if c.Loud != nil {
			w.RollLoud = number(*c.Loud, 0.1, 600, fault)
		}
	case c.Shaken:
		w.Shaken = true
	case c.Keeps:
		w.Keeps = true
	case c.Seated:
		w.Seated = true
	case c.Stays:
		w.Stays = true
	case c.Named != nil:
		w.Named = c.Named.Value()
	case c.Apart != nil:
		w.Apart = number(*c.Apart, 0.02, 60, fault)
	case c.Least != nil:
		w.Least = number(*c.Least, 0.02, 60, fault)
	case c.Moves != nil:
		w.Moves = motions[oneOf(syntax.Atom(*c.Moves), motions, fault)]
	case c.Softest != nil:
		w.Softest = dynamic(*c.Softest, fault)
	case c.Loudest != nil:
		w.Loudest = dynamic(*c.Loudest, fault)
	case c.Stops != nil:
		w.StopsBy = stoppedBy(c.Stops, fault)
	case c.Costs != nil:
		w.Costs = c.Costs.Value()
	case len(c.Needs) > 0 && len(w.Needs) < gearAllowed:
		w.Needs = append(w.Needs, names(c.Needs)...)
	}
}

func dynamic(n syntax.Name, fault faultFunc) Dynamic {
	d := DynamicNamed(n.Text)
	if d == 0 {
		fault(n.Span(), notADynamic, n.Text).Expected = loudnesses()[1:]
	}
	return d
}

func stoppedBy(s *syntax.Stops, fault faultFunc) []string {
	for _, n := range s.By {
		oneOf(syntax.Atom(n), syntax.Stoppers(), fault)
	}
	return names(s.By)
}

func number(n syntax.Num, least, most float64, fault faultFunc) float64 {
	return numberOr(least, n, least, most, fault)
}

// numberOr is number with another value where there is none in the range.
func numberOr(otherwise float64, n syntax.Num, least, most float64, fault faultFunc) float64 {
	v, err := strconv.ParseFloat(n.Text, 64)
	if err != nil || !(v >= least && v <= most) {
		p := fault(n.Span(), numberOutOfRange, n.Text)
		p.Least, p.Most = least, most
		return otherwise
	}
	return v
}

func texts(in []syntax.Str) []string {
	out := make([]string, len(in))
	for i, s := range in {
		out[i] = s.Value()
	}
	return out
}

func names(in []syntax.Name) []string {
	out := make([]string, len(in))
	for i, s := range in {
		out[i] = s.Text
	}
	return out
}

func atoms(in []syntax.Atom) []string {
	out := make([]string, len(in))
	for i, s := range in {
		out[i] = s.Text
	}
	return out
}
