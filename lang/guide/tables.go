package guide

import (
	"slices"
	"strings"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/sheet"
	"example.org/handful/lang/syntax"
)

// A table is made of what stands elsewhere.
type table struct {
	head []string
	rows [][]string
	code int // the columns, from the first, that are notation
}

// blockNames are what a table of statements may be asked for by.
var blockNames = map[string]syntax.Block{
	"head": syntax.InHead, "part": syntax.InPart, "player": syntax.InPlayer, "kit": syntax.InKit,
	"gear": syntax.InGear, "instrument": syntax.InInstrument, "implement": syntax.InImplement,
}

// forExample heads a column of samples.
const forExample = "for example"

// tableOf makes a table: statements and a block's name, limbs, mounts,
// families, motions, rules or cautions. It is empty for any other word.
func tableOf(what string) table {
	what, which, _ := strings.Cut(what, " ")
	var t table
	switch what {
	case "statements":
		t.head, t.code = []string{"statement", "what it says", forExample}, 1
		t.rows = statementsIn(blockNames[which])
	case "limbs":
		t.head, t.code = []string{"limb", "who plays"}, 1
		for _, l := range syntax.Limbs() {
			t.rows = append(t.rows, []string{l[0], l[1]})
		}
	case "mounts":
		t.head, t.code = []string{"how it is fixed", "what that takes"}, 1
		for m := kit.Held; m <= kit.OnBody; m++ {
			gear := m.Gear()
			if gear == "" {
				gear = "nothing"
			}
			t.rows = append(t.rows, []string{m.String(), gear})
		}
	case "families":
		t.head = []string{"family", "instruments"}
		for _, f := range syntax.Families() {
			t.rows = append(t.rows, []string{f, strings.Join(instrumentsOf(f), ", ")})
		}
	case "rules":
		t.head, t.code = []string{"rule", "how grave", "what it finds"}, 1
		for _, r := range check.Rules() {
			t.rows = append(t.rows, []string{r.Name, severities(r), r.Finds})
		}
	case "cautions":
		t.head = []string{"caution"}
		for _, c := range sheet.Cautions() {
			t.rows = append(t.rows, []string{c})
		}
	}
	return t
}

// statementsIn are the statements that stand in a block.
func statementsIn(block syntax.Block) (rows [][]string) {
	for _, f := range append(slices.Clone(syntax.Forms()), syntax.Wordless()...) {
		if f.In&block != 0 {
			rows = append(rows, []string{f.Shape, f.Says, f.Sample})
		}
	}
	return rows
}

// instrumentsOf are the names of a family's instruments.
func instrumentsOf(family string) (names []string) {
	for _, in := range kit.Standard().Instruments() {
		if in.Family == family {
			names = append(names, in.Name())
		}
	}
	return names
}
