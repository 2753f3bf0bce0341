package lsp

import (
	"context"
	"encoding/json"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"go.lsp.dev/protocol"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

// firstCheck is how long completion waits for a document's very first check.
const firstCheck = 50 * time.Millisecond

// Completion offers what may stand at the cursor. It does not wait for the
// check of an edit: names come from the last one that is there.
func (s *session) Completion(ctx context.Context, p *protocol.CompletionParams) (protocol.CompletionResult, error) {
	d, err := s.find(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	line, col := d.at(p.Position)
	f := d.parsed()
	c := completion{s: s, d: d, w: s.worldOf(ctx), line: line, seat: d.seats()[line], items: []protocol.CompletionItem{}, seen: map[string]bool{}}
	if c.score = d.analysis.lineage.score(); c.score == nil {
		soon, cancel := context.WithTimeout(ctx, firstCheck)
		d.analysis.wait(soon)
		cancel()
		c.score = d.analysis.lineage.score()
	}
	text := f.Lines[line].Text
	c.code = f.Lines[line].CommentStart()
	c.split(text[:col])
	c.start, c.end = col-len(c.part), col
	if c.part != "" {
		c.end += c.wordRest(text[col:max(col, c.code)]) // the rest of the word goes with its beginning
	}
	if i := strings.IndexByte(c.part, syntax.MemberMark); i > 0 && !c.bars && !c.quoted && c.seat.Block == syntax.InKit && len(c.before) == 0 { // one of a set
		c.set = c.part[:i]
		c.start, c.part = c.start+i+1, c.part[i+1:]
	} else if i := strings.IndexByte(c.part, ':'); i >= 0 && c.bars && !c.quoted { // a note behind its stroke
		c.keyed = true
		i += strings.LastIndexByte(c.part[i:], '+') + 1
		i = max(i, strings.IndexByte(c.part, ':')+1)
		c.start, c.part = c.start+i, c.part[i:]
	}
	c.last = strings.TrimSpace(text[c.end:]) == ""
	c.col = col
	onSpace := p.Context.TriggerKind == protocol.CompletionTriggerKindTriggerCharacter && c.part == ""
	switch {
	case c.comment, c.bars && onSpace && !c.keyed:
		// Between strokes nobody waits for a word.
	case c.part == "" && !c.quoted && strings.HasSuffix(text[:col], `"`):
		// A text has just ended; the next word begins behind a space.
	default:
		c.offer(strings.TrimSuffix(text[:c.start], `"`))
		c.whole(text[c.start:col], text[col:c.end])
	}
	return &protocol.CompletionList{Items: c.items, IsIncomplete: c.more}, nil
}

// whole takes back all offers when what is written is one of them already:
// editors take an offer on Enter, and somebody who has written a word out wants
// the next line.
func (c *completion) whole(written, rest string) {
	if written != "" && rest == "" && c.seen[written] {
		c.items, c.more = []protocol.CompletionItem{}, true // a longer one is asked for again
	}
}

// score is that of the last check, or nil.
func (l *lineage) score() *score.Score {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.last == nil {
		return nil
	}
	return l.last.Score
}

type completion struct {
	s       *session
	d       *document
	w       *world
	score   *score.Score
	line    int
	seat    syntax.Seat
	before  []string // whole words before the cursor
	part    string   // of a word, up to the cursor
	quoted  bool     // the cursor is in a text
	bars    bool     // the cursor is behind a bar line
	comment bool
	code    int    // where the line's comment begins
	keyed   bool   // the cursor is behind a stroke's colon
	set     string // the set of which one is to be placed, where the cursor is behind its colon
	last    bool   // nothing stands behind the cursor's word
	start   int    // of what is replaced
	col     int    // of the cursor
	end     int
	from    int // where insert and replace begin
	insert  protocol.Range
	replace protocol.Range
	items   []protocol.CompletionItem
	seen    map[string]bool
	more    bool
	sought  string // the last word of which somebody asked what it stands for
	found   *kit.Instrument
}

// split parts what stands before the cursor into words.
func (c *completion) split(text string) {
	start := 0
	flush := func(end int) {
		if end > start {
			c.before = append(c.before, text[start:end])
		}
	}
	for i := 0; i < len(text); i++ {
		switch ch := text[i]; {
		case c.quoted:
			if ch == '\\' {
				i++
			} else if ch == '"' {
				c.quoted = false
				flush(i + 1)
				start = i + 1
			}
		case ch == '"':
			flush(i)
			start, c.quoted = i, true
		case i >= c.code:
			c.comment = true
			return
		case ch == '|':
			flush(i)
			start, c.bars = i+1, true
		case ch == ' ' || ch == '\t':
			flush(i)
			start = i + 1
		}
	}
	c.part = text[min(start, len(text)):]
	if c.quoted {
		c.part = c.part[1:]
	}
}

// wordRest is how much of the text behind the cursor belongs to its word.
func (c *completion) wordRest(text string) int {
	if c.quoted {
		if i := strings.IndexByte(text, '"'); i >= 0 {
			return i
		}
		return 0
	}
	if i := strings.IndexAny(text, " \t|\""); i >= 0 {
		return i
	}
	return len(text)
}

const mostOffered = 400

// add offers a word. Rank orders groups: what is nearest to the piece first.
func (c *completion) add(rank int, label string, kind protocol.CompletionItemKind, detail string, more ...func(*protocol.CompletionItem)) {
	if c.seen[label] {
		return
	}
	if len(c.items) == mostOffered {
		c.more = true
		return
	}
	c.seen[label] = true
	c.items = append(c.items, protocol.CompletionItem{
		Label: label, Kind: kind, SortText: protocol.NewOptional(sortText(rank, len(c.items))),
		TextEdit: c.put(c.start, label),
	})
	it := &c.items[len(c.items)-1]
	if detail != "" {
		it.Detail = protocol.NewOptional(detail)
	}
	for _, m := range more {
		m(it)
	}
}

// sortText orders an offer by its group, then by its place among all.
func sortText(rank, place int) string {
	return string([]byte{'0' + byte(rank), '0' + byte(place/1000%10), '0' + byte(place/100%10), '0' + byte(place/10%10), '0' + byte(place%10)})
}

// put writes a text from a byte of the line to the end of the cursor's word or,
// in editors that ask their users, to the cursor, with the rest of the word left.
func (c *completion) put(start int, text string) protocol.CompletionItemTextEdit {
	if start != c.from || c.insert == (protocol.Range{}) { // most offers begin at one place
		c.from = start
		c.insert = c.d.where(c.line, syntax.Span{Start: start, End: c.col})
		c.replace = c.d.where(c.line, syntax.Span{Start: start, End: c.end})
	}
	if !c.s.can.insertReplace || c.end == c.col {
		return &protocol.TextEdit{Range: c.replace, NewText: text}
	}
	return &protocol.InsertReplaceEdit{NewText: text, Insert: c.insert, Replace: c.replace}
}

// wholeLine offers the rest of a line from a byte on, if what is written of it
// begins like that; the best of them is chosen before the others. The text has
// one place to fill in at the most: what stands between its last quotes.
func (c *completion) wholeLine(start int, written, text, detail string, best bool) {
	if c.seen[text] || written == text || !strings.HasPrefix(text, written) {
		return
	}
	c.add(0, text, protocol.CompletionItemKindEvent, detail, func(it *protocol.CompletionItem) {
		it.FilterText = protocol.NewOptional(text)
		it.TextEdit = c.put(start, text)
		if filled, ok := reasonToFill(text); ok && c.s.can.snippets {
			it.InsertTextFormat = protocol.InsertTextFormatSnippet
			it.TextEdit = c.put(start, filled)
		}
		if best {
			it.Preselect = protocol.NewOptional(true)
		}
	})
}

// reasonToFill is a text as a snippet in which the caret stands in the reason
// that somebody has to write; not ok where there is none.
func reasonToFill(text string) (snippet string, ok bool) {
	quoted := syntax.Quote(syntax.NoReasonYet)
	if !strings.Contains(text, quoted) {
		return "", false
	}
	text = strings.NewReplacer(`\`, `\\`, `$`, `\$`, `}`, `\}`).Replace(text)
	return strings.Replace(text, quoted, `"${1:`+syntax.NoReasonYet+`}"`, 1) + "$0", true
}

// resolved is what the documentation of an item is read from.
type resolved struct {
	Kind string `json:"kind"`
	Name string `json:"name"`
}

// resolve says what the documentation of an item is to be read from.
func resolve(kind, name string) func(*protocol.CompletionItem) {
	return func(it *protocol.CompletionItem) {
		it.Data, _ = json.Marshal(resolved{kind, name})
	}
}

// snippet writes more than the label, with places to fill in, for clients that
// can do that.
func (c *completion) snippet(text string) func(*protocol.CompletionItem) {
	return func(it *protocol.CompletionItem) {
		if c.s.can.snippets && c.last {
			it.InsertTextFormat = protocol.InsertTextFormatSnippet
			it.TextEdit = c.put(c.start, text)
		}
	}
}

func (c *completion) words(rank int, detail string, list ...string) {
	for _, w := range list {
		c.add(rank, w, protocol.CompletionItemKindKeyword, detail)
	}
}

// offer is what the productions let stand here: what names there are of what
// is meant, then the words of the notation.
func (c *completion) offer(head string) {
	switch {
	case c.keyed:
		c.keys()
		return
	case c.set != "":
		c.members()
		return
	case c.bars:
		c.inBars()
		return
	case len(c.before) == 0:
		if !c.quoted { // no line begins with a text
			c.statements()
		}
		return
	}
	c.wholeCues(head)
	c.wholeWishes(head)
	next := syntax.Next(head, c.seat.Block)
	for _, e := range next {
		switch {
		case e.Words == "":
			c.names(e.Role, e.Quoted)
		case e.Role == roleMount && !c.quoted:
			c.mounts(e.Words)
		}
	}
	for _, e := range next {
		if e.Role == "" && !c.quoted && letter(e.Words[0]) {
			c.words(1, c.detail(e.Words), e.Words)
		}
	}
}

// names offers the names that there are of what a line names next.
func (c *completion) names(r role, quoted bool) {
	first := c.before[0]
	switch r {
	case rolePart:
		c.parts(!c.quoted)
	case rolePlayer:
		c.players(!c.quoted)
	case roleRule:
		for _, r := range check.Rules() {
			c.add(0, r.Name, protocol.CompletionItemKindFunction, r.Finds, resolve("rule", r.Name))
		}
	case rolePlace:
		c.places(first)
		c.marks()
	case roleStation:
		c.stations()
	case roleSide:
		c.words(1, "centimetres", "right", "left", "ahead", "behind")
	case roleInstrument:
		c.toPlay(first)
	case roleKind:
		c.instruments(0)
	case roleImplement:
		c.implements(c.before)
	case roleThing:
		c.things()
	case roleTaste:
		c.written(0)
		c.words(1, "a whole family", syntax.Families()...)
		c.instruments(3)
	case roleWay:
		c.asks(c.before[min(1, len(c.before)-1)], c.quoted)
	case roleMotion:
		c.words(0, "", kit.Motions()...)
	case roleGear:
		c.hardware(0)
	case roleDynamic:
		c.words(0, "dynamic", syntax.Dynamics()...)
	case roleWord, roleLimb, roleValue:
		c.choices(first)
	}
	switch {
	case c.quoted && r == roleFile:
		c.files()
	case !c.quoted && quoted && r == roleFile:
		c.add(0, `""`, protocol.CompletionItemKindFile, "a file of the folder", c.snippet(`"$1"`))
	case !c.quoted && quoted && r == roleText && c.before[len(c.before)-1] == "because":
		c.add(0, `""`, protocol.CompletionItemKindText, "your reason", c.snippet(`"$1"`))
	}
}

// toPlay are the instruments that a line may name: the player's first.
func (c *completion) toPlay(first string) {
	switch {
	case first == "omit" || first == "together" || c.before[len(c.before)-1] == "for" && isLimb(first):
		c.written(0)
	default:
		c.kitItems()
		c.written(1)
		c.instruments(3)
	}
}

// choices are the words of which a statement has one.
func (c *completion) choices(first string) {
	switch first {
	case "family":
		c.words(0, "", syntax.Families()...)
	case "moves":
		c.words(0, "", kit.Motions()...)
	default:
		if form := syntax.FormFor(first, c.seat.Block); form != nil {
			c.words(0, form.Says, form.Choices()...)
		}
	}
}

// detail says of a word what comes behind it.
func (c *completion) detail(words string) string {
	if !isLimb(c.before[0]) {
		return ""
	}
	return map[string]string{
		"at": "a place: 12.3", "and": "a second thing in the hand", "with": "an implement", "as written": "the strokes of the parts",
		"for": "a written instrument that this one stands in for", "holds": "from the start", "takes": "at a set place", "lays": "at a set place",
		"damps": "at a set place", "forearm damps": "at a set place", "knee damps": "at a set place", "turns page at": "at a set place",
	}[words]
}

// things are what a gear block may name, or a hand takes.
func (c *completion) things() {
	if c.seat.Block != syntax.InGear {
		c.implements(nil)
		c.kitItems()
		return
	}
	c.written(0)
	c.hardware(1)
	for _, im := range c.catalogue().Implements() {
		c.add(2, im.ID, protocol.CompletionItemKindClass, im.Name(), resolve("implement", im.ID))
	}
	c.instruments(3)
}

func (c *completion) hardware(rank int) {
	for _, h := range c.catalogue().Hardware() {
		c.add(rank, h, protocol.CompletionItemKindProperty, "hardware")
	}
}

func isLimb(word string) bool {
	_, ok := body.LimbNamed(word)
	return ok
}

// statements offers what may begin a line.
func (c *completion) statements() {
	switch c.seat.Block {
	case syntax.InPlayer, syntax.InKit:
		if c.seat.Block == syntax.InPlayer || c.seat.Inner >= 0 {
			for _, l := range syntax.Limbs() {
				c.add(0, l[0], protocol.CompletionItemKindKeyword, l[1])
			}
		}
		if c.seat.Block == syntax.InKit {
			c.written(0)
			c.instruments(3)
		}
	case syntax.InPart:
		c.written(0)
		c.instruments(3)
	}
	for _, f := range syntax.Forms() {
		rank := 2
		if f.In&c.seat.Block != 0 && c.seat.Block != syntax.InHead {
			rank = 1
		}
		if f.In&(c.seat.Block|syntax.InHead) == 0 && f.Opens == 0 && !(c.seat.Inner >= 0 && f.In&syntax.InPlayer != 0) {
			continue
		}
		c.add(rank, f.Word, protocol.CompletionItemKindKeyword, f.Says, resolve("form", f.Word), c.snippet(snippetOf(f)))
	}
}

// snippetOf is a block or a statement with places to fill in.
func snippetOf(f *syntax.Form) string {
	switch f.Word {
	case "part":
		return "part \"${1:Percussion}\"\n  ${2:snare-drum} | ${0:1 2 3 4}"
	case "player":
		return "player ${1:Nell}\n  ${2:R} ${3:snare-drum} ${0:as written}"
	case "gear":
		return "gear\n  ${1:2} ${2:snare-drum}$0"
	case "kit":
		return "kit\n  ${1:snare-drum} on stand at ahead ${2:40}\n  table at right ${3:38} ahead ${4:30}$0"
	case "instrument":
		return "instrument ${1:ships-bell}\n  called \"${2:ship's bell}\"\n  family ${3:metal}\n  rings ${4:4}\n  way ${5:hung} takes 1 hand with ${6:brass-mallet} loudest ${7:ff}$0"
	case "accept":
		return "accept ${1:short-change} at ${2:9} because \"${3:why}\"$0"
	case "omit":
		return "omit ${1:snare-drum} in ${2:8} of \"${3:Percussion 1}\" because \"${4:why}\"$0"
	case "together":
		return "together ${1:snare-drum} in ${2:8}$0"
	case "title", "credit", "note", "use":
		return f.Word + " \"$1\"$0"
	}
	return f.Word + " $0"
}

// keys offers the bars or drums of the line's instrument.
func (c *completion) keys() {
	in := c.played()
	if in == nil {
		return
	}
	if in.Pitched() {
		for n := in.Range.Low.Semitone(); n <= in.Range.High.Semitone(); n++ {
			p := pitch.FromSemitone(n)
			_, said, _ := strings.Cut(in.DescribeNote(p), ": ")
			c.add(0, p.String(), protocol.CompletionItemKindEnumMember, said)
		}
	}
	for n := 1; n <= in.Row(); n++ {
		_, said, _ := strings.Cut(in.DescribeMember(n), ": ")
		if n <= len(in.MemberNames) {
			c.add(0, in.MemberNames[n-1], protocol.CompletionItemKindEnumMember, said)
		}
		c.add(1, fmt.Sprint(n), protocol.CompletionItemKindEnumMember, said)
	}
}

// members offers those of a set that have no place of their own yet.
func (c *completion) members() {
	f, seats := c.d.parsed(), c.d.seats()
	in := kit.Standard().Resolve(c.set)
	if c.score != nil {
		in = instrumentNamed(f, seats, c.score, c.set, c.line)
	}
	if in == nil {
		return
	}
	placed := map[int]bool{}
	for i, l := range f.Lines {
		if s, ok := l.Stmt.(*syntax.Item); ok && i != c.line && seats[i].Inner == c.seat.Inner {
			if set, which, one := s.Member(); one && set.Text == c.set {
				n, _ := in.MemberCalled(which.Text)
				placed[n] = true
			}
		}
	}
	for n, word := range in.MemberWords() {
		if _, said, _ := strings.Cut(in.DescribeMember(n+1), ": "); !placed[n+1] {
			c.add(0, word, protocol.CompletionItemKindEnumMember, "usually "+said)
		}
	}
}

// played is what the line's bars are for, or nil.
func (c *completion) played() *kit.Instrument {
	f := c.d.parsed()
	line := c.line
	for line > 0 {
		if _, more := f.Lines[line].Stmt.(*syntax.More); !more && f.Lines[line].Form != nil {
			break
		}
		line--
	}
	name := ""
	switch s := f.Lines[line].Stmt.(type) {
	case *syntax.Item:
		name = s.Name.Text
	case *syntax.LimbLine:
		if s.Cue != nil {
			name = s.Cue.Name.Text
		}
	}
	switch {
	case name == "":
		return nil
	case c.score == nil:
		return kit.Standard().Resolve(name)
	}
	return instrumentNamed(f, c.d.seats(), c.score, name, line)
}

func (c *completion) inBars() {
	for _, w := range syntax.Dynamics() {
		c.add(1, w, protocol.CompletionItemKindEnumMember, "dynamic")
	}
	c.add(0, "%", protocol.CompletionItemKindOperator, "the bar before, again")
	c.add(0, "-", protocol.CompletionItemKindOperator, "a bar's rest")
}

// files are those of the workspace folder, as seen from the document's own.
func (c *completion) files() {
	if c.d.root == "" {
		return
	}
	dir := path.Dir(c.d.name)
	add := func(name string) {
		rel, err := filepath.Rel(filepath.FromSlash(dir), filepath.FromSlash(name))
		if err == nil && name != c.d.name {
			c.add(0, filepath.ToSlash(rel), protocol.CompletionItemKindFile, "")
		}
	}
	for _, d := range sortedDocs(c.w) {
		if d.root == c.d.root {
			add(d.name)
		}
	}
	c.s.mu.Lock()
	ids := sortedKeys(c.s.shelf)
	c.s.mu.Unlock()
	for _, id := range ids {
		if root, name := placeOf(c.w, id); root == c.d.root {
			add(name)
		}
	}
	if c.before[0] != "part" {
		return
	}
	parts, _ := folder.Parts(c.d.root)
	for _, p := range parts {
		if name, err := filepath.Rel(c.d.root, p); err == nil {
			add(filepath.ToSlash(name))
		}
	}
}

func (c *completion) parts(quote bool) {
	if c.score == nil {
		return
	}
	for _, p := range c.score.Parts {
		c.add(0, c.text(p.Name, quote), protocol.CompletionItemKindModule, "part")
	}
}

// text is a name as a text: in quotes, or what goes between those that are
// there.
func (c *completion) text(name string, quote bool) string {
	q := syntax.Quote(name)
	if quote {
		return q
	}
	return q[1 : len(q)-1]
}

func (c *completion) players(quote bool) {
	if c.score == nil {
		return
	}
	for _, p := range c.score.Players {
		label := c.text(p.Name, false)
		if quote {
			label = syntax.TitleOf(p.Name).Text
		}
		c.add(0, label, protocol.CompletionItemKindClass, "player")
	}
}

// places offers bars where what the line speaks of is to be found: what nobody
// plays of it, where a rule found something, or where it comes in. A bar's number
// that is being written is whoever writes it's own.
func (c *completion) places(first string) {
	last := c.d.analysis.lineage.latest()
	if c.part != "" || last == nil {
		return
	}
	add := func(bars, detail string) { c.add(0, bars, protocol.CompletionItemKindReference, detail) }
	name := ""
	if len(c.before) > 1 {
		name = c.before[1]
	}
	switch first {
	case "omit":
		for _, gap := range last.Gaps() {
			if gap.What.Text == name {
				add(gap.In[0].Text, words.Count(gap.Strokes, "stroke", "strokes")+" that nobody plays")
			}
		}
	case "accept":
		for i := range last.Findings {
			if f := &last.Findings[i]; f.Rule.Name == name && f.HasPlace {
				add(fmt.Sprint(f.Bar), findingWords(f))
			}
		}
	default:
		c.entrances(last.Score, name, add)
	}
}

// entrances are the bars in which a written line comes in behind a bar of rest or
// more: those of the instrument that the line names, or all.
func (c *completion) entrances(s *score.Score, name string, add func(bars, detail string)) {
	named := slices.ContainsFunc(s.Parts, func(p *score.Part) bool {
		return slices.ContainsFunc(p.Lines, func(l *score.Line) bool { return l.Name == name })
	})
	type entrance struct {
		bar  int
		line *score.Line
	}
	var list []entrance
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			before := s.Grid.First() - 2
			for i := range l.Strokes {
				if !l.Strokes[i].Sounds() {
					continue
				}
				bar := int(l.Strokes[i].Bar)
				if bar > before+1 && (!named || l.Name == name) {
					list = append(list, entrance{bar, l})
				}
				before = bar
			}
		}
	}
	slices.SortStableFunc(list, func(a, b entrance) int { return a.bar - b.bar })
	for _, e := range list[:min(len(list), mostEntrances)] {
		add(fmt.Sprint(e.bar), "the "+e.line.Inst.Name()+" of "+e.line.Part.Name+" "+e.line.Inst.Verb("comes", "come")+" in")
	}
}

// mostEntrances is how many bars are offered for a place.
const mostEntrances = 40

// marks are offered as the ends of a range too: only the end that is being
// written is replaced.
func (c *completion) marks() {
	if i := strings.LastIndexAny(c.part, "-+"); i >= 0 {
		c.start += i + 1
	}
	if c.score != nil {
		for _, m := range c.score.Marks {
			c.add(0, m.Name, protocol.CompletionItemKindReference, fmt.Sprintf("bar %d", m.Bar))
		}
	}
}

// player is the one that the line belongs to, as the last check saw it.
func (c *completion) player() *score.Player {
	if c.score == nil || c.seat.Owner < 0 {
		return nil
	}
	s, ok := c.d.parsed().Lines[c.seat.Owner].Stmt.(*syntax.Player)
	if !ok {
		return nil
	}
	return c.score.Player(s.Name.Value())
}

func (c *completion) stations() {
	if p := c.player(); p != nil {
		for _, st := range p.Stations {
			if st.Name != "" {
				c.add(0, st.Name, protocol.CompletionItemKindReference, "a place to stand")
			}
		}
	}
}

// kitItems are the instruments that the player has.
func (c *completion) kitItems() {
	if p := c.player(); p != nil {
		for _, it := range p.Items {
			c.instrument(0, it.Name, it.Inst)
		}
	}
}

// written are the instruments that the parts call for.
func (c *completion) written(rank int) {
	if c.score == nil {
		return
	}
	for _, p := range c.score.Parts {
		for _, l := range p.Lines {
			c.instrument(rank, l.Name, l.Inst)
		}
	}
}

func (c *completion) catalogue() *kit.Catalogue {
	if c.score != nil && c.score.Catalogue != nil {
		return c.score.Catalogue
	}
	return kit.Standard()
}

func (c *completion) instruments(rank int) {
	list := c.catalogue().Instruments()
	c.items = slices.Grow(c.items, len(list)) // each offer is large, and there are many
	for _, in := range list {
		c.instrument(rank, in.ID, in)
	}
}

func (c *completion) instrument(rank int, name string, in *kit.Instrument) {
	if in == nil || c.seen[name] { // a part's lines name few instruments again and again
		return
	}
	detail := in.Name()
	if len(in.Abbrevs) > 0 {
		detail += ", " + strings.Join(in.Abbrevs, " ")
	}
	c.add(rank, name, protocol.CompletionItemKindVariable, detail, resolve("instrument", in.ID))
}

// named is the instrument that a word of the line stands for.
func (c *completion) named(word string) *kit.Instrument {
	if c.sought != word { // asked again for each way of fixing it
		c.sought, c.found = word, c.find(word)
	}
	return c.found
}

func (c *completion) find(word string) *kit.Instrument {
	if p := c.player(); p != nil {
		for _, it := range p.Items {
			if it.Name == word {
				return it.Inst
			}
		}
	}
	return c.catalogue().Resolve(word)
}

// mounts offers a way of fixing an instrument, or the rest of its words, if the
// instrument that the line speaks of can be played like that.
func (c *completion) mounts(words string) {
	name := c.before[0]
	switch {
	case name == "way":
		c.words(0, "", words)
		return
	case isLimb(name):
		name = c.before[1]
	}
	in := c.named(name)
	if in == nil {
		return
	}
	for _, w := range in.Ways {
		mount := w.Mount.String()
		if w.Limb == kit.Hand && (mount == words || c.before[len(c.before)-1] == "on" && mount == "on "+words) {
			c.add(0, words, protocol.CompletionItemKindProperty, costs(w))
		}
	}
}

// asks are the words in which a cue may ask for one of the instrument's ways on
// the mount that it names, or on the usual one, with what each costs. Inside
// quotes they are the ways' own names.
func (c *completion) asks(instrument string, quoted bool) {
	in := c.named(instrument)
	if in == nil {
		return
	}
	limb := kit.Hand
	switch c.before[0] {
	case "RF", "LF":
		limb = kit.Foot
	case "mouth":
		limb = kit.Mouth
	}
	mount := c.mount(in)
	offer := func(w *kit.Way, label string) { c.add(1, label, protocol.CompletionItemKindProperty, costs(w)) }
	for _, w := range in.Ways {
		if w.Mount != mount || w.Limb != limb {
			continue
		}
		ask := in.AskFor(w)
		if quoted {
			if ask.Named != "" {
				offer(w, ask.Named)
			}
			continue
		}
		if ask != (kit.Ask{}) {
			offer(w, ask.String())
		}
		if ask = (kit.Ask{OneHand: true}); w.Named == "" && w.Costs != "" && ask.Fits(w) && !in.Usual().Fixed() {
			offer(w, ask.String())
		}
	}
}

// costs says what a way of playing costs in sound.
func costs(w *kit.Way) string {
	if w.Costs == "" {
		return "costs nothing in sound"
	}
	return w.Costs
}

// mount is how the line fixes its instrument, or how it usually is.
func (c *completion) mount(in *kit.Instrument) kit.Mount {
	mount := in.Usual().Mount
	for i, word := range c.before[2:] {
		if word == "on" && i+3 < len(c.before) {
			word += " " + c.before[i+3]
		}
		if m := kit.MountNamed(word); m != kit.AnyMount {
			mount = m
		}
	}
	return mount
}

// implements are those that can play what the line speaks of, then all.
func (c *completion) implements(words []string) {
	cat := c.catalogue()
	var ways []*kit.Way
	if len(words) > 1 {
		if in := c.named(words[1]); in != nil {
			ways = in.Ways
		}
	}
	for _, w := range ways {
		detail := w.Mount.String()
		if w.Costs != "" {
			detail += ": " + w.Costs
		}
		for _, ch := range w.With {
			if im := cat.Implement(ch.Implement); im != nil {
				c.add(0, im.ID, protocol.CompletionItemKindClass, detail, resolve("implement", im.ID))
			}
		}
	}
	for _, im := range cat.Implements() {
		c.add(3, im.ID, protocol.CompletionItemKindClass, im.Name(), resolve("implement", im.ID))
	}
}

// CompletionResolve adds the documentation to an offer that is looked at.
func (s *session) CompletionResolve(_ context.Context, it *protocol.CompletionItem) (*protocol.CompletionItem, error) {
	var data resolved
	if json.Unmarshal(it.Data, &data) != nil {
		return it, nil
	}
	cat := kit.Standard()
	text := ""
	switch name := data.Name; data.Kind {
	case "instrument":
		if in := cat.Instrument(name); in != nil {
			text = block(cat.Describe(in))
		}
	case "implement":
		if im := cat.Implement(name); im != nil {
			text = block(cat.DescribeImplement(im))
		}
	case "rule":
		if r := check.RuleNamed(name); r != nil {
			text = r.Means
		}
	case "form":
		for _, f := range syntax.Forms() {
			if f.Word == name {
				text = f.Says + "\n\n" + fenced("handful", f.Shape)
			}
		}
	}
	if text != "" {
		it.Documentation = s.markup(text)
	}
	return it, nil
}
