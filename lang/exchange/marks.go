package exchange

import (
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/score"
	"example.org/handful/lang/written"
)

// markWords are the words of cues that say how the stroke is played at which
// they stand, and that a file has signs or keys for.
type markWords map[*score.Cue]map[beat.Rat][]string

// at are the words of a cue at a place.
func (m markWords) at(c *score.Cue, at beat.Rat) []string {
	words, ok := m[c]
	if !ok {
		for _, w := range c.Words {
			if _, is := written.MarkOf(w.Text); is {
				if words == nil {
					words = map[beat.Rat][]string{}
				}
				words[w.At] = append(words[w.At], w.Text)
			}
		}
		m[c] = words
	}
	return words[at]
}

// marksAt are those of some words that say how the stroke at a place is played.
func marksAt(words []score.Word, at beat.Rat) (out []string) {
	for _, w := range words {
		if _, is := written.MarkOf(w.Text); is && w.At == at {
			out = append(out, w.Text)
		}
	}
	return out
}

// markSigns are what stands at a note for words at its stroke: technical signs,
// and the notehead.
func markSigns(words []string, head string) (signs, notehead string) {
	brackets := false
	for _, word := range words {
		switch m, _ := written.MarkOf(word); {
		case m.Brackets:
			brackets = true
		case m.Head != "":
			head = m.Head
		case m.Technical != "":
			signs += "<technical><" + m.Technical + "/></technical>"
		default:
			signs += "<technical><other-technical>" + esc(m.Word) + "</other-technical></technical>"
		}
	}
	if brackets {
		if head == "" {
			head = "normal"
		}
		return signs, `<notehead parentheses="yes">` + head + "</notehead>"
	}
	return signs, headOf(head)
}

// headOf is a notehead of a form; the plain one needs none.
func headOf(head string) string {
	if head == "" {
		return ""
	}
	return "<notehead>" + head + "</notehead>"
}

// soundsAt says whether a cue strikes at a place.
func soundsAt(c *score.Cue, at beat.Rat) bool {
	i, _ := slices.BinarySearchFunc(c.Strokes, at, func(s score.Stroke, at beat.Rat) int { return s.At.Cmp(at) })
	for ; i < len(c.Strokes) && c.Strokes[i].At == at; i++ {
		if c.Strokes[i].Sounds() {
			return true
		}
	}
	return false
}
