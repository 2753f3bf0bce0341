package sheet

import (
	"fmt"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
)

// Usual cautions, each where it belongs (common practice, no source). They
// defer to the house and to whoever is qualified.
const (
	cautionLift   = "Lift large drums, gongs and keyboards with two people, from the knees; let a frame or a case with wheels carry what it can."
	cautionCables = "Set stands on all their feet, weighted where they lean; tape cables down, light the ways that are walked, and keep the ways out free."
	cautionEars   = "Protect your hearing near loud instruments, and give your neighbours warning; follow the exposure limits of the house."
	cautionClick  = "Keep the click low: begin quietly and raise it until you just hear it beside your own playing; on headphones keep it lower still, and give your ears a rest."
	cautionHouse  = "The rules of the house come first. For lifting, rigging and electrics ask whoever is responsible there; for pain ask a qualified clinician or teacher."
)

// Cautions are those that are printed, each where it belongs.
func Cautions() []string {
	return []string{cautionLift, cautionCables, cautionEars, cautionClick, cautionHouse}
}

// strains is what may hurt a player in this piece.
func (v *part) strains() []string {
	var out []string
	longest, bar := 0.0, 0
	for i := range v.m.Events {
		e := &v.m.Events[i]
		one := e.Limbs&body.Hands == body.R || e.Limbs&body.Hands == body.L
		if e.Kind == motion.RollOn && one && e.T1-e.T0 > longest {
			longest, bar = e.T1-e.T0, e.Bar()
		}
	}
	if longest >= body.LongRoll {
		out = append(out, fmt.Sprintf("The roll of one hand at bar %s lasts %s: practise it in short spells, loosely, and stop when the hand or forearm hurts or tingles.", v.OnPage(bar), secs(longest)))
	} else {
		out = append(out, "Practise in short spells, loosely, and stop when a hand or forearm hurts or tingles.")
	}
	if v.loud() {
		out = append(out, cautionEars)
	}
	return append(out, cautionHouse)
}

// loud says whether anything is marked f or louder.
func (v *part) loud() bool {
	for _, st := range v.strokes {
		if st.Dyn >= kit.F {
			return true
		}
	}
	return false
}
