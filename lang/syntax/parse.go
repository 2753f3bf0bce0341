package syntax

import (
	"fmt"
	"math/bits"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/alecthomas/participle/v2/lexer"

	"example.org/handful/lang/slab"
)

// Limits on what is read, reported when they are met.
const (
	// MaxLine is the longest line that is read, in bytes.
	MaxLine = 1 << 16
	// MaxLines is how many lines of a file are read.
	MaxLines = 1_000_000
	// maxProblemsPerLine bounds what one hostile line may complain about.
	maxProblemsPerLine = 50
)

// A File is a parsed text.
type File struct {
	Lines []*Line
	// Starts holds, for each line, the byte of the text where it begins.
	Starts []int
	// Problems are those of the file as a whole, at a line each.
	Problems []FileProblem
	// Refused says that the text is in an encoding that is not read: no line means
	// anything, Problems says why, and the text stays as it is.
	Refused bool
	// Lost is what could not be carried over, when the text was made of a file
	// in another format.
	Lost []string

	mu    sync.Mutex // guards text
	text  string     // "" until somebody asks, of a plain file that was edited
	plain bool       // the text is the lines with an LF between them, and has no zero byte
}

// Text is the whole text.
func (f *File) Text() string {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.text != "" || !f.plain {
		return f.text
	}
	var b strings.Builder
	b.Grow(f.Size())
	for i, l := range f.Lines {
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(l.Text)
	}
	f.text = b.String()
	return f.text
}

// Size is how many bytes the text has.
func (f *File) Size() int {
	if !f.plain {
		return len(f.text)
	}
	last := len(f.Lines) - 1
	return f.Starts[last] + len(f.Lines[last].Text)
}

// A FileProblem is a problem at a line of its file.
type FileProblem struct {
	Line int
	Problem
}

// A Line is one line, parsed. It knows nothing of where it stands, so it can
// be kept when lines above it come and go, and stand in several places.
type Line struct {
	Text     string // without its line end
	Stmt     Stmt   // nil for a blank line, or one that means nothing
	Form     *Form  // how the statement is written; nil for a blank line
	Bars     *Bars  // the bar list, if it has one
	comment  int32  // byte of its #, plus one; 0 when there is none
	Broken   bool   // the statement is only partly there
	Problems []Problem
}

// A Problem is something wrong with the text of one line.
type Problem struct {
	Rule string // syntax, count, bar-length …
	Span Span   // what its readings go in the place of
	About
	Named Span // what the names near to it go in the place of
}

// Code is the line without its comment and the blanks before that.
func (l *Line) Code() string {
	if l.comment > 0 {
		return strings.TrimRight(l.Text[:l.comment-1], " \t")
	}
	return strings.TrimRight(l.Text, " \t")
}

// CommentStart is the byte where the line's comment begins, or where it ends.
func (l *Line) CommentStart() int {
	if l.comment > 0 {
		return int(l.comment) - 1
	}
	return len(l.Text)
}

// Comment is the line's comment with its #, or "".
func (l *Line) Comment() string {
	if l.comment > 0 {
		return strings.TrimRight(l.Text[l.comment-1:], " \t\r")
	}
	return ""
}

var blankLine = &Line{}

// Parse reads a text. Nothing in it can make it fail.
func Parse(text string) *File { return Reparse(text, nil) }

// Known are lines of texts that are read one after the other: the pieces of a
// library have names, kits and cues in common, which are read once. Bars are not
// kept, since hardly two pieces have the same, and no more lines than a few
// thousand. What they do not have in common is read in the room of the piece before.
// It is not for several goroutines at once; nil keeps nothing.
type Known struct {
	lines map[string]*Line
	same  map[string]*Line // of one text
	room
}

// A room is where a text is read. Without its slabs each line has its own.
type room struct {
	texts  *slab.Of[string]
	starts *slab.Of[int]
	list   *slab.Of[*Line]
	barred *slab.Of[Line] // that have bars
	bars   *slab.Of[Bars]
	cells  *slab.Of[Cell]
	signs  *slab.Of[Sign]
	items  *slab.Of[Item] // statements with bars
	said   *slab.Of[BarText]
}

// newNode is a statement that says nothing yet, in the room of those with bars if there is one.
func newNode[T any](in *room) *T {
	if in != nil {
		if s, ok := any(in.items).(*slab.Of[T]); ok {
			return s.New()
		}
	}
	return new(T)
}

// NewKnown knows nothing yet.
func NewKnown() *Known {
	return &Known{same: map[string]*Line{}, room: room{
		texts: new(slab.Of[string]), starts: new(slab.Of[int]), list: new(slab.Of[*Line]), barred: new(slab.Of[Line]),
		bars: new(slab.Of[Bars]), cells: new(slab.Of[Cell]), signs: new(slab.Of[Sign]),
		items: new(slab.Of[Item]), said: new(slab.Of[BarText]),
	}}
}

// Clear takes the room back from the file that was read last, which is good for nothing
// from then on. What is kept of it is known all the same.
func (k *Known) Clear() {
	clear(k.same)
	k.texts.Clear()
	k.starts.Clear()
	k.list.Clear()
	k.barred.Clear()
	k.items.Clear()
	k.said.Clear()
	k.bars.Clear()
	k.cells.Clear()
	k.signs.Clear()
}

// mostKnown bounds how many lines are kept, and longestKnown how long they are.
const (
	mostKnown    = 4096
	longestKnown = 256
)

// Parse reads a text as the function of that name does.
func (k *Known) Parse(text string) *File { return reparse(text, nil, k) }

// mayHaveBars says whether a line, which then is in the room of its text, may have some.
func mayHaveBars(text string) bool { return strings.IndexByte(text, '|') >= 0 }

func (k *Known) line(text string) *Line {
	if k == nil {
		return nil
	}
	return k.lines[text]
}

// own is the text of a line by itself, if it may be kept.
func (k *Known) own(text string) string {
	if k == nil || mayHaveBars(text) {
		return text
	}
	return strings.Clone(text)
}

// keep keeps a line that was just read, if it may come again.
func (k *Known) keep(l *Line) {
	if k == nil || mayHaveBars(l.Text) || len(l.Text) > longestKnown {
		return
	}
	if k.lines == nil || len(k.lines) >= mostKnown {
		k.lines = make(map[string]*Line)
	}
	k.lines[l.Text] = l
}

// Reparse reads a text, keeping from an earlier file the lines at its
// beginning and end whose text is the same, and what is the same between them.
func Reparse(text string, old *File) *File { return reparse(text, old, nil) }

func reparse(text string, old *File, known *Known) *File {
	f := &File{text: text}
	if f.between(text, old) {
		return f
	}
	var in room
	if known != nil {
		in = known.room
	}
	texts := splitLines(text, f, &in)
	f.Lines = in.list.Zeros(len(texts))
	if f.encoding(text, texts) {
		return f
	}
	f.plain = len(f.Problems) == 0 && !strings.HasPrefix(text, bom) && !strings.ContainsAny(text, "\r\x00")
	var before []*Line
	if old != nil && !old.Refused {
		before = old.Lines
	}
	read(f.Lines, texts, before, false, known)
	return f
}

// read reads some lines, of which those before may be the same; they are if some are, or
// they are said to stand in their place.
func read(lines []*Line, texts []string, before []*Line, inPlace bool, known *Known) {
	head, tail := 0, 0
	for head < len(texts) && head < len(before) && texts[head] == before[head].Text {
		lines[head] = before[head]
		head++
	}
	for tail < len(texts)-head && tail < len(before)-head && texts[len(texts)-1-tail] == before[len(before)-1-tail].Text {
		lines[len(texts)-1-tail] = before[len(before)-1-tail]
		tail++
	}
	fresh := lines[head : len(texts)-tail]
	// What is new among much that stays would keep the whole text that it stands in.
	own := known.own
	if inPlace || tail+head > 0 {
		own = strings.Clone
	}
	if len(fresh) == 1 {
		fresh[0] = ParseLine(own(texts[head]))
		return
	}
	var words reading
	// Equal lines are one line: music says the same again and again.
	var in room
	var same map[string]*Line
	if known != nil {
		same, in = known.same, known.room
	} else {
		same = make(map[string]*Line, min(len(fresh), 1024))
	}
	if inPlace || tail+head > 0 {
		for _, l := range before[head : len(before)-tail] {
			same[l.Text] = l
		}
	}
	for i, text := range texts[head : len(texts)-tail] {
		l := known.line(text)
		if l == nil {
			l = same[text]
		}
		if l == nil {
			l = parseLine(own(text), &words, &in)
			same[text] = l
			known.keep(l)
		}
		fresh[i] = l
	}
}

const bom = "\ufeff"

// splitLines parts the text at its line ends (LF, CRLF or CR) and notes where
// each line begins.
func splitLines(text string, f *File, in *room) []string {
	at := 0
	if strings.HasPrefix(text, bom) {
		at = len(bom)
	}
	lone := strings.Count(text, "\r") > strings.Count(text, "\r\n")
	count := strings.Count(text, "\n") + 1
	lines := in.texts.List(min(count, MaxLines))
	f.Starts = in.starts.List(min(count, MaxLines))
	for {
		if len(lines) == MaxLines {
			f.Problems = append(f.Problems, FileProblem{Line: MaxLines - 1, Problem: Problem{
				Rule: RuleTooLarge, About: Tells(tooManyLines, MaxLines)}})
			return lines
		}
		end := strings.IndexByte(text[at:], '\n')
		if lone {
			end = strings.IndexAny(text[at:], "\r\n")
		}
		next := at + end + 1
		if lone && end >= 0 && strings.HasPrefix(text[at+end:], "\r\n") {
			next++
		}
		if end < 0 {
			end, next = len(text)-at, -1
		}
		line := text[at : at+end]
		lines = append(lines, strings.TrimSuffix(line, "\r"))
		f.Starts = append(f.Starts, at)
		if next < 0 {
			return lines
		}
		at = next
	}
}

// Used is the file that a line takes something from, or nil.
func (l *Line) Used() *Str {
	if l.Broken {
		return nil
	}
	switch st := l.Stmt.(type) {
	case *Use:
		return &st.Path
	case *Part:
		return st.In
	}
	return nil
}

// EOL is how the file ends its lines, by its first line: CRLF or LF.
func (f *File) EOL() string {
	if f.plain {
		return "\n"
	}
	text := f.Text()
	if i := strings.IndexByte(text, '\n'); i > 0 && text[i-1] == '\r' {
		return "\r\n"
	}
	return "\n"
}

// Ended is a text with its lines ended as the file's are.
func (f *File) Ended(text string) string {
	if f.EOL() == "\n" || !strings.Contains(text, "\n") {
		return text
	}
	return strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\n", "\r\n")
}

// GoesOn is the lines that go on from a line with bars: those that begin with
// |, with nothing but blank lines and comments between them.
func (f *File) GoesOn(line int) []int {
	var out []int
	for i := line + 1; i < len(f.Lines); i++ {
		l := f.Lines[i]
		if _, more := l.Stmt.(*More); more {
			out = append(out, i)
		} else if l.Form != nil {
			break
		}
	}
	return out
}

// ParseLine reads one line, which holds no line end.
func ParseLine(text string) *Line { return parseLine(text, new(reading), new(room)) }

// parseLine is ParseLine with a reading that was used for other lines.
func parseLine(text string, words *reading, in *room) *Line {
	if text == "" {
		return blankLine
	}
	var line *Line
	barred := mayHaveBars(text)
	if barred {
		line = in.barred.New()
	} else {
		line = new(Line)
	}
	line.Text = text
	if len(text) > MaxLine {
		line.Broken = true
		line.fault(RuleTooLarge, Span{0, 0}, tooLongLine, len(text), MaxLine)
		return line
	}
	if c := commentStart(text, 0); c < len(text) {
		line.comment = int32(c) + 1
	}
	kind, from, to := nextToken(text, 0)
	switch kind {
	case lexer.EOF:
		return line
	case tokBad, tokString, tokEquals:
		line.Broken = true
		if line.ask() {
			return line
		}
		line.fault(RuleSyntax, Span{from, to}, cannotBeginLine, describe(kind, text[from:to]))
		return line
	}
	first, end := text[from:to], to
	if kind == tokWord {
		first, end = firstWord(text, from, to)
	}
	line.Form = formOf(first, text[end:], kind == tokBars)
	*words = reading{text: text}
	if barred {
		words.in = in
	}
	stmt, err := line.Form.parse(words)
	line.Stmt = stmt
	switch {
	case err != nil:
		line.Broken = true
		line.explain(err, from, end)
	case line.Form == rules().item && line.puzzles(stmt.(*Item), to):
		line.Broken = true
	case words.twice.End > 0:
		line.fault(RuleSyntax, words.twice, saidTwiceInLine, clip(text[words.twice.Start:words.twice.End]))
	}
	if b := barText(stmt); b != nil {
		var problems []Problem
		line.Bars, problems = scanBars(b.Text, int(b.Pos.From), in)
		line.Problems = append(line.Problems, problems...)
	}
	line.unclosed()
	return line
}

func barText(s Stmt) *BarText {
	switch s := s.(type) {
	case *Item:
		return s.Bars
	case *More:
		return &s.Bars
	case *LimbLine:
		if s.Cue != nil {
			return s.Cue.Bars
		}
	}
	return nil
}

func (l *Line) fault(rule string, at Span, format string, args ...any) {
	l.Problems = append(l.Problems, Problem{Rule: rule, Span: at, About: Tells(format, args...)})
}

// explain says in the notation's own terms what the parser stumbled over.
func (l *Line) explain(err error, wordFrom, wordTo int) {
	if (l.Form == rules().item || l.Form == rules().stock || l.Form.Word == "tempo") && l.ask() {
		return
	}
	span, what, tok := l.stumbles(err)
	defer l.nearWord(span, tok)
	switch {
	case l.Form == rules().item:
		l.explainItem(span, what, tok, wordFrom, wordTo)
	case l.Form == rules().stock:
		l.fault(RuleSyntax, span, noSuchBeginning, what, l.Form.Shape)
	case l.Form == rules().limb:
		l.explainLimb(span, what, tok, wordTo)
	default:
		l.fault(RuleSyntax, span, writeShape, what, l.Form.Shape)
	}
}

// nearWord asks for a word of the notation where one that does not fit is so
// near to it that the line can be read with it.
func (l *Line) nearWord(at Span, tok token) {
	p := &l.Problems[len(l.Problems)-1]
	if tok.kind != tokWord || p.Span != at || len(p.Near)+len(p.Readings) > 0 {
		return
	}
	var words []string
	for _, e := range next(strings.TrimRight(l.Text[:at.Start], " \t"), l.Form) {
		words = append(words, e.Words)
	}
	near := Nearest(l.Text[at.Start:at.End], words)
	if near == "" {
		return
	}
	if _, err := l.Form.parse(&reading{text: l.Text[:at.Start] + near + l.Text[at.End:]}); err == nil {
		p.MayMean(near)
		p.Named = at
	}
}

// explainItem answers a line that begins with a name: mostly one without its
// limb, or a statement whose word is mistyped.
func (l *Line) explainItem(span Span, what string, tok token, wordFrom, wordTo int) {
	code := l.Code()
	first := l.Text[wordFrom:wordTo]
	switch tok.text {
	case "as", "with", "for", "holds", "takes", "lays", "damps":
		if ways := Limbed(strings.TrimSpace(code)); len(ways) > 0 {
			l.fault(RuleSyntax, Span{wordFrom, len(code)}, WhoPlaysThis)
			l.Problems[len(l.Problems)-1].Readings = ways
			return
		}
	}
	if near := l.nearest(first, wordFrom, nil); near != "" {
		l.fault(RuleSyntax, span, nearStatement, what, l.Form.Shape)
		p := &l.Problems[len(l.Problems)-1]
		p.Near, p.Named = []string{near}, Span{wordFrom, wordTo}
		return
	}
	if len(first) <= 3 {
		what += "; limbs are"
		for _, l := range Limbs() {
			what += " " + l[0]
		}
	}
	l.fault(RuleSyntax, span, itemShape, what, l.Form.Shape)
}

// explainLimb answers a limb's line.
func (l *Line) explainLimb(span Span, what string, tok token, wordTo int) {
	code := l.Code()
	s, _ := l.Stmt.(*LimbLine)
	next := func() string { _, f, t := nextToken(l.Text, tok.to); return l.Text[f:t] }
	switch {
	case tok.text == "at" && s != nil && s.Cue != nil && s.Cue.Bars == nil && s.Cue.AsWritten == nil:
		l.fault(RuleSyntax, span, fromStandsAbove, next())
	case (tok.text == "from" || tok.text == "until" || tok.text == "till" || tok.text == "up") && s != nil && s.Cue != nil && s.Cue.AsWritten != nil:
		if _, ok := ParsePlace(next()); !ok {
			l.fault(RuleSyntax, span, whichBarsSaidIn, what)
			return
		}
		if tok.text == "from" {
			l.fault(RuleSyntax, span, toWhere, next(), next())
			return
		}
		to := Reading{"to there, that bar too", "in 1-" + next()}
		if len(ParseLine(l.Text[:span.Start]+to.Text).Problems) > 0 {
			l.fault(RuleSyntax, Span{span.Start, len(code)}, fromWhereAtAll)
			return
		}
		l.fault(RuleSyntax, Span{span.Start, len(code)}, fromWhere)
		l.Problems[len(l.Problems)-1].Readings = []Reading{to}
	case s != nil && s.Holds != nil && tok.text != "":
		l.fault(RuleSyntax, span, holdsAtStartOnly, what)
	case tok.kind == tokBars && s != nil && s.Cue != nil && s.Cue.AsWritten != nil:
		l.fault(RuleSyntax, span, writtenOrOwnBars, what)
	case tok.text == "on" && s != nil && s.Cue != nil && s.Cue.AsWritten == nil:
		l.fault(RuleSyntax, span, mountsAre, what)
		l.Problems[len(l.Problems)-1].Expected = mountWords[:]
	default:
		l.fault(RuleSyntax, span, limbShape, what, l.Form.Shape)
	}
}

func isName(text string) bool {
	return text != "" && strings.IndexFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && r != '-' }) < 0
}

// unclosed finds a quote that nothing closes.
func (l *Line) unclosed() {
	if len(l.Problems) > 0 || strings.IndexByte(l.Text, '"') < 0 {
		return
	}
	code := commentStart(l.Text, 0)
	for i := 0; i < code; i++ {
		switch l.Text[i] {
		case '"':
			end, closed := stringEnd(l.Text, i)
			if !closed {
				l.fault(RuleSyntax, Span{i, end}, openText)
				return
			}
			i = end - 1
		}
	}
}

func describe(kind lexer.TokenType, text string) string {
	switch kind {
	case lexer.EOF:
		return "the end of the line"
	case tokBars:
		return "a bar list"
	case tokString:
		return "quoted text"
	case tokBad:
		if r, size := utf8.DecodeRuneInString(text); r == utf8.RuneError && size <= 1 {
			return "a byte that is not UTF-8 text"
		} else if r < ' ' || r == 0x7f {
			return fmt.Sprintf("a control character (%U)", r)
		}
	}
	return clip(text)
}

// nearest is the statement word closest to a mistyped one that begins at a byte,
// if any is close. Of several it is one with which the line can be read, where it
// stands if that is known.
func (l *Line) nearest(word string, at int, seat *Seat) string {
	best, least, reads := "", 3, false
	for _, f := range Forms() {
		d := distance(word, f.Word)
		if d > least || d >= 3 || d == least && reads || len(word) < 2*d {
			continue
		}
		_, err := f.parse(&reading{text: l.Text[:at] + f.Word + l.Text[at+len(word):]})
		fits := err == nil && (seat == nil || seat.Fits(&Line{Form: f}))
		if d < least || fits {
			best, least, reads = f.Word, d, fits
		}
	}
	return best
}

// Nearest is the word of a list that a mistyped one is closest to, or "".
func Nearest(word string, list []string) string {
	best, least := "", 4
	letters, long := lettersOf(word)
	for _, w := range list {
		most := min(least-1, (len(word)-1)/2)
		other, length := lettersOf(w)
		if long-length > most || length-long > most || bits.OnesCount64(letters&^other) > most || bits.OnesCount64(other&^letters) > most {
			continue // each step adds or takes away no more than one letter
		}
		if d := distance(word, w); d <= most {
			best, least = w, d
		}
	}
	return best
}

// lettersOf are those that a word has, as bits that some letters share, and how
// many letters it is long.
func lettersOf(word string) (letters uint64, long int) {
	for _, r := range word {
		letters |= 1 << (uint32(r) % 64)
		long++
	}
	return letters, long
}

// distance is how many letters must be added, dropped, changed or swapped
// with their neighbour to make one word of the other.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	if len(x) > 64 || len(y) > 64 {
		return 64
	}
	var two, one, now [65]int
	for j := range len(y) + 1 {
		one[j] = j
	}
	for i := 1; i <= len(x); i++ {
		now[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			now[j] = min(one[j]+1, now[j-1]+1, one[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				now[j] = min(now[j], two[j-2]+1)
			}
		}
		two, one = one, now
	}
	return one[len(y)]
}
