package syntax

import (
	"cmp"
	"strings"
	"sync"

	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"

	"example.org/handful/lang/body"
)

// What people write that may be several things, or that the notation says with
// other statements: the first words of the line, what to say, and each way to
// write it. In those, {rest} is the line behind the words, {places} the bars it
// names, and {name} its first word. A way whose braces the line cannot fill is
// shown with the sample's words.
type asked struct {
	words string // several, parted by commas
	says  string
	ways  []Reading
}

var questions = []asked{
	{"both, both hands", "both hands may play together or in turn",
		[]Reading{{"together", "R+L {rest}"}, {"in turn, right first", "RL {rest}"}, {"in turn, left first", "LR {rest}"}}},
	{"hands, two hands, alternating, alternate, hand to hand, sticking", "which hand begins?",
		[]Reading{{"right first", "RL {rest}"}, {"left first", "LR {rest}"}}},
	{"feet, both feet, foot", "which foot?", []Reading{{"right", "RF {rest}"}, {"left", "LF {rest}"}}},
	{"rit, rit., ritard, ritard., ritardando, rall, rall., rallentando, slower, slow down, molto rit., poco rit.", "to what tempo? a tempo that changes says from what to what, over which bars",
		[]Reading{{"", "tempo 96 to 72 over {places}"}}},
	{"accel, accel., accelerando, stringendo, faster, speed up", "to what tempo? a tempo that changes says from what to what, over which bars",
		[]Reading{{"", "tempo 96 to 120 over {places}"}}},
	{"a tempo, tempo primo, tempo I, Tempo I", "which tempo is that? say it where it begins", []Reading{{"", "tempo 96 from {places}"}}},
	{"meno mosso, piu mosso, più mosso, allegro, andante, adagio, moderato, presto, largo, vivace", "how fast is that? a tempo is counts a minute, and words are printed with note",
		[]Reading{{"", "tempo 96 from {places}"}, {"", `note "{line}"`}}},
	{"swing, shuffle, straight", "how it swings is not counted: print it", []Reading{{"", `note "{line}"`}}},
	{"D.S., D.S, DS, dal segno, D.C., DC, da capo, to coda, coda, segno, fine, al coda, al fine, sign", "from which bar? the road map is spelled out: every stretch of bars in the order in which it is played",
		[]Reading{{"as an example", "order 1-16 9-14 17-32"}}},
	{"cut, vide, skip", "what is cut is left out of the order: every stretch of bars that is played", []Reading{{"as an example", "order 1-8 13-32"}}},
	{"1st ending, first ending, 1st time, prima volta", "which bars?", []Reading{{"", "ending 1 {places}"}}},
	{"2nd ending, second ending, 2nd time, seconda volta", "which bars?", []Reading{{"", "ending 2 {places}"}}},
	{"G.P., GP, grand pause, general pause", "a bar in which nobody plays is - in every line; a stop of no counted length is a break", []Reading{{"", "break {places}"}, {"", `note "G.P." at {places}`}}},
	{"V.S., V.S, VS, page turn, turn page, turn the page, turns page", "which hand turns?", []Reading{{"right", "R turns page at {places}"}, {"left", "L turns page at {places}"}, {"whichever is free", "any turns page at {places}"}}},
	{"composer, music, music by, composed by", "who made it is a credit", []Reading{{"", `credit "music: {text}"`}}},
	{"arranger, arr., arr, arranged by, arrangement", "who made it is a credit", []Reading{{"", `credit "arr. {text}"`}}},
	{"subtitle, copyright, date, version, by", "what is printed below the title is a credit", []Reading{{"", `credit "{text}"`}}},
	{"tacet", "who does not play has no line there; a written passage that nobody plays is left out with its reason", []Reading{{"", `omit {name} in {places} because "` + NoReasonYet + `"`}}},
	{"beginner, amateur, pro", "what a player can do stands below the player", []Reading{{"", "profile student"}, {"", "profile professional"}}},
	{"key, clef", "pitch is not written here", []Reading{{"to print it", `note "{line}"`}}},
	{"snare, cymbal, cymbals, drum, drums, tom", "which? lines name an instrument of the catalogue", []Reading{}},
}

// askedFirst is the first words of all questions.
var askedFirst = sync.OnceValue(func() map[string]bool {
	set := map[string]bool{}
	for _, q := range questions {
		for _, w := range strings.Split(q.words, ",") {
			set[lower(strings.Fields(w)[0])] = true
		}
	}
	return set
})

// puzzles says whether a line that reads as an instrument's is rather a question:
// it stands for nothing else, or its words go on before the bars.
func (l *Line) puzzles(it *Item, wordTo int) bool {
	if it.Is != nil || it.Mount != nil || it.Spot != nil || it.Bars != nil && it.Name.Span().End == wordTo {
		return false
	}
	return l.ask()
}

// ask finds the question that a line answers with.
func (l *Line) ask() bool {
	_, from, to := nextToken(l.Text, 0)
	if !askedFirst()[lower(strings.TrimSuffix(l.Text[from:to], ":"))] {
		return false
	}
	q, end := questionOf(l.Text, from)
	if q == nil || end < to {
		return false
	}
	code := l.Code()
	end = min(end, len(code))
	p := Problem{Rule: RuleSyntax, Span: Span{from, len(code)}, About: Tells(asksBack, clip(code[from:end]), q.says)}
	gist := gistOf(strings.TrimSpace(code), strings.TrimSpace(code[end:]))
	for _, w := range q.ways {
		text, ok := gist.fill(w.Text)
		if !ok {
			continue
		}
		if also := ParseLine(text); len(also.Problems) > 0 {
			continue // advice that would itself be refused is none
		}
		p.Readings = append(p.Readings, Reading{w.Says, text})
	}
	if len(p.Readings) > 0 {
		p.Template = asksBackWrite
	}
	l.Problems = append(l.Problems, p)
	return true
}

// questionOf is the question that has the most of a line's first words, and the
// byte behind those.
func questionOf(text string, from int) (q *asked, end int) {
	for i := range questions {
		if len(questions[i].ways) == 0 {
			continue
		}
		for _, w := range strings.Split(questions[i].words, ",") {
			if e, ok := opensWith(text, from, strings.Fields(w)); ok && e > end {
				q, end = &questions[i], e
			}
		}
	}
	return q, end
}

// A gist is what a line says that may go into the ways of an answer.
type gist struct {
	line, rest string // all of it, and what is behind the question's words
	places     string // the first place or range of that
	name       string // its first word
}

func gistOf(line, rest string) gist {
	g := gist{line: line, rest: rest}
	for r := (reading{text: rest, want: wantRange}); ; {
		t := r.next()
		if t.kind == lexer.EOF || t.kind == tokBars {
			return g
		}
		if g.places == "" && isPlaces(t) {
			g.places = t.text
		}
		if g.name == "" && t.kind == tokWord && !isClause(t.text) {
			g.name = t.text
		}
	}
}

// isPlaces says whether a token is surely a place or a range. Marks are short.
func isPlaces(t token) bool {
	if t.kind == tokNum {
		if _, ok := ParseRange(t.text); ok {
			return true
		}
	} else if t.kind != tokWord || len(t.text) > 2 || isClause(t.text) {
		return false
	}
	_, ok := ParsePlace(t.text)
	return ok
}

// fill puts the gist into a way of writing it; ok is false where the line has not
// what the way needs.
func (g *gist) fill(way string) (text string, ok bool) {
	if strings.Contains(way, "{rest}") && g.rest == "" {
		return "", false
	}
	places := cmp.Or(g.places, "8")
	if g.places != "" && !strings.Contains(way, "over ") && !strings.Contains(way, "in {") && !strings.Contains(way, "ending ") {
		places, _, _ = strings.Cut(places, "-") // where it begins
	}
	said := strings.TrimSpace(strings.Trim(strings.TrimPrefix(g.rest, ":"), `"`))
	return strings.NewReplacer("{rest}", g.rest, "{places}", places, "{name}", cmp.Or(g.name, anInstrument()),
		"{text}", quotable(cmp.Or(said, "…")), "{line}", quotable(g.line)).Replace(way), true
}

// anInstrument stands in for one that the line does not name.
func anInstrument() string {
	_, name, _ := strings.Cut(rules().by["shares"].Sample, " ")
	return name
}

func quotable(text string) string {
	return strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(text)
}

// opensWith says whether a line's words from a byte on are those, and where they
// end.
func opensWith(text string, from int, words []string) (end int, ok bool) {
	at := from
	for _, w := range words {
		for at < len(text) && isBlank(text[at]) {
			at++
		}
		if len(text)-at < len(w) || !strings.EqualFold(text[at:at+len(w)], w) {
			return 0, false
		}
		at += len(w)
		if at < len(text) && !isBlank(text[at]) && text[at] != ':' && text[at] != '"' && text[at] != '|' {
			return 0, false
		}
	}
	return at, true
}

// Limbed is a line that names no limb, with each that it may mean.
func Limbed(text string) []Reading {
	var out []Reading
	for _, limb := range [...]struct {
		body.Limb
		says string
	}{{body.Right, ""}, {body.Left, ""}, {body.RightFirst, body.RightFirst.Name()}, {body.Together, "together"}, {body.AnyHand, body.AnyHand.Means()}} {
		if l := ParseLine(limb.String() + " " + text); len(l.Problems) == 0 {
			out = append(out, Reading{limb.says, l.Text})
		}
	}
	return out
}

// NearestStatement is the statement's word that the mistyped first word of a line
// is closest to, if any is close.
func NearestStatement(l *Line, seat Seat) string {
	_, from, to := nextToken(l.Text, 0)
	first, _, _ := strings.Cut(l.Text[from:to], "-")
	return l.nearest(first, from, &seat)
}

// stumbles says what the grammar met where it stopped.
func (l *Line) stumbles(err error) (span Span, what string, at token) {
	end := len(strings.TrimRight(l.Text[:commentStart(l.Text, 0)], " \t"))
	span, what = Span{max(0, end-1), end}, "this line stops short"
	if e, ok := err.(*participle.UnexpectedTokenError); ok && !e.Unexpected.EOF() {
		tok := e.Unexpected
		span = Span{tok.Pos.Offset, max(tok.Pos.Offset, tok.Pos.Column)}
		return span, describe(tok.Type, l.Text[span.Start:span.End]) + " does not fit here", token{tok.Type, span.Start, span.End, tok.Value}
	}
	if e, ok := err.(participle.Error); ok && e.Position().Offset < end {
		kind, from, to := nextToken(l.Text, e.Position().Offset)
		return Span{from, to}, describe(kind, l.Text[from:to]) + " does not fit here", token{kind, from, to, l.Text[from:to]}
	}
	return span, what, token{kind: lexer.EOF, from: end, to: end}
}
