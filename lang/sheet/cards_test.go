package sheet

import (
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
)

// page is the words of one kind of sheet of a piece, in one line.
func page(t *testing.T, kind, text string) (string, Doc) {
	t.Helper()
	docs := Docs([]*check.Result{checked("cards", text)}, Options{})
	for i := range docs {
		if docs[i].Kind == kind {
			return strings.Join(strings.Fields(strings.ReplaceAll(docs[i].Text(), "\u00a0", " ")), " "), docs[i]
		}
	}
	require.Fail(t, "no "+kind)
	return "", Doc{}
}

// The conductor has one sentence, and of each difference all its bars, as they
// stand in the file: the crash is written in bars 1, 41 and 49.
func TestTheConductorHasASentenceAndAllBars(t *testing.T) {
	text, err := os.ReadFile("../../examples/ferry-landing.handful")
	require.NoError(t, err)
	words, doc := page(t, "conductor", string(text))
	assert.Contains(t, words, "Nothing is missing; 3 strokes of the crash cymbals are on the suspended cymbal; keep to 123 or less.")
	for _, s := range doc.Pages[0].Said {
		if s.Table == nil || s.Table.Head[0] != "bars" {
			continue
		}
		require.NotEmpty(t, s.Table.Rows)
		assert.LessOrEqual(t, len(s.Table.Rows), mostLines)
		assert.Equal(t, []string{"1, 41, 49", "Tam"}, s.Table.Rows[0][:2])
		return
	}
	assert.Fail(t, "no differences")
}

const oneIsLost = `tempo 60
bars 8
mark A at 5
part "One"
  snare-drum | 1 2 3 4 | % x7
  triangle | 1 | % x3
  from A
  cowbell | 1 | 1 | 1 | 1
player Ida
  R snare-drum as written
  from A
  L cowbell as written
`

// In the chart the lines are down and the passages across; what nobody plays is
// white on black.
func TestTheChartSaysWhoHasEachWrittenLine(t *testing.T) {
	_, doc := page(t, "chart", oneIsLost)
	var rows [][]string
	for _, s := range doc.Pages[0].Said {
		if s.Table != nil && s.Table.Head[0] == "written" {
			assert.Equal(t, []string{"written", "1–4", "A 5–8"}, s.Table.Head)
			rows = append(rows, s.Table.Rows...)
		}
	}
	require.Len(t, rows, 3)
	assert.Equal(t, []string{"One: triangle", nobody, ""}, rows[1])
	assert.Equal(t, "Ida R", rows[0][1])
	assert.Equal(t, "Ida L", rows[2][2])
	reversed := 0
	for _, it := range doc.Pages[0].Items {
		if it.Kind == wording && it.Text == nobody {
			assert.Equal(t, white, it.Fill)
			reversed++
		}
	}
	assert.Positive(t, reversed)
}

// Whatever is packed has three boxes to tick off, and kinds are counted.
func TestPackingHasBoxesForTheWayThereAndBack(t *testing.T) {
	words, doc := page(t, "packing", oneIsLost)
	assert.Contains(t, words, "Instruments: 2")
	boxes, things := 0, 0
	for _, p := range doc.Pages {
		for _, it := range p.Items {
			if it.Kind == box && it.W == 7 && it.H == 7 {
				boxes++
			}
		}
		for _, s := range p.Said {
			if !s.Heading && s.Table == nil && !strings.Contains(s.Text, ".") {
				things++
			}
		}
	}
	assert.Positive(t, things)
	assert.Equal(t, 3*things, boxes)
}

// A practice sheet has what takes more than 60 % of its time, in notes, with a box
// before each step of its ladder.
func TestPracticeHasTheNotesAndStepsToTickOff(t *testing.T) {
	r := checked("drill", backAndOn)
	doc := newPart(r, 0, standardFaces()).practice(Papers()[0])
	drills := 0
	for _, d := range drillsOf(r.Score, r.Motions[0]) {
		if d.Need.Steady > 0.6*d.Window {
			drills++
		}
	}
	require.Positive(t, drills)
	heads, boxes, notes := 0, 0, 0
	for _, p := range doc.Pages {
		for _, s := range p.Said {
			if s.Heading && strings.Contains(s.Text, "count") {
				heads++
			}
		}
		for _, it := range p.Items {
			switch {
			case it.Kind == box && it.W == 8 && it.H == 8:
				boxes++
			case it.Part == noteArt:
				notes++
			}
			assert.NotEqual(t, strokeArt, it.Part)
		}
	}
	assert.Equal(t, drills, heads)
	assert.Greater(t, boxes, drills)
	assert.GreaterOrEqual(t, notes, 2*drills)
}

// A drill is not parted between two pages: where one is turned, another one begins.
func TestADrillStandsOnOnePage(t *testing.T) {
	heads, pages := 0, 0
	eachPage(t, func(t *testing.T, d *Doc, p *Page) {
		if d.Kind != "practice" {
			return
		}
		pages++
		at := math.Inf(1) // where the first ladder, window or motif stands, and the first head of a drill
		head := math.Inf(1)
		for i := range p.Items {
			it := &p.Items[i]
			if it.Kind == wording && it.Bold && it.Size == 11.5 && strings.Contains(it.Text, "   bar ") {
				head = min(head, it.Y)
				heads++
			}
			if it.Kind == wording && (it.Text == "there is" || strings.HasPrefix(it.Text, "Rehearse: ")) {
				at = min(at, it.Y)
			}
		}
		if !math.IsInf(at, 1) {
			assert.Less(t, head, at, "%s: the head of each drill is on its page", p.Title)
		}
	})
	assert.Greater(t, heads, 10)
	assert.Greater(t, pages, 10)
}
