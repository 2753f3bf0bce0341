package kit

import (
	"cmp"
	"embed"
	"iter"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"
)

//go:embed tables/*.tsv
var tables embed.FS

// rowsOf reads a table of the package: lines of cells, without the comments
// and the heading.
func rowsOf(name string) [][]string {
	text, err := tables.ReadFile("tables/" + name)
	if err != nil {
		return nil
	}
	var out [][]string
	headed := false
	for line := range strings.Lines(string(text)) {
		line = strings.TrimRight(line, "\r\n")
		if line == "" || line[0] == '#' {
			continue
		}
		if headed {
			out = append(out, strings.Split(line, "\t"))
		}
		headed = true
	}
	return out
}

// A Reading is what a name, as a part writes it, may mean.
type Reading struct {
	// Kinds is what it may be, the likeliest first: one, and that is it; several,
	// and the part leaves it open; none, and nobody knows the name.
	Kinds []*Instrument
	// Meanings says of a name that is left open what each would mean, or of one
	// that is not, what else it may mean; "" otherwise.
	Meanings string
	// Together is set when the name lists things that are all meant: "S.D., B.D.".
	Together bool
	// Section is set when the name is that of the percussion as a whole.
	Section bool
	// Other is set when the name is also, or only, that of an instrument that is
	// no percussion: Horn.
	Other bool
}

// Sure is the one instrument that the name means, or nil.
func (r Reading) Sure() *Instrument {
	if len(r.Kinds) == 1 && r.Meanings == "" && !r.Together && !r.Other {
		return r.Kinds[0]
	}
	return nil
}

// Among says in which company a name stands, which may settle what it means.
type Among uint8

const (
	Alone     Among = iota // nothing is known
	InDrumSet              // beside a hi-hat, a ride or a pedal: a crash hangs on a stand
)

// Read says what a name in a part means: in the singular or the plural, with
// numbers before or behind it, whole or cut short word by word, with the words
// that say which size or pitch. It never takes a name that it does not know
// for another.
func (c *Catalogue) Read(name string, among Among) Reading {
	var s spelling
	s.read(name)
	r, ok := c.readAny(&s)
	if !ok {
		if i := strings.IndexAny(name, "(["); i > 0 {
			s.read(name[:i])
			r, ok = c.readAny(&s)
		}
	}
	if !ok {
		r, ok = c.readList(name)
	}
	if !ok {
		k := known()
		key := s.key()
		r.Section, r.Other = k.whole[key], k.others[key]
	}
	if among == InDrumSet {
		c.inDrumSet(&r)
	}
	return r
}

// inDrumSet settles a reading for the company of a drum set.
func (c *Catalogue) inDrumSet(r *Reading) {
	if r.Together || len(r.Kinds) == 0 {
		return
	}
	set := known().set
	kinds := make([]*Instrument, 0, len(r.Kinds))
	moved := false
	for _, in := range r.Kinds {
		if to := c.Instrument(set[in.ID]); to != nil {
			in, moved = to, true
		}
		if !slices.Contains(kinds, in) {
			kinds = append(kinds, in)
		}
	}
	r.Kinds = kinds
	if moved && len(kinds) == 1 {
		r.Meanings = ""
	}
}

// IsDrumSet says whether an instrument is a drum set as a whole.
func (in *Instrument) IsDrumSet() bool { return known().setOnly[in.ID] == "whole" }

// TellsDrumSet says whether an instrument is a drum set, or met nowhere but in
// one.
func (in *Instrument) TellsDrumSet() bool { return known().setOnly[in.ID] != "" }

// KeyTellsDrumSet says whether a key of the General MIDI percussion map is that
// of something that is met nowhere but in a drum set.
func KeyTellsDrumSet(key int) bool {
	return slices.ContainsFunc(keyIndex()[key], func(id string) bool { return strings.HasSuffix(known().setOnly[id], "key") })
}

// readAny tries a name as it stands, then without its numbers, then without
// the words that only say which size, pitch or place, then with the German
// umlauts that are written out put back.
func (c *Catalogue) readAny(s *spelling) (Reading, bool) {
	if r, ok := c.readPlain(s); ok {
		return r, true
	}
	if s.dropNumbers() {
		if r, ok := c.readPlain(s); ok {
			return r, true
		}
	}
	if k := known(); k.others[s.key()] || k.whole[s.key()] {
		return Reading{}, false
	}
	if r, ok := c.readShorter(s); ok {
		return r, true
	}
	if s.umlauts() {
		if r, ok := c.readPlain(s); ok {
			return r, true
		}
	}
	return Reading{}, false
}

// readShorter tries a name without one aside after the other, then without
// what it says it is played with.
func (c *Catalogue) readShorter(s *spelling) (Reading, bool) {
	whole := s.words
	for s.dropAside(false) || s.dropAside(true) {
		if r, ok := c.readPlain(s); ok {
			return r, true
		}
	}
	s.words = whole
	if !s.dropWith() {
		return Reading{}, false
	}
	if r, ok := c.readPlain(s); ok {
		return r, true
	}
	if s.dropAside(true) {
		return c.readPlain(s)
	}
	return Reading{}, false
}

// readPlain looks a name up: among those that are left open, then as it
// stands, then word by word, then cut short.
func (c *Catalogue) readPlain(s *spelling) (Reading, bool) {
	if len(s.words) == 0 {
		return Reading{}, false
	}
	k := known()
	key := s.key()
	open := k.open[key+"."]
	if open == nil || !s.words[len(s.words)-1].dotted {
		open = k.open[key]
	}
	if open != nil {
		r := Reading{Meanings: open.meanings, Other: k.others[key]}
		for _, id := range open.ids {
			if in := c.Instrument(id); in != nil {
				r.Kinds = append(r.Kinds, in)
			}
		}
		if len(r.Kinds) > 0 {
			return r, true
		}
	}
	if found := c.called(key); len(found) > 0 {
		return Reading{Kinds: found, Other: k.others[key]}, true
	}
	if k.others[key] || k.whole[key] || s.numbered() { // no form of a word is a number, and names with numbers are not cut short
		return Reading{}, false
	}
	if found := c.byWords(s, k); len(found) > 0 {
		return Reading{Kinds: found}, true
	}
	return c.cutShort(s, k)
}

// separators part the names of a line that is for several things at once.
var separators = strings.NewReplacer("/", "\n", "&", "\n", "+", "\n", ",", "\n", ";", "\n", ":", "\n", " - ", "\n", " – ", "\n", " — ", "\n",
	" and ", "\n", " und ", "\n", " et ", "\n", " e ", "\n", " ed ", "\n", " y ", "\n", " or ", "\n", " u. ", "\n")

// readList reads a name that lists several. What only says whose part it is,
// "Percussion 1: Snare Drum", does not count.
func (c *Catalogue) readList(name string) (Reading, bool) {
	pieces := strings.Split(separators.Replace(name), "\n")
	if len(pieces) < 2 || len(pieces) > 12 {
		return Reading{}, false
	}
	var all []Reading
	for _, piece := range pieces {
		var s spelling
		s.read(piece)
		r, ok := c.readAny(&s)
		if !ok {
			if key := s.key(); key == "" || known().whole[key] {
				continue
			}
			return Reading{}, false
		}
		all = append(all, r)
	}
	switch len(all) {
	case 0:
		return Reading{}, false
	case 1:
		return all[0], true
	}
	out := Reading{Together: true}
	for _, r := range all {
		if in := r.Kinds[0]; !slices.Contains(out.Kinds, in) {
			out.Kinds = append(out.Kinds, in)
		}
		out.Other = out.Other || r.Other
	}
	if len(out.Kinds) == 1 {
		out.Together = false
	}
	return out, true
}

// A spelling is a name taken to pieces.
type spelling struct {
	words []nameWord
}

// A nameWord is one word of a name: small letters without accents.
type nameWord struct {
	text   string
	upper  bool // all in capitals
	dotted bool // cut short with a dot
	number bool
}

func (s *spelling) key() string {
	switch len(s.words) {
	case 0:
		return ""
	case 1:
		return s.words[0].text
	}
	var b strings.Builder
	for _, w := range s.words {
		b.WriteString(w.text)
	}
	return b.String()
}

// longestName is the longest name that is read, in bytes.
const longestName = 200

func (s *spelling) read(name string) {
	s.words = s.words[:0]
	if len(name) > longestName {
		name = name[:longestName]
	}
	var buf [longestName * 2]byte
	out := buf[:0]
	w := nameWord{upper: true}
	shut := func() {
		if len(out) > 0 {
			w.text = string(out)
			s.words = append(s.words, w)
		}
		out = buf[:0]
		w = nameWord{upper: true}
	}
	for i, r := range name {
		switch {
		case unicode.IsLetter(r):
			if w.number {
				shut()
			}
			w.upper = w.upper && unicode.IsUpper(r)
			out = fold(out, r)
		case unicode.IsNumber(r):
			if len(out) > 0 && !w.number {
				shut()
			}
			w.number = true
			out = utf8.AppendRune(out, r)
		case unicode.IsMark(r): // an accent by itself
		case r == '\'' || r == '’':
			// "lion's" is one word, "d'acier" two.
			if rest := name[i+utf8.RuneLen(r):]; len(out) > 2 && (rest == "s" || strings.HasPrefix(rest, "s ") || strings.HasPrefix(rest, "S")) {
				continue
			}
			shut()
		case r == '.':
			w.dotted = true
			shut()
		default:
			shut()
		}
	}
	shut()
}

// fold writes a letter small and without its accent.
func fold(out []byte, r rune) []byte {
	if r < utf8.RuneSelf {
		if 'A' <= r && r <= 'Z' {
			r += 'a' - 'A'
		}
		return append(out, byte(r))
	}
	r = unicode.ToLower(r)
	switch r {
	case 'à', 'á', 'â', 'ã', 'ä', 'å':
		return append(out, 'a')
	case 'è', 'é', 'ê', 'ë':
		return append(out, 'e')
	case 'ì', 'í', 'î', 'ï':
		return append(out, 'i')
	case 'ò', 'ó', 'ô', 'õ', 'ö', 'ø':
		return append(out, 'o')
	case 'ù', 'ú', 'û', 'ü':
		return append(out, 'u')
	case 'ç':
		return append(out, 'c')
	case 'ñ':
		return append(out, 'n')
	case 'ß':
		return append(out, 's', 's')
	case 'œ':
		return append(out, 'o', 'e')
	case 'æ':
		return append(out, 'a', 'e')
	}
	return utf8.AppendRune(out, r)
}

func squash(name string) string {
	var s spelling
	s.read(name)
	return s.key()
}

var romans = []string{"i", "ii", "iii", "iv", "v", "vi", "vii", "viii"}

// dropNumbers takes out what says how many, or whose: 2, 1st, No. 3, II, A.
func (s *spelling) dropNumbers() bool {
	kept := make([]nameWord, 0, len(s.words))
	letters := 0
	for _, w := range s.words {
		if !w.number {
			letters = max(letters, len(w.text))
		}
	}
	for i, w := range s.words {
		after := i > 0 && s.words[i-1].number
		before := i+1 < len(s.words) && s.words[i+1].number
		switch {
		case w.number,
			w.upper && slices.Contains(romans, w.text) && letters > len(w.text) && (w.text != "v" && w.text != "i" || i == len(s.words)-1 && !w.dotted),
			after && slices.Contains([]string{"st", "nd", "rd", "th", "x", "er", "o", "a", "ª", "º"}, w.text) && len(s.words) > 2,
			before && slices.Contains([]string{"no", "nr", "n", "num", "number"}, w.text),
			w.upper && !w.dotted && len(w.text) == 1 && i > 0 && i == len(s.words)-1 && letters > 3:
			continue
		}
		kept = append(kept, w)
	}
	dropped := len(kept) < len(s.words)
	s.words = kept
	return dropped
}

// dropWith takes out what says how it is played or tuned: "Timpani in F, C",
// "S.D. with brushes".
func (s *spelling) dropWith() bool {
	i := slices.IndexFunc(s.words, func(w nameWord) bool {
		return !w.dotted && slices.Contains([]string{"in", "with", "w", "mit", "con", "avec", "com"}, w.text)
	})
	if i < 1 {
		return false
	}
	s.words = s.words[:i]
	return true
}

// dropAside takes out one word at the beginning that leaves an instrument what
// it is, or else one at the end; or, with all, every one.
func (s *spelling) dropAside(all bool) bool {
	aside := known().aside
	kept := s.words
	switch n := len(kept); {
	case all:
		kept = slices.DeleteFunc(slices.Clone(kept), func(w nameWord) bool { return aside[w.text] })
	case n > 1 && aside[kept[0].text]:
		kept = kept[1:]
	case n > 1 && aside[kept[n-1].text]:
		kept = kept[:n-1]
	}
	if len(kept) == 0 || len(kept) == len(s.words) {
		return false
	}
	s.words = kept
	return true
}

var written = strings.NewReplacer("ae", "a", "oe", "o", "ue", "u")

// umlauts puts back the umlauts that are written out: Roehrenglocken.
func (s *spelling) umlauts() bool {
	changed := false
	for i := range s.words {
		w := &s.words[i]
		if to := written.Replace(w.text); to != w.text {
			w.text, changed = to, true
		}
	}
	return changed
}

// glossary is what the tables know of names, and the names of the catalogue
// in the binary.
type glossary struct {
	forms   map[string][]string // a form of a word → the words; one ending in a dot is read with its dot only
	open    map[string]*openName
	whole   map[string]bool
	others  map[string]bool
	aside   map[string]bool
	set     map[string]string
	setOnly map[string]string // what tells that a part is a drum set's
	nameIndex
}

type openName struct {
	ids      []string
	meanings string
}

// A nameIndex finds ids by their names. Each way of looking them up is made ready
// when somebody first goes it: most names are found exactly as they are spelt.
type nameIndex struct {
	exact func() namedIDs
	words func() namedIDs
	begin func() map[byte][]shortName // by the first letter, for names that are cut short
}

// A shortName is a name that may be cut short word by word; an empty id is
// that of something that is no percussion.
type shortName struct {
	words []string
	id    string
}

// known reads the tables and the names of the catalogue when somebody first
// asks for a name that is no id.
var known = sync.OnceValue(func() *glossary {
	k := &glossary{forms: map[string][]string{}, open: map[string]*openName{}, whole: map[string]bool{},
		others: map[string]bool{}, aside: map[string]bool{}, set: map[string]string{}, setOnly: map[string]string{}}
	for _, row := range rowsOf("forms.tsv") {
		if len(row) < 2 {
			continue
		}
		for _, form := range strings.Fields(row[1]) {
			if strings.HasSuffix(form, ".") { // with its dot only
				form = squash(form) + "."
			} else {
				form = squash(form)
			}
			if form != row[0] && !slices.Contains(k.forms[form], row[0]) {
				k.forms[form] = append(k.forms[form], row[0])
			}
		}
		if !slices.Contains(k.forms[row[0]], row[0]) {
			k.forms[row[0]] = append(k.forms[row[0]], row[0])
		}
	}
	for _, row := range rowsOf("open.tsv") {
		if len(row) < 3 {
			continue
		}
		o := &openName{ids: strings.Fields(row[1]), meanings: row[2]}
		key := squash(row[0])
		if strings.HasSuffix(row[0], ".") {
			k.open[key+"."] = o
			if k.open[key] == nil {
				k.open[key] = o
			}
		} else {
			k.open[key] = o
		}
	}
	for _, row := range rowsOf("whole.tsv") {
		k.whole[squash(row[0])] = true
	}
	for _, row := range rowsOf("aside.tsv") {
		k.aside[squash(row[0])] = true
	}
	for _, row := range rowsOf("set.tsv") {
		if len(row) > 1 {
			k.set[row[0]] = row[1]
		}
	}
	for _, row := range rowsOf("set-only.tsv") {
		if len(row) > 1 {
			k.setOnly[row[0]] = row[1]
		}
	}
	var others []string // that may be cut short too
	for _, row := range rowsOf("others.tsv") {
		k.others[squash(row[0])] = true
		if !strings.HasSuffix(row[0], ".") {
			others = append(others, row[0])
		}
	}
	k.nameIndex = k.index(Standard().shelf.names, others)
	return k
})

// names is what the entries call themselves, and their ids.
func (s *shelf) names(yield func(name, id string) bool) {
	for id, e := range s.instruments {
		if !yield(id, id) {
			return
		}
		for line := range strings.Lines(e.text) {
			line = strings.TrimLeft(line, " ")
			if !strings.HasPrefix(line, "called ") && !strings.HasPrefix(line, "also ") {
				continue
			}
			for i, piece := range strings.Split(line, `"`) {
				if i%2 == 1 && !yield(piece, id) {
					return
				}
			}
		}
	}
}

// index is one of names; others are those of things that are no percussion.
func (k *glossary) index(names iter.Seq2[string, string], others []string) nameIndex {
	return nameIndex{
		exact: sync.OnceValue(func() namedIDs {
			return idsBy(names, func(s *spelling, put func(key string)) { put(s.key()) })
		}),
		words: sync.OnceValue(func() namedIDs {
			return idsBy(names, func(s *spelling, put func(key string)) {
				if !s.abbreviated() {
					s.each(k, put)
				}
			})
		}),
		begin: sync.OnceValue(func() map[byte][]shortName {
			begin := map[byte][]shortName{}
			for _, name := range others {
				cut(begin, name, "")
			}
			for name, id := range names {
				var s spelling
				if s.read(name); !s.abbreviated() && (name != id || !strings.Contains(id, "-")) {
					cut(begin, name, id)
				}
			}
			return begin
		}),
	}
}

// namedIDs are ids with the keys that their names have, in order.
type namedIDs []namedID

type namedID struct{ key, id string }

func (n namedID) compare(o namedID) int {
	return cmp.Or(strings.Compare(n.key, o.key), strings.Compare(n.id, o.id))
}

func idsBy(names iter.Seq2[string, string], keys func(s *spelling, put func(key string))) namedIDs {
	var out namedIDs
	var s spelling
	for name, id := range names {
		s.read(name)
		keys(&s, func(key string) { out = append(out, namedID{key, id}) })
	}
	slices.SortFunc(out, namedID.compare)
	return slices.Clip(slices.Compact(out))
}

// of are the ids of a key.
func (n namedIDs) of(key string) namedIDs {
	from, _ := slices.BinarySearchFunc(n, namedID{key: key}, namedID.compare)
	to := from
	for to < len(n) && n[to].key == key {
		to++
	}
	return n[from:to]
}

// abbreviated says whether a name is cut short already: it is not cut shorter, and
// its words are no words.
func (s *spelling) abbreviated() bool {
	return slices.ContainsFunc(s.words, func(w nameWord) bool { return w.dotted || w.number })
}

func (s *spelling) numbered() bool {
	return slices.ContainsFunc(s.words, func(w nameWord) bool { return w.number })
}

// cut enters a name among those that may be cut short.
func cut(begin map[byte][]shortName, name, id string) {
	var s spelling
	s.read(name)
	if s.key() == "" {
		return
	}
	e := shortName{id: id}
	for _, w := range s.words {
		e.words = append(e.words, w.text)
	}
	first := e.words[0][0]
	if !slices.ContainsFunc(begin[first], func(o shortName) bool { return o.id == id && slices.Equal(o.words, e.words) }) {
		begin[first] = append(begin[first], e)
	}
}

// mostSpellings bounds how many ways of reading the words of a name are tried.
const mostSpellings = 64

// each gives every way of writing a name's words out in full, in the singular.
func (s *spelling) each(k *glossary, do func(key string)) {
	var buf [128]byte
	left := mostSpellings
	var walk func(i int, key []byte)
	walk = func(i int, key []byte) {
		if left == 0 {
			return
		}
		if i == len(s.words) {
			left--
			do(string(key))
			return
		}
		for _, full := range k.fullWords(s.words[i]) {
			walk(i+1, append(key, full...))
		}
	}
	walk(0, buf[:0])
}

// fullWords is the words that a word of a name may stand for. One that the
// tables do not know loses the ending of a plural.
func (k *glossary) fullWords(word nameWord) []string {
	w := word.text
	if word.dotted {
		if full := k.forms[w+"."]; full != nil {
			return full
		}
	}
	if full := k.forms[w]; full != nil {
		return full
	}
	one := singular(w)
	if full := k.forms[one]; full != nil {
		return full
	}
	// A German compound ends in a word that the tables know: Militärtrommeln.
	for _, end := range [...][2]string{{"trommeln", "trommel"}, {"glocken", "glocke"}, {"blocke", "block"}, {"bloecke", "block"}, {"pauken", "pauke"}} {
		if strings.HasSuffix(w, end[0]) {
			return []string{strings.TrimSuffix(w, end[0]) + end[1]}
		}
	}
	return []string{one}
}

// singular takes the ending of a plural off a word.
func singular(w string) string {
	switch {
	case len(w) > 5 && (strings.HasSuffix(w, "shes") || strings.HasSuffix(w, "ches") || strings.HasSuffix(w, "xes")):
		return w[:len(w)-2]
	case len(w) > 4 && strings.HasSuffix(w, "ies"):
		return w[:len(w)-3] + "y"
	case len(w) > 3 && strings.HasSuffix(w, "s") && !strings.HasSuffix(w, "ss"):
		return w[:len(w)-1]
	}
	return w
}

// byWords finds a name word by word.
func (c *Catalogue) byWords(s *spelling, k *glossary) []*Instrument {
	var out []*Instrument
	s.each(k, func(key string) {
		for at := c; at != nil; at = at.below {
			index := &k.nameIndex
			if at.shelf == nil {
				index = at.own(k)
			}
			for _, named := range index.words().of(key) {
				if in := c.Instrument(named.id); in != nil && !slices.Contains(out, in) {
					out = append(out, in)
				}
			}
		}
	})
	return out
}

// called finds the instruments that go by exactly these letters.
func (c *Catalogue) called(key string) []*Instrument {
	var out []*Instrument
	k := known()
	for at := c; at != nil; at = at.below {
		index := &k.nameIndex
		if at.shelf == nil {
			index = at.own(k)
		}
		for _, named := range index.exact().of(key) {
			id := named.id
			in := c.Instrument(id)
			if in == nil || slices.Contains(out, in) {
				continue
			}
			// Another layer may have put something else in its place.
			if at.shelf == nil && at.instruments[id] != in {
				continue
			}
			if at.shelf != nil && in != at.shelf.instrument(id) {
				continue
			}
			out = append(out, in)
		}
	}
	return out
}

// cutShort finds names that begin, word by word, as the words of a name do:
// "Trian.", "Tub. Bells". What also begins a name that is no percussion's is
// left open.
func (c *Catalogue) cutShort(s *spelling, k *glossary) (Reading, bool) {
	total, dotted, first := 0, false, s.words[0].text
	for _, w := range s.words {
		total += len(w.text)
		dotted = dotted || w.dotted
	}
	if total < 3 || !dotted {
		return Reading{}, false
	}
	var r Reading
	look := func(index *nameIndex) {
		for _, e := range index.begin()[first[0]] {
			if len(e.words) != len(s.words) || !k.begins(e.words, s.words) {
				continue
			}
			if e.id == "" {
				r.Other = true
			} else if in := c.Instrument(e.id); in != nil && !slices.Contains(r.Kinds, in) {
				r.Kinds = append(r.Kinds, in)
			}
		}
	}
	for at := c; at != nil; at = at.below {
		if at.shelf == nil {
			look(at.own(k))
		} else {
			look(&k.nameIndex)
		}
	}
	slices.SortStableFunc(r.Kinds, func(a, b *Instrument) int { return strings.Compare(a.ID, b.ID) })
	if len(r.Kinds) == 0 {
		return Reading{}, false
	}
	return r, true
}

// begins says whether each word is, or begins, the word of a name.
func (k *glossary) begins(full []string, short []nameWord) bool {
	for i, w := range short {
		switch {
		case full[i] == w.text, singular(full[i]) == singular(w.text):
		case w.dotted && len(w.text) > 1 && strings.HasPrefix(full[i], w.text):
		case slices.ContainsFunc(k.fullWords(w), func(f string) bool { return slices.Contains(k.forms[full[i]], f) }):
		default:
			return false
		}
	}
	return true
}

// own is the index of a layer's own instruments.
func (c *Catalogue) own(k *glossary) *nameIndex {
	c.naming.Do(func() {
		c.index = k.index(func(yield func(name, id string) bool) {
			for _, in := range c.instruments {
				for _, n := range in.Names() {
					if !yield(n, in.ID) {
						return
					}
				}
			}
		}, nil)
	})
	return &c.index
}
