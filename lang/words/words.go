// Package words puts sentences together: numbers with what they count, and
// lines of a width. It never changes a word.
package words

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Wrap breaks a text between words, but not between a number and its unit, and
// not at a space that is written as one to keep words together.
func Wrap(text string, width int) []string {
	var words []string
	for _, w := range strings.FieldsFunc(text, BreaksAt) {
		if last := len(words) - 1; last >= 0 && (w == "s" || w == "cm" || strings.HasPrefix(w, "s,") || strings.HasPrefix(w, "s;")) && words[last][0] >= '0' && words[last][0] <= '9' {
			words[last] += " " + w
			continue
		}
		words = append(words, w)
	}
	var lines []string
	line := ""
	for _, w := range words {
		if line != "" && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(w) > width {
			lines = append(lines, line)
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += w
	}
	return append(lines, line)
}

// BreaksAt is where a line may end: at white space that is not there to keep
// two words together.
func BreaksAt(r rune) bool { return unicode.IsSpace(r) && r != '\u00a0' }

// Count is a number with what it counts.
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Seconds is a time as it is said of a change, everywhere alike: to a hundredth.
func Seconds(s float64) string { return fmt.Sprintf("%.2f s", math.Round(s*100)/100) }

// SignedSeconds is the same of what is left over or lacking.
func SignedSeconds(s float64) string { return fmt.Sprintf("%+.2f s", math.Round(s*100)/100) }
