package score

import (
	"slices"
	"strings"
)

// Called is what a player calls a thing, wherever it is spoken of: its own name in
// the set-up where it has one, else the trade name.
func (it *Item) Called() string {
	if it.Name != it.Inst.ID && len(it.Inst.Names()) > 0 && !slices.ContainsFunc(it.Inst.Names(), func(n string) bool { return strings.EqualFold(n, it.Name) }) {
		return strings.ReplaceAll(it.Name, "-", " ")
	}
	return it.Inst.Name()
}

// Short is the same where there is little room: the trade's first abbreviation, or
// the name it was given.
func (it *Item) Short() string {
	if name := it.Called(); name != it.Inst.Name() || len(it.Inst.Abbrevs) == 0 {
		return name
	}
	return it.Inst.Abbrevs[0]
}
