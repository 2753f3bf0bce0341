package written

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// A source is how a file describes one instrument.
type source struct {
	name, abbreviation, sound string
	key                       int // General MIDI percussion key, or -1
	part                      string
	alone                     bool // the part has no other instrument
	percussion                bool // the part is for percussion, whatever its instruments are called
	among                     kit.Among
}

// A namer finds the catalogue's instruments for those of a file.
type namer struct {
	opt  Options
	work *Work
	own  map[string]string // what a file calls it → name of an Own one
	ask  map[string]Loss   // what to say of an Own one, if it stays
}

// isSet says whether a name is that of a drum set or of what only a drum set has.
func (n *namer) isSet(name string) bool {
	r := n.opt.Catalogue.Read(name, kit.Alone)
	return len(r.Kinds) > 0 && !r.Together && r.Kinds[0].TellsDrumSet()
}

// name is the catalogue's id for an instrument of a file, or the name of an
// Own one that is made for it. known says whether the catalogue has it. What
// is taken among several, and what nobody knows, is said.
func (n *namer) name(s source) (id string, known bool) {
	candidates := []string{s.name, s.abbreviation}
	if s.alone || s.name == "" && s.abbreviation == "" {
		candidates = append(candidates, s.part)
	}
	if in := n.settled(candidates); in != nil {
		return in.ID, true
	}
	sure, left := n.read(s, candidates)
	if sure == nil && s.sound != "" {
		sure = left.narrow(n.opt.Catalogue.ReadSound(s.sound), s.sound)
	}
	if sure == nil && s.key >= 0 {
		sure = left.narrow(n.opt.Catalogue.ReadKey(s.key, s.among), fmt.Sprintf("key %d", s.key))
	}
	switch {
	case sure != nil:
		return sure.ID, true
	case len(left.Kinds) > 0:
		n.sayOpen(s, left.asked, candidates, left.Reading)
		return left.Kinds[0].ID, true
	}
	return n.unknown(s, candidates), false
}

// settled is what the user says that a name means, or nil.
func (n *namer) settled(candidates []string) *kit.Instrument {
	for _, c := range candidates {
		if to, ok := n.opt.Names[c]; ok && c != "" {
			if in := n.opt.Catalogue.Resolve(to); in != nil {
				return in
			}
		}
	}
	return nil
}

// An openReading is what a name, or else a sound or a key, leaves open.
type openReading struct {
	kit.Reading
	asked string
}

// read is what one of the names surely means, or what the first that means
// something leaves open.
func (n *namer) read(s source, candidates []string) (sure *kit.Instrument, left openReading) {
	for _, c := range candidates {
		if strings.TrimSpace(c) == "" {
			continue
		}
		r := n.opt.Catalogue.Read(c, s.among)
		if r.Other && !s.percussion {
			continue // a horn's part, and no motor horn's
		}
		if in := r.Sure(); in != nil {
			n.sayMoved(s, c, in)
			return in, left
		}
		if len(r.Kinds) > 0 && len(left.Kinds) == 0 {
			left = openReading{r, c}
		}
	}
	return nil, left
}

// narrow is what is meant when a sound or a key is known as well, or nil if
// that still leaves something open.
func (left *openReading) narrow(r kit.Reading, what string) *kit.Instrument {
	switch {
	case len(r.Kinds) == 0:
		return nil
	case len(left.Kinds) == 0:
		if r.Sure() != nil {
			return r.Kinds[0]
		}
		*left = openReading{r, what}
		return nil
	}
	var both []*kit.Instrument
	for _, in := range left.Kinds {
		if slices.Contains(r.Kinds, in) {
			both = append(both, in)
		}
	}
	if len(both) == 1 && !left.Together {
		return both[0]
	}
	if len(both) > 1 {
		left.Kinds = both
	}
	return nil
}

// drumWords are how parts name the drums of a set, and how the catalogue does.
// Common practice, no source.
var drumWords = map[string]string{"hi": "high", "mid": "middle", "medium": "middle", "hi-mid": "middle-high", "high-mid": "middle-high", "low-mid": "middle-low", "small": "high", "large": "low"}

// floorTom says whether a name is that of a tom that stands on the floor: below
// the low one of the others, however high it is among its kind.
func floorTom(words []string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return strings.EqualFold(w, "floor") })
}

// takenAsDrum is said of a drum that the set does not have.
const takenAsDrum = "%q: taken as the %s one of the %s"

// drum takes from a name which drum of a set it is for, as in "Bongos, high" or
// "Low Conga": what is left names the set. A name that somebody settles, or that
// leaves more than that open, stays as it is.
func (n *namer) drum(s source) (name, drum string) {
	if _, ok := n.opt.Names[s.name]; ok {
		return s.name, ""
	}
	words := strings.Fields(strings.NewReplacer(",", " ", "(", " ", ")", " ").Replace(s.name))
	if len(words) < 2 {
		return s.name, ""
	}
	last := len(words) - 1
	for _, c := range [...]struct {
		word string
		rest []string
	}{{words[last], words[:last]}, {words[0], words[1:]}} {
		word, rest := strings.ToLower(c.word), strings.Join(c.rest, " ")
		for _, in := range n.opt.Catalogue.Read(rest, s.among).Kinds {
			if floorTom(words) && hasDrum(in, "low") {
				n.work.lose(Loss{Part: s.part, Bar: -1, What: fmt.Sprintf(takenAsDrum, s.name, "low", in.Name())})
				return rest, "low"
			}
			for _, w := range [...]string{word, drumWords[word]} {
				if hasDrum(in, w) && w != "" && !isNumber(w) {
					return rest, w
				}
			}
			// A number says which only behind a comma: else it tells parts apart.
			if isNumber(word) && hasDrum(in, word) && strings.HasSuffix(s.name, ", "+word) {
				return rest, word
			}
		}
	}
	return s.name, ""
}

// hasDrum says whether a set has a drum of that name or number.
func hasDrum(in *kit.Instrument, drum string) bool {
	if in == nil {
		return false
	}
	if k, err := strconv.Atoi(drum); err == nil {
		return 1 <= k && k <= in.Row()
	}
	_, ok := in.MemberNamed(drum)
	return ok
}

func isNumber(word string) bool {
	_, err := strconv.Atoi(word)
	return err == nil
}

// sayMoved says of a name that the company of a drum set makes another thing.
func (n *namer) sayMoved(s source, name string, in *kit.Instrument) {
	if s.among != kit.InDrumSet {
		return
	}
	if r := n.opt.Catalogue.Read(name, kit.Alone); len(r.Kinds) == 1 && r.Kinds[0] == in {
		return
	}
	n.work.lose(Loss{Part: s.part, Bar: -1, What: fmt.Sprintf("%q in the part of a drum set: taken as the %s there; settle it otherwise with --name %q", name, in.Name(), name+"="+in.ID)})
}

// sayOpen says which of several a name is taken for, and what each would mean.
func (n *namer) sayOpen(s source, asked string, candidates []string, r kit.Reading) {
	var ids []string
	for _, in := range r.Kinds {
		ids = append(ids, in.ID)
	}
	first := ids[0]
	by := asked // a sound or a key is settled by the name that goes with it
	if !slices.Contains(candidates, asked) {
		by = cmp.Or(candidates...)
	}
	settle := fmt.Sprintf("taken as %s; settle it with --name %q", first, by+"="+first)
	means := ""
	if r.Meanings != "" {
		means = " (" + r.Meanings + ")"
	}
	what := fmt.Sprintf("%q may be %s%s: %s", asked, strings.Join(ids, " or "), means, settle)
	switch {
	case r.Together:
		what = fmt.Sprintf("%q is the line of %s together, one stroke for all: %s", asked, strings.Join(ids, " and "), settle)
	case len(ids) == 1 && r.Other:
		what = fmt.Sprintf("%q may be the %s, or no percussion at all%s: %s", asked, first, means, settle)
	case len(ids) == 1:
		what = fmt.Sprintf("%q may also mean something else%s: %s", asked, means, settle)
	}
	n.work.lose(Loss{Part: s.part, Bar: -1, What: what})
}

// unknown makes an instrument of the work's own.
func (n *namer) unknown(s source, candidates []string) string {
	called := ""
	for _, c := range candidates {
		if called == "" {
			called = strings.TrimSpace(c)
		}
	}
	if called == "" {
		called = "percussion"
	}
	if id, ok := n.own[called]; ok {
		return id
	}
	id := idOf(called)
	if notationWord(id) {
		id += "-instrument"
	}
	base := id
	for k := 2; n.opt.Catalogue.Instrument(id) != nil || slices.ContainsFunc(n.work.Own, func(o Own) bool { return o.Name == id }); k++ {
		id = fmt.Sprintf("%s-%d", base, k)
	}
	n.own[called] = id
	n.work.Own = append(n.work.Own, Own{Name: id, Called: called, Sound: s.sound, Key: s.key, Family: familyOf(s.sound)})
	what := fmt.Sprintf("nobody here knows an instrument %q", called)
	if n.opt.Catalogue.Read(called, s.among).Section {
		what = fmt.Sprintf("%q is the percussion as a whole, and does not say which instrument", called)
	}
	if n.ask == nil {
		n.ask = map[string]Loss{}
	}
	n.ask[id] = (Loss{Part: s.part, Bar: -1, What: fmt.Sprintf("%s: written as one of its own, %s, that one hand plays with a stick; say what it is with --name %q", what, id, called+"=INSTRUMENT")})
	return id
}

// asks says what nobody knows, of the instruments that have stayed.
func (n *namer) asks() {
	for _, o := range n.work.Own {
		if l, ok := n.ask[o.Name]; ok {
			n.work.lose(l)
		}
	}
}

// familyOf is the catalogue's family of a MusicXML sound id, or "".
func familyOf(sound string) string {
	family, _, _ := strings.Cut(sound, ".")
	return map[string]string{"drum": kit.Membrane, "metal": kit.Metal, "wood": kit.Wood, "rattle": kit.Rattle, "pitched-percussion": kit.Keyboard, "effect": kit.Effect}[family]
}

// notationWord says whether a line that begins with the word, or a limb's line
// that goes on with it, would be read as something else than an instrument.
func notationWord(id string) bool {
	if slices.ContainsFunc(syntax.Forms(), func(f *syntax.Form) bool { return f.Word == id }) ||
		slices.ContainsFunc(syntax.Limbs(), func(l [2]string) bool { return strings.EqualFold(l[0], id) }) {
		return true
	}
	return syntax.Meant(id)
}

// idOf makes a word of a name.
func idOf(name string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case unicode.IsLetter(r) || unicode.IsDigit(r) && b.Len() > 0:
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	if id := strings.Trim(b.String(), "-"); id != "" {
		return id
	}
	return "instrument"
}
