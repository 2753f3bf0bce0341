package sheet

import (
	"fmt"
	"math"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/score"
)

// tempoAt is what is to be said of the tempo at the beginning of a bar: a new
// one, or a change that begins; "" where it goes on as it was.
func (v *part) tempoAt(bar int) string {
	const same = 1e-6
	start, end := v.Grid.Start(bar), v.Grid.Start(bar+1)
	now := v.Tempo.At(start)
	near := start.Add(v.Grid.Length(bar).Mul(beat.R(1, 1024)))
	moving := v.Tempo.At(near) - now
	if bar > v.Grid.First() {
		before := v.Grid.Start(bar - 1)
		justBefore := start.Sub(v.Grid.Length(bar - 1).Mul(beat.R(1, 1024)))
		was := v.Tempo.At(justBefore)
		wasMoving := math.Abs(v.Tempo.At(before)-was) > same*now
		if wasMoving && math.Abs(moving) > same*now && (v.Tempo.At(before) > was) == (moving < 0) {
			return ""
		}
		if !wasMoving && math.Abs(was-now) <= same*now && math.Abs(moving) <= same*now {
			return ""
		}
	}
	if math.Abs(moving) > same*now {
		word := "slower"
		if moving > 0 {
			word = "faster"
		}
		return fmt.Sprintf("%s → %s %s", v.perMinute(bar, now), v.perMinute(bar, v.rampEnd(bar, end)), word)
	}
	return v.perMinute(bar, now)
}

// rampEnd is the tempo that a change leads to, looked for bar by bar.
func (v *part) rampEnd(bar int, end beat.Rat) float64 {
	for b := bar; b <= v.Grid.Last(); b++ {
		end = v.Grid.Start(b + 1)
		back := end.Sub(v.Grid.Length(b).Mul(beat.R(1, 1024)))
		further := end.Add(v.Grid.Length(b).Mul(beat.R(1, 1024)))
		if math.Abs((v.Tempo.At(end)-v.Tempo.At(back))-(v.Tempo.At(further)-v.Tempo.At(end))) > 1e-6 {
			return v.Tempo.At(end)
		}
	}
	return v.Tempo.At(end)
}

// perMinute is a tempo in the counts of a bar.
func (v *part) perMinute(bar int, wholes float64) string {
	return fmt.Sprintf("%.0f", wholes/v.unit(bar).Float())
}

// unit is how long the first count of a bar is.
func (v *part) unit(bar int) beat.Rat { return unitAt(v.Score, v.Grid.Start(bar)) }

// unitAt is how long the count at a place is.
func unitAt(s *score.Score, at beat.Rat) beat.Rat {
	bar, count := s.Grid.Place(at)
	if unit := s.Grid.Meter(bar).CountLength(count.Beat); !unit.IsZero() {
		return unit
	}
	return beat.R(1, 4)
}

// noteGlyph is the note of a length, and what stands between it and the
// number; where there is no such note the length is written out.
func noteGlyph(unit beat.Rat) (glyph, equal string) {
	switch unit {
	case beat.R(1, 2):
		return "metNoteHalfUp", "= "
	case beat.R(1, 4):
		return "metNoteQuarterUp", "= "
	case beat.R(1, 8):
		return "metNote8thUp", "= "
	case beat.R(1, 16):
		return "metNote16thUp", "= "
	case beat.R(3, 8):
		return "metNoteQuarterUp", "\u00b7 = "
	case beat.R(3, 16):
		return "metNote8thUp", "\u00b7 = "
	case beat.R(3, 4):
		return "metNoteHalfUp", "\u00b7 = "
	}
	return "", unit.String() + " = "
}
