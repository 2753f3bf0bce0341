package score

import (
	"example.org/handful/lang/kit"
	"example.org/handful/lang/slab"
	"example.org/handful/lang/syntax"
)

// A Room lends scores the room that another one had, to whoever binds one piece after the
// other and is done with each before the next. It is not for several goroutines at once.
// Without one each score has its own.
type Room struct {
	strokes  *slab.Of[Stroke]
	marks    *slab.Of[uint64]
	cues     *slab.Of[Cue]
	lines    *slab.Of[Line]
	written  *slab.Of[writtenLine]
	covered  *slab.Of[covered]
	owners   *slab.Of[*Cue]
	openings *slab.Of[opening]
	bound    *slab.Of[logical]
	seats    *slab.Of[syntax.Seat]
	texts    *slab.Of[*syntax.Line]
	numbers  *slab.Of[int]
	choices  *slab.Of[kit.Choice]
	ofVoice  *slab.Of[*covered]
	cueLists *slab.Of[*Cue]
	ofPart   *slab.Of[*Line]
}

// NewRoom is room for one score.
func NewRoom() *Room {
	return &Room{
		strokes: new(slab.Of[Stroke]), marks: new(slab.Of[uint64]), cues: new(slab.Of[Cue]), lines: new(slab.Of[Line]), written: new(slab.Of[writtenLine]),
		covered: new(slab.Of[covered]), owners: new(slab.Of[*Cue]), openings: new(slab.Of[opening]), bound: new(slab.Of[logical]), seats: new(slab.Of[syntax.Seat]),
		texts: new(slab.Of[*syntax.Line]), numbers: new(slab.Of[int]), choices: new(slab.Of[kit.Choice]), ofVoice: new(slab.Of[*covered]),
		cueLists: new(slab.Of[*Cue]), ofPart: new(slab.Of[*Line]),
	}
}

// Clear takes the room back from the score that was bound in it, which is good for
// nothing from then on, and so is all that was found in it.
func (r *Room) Clear() {
	r.strokes.Clear()
	r.marks.Clear()
	r.cues.Clear()
	r.lines.Clear()
	r.written.Clear()
	r.covered.Clear()
	r.owners.Clear()
	r.openings.Clear()
	r.bound.Clear()
	r.seats.Clear()
	r.texts.Clear()
	r.numbers.Clear()
	r.choices.Clear()
	r.ofVoice.Clear()
	r.cueLists.Clear()
	r.ofPart.Clear()
}
