package syntax

import (
	"strings"
	"unicode/utf8"
)

// encoding refuses a text that is not UTF-8: a line of it cannot be trusted, and
// a file that is half one and half the other is lost for every editor. It says
// whether it did.
func (f *File) encoding(text string, texts []string) bool {
	what, line, at := About{}, 0, Span{}
	switch name := wide(text); {
	case name != "":
		what = Tells(otherEncoding, name)
	case utf8.ValidString(text):
		return false
	default:
		for i, text := range texts {
			if k := firstBad(text); k >= 0 {
				line, at = i, Span{k, k + 1}
				what = Tells(noEncoding, text[k])
				break
			}
		}
	}
	f.Refused = true
	for i, text := range texts {
		f.Lines[i] = &Line{Text: text, Broken: true}
	}
	f.Problems = append(f.Problems, FileProblem{line, Problem{Rule: RuleSyntax, Span: at, About: what}})
	return true
}

// wide names an encoding of two or four bytes a letter, by its mark or by the
// zero bytes between plain letters.
func wide(text string) string {
	for _, mark := range [...]struct{ bytes, name string }{
		{"\xff\xfe\x00\x00", "UTF-32"}, {"\x00\x00\xfe\xff", "UTF-32"},
		{"\xff\xfe", "UTF-16 (little-endian)"}, {"\xfe\xff", "UTF-16 (big-endian)"},
	} {
		if strings.HasPrefix(text, mark.bytes) {
			return mark.name
		}
	}
	start := text[:min(len(text), 64)&^1]
	even, odd := 0, 0
	for i := range len(start) {
		if start[i] == 0 && i%2 == 0 {
			even++
		} else if start[i] == 0 {
			odd++
		}
	}
	switch n := len(start) / 2; {
	case n >= 4 && odd > n*3/4 && even == 0:
		return "UTF-16 (little-endian)"
	case n >= 4 && even > n*3/4 && odd == 0:
		return "UTF-16 (big-endian)"
	}
	return ""
}

func firstBad(text string) int {
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		if r == utf8.RuneError && size <= 1 {
			return i
		}
		i += size
	}
	return -1
}
