package kit

// What is said of problems, each sentence once. How its fields come in is with
// syntax.About.
const (
	// Notes of an instrument.
	widthsForm     = "widths says how wide its lowest and its highest bar are, in cm: widths 6.4 4"
	twoBarsAlike   = "two in a row are called %s"
	kettlesAtMost  = "a set has at most %d kettles"
	notANote       = "%q is no note: a letter from A to G, b if it is flat, # if it is sharp, and an octave, as in C5, Bb2"
	lowerNoteFirst = "the lower note comes first: %s %s"

	// Definitions.
	definedTwice         = "%s is defined in line %d already, and what stands here counts: give one of the two another name, or take it out"
	noWayOfPlaying       = "%s has no way of playing: add a line such as  way on stand takes 1 hand with snare-stick"
	neverWithoutReason   = `never gives its reason: … because "it would break the head"`
	neverWithForm        = "what would break an instrument is written  never with IMPLEMENT because \"…\""
	standsForWithoutCost = `stands for %s does not say what the sound pays: … costs "rounder, and it carries less"`
	notOneOf             = "%q is not one of {expected}"
	sizeForm             = "size says how wide and how deep it is, in cm, or how far across if it is round: size 75 45, size 36"
	fillsForm            = "fills says from which height to which the thing itself is, in cm above the floor: fills 60 80"
	fillsBackwards       = "fills goes from the lower height to the higher one: fills %g %g"
	nothingOfInstrument  = "%s says nothing about an instrument"
	buttWithoutCost      = `butt as %s does not say what the sound pays: … costs "thin and dry"`
	nothingOfImplement   = "%s says nothing about an implement"
	feetForm             = "a way that feet play says how many at once: takes 2 feet"
	buttInWay            = "a way names what it is played with: which butt ends play as that stands with the implements"
	notADynamic          = "%q is not a dynamic: {expected}"
	numberOutOfRange     = "%q should be a number from {least} to {most}"
)
