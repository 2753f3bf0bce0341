package check

import (
	"fmt"
	"strings"

	"handful/lang/score"
)

var unclearName = &Rule{
	Name:       "unclear-name",
	Severities: []Severity{Warning},
	Finds:      "letters that mean two things: Cym., D.S., T.T., Mar., S.B., Gong …",
	Means: `Parts are full of abbreviations that two instruments share, or an instrument and an instruction. The file is read
one way; the message says which, and what else it may be.`,
	Why:    `Whoever packs the van reads it the other way.`,
	Stands: `The abbreviations of the catalogue, and common practice.`,
	Trips: `tempo 96
part "Percussion"
  Gong | 1 | -
player Ida
  R tam-tam for Gong as written
`,
	Passes: `tempo 96
part "Percussion"
  tam-tam | 1 | -
player Ida
  R tam-tam as written
`,
	check: func(c *Context) {
		said := map[score.Where]bool{}
		for _, p := range c.Score.Problems {
			if p.Rule == "unclear-name" {
				said[p.Where] = true
				c.report(Finding{Severity: Warning, Where: p.Where, Message: p.Message})
			}
		}
		for _, part := range c.Score.Parts {
			for _, l := range part.Lines {
				text := c.Score.Sources[l.Where.File].File.Lines[l.Where.Line].Text[l.Where.Start:l.Where.End]
				if other := twoMeanings(text); other != "" && !said[l.Where] {
					c.report(Finding{Severity: Warning, Where: l.Where,
						Message: fmt.Sprintf("“%s” is read as the %s, and may be %s: write the name out", text, l.Inst.Name(), other)})
				}
			}
		}
	},
}

// twoMeanings is what else some letters may mean: common practice, no source.
func twoMeanings(text string) string {
	switch strings.ToLower(strings.TrimRight(text, ".")) {
	case "cym":
		return "clash cymbals or a suspended one"
	case "d.s":
		return "the drum set or dal segno"
	case "s.b":
		return "sleigh bells or sandpaper blocks"
	case "v.s":
		return "the vibraslap or volti subito"
	case "bells":
		return "the glockenspiel or tubular bells"
	case "blocks":
		return "woodblocks or temple blocks"
	}
	return ""
}
