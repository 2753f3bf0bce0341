package syntax

// What is said of problems, each sentence once. How its fields come in is with
// About.
const (
	// Which bar or drum.
	aimBehindColon     = "behind : stands which bar or drum it is, as in 1:C5, 1:C5+E5, 2:high or 2:3"
	noteNobodyHas      = "%s is no note that anything has: notes go from C-1 to G9, and C4 is middle C"
	noteWithoutOctave  = "%s has no octave: write it as in %s4, where C4 is middle C"
	drumsFromOne       = "the drums of a set are counted from the left, from 1"
	neitherNoteNorDrum = "%s is neither a note, as C5 or F#4, nor a drum, as high or 3"

	// What has its own words.
	inItsWords = "%s"

	// Questions.
	asksBack      = "%s: %s"
	asksBackWrite = "%s: %s; write {readings}"

	// Bar lists.
	emptyBar          = "this bar is empty: a bar's rest is written -"
	aloneInItsBar     = "%q stands alone in its bar"
	simileTwiceOrMore = "a simile is played x2 times or more, as in %% x7"
	strokesBesideMark = "strokes and %q cannot share a bar"
	restForm          = "a rest is written - or -8 for eight bars"
	simileForm        = "a simile is written %% or %%2 for the two bars before, then x7 for seven times"
	openWords         = "these words have no closing quote"
	threeGracesAtMost = "three grace strokes (a ruff) are the most that are written"
	graceWithoutCount = "%s has no count behind the grace mark"

	// Lines.
	otherEncoding    = "this file is %s: save it as UTF-8"
	noEncoding       = "this file is not UTF-8 (its first other byte, %#x, stands here), perhaps Latin-1: save it as UTF-8"
	tooManyLines     = "only the first %d lines of a file are read"
	tooLongLine      = "this line is %d bytes long; lines of up to %d are read: go on in a new line that begins with |"
	cannotBeginLine  = "%s cannot begin a line: lines begin with a statement's word, an instrument, a limb, or |"
	saidTwiceInLine  = "%s stands here a second time: a line says it once"
	noSuchBeginning  = "%s: a line begins with a statement's word, an instrument, a limb, or |; with a number only under  gear: %s"
	writeShape       = "%s: write %s"
	WhoPlaysThis     = "who plays this? a player's line begins with a limb: R, L, RL (hand to hand), R+L (together) or any"
	nearStatement    = "%s; did you mean {near}? a line that begins with a name reads: %s"
	itemShape        = "%s: a line that begins with a name reads: %s"
	fromStandsAbove  = "where a cue begins stands in a line above it: from %s"
	whichBarsSaidIn  = "%s: which bars it plays is said in  in 1-4, or by a line above it, from 9"
	fromWhere        = "from where, and is that bar played? which bars it plays is said: write {readings}"
	fromWhereAtAll   = "from where, and is that bar played? which bars it plays is said"
	toWhere          = "to where? write both ends, as in  in %s-16, or put the line  from %s  above this one"
	holdsAtStartOnly = "%s: holds says what a hand has at the start; later it takes and lays, as in  R takes yarn-mallet at 5"
	writtenOrOwnBars = "%s: a cue is either as written or has bars of its own"
	mountsAre        = "%s: mounts are {expected}"
	limbShape        = "%s: a limb's line reads: %s; or R holds, takes, lays, damps … at PLACE"
	openText         = "this text has no closing quote"

	// What people write in bars.
	noSignHere        = "%s is no sign here: write the strokes out, or a bar as the one before as %%"
	wordWithoutCount  = "%s has no count behind it: write %s before its count, as in %s2"
	rollWithoutEnds   = "%s does not say from where to where: a roll is written 1~3, and 1~ to the end of its bar"
	stickingPerStroke = "%s has not one letter for each stroke of its bar: sticking stands behind each count, as in 1R 2L"
	strokesReadLike   = "%s is neither a count nor a dynamic: strokes read 1 2& 3., rolls 1~3, stops 3x, rests -"

	// What may mean several things, or is written otherwise.
	strokesOrMark          = "strokes and %s cannot share a bar: write {readings}"
	mayBeTwoThings         = "%s may be two things: write {readings}"
	neitherCountNorDynamic = "%s is neither a count nor a dynamic: write {readings}"
	noSignButReadings      = "%s is no sign here: write {readings}"
	bracketsSayNothing     = "%s has brackets, which say nothing here: write {readings}"
	wordsStandInQuotes     = "%s is neither a count nor a dynamic: strokes read 1 2& 3., rolls 1~3, stops 3x, rests -; words to print stand in quotes: write {readings}"
	writtenAsAccent        = "%s is written as an accent: write {readings}"
	rollWithoutEnd         = "%s is a roll that does not say where it ends: write {readings}"
	strokeAndWords         = "%s is a stroke and words: write {readings}"
	isSticking             = "%s is sticking: write {readings}"
	isNoCount              = "%s is no count: write {readings}"
	noteOfRollOnce         = "%s says the note of its roll twice: write {readings}"
	cannotFollowCount      = "%s cannot follow %s: behind a count stand e & a t l, R L, >, . or x, ~, and last :C5"
)
