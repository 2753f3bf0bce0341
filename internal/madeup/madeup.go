// Package madeup draws pieces for tests: players with their kits, and what
// their hands, feet and mouths do, in sections one after the other. A piece is
// drawn as data, so that one that breaks a law can be made smaller until
// nothing can be taken away, and so that what a law does to it (to mirror it,
// to write it otherwise, to take a stroke out) is done to the data and not to
// the text.
package madeup

import (
	"fmt"
	"os"
	"slices"
	"strings"

	"pgregory.net/rapid"
)

// A Thing is an instrument with one way of playing it that the generator uses.
type Thing struct {
	Inst, Mount string
	Ask         string   // what is asked of the way it is played
	OneHand     bool     // held, and played with both hands only where both are free
	With        []string // what it may be struck with; "" is nothing
	Limbs       []string
	Rolls       map[string]string // limb and what it is rolled with, where it rolls
	Rings       bool
	Aims        []string // bars or drums that its strokes may be for
	Place       int      // see the constants below
}

const (
	stands  = iota // somewhere within reach
	inHand         // it has no place of its own
	onFloor        // before a foot
	atFar          // at the other station
)

var things = []Thing{
	{Inst: "snare-drum", Mount: "on stand", With: []string{"snare-stick"}, Limbs: []string{"R", "L", "RL", "LR"}, Rolls: map[string]string{"RL": "snare-stick", "LR": "snare-stick"}},
	{Inst: "woodblock", Mount: "clamped", With: []string{"rubber-mallet", "snare-stick", "butt of yarn-mallet"}, Limbs: []string{"R", "L"}},
	{Inst: "triangle", Mount: "clipped", With: []string{"triangle-beater"}, Limbs: []string{"R", "L"}, Rings: true},
	{Inst: "triangle", Mount: "held", With: []string{"triangle-beater"}, Limbs: []string{"R", "L"}, Place: inHand},
	{Inst: "tambourine", Mount: "padded", With: []string{"fingers"}, Limbs: []string{"R", "L"}},
	{Inst: "tambourine", Mount: "held", With: []string{"fingers"}, Limbs: []string{"R", "L"}, Place: inHand},
	{Inst: "suspended-cymbal", Mount: "on stand", With: []string{"yarn-mallet", "snare-stick"}, Limbs: []string{"R", "L", "RL"}, Rolls: map[string]string{"RL": "yarn-mallet", "R": "2 yarn-mallets", "L": "2 yarn-mallets"}, Rings: true},
	{Inst: "cowbell", Mount: "clamped", With: []string{"snare-stick", "butt of snare-stick"}, Limbs: []string{"R", "L"}},
	{Inst: "shaker", Mount: "held", With: []string{""}, Limbs: []string{"R", "L"}, Place: inHand},
	{Inst: "maracas", Mount: "held", OneHand: true, With: []string{""}, Limbs: []string{"R", "L"}, Rolls: map[string]string{"R": "", "L": ""}, Place: inHand},
	{Inst: "maracas", Mount: "held", Ask: "in one hand", OneHand: true, With: []string{""}, Limbs: []string{"R", "L"}, Rolls: map[string]string{"R": "", "L": ""}, Place: inHand},
	{Inst: "tambourine", Mount: "held", Ask: "\"on the thigh\"", OneHand: true, With: []string{""}, Limbs: []string{"R", "L"}, Place: inHand},
	{Inst: "tambourine", Mount: "held", Ask: "shaken", OneHand: true, With: []string{""}, Limbs: []string{"R", "L"}, Rolls: map[string]string{"R": "", "L": ""}, Place: inHand},
	{Inst: "claves", Mount: "held", With: []string{""}, Limbs: []string{"R+L"}, Place: inHand},
	{Inst: "crash-cymbals", Mount: "held", With: []string{""}, Limbs: []string{"R+L"}, Place: inHand, Rings: true},
	{Inst: "bass-drum", Mount: "on stand", With: []string{"bass-drum-beater"}, Limbs: []string{"R", "L"}, Rings: true},
	{Inst: "tom-toms", Mount: "on stand", With: []string{"snare-stick"}, Limbs: []string{"R", "L", "RL", "R+L"}, Aims: []string{"high", "low", "1", "4"}},
	{Inst: "timpani", Mount: "floor", With: []string{"timpani-mallet"}, Limbs: []string{"RL", "LR"}, Rolls: map[string]string{"RL": "timpani-mallet"}, Rings: true, Aims: []string{"F2", "A2", "Bb2", "C3", "Eb3", "G3"}},
	{Inst: "glockenspiel", Mount: "on stand", With: []string{"plastic-mallet"}, Limbs: []string{"R", "L", "RL"}, Aims: []string{"G3", "C4", "F4", "Bb4", "E5", "C6"}, Place: atFar},
	{Inst: "bass-drum-pedal", Mount: "floor", With: []string{""}, Limbs: []string{"RF"}, Place: onFloor},
	{Inst: "hi-hat", Mount: "on stand", With: []string{""}, Limbs: []string{"LF"}, Place: onFloor},
	{Inst: "police-whistle", Mount: "hung", With: []string{""}, Limbs: []string{"mouth"}, Place: inHand},
}

// beside are what a hand may hold besides.
var beside = map[string]string{"snare-stick": "yarn-mallet", "yarn-mallet": "snare-stick", "rubber-mallet": "snare-stick", "triangle-beater": "snare-stick", "butt of yarn-mallet": "snare-stick", "butt of snare-stick": "triangle-beater"}

// A Stroke stands in a bar of its cue, on a sixteenth.
type Stroke struct {
	Bar, Pos int
	Roll     int // sixteenths until it ends; it may reach into the next bar
	Short    bool
	Stop     bool
	Grace    int
	Dyn      string
	Aim      string // the bar or drum that it is for, or two of them
}

// A Cue is what one limb, or both hands, do for some bars.
type Cue struct {
	Limb    string
	Thing   Thing
	With    string
	From    int // bars after the beginning of its section
	Bars    int
	Strokes []Stroke
}

// A Section is what a player does from a bar on.
type Section struct {
	From, Pass int
	Cues       []Cue
}

// A Spot is where a thing stands.
type Spot struct {
	Inst, Mount  string
	Right, Ahead int
	Far          bool
}

// An Action is something taken or laid at a set place.
type Action struct {
	Limb, Verb, What string
	Bar, Pos         int
}

// A Player has a kit and something to do.
type Player struct {
	Name     string
	Profile  string
	Holds    [2]string
	Kit      []Spot
	Table    [2]int
	Far      bool // there is a second station
	FarRight int
	Sections []Section
	Actions  []Action
}

// A Piece is a whole file.
type Piece struct {
	Tempo, Beats, Bars int
	Head               []string // of the road map, and holds
	Players            []Player
	Written            bool // its cues are "as written"
}

func (p *Piece) sixteenths() int { return p.Beats * 4 }

// Count is a place in a bar, given in sixteenths, as the notation has it.
func Count(pos int) string { return fmt.Sprint(pos/4+1) + [...]string{"", "e", "&", "a"}[pos%4] }

// Text writes a cue's bars.
func (c *Cue) Text(sixteenths int) string {
	bars := make([][]string, c.Bars)
	dyn := ""
	for _, s := range c.Strokes {
		t := strings.Repeat("'", s.Grace) + Count(s.Pos)
		if s.Aim != "" {
			t += ":" + s.Aim
		}
		if s.Dyn != "" && s.Dyn != dyn {
			t, dyn = s.Dyn+" "+t, s.Dyn
		}
		switch end := s.Pos + s.Roll; {
		case s.Stop:
			t += "x"
		case s.Short:
			t += "."
		case s.Roll > 0 && end < sixteenths:
			t += "~" + Count(end)
		case s.Roll > 0 && s.Bar+1 < c.Bars:
			t += "~"
			bars[s.Bar+1] = append(bars[s.Bar+1], "~"+Count(end-sixteenths))
		case s.Roll > 0:
			t += "~" + Count(sixteenths-1)
			if s.Pos == sixteenths-1 {
				t = t[:len(t)-1-len(Count(sixteenths-1))]
			}
		}
		bars[s.Bar] = append(bars[s.Bar], t)
	}
	var b strings.Builder
	if c.From > 0 {
		fmt.Fprintf(&b, "| -%d ", c.From)
	}
	for _, bar := range bars {
		if len(bar) == 0 {
			bar = []string{"-"}
		}
		b.WriteString("| " + strings.Join(bar, " ") + " ")
	}
	return strings.TrimSpace(b.String())
}

// Says is a cue without its bars.
func (c *Cue) Says() string {
	s := c.Limb + " " + c.Thing.Inst
	if c.Thing.Mount != "" {
		s += " " + c.Thing.Mount
	}
	if c.Thing.Ask != "" {
		s += " " + c.Thing.Ask
	}
	if c.With != "" {
		s += " with " + c.With
	}
	return s
}

// Text is the piece in the notation.
func (p *Piece) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "tempo %d\nmeter %d/4\nbars %d\n", p.Tempo, p.Beats, p.Bars)
	for _, h := range p.Head {
		b.WriteString(h + "\n")
	}
	if p.Written {
		for i := range p.Players {
			p.part(&b, &p.Players[i])
		}
	}
	for i := range p.Players {
		p.playerText(&b, &p.Players[i])
	}
	return b.String()
}

// part writes what a player plays as a part, a line for each cue. (Two cues
// of one instrument in one section are one written line, so the generator
// makes none.)
func (p *Piece) part(b *strings.Builder, pl *Player) {
	fmt.Fprintf(b, "part \"of %s\"\n", pl.Name)
	for _, s := range pl.Sections {
		fmt.Fprintf(b, "  from %d\n", s.From)
		for i := range s.Cues {
			fmt.Fprintf(b, "  %s %s\n", s.Cues[i].Thing.Inst, s.Cues[i].Text(p.sixteenths()))
		}
	}
}

func (p *Piece) playerText(b *strings.Builder, pl *Player) {
	fmt.Fprintf(b, "player %s\n", pl.Name)
	if pl.Profile != "" {
		fmt.Fprintf(b, "  profile %s\n", pl.Profile)
	}
	b.WriteString("  kit\n")
	if pl.Far {
		fmt.Fprintf(b, "    station far at%s\n", side(pl.FarRight))
	}
	for _, s := range pl.Kit {
		at := " at"
		if s.Far {
			at += " far"
		}
		fmt.Fprintf(b, "    %s %s%s%s ahead %d\n", s.Inst, s.Mount, at, side(s.Right), s.Ahead)
	}
	fmt.Fprintf(b, "    table at%s ahead %d\n", side(pl.Table[0]), pl.Table[1])
	if pl.Far {
		fmt.Fprintf(b, "    table at far%s ahead %d\n", side(pl.Table[0]), pl.Table[1])
	}
	for h, limb := range []string{"R", "L"} {
		if pl.Holds[h] != "" {
			fmt.Fprintf(b, "  %s holds %s\n", limb, pl.Holds[h])
		}
	}
	for _, a := range pl.Actions {
		fmt.Fprintf(b, "  %s %s %s at %d.%s\n", a.Limb, a.Verb, a.What, a.Bar, Count(a.Pos))
	}
	for _, s := range pl.Sections {
		pass := ""
		if s.Pass > 0 {
			pass = fmt.Sprintf(" on pass %d", s.Pass)
		}
		fmt.Fprintf(b, "  from %d%s\n", s.From, pass)
		for i := range s.Cues {
			c := &s.Cues[i]
			if p.Written {
				fmt.Fprintf(b, "  %s as written in %d-%d of \"of %s\"\n", c.Says(), s.From+c.From, s.From+c.From+c.Bars-1, pl.Name)
				continue
			}
			fmt.Fprintf(b, "  %s %s\n", c.Says(), c.Text(p.sixteenths()))
		}
	}
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

// Clone copies a piece so that a law can change it.
func (p *Piece) Clone() *Piece {
	q := *p
	q.Head = slices.Clone(p.Head)
	q.Players = slices.Clone(p.Players)
	for i := range q.Players {
		pl := &q.Players[i]
		pl.Kit, pl.Actions, pl.Sections = slices.Clone(pl.Kit), slices.Clone(pl.Actions), slices.Clone(pl.Sections)
		for k := range pl.Sections {
			s := &pl.Sections[k]
			s.Cues = slices.Clone(s.Cues)
			for n := range s.Cues {
				s.Cues[n].Strokes = slices.Clone(s.Cues[n].Strokes)
			}
		}
	}
	return &q
}

// Options say what a law wants its pieces to have.
type Options struct {
	Players int  // at the most; 0 is one
	NoPairs bool // no cue in which the hands take turns
	NoStops bool
	Roads   bool // repeats, endings, vamps and orders
	Actions bool // takes and lays at set places
	Notes   bool // some strokes say which bar or drum they are for
	Quick   bool // as fast as anything, so that much is impossible
}

// Draw makes a piece up.
func Draw(t *rapid.T, o Options) *Piece {
	p := &Piece{Beats: rapid.IntRange(3, 4).Draw(t, "beats")}
	most := 160
	if o.Quick {
		most = 260
	}
	p.Tempo = rapid.IntRange(40, most).Draw(t, "tempo")
	n := 1
	if o.Players > 1 {
		n = rapid.IntRange(1, o.Players).Draw(t, "players")
	}
	for i := range n {
		p.Players = append(p.Players, drawPlayer(t, p, o, [...]string{"Ida", "Per", "Sol"}[i]))
	}
	for i := range p.Players {
		for _, s := range p.Players[i].Sections {
			for _, c := range s.Cues {
				p.Bars = max(p.Bars, s.From+c.Bars-1)
			}
		}
	}
	p.Bars = max(1, p.Bars)
	if o.Roads {
		p.Head = drawRoad(t, p.Bars)
	}
	return p
}

func drawRoad(t *rapid.T, bars int) []string {
	a := rapid.IntRange(1, bars).Draw(t, "road from")
	b := rapid.IntRange(a, bars).Draw(t, "road to")
	switch rapid.IntRange(0, 4).Draw(t, "road") {
	case 1:
		return []string{fmt.Sprintf("repeat %d-%d", a, b)}
	case 2:
		return []string{fmt.Sprintf("vamp %d-%d", a, b)}
	case 3:
		return []string{fmt.Sprintf("order 1-%d %d-%d", b, a, bars)}
	case 4:
		if b < bars && a < b {
			return []string{fmt.Sprintf("repeat %d-%d", a, b), fmt.Sprintf("ending 1 %d-%d", b, b), fmt.Sprintf("ending 2 %d-%d", b+1, b+1)}
		}
	}
	return nil
}

func drawPlayer(t *rapid.T, p *Piece, o Options, name string) Player {
	pl := Player{Name: name, Table: [2]int{rapid.SampledFrom([]int{20, -20, 35}).Draw(t, "table"), 40}, FarRight: rapid.SampledFrom([]int{200, -200}).Draw(t, "far")}
	pl.Profile = rapid.SampledFrom([]string{"", "", "student", "professional"}).Draw(t, "profile")
	for h := range 2 {
		pl.Holds[h] = rapid.SampledFrom([]string{"", "", "snare-stick", "triangle-beater", "snare-stick and yarn-mallet", "snare-stick and shaker"}).Draw(t, "holds")
	}
	from, last := 1, 1
	mounts := map[string]string{} // of each instrument: a kit has it in one way
	for range rapid.IntRange(1, 4).Draw(t, "sections") {
		s := Section{From: from}
		bars := rapid.IntRange(1, 2).Draw(t, "bars")
		s.Cues = drawCues(t, p, o, bars, mounts)
		pl.Sections = append(pl.Sections, s)
		if len(s.Cues) > 0 {
			last = from + bars - 1
		}
		from += bars + rapid.IntRange(0, 1).Draw(t, "rest")
	}
	pl.setUp(t)
	if o.Actions && os.Getenv("NOACTS") == "" && rapid.IntRange(0, 2).Draw(t, "acts") == 0 {
		pl.Actions = append(pl.Actions, Action{
			Limb: rapid.SampledFrom([]string{"R", "L"}).Draw(t, "hand"),
			Verb: rapid.SampledFrom([]string{"takes", "lays"}).Draw(t, "verb"),
			What: rapid.SampledFrom([]string{"snare-stick", "yarn-mallet", "triangle-beater", "yarn-mallet and snare-stick"}).Draw(t, "what"),
			Bar:  rapid.IntRange(1, last).Draw(t, "bar"), Pos: 4 * rapid.IntRange(0, p.Beats-1).Draw(t, "at"),
		})
		if a := &pl.Actions[0]; a.Verb == "lays" && a.What != "yarn-mallet" { // which may be one of two
			a.What = "it"
		}
	}
	return pl
}

// place puts what the player uses somewhere.
func (pl *Player) setUp(t *rapid.T) {
	spots := [][2]int{{0, 45}, {-40, 45}, {40, 45}, {-20, 60}, {20, 60}, {60, 30}, {-60, 30}, {0, 65}, {45, 20}, {-45, 20}, {30, 40}, {-30, 40}}
	at := rapid.IntRange(0, len(spots)-1).Draw(t, "first spot")
	seen := map[string]bool{}
	for _, s := range pl.Sections {
		for _, c := range s.Cues {
			if seen[c.Thing.Inst] {
				continue
			}
			seen[c.Thing.Inst] = true
			k := Spot{Inst: c.Thing.Inst, Mount: c.Thing.Mount}
			switch c.Thing.Place {
			case inHand:
				k.Right, k.Ahead = pl.Table[0]+10, pl.Table[1]
			case onFloor:
				k.Right, k.Ahead = 15, 20
				if c.Limb == "LF" {
					k.Right = -15
				}
			case atFar:
				k.Far, pl.Far, k.Ahead = true, true, 40
			default:
				k.Right, k.Ahead = spots[at%len(spots)][0], spots[at%len(spots)][1]
				at++
			}
			pl.Kit = append(pl.Kit, k)
		}
	}
}

// drawCues draws what the limbs of a player do in a section: one thing a
// limb.
func drawCues(t *rapid.T, p *Piece, o Options, bars int, mounts map[string]string) []Cue {
	var out []Cue
	free := map[string]bool{"R": true, "L": true, "RF": true, "LF": true, "mouth": true}
	used := map[string]bool{}
	far := rapid.IntRange(0, 5).Draw(t, "elsewhere") == 5 // at the other station, that is
	for range rapid.IntRange(1, 3).Draw(t, "cues") {
		th := rapid.SampledFrom(things).Draw(t, "thing")
		limb := rapid.SampledFrom(th.Limbs).Draw(t, "limb")
		if th.Place != inHand && far != (th.Place == atFar) {
			continue
		}
		if o.NoPairs && (limb == "RL" || limb == "LR") {
			limb = "R"
			if !slices.Contains(th.Limbs, "R") {
				continue
			}
		}
		busy := th.limbs(limb)
		if used[th.Inst] || slices.ContainsFunc(busy, func(h string) bool { return !free[h] }) {
			continue
		}
		if m, ok := mounts[th.Inst]; ok && m != th.Mount {
			continue
		}
		used[th.Inst], mounts[th.Inst] = true, th.Mount
		for _, h := range busy {
			free[h] = false
		}
		c := Cue{Limb: limb, Thing: th, Bars: bars}
		rolls := c.drawWith(t, len(busy) == 1)
		c.draw(t, p, o, rolls)
		out = append(out, c)
	}
	return out
}

// limbs are those that are busy when one plays a thing: both hands where one of
// them holds it.
func (th *Thing) limbs(limb string) []string {
	if limb == "RL" || limb == "LR" || limb == "R+L" || th.Mount == "held" && th.Inst != "shaker" && !th.OneHand {
		return []string{"R", "L"}
	}
	return []string{limb}
}

// drawWith draws what a cue is played with, two in the hand where only one limb
// is busy, and says whether that rolls.
func (c *Cue) drawWith(t *rapid.T, one bool) (rolls bool) {
	c.With = rapid.SampledFrom(c.Thing.With).Draw(t, "with")
	rolled, rolls := c.Thing.Rolls[c.Limb]
	if rolls = rolls && rapid.IntRange(0, 2).Draw(t, "rolls") == 0; rolls {
		c.With = rolled
	}
	if beside[c.With] != "" && one && (c.Limb == "R" || c.Limb == "L") && rapid.IntRange(0, 5).Draw(t, "two in the hand") == 0 {
		c.With += " and " + beside[c.With]
	}
	return rolls
}

func (c *Cue) draw(t *rapid.T, p *Piece, o Options, rolls bool) {
	step := rapid.SampledFrom([]int{4, 4, 2, 8, 1}).Draw(t, "step")
	dyn := rapid.SampledFrom([]string{"", "p", "f"}).Draw(t, "dynamic")
	rang := false
	end := -1 // of a roll, in sixteenths from the beginning
	for bar := range c.Bars {
		for pos := 0; pos < p.sixteenths(); pos += step {
			now := bar*p.sixteenths() + pos
			if now <= end {
				continue
			}
			kind := rapid.IntRange(0, 9).Draw(t, "stroke")
			s := Stroke{Bar: bar, Pos: pos, Dyn: dyn}
			switch {
			case kind < 4:
				rang = false
				continue
			case kind == 4 && rolls:
				s.Roll = c.rollFrom(p, bar, pos, step*rapid.IntRange(1, 3).Draw(t, "lasts"))
				end = now + s.Roll
			case kind == 5 && !o.NoStops && c.Thing.Rings && rang:
				s.Stop = true
			case kind == 6 && !o.NoStops && c.Thing.Rings:
				s.Short = true
			case kind == 7 && (c.Limb == "RL" || c.Limb == "LR"):
				s.Grace = rapid.IntRange(1, 3).Draw(t, "grace")
			}
			rang = !s.Stop && !s.Short && s.Roll == 0
			c.Strokes = append(c.Strokes, s)
		}
	}
	if len(c.Strokes) == 0 {
		c.Strokes = []Stroke{{Dyn: dyn}}
	}
	if o.Notes && len(c.Thing.Aims) > 0 && rapid.IntRange(0, 3).Draw(t, "notes") > 0 {
		c.aim(t)
	}
}

// aim says for the strokes of a cue which bars or drums they are for, for two
// hands sometimes two at once.
func (c *Cue) aim(t *rapid.T) {
	for i := range c.Strokes {
		s := &c.Strokes[i]
		if s.Stop {
			continue
		}
		s.Aim = rapid.SampledFrom(c.Thing.Aims).Draw(t, "aim")
		if len(c.Limb) > 1 && s.Grace == 0 && rapid.IntRange(0, 5).Draw(t, "chord") == 0 {
			if other := rapid.SampledFrom(c.Thing.Aims).Draw(t, "and"); other != s.Aim && s.Aim != "1" && s.Aim != "4" && other != "1" && other != "4" {
				s.Aim += "+" + other
			}
		}
	}
}

// rollFrom is how long a roll lasts: 0 where it would not end within the cue,
// and longer where it would end on a bar line itself.
func (c *Cue) rollFrom(p *Piece, bar, pos, length int) int {
	switch bar16 := p.sixteenths(); {
	case bar*bar16+pos+length >= c.Bars*bar16:
		return 0
	case pos+length == bar16:
		return length + 1
	}
	return length
}

var mirrorLimbs = map[string]string{"R": "L", "L": "R", "RL": "LR", "LR": "RL", "RF": "LF", "LF": "RF", "R+L": "R+L", "mouth": "mouth"}

// Mirror is the piece with right and left changed over.
func (p *Piece) Mirror() *Piece {
	q := p.Clone()
	for i := range q.Players {
		pl := &q.Players[i]
		pl.Holds[0], pl.Holds[1] = pl.Holds[1], pl.Holds[0]
		pl.Table[0], pl.FarRight = -pl.Table[0], -pl.FarRight
		for k := range pl.Kit {
			pl.Kit[k].Right = -pl.Kit[k].Right
		}
		for k := range pl.Actions {
			pl.Actions[k].Limb = mirrorLimbs[pl.Actions[k].Limb]
		}
		for _, s := range pl.Sections {
			for k := range s.Cues {
				s.Cues[k].Limb = mirrorLimbs[s.Cues[k].Limb]
			}
		}
	}
	return q
}

// Tied says whether a roll goes over the middle of a cue of two bars.
func (c *Cue) Tied() bool {
	return slices.ContainsFunc(c.Strokes, func(s Stroke) bool { return s.Bar == 0 && s.Pos+s.Roll >= 12 && s.Roll > 0 })
}

// Cut is some bars of a cue.
func (c *Cue) Cut(from, bars int) Cue {
	d := *c
	d.Bars, d.Strokes = bars, nil
	for _, s := range c.Strokes {
		if s.Bar >= from && s.Bar < from+bars {
			s.Bar -= from
			d.Strokes = append(d.Strokes, s)
		}
	}
	return d
}
