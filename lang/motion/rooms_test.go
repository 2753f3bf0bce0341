package motion

import (
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// Paths that are looked for in the room of others are those that each finds with its own,
// and stay so whatever is looked for after them.
func TestALentRoomHasNothingOfThePathBefore(t *testing.T) {
	names, err := filepath.Glob("../../examples/*.handful")
	require.NoError(t, err)
	require.NotEmpty(t, names)
	var texts []string
	for _, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		texts = append(texts, string(text))
	}
	drawn := rapid.Custom(func(t *rapid.T) string {
		return madeup.Draw(t, madeup.Options{Notes: true, Players: 2, Roads: true, Actions: true}).Text()
	})
	for n := range 120 {
		texts = append(texts, drawn.Example(n))
	}
	var rooms Rooms
	lent := make([][]*Result, len(texts))
	scores := make([]*score.Score, len(texts))
	for i, text := range texts {
		scores[i] = score.Bind("t", syntax.Parse(text), nil, score.Options{})
		for _, p := range scores[i].Players {
			lent[i] = append(lent[i], rooms.SolveUntil(scores[i], p, nil))
		}
	}
	paths, moves := 0, 0
	for i, s := range scores {
		for k, p := range s.Players {
			own := Solve(s, p)
			own.rates.idle = lent[i][k].rates.idle
			if !reflect.DeepEqual(own, lent[i][k]) {
				require.Equal(t, own.Changes, lent[i][k].Changes, "%s\n%s", p.Name, texts[i])
				t.Fatalf("%s has another path in\n%s", p.Name, texts[i])
			}
			paths, moves = paths+1, moves+len(own.Changes)
		}
	}
	require.Greater(t, paths, 150)
	require.Greater(t, moves, 500)
}

// Likewise those whose results are taken back once each is done with, with its rates.
func TestRoomThatIsTakenBackHasNothingOfThePathBefore(t *testing.T) {
	drawn := rapid.Custom(func(t *rapid.T) string {
		return madeup.Draw(t, madeup.Options{Notes: true, Players: 2, Roads: true, Actions: true}).Text()
	})
	var rooms Rooms
	rates := 0
	for n := range 200 {
		text := drawn.Example(n)
		s := score.Bind("t", syntax.Parse(text), nil, score.Options{})
		for _, p := range s.Players {
			own, lent := Solve(s, p), rooms.SolveUntil(s, p, nil)
			require.Equal(t, own.Events, lent.Events, text)
			require.Equal(t, own.Changes, lent.Changes, text)
			require.Equal(t, Rates(own), Rates(lent), text)
			edge, cannot := own.RateCeilings()
			lentEdge, lentCannot := lent.RateCeilings()
			require.Equal(t, [2]RateCeiling{edge, cannot}, [2]RateCeiling{lentEdge, lentCannot}, text)
			rates += len(Rates(own))
			rooms.TakeBack(lent)
		}
	}
	require.Greater(t, rates, 50)
}
