package syntax

import (
	"example.org/handful/lang/body"
	"reflect"
	"strings"
	"sync"

	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"
)

// A Block is what a line belongs to.
type Block uint8

const (
	InHead       Block = 1 << iota // the head of the file, and anywhere a head statement stands
	InPart                         // below part
	InPlayer                       // below player
	InKit                          // below kit
	InInstrument                   // below instrument
	InImplement                    // below implement
	InGear                         // below gear
)

// A Form is one kind of statement: the word that opens it, how it is written,
// what it says, and where it may stand. The one table of forms feeds the
// parser, its messages, the formatter's tests, and whatever helps at a cursor.
type Form struct {
	Word  string
	Shape string
	Says  string
	In    Block
	// Opens is the block that the statement begins, or 0.
	Opens Block
	// Sample is a line that parses.
	Sample string
	node   reflect.Type // the statement's own node
	parse  func(*reading) (Stmt, error)
	// byGrammar parses without the productions that are written by hand.
	byGrammar func(*reading) (Stmt, error)
}

// form builds the parser of one statement type when it is first needed.
func form[T any, P interface {
	*T
	Stmt
}](word, shape, says, sample string, in, opens Block) *Form {
	parser := sync.OnceValue(func() *participle.Parser[T] {
		return participle.MustBuild[T](participle.Lexer(tokens{}), participle.UseLookahead(2))
	})
	byGrammar := func(r *reading) (Stmt, error) {
		lex, err := lexer.Upgrade(r)
		if err != nil {
			return nil, err
		}
		node, err := parser().ParseFromLexer(lex)
		if node == nil {
			return nil, err
		}
		return P(node), err
	}
	parse := byGrammar
	if _, ok := any(P(nil)).(direct); ok {
		parse = func(r *reading) (Stmt, error) {
			node := P(newNode[T](r.in))
			u := &r.upcoming
			*u = upcoming{words: r, in: r.in}
			u.next()
			if any(node).(direct).direct(u) && u.ends() {
				return node, nil
			}
			*r = reading{text: r.text}
			return byGrammar(r)
		}
	}
	return &Form{
		Word: word, Shape: shape, Says: says, Sample: sample, In: in, Opens: opens, node: reflect.TypeFor[T](),
		parse: parse, byGrammar: byGrammar,
	}
}

// grammar is everything the parser knows about statements. It is built once
// and never changed.
type grammar struct {
	forms []*Form
	by    map[string]*Form
	limb  *Form
	item  *Form
	more  *Form
	stock *Form
	worth *Form
}

var rules = sync.OnceValue(func() *grammar {
	g := &grammar{by: map[string]*Form{}}
	g.forms = []*Form{
		form[Printed]("title", `title "…"`, "the name of the piece", `title "Ferry Landing"`, InHead, 0),
		form[Printed]("credit", `credit "…"`, "who made it", `credit "arr. for two players"`, InHead, 0),
		form[Remark]("note", `note "…" [at PLACE]`, "a note for the sheets, and where it stands; below a player, for that player", `note "watch" at 8`, InHead|InPlayer|InInstrument|InImplement, 0),
		form[Remark]("cue", `cue "…" at PLACE`, "what to listen for: who else plays there; below a player, for that player", `cue "trumpet" at 8`, InHead|InPlayer, 0),
		form[Meter]("meter", "meter 4/4 [in 2] [from PLACE]", "the meter, from bar 1 or from a place", "meter 7/8 in 2+2+3 from 12", InHead, 0),
		form[Tempo]("tempo", "tempo 96 [from PLACE], tempo 1/4 = 96, tempo 96 to 80 over RANGE", "counts a minute, or a note value's", "tempo 96 to 80 over 31-32", InHead, 0),
		form[Pause]("hold", "hold PLACE", "a fermata: time that nobody counts on", "hold 16.4", InHead, 0),
		form[Pause]("break", "break PLACE", "a caesura: time that nobody counts on", "break 16.4", InHead, 0),
		form[Length]("bars", "bars 64", "how many bars there are", "bars 64", InHead, 0),
		form[Length]("pickup", "pickup 1", "bar 0 and its length in counts", "pickup 1", InHead, 0),
		form[Mark]("mark", "mark A at 9", "a rehearsal mark", "mark A at 9", InHead, 0),
		form[Numbered]("printed", `printed "101" at BAR`, "the number that the part has in print there, from which bars are counted on; one that is no plain number, or none, is for that bar alone", `printed "101" at 1`, InHead, 0),
		form[Repeat]("repeat", "repeat 9-16 [x3]", "bars played twice, or as often as it says", "repeat 9-16 x3", InHead, 0),
		form[Ending]("ending", "ending 1 15-16", "bars played only on that pass", "ending 1,2 15-16", InHead, 0),
		form[Vamp]("vamp", "vamp 5-8", "bars repeated until cued", "vamp 5-8", InHead, 0),
		form[Order]("order", "order 1-16 9-14 17-32", "the whole road map spelled out", "order 1-16 9-14 17-32", InHead, 0),
		form[Use]("use", `use "kit.handful"`, "shared kits, instruments and parts", `use "kit.handful"`, InHead, 0),
		form[Omit]("omit", `omit INSTRUMENT [in RANGE] [of "PART"] because "…"`, "a written passage that nobody plays, and why", `omit snare-drum in 8 of "Percussion 1" because "the drum set has it"`, InHead, 0),
		form[Together]("together", `together INSTRUMENT [and INSTRUMENT …] [in RANGE] [of "PART"] [because "…"]`, "a passage that stays with one person, whoever that is", `together snare-drum and bass-drum in 41-48 because "they are one groove"`, InHead, 0),
		form[Accept]("accept", `accept RULE [at PLACE] [in RANGE] [for PLAYER] because "…"`, "a finding the arranger has weighed, and why", `accept short-change at 9 because "a breath before the mark"`, InHead, 0),

		form[Part]("part", `part "Percussion 2" [in "FILE"] [matters much|little|TIMES [because "…"]]`, "opens what was written for one part, and says how much it matters", `part "Percussion 2" matters 3`, InHead, InPart),
		form[Player]("player", "player NAME", "opens who covers it", "player Nell", InHead, InPlayer),
		form[Kit]("kit", "kit", "opens a set-up: the player's, or everybody's above the first player", "kit", InHead|InPlayer, InKit),
		form[Gear]("gear", "gear", "opens what there is: nobody plays more of a thing than it names", "gear", InHead, InGear),
		form[Define]("instrument", "instrument NAME", "opens an instrument of your own", "instrument ships-bell", InHead, InInstrument),
		form[Define]("implement", "implement NAME", "opens an implement of your own", "implement rope-mallet", InHead, InImplement),

		form[From]("from", "from PLACE [on pass 2]", "where the lines that follow begin", "from A+4 on pass 2", InPart|InPlayer, 0),
		form[Profile]("profile", "profile student|experienced|professional [reach CM] [fastest N] [margin X]", "how fast, how far, how much margin", "profile student reach 55", InPlayer, 0),
		form[Setting]("reach", "reach 70", "how far the player reaches, in cm", "reach 70", InPlayer, 0),
		form[Setting]("fastest", "fastest 7", "most strokes a second of one hand on one surface", "fastest 7", InPlayer, 0),
		form[Setting]("margin", "margin 1.4", "how many times the steady time a change should have", "margin 1.4", InPlayer, 0),
		form[Hands]("hands", "hands R|L|both|none", "the hands that this player has for playing; both is the default", "hands R", InPlayer, 0),
		form[Leads]("leads", "leads left|right", "the hand that begins what goes hand to hand; right is the default", "leads left", InPlayer, 0),
		form[Seated]("seated", "seated", "this player never walks and never stoops", "seated", InPlayer, 0),
		form[Ability]("rolls", "rolls one-handed yes|no", "whether this player makes one-hand rolls; yes is the default", "rolls one-handed no", InPlayer, 0),
		form[Ability]("holds", "holds four mallets yes|no", "whether this player plays with two mallets in a hand; yes is the default", "holds four mallets yes", InPlayer, 0),
		form[Ability]("damps", "damps with forearm yes|no", "whether this player stops a ring with the forearm; yes is the default", "damps with forearm no", InPlayer, 0),
		form[Likes]("likes", "likes INSTRUMENT|FAMILY [, …]", "what a plan gives this player before others", "likes keyboards, triangle", InPlayer, 0),
		form[Stand]("table", "table at [STATION] right 20 ahead 40 [facing 90]", "where implements rest", "table at right 20 ahead 40", InKit, 0),
		form[Stand]("station", "station NAME at right 180 behind 40", "a second place to stand", "station timps at right 180 behind 40", InKit, 0),

		form[Texts]("called", `called "trade name" "Abbr."`, "its name and the letters it goes by", `called "ship's bell" "S.B."`, InInstrument|InImplement, 0),
		form[Texts]("also", `also "other name"`, "names in other places and languages", `also "Schiffsglocke"`, InInstrument|InImplement, 0),
		form[Words]("family", "family metal", strings.Join(families[:len(families)-1], ", ")+" or "+families[len(families)-1], "family metal", InInstrument, 0),
		form[Words]("sound", "sound metal.bells.bell-plate", "the MusicXML sound id", "sound metal.bells.bell-plate", InInstrument, 0),
		form[Words]("midi", "midi 53", "the General MIDI percussion key; of a set, those of its row from the left", "midi 38 40", InInstrument, 0),
		form[Words]("glyph", "glyph pictTriangle", "the SMuFL glyph", "glyph pictTriangle", InInstrument|InImplement, 0),
		form[Words]("zone", "zone 8", "width of the striking area, cm", "zone 8", InInstrument, 0),
		form[Words]("size", "size WIDE DEEP, size ACROSS", "how much room it takes, cm, seen from above where it is played; one number is round", "size 75 45", InInstrument, 0),
		form[Words]("height", "height 80", "how high what is struck is above the floor, cm, set up for somebody standing", "height 80", InInstrument, 0),
		form[Words]("fills", "fills LOW HIGH", "from which height to which the thing itself is, cm above the floor; from 0 it stands there", "fills 60 80", InInstrument, 0),
		form[Words]("over", "over 15", "how far its edge may hang over something lower, cm", "over 15", InInstrument, 0),
		form[Words]("members", "members 4", "how many stand in a row that may be bent round the player", "members 4", InInstrument, 0),
		form[Words]("row", "row NAME …", "what the drums, blocks or bells of a set are called, from left to right", "row high low", InInstrument, 0),
		form[Words]("range", "range LOW HIGH", "its lowest and its highest note, as written", "range F3 C7", InInstrument, 0),
		form[Words]("octaves", "octaves 1", "how many octaves higher it sounds than written", "octaves 1", InInstrument, 0),
		form[Words]("widths", "widths LOW HIGH", "how wide its lowest and its highest bar are, cm; they lie in two rows", "widths 6.4 4", InInstrument, 0),
		form[Words]("kettle", "kettle ACROSS LOW HIGH", "one of a set of timpani, from the left: how far across, cm, and its lowest and highest note", "kettle 66 Bb2 F3", InInstrument, 0),
		form[Words]("tuning", "tuning foot|hand", "what gives its kettles another note: a foot on the pedal, or, where they have none, a hand at the handles", "tuning hand", InInstrument, 0),
		form[Words]("doubler", "doubler INSTRUMENT …", "what plays its notes with it in a march, though they are not written for that", "doubler crash-cymbals", InInstrument, 0),
		form[Words]("snares", "snares lever|buzz", "lever: it has snares that a lever throws off; buzz: played loud, it makes those beside it buzz", "snares lever", InInstrument, 0),
		form[Words]("shares", "shares INSTRUMENT …", "what may stand in its place, being a part of it", "shares snare-drum", InInstrument, 0),
		form[Words]("seat", "seat stool|chair|itself", "what one sits on to play it", "seat stool", InInstrument, 0),
		form[Words]("rings", "rings 6, rings short", "how many seconds it rings", "rings 6", InInstrument, 0),
		form[Words]("noise", "noise silent|soft|audible|loud", "the noise of taking and laying it", "noise audible", InInstrument|InImplement, 0),
		form[Words]("moves", "moves MOTION", "how the limb makes its strokes: stick, shake, scrape, fingertips …", "moves scrape", InInstrument, 0),
		form[Words]("handling", "handling easy|careful|awkward", "how hard it is to take and lay", "handling careful", InInstrument|InImplement, 0),
		form[Words]("basis", "basis published|common-practice", "what its entry rests on", "basis published", InInstrument|InImplement, 0),
		form[Words]("head", "head hard|soft", "how hard it strikes; a soft one does not bounce", "head soft", InImplement, 0),
		form[Words]("weighs", "weighs nothing|light|medium|heavy", "its weight; nothing is the bare hand", "weighs heavy", InImplement, 0),
		form[ButtEnd]("butt", `butt as IMPLEMENT costs "…"`, "what its other end plays as, and what the sound pays", `butt as snare-stick costs "thin and dry"`, InImplement, 0),
		form[Words]("length", "length 40", "how long it is, cm", "length 40", InImplement, 0),
		form[Speaks]("speaks", `speaks late 0.2 "why"`, "it needs the hand earlier", `speaks late 0.2 "prime it"`, InInstrument, 0),
		form[Stops]("stops", "stops by hand or forearm", "what stops its ring", "stops by hand or forearm", InInstrument, 0),
		form[Never]("never", `never INSTRUMENT|FAMILY [, …] [because "…"] for a player; never with IMPLEMENT [or …] because "…" for an instrument`, "what a player is never asked to play, or what would break an instrument", `never with brass-mallet because "it dents the bars"`, InInstrument|InPlayer, 0),
		form[StandsFor]("stands", `stands for INSTRUMENT costs "…"`, "what it may be played instead of, and what the sound pays", `stands for claves costs "rounder, and it carries less"`, InInstrument, 0),
		form[Words]("carry", "carry one|two|wheels [KG]", "who gets it to its place, and how heavy it is", "carry two 30", InInstrument, 0),
		form[Way]("way", `way MOUNT takes 1 hand [and 1 foot] [with [2] IMPLEMENT [or …]] [rolls] [loudest mf] [named "…"] [costs "…"]`, "one way of playing it", `way hung takes 1 hand with brass-mallet or chime-hammer rolls loudest ff costs "thin"`, InInstrument, 0),
	}
	for _, f := range g.forms {
		g.by[f.Word] = f
	}
	g.limb = form[LimbLine]("R", `LIMB INSTRUMENT [MOUNT] [WAY] [with [2|4|butt of] IMPLEMENT [and IMPLEMENT]] [for WRITTEN] BARS | as written`, "what one limb plays, holds, takes, lays, damps", "R triangle clipped with triangle-beater | 1 2 |", InPlayer|InKit, 0)
	g.item = form[Item]("NAME", "INSTRUMENT BARS in a part; NAME [is KIND] [MOUNT] [at …] [facing DEGREES], or SET:MEMBER at … for one of a set, in a kit", "what is written, or what stands where", "woodblock clamped at left 30 ahead 45 facing 90", InPart|InKit, 0)
	g.more = form[More]("|", "| 1 2 | 3 4 |", "bars that go on from the line above", "| 1 2 | 3 4", InPart|InPlayer, 0)
	g.stock = form[Amounts]("2", `2 snare-drum, 1 bass-drum "the hall's"`, "how many there are of a thing, and whose they are", `2 snare-drum, 1 bass-drum "the hall's"`, InGear, 0)
	g.worth = form[Matters]("matters", `INSTRUMENT matters much|little|TIMES [in RANGE] [of "PART"] [because "…"]`, "how many strokes each of its strokes counts as where something has to be left out: little is a quarter, much is four", `triangle matters little in 9-16 because "the piccolo has it"`, InHead|InPart, 0)
	return g
})

// Forms is every statement that opens with a word of its own, in the order in
// which people meet them.
func Forms() []*Form { return rules().forms }

// Wordless is every statement that opens with something else: a limb, the name
// of a thing, a bar line, a number.
func Wordless() []*Form {
	g := rules()
	return []*Form{g.limb, g.item, g.more, g.stock, g.worth}
}

// Limbs are the words that open a limb's line, with what they mean.
func Limbs() (list [][2]string) {
	for _, l := range [...]body.Limb{
		body.Right, body.Left, body.Together, body.RightFirst, body.LeftFirst, body.RightFoot, body.LeftFoot, body.Mouth, body.AnyHand,
	} {
		list = append(list, [2]string{l.String(), l.Means()})
	}
	return list
}

// formOf finds the form of a line by its first token, and behind a name by whether
// the line says how much that matters.
func formOf(first, behind string, isBars bool) *Form {
	g := rules()
	if isBars {
		return g.more
	}
	if first == mattersWord {
		return g.worth
	}
	if f, ok := g.by[first]; ok {
		return f
	}
	if isDigit(first[0]) {
		return g.stock
	}
	if isLimb(first) {
		return g.limb
	}
	if saysItMatters(behind) {
		return g.worth
	}
	return g.item
}

const mattersWord = "matters"

// saysItMatters says whether a name, of a few words at most, goes on so that the line
// is about how much it matters.
func saysItMatters(text string) bool {
	for at, words := 0, 0; words < 4; words++ {
		kind, from, to := nextToken(text, at)
		if kind != tokWord {
			return false
		}
		if text[from:to] == mattersWord {
			return true
		}
		at = to
	}
	return false
}

// FormFor is the form of a line that may not be whole yet, where it stands in
// a block, or nil.
func FormFor(text string, in Block) *Form {
	at := strings.TrimLeft(text, " \t")
	if at == "" || at[0] == '#' {
		return nil
	}
	_, from, to := nextToken(at, 0)
	first, _ := firstWord(at, from, to)
	f := formOf(first, at[to:], at[0] == '|')
	switch {
	case f == rules().item && in&(InPart|InKit) == 0:
		return rules().worth // the one that begins with a name and stands anywhere
	case f == rules().stock && in&InGear == 0:
		return nil
	}
	return f
}
