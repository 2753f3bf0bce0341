package syntax

import (
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/alecthomas/participle/v2/lexer"

	"example.org/handful/lang/body"
)

// A token is a word of the notation, and the bytes of the line that say it:
// more words than one, perhaps, and others than the notation's.
type token struct {
	kind     lexer.TokenType
	from, to int
	text     string
}

// A want is what a line may say next.
type want uint8

const (
	wantFirst  want = iota // the word that begins the line
	wantActor              // what a limb does, or an instrument
	wantThing              // an implement
	wantName               // any other name of several words
	wantTitle              // a name that may be quoted
	wantPart               // … with a file behind it
	wantText               // quoted text
	wantNote               // quoted text with a place behind it
	wantClause             // with, for, at … and mounts
	wantPlace              // bars, counts, marks
	wantRange              // the same, and from here to there
	wantTempo
	wantMeter
	wantStock // how many, of what, whose
	wantPlain // the words as they stand
)

// reading is the lexer of one line: it takes the words as they stand, finds what
// they mean where they stand, and hands the grammar the notation's own. It never
// fails. Runs of words where a name is expected are one name.
type reading struct {
	text string
	at   int
	want want
	limb bool // a limb's line
	// goesOn says that the line is not written to its end yet.
	goesOn   bool
	first    string
	seen     uint16 // the clauses so far
	twice    Span   // the first clause that stands here a second time
	last     token
	ready    [2]token // to hand out before anything else
	n        int
	in       *room    // for the statement, if its line is in it
	upcoming upcoming // of a production that reads by itself
}

// Next is the lexer's interface to the grammar. Position.Column holds the byte
// behind the token, so that a leaf knows where it ends in the line whatever is
// said there.
func (r *reading) Next() (lexer.Token, error) {
	t := r.next()
	return lexer.Token{Type: t.kind, Value: t.text, Pos: lexer.Position{Offset: t.from, Line: 1, Column: t.to}}, nil
}

// The clauses that a line has once.
const (
	clauseWith uint16 = 1 << iota
	clauseMount
	clauseFor
	clauseAs
	clauseOn
	clauseIn
	clauseOf
	clauseIs
	clauseAt
	clauseFrom
	clauseShaken
	clauseOneHand
	clauseTwoInOne
	clauseFoot
	clauseNamed
)

func (r *reading) next() token {
	if r.n > 0 {
		r.n--
		r.last = r.ready[r.n]
		return r.last
	}
	t := r.read()
	r.last = t
	return t
}

// raw is the next token as it stands.
func (r *reading) raw() token {
	kind, from, to := nextToken(r.text, r.at)
	r.at = to
	return token{kind, from, to, r.text[from:to]}
}

// peek is the token behind a byte.
func (r *reading) peek(at int) token {
	kind, from, to := nextToken(r.text, at)
	return token{kind, from, to, r.text[from:to]}
}

func (r *reading) read() token {
	t := r.raw()
	if t.kind == lexer.EOF || t.kind == tokBars {
		return t
	}
	if r.want == wantPlain {
		if p := r.peek(r.at); t.text == "on" && (p.text == "stand" || p.text == "body") {
			t.text, t.to, r.at = "on "+p.text, p.to, p.to
		}
		return t
	}
	switch r.want {
	case wantFirst:
		return r.opening(t)
	case wantText, wantNote, wantTitle, wantPart:
		return r.title(t)
	case wantActor:
		return r.actor(t)
	case wantThing, wantName:
		return r.thing(t)
	case wantStock:
		if t.kind == tokWord {
			t = r.name(t)
			t.text = implementSaid(t.text)
			r.want = wantStock
		}
		return t
	case wantPlace, wantRange:
		return r.place(t)
	case wantTempo:
		return r.tempo(t)
	case wantMeter:
		return r.meter(t)
	}
	return r.clause(t)
}

// opening is the first word of a line.
func (r *reading) opening(t token) token {
	if t.kind == tokNum {
		r.want = wantStock
		return t
	}
	if t.kind != tokWord {
		r.want = wantPlain
		return t
	}
	t.text, t.to = firstWord(r.text, t.from, t.to)
	r.at, r.first = t.to, t.text
	switch t.text {
	case "title", "credit":
		r.want = wantText
	case "note", "cue":
		r.want = wantNote
	case "player":
		r.want = wantTitle
	case "part":
		r.want = wantPart
	case "omit", "together", "accept", "instrument", "implement":
		r.want = wantName
	case "station", "table", "kit":
		r.want = wantClause
	case "meter":
		r.want = wantMeter
	case "tempo":
		r.want = wantTempo
	case "repeat", "vamp", "ending", "order":
		r.want = wantRange
	case "hold", "break", "from", "mark":
		r.want = wantPlace
	default:
		if isLimb(t.text) {
			r.want, r.limb = wantActor, true
			return t
		}
		if _, ok := rules().by[t.text]; ok {
			r.want = wantPlain
			return t
		}
		return r.name(t)
	}
	return t
}

// firstWord is what the first word of a line, or the first few, mean: a word of
// the notation, or the word as it stands. end is the byte behind what was read.
func firstWord(text string, from, to int) (word string, end int) {
	word = text[from:to]
	means, end, ok := said().first.match(text, from, to)
	if ok {
		if kind, at, _ := nextToken(text, end); kind != tokBars && !strings.HasPrefix(text[at:], "is ") { // else it is called that
			return means, end
		}
	}
	if short := strings.TrimSuffix(word, ":"); len(short) < len(word) && (isLimb(short) || rules().by[short] != nil) {
		return short, to
	}
	if small := lower(word); small != word && !isLimb(word) {
		if f, ok := rules().by[small]; ok && f.In&(InInstrument|InImplement) == 0 {
			return small, to
		}
		if isLimb(small) {
			return small, to
		}
	}
	return word, to
}

func isLimb(word string) bool {
	_, ok := body.LimbNamed(word)
	return ok
}

// actor is what follows a limb: what it does, or what it plays.
func (r *reading) actor(t token) token {
	if t.kind != tokWord {
		r.want = wantClause
		return t
	}
	means, end, ok := said().verb.match(r.text, t.from, t.to)
	if ok && r.peek(end).kind != tokBars {
		t.text, t.to, r.at = means, end, end
	}
	switch {
	case slices.Contains(acts[:], t.text):
	case slices.Contains(dampers[:], t.text):
		return t
	case t.text == "":
		r.want = wantName
		return r.read()
	default:
		r.want = wantName
		return r.thing(t)
	}
	switch t.text {
	case "damps":
		r.want = wantName
	case "turns":
		r.want = wantClause
		if p := r.peek(r.at); p.text == "the" || p.text == "a" {
			r.at = p.to
		}
	default:
		r.want = wantThing
	}
	return t
}

// thing is a name of one or several words, with how many there are before it.
func (r *reading) thing(t token) token {
	if t.kind != tokWord {
		return t
	}
	switch t.text {
	case "a", "an", "the":
		if p := r.peek(t.to); p.kind == tokWord && !isClause(p.text) {
			if means, end, ok := said().number.match(r.text, t.from, t.to); ok {
				r.at = end
				return token{tokNum, t.from, end, means}
			}
			return r.read()
		}
	}
	implement := r.want == wantThing
	if implement {
		if means, end, ok := said().number.match(r.text, t.from, t.to); ok && r.peek(end).kind == tokWord {
			r.at = end
			return token{tokNum, t.from, end, means}
		}
	}
	if implement {
		if end := r.butt(t); end > 0 {
			r.at = end
			return token{tokWord, t.from, end, "butt of"}
		}
	}
	t = r.name(t)
	if implement {
		t.text = implementSaid(t.text)
	}
	return t
}

// butt is the byte behind butt of or butt end of, or 0.
func (r *reading) butt(t token) int {
	p := r.peek(t.to)
	switch lower(t.text) {
	case "butt":
		if p.text == "end" {
			p = r.peek(p.to)
		}
	case "butt-end":
	default:
		return 0
	}
	if p.text == "of" {
		return p.to
	}
	return 0
}

// implementSaid is the notation's name for what somebody calls an implement; a comma
// behind it stays.
func implementSaid(name string) string {
	word := strings.TrimRight(name, ",")
	if means, ok := said().thing.one(word); ok {
		return means + name[len(word):]
	}
	return name
}

// name makes one name of the words up to the next clause.
func (r *reading) name(t token) token {
	r.want = wantClause
	for {
		p := r.peek(r.at)
		if p.kind != tokWord || isClause(p.text) || strings.Contains(t.text, ",") {
			return t
		}
		if _, _, ok := said().clause.match(r.text, p.from, p.to); ok {
			return t
		}
		if _, _, ok := r.asks(p); ok || r.goesOn && r.asksSoon(p) {
			return t
		}
		t.text += "-" + p.text
		t.to, r.at = p.to, p.to
	}
}

// isClause says whether a word behind a name is no part of it.
func isClause(word string) bool {
	switch word {
	case "with", "for", "as", "in", "on", "of", "at", "is", "from", "to", "until", "because", "holds",
		"or", "and", "pass", "over", "facing", "matters":
		return true
	}
	return slices.Contains(mountWords[:], word)
}

// Meant says whether a word behind a limb means something by itself, so that it
// is no good as a name.
func Meant(word string) bool {
	return isClause(word) || slices.Contains(acts[:], word) || slices.Contains(dampers[:], word)
}

// What a hand does at a place, and what a ring is stopped with besides.
var (
	acts    = [...]string{"holds", "takes", "lays", "damps", "turns"}
	dampers = [...]string{"forearm", "knee"}
)

// clause is a word that says what comes next, or one that stands for itself.
func (r *reading) clause(t token) token {
	if t.kind == tokNum {
		return r.centimetres(t)
	}
	if t.kind == tokString && r.limb && r.seen&clauseAs == 0 {
		r.once(clauseNamed, t)
	}
	if t.kind != tokWord {
		return t
	}
	if means, end, ok := r.asks(t); ok {
		t.text, t.to, r.at = means, end, end
		if i := slices.Index(askedWords[:], means); i >= 0 {
			r.once(askedClauses[i], t)
		}
		return t
	}
	t = r.opener(t)
	if slices.Contains(mountWords[:], t.text) {
		return r.open(t, clauseMount, r.want)
	}
	switch t.text {
	case "cm", "cm.", "centimetres", "centimeters":
		if r.last.kind == tokNum {
			return r.read()
		}
	case "with":
		return r.open(t, clauseWith, wantThing)
	case "and": // a second thing in the hand
		if _, _, verb := said().verb.match(r.text, r.peek(r.at).from, r.peek(r.at).to); r.limb && !verb {
			r.want = wantThing
		}
		if r.first == "together" {
			r.want = wantName
		}
	case "for":
		if r.first == "accept" {
			return r.open(t, clauseFor, wantTitle)
		}
		return r.open(t, clauseFor, wantName)
	case "is":
		return r.open(t, clauseIs, wantName)
	case "as":
		return r.open(t, clauseAs, r.want)
	case "in":
		return r.open(t, clauseIn, wantRange)
	case "of":
		return r.open(t, clauseOf, r.want)
	case "from":
		return r.fromWhere(t)
	case "on":
		return r.on(t)
	case "at":
		if r.stands() {
			return t
		}
		return r.open(t, clauseAt, wantPlace)
	case "bars", "bar", "mm.", "m.", "measures":
		if r.limb && r.peek(r.at).kind == tokNum { // as written bars 1-4
			t.text = "in"
			return r.open(t, clauseIn, wantRange)
		}
	case "because":
		r.want = wantPlain
	}
	return t
}

// opener is the notation's word for what begins a clause.
func (r *reading) opener(t token) token {
	means, end, ok := said().clause.match(r.text, t.from, t.to)
	if !ok {
		return t
	}
	if means == "as written" {
		means = "as"
		r.ready[0], r.n = token{tokWord, t.from, end, "written"}, 1
	}
	t.text, t.to, r.at = means, end, end
	return t
}

// open notes a clause, and what its word says comes next.
func (r *reading) open(t token, c uint16, next want) token {
	r.once(c, t)
	r.want = next
	return t
}

// fromWhere is the word from: where something begins, or in a limb's line from
// "Percussion 2" and as written from A to B.
func (r *reading) fromWhere(t token) token {
	p := r.peek(r.at)
	switch {
	case !r.limb:
	case p.kind == tokString:
		t.text = "of"
		return r.open(t, clauseOf, r.want)
	case p.kind == tokWord || p.kind == tokNum:
		if strings.Contains(r.ahead(wantRange), "-") {
			t.text = "in"
			return r.open(t, clauseIn, wantRange)
		}
	}
	return r.open(t, clauseFrom, wantPlace)
}

// ahead is what comes next, read as it would be if that were wanted.
func (r *reading) ahead(w want) string {
	return (&reading{text: r.text, at: r.at, want: w}).next().text
}

// on is the word on: a mount, a pass, or counts.
func (r *reading) on(t token) token {
	p := r.peek(r.at)
	switch p.text {
	case "stand", "body":
		t.text, t.to, r.at = "on "+p.text, p.to, p.to
		return r.open(t, clauseMount, r.want)
	case "pass":
		return r.open(t, clauseOn, r.want)
	}
	return r.open(t, clauseOn, wantPlace)
}

// stands says whether behind at stands where something is, and not when.
func (r *reading) stands() bool {
	switch r.first {
	case "station", "table":
		return true
	case "note", "cue", "accept":
	default:
		if !r.limb {
			return true
		}
	}
	return isDirection(r.peek(r.at).text)
}

// asks says whether a word begins what a cue asks of the way it is played; end
// is the byte behind all of it.
func (r *reading) asks(t token) (means string, end int, ok bool) {
	if !r.limb || r.seen&clauseAs != 0 {
		return "", t.to, false
	}
	return said().asked.match(r.text, t.from, t.to)
}

// asksSoon says whether the line ends within what a cue asks: two in.
func (r *reading) asksSoon(t token) bool {
	begun := strings.Join(strings.Fields(r.text[t.from:]), " ") + " "
	return r.limb && slices.ContainsFunc(askedWords[:], func(w string) bool { return strings.HasPrefix(w, begun) })
}

// askedClauses are the clauses of the words of askedWords.
var askedClauses = [len(askedWords)]uint16{clauseShaken, clauseOneHand, clauseTwoInOne, clauseFoot}

// once notes a clause, and where it stands a second time.
func (r *reading) once(c uint16, t token) {
	if r.seen&c != 0 && r.twice.End == 0 {
		r.twice = Span{t.from, t.to}
	}
	r.seen |= c
}

// directions are the words for the sides of somebody who stands there, and where
// each goes.
var directions = [...]struct {
	word string
	to   body.Point
}{
	{"right", body.Point{Right: 1}}, {"left", body.Point{Right: -1}},
	{"ahead", body.Point{Ahead: 1}}, {"behind", body.Point{Ahead: -1}},
	{"up", body.Point{Up: 1}}, {"down", body.Point{Up: -1}},
}

// Directions are the words for the sides of somebody who stands there.
func Directions() []string {
	list := make([]string, len(directions))
	for i, d := range directions {
		list[i] = d.word
	}
	return list
}

// Toward is where a direction goes, one centimetre of it.
func Toward(word string) (to body.Point, ok bool) {
	for _, d := range directions {
		if d.word == word {
			return d.to, true
		}
	}
	return to, false
}

func isDirection(word string) bool {
	_, ok := Toward(word)
	return ok
}

// centimetres takes the unit off a distance.
func (r *reading) centimetres(t token) token {
	t.text = strings.TrimSuffix(t.text, "cm")
	return t
}

// place reads bars, counts and marks, and what says from where to where.
func (r *reading) place(t token) token {
	if t.kind == tokWord {
		if r.idle(t) {
			return r.read()
		}
		if often, ok := r.times(t); ok {
			return often
		}
		if isClause(t.text) {
			return r.behindPlace(t)
		}
	}
	if t.kind == tokBad && t.text == "," {
		return r.read()
	}
	if r.first == "mark" {
		if said, ok := r.marked(t); ok {
			return said
		}
	}
	if t.kind != tokWord && t.kind != tokNum {
		r.want = wantClause
		return t
	}
	if often, ok := r.times(t); ok {
		return often
	}
	t.text = strings.TrimRight(t.text, ",")
	if r.want == wantRange {
		t = r.upTo(t)
	}
	return r.counted(t)
}

// idle says whether a word before a place, or between two, says nothing: bars 9
// and 12.
func (r *reading) idle(t token) bool {
	switch t.text {
	case "bar", "bars", "m.", "mm.", "measure", "measures", "beat", "beats", "count", "counts", "letter":
		p := r.peek(t.to)
		return p.kind == tokNum || p.kind == tokWord && !isClause(p.text)
	case "and", "then":
		return isPlaceToken(r.last)
	case "between":
		return r.peek(t.to).kind != lexer.EOF
	}
	return false
}

// times is how often bars are repeated, said behind them.
func (r *reading) times(t token) (token, bool) {
	if r.first != "repeat" || !isPlaceToken(r.last) {
		return t, false
	}
	means, end, ok := said().times.match(r.text, t.from, t.to)
	if !ok {
		return t, false
	}
	r.at = end
	return token{tokWord, t.from, end, means}, true
}

// behindPlace is a word that ends the places and says what comes next. Some
// statements have it before their place, where it says nothing: hold at 16.4.
func (r *reading) behindPlace(t token) token {
	switch r.first {
	case "mark":
	case "from", "hold", "break", "repeat", "vamp":
		switch {
		case t.text == "at", t.text == "on" && !r.passBehind(t):
			return r.inPlace(wantPlace)
		case t.text == "from" && (r.first == "repeat" || r.first == "vamp"):
			return r.inPlace(wantRange)
		}
	default:
		r.want = wantClause
		return r.clause(t)
	}
	r.want = wantPlace
	return t
}

// passBehind says whether behind on stands pass, or may yet stand.
func (r *reading) passBehind(on token) bool {
	p := r.peek(on.to)
	return p.text == "pass" || r.goesOn && p.kind == lexer.EOF
}

// inPlace is the next token, read as a place.
func (r *reading) inPlace(w want) token {
	r.want = w
	return r.read()
}

// marked is what people write for mark A at 9: A = 9, A 9, "Trio" at 9.
func (r *reading) marked(t token) (token, bool) {
	named := r.last.text != "at" && r.last.text != "mark"
	switch {
	case named && t.kind == tokEquals:
		return token{tokWord, t.from, t.to, "at"}, true
	case named && t.kind == tokNum:
		r.ready[0], r.n = t, 1
		return token{tokWord, t.from, t.from, "at"}, true
	case t.kind == tokString:
		if word := unquote(t.text); isName(word) {
			t.kind, t.text = tokWord, word
		}
		return t, true
	}
	return t, false
}

// counted adds the count that words behind a bar say: bar 12 count 3.
func (r *reading) counted(t token) token {
	if strings.ContainsAny(t.text, ".-") {
		return t
	}
	p := r.peek(r.at)
	if p.text != "count" && p.text != "beat" {
		return t
	}
	if n := r.peek(p.to); n.kind == tokNum {
		t.text += "." + n.text
		t.to, r.at = n.to, n.to
	}
	return t
}

func isPlaceToken(t token) bool {
	return t.kind == tokNum || t.kind == tokWord && !isClause(t.text)
}

// upTo makes one range of a place, a word that says up to, and another place.
func (r *reading) upTo(t token) token {
	if strings.Contains(t.text, "-") {
		return t
	}
	p := r.peek(t.to)
	switch p.text {
	case "to", "through", "thru", "-", "–", "—":
	case "and":
		if r.first != "repeat" && !strings.Contains(r.text[:t.from], "between") {
			return t
		}
	default:
		return t
	}
	q := r.peek(p.to)
	if q.text == "bar" || q.text == "letter" || q.text == "measure" {
		q = r.peek(q.to)
	}
	if q.kind != tokNum && q.kind != tokWord || isClause(q.text) {
		return t
	}
	t.text += "-" + strings.TrimRight(q.text, ",")
	t.to, r.at = q.to, q.to
	return t
}

// tempo reads 96, q = 120, quarter=120, = 96, 96 bpm, 132 at A.
func (r *reading) tempo(t token) token {
	if r.last.text == "tempo" {
		if t.kind == tokEquals {
			return r.read()
		}
		if value, ok := r.noteValue(t); ok {
			return value
		}
	}
	switch t.kind {
	case tokNum:
		if short := strings.TrimSuffix(strings.ToLower(t.text), "bpm"); len(short) < len(t.text) && short != "" {
			t.text = short
		}
	case tokWord:
		switch t.text {
		case "bpm", "BPM":
			if r.last.kind == tokNum {
				return r.read()
			}
		case "in", "over", "during":
			t.text = "over"
			return r.open(t, clauseIn, wantRange)
		case "at", "from":
			if r.ahead(wantRange) != r.ahead(wantPlace) { // 96 to 80 from 31 to 32
				t.text = "over"
				return r.open(t, clauseFrom, wantRange)
			}
			t.text = "from"
			return r.open(t, clauseFrom, wantPlace)
		}
	}
	return t
}

// noteValue is what a tempo counts, where an equals sign is behind it: q = 120.
func (r *reading) noteValue(t token) (token, bool) {
	means, end, ok := said().value.match(r.text, t.from, t.to)
	if !ok {
		return t, false
	}
	eq := r.peek(end)
	if eq.kind == tokBad && eq.text == "." { // ♩. = 60
		if m, ok := said().value.one(r.text[t.from:t.to] + "."); ok {
			means, end = m, eq.to
			eq = r.peek(end)
		}
	}
	if eq.kind != tokEquals {
		return t, false
	}
	r.at = end
	return token{tokNum, t.from, end, means}, true
}

// meter reads 4/4, C, cut, and from where.
func (r *reading) meter(t token) token {
	if r.last.text == "meter" {
		if t.kind == tokWord && t.text == "C" && t.to < len(r.text) && r.text[t.to] == '|' && strings.TrimSpace(r.text[t.to+1:commentStart(r.text, 0)]) == "" {
			r.at = t.to + 1
			return token{tokNum, t.from, r.at, "2/2"}
		}
		if means, end, ok := said().meter.match(r.text, t.from, t.to); ok {
			r.at = end
			return token{tokNum, t.from, end, means}
		}
	}
	if t.kind == tokWord && (t.text == "at" || t.text == "from") {
		t.text, r.want = "from", wantPlace
		r.once(clauseFrom, t)
	}
	return t
}

// title reads a name or a text that needs quotes and has none.
func (r *reading) title(t token) token {
	was := r.want
	switch was {
	case wantNote:
		r.want = wantClause
	case wantPart, wantTitle:
		r.want = wantPlain
		if r.first == "accept" {
			r.want = wantClause
		}
	default:
		r.want = wantPlain
	}
	if t.kind == tokString {
		return t
	}
	end := len(strings.TrimRight(r.text[:commentStart(r.text, t.from)], " \t\r"))
	switch was {
	case wantNote:
		if i := strings.LastIndex(r.text[t.from:end], " at "); i >= 0 {
			if p := r.peek(t.from + i + len(" at ")); p.kind == tokNum || p.kind == tokWord {
				end = len(strings.TrimRight(r.text[:t.from+i], " \t"))
			}
		}
	case wantPart:
		if i := strings.Index(r.text[t.from:end], ` in "`); i >= 0 {
			end = len(strings.TrimRight(r.text[:t.from+i], " \t"))
		}
	case wantTitle:
		if r.first == "accept" { // one word, since because and at follow
			return t
		}
	}
	text := r.text[t.from:max(end, t.to)]
	if strings.ContainsAny(text, `"|\`) || !isText(text) {
		return t
	}
	if (was == wantTitle || was == wantPart) && t.kind == tokWord && t.from+len(text) == t.to {
		return t
	}
	r.at = t.from + len(text)
	return token{tokString, t.from, r.at, Quote(strings.Join(strings.Fields(text), " "))}
}

// isText says whether text can be quoted as it is.
func isText(text string) bool {
	return strings.IndexFunc(text, func(c rune) bool { return c < ' ' || c == 0x7f || c == '\ufeff' || c == utf8.RuneError }) < 0
}
