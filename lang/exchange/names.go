package exchange

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"handful/lang/kit"
)

// A source is how a file describes one instrument.
type source struct {
	name, abbreviation, sound string
	key                       int // General MIDI percussion key, or -1
	part                      string
	alone                     bool // the part has no other instrument
}

// A namer finds the catalogue's instruments for those of a file.
type namer struct {
	opt  Options
	work *Work
	own  map[string]string // what a file calls it → name of an Own one
}

// name is the catalogue's id for an instrument of a file, or the name of an
// Own one that is made for it. known says whether the catalogue has it.
func (n *namer) name(s source) (id string, known bool) {
	candidates := []string{s.name, s.abbreviation}
	if s.alone {
		candidates = append(candidates, s.part)
	}
	for _, c := range candidates {
		if to, ok := n.opt.Names[c]; ok && c != "" {
			if in := n.opt.Catalogue.Resolve(to); in != nil {
				return in.ID, true
			}
		}
	}
	var open []*kit.Instrument // that a name leaves open
	asked := ""
	for _, c := range candidates {
		for _, spelling := range []string{c, plainName(c)} {
			if strings.TrimSpace(spelling) == "" {
				continue
			}
			found := n.opt.Catalogue.Called(spelling)
			if in := n.opt.Catalogue.Instrument(strings.ToLower(spelling)); in != nil {
				found = []*kit.Instrument{in}
			}
			if len(found) == 1 {
				return found[0].ID, true
			}
			if len(found) > 1 && open == nil {
				open, asked = found, c
			}
		}
	}
	by := func(fits func(*kit.Instrument) bool) []*kit.Instrument {
		var out []*kit.Instrument
		for _, in := range n.opt.Catalogue.Instruments() {
			if fits(in) && (open == nil || slices.Contains(open, in)) {
				out = append(out, in)
			}
		}
		return out
	}
	if s.sound != "" {
		if found := by(func(in *kit.Instrument) bool { return slices.Contains(in.Sounds, s.sound) }); len(found) > 0 {
			return found[0].ID, true
		}
	}
	if s.key >= 0 {
		if found := by(func(in *kit.Instrument) bool { return slices.Contains(in.MIDI, s.key) }); len(found) > 0 {
			return found[0].ID, true
		}
	}
	if open != nil {
		var ids []string
		for _, in := range open {
			ids = append(ids, in.ID)
		}
		n.work.lose(Loss{Part: s.part, Bar: -1, What: fmt.Sprintf("%q may be %s: taken as %s; settle it with --name %q", asked, strings.Join(ids, " or "), ids[0], asked+"="+ids[0])})
		return ids[0], true
	}
	return n.unknown(s, candidates), false
}

// plainName is a name without the number of the player or the instrument, and
// without what is said in brackets: "Snare Drum 2" is a snare drum.
func plainName(name string) string {
	if i := strings.IndexAny(name, "(["); i > 0 {
		name = name[:i]
	}
	words := strings.Fields(name)
	for len(words) > 1 {
		last := strings.Trim(words[len(words)-1], ".#")
		if strings.Trim(last, "0123456789") != "" && !slices.Contains([]string{"I", "II", "III", "IV", "V"}, last) {
			break
		}
		words = words[:len(words)-1]
	}
	return strings.Join(words, " ")
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
	for k := 2; n.opt.Catalogue.Instrument(id) != nil || slices.ContainsFunc(n.work.Own, func(o Own) bool { return o.Name == id }); k++ {
		id = fmt.Sprintf("%s-%d", idOf(called), k)
	}
	n.own[called] = id
	n.work.Own = append(n.work.Own, Own{Name: id, Called: called, Sound: s.sound, Key: s.key})
	return id
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
