package kit

import "example.org/handful/lang/pitch"

// Where parts are written: what every page and file that has notes on lines
// agrees about.

// What goes lower than C3 may be read in the bass clef: timpani, and a marimba
// where most of its notes are below middle C. Common practice, no source.
var middleC, lowest = pitch.Of('C', 0, 4).Step(), pitch.Of('C', 0, 3).Step()

// InBass says whether notes of the instrument are read in the bass clef, by the
// middle one of them, in steps of a staff.
func (in *Instrument) InBass(middle int) bool {
	return in.Pitched() && in.Range.Low.Step() < lowest && middle < middleC
}

// Rank orders the drums of a set from the lowest up, as far as their names
// tell; else from the left. Of what is not in the set it is 0.
func (in *Instrument) Rank(member int) int {
	if len(in.MemberNames) > 1 && in.MemberNames[0] == "high" && member <= len(in.MemberNames) {
		return -member
	}
	return member
}
