package check

import (
	"example.org/handful/lang/syntax"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

var unclearName = &Rule{
	Name:       syntax.RuleUnclearName,
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
	Look: func(c *Context) {
		said := map[score.Where]bool{}
		for _, p := range c.Score.Problems {
			if p.Rule == syntax.RuleUnclearName {
				said[p.Where] = true
				c.In(p.Where).about(Warning, p.About)
			}
		}
		c.clear = map[*score.Part]bool{}
		for _, part := range c.Score.Parts {
			if c.old != nil && c.old.clear[part] {
				c.clear[part] = true
				continue
			}
			clear := true
			for _, l := range part.Lines {
				text := c.Score.Sources[l.Where.File].File.Lines[l.Where.Line].Text[l.Where.Start:l.Where.End]
				if text == l.Inst.ID || l.Inst.Own {
					continue
				}
				if clear = false; said[l.Where] {
					continue
				}
				if r := c.Score.Catalogue.Read(text, kit.Alone); r.Sure() == nil && len(r.Kinds) > 0 && !r.Together {
					c.In(l.Where).Warning("“%s” is read as the %s, and may be something else (%s): write the name out", text, l.Inst.Name(), r.Meanings)
				}
			}
			c.clear[part] = clear
		}
	},
}
