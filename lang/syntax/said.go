package syntax

import (
	"slices"
	"strings"
	"sync"
)

// What people write for a word of the notation. Each of these can mean one
// thing only where it stands; the reader takes it for that, and the formatter
// writes the word of the notation. The grammar knows none of them.
//
// A line of a table is what is said, words parted by blanks, then = and what it
// means; several ways of saying one thing are parted by commas. "" is a word that
// may be left out.
const (
	// The word that begins a line.
	saidFirst = `
R.H., RH, r.h., right, right hand, right-hand, r = R
L.H., LH, l.h., left, left hand, left-hand, l = L
L+R, R + L, L + R, R&L, L&R, R & L, R and L, L and R, both together, hands together = R+L
either, either hand, any hand, whichever hand = any
right foot, R.F. = RF
left foot, L.F. = LF
by mouth = mouth
fermata = hold
caesura, cesura = break
time, time signature, metre = meter
letter, rehearsal, rehearsal mark, rehearsal letter = mark
pick-up, pick up, upbeat, anacrusis = pickup
loop = vamp
include, uses = use
leave out, leaves out, drop = omit
setup, set-up, set up = kit
musician, performer, percussionist = player
author = credit
cue note, cue from, listen for = cue
remark, comment = note`

	// What a limb does, behind it.
	saidVerb = `
hold, starts with, begins with = holds
take, picks up, pick up, takes up, grabs = takes
lay, puts down, put down, lays down, sets down = lays
damp, dampens, mutes, mute, chokes, choke, stops = damps
turn, turns the, turn the = turns
plays, play =`

	// What begins a clause, and how an instrument is fixed.
	saidClause = `
using, w/ = with
together with, along with, plus = and
instead of, in place of = for
on a stand, on its stand, on the stand = on stand
on the body, on thigh, on the thigh, on knee, on the knee, on the lap, on lap = on body
on a pad, on pad, on pads, on a towel, on towel, on a table, on the table, on trap table, on a trap table, on a cloth = padded
on a clip, on clip, with a clip, clipped on = clipped
on a clamp, on clamp, clamped on = clamped
hanging, hung up, on a hook, on hook = hung
hand-held, handheld, in hand, in the hand = held
on the floor, on floor = floor
written, = written
as is, as in part, as in the part = as written`

	// How a cue asks for a way of playing.
	saidAsked = `
shaken, by shaking = shaken
in one hand, one-handed, single-handed, one handed, with one hand only = in one hand
two in one hand, two in the hand, two in a hand = two in one hand
by foot, with the foot, by the foot = by foot`

	// Implements; what else one is called stands in the catalogue.
	saidThing = `
stick, sticks, drum-stick, drum-sticks, drumstick, drumsticks, snare-sticks, side-drum-stick, side-drum-sticks = snare-stick
brush, brushes, wire-brushes = wire-brush
hand, hands, bare-hand, bare-hands, finger = fingers
yarn = yarn-mallet
rubber, rubbers, hard-rubber, hard-rubber-mallet, hard-rubber-mallets = rubber-mallet
plastic = plastic-mallet
cord = cord-mallet
felt = felt-mallet
timp-mallet, timp-mallets, timpani-stick, timpani-sticks = timpani-mallet
superball-mallet = superball
nothing-else = nothing
it-down = it`

	// Note values before the equals sign of a tempo.
	saidValue = `
q, quarter, crotchet, ♩, quarter note = 1/4
q., dotted quarter, dotted-quarter, dotted crotchet, ♩. = 3/8
h, half, minim, half note = 1/2
h., dotted half, dotted minim = 3/4
e, eighth, 8th, quaver, ♪, eighth note = 1/8
e., dotted eighth = 3/16
s, sixteenth, 16th, semiquaver = 1/16
w, whole, semibreve = 1/1`

	// Meters by name.
	saidMeter = `
C, common, common time = 4/4
cut, cut time, alla breve, alla-breve = 2/2`

	// Numbers and how often.
	saidTimes = `
twice, two times, 2 times, 2x, x 2 = x2
three times, 3 times, 3x, x 3 = x3
four times, 4 times, 4x, x 4 = x4
five times, 5 times, 5x = x5
six times, 6 times, 6x = x6
eight times, 8 times, 8x = x8`
	saidNumber = `
one = 1
two, a pair of, pair of = 2`

	// Dynamics standing alone in a bar.
	saidDynamic = `
cresc., crescendo, cres., cresc:, < = cresc
dim., diminuendo, decresc, decresc., decrescendo, decr., > = dim
sfz., sfz: = sfz
pianissimo = pp
piano = p
mezzo-piano, mp. = mp
mezzo-forte, mf. = mf
forte, f. = f
p. = p
fortissimo, ff. = ff
pp. = pp
sforzando = sfz`

	// Words to print that need no quotes.
	saidWords = `
lv, l.v, l.v., lv., (l.v.), (lv), (l.v), laissez-vibrer = l.v.
G.P., GP, G.P = G.P.
solo = solo
soli = soli
tutti = tutti
a2, a.2 = a2
a3 = a3
unis., unis = unis.
div., div = div.`

	// Rests of a bar.
	saidRest = `
rest, tacet, tac., 𝄽 = -`

	// Grace strokes named before their count.
	saidGrace = `
flam = '
drag = ''
ruff = '''`
)

// sayings finds what words mean. The first word leads to those that begin with
// it, longest first.
type sayings map[string][]saying

type saying struct {
	words []string // all but the first, in small letters
	means string
}

func readSayings(table string) sayings {
	out := sayings{}
	for _, line := range strings.Split(strings.TrimSpace(table), "\n") {
		said, means, _ := strings.Cut(line, " =")
		for _, s := range strings.Split(said, ",") {
			if words := strings.Fields(s); len(words) > 0 {
				first := strings.ToLower(words[0])
				rest := make([]string, 0, len(words)-1)
				for _, w := range words[1:] {
					rest = append(rest, strings.ToLower(w))
				}
				out[first] = append(out[first], saying{rest, strings.TrimSpace(means)})
			}
		}
	}
	for _, list := range out {
		slices.SortStableFunc(list, func(a, b saying) int { return len(b.words) - len(a.words) })
	}
	return out
}

type allSayings struct {
	first, verb, clause, asked, thing, value, meter, times, number, dynamic, words, rest, grace sayings
}

var said = sync.OnceValue(func() *allSayings {
	return &allSayings{
		first: readSayings(saidFirst), verb: readSayings(saidVerb), clause: readSayings(saidClause), asked: readSayings(saidAsked), thing: readSayings(saidThing),
		value: readSayings(saidValue), meter: readSayings(saidMeter), times: readSayings(saidTimes), number: readSayings(saidNumber),
		dynamic: readSayings(saidDynamic), words: readSayings(saidWords), rest: readSayings(saidRest), grace: readSayings(saidGrace),
	}
})

// match finds the longest saying that begins with the word text[from:to]. end is
// the byte behind it.
func (s sayings) match(text string, from, to int) (means string, end int, ok bool) {
	list := s[lower(strings.TrimSuffix(text[from:to], ":"))]
next:
	for _, say := range list {
		at := to
		for _, want := range say.words {
			_, f, t := nextToken(text, at)
			if f == t || lower(strings.TrimSuffix(text[f:t], ":")) != want {
				continue next
			}
			at = t
		}
		return say.means, at, true
	}
	return "", to, false
}

// one finds a saying of a single word.
func (s sayings) one(word string) (string, bool) {
	for _, say := range s[lower(word)] {
		if len(say.words) == 0 {
			return say.means, true
		}
	}
	return "", false
}

func lower(word string) string {
	for i := range len(word) {
		if c := word[i]; c >= 'A' && c <= 'Z' || c >= 0x80 {
			return strings.ToLower(word)
		}
	}
	return word
}

// Said is the notation's word for what people call an implement, if it is one
// that is understood without the catalogue: a name that no piece can give to
// something else.
func Said(name string) (string, bool) { return said().thing.one(name) }
