package score

// What is said of problems, each sentence once. How its fields come in is with
// syntax.About.
const (
	// Ways that a cue asks for.
	severalWays      = "the %s %s played %s %s: say which"
	wayForOtherLimb  = "%s on the %s is for a %s, and this line is for the %s"
	wayForOtherStick = "the %s %s%s is not played with the %s"
	noSuchWay        = "there is no way of playing the %s %s%s"
	noSuchWayOf      = "there is no way of playing the %s %s%s; it is played {expected}"
	noSuchWayOfMany  = "there is no way of playing the %s %s%s; it is played {expected} and %d more"

	// Files, names, places.
	noFolderToReadFrom  = "%s cannot be read here: there is no folder to find it in"
	noFolderForAll      = "%s, which every piece of this folder uses, cannot be read here: there is no folder to find it in"
	notToBeHadForAll    = "every piece of this folder uses a file that is not to be had: %s"
	usedTooDeep         = "files use one another %d deep here; %d is the most"
	usesTooManyFiles    = "a piece uses at most %d files"
	usesItself          = "%s uses itself, through %s: take this line out"
	lostOnTheWay        = "%s of %s could not be carried over; the first is: %s"
	hasItsOwnProblems   = "%s has %s of its own: check it by itself"
	fileHasNoParts      = "%s has no parts"
	fileLacksPart       = "%s has no part %s; it has {expected}"
	barsGoOnFromNothing = "these bars go on from nothing: a line that begins with | follows a line with bars"
	noSuchImplement     = "no implement is called %s"
	markIsAWord         = "a mark is a letter or a word without . + or -, so that A+4 can be told from it"
	markSetTwice        = "mark %s is already set"
	markStandsAtBar     = "a mark stands at a bar, not within one"
	notAPlace           = "%s is not a place: 12 is a bar, 12.3 a count of it, A a mark, A+4 four bars after it"
	noSuchBarOfPiece    = "there is no bar %d: the piece has bars {least} to {most}"
	longerPiece         = "there is no bar %d: the piece has bars {least} to {most}; write  bars %d  if it is longer than what is written out"
	noSuchMark          = "there is no mark %s: add  mark %s at BAR"
	noSuchMarkOf        = "there is no mark %s: add  mark %s at BAR; the marks are %s"
	barBeyondAll        = "bar %d is beyond the {most} bars that a piece may have"
	barLacksCount       = "bar %s has no count %s: %s"
	notARange           = "%s is not a range of bars: write 9-16, or A-B, or one bar"
	rangeBackwards      = "%s runs backwards: write the earlier bar first"
	linesBeginAtBar     = "lines begin at a bar: write the counts that are silent as rests"
	wholeNumber         = "%s should be a whole number from {least} to {most}"
	beginAtNoBar        = "these bars begin at bar %d: the piece has bars {least} to {most}"
	passNeverOfRange    = "there is no pass %d: bars %d to %d are played %s"
	passNever           = "there is no pass %d: %s played %s"

	numberStandsAtBar = "a number stands at a bar, not within one"
	numberTooLong     = "a bar's number in print has at most %d letters and digits"
	numberedTwice     = "bar %d has a number in print already"

	// Lines that mean nothing where they stand.
	limbOfNobody        = "a limb plays for somebody: put a line  player NAME  above this one"
	noSuchStatement     = "no statement begins with %s"
	limbOrKit           = "what a player plays begins with a limb, as in  R %s …; what stands where belongs under  kit"
	partOrKit           = "a line that begins with an instrument belongs under  part  (what is written) or  kit  (what stands where)"
	fromOfNothing       = "from belongs under a part or a player: it says where their lines begin"
	amountsInGear       = "how many there are of a thing belongs under  gear"
	belongsToPlayer     = "%s belongs under a player"
	belongsInKit        = "%s belongs under  kit"
	belongsInDefinition = "%s belongs under  instrument  or  implement"

	// Other lines that have to do with a problem.
	here          = "here"
	theFirstOne   = "the first one"
	saidHere      = "it is said here"
	handsThereAre = "the hands that there are"
	neverPlays    = "never"

	// How much things matter.
	mattersForm       = "how much it matters is little, much, or how many strokes each stroke counts as: matters 3"
	mattersOutOfRange = "%s should be a number from {least} to {most}, how many strokes each stroke counts as; what need not be played at all is left out by  omit"
	mattersOtherwise  = "how much %s matters%s is said already: %s"
	nothingIsWritten  = "nothing is written for the %s"

	// What is left out and accepted.
	omitWithoutReason   = "leaving something out needs its reason: omit %s … because \"…\""
	noSuchPart          = "there is no part %s"
	acceptWithoutReason = "accepting a finding needs its reason: accept %s … because \"…\""
	noSuchPlayer        = "there is no player %s"

	// What hands hold and do.
	oneHandHolds           = "one hand holds: write R holds or L holds"
	holdsTwice             = "%s already says what the %s holds at the start; later changes are takes and lays"
	buttOfTwo              = "of two in a hand the butt end does not play: write  butt of %s"
	noButtEnd              = "the %s has no butt end to play with"
	buttWherePlayed        = "which end plays is said where it plays, as in  R woodblock with butt of %s"
	twoThingsAtMost        = "a hand holds two things at the most: leave out one of the %d, or let it be taken later"
	twoThingsOfWhichKinds  = "a hand holds two things at the most: two of one kind, or one of each"
	noRoomBesideInstrument = "a hand that holds an instrument has no room for a second thing"
	nameBothThings         = "name both things that the hand holds, or write %s alone"
	roomForLightStick      = "a hand that holds an instrument has no room for a second thing but a light stick"
	noRoomForStick         = "no stick has room in the hand beside the %s: give one of the two to the other hand, or let it be taken later"
	twoOfOneKind           = "two of one kind are written %s"
	notHeldTogether        = "a hand does not hold the %s and another thing: %s"
	oneHandMoves           = "one hand takes, lays, damps or turns: write R or L"
	changeWithoutPlace     = "this change needs its place: … at 12.3"
	oneThingDamped         = "one thing is damped in a line: give each its own"
	cueWithoutBars         = "this cue plays nothing yet: put its bars behind it, | 1 2 |, or  as written"
	twoThingsOneHand       = "two different things are held in one hand: write R, L or any before them, and a line for the other hand"
	besideIsTaken          = "that a hand has the %s beside the %s is said where it takes them: write  R holds %s and %s"

	// Bars written out.
	tooMuchWritten        = "written out, this piece has more than %d strokes and bars; the rest of it is not read"
	pastLastBar           = "these bars run past bar %s, the last of the piece"
	simileTooLong         = "a simile repeats at most %d bars"
	simileOfNothing       = "%% repeats the bar before, and there is none in this line"
	simileOfTooFew        = "%%%d repeats the %d bars before, and this line has only %d so far"
	repeatedBarMisfits    = "the bar that is repeated here does not fit bar %s: %s"
	rollGoesOnFromNothing = "~ goes on with a roll from the bar before, as in  1~ | ~2, and there is none"
	countTwice            = "count %s of bar %s is written twice"
	countOutOfOrder       = "count %s of bar %s comes before what stands to its left: write counts in order"
	rollEndsFirst         = "this roll ends before it begins"

	// What there is.
	amountBeforeThing = "how many there are of it stands before each thing: 2 snare-drum, 6 clamp"
	noSuchThing       = "there is no instrument, implement or piece of hardware %s"

	// Meters, tempos, signs.
	tooManyBars           = "a piece has at most %d bars; what is written here would make %d"
	meterBeginsWithBar    = "a meter begins with a bar"
	notAMeter             = "%s is not a meter: write 4/4, 6/8 in 2, 7/8 in 2+2+3"
	notAGrouping          = "%s is not a grouping: write 2+2+3"
	notSomeCounts         = "%s is not a number of counts"
	listeningWithoutPlace = "what there is to listen for needs its place: cue %s at 8"
	notHowOften           = "%s does not say how often: write x3"
	notANoteValue         = "%s is not a note value: a quarter is 1/4, a dotted quarter 3/8"
	notATempo             = "%s is not a tempo: counts a minute, from {least} to {most}"

	// What stands where.
	tableHasNoName   = "a table has no name: table at [STATION] right 20 ahead 40"
	stationHasName   = "a station has a name: station timps at right 180 behind 40"
	stationNotTurned = "a station is not turned: who stands there faces the conductor"
	stationTwice     = "station %s is already there"
	stationsAtMost   = "a player has at most 16 stations"
	notATurn         = "%s is not a turn in degrees, clockwise from facing the conductor: {least} to {most}"
	spotSaysNothing  = "this says nothing of where it stands: at right 20 ahead 40, in centimetres"
	noSuchStation    = "there is no station %s: add  station %s at right 180"
	notADistance     = "%s is not a distance in centimetres, {least} to {most}"
	notADirection    = "%s is not a direction: {expected}"
	kitHasNoBars     = "a kit says what stands where; bars belong under a part, or behind a limb"
	twiceInKit       = "%s is already in this kit: a second one needs a name of its own, as in  high-block is woodblock"
	goesWhereUsed    = "a %s goes where it is used: write  %s  alone"
	alreadyInKit     = "the %s is already in this kit"
	nameTakenFor     = "%s is taken for %s: write %s"
	nameMayBe        = "%s may be %s: write which"
	noSuchInstrument = "no instrument is called %s"
	defineOne        = "no instrument is called %s; the catalogue is shown by  handful instruments, and an  instrument %s  block defines one of your own"

	// Written parts.
	partHasNoSpots    = "a part says what is written; what it is and where it stands belongs under  kit"
	lineWithoutBars   = "this line has no bars: %s | 1 2 |"
	noSuchPartOf      = "there is no part %s; there is {expected}"
	notACount         = "%s is not a count: write  on 1 3"
	nothingWrittenFor = "nothing is written for %s %s, so this cue plays nothing"

	// What a player can do.
	notAHand          = "%s is no hand: hands R, hands L, hands both, or hands none for somebody who plays with the feet and the mouth"
	doesNotLead       = "%s does not lead: leads left, or leads right"
	neverWithoutWith  = "what a player never plays is written without with: never timpani, crash-cymbals"
	neitherYesNorNo   = "%s is neither yes nor no"
	otherHandLeads    = "%s has %s, and this lets the other one lead"
	fourTakeTwoHands  = "%s has %s: four mallets take two hands"
	likesAndNever     = "%s likes this, and never plays it"
	saidTwiceOfPlayer = "%s's block says twice %s: the first line counts"

	// Profiles.
	noSuchProfile     = "there is no profile %s: {expected}"
	settingOutOfRange = "%s is %s: from {least} to {most}"
	notASetting       = "%s is not a setting: {expected}"
)
