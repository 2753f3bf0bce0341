package lsp

import (
	"encoding/json"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A place in the text is a bar of the music, and a bar of somebody's is a place in
// the text.
func TestTheCaretAndTheBarFindOneAnother(t *testing.T) {
	const text = `title "𝄞"
tempo 90
bars 9
part "P"
  woodblock | 1 2 | 3 | %2 | 1
  from 8
  woodblock | 4
  cowbell   | - | 2
player Ida
  R woodblock as written
  L cowbell | -4 | 2 3 | 1
  | - | 1 | 4
`
	c := start(t, able, nil)
	c.open(page, text)
	lines := strings.Split(text, "\n")
	for _, ex := range []struct {
		line int
		from string // what stands at the caret
		bar  int
	}{
		{4, "1 2", 1}, {4, "2 |", 1}, {4, "3 |", 2}, {4, "woodblock", 1}, {4, "1\x00", 5},
		{6, "4", 8}, {7, "2", 9}, {9, "wood", 1}, {10, "cow", 5}, {10, "3 |", 5}, {10, "1", 6}, {11, "4", 9}, {0, "title", 0}, {8, "Ida", 0},
	} {
		col := strings.Index(lines[ex.line]+"\x00", ex.from)
		require.GreaterOrEqual(t, col, 0, ex.from)
		var is standing
		c.json(t, &is, "handful.standing", strconv.Itoa(ex.line), strconv.Itoa(col))
		assert.Equal(t, ex.bar, is.Bar, "%d: %s", ex.line, ex.from)
	}
	for bar, want := range map[string]string{"1": "R woodblock as written", "2": "R woodblock as written", "5": "R woodblock as written", "6": "1", "9": "4", "7": "R woodblock as written"} {
		var got struct{ Start, End struct{ Line, Character int } }
		c.json(t, &got, "handful.lineOf", "Ida", bar)
		assert.Equal(t, want, lines[got.Start.Line][got.Start.Character:got.End.Character], bar)
	}
	for _, args := range []arr{{page}, {page, "Ida"}, {page, "Bo", "1"}, {page, "Ida", "x"}} {
		assert.Equal(t, requestFailed, c.refused("workspace/executeCommand", obj{"command": "handful.lineOf", "arguments": args}).Code)
	}
}

// json runs a command that answers with it.
func (c *client) json(t *testing.T, into any, command string, args ...any) {
	t.Helper()
	var text string
	c.call("workspace/executeCommand", obj{"command": command, "arguments": append(arr{page}, args...)}, &text)
	require.NoError(t, json.Unmarshal([]byte(text), into), text)
}

// What an editor draws of a set-up, and what is written when something is put
// elsewhere in it.
func TestASetUpIsSeenAndChanged(t *testing.T) {
	const text = "tempo 90\npart \"P\"\n  snare-drum | 1 2\n  triangle | - | 1\nplayer Ida\n  kit\n    snare-drum on stand at ahead 40 # the old one\n    triangle clipped at left 10 ahead 45\n  R snare-drum as written\n  L triangle as written\nplayer Bo\n"
	c := start(t, able, nil)
	c.open(page, text)
	var is setupPlan
	c.json(t, &is, "handful.setup", "8")
	assert.Equal(t, "Ida", is.Player)
	assert.Equal(t, []string{"Ida", "Bo"}, is.Players)
	assert.Greater(t, is.Lean, is.Reach)
	require.Len(t, is.Things, 3)
	drum := is.Things[0]
	assert.Equal(t, []any{"snare drum", "at ahead 40", 0.0, 40.0, 6, true, true}, []any{drum.Name, drum.Place, drum.Right, drum.Ahead, drum.Line, drum.Written, drum.Moves})
	assert.True(t, drum.Bodies[0].Round)
	assert.Equal(t, "table", is.Things[2].Name)
	assert.False(t, is.Things[2].Written)
	put := func(version, player, n, right, ahead string) arr { return arr{page, version, player, n, right, ahead} }
	c.call("workspace/executeCommand", obj{"command": "handful.put", "arguments": put("1", "Ida", "0", "-12.4", "55")}, nil)
	assert.Contains(t, c.afterItsEdit(t, text), "    snare-drum on stand at left 12 ahead 55 # the old one\n")
	for why, args := range map[string]arr{
		"changed meanwhile": put("7", "Ida", "0", "1", "1"), "a player of the piece": put("1", "Max", "0", "1", "1"), "no thing of number 9": put("1", "Ida", "9", "1", "1"),
		"at most": put("1", "Ida", "0", "NaN", "1"), "wants the version": {page, "1"},
	} {
		assert.Contains(t, c.refused("workspace/executeCommand", obj{"command": "handful.put", "arguments": args}).Message, why)
	}
	var other setupPlan
	c.json(t, &other, "handful.setup", "0", "Bo")
	assert.Equal(t, "Bo", other.Player)
	c.open("untitled:nobody", "tempo 90\n")
	assert.Equal(t, requestFailed, c.refused("workspace/executeCommand", obj{"command": "handful.setup", "arguments": arr{"untitled:nobody"}}).Code)
}

// Whoever stands before the first word of a line means what is in it.
func TestFixesAreOfferedFromTheBeginningOfALine(t *testing.T) {
	c := start(t, able, nil)
	c.open(page, "tempo 100\npart \"P\"\n  woodblock | 1 2\n  triangle | 1\nplayer Ida\n    R woodblock clamped as written\n    R triangle clipped as written\n")
	titles := func(col int) (out []string) {
		var actions []struct{ Title string }
		c.call("textDocument/codeAction", obj{"textDocument": doc(page), "range": span(6, col, 6, col), "context": obj{"diagnostics": arr{}}}, &actions)
		for _, a := range actions {
			out = append(out, a.Title)
		}
		return out
	}
	assert.NotEmpty(t, titles(4))
	for col := range 4 {
		assert.Equal(t, titles(4), titles(col), col)
	}
}
