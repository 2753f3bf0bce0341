package sheet

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// The script of a page with cue sheets. It works out nothing of its own: when
// things are played, how long each change has and needs, and what is said of it
// come from the check.
//
//go:embed play.js
var playScript string

// What a page is told to play.
type (
	playedPage struct {
		Pieces []*playedPiece `json:"pieces"`
		Parts  []*playedPart  `json:"parts"`
		Care   []string       `json:"care"`
	}
	// Times are in tenths of a millisecond; lists of them hold what each is
	// later than the one before.
	playedPiece struct {
		Title   string         `json:"title"`
		Players []string       `json:"players"`
		Meters  [][]float64    `json:"meters"` // where the counts of a bar begin, as shares of it
		Bars    [][]int        `json:"bars"`   // bar, meter, pass, then when its counts begin and when it ends
		Marks   map[int]string `json:"marks"`
		Voices  []*playedVoice `json:"voices"`
	}
	// A voice is what one limb of one player does on one thing, at one dynamic.
	playedVoice struct {
		Player int    `json:"p"`
		Limbs  string `json:"h"` // R, L, RL, or F for feet and mouth
		Item   string `json:"i"`
		Pitch  int    `json:"n"` // of its click: things of a player are told apart
		Loud   int    `json:"d"`
		Times  []int  `json:"t"`
		Lasts  []int  `json:"l,omitempty"` // of rolls
	}
	playedPart struct {
		Piece   int             `json:"piece"`
		Player  int             `json:"player"`
		Section string          `json:"section"`
		Screens []playedScreen  `json:"screens"`
		Pages   [][]float64     `json:"pages,omitempty"` // page, top and height of each line on paper
		Paper   [][][6]float64  `json:"paper,omitempty"` // nothing where that is not on the page
		Changes []*playedChange `json:"changes"`
		Edge    float64         `json:"edge"`   // the ceilings, as shares of the tempo; 0 where there is none
		Cannot  float64         `json:"cannot"` // above this it cannot be played
		Never   bool            `json:"never"`  // it cannot be played at any tempo
		Ceiling string          `json:"ceiling"`
	}
	playedScreen struct {
		Width int            `json:"w"`
		Lines [][][6]float64 `json:"lines"`
	}
	playedChange struct {
		Limb   string     `json:"h"`
		At     string     `json:"at"`
		Time   int        `json:"t"`
		Window float64    `json:"win"`
		Need   [3]float64 `json:"need"` // nobody under, at the edge under, easy
		Words  string     `json:"w"`
		Steps  []string   `json:"m"`
	}
)

func cents(v float64) float64 { return math.Round(v*100) / 100 }
func tenths(s float64) int    { return int(math.Round(s * 10000)) }

// playedOf is the piece as it is played by everybody.
func playedOf(r *check.Result) *playedPiece {
	s := r.Score
	p := &playedPiece{Title: pieceOf(r), Marks: map[int]string{}, Bars: [][]int{}, Voices: []*playedVoice{}}
	for _, m := range s.Marks {
		p.Marks[m.Bar] = m.Name
	}
	p.beats(s)
	for i, m := range r.Motions {
		p.Players = append(p.Players, m.Player.Name)
		p.voices(m, i)
	}
	return p
}

// beats lays out when each count of each played bar begins.
func (p *playedPiece) beats(s *score.Score) {
	meters := map[string]int{}
	for k, sp := range s.Time.Spans() {
		for bar := sp.From; bar <= sp.To; bar++ {
			start, length := s.Grid.Start(bar), s.Grid.Length(bar)
			m := s.Grid.Meter(bar)
			lead := m.Length().Sub(length) // of a pickup, what of its bar is not there
			var shares []float64
			row := []int{bar, 0, sp.Pass}
			off := lead.Neg()
			for n := range m.Counts() {
				if off.Sign() >= 0 {
					shares = append(shares, off.Float()/length.Float())
					row = append(row, tenths(s.Time.Seconds(k, start.Add(off))))
				}
				off = off.Add(m.CountLength(n + 1))
			}
			if len(shares) == 0 || shares[0] > 0 { // the bar begins within a count
				shares = append([]float64{0}, shares...)
				row = slices.Insert(row, 3, tenths(s.Time.Seconds(k, start)))
			}
			key := fmt.Sprint(shares)
			n, ok := meters[key]
			if !ok {
				n = len(p.Meters)
				meters[key] = n
				p.Meters = append(p.Meters, shares)
			}
			row[1] = n
			p.Bars = append(p.Bars, append(row, tenths(s.Time.Seconds(k, start.Add(length)))))
		}
	}
}

// voices is every stroke of a player as it is played.
func (p *playedPiece) voices(m *motion.Result, player int) {
	type key struct {
		limbs string
		item  *score.Item
		loud  int
		roll  bool
	}
	voices := map[key]*playedVoice{}
	last := map[*playedVoice]int{}
	pitches := map[*score.Item]int{}
	for i := range m.Events {
		e := &m.Events[i]
		if e.Kind != motion.Strike && e.Kind != motion.RollOn || e.Cue == nil {
			continue
		}
		item := e.Item()
		if _, ok := pitches[item]; !ok {
			pitches[item] = len(pitches)
		}
		k := key{limbsWord(e.Limbs), item, int(e.Cue.Strokes[e.Stroke].Dyn), e.Kind == motion.RollOn}
		w := voices[k]
		if w == nil {
			w = &playedVoice{Player: player, Limbs: k.limbs, Item: item.Called(), Pitch: pitches[item], Loud: k.loud}
			voices[k] = w
			p.Voices = append(p.Voices, w)
		}
		t := tenths(e.T0)
		w.Times = append(w.Times, t-last[w])
		last[w] = t
		if k.roll {
			w.Lasts = append(w.Lasts, tenths(e.T1-e.T0))
		}
	}
}

// limbsWord is who plays, as the page tells limbs apart.
func limbsWord(l body.Limbs) string {
	return [...]string{"F", "R", "L", "RL"}[l&body.Hands]
}

// playedPartOf is what the page has to know of a player's cue sheet.
func (doc *Doc) playedPartOf(section string, screens []screen, view view) *playedPart {
	v := doc.part
	p := &playedPart{Section: section, Player: slices.Index(v.res.Motions, v.m), Pages: [][]float64{}, Changes: []*playedChange{}}
	for i := range screens {
		p.Screens = append(p.Screens, playedScreen{screens[i].width, barsOf(screens[i].doc.lines, margin0-screenEdge)})
	}
	if !view.alone {
		for _, l := range doc.lines {
			p.Pages = append(p.Pages, []float64{float64(l.page), cents(l.Y), cents(l.H)})
		}
		p.Paper = barsOf(doc.lines, 0)
	}
	c := &cueSheet{part: v}
	numbers := v.changeNumbers()
	for i := range v.shifts {
		sh := &v.shifts[i]
		if numbers[sh.Change] < len(p.Changes) {
			continue
		}
		ch := &playedChange{Limb: sh.Hand.Name(), At: v.Place(sh.To.At()), Time: tenths(sh.To.T0), Window: milli(sh.Window),
			Need: [3]float64{milli(sh.Need.Limit), milli(sh.Need.Floor), milli(sh.Need.Steady)}, Words: plain(check.Doing(sh.Change) + c.where(sh)), Steps: []string{}}
		for _, m := range sh.Motions {
			ch.Steps = append(ch.Steps, m.Words)
		}
		p.Changes = append(p.Changes, ch)
	}
	p.ceiling(v)
	return p
}

func milli(s float64) float64 { return math.Round(s*1000) / 1000 }

// plain is text with ordinary spaces, to be shown in running words.
func plain(text string) string { return strings.ReplaceAll(text, "\u00a0", " ") }

// ceiling is how fast the player can take it, as the conductor's page has it.
func (p *playedPart) ceiling(v *part) {
	for _, c := range v.res.Ceilings() {
		if c.Player != v.p.Name {
			continue
		}
		if !c.Edge.None() {
			p.Edge = c.Edge.Factor
		}
		if !c.Cannot.None() {
			p.Cannot = c.Cannot.Factor
		}
		switch {
		case c.Cannot.Never():
			p.Never = true
			p.Ceiling = fmt.Sprintf("It cannot be played at any tempo: %s, at %s.", c.Cannot.Words, c.Cannot.Place)
		case c.Edge.None():
			p.Ceiling = "No tempo is too fast here."
		case c.Edge.Never():
			p.Ceiling = fmt.Sprintf("It is at the edge at any tempo: %s, at %s.", c.Edge.Words, c.Edge.Place)
		default:
			p.Ceiling = fmt.Sprintf("The ceiling is %s: %s, at %s.", tempoWords(c.Edge.Factor, c.Edge.CountsPerMinute), c.Edge.Words, c.Edge.Place)
		}
	}
}

// playData is everything that the script of a page plays, as it stands in it.
func playData(p *playedPage) string {
	data, err := json.Marshal(p) // which writes <, > and & so that no markup can come of them
	if err != nil {
		panic("what is played cannot be written: " + err.Error())
	}
	return string(data)
}
