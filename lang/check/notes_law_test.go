package check_test

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/check"
	"example.org/handful/lang/pitch"
)

// evenBars is a keyboard whose bars are all of one width, and as many on either
// side of its middle D, so that what changes with the width or the side of a bar
// changes nothing here: A2 to G5.
const evenBars = `instrument keys
  called "Keys"
  family keyboard
  range A2 G5
  widths 4 4
  size 120 50
  way on stand takes 1 hand with yarn-mallet
  way on stand takes 1 hand with 2 yarn-mallet
  way on stand takes 2 hands with yarn-mallet rolls
`

// A keyStroke is one of a part for such a keyboard: where it stands, in
// sixteenths, its notes as MIDI counts them, and who is to play it.
type keyStroke struct {
	pos, roll int
	hand      string
	notes     []int
}

// A keyPart is a part for such a keyboard.
type keyPart struct {
	tempo, right, ahead, facing int
	limb, mallets               string
	strokes                     []keyStroke
}

func drawKeyPart(t *rapid.T, low, high, chord int) keyPart {
	p := keyPart{tempo: rapid.IntRange(40, 200).Draw(t, "tempo"), ahead: 50,
		limb: rapid.SampledFrom([]string{"R", "L", "RL", "LR", "R+L"}).Draw(t, "limb")}
	p.mallets = rapid.SampledFrom([]string{"yarn-mallet", "2 yarn-mallets"}).Draw(t, "mallets")
	step := rapid.SampledFrom([]int{1, 2, 2, 4}).Draw(t, "step")
	until := 0
	for pos := 0; pos < 32; pos += step {
		if pos < until || rapid.IntRange(0, 3).Draw(t, "rest") == 0 {
			continue
		}
		s := keyStroke{pos: pos}
		for range min(chord, rapid.SampledFrom([]int{1, 1, 1, 2, 2, 3, 4}).Draw(t, "notes")) {
			if n := rapid.IntRange(low, high).Draw(t, "note"); !slices.Contains(s.notes, n) {
				s.notes = append(s.notes, n)
			}
		}
		slices.Sort(s.notes)
		switch {
		case p.limb != "R" && p.limb != "L" && p.limb != "R+L" && len(s.notes) == 1 && rapid.IntRange(0, 4).Draw(t, "sticking") == 0:
			s.hand = rapid.SampledFrom([]string{"R", "L"}).Draw(t, "hand")
		case len(p.limb) > 1 && len(s.notes) < 3 && pos%16 < 10 && rapid.IntRange(0, 5).Draw(t, "rolls") == 0:
			s.roll = 4
			until = pos + 5
		}
		p.strokes = append(p.strokes, s)
	}
	if len(p.strokes) == 0 {
		p.strokes = []keyStroke{{notes: []int{low}}}
	}
	return p
}

func (p *keyPart) text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "tempo %d\nbars 2\n%splayer Ida\n  kit\n    keys on stand at%s ahead %d", p.tempo, evenBars, side(p.right), p.ahead)
	if p.facing != 0 {
		fmt.Fprintf(&b, " facing %d", p.facing)
	}
	fmt.Fprintf(&b, "\n  %s keys on stand with %s", p.limb, p.mallets)
	for bar := range 2 {
		b.WriteString(" |")
		any := false
		for _, s := range p.strokes {
			if s.pos/16 != bar {
				continue
			}
			any = true
			b.WriteString(" " + madeup.Count(s.pos%16) + s.hand)
			if s.roll > 0 {
				b.WriteString("~" + madeup.Count((s.pos+s.roll)%16))
			}
			for i, n := range s.notes {
				b.WriteString(":+"[min(i, 1):][:1] + pitch.FromSemitone(n).String())
			}
		}
		if !any {
			b.WriteString(" -")
		}
	}
	return b.String() + "\n"
}

func side(right int) string {
	switch {
	case right > 0:
		return fmt.Sprintf(" right %d", right)
	case right < 0:
		return fmt.Sprintf(" left %d", -right)
	}
	return ""
}

// A part an octave higher or lower is as hard as it was: what changes is how
// wide the bars are, and here all are alike.
func TestAnOctaveChangesNoVerdict(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := drawKeyPart(t, 45, 79-12, 4)
		q := p
		q.strokes = slices.Clone(p.strokes)
		for i := range q.strokes {
			q.strokes[i].notes = slices.Clone(p.strokes[i].notes)
			for k := range q.strokes[i].notes {
				q.strokes[i].notes[k] += 12
			}
		}
		a, b := n.of(p.text()), at(q.text(), 1)
		n.tried++
		up := said(a)
		for i, l := range up {
			up[i] = noteName.ReplaceAllStringFunc(l, func(name string) string {
				octave, _ := strconv.Atoi(name[len(name)-1:])
				return name[:len(name)-1] + strconv.Itoa(octave+1)
			})
		}
		slices.Sort(up)
		if d := differ(up, said(b)); d != "" {
			t.Fatalf("%s\n%s\n%s", d, p.text(), q.text())
		}
	})
}

var noteName = regexp.MustCompile(`\b[A-G][#b]?[0-9]\b`)

// Where a keyboard stands and which way it is turned changes nothing of what is
// played on it.
func TestMovingAKeyboardChangesNothingOnIt(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := drawKeyPart(t, 45, 79, 4)
		q := p
		q.right, q.ahead = rapid.IntRange(-15, 15).Draw(t, "right"), rapid.IntRange(42, 58).Draw(t, "ahead")
		q.facing = rapid.SampledFrom([]int{0, 0, 10, 350}).Draw(t, "facing")
		a, b := n.of(p.text()), at(q.text(), 1)
		n.tried++
		within := func(r *check.Result) []string { // of how it stands something may be said
			return slices.DeleteFunc(said(r), func(l string) bool {
				return strings.Contains(l, " out-of-reach ") || strings.Contains(l, " same-space ")
			})
		}
		if d := differ(within(a), within(b)); d != "" {
			t.Fatalf("%s\n%s\n%s", d, p.text(), q.text())
		}
	})
}

// So it is with drums of a set and with kettles: leaps, and which kettle has which
// note and when it is tuned, are the same wherever the whole stands.
func TestMovingASetChangesNothingOnIt(t *testing.T) {
	leaps, tunings := 0, 0
	law(t, func(t *rapid.T, n *tally) {
		set := rapid.SampledFrom([]struct {
			what, with string
			aims       []string
		}{
			{"tom-toms on stand", "snare-stick", []string{"high", "low", "1", "2", "3", "4"}},
			{"temple-blocks on stand", "rubber-mallet", []string{"1", "2", "3", "4", "5"}},
			{"timpani floor", "timpani-mallet", []string{"F2", "G2", "A2", "Bb2", "C3", "D3", "Eb3", "G3"}},
		}).Draw(t, "set")
		limb := rapid.SampledFrom([]string{"R", "L", "RL", "LR"}).Draw(t, "limb")
		part := fmt.Sprintf("  %s %s with %s", limb, set.what, set.with)
		for range 3 {
			part += " |"
			step := rapid.SampledFrom([]int{1, 2, 4, 8}).Draw(t, "step")
			for pos := 0; pos < 16; pos += step {
				part += " " + madeup.Count(pos) + ":" + rapid.SampledFrom(set.aims).Draw(t, "aim")
			}
		}
		tempo := rapid.IntRange(40, 200).Draw(t, "tempo")
		text := func(right, ahead int) string {
			return fmt.Sprintf("tempo %d\nbars 3\nplayer Ida\n  kit\n    %s at%s ahead %d\n%s\n", tempo, set.what, side(right), ahead, part)
		}
		a := n.of(text(0, 50))
		moved := text(rapid.IntRange(-20, 20).Draw(t, "right"), rapid.IntRange(42, 58).Draw(t, "ahead"))
		b := at(moved, 1)
		n.tried++
		within := func(r *check.Result) []string {
			return slices.DeleteFunc(said(r), func(l string) bool {
				leaps += strings.Count(l, " leaps ")
				tunings += strings.Count(l, "retuning") + strings.Count(l, "kettles")
				return strings.Contains(l, " out-of-reach ") || strings.Contains(l, " same-space ")
			})
		}
		if d := differ(within(a), within(b)); d != "" {
			t.Fatalf("%s\n%s\n%s", d, text(0, 50), moved)
		}
	})
	if leaps == 0 || tunings == 0 {
		t.Errorf("%d leaps and %d retunings were found", leaps, tunings)
	}
}

// Notes reflected about the middle of the keyboard, and the hands changed over:
// the same is found, of the other hand. Where both are to play together three notes of
// which one is midway between the others, no side is the one or the other; there are two
// of them here.
func TestAMirroredKeyboardMirrorsTheHands(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := drawKeyPart(t, 45, 79, 4)
		for i := range p.strokes {
			if s := &p.strokes[i]; p.limb == "R+L" && len(s.notes) == 3 && s.notes[0]+s.notes[2] == 2*s.notes[1] {
				s.notes = slices.Delete(s.notes, 1, 2)
			}
		}
		q := p
		other := map[string]string{"": "", "R": "L", "L": "R", "RL": "LR", "LR": "RL", "R+L": "R+L"}
		q.limb, q.strokes = other[p.limb], slices.Clone(p.strokes)
		for i := range q.strokes {
			s := &q.strokes[i]
			s.hand, s.notes = other[s.hand], slices.Clone(s.notes)
			for k, note := range s.notes {
				s.notes[k] = 45 + 79 - note
			}
			slices.Sort(s.notes)
		}
		a, b := n.of(p.text()), at(q.text(), 1)
		n.tried++
		// Notes have other names there, and of a chord the lowest is named first.
		// Leaps that are alike are told of once, and where both hands leap alike to
		// the notes of a chord, that may be the one or the other.
		chords := slices.ContainsFunc(p.strokes, func(s keyStroke) bool { return len(s.notes) > 1 })
		placed := func(r *check.Result, mirrored bool) []string {
			var out []string
			for i := range r.Findings {
				f := &r.Findings[i]
				limb, cm := f.Limb, centimetres.FindString(f.Message())
				if mirrored {
					limb = mirrorWords.Replace(limb)
				}
				place := f.PlaceWords()
				if chords && f.Rule.Name == "too-fast" {
					limb = "one of the hands"
				}
				out = append(out, fmt.Sprintf("%s %s %s [%s] %s", f.Severity, f.Rule.Name, place, limb, cm))
			}
			slices.Sort(out)
			return out
		}
		if d := unlike(a, b, placed(a, false), placed(b, true)); d != "" {
			t.Fatalf("%s\n%s\n%s\n%s\n%s", d, strings.Join(said(a), "\n"), strings.Join(said(b), "\n"), p.text(), q.text())
		}
	})
}

var centimetres = regexp.MustCompile(`\d+ cm`)

// A stroke that does not say what it strikes makes no claim: without notes no
// part is harder, and nothing is found that speaks of notes. A hand that comes from
// elsewhere goes to the middle of a thing then, which may be further than the bar or drum
// that was said, and two hands in turn are on one head where they were on two: so changes,
// stops and hands in turn are left out.
func TestWithoutNotesNothingIsHarder(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := madeup.Draw(t, madeup.Options{Notes: true, Players: 2, Roads: true, Quick: true})
		q := p.Clone()
		for i := range q.Players {
			for _, s := range q.Players[i].Sections {
				for c := range s.Cues {
					for k := range s.Cues[c].Strokes {
						s.Cues[c].Strokes[k].Aim = ""
					}
				}
			}
		}
		a, b := n.of(p.Text()), at(q.Text(), 1)
		n.tried++
		for i := range b.Findings {
			switch f := &b.Findings[i]; f.Rule.Name {
			case "no-such-note", "note-twice", "hand-span", "short-retuning", "too-few-kettles":
				t.Fatalf("%s\n%s", f.Message(), q.Text())
			}
		}
		onIt := func(f *check.Finding) bool {
			return !slices.Contains([]string{"short-change", "seam", "vamp-exit", "ring-over"}, f.Rule.Name) && f.Limb != "hands in turn"
		}
		if x, y := faults(a, onIt), faults(b, onIt); y > x {
			t.Fatalf("without notes: %d errors, and were %d\n%s\nwithout them:\n%s\n%s", y, x, worst(a), worst(b), p.Text())
		}
	})
}
