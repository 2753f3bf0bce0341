// Package kit says what instruments, implements and ways of playing are.
//
// In come parsed files with instrument and implement blocks: the catalogue
// that ships in the binary, and any that a piece brings. Out comes a
// [Catalogue]. Adding an instrument or a way of playing is a line of data in
// catalogue/*.handful; no code knows an instrument by name.
//
// The package never times a motion and never looks at a score.
package kit

import (
	"iter"
	"maps"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"example.org/handful/lang/body"
	"example.org/handful/lang/syntax"
)

// A Mount is how an instrument is fixed.
type Mount uint8

const (
	AnyMount Mount = iota // not said
	Held
	OnStand
	Padded
	Clipped
	Clamped
	Hung
	Floor
	OnBody
)

func (m Mount) String() string {
	if m == AnyMount {
		return ""
	}
	return syntax.Mounts()[m-1]
}

// MountNamed reads a mount's words.
func MountNamed(words string) Mount { return Mount(slices.Index(syntax.Mounts(), words) + 1) }

// Gear is what the mount needs besides the instrument, in words, or "".
func (m Mount) Gear() string {
	return [...]string{"", "", "stand", "padded table", "clip", "clamp", "hook or frame", "", ""}[m]
}

// Hardware is what the mount needs as a list of gear names it, or "".
func (m Mount) Hardware() string {
	return [...]string{"", "", "stand", "pad", "clip", "clamp", "hook", "", ""}[m]
}

// Table is the table that implements rest on, as a list of gear names it.
const Table = "table"

// MountHardware is what mounts ask for, and tables.
func MountHardware() []string {
	out := []string{Table}
	for m := AnyMount; m <= OnBody; m++ {
		if h := m.Hardware(); h != "" {
			out = append(out, h)
		}
	}
	return out
}

// Hardware is every piece of hardware that a mount or a way of playing asks
// for.
func (c *Catalogue) Hardware() []string {
	out := MountHardware()
	for _, in := range c.Instruments() {
		for _, w := range in.Ways {
			for _, need := range w.Needs {
				if !slices.Contains(out, need) {
					out = append(out, need)
				}
			}
		}
	}
	return out
}

// The kinds of instrument that rules and pictures speak of, and the rest.
const (
	Membrane  = "membrane"
	Metal     = "metal"
	Wood      = "wood"
	Rattle    = "shaken"
	Keyboard  = "keyboard"
	Wind      = "wind"
	Effect    = "effect"
	ByBody    = "body"
	Composite = "composite"
)

// A Dynamic is a loudness, from ppp at 1 to fff at 8; 0 is not said.
type Dynamic int8

// loudnesses are the words from ppp to fff, each where its number is; before
// them stands what the notation has besides, pppp.
func loudnesses() []string { return syntax.Loudnesses()[:FFF+1] }

// The dynamics that rules speak of.
const (
	PPP Dynamic = iota + 1
	PP
	P
	MP
	MF
	F
	FF
	FFF
)

func (d Dynamic) String() string {
	if d == 0 {
		return ""
	}
	return loudnesses()[d]
}

// DynamicNamed reads a dynamic. What is struck hard counts as f, what is p
// after its attack as p, and what is beyond the softest and the loudest as
// those.
func DynamicNamed(word string) Dynamic {
	switch word {
	case "sf", "fz", "sfz", "sffz", "rf", "rfz":
		return F
	case "fp", "sfp":
		return P
	case "pppp":
		return PPP
	case "ffff":
		return FFF
	}
	return Dynamic(max(0, slices.Index(loudnesses()[1:], word)+1))
}

// Noise is how much noise it makes to take a thing up or lay it down.
type Noise uint8

const (
	Silent Noise = iota
	Soft
	Audible
	Loud
)

// Handling is how hard a thing is to take and lay.
type Handling uint8

const (
	Easy Handling = iota
	Careful
	Awkward
)

// Weight of an implement; Nothing is the bare hand.
type Weight uint8

const (
	Nothing Weight = iota
	Light
	Medium
	Heavy
)

// LimbKind says what sort of limb a way of playing takes.
type LimbKind uint8

const (
	Hand LimbKind = iota
	Foot
	Mouth
)

// String is what sort of limb it is, in a word.
func (k LimbKind) String() string { return [...]string{"hand", "foot", "mouth"}[k] }

// KindOf is what sort of limb a limb is.
func KindOf(l body.Limb) LimbKind {
	switch l {
	case body.RightFoot, body.LeftFoot:
		return Foot
	case body.Mouth:
		return Mouth
	}
	return Hand
}

// A Choice is an implement that a way of playing may be played with, and how
// many of them one hand holds (2: a two-mallet grip). A cue may ask for its
// butt end.
type Choice struct {
	Implement string
	Count     int
	Butt      bool
}

// Thing is the choice as the notation names it, nil when it is none: 2 yarn-mallets.
func (c Choice) Thing() *syntax.Thing {
	if c.Implement == "" {
		return nil
	}
	t := &syntax.Thing{Name: syntax.Word(c.Implement)}
	switch {
	case c.Count > 1:
		t.Count, t.Name.Text = new(syntax.Number(float64(c.Count))), c.Implement+"s"
	case c.Butt:
		t.Butt = &syntax.Butt{Text: "butt of"}
	}
	return t
}

// ThingFor is the same for a line of one hand or of both, of which each holds as many:
// 4 yarn-mallets.
func (c Choice) ThingFor(limb body.Limb) *syntax.Thing {
	if c.Count > 1 && limb.TwoHands() {
		c.Count *= 2
	}
	return c.Thing()
}

// A Way is one way of playing an instrument.
type Way struct {
	Mount    Mount
	Limb     LimbKind
	Hands    int // hands (or feet) it takes
	With     []Choice
	Rolls    bool
	RollsFor float64 // seconds that a roll can be kept up; 0 is no limit
	RollLoud float64 // the same at forte and above; 0 is no less
	Shaken   bool
	Keeps    bool // a light implement may stay in the fingers
	Feet     int  // feet that it takes besides the hands: a damper pedal, a leg that is raised
	Seated   bool
	Stays    bool    // the player stays where they are for as long as they play it
	Named    string  // what it may be asked for by, besides its mount: "on the thigh"
	Apart    float64 // seconds below which the sound of two strokes runs together; 0: it does not
	Least    float64 // seconds that the limb or the thing needs from stroke to stroke; 0: what its motion needs
	Moves    string  // how the limb makes its strokes; "" is as the instrument says
	Softest  Dynamic
	Loudest  Dynamic
	StopsBy  []string // overrides the instrument's
	Needs    []string // gear besides the mount's own
	Costs    string   // what the sound pays; "" for nothing
}

// Fixed says whether the instrument stays where it is while it is played, so
// that a hand needs to bring no more than an implement.
func (w *Way) Fixed() bool { return w.Mount != Held }

// Lists says whether it is played with an implement.
func (w *Way) Lists(implement string) bool {
	return slices.ContainsFunc(w.With, func(c Choice) bool { return c.Implement == implement })
}

// HandHolds says whether the striking hand itself holds the instrument.
func (w *Way) HandHolds() bool {
	return w.Limb == Hand && w.Mount == Held && (w.Hands == 1 || len(w.With) == 0)
}

// LeavesStick says whether the hand that holds the instrument has its first
// fingers left for a light stick: what is so small lies in the palm.
func (w *Way) LeavesStick() bool { return w.Keeps && w.Hands == 1 && w.HandHolds() }

// A Ban is a set of implements an instrument is never played with, and why.
type Ban struct {
	With   []string
	Reason string
}

// Carry is who gets an instrument to its place.
type Carry uint8

const (
	Anyhow    Carry = iota // not said
	OnePerson              // one carries it
	TwoPeople              // it takes two
	OnWheels               // it is rolled, and lifted over steps by two
)

// A StandIn says that an instrument may be played instead of another, and what
// the sound pays for it.
type StandIn struct {
	For   string // the other's id
	Costs string
}

// A Stop is what it takes to stop a ring.
type Stop uint8

const (
	StopNothing Stop = iota // what holds it or bears it, or it stops by itself
	StopHand                // a hand that is free
	StopPedal               // a foot that is free
)

// StopNamed is what it takes to stop a ring by a thing, as the catalogue names
// it.
func StopNamed(word string) Stop {
	switch word {
	case "hand", "fingers", "forearm":
		return StopHand
	case "pedal":
		return StopPedal
	}
	return StopNothing
}

// Snares is what an instrument has to do with the snares of a drum.
type Snares uint8

const (
	NoSnares Snares = iota
	Lever           // it has some, which a lever throws off
	Buzz            // played loud, it makes those beside it buzz
)

// An Instrument is one entry of the catalogue.
type Instrument struct {
	ID      string
	Called  string
	lower   string // that in lower case, as far as it is known
	Abbrevs []string
	Also    []string
	Family  string
	Sounds  []string
	MIDI    []int
	Glyphs  []string
	Zone    float64 // cm
	Wide    float64 // cm, of all of it seen from above; 0 is as wide as the zone
	Deep    float64
	Round   bool    // Wide across, not a box
	Height  float64 // cm above the floor of what is struck, set up for somebody standing
	Low     float64 // cm above the floor where the body begins; 0 stands on the floor itself
	High    float64 // … and where it ends
	Over    float64 // cm that its edge may hang over something lower
	Members int     // drums of a set that may stand in an arc round the player; 0 is one thing
	// What its notes are and where they lie: see [Instrument.Bar] and [Instrument.Member].
	Range       Range      // as written; none where strokes have no pitch
	Octaves     int        // how much higher it sounds than written
	Bars        [2]float64 // cm, the width of its lowest and its highest bar
	MemberNames []string   // from the left
	Kettles     []Kettle   // from the left
	HandTuned   bool       // its kettles have handles to turn, and no pedals
	Shares      []string   // ids of what may stand in its place, being a part of it
	Doublers    []string   // ids of what plays its notes with it in a march, though they are not written for that
	Snares      Snares
	Seat        string  // what one sits on for its seated ways; "itself" is the instrument
	Rings       float64 // seconds; 0 is short
	Noise       Noise
	Handling    Handling
	Moves       string  // how a limb makes its strokes, where a way does not say; "" is as a stick, or the bare hand
	Late        float64 // seconds the hand is needed before the sound
	LateWhy     string
	StopsBy     []string
	Never       []Ban
	Basis       string
	Carry       Carry
	Kilos       float64 // 0 is not said
	StandsFor   []StandIn
	Notes       []string
	Ways        []*Way
	Own         bool // defined by the piece, not by the catalogue
	File        string
	Line        int
	LineCount   int
}

// Sized says whether anything says how much room the instrument takes.
func (in *Instrument) Sized() bool { return in.Wide > 0 }

// Stands says whether the instrument brings its own way down to the floor, by
// a frame, by feet or by standing there.
func (in *Instrument) Stands() bool { return in.Low == 0 }

// Akin says whether two instruments are things of one kind, as the MusicXML
// sound ids have it: cymbals, whatever they are struck with.
func (in *Instrument) Akin(o *Instrument) bool {
	return slices.ContainsFunc(in.Sounds, func(a string) bool {
		kind := a[:strings.LastIndexByte(a, '.')+1]
		return strings.Contains(strings.TrimSuffix(kind, "."), ".") && slices.ContainsFunc(o.Sounds, func(b string) bool { return strings.HasPrefix(b, kind) })
	})
}

// RollsAt is how many seconds a roll can be kept up at a loudness; 0 is no
// limit.
func (w *Way) RollsAt(d Dynamic) float64 {
	if d >= F && w.RollLoud > 0 {
		return w.RollLoud
	}
	return w.RollsFor
}

// Motions are the kinds of stroke that a way or an instrument may say it moves
// with.
func Motions() []string { return slices.Clone(motions) }

// MovesWith is how the limb makes its strokes when the instrument is played
// that way, or "" where nothing is said.
func (in *Instrument) MovesWith(w *Way) string {
	if w != nil && w.Moves != "" {
		return w.Moves
	}
	return in.Moves
}

// LeavesStick says whether one hand may hold the instrument and a light stick.
func (in *Instrument) LeavesStick() bool { return slices.ContainsFunc(in.Ways, (*Way).LeavesStick) }

// Usual is the way the instrument is played when nothing is said.
func (in *Instrument) Usual() *Way { return in.Ways[0] }

// Name is the trade name in lower case, for sentences.
func (in *Instrument) Name() string {
	if in.Called == "" {
		return strings.ReplaceAll(in.ID, "-", " ")
	}
	if in.lower != "" {
		return in.lower
	}
	return lowerFirst(in.Called)
}

// Verb is the form of a verb behind the instrument's name: the claves are, the
// triangle is. A name is for many that ends as English plurals do, or that is
// one of a set and ends as Italian ones do.
func (in *Instrument) Verb(one, many string) string {
	name, _, _ := strings.Cut(in.Name(), " (")
	if strings.HasSuffix(name, "s") && !strings.HasSuffix(name, "ss") || in.Members > 1 && strings.HasSuffix(name, "i") {
		return many
	}
	return one
}

// Stops is what stops the ring when the instrument is played that way.
func (in *Instrument) Stops(w *Way) []string {
	if w != nil && len(w.StopsBy) > 0 {
		return w.StopsBy
	}
	return in.StopsBy
}

// Banned says why an implement is never used on the instrument, or "".
func (in *Instrument) Banned(implement string) string {
	for _, b := range in.Never {
		if slices.Contains(b.With, implement) {
			return b.Reason
		}
	}
	return ""
}

// An Implement is something that strikes.
type Implement struct {
	ID       string
	Called   string
	lower    string // that in lower case, as far as it is known
	Abbrevs  []string
	Also     []string
	Weight   Weight
	Length   float64 // cm; 0 is not said
	Soft     bool    // its head does not bounce
	Noise    Noise
	Handling Handling
	Butt     string   // the implement as which its butt end plays; "" where that plays nothing
	ButtCost string   // what the sound pays for that
	Glyphs   []string // SMuFL names
	Basis    string
	Own      bool
	File     string
	Line     int
}

// PlaysAs is the implement as which a choice plays: itself, or what its butt
// end stands for.
func (cat *Catalogue) PlaysAs(c Choice) string {
	if im := cat.Implement(c.Implement); c.Butt && im != nil {
		return im.Butt
	}
	return c.Implement
}

// NameOf is a choice in words, without how many.
func (cat *Catalogue) NameOf(c Choice) string {
	name := c.Implement
	if im := cat.Implement(c.Implement); im != nil {
		name = im.Name()
	}
	if c.Butt {
		return "butt of the " + name
	}
	return name
}

// leastBeside is how long a stick or a mallet is at least, in cm: common
// practice, no source.
const leastBeside = 20

// AloneBecause says why one hand does not hold the implement beside another
// one, or "" where it does: two sticks or mallets of a light kind go into one
// hand, as for four-mallet playing (common practice, no source).
func (im *Implement) AloneBecause() string {
	switch {
	case im.Weight == Nothing:
		return "the bare hand holds nothing, and nothing beside it"
	case im.Weight != Light:
		return "it is too heavy for that"
	case im.Handling != Easy || im.Length > 0 && im.Length < leastBeside:
		return "it takes the hand for itself"
	}
	return ""
}

// Name is the implement's name in lower case, for sentences.
func (im *Implement) Name() string {
	if im.Called == "" {
		return strings.ReplaceAll(im.ID, "-", " ")
	}
	if im.lower != "" {
		return im.lower
	}
	return lowerFirst(im.Called)
}

// Short is the name as it is pencilled in.
func (im *Implement) Short() string {
	if len(im.Abbrevs) == 0 {
		return im.Name()
	}
	return im.Abbrevs[0]
}

func lowerFirst(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	if second, _ := utf8.DecodeRuneInString(s[n:]); !unicode.IsUpper(first) || unicode.IsUpper(second) {
		return s
	}
	return string(unicode.ToLower(first)) + s[n:]
}

// A Catalogue is a set of instruments and implements. It does not change once
// made; [Catalogue.With] makes another.
type Catalogue struct {
	below       *Catalogue
	instruments map[string]*Instrument
	implements  map[string]*Implement
	naming      sync.Once
	index       nameIndex // of the layer's own names, once somebody asks for one
	shelf       *shelf    // the entries of the binary, at the very bottom
}

// Instrument finds an instrument by its id.
func (c *Catalogue) Instrument(id string) *Instrument {
	for ; c != nil; c = c.below {
		if c.shelf != nil {
			return c.shelf.instrument(id)
		}
		if in := c.instruments[id]; in != nil {
			return in
		}
	}
	return nil
}

// Implement finds an implement by its id, or by its plural.
func (c *Catalogue) Implement(word string) *Implement {
	if im := c.implement(word); im != nil {
		return im
	}
	if im := c.implement(strings.TrimSuffix(word, "s")); im != nil {
		return im
	}
	return c.implement(strings.TrimSuffix(word, "es"))
}

func (c *Catalogue) implement(id string) *Implement {
	for ; c != nil; c = c.below {
		if c.shelf != nil {
			return c.shelf.implement(id)
		}
		if im := c.implements[id]; im != nil {
			return im
		}
	}
	return nil
}

// whole is a layer with all its entries read.
func (c *Catalogue) whole() *Catalogue {
	if c.shelf != nil {
		return c.shelf.everything()
	}
	return c
}

// Called finds every instrument that goes by a name or by letters, ignoring
// case, accents, dots, blanks and hyphens: "S.D.", "wood-block", "Cym.". What a
// name of a part may mean besides is for [Catalogue.Read].
func (c *Catalogue) Called(name string) []*Instrument { return c.called(squash(name)) }

// Resolve finds an instrument by id, or by a name that only one goes by.
func (c *Catalogue) Resolve(name string) *Instrument {
	if in := c.Instrument(name); in != nil {
		return in
	}
	if all := c.Called(name); len(all) == 1 {
		return all[0]
	}
	return nil
}

// Instruments is every instrument, in the order of their ids.
func (c *Catalogue) Instruments() []*Instrument {
	var out []*Instrument
	for at := c; at != nil; at = at.below {
		for id, in := range at.whole().instruments {
			if c.Instrument(id) == in {
				out = append(out, in)
			}
		}
	}
	slices.SortFunc(out, func(a, b *Instrument) int { return strings.Compare(a.ID, b.ID) })
	return out
}

// Implements is every implement, in the order of their ids.
func (c *Catalogue) Implements() []*Implement {
	var out []*Implement
	for at := c; at != nil; at = at.below {
		for id, im := range at.whole().implements {
			if c.implement(id) == im {
				out = append(out, im)
			}
		}
	}
	slices.SortFunc(out, func(a, b *Implement) int { return strings.Compare(a.ID, b.ID) })
	return out
}

// ImplementIDs is the ids of every implement, in order: none of them is read for
// that.
func (c *Catalogue) ImplementIDs() []string {
	return c.ids(func(s *shelf) iter.Seq[string] { return maps.Keys(s.implements) }, func(c *Catalogue) iter.Seq[string] { return maps.Keys(c.implements) })
}

// InstrumentIDs is the same of the instruments.
func (c *Catalogue) InstrumentIDs() []string {
	return c.ids(func(s *shelf) iter.Seq[string] { return maps.Keys(s.instruments) }, func(c *Catalogue) iter.Seq[string] { return maps.Keys(c.instruments) })
}

// ids are those of each layer, by what is on its shelf and what is not, once each.
func (c *Catalogue) ids(onShelf func(*shelf) iter.Seq[string], besides func(*Catalogue) iter.Seq[string]) []string {
	var out []string
	for at := c; at != nil; at = at.below {
		if at.shelf != nil {
			out = slices.AppendSeq(out, onShelf(at.shelf))
		}
		out = slices.AppendSeq(out, besides(at))
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// With is the catalogue with more entries laid over it.
func (c *Catalogue) With(instruments []*Instrument, implements []*Implement) *Catalogue {
	if len(instruments)+len(implements) == 0 {
		return c
	}
	over := &Catalogue{below: c, instruments: map[string]*Instrument{}, implements: map[string]*Implement{}}
	for _, in := range instruments {
		over.instruments[in.ID] = in
	}
	for _, im := range implements {
		over.implements[im.ID] = im
	}
	return over
}

// Names is everything the instrument goes by.
func (in *Instrument) Names() []string {
	names := append([]string{in.ID}, in.Abbrevs...)
	if in.Called != "" {
		names = append(names, in.Called)
	}
	return append(names, in.Also...)
}

// Meant lists what somebody may have meant by a name that is not there: those
// that are it but for hyphens, that have it as a word, or else the closest.
func Meant(word string, ids []string) []string {
	bare := func(s string) string { return strings.TrimSuffix(strings.ReplaceAll(strings.ToLower(s), "-", ""), "s") }
	var out []string
	add := func(id string) {
		if !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	for _, id := range ids {
		if bare(id) == bare(word) {
			add(id)
		}
	}
	if near := syntax.Nearest(word, ids); len(out) == 0 && strings.Contains(word, "-") && near != "" {
		add(near)
	}
	if last := word[strings.LastIndexByte(word, '-')+1:]; len(out) == 0 && len(bare(last)) > 2 {
		for _, id := range ids {
			if slices.ContainsFunc(strings.Split(id, "-"), func(p string) bool { return bare(p) == bare(last) }) {
				add(id)
			}
		}
		slices.SortStableFunc(out, func(a, b string) int { return strings.Count(a, "-") - strings.Count(b, "-") })
	}
	if near := syntax.Nearest(word, ids); len(out) == 0 && near != "" {
		add(near)
	}
	return out[:min(len(out), 8)]
}
