package syntax

import (
	"strings"
	"unicode"
)

// NoReasonYet stands for a reason, which is the arranger's to write.
const NoReasonYet = "say why"

// ToBeWritten says whether a reason only keeps the place of one: the words that an
// offer puts there, what has no letter, and what people write for later.
func ToBeWritten(reason string) bool {
	plain := strings.ToLower(strings.TrimFunc(reason, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }))
	switch plain {
	case "", NoReasonYet, "todo", "tbd", "why":
		return true
	}
	return false
}
