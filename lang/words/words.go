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
	if len(text) <= width && isLine(text) {
		return []string{text}
	}
	var lines []string
	line := make([]byte, 0, len(text))
	long, last := 0, 0 // letters of the line; where its last word begins
	for w := range strings.FieldsFuncSeq(text, BreaksAt) {
		letters := utf8.RuneCountInString(w)
		begins := len(line)
		if long > 0 {
			begins++
		}
		switch {
		case isUnit(w) && long > 0 && line[last] >= '0' && line[last] <= '9':
			if rest := utf8.RuneCount(line[last:]); last > 0 && long+1+letters > width {
				number := string(line[last:])
				lines = append(lines, string(line[:last-1]))
				line, long, last = append(line[:0], number...), rest, 0
			}
			line, long = append(append(line, ' '), w...), long+1+letters
			continue
		case long > 0 && long+1+letters > width:
			lines = append(lines, string(line))
			line, long, begins = line[:0], 0, 0
		case long > 0:
			line, long = append(line, ' '), long+1
		}
		line, long, last = append(line, w...), long+letters, begins
	}
	return append(lines, string(line))
}

// isLine says whether a text is words with one blank between two. It may say no where it is.
func isLine(text string) bool {
	blank := true
	for i := range len(text) {
		c := text[i]
		if c < ' ' || c >= utf8.RuneSelf || c == ' ' && blank {
			return false
		}
		blank = c == ' '
	}
	return !blank
}

// isUnit says whether a word is one that its number keeps beside it.
func isUnit(w string) bool {
	return w == "s" || w == "cm" || strings.HasPrefix(w, "s,") || strings.HasPrefix(w, "s;")
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
