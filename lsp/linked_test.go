package lsp

import (
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

type linked struct {
	Ranges      []lineRange
	WordPattern string
}

func (c *client) linked(params obj) *linked {
	var got *linked
	c.call("textDocument/linkedEditingRange", params, &got)
	return got
}

// 𝄞 takes one column in UTF-32, two in UTF-16 and four in UTF-8.
const named = `tempo 60
bars 9
mark A at 3
mark B at 5 # 𝄞
part "𝄞 One"
  woodblock | 1 3 | 1
  from A
  woodblock | 1
part "Two"
  triangle | 1
player Zoe
  R woodblock with snare-stick as written of "𝄞 One" in 1, A-B
player "Per Å"
  L triangle with triangle-beater as written of "Two" # from A
accept compromise for Zoe because "one stick"
accept thin-margin in A-B for Zoe because "Zoe knows A"
accept seam for "Per Å" because "he is quick"
omit woodblock in B of "𝄞 One" because "A"
`

func TestANameIsWrittenInAllItsPlacesAtOnce(t *testing.T) {
	for kind, enc := range map[string]encoding{"utf-8": utf8Columns, "utf-16": utf16Columns, "utf-32": utf32Columns} {
		c := start(t, obj{"general": obj{"positionEncodings": arr{kind}}}, nil)
		c.open(page, named)
		at := func(what string, n int) obj {
			line, col := find(named, what, n)
			return at(page, line, enc.units(strings.Split(named, "\n")[line][:col-1]))
		}
		for _, ask := range []struct {
			what, name string
			nth        int
			lines      []int
			may, not   string
		}{
			{"A at 3", "A", 1, []int{2, 6, 11, 15}, "A1", "A 1"},
			{"A-B", "A", 1, []int{2, 6, 11, 15}, "Z", "A-"},
			{"B at", "B", 1, []int{3, 11, 15, 17}, "C", "1"},
			{"𝄞 One\"", "𝄞 One", 1, []int{4, 11, 17}, "One, two & three", `One"`},
			{"𝄞 One\"", "𝄞 One", 3, []int{4, 11, 17}, "Ø 𝄞", `One\`},
			{"Zoe", "Zoe", 1, []int{10, 14, 15}, "Zoé-Mai", "Zoe May"},
			{"Per Å", "Per Å", 2, []int{12, 16}, "Per Åke", `P"`},
		} {
			got := c.linked(at(ask.what, ask.nth))
			if !assert.NotNil(t, got, "%s %s", kind, ask.what) {
				continue
			}
			var lines []int
			for _, r := range got.Ranges {
				lines = append(lines, r.Start.Line)
				assert.Equal(t, ask.name, r.cut(enc, named), "%s %s", kind, ask.what)
			}
			assert.Equal(t, ask.lines, lines, "%s %s", kind, ask.what)
			whole := regexp.MustCompile("^(?:" + got.WordPattern + ")$")
			assert.True(t, whole.MatchString(ask.may) && !whole.MatchString(ask.not) && !whole.MatchString(""), "%s %s", ask.what, got.WordPattern)
		}
		for _, what := range []string{"woodblock", "tempo", "snare-stick", "thin-margin", "knows"} {
			assert.Nil(t, c.linked(at(what, 1)), what)
		}
	}
}

// Where not all of a name could be written together, none of it is.
func TestANameIsNotWrittenAtOnceWhereSomeOfItWouldStay(t *testing.T) {
	parts := "bars 2\npart \"Perc\"\n  woodblock | 1 | 1\n"
	show := "use \"parts.handful\"\nplayer Ida\n  R woodblock with snare-stick as written of \"Perc\"\n"
	c, id := folderWith(t, map[string]string{"parts.handful": parts, "show.handful": show})
	c.open(id("show.handful"), show)
	c.open(id("parts.handful"), parts)
	assert.Nil(t, c.linked(at(id("show.handful"), 2, 46)), "a part of another file")
	assert.Nil(t, c.linked(at(id("parts.handful"), 1, 8)), "a part that another file uses")
	assert.NotNil(t, c.linked(at(id("show.handful"), 1, 8)), "a player is nobody else's")
	for why, text := range map[string]string{
		"in two ways":          "player Ida\n  R woodblock | 1\naccept seam for \"Ida\" because \"so\"\n",
		"made twice":           "player Ida\n  R woodblock | 1\nplayer Ida\n  L woodblock | 1\n",
		"nothing written yet":  "player \"\"\n",
		"not a name but words": "tempo 60 # player Ida\n",
	} {
		c.open("untitled:"+url.PathEscape(why), text)
		assert.Nil(t, c.linked(at("untitled:"+url.PathEscape(why), 0, 8)), why)
	}
}
