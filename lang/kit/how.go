package kit

import (
	_ "embed" // the text
	"slices"
	"strconv"
	"strings"
	"sync"
)

// how.txt holds, for ways of playing that are not the usual one, how they are
// set up and played: paragraphs, each with the ways it is for in its first
// lines. It is read when somebody first asks.
//
//go:embed tables/how.txt
var howText string

// A howTo is one paragraph of how.txt.
type howTo struct {
	needs  []string // what a way must be, word by word
	weight int      // how much that is: an implement or a thing it needs says more than a mount
	lines  []string
}

// howTos are the paragraphs by the instrument they are for; "any" is for all.
var howTos = sync.OnceValue(func() map[string][]howTo {
	out := map[string][]howTo{}
	var heads []string
	var lines []string
	shut := func() {
		for _, head := range heads {
			ids, needs, _ := strings.Cut(head, ":")
			h := howTo{lines: lines}
			for _, need := range strings.Split(needs, ",") {
				if need = strings.TrimSpace(need); need != "" {
					h.needs = append(h.needs, need)
					h.weight += weightOf(need)
				}
			}
			for _, id := range strings.Fields(ids) {
				out[id] = append(out[id], h)
			}
		}
		heads, lines = nil, nil
	}
	for line := range strings.Lines(howText) {
		line = strings.TrimRight(line, "\r\n")
		switch {
		case strings.HasPrefix(line, "#"):
		case line == "":
			shut()
		case strings.HasPrefix(line, "= "):
			heads = append(heads, line[2:])
		default:
			lines = append(lines, line)
		}
	}
	shut()
	return out
})

// weightOf is how much a word of how.txt says about a way.
func weightOf(need string) int {
	switch {
	case need == "1 hand", need == "2 hands", need == "seated", need == "standing", need == "unnamed", need == "with fingers", need == "mouth":
		return 1
	case MountNamed(need) != AnyMount, need == "shaken":
		return 2
	case need == "foot":
		return 3
	case need == "with bow", need == "with wire-brush":
		return 9 // done alike on everything
	}
	return 6
}

// is says whether a way is what a word of how.txt asks for: a mount, a number
// of hands, a foot, the mouth, an implement, two of it in a hand, a roll,
// shaken, seated, a thing it needs, or its own name in quotes.
func (w *Way) is(need string) bool {
	switch need {
	case "1 hand", "2 hands":
		return w.Limb == Hand && w.Hands == int(need[0]-'0')
	case "foot":
		return w.Limb == Foot
	case "mouth":
		return w.Limb == Mouth
	case "rolls":
		return w.Rolls
	case "shaken":
		return w.Shaken
	case "seated":
		return w.Seated
	case "standing":
		return !w.Seated
	case "two in one hand":
		return w.Hands == 1 && slices.ContainsFunc(w.With, func(c Choice) bool { return c.Count == 2 })
	case "keeps":
		return w.Keeps
	case "stays":
		return w.Stays
	case "unnamed":
		return w.Named == ""
	}
	if id, ok := strings.CutPrefix(need, "with "); ok {
		return slices.ContainsFunc(w.With, func(c Choice) bool { return c.Implement == id })
	}
	if gear, ok := strings.CutPrefix(need, "needs "); ok {
		return slices.Contains(w.Needs, gear)
	}
	if moves, ok := strings.CutPrefix(need, "moves "); ok {
		return w.Moves == moves
	}
	if need[0] == '"' {
		name, err := strconv.Unquote(need)
		return err == nil && w.Named == name
	}
	return w.Mount.String() == need
}

// How says how a way of playing is set up and played, a line at a time: how the
// thing is fixed, how high and at what angle, how it is held, where it is
// struck, what to listen for, what stops it, what goes wrong. A line that
// begins with ! is a caution: somebody may be hurt, or something break. Of the
// paragraphs that fit, the one that asks for most is taken; it is nil for what
// needs no telling.
func (in *Instrument) How(w *Way) []string {
	if in.Own {
		return nil
	}
	var best *howTo
	most := -1
	for own, id := range [...]string{"any", in.ID} {
		list := howTos()[id]
		for i := range list {
			h := &list[i]
			if h.weight+own*5 > most && !slices.ContainsFunc(h.needs, func(need string) bool { return !w.is(need) }) {
				best, most = h, h.weight+own*5
			}
		}
	}
	if best != nil {
		return best.lines
	}
	return nil
}
