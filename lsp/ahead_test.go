package lsp

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// quay is an invented piece in which nobody plays the triangle and one player is
// busy.
const quay = `title "At the Quay"
tempo 96
mark A at 5

part "Percussion"
  woodblock   | mf 1 3 | % x7
  triangle    | -4 | p 1 | % x3
  tambourine  | -2 | 1 2 3 4 | -5

player Ida
  R woodblock clamped with rubber-mallet as written
player Bo
`

type offer struct {
	Label, Detail, FilterText string
	Preselect                 bool
	InsertTextFormat          int
	TextEdit                  struct {
		NewText                string
		Range, Insert, Replace *struct{ Start, End struct{ Line, Character int } }
	}
}

type offers struct {
	IsIncomplete bool
	Items        []offer
}

// offered asks at the end of a line until all that can be proven is.
func (c *client) offered(t *testing.T, line int, text string) []offer {
	t.Helper()
	var list offers
	for range 2000 {
		list = offers{}
		c.call("textDocument/completion", at(page, line, len(text)), &list)
		if !list.IsIncomplete || len(list.Items) == 0 {
			return list.Items
		}
	}
	require.Fail(t, "the proof never ends")
	return nil
}

func applies(text string, line int, o *offer) string {
	lines := strings.Split(text, "\n")
	at := o.TextEdit.Range
	if at == nil {
		at = o.TextEdit.Replace
	}
	l := lines[line]
	lines[line] = l[:at.Start.Character] + o.TextEdit.NewText + l[at.End.Character:]
	return strings.Join(lines, "\n")
}

// Behind a limb whole cues are offered. Whoever takes one has what nobody played
// played, and finds no error that was not there: by a check from nothing.
func TestWholeCuesBehindALimbHold(t *testing.T) {
	for _, line := range []string{"  L ", "  R ", "  any ", "  R tri", "  L triangle clipped w", "  RL tamb"} {
		quay := quay
		if strings.Contains(line, "clipped") { // who has a hand free holds it
			quay = strings.Replace(quay, "player Bo\n", "", 1)
		}
		text := quay + line + "\n"
		n := strings.Count(quay, "\n")
		c := start(t, able, nil)
		c.open(page, text)
		c.shownFor(page, 1)
		before := check.Check("a.handful", syntax.Parse(quay), check.Options{})
		whole := 0
		for i, o := range c.offered(t, n, line) {
			if !strings.HasPrefix(o.Detail, "checked: ") {
				assert.NotContains(t, o.Detail, "not checked yet", "all has been tried")
				continue
			}
			whole++
			assert.Equal(t, whole, i+1, "whole cues come first")
			assert.Equal(t, i == 0, o.Preselect)
			assert.True(t, strings.HasPrefix(o.FilterText, strings.TrimLeft(strings.TrimLeft(line, " anyRL"), " ")), "%q offers %q", line, o.FilterText)
			after := check.Check("a.handful", syntax.Parse(applies(text, n, &o)), check.Options{})
			assert.Greater(t, after.Score.Coverage.Covered, before.Score.Coverage.Covered, o.Label)
			for _, rule := range check.Rules() {
				for _, s := range []check.Severity{check.Error, check.Warning} {
					assert.LessOrEqual(t, after.Count(rule, s), before.Count(rule, s), "%s brings %s", o.Label, rule.Name)
				}
			}
		}
		assert.Positive(t, whole, line)
	}
}

// What costs something in sound says so, the tightest change is told first, and
// what is behind one comes after what is free.
func TestWholeCuesSayWhatTheyCost(t *testing.T) {
	text := strings.Replace(quay, "player Bo\n", "", 1) + "  L "
	c := start(t, able, nil)
	c.open(page, text)
	c.shownFor(page, 1)
	list := c.offered(t, strings.Count(text, "\n"), "  L ")
	require.NotEmpty(t, list)
	costs := false
	for _, o := range list {
		if !strings.HasPrefix(o.Detail, "checked: ") {
			break
		}
		costs = costs || strings.Contains(o.Detail, "; costs: ")
	}
	assert.True(t, costs, "a clipped triangle pays")
}

// While somebody writes on in the line, what was proven stands; when the rest of
// the text changes, it is proven anew.
func TestWhatIsProvenStandsWhileTheLineIsWritten(t *testing.T) {
	text := quay + "  L \n"
	n := strings.Count(quay, "\n")
	c := start(t, able, nil)
	c.open(page, text)
	c.shownFor(page, 1)
	labels := func(line string) (out []string) {
		for _, o := range c.offered(t, n, line) {
			if strings.HasPrefix(o.Detail, "checked: ") {
				out = append(out, o.Label)
			}
		}
		return out
	}
	all := labels("  L ")
	require.NotEmpty(t, all)
	c.change(page, 2, obj{"range": span(n, 4, n, 4), "text": "t"})
	var list offers
	c.call("textDocument/completion", at(page, n, 5), &list)
	assert.False(t, list.IsIncomplete, "it is known already")
	assert.ElementsMatch(t, all, labels("  L t"))
	line, col := find(text, "| p 1 |", 1)
	c.change(page, 3, obj{"range": span(line, col+3, line, col+4), "text": "-"})
	for _, l := range labels("  L t") {
		assert.NotContains(t, l, "triangle", "nothing of it is left to play")
	}
}

// Nothing is written over: a line that is complete is left alone, and so is one
// with something behind the cursor.
func TestWholeCuesLeaveWhatIsWritten(t *testing.T) {
	for _, line := range []string{"  L triangle clipped with triangle-beater as written", "  L triangle", "  L triangle # | 1"} {
		c := start(t, able, nil)
		c.open(page, quay+line+"\n")
		c.shownFor(page, 1)
		for _, o := range c.offered(t, strings.Count(quay, "\n"), line) {
			assert.NotContains(t, o.Detail, "checked", line)
		}
	}
}

// omit offers what nobody plays and accept what was found, each as a line that
// does that, with the caret in its reason.
func TestWishesAreOfferedWhole(t *testing.T) {
	tight := "tempo 120\npart \"P\"\n  woodblock | 1 2 3 4& | -\n  triangle | - | 1\nplayer Ida\n  R woodblock clamped with rubber-mallet as written\n  R triangle clipped with triangle-beater as written\n"
	for _, ex := range []struct {
		text, line, want, inserted string
	}{
		{quay, "omit ", `tambourine in 3 of "Percussion" because "say why"`, `tambourine in 3 of "Percussion" because "${1:say why}"$0`},
		{quay, "omit tri", `triangle in 5-8 of "Percussion" because "say why"`, `triangle in 5-8 of "Percussion" because "${1:say why}"$0`},
		{quay, "omit tambourine in ", "3", "3"},
		{tight, "accept ", `short-change at 2 for Ida because "say why"`, `short-change at 2 for Ida because "${1:say why}"$0`},
		{tight, "accept short-change at ", "2", "2"},
		{quay, "  from ", "5", "5"},
	} {
		c := start(t, able, nil)
		c.open(page, ex.text+ex.line+"\n")
		c.shownFor(page, 1)
		n := strings.Count(ex.text, "\n")
		found := false
		for _, o := range c.offered(t, n, ex.line) {
			if o.Label == ex.want {
				found = true
				assert.Equal(t, ex.inserted, o.TextEdit.NewText)
			}
		}
		assert.True(t, found, "%q does not offer %q", ex.line, ex.want)
		if strings.HasSuffix(ex.want, `"say why"`) {
			r := check.Check("a.handful", syntax.Parse(ex.text), check.Options{})
			reasoned := strings.Replace(ex.want, syntax.NoReasonYet, "the piccolo has it", 1)
			kept := check.Check("a.handful", syntax.Parse(ex.text+strings.Fields(ex.line)[0]+" "+reasoned+"\n"), check.Options{})
			assert.Less(t, len(kept.Findings), len(r.Findings), ex.want)
		}
	}
}

// An editor that asks whether the rest of a word goes or stays is told both.
func TestAnOfferInsertsOrReplaces(t *testing.T) {
	c := start(t, obj{"textDocument": obj{"completion": obj{"completionItem": obj{"snippetSupport": true, "insertReplaceSupport": true}}}}, nil)
	c.open(page, night)
	c.shownFor(page, 1)
	line, col := find(night, "woodblock with", 1)
	var list offers
	c.call("textDocument/completion", at(page, line, col+3), &list)
	require.NotEmpty(t, list.Items)
	e := list.Items[0].TextEdit
	require.NotNil(t, e.Insert)
	assert.Equal(t, col+3, e.Insert.End.Character)
	assert.Equal(t, col+len("woodblock")-1, e.Replace.End.Character)
	assert.Equal(t, e.Insert.Start, e.Replace.Start)
}

// Completion answers at every place of lines that are no lines, and of the beginnings of
// lines that are.
func TestCompletionAnswersEverywhere(t *testing.T) {
	c := start(t, able, nil)
	const head = "tempo 96\npart \"P\"\n  woodblock | 1 2\n  triangle | 1\nplayer Ida\n  R woodblock as written\n"
	for i, line := range []string{
		`"`, `"a b`, `  "R woodblock`, `" omit`, `  R`, `  R on`, `  R "`, `  R woodblock on`, `  R woodblock "at two`, `omit`, `omit "`, `omit "x" in`,
		`accept`, `accept "`, `part`, `part "`, `  way`, `use "`, `:`, `  R triangle 1:`, `because`, `together`, `for`, `  R for`, `|`, `  R | 1:C`, `"" ""`,
	} {
		page := fmt.Sprintf("untitled:everywhere-%d", i)
		c.open(page, head+line+"\n")
		for col := 0; col <= len(line); col++ {
			var answer json.RawMessage
			c.call("textDocument/completion", obj{"textDocument": doc(page), "position": obj{"line": strings.Count(head, "\n"), "character": col}}, &answer)
		}
	}
}
