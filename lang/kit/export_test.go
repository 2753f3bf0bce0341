package kit

import "slices"

// HowHeads is the first lines of the paragraphs of how.txt.
func HowHeads() []string {
	var out []string
	for _, l := range splitLines(howText) {
		if len(l) > 2 && l[:2] == "= " {
			out = append(out, l[2:])
		}
	}
	return out
}

func splitLines(text string) []string {
	var out []string
	for len(text) > 0 {
		i := 0
		for i < len(text) && text[i] != '\n' {
			i++
		}
		out = append(out, text[:i])
		text = text[min(i+1, len(text)):]
	}
	return out
}

// HowIsUsed says whether some way is told by the paragraph with that first line.
func HowIsUsed(head string) bool {
	lines := []string(nil)
	for _, l := range splitLines(howText) {
		switch {
		case l == "= "+head:
			lines = []string{}
		case lines != nil && len(lines) == 0 && len(l) > 1 && l[:2] == "= ":
		case lines != nil && len(lines) == 0:
			lines = append(lines, l)
		}
	}
	for _, in := range Standard().Instruments() {
		for _, w := range in.Ways {
			if how := in.How(w); len(how) > 0 && slices.Equal(how[:1], lines) {
				return true
			}
		}
	}
	return false
}
