package syntax

import (
	"slices"
	"strings"

	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"
)

// A Span is a range of bytes within one line, end not included.
type Span struct{ Start, End int }

// Cover is the smallest span that holds both.
func (s Span) Cover(o Span) Span { return Span{min(s.Start, o.Start), max(s.End, o.End)} }

// Pos is the bytes of the line that a leaf is made of.
type Pos struct{ From, To int32 }

// The leaves of the tree. They differ only in which tokens they take, so one
// converts to another: Atom(name). Text is the notation's word for what the line
// says, which may be other words than those.
type (
	// An Atom is a word or a number as it stands in the line.
	Atom struct {
		Pos  Pos
		Text string
	}
	// A Name is a word: of an instrument, a player, a place to stand.
	Name struct {
		Pos  Pos
		Text string
	}
	// A Num begins with a digit: 12, 4/4, 12.2&, 9-16.
	Num struct {
		Pos  Pos
		Text string
	}
	// A Title is a name that may be quoted: "Percussion 2", Nell.
	Title struct {
		Pos  Pos
		Text string
	}
	// Listed is a word of a list, with the comma that may close it up.
	Listed struct {
		Pos  Pos
		Text string
	}
	// A Str is quoted text, quotes included.
	Str struct {
		Pos  Pos
		Text string
	}
	// A BarText is a whole bar list, read further by the bar scanner.
	BarText struct {
		Pos  Pos
		Text string
	}
)

// The kinds of tokens that each leaf takes.
const (
	atomTokens  = 1<<tokWord | 1<<tokNum
	nameTokens  = 1 << tokWord
	numTokens   = 1 << tokNum
	titleTokens = 1<<tokString | 1<<tokWord
	strTokens   = 1 << tokString
	barTokens   = 1 << tokBars
)

// Parse is for the grammar; so are those below.
func (a *Atom) Parse(lex *lexer.PeekingLexer) error    { return a.take(lex, atomTokens) }
func (n *Name) Parse(lex *lexer.PeekingLexer) error    { return (*Atom)(n).take(lex, nameTokens) }
func (n *Num) Parse(lex *lexer.PeekingLexer) error     { return (*Atom)(n).take(lex, numTokens) }
func (t *Title) Parse(lex *lexer.PeekingLexer) error   { return (*Atom)(t).take(lex, titleTokens) }
func (l *Listed) Parse(lex *lexer.PeekingLexer) error  { return (*Atom)(l).take(lex, nameTokens) }
func (s *Str) Parse(lex *lexer.PeekingLexer) error     { return (*Atom)(s).take(lex, strTokens) }
func (b *BarText) Parse(lex *lexer.PeekingLexer) error { return (*Atom)(b).take(lex, barTokens) }

// take makes a leaf of the next token, if that is one of some kinds. Positions
// of tokens hold the byte behind them in their column.
func (a *Atom) take(lex *lexer.PeekingLexer, kinds uint) error {
	t := lex.Peek()
	if t.EOF() || kinds&(1<<t.Type) == 0 {
		return participle.NextMatch
	}
	*a = Atom{Pos{int32(t.Pos.Offset), int32(t.Pos.Column)}, t.Value}
	lex.Next()
	return nil
}

func (a Atom) Span() Span    { return Span{int(a.Pos.From), int(max(a.Pos.From, a.Pos.To))} }
func (n Name) Span() Span    { return Atom(n).Span() }
func (n Num) Span() Span     { return Atom(n).Span() }
func (t Title) Span() Span   { return Atom(t).Span() }
func (s Str) Span() Span     { return Atom(s).Span() }
func (b BarText) Span() Span { return Atom(b).Span() }
func (m Mount) Span() Span   { return Atom(m).Span() }
func (a Asked) Span() Span   { return Atom(a).Span() }
func (b Butt) Span() Span    { return Atom(b).Span() }

// Cut is the part of an atom between two bytes of its text. It stands where that
// part stands, or where all of it does when the line says it in other words.
func (a Atom) Cut(from, to int) Atom {
	part := Atom{Pos: a.Pos, Text: a.Text[from:to]}
	if a.Span().End-a.Span().Start == len(a.Text) {
		part.Pos = Pos{a.Pos.From + int32(from), a.Pos.From + int32(to)}
	}
	return part
}

// Names are the names of a list, with the commas between them taken away.
func (l Listed) Names() []Name {
	var out []Name
	at := 0
	for _, text := range strings.SplitAfter(l.Text, ",") {
		if word := strings.TrimSuffix(text, ","); word != "" {
			out = append(out, Name(Atom(l).Cut(at, at+len(word))))
		}
		at += len(text)
	}
	return out
}

// NamesOf are all the names of a list.
func NamesOf(list []Listed) []Name {
	var out []Name
	for _, l := range list {
		out = append(out, l.Names()...)
	}
	return out
}

// Value is the name without its quotes, if it had any.
func (t Title) Value() string {
	if len(t.Text) > 0 && t.Text[0] == '"' {
		return unquote(t.Text)
	}
	return t.Text
}

// Value is the text without its quotes.
func (s Str) Value() string { return unquote(s.Text) }

// Parse is for the grammar.
func (m *Mount) Parse(lex *lexer.PeekingLexer) error {
	if slices.Contains(mountWords[:], lex.Peek().Value) {
		return (*Atom)(m).take(lex, nameTokens)
	}
	return participle.NextMatch
}

// Parse is for the grammar: the words of a way that a cue may ask for, or its
// name in quotes.
func (a *Asked) Parse(lex *lexer.PeekingLexer) error {
	if slices.Contains(askedWords[:], lex.Peek().Value) {
		return (*Atom)(a).take(lex, nameTokens)
	}
	return (*Atom)(a).take(lex, strTokens)
}

// Parse is for the grammar: the words butt of.
func (b *Butt) Parse(lex *lexer.PeekingLexer) error {
	if lex.Peek().Value != buttWords {
		return participle.NextMatch
	}
	return (*Atom)(b).take(lex, nameTokens)
}

// A Stmt is one statement: one of the pointer types below.
type Stmt interface{ stmt() }

// Statements of the head of a file. They hold for the whole piece wherever
// they stand.
type (
	// Printed is title "…", credit "…" or note "…".
	Printed struct {
		Word Name `parser:"@@"`
		Text Str  `parser:"@@"`
	}
	// Remark is note "…" [at PLACE], and cue "…" at PLACE: what somebody else
	// plays there, to listen for.
	Remark struct {
		Word Name  `parser:"@@"`
		Text Str   `parser:"@@"`
		At   *Atom `parser:"( 'at' @@ )?" is:"place"`
	}
	// Meter is meter 6/8 [in 2] [from 12].
	Meter struct {
		Value Num   `parser:"'meter' @@"`
		In    *Num  `parser:"( 'in' @@ )?"`
		From  *Atom `parser:"( 'from' @@ )?" is:"place"`
	}
	// Tempo is tempo 96, tempo 1/4 = 96, tempo 96 to 80 over 31-32.
	Tempo struct {
		First Num   `parser:"'tempo' @@"`
		Value *Num  `parser:"( Equals @@ )?"` // set when First names a note value
		To    *Num  `parser:"( 'to' @@"`
		Over  *Atom `parser:"'over' @@ )?" is:"place"`
		From  *Atom `parser:"( 'from' @@ )?" is:"place"`
	}
	// Pause is hold 16.4 (fermata) or break 16.4 (caesura).
	Pause struct {
		Word  Name `parser:"@@"`
		Place Atom `parser:"@@" is:"place"`
	}
	// Length is bars 64 or pickup 1.
	Length struct {
		Word  Name `parser:"@@"`
		Value Num  `parser:"@@"`
	}
	// Mark is mark A at 9.
	Mark struct {
		Name  Atom `parser:"'mark' @@" is:"mark defines"`
		Place Atom `parser:"'at' @@" is:"place"`
	}
	// Numbered is printed "101" at 1.
	Numbered struct {
		Text  Str  `parser:"'printed' @@"`
		Place Atom `parser:"'at' @@" is:"place"`
	}
	// Repeat is repeat 9-16 [x3].
	Repeat struct {
		Range Atom  `parser:"'repeat' @@" is:"place"`
		Times *Name `parser:"@@?" is:"number"`
	}
	// Ending is ending 1 15-16, or ending 1,2 15-16.
	Ending struct {
		Numbers Num  `parser:"'ending' @@"`
		Range   Atom `parser:"@@" is:"place"`
	}
	// Vamp is vamp 5-8.
	Vamp struct {
		Range Atom `parser:"'vamp' @@" is:"place"`
	}
	// Order is order 1-16 9-14 17-32.
	Order struct {
		Legs []Atom `parser:"'order' @@+" is:"place"`
	}
	// Use is use "kit.handful".
	Use struct {
		Path Str `parser:"'use' @@" is:"file"`
	}
	// Omit is omit NAME [in RANGE …] [of "PART"] because "…".
	Omit struct {
		What   Name   `parser:"'omit' @@" is:"instrument"`
		In     []Atom `parser:"( 'in' ( (?! 'of' | 'because' ) @@ )+" is:"place"`
		Of     *Str   `parser:"| 'of' @@ )*" is:"part"`
		Reason *Str   `parser:"( 'because' @@ )?"`
	}
	// Matters is NAME matters much|little|N [in RANGE …] [of "PART"] [because "…"].
	Matters struct {
		What   Name   `parser:"@@" is:"instrument"`
		Much   Worth  `parser:"'matters' @@"`
		In     []Atom `parser:"( 'in' ( (?! 'of' | 'because' ) @@ )+" is:"place"`
		Of     *Str   `parser:"| 'of' @@ )*" is:"part"`
		Reason *Str   `parser:"( 'because' @@ )?"`
	}
	// Worth is how much something matters: much, little, or as many times.
	Worth struct {
		Times *Num  `parser:"( @@"`
		Word  *Name `parser:"| @@ )" is:"word" of:"much|little"`
	}
	// Together is together NAME [and NAME …] [in RANGE …] [of "PART"] [because "…"].
	Together struct {
		What   Name   `parser:"'together' @@" is:"instrument"`
		And    []Name `parser:"( 'and' @@ )*" is:"instrument"`
		In     []Atom `parser:"( 'in' ( (?! 'of' | 'because' ) @@ )+" is:"place"`
		Of     *Str   `parser:"| 'of' @@ )*" is:"part"`
		Reason *Str   `parser:"( 'because' @@ )?"`
	}
	// Accept is accept RULE [at PLACE] [in RANGE] [for PLAYER] because "…".
	Accept struct {
		Rule   Name   `parser:"'accept' @@" is:"rule"`
		At     *Atom  `parser:"( 'at' @@" is:"place"`
		In     *Atom  `parser:"| 'in' @@" is:"place"`
		Player *Title `parser:"| 'for' @@ )*" is:"player"`
		Reason *Str   `parser:"( 'because' @@ )?"`
	}
)

// Statements that open a block.
type (
	// Part is part "Percussion 2" [in "ferry.musicxml"] [matters 3 [because "…"]].
	Part struct {
		Name   Title  `parser:"'part' @@" is:"part defines"`
		In     *Str   `parser:"( 'in' @@ )?" is:"file"`
		Much   *Worth `parser:"( 'matters' @@"`
		Reason *Str   `parser:"  ( 'because' @@ )? )?"`
	}
	// Player is player Nell.
	Player struct {
		Name Title `parser:"'player' @@" is:"player defines"`
	}
	// Kit opens a set-up: the player's, or everybody's before any player.
	Kit struct {
		Word Name `parser:"@@"`
	}
	// Gear opens the list of what there is.
	Gear struct {
		Word Name `parser:"@@"`
	}
	// Define is instrument ID or implement ID.
	Define struct {
		Word Name `parser:"@@"`
		Name Name `parser:"@@" is:"defined defines"`
	}
)

// Statements inside a part or a player.
type (
	// From is from PLACE [on pass 2].
	From struct {
		Place Atom `parser:"'from' @@" is:"place"`
		Pass  *Num `parser:"( 'on' 'pass' @@ )?"`
	}
	// Profile is profile student, with any settings behind it.
	Profile struct {
		Name     Name      `parser:"'profile' @@" is:"word"`
		Settings []Setting `parser:"@@*"`
	}
	// Setting is reach 70, fastest 7 or margin 1.4.
	Setting struct {
		Word  Name `parser:"@@"`
		Value Num  `parser:"@@"`
	}
	// Amounts is 2 snare-drum "the hall's", 6 clamp: what there is.
	Amounts struct {
		List []Amount `parser:"@@ ( ','? @@ )*"`
	}
	// Amount is how many there are of one thing, and whose they are.
	Amount struct {
		Count Num    `parser:"@@"`
		Name  Listed `parser:"@@" is:"thing"`
		Whose *Str   `parser:"@@?"`
	}
	// Hands is hands R: the hands that somebody has for playing.
	Hands struct {
		Which Name `parser:"'hands' @@" is:"limb"`
	}
	// Leads is leads left: the hand that begins.
	Leads struct {
		Hand Name `parser:"'leads' @@" is:"word"`
	}
	// Seated is for somebody who never walks and never stoops.
	Seated struct {
		Word Name `parser:"@@"`
	}
	// Ability is rolls one-handed no, holds four mallets yes, damps with
	// forearm no.
	Ability struct {
		Rolls bool `parser:"( @'rolls' 'one-handed'"`
		Holds bool `parser:"| @'holds' 'four' 'mallets'"`
		Damps bool `parser:"| @'damps' 'with' 'forearm' )"`
		Can   Name `parser:"@@" is:"word"`
	}
	// Likes is likes keyboards, triangle.
	Likes struct {
		What []Listed `parser:"'likes' @@ ( ','? @@ )*" is:"taste"`
	}
	// A Mount is how an instrument is fixed: held, on stand, padded …
	Mount struct {
		Pos  Pos
		Text string
	}
	// Spot is at [STATION] right 30 ahead 45 [up 90].
	Spot struct {
		Pos     lexer.Position
		Station *Name  `parser:"'at' ( (?! 'right' | 'left' | 'ahead' | 'behind' | 'up' | 'down' | 'facing' ) @@ )?" is:"station"`
		Steps   []Step `parser:"@@*"`
	}
	// Step is one distance of a spot, in centimetres.
	Step struct {
		Dir Atom `parser:"(?! 'facing' ) @@" is:"side"`
		By  Num  `parser:"@@"`
	}
	// Stand is table at … [facing 90] or station NAME at …
	Stand struct {
		Word   Name  `parser:"@@"`
		Name   *Name `parser:"( (?! 'at' ) @@ )?" is:"station defines"`
		Spot   *Spot `parser:"@@?"`
		Facing *Num  `parser:"( 'facing' @@ )?"`
	}
	// Item is a line that begins with an instrument's name: in a part, what is
	// written; in a kit, what stands where, and turned how far.
	Item struct {
		Name   Name     `parser:"@@" is:"item"`
		Is     *Name    `parser:"( 'is' @@ )?" is:"kind"`
		Mount  *Mount   `parser:"@@?"`
		Spot   *Spot    `parser:"@@?"`
		Facing *Num     `parser:"( 'facing' @@ )?"`
		Bars   *BarText `parser:"@@?"`
	}
	// More is a bar list that goes on from the line above.
	More struct {
		Bars BarText `parser:"@@"`
	}
	// LimbLine is what one limb does: a cue, or a change at a set place.
	LimbLine struct {
		Limb  Name    `parser:"@@" is:"limb"`
		Holds *Thing  `parser:"( 'holds' @@" is:"thing"`
		And   []Thing `parser:"  ( 'and' @@ )*" is:"thing"`
		Takes *Moved  `parser:"| 'takes' @@" is:"thing"`
		Lays  *Moved  `parser:"| 'lays' @@" is:"thing"`
		With  *Name   `parser:"| ( (?= ( 'forearm' | 'knee' ) 'damps' ) @@ )? 'damps'"`
		Damps *Moved  `parser:"  @@" is:"instrument"`
		Turns *Atom   `parser:"| 'turns' 'page' 'at' @@" is:"place"`
		Cue   *Cue    `parser:"| @@ )"`
	}
	// Thing is an implement, with how many: 2 yarn-mallets; or with which end:
	// butt of snare-stick.
	Thing struct {
		Count *Num  `parser:"@@?"`
		Butt  *Butt `parser:"@@?" is:"word"`
		Name  Name  `parser:"@@"`
	}
	// Butt says that the other end plays.
	Butt struct {
		Pos  Pos
		Text string
	}
	// Moved is a thing, or two of them, and the place where something happens to
	// it.
	Moved struct {
		Thing Thing   `parser:"@@"`
		And   []Thing `parser:"( 'and' @@ )*"`
		At    *Atom   `parser:"( 'at' @@ )?" is:"place"`
	}
	// Asked is what a cue asks of the way in which it is played, besides its
	// mount and implement: shaken, in one hand, two in one hand, by foot, or the
	// name of a way in quotes.
	Asked struct {
		Pos  Pos
		Text string
	}
	// Cue is INSTRUMENT [MOUNT] [WAY] [with [2] IMPLEMENT [and IMPLEMENT]] [for
	// WRITTEN] and either bars or as written.
	Cue struct {
		Name      Name       `parser:"@@" is:"instrument"`
		Mount     *Mount     `parser:"( @@"`
		Asked     []Asked    `parser:"| @@" is:"way"`
		With      *Thing     `parser:"| 'with' @@" is:"implement"`
		And       []Thing    `parser:"  ( 'and' @@ )*" is:"implement"`
		For       *Name      `parser:"| 'for' @@ )*" is:"instrument"`
		AsWritten *AsWritten `parser:"( @@"`
		Bars      *BarText   `parser:"| @@ )?"`
	}
	// AsWritten takes the strokes from the parts.
	AsWritten struct {
		Pos lexer.Position
		On  []Num  `parser:"'as' 'written' ( 'on' @@+" is:"count"`
		In  []Atom `parser:"| 'in' ( (?! 'of' | 'on' | 'in' ) @@ )+" is:"place"`
		Of  *Str   `parser:"| 'of' @@ )*" is:"part"`
	}
)

// Statements inside an instrument or an implement.
type (
	// Texts is called "…" "…" or also "…".
	Texts struct {
		Word Name  `parser:"@@"`
		Text []Str `parser:"@@+"`
	}
	// Words is family metal, sound a.b c.d, midi 38 40, glyph g, basis published.
	Words struct {
		Word Name   `parser:"@@"`
		Text []Atom `parser:"@@+" is:"value"`
	}
	// Speaks is speaks late 0.2 "why".
	Speaks struct {
		Late Num  `parser:"'speaks' 'late' @@"`
		Why  *Str `parser:"@@?"`
	}
	// Stops is stops by hand or forearm.
	Stops struct {
		By []Name `parser:"'stops' 'by' @@ ( 'or' @@ )*" is:"word" of:"hand|fingers|forearm|body|knee|pedal|holding-hand|itself"`
	}
	// Never is never with X or Y because "…" of an instrument, and of a player
	// never X, Y because "…".
	Never struct {
		With   []Name   `parser:"'never' ( 'with' @@ ( 'or' @@ )*" is:"implement"`
		What   []Listed `parser:"| @@ ( ','? (?! 'because' ) @@ )* )" is:"taste"`
		Reason *Str     `parser:"( 'because' @@ )?"`
	}
	// StandsFor is stands for INSTRUMENT costs "…".
	StandsFor struct {
		For   Name `parser:"'stands' 'for' @@" is:"instrument"`
		Costs *Str `parser:"( 'costs' @@ )?"`
	}
	// ButtEnd is butt as IMPLEMENT costs "…", of an implement.
	ButtEnd struct {
		As    Name `parser:"'butt' 'as' @@" is:"implement"`
		Costs *Str `parser:"( 'costs' @@ )?"`
	}
	// Way is one way of playing an instrument.
	Way struct {
		Mount    Mount     `parser:"'way' @@ 'takes'"`
		Hands    *Num      `parser:"( @@"`
		Limb     string    `parser:"  @( 'hand' | 'hands' | 'foot' | 'feet' )"`
		Mouth    bool      `parser:"| @'mouth'"`
		MouthToo *Num      `parser:"  ( @@ 'hand' )? )"`
		AndFeet  *Num      `parser:"( 'and' @@ ( 'foot' | 'feet' ) )?"`
		With     []Thing   `parser:"( 'with' @@ ( 'or' @@ )* )?" is:"implement"`
		Clauses  []*Clause `parser:"@@*"`
	}
	// Clause is one property of a way of playing.
	Clause struct {
		Pos     lexer.Position
		Rolls   bool   `parser:"  @'rolls'"`
		UpTo    *Num   `parser:"    ( 'up' 'to' @@"`
		Loud    *Num   `parser:"      ( 'loud' 'up' 'to' @@ )? )?"`
		Shaken  bool   `parser:"| @'shaken'"`
		Keeps   bool   `parser:"| @'keeps' 'light'"`
		Seated  bool   `parser:"| @'seated'"`
		Stays   bool   `parser:"| @'stays'"`
		Named   *Str   `parser:"| 'named' @@"`
		Apart   *Num   `parser:"| 'strokes' 'apart' @@"`
		Least   *Num   `parser:"| 'least' @@"`
		Moves   *Name  `parser:"| 'moves' @@" is:"motion"`
		Softest *Name  `parser:"| 'softest' @@" is:"dynamic"`
		Loudest *Name  `parser:"| 'loudest' @@" is:"dynamic"`
		Stops   *Stops `parser:"| @@"`
		Needs   []Name `parser:"| 'needs' ( (?! 'costs' | 'rolls' | 'shaken' | 'keeps' | 'seated' | 'stays' | 'named' | 'strokes' | 'least' | 'moves' | 'softest' | 'loudest' | 'stops' ) @@ )+" is:"hardware"`
		Costs   *Str   `parser:"| 'costs' @@"`
	}
)

func (*Printed) stmt()   {}
func (*Remark) stmt()    {}
func (*Meter) stmt()     {}
func (*Tempo) stmt()     {}
func (*Pause) stmt()     {}
func (*Length) stmt()    {}
func (*Mark) stmt()      {}
func (*Numbered) stmt()  {}
func (*Repeat) stmt()    {}
func (*Ending) stmt()    {}
func (*Vamp) stmt()      {}
func (*Order) stmt()     {}
func (*Use) stmt()       {}
func (*Omit) stmt()      {}
func (*Matters) stmt()   {}
func (*Together) stmt()  {}
func (*Accept) stmt()    {}
func (*Part) stmt()      {}
func (*Player) stmt()    {}
func (*Kit) stmt()       {}
func (*Gear) stmt()      {}
func (*Define) stmt()    {}
func (*From) stmt()      {}
func (*Profile) stmt()   {}
func (*Setting) stmt()   {}
func (*Amounts) stmt()   {}
func (*Hands) stmt()     {}
func (*Leads) stmt()     {}
func (*Seated) stmt()    {}
func (*Ability) stmt()   {}
func (*Likes) stmt()     {}
func (*Stand) stmt()     {}
func (*Item) stmt()      {}
func (*More) stmt()      {}
func (*LimbLine) stmt()  {}
func (*Texts) stmt()     {}
func (*Words) stmt()     {}
func (*Speaks) stmt()    {}
func (*Stops) stmt()     {}
func (*Never) stmt()     {}
func (*Way) stmt()       {}
func (*StandsFor) stmt() {}
func (*ButtEnd) stmt()   {}
