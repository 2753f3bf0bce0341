package syntax

import (
	"io"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/alecthomas/participle/v2/lexer"
)

// The tokens of a line. A whole bar list is one token: what stands inside it
// is read by the scanner in bars.go, which recovers at the next count or bar
// line, and the grammar stays small and quick.
const (
	tokWord   lexer.TokenType = iota + 1 // begins with a letter: snare-drum, A+4, R+L
	tokNum                               // begins with a digit: 4/4, 12.2&, 9-16
	tokString                            // "quoted"
	tokBars                              // | … to the end of the line
	tokEquals                            // =
	tokBad                               // anything else, one rune
)

// tokens is the lexer.Definition that the grammar is built with. What it is
// handed when it parses is a reading.
type tokens struct{}

func (tokens) Symbols() map[string]lexer.TokenType {
	return map[string]lexer.TokenType{
		"EOF": lexer.EOF, "Word": tokWord, "Num": tokNum, "String": tokString,
		"Bars": tokBars, "Equals": tokEquals, "Bad": tokBad,
	}
}

func (tokens) Lex(_ string, r io.Reader) (lexer.Lexer, error) {
	text, err := io.ReadAll(r)
	return &reading{text: string(text)}, err
}

// nextToken finds the first token of text at or after the given byte.
func nextToken(text string, at int) (kind lexer.TokenType, from, to int) {
	for at < len(text) {
		if isBlank(text[at]) {
			at++
		} else if strings.HasPrefix(text[at:], bom) { // no more than a blank, wherever it stands
			at += len(bom)
		} else {
			break
		}
	}
	if at >= len(text) || text[at] == '#' {
		return lexer.EOF, at, at
	}
	switch c := text[at]; {
	case c == '|':
		end := commentStart(text, at)
		return tokBars, at, len(strings.TrimRight(text[:end], " \t\r"))
	case c == '"':
		end, _ := stringEnd(text, at)
		return tokString, at, end
	case c == '=':
		return tokEquals, at, at + 1
	case isDigit(c):
		return tokNum, at, wordEnd(text, at)
	}
	r, size := utf8.DecodeRuneInString(text[at:])
	if isLetter(r, size) {
		return tokWord, at, wordEnd(text, at)
	}
	return tokBad, at, at + size
}

func isBlank(c byte) bool { return c == ' ' || c == '\t' || c == '\r' }

// isLetter says whether a rune may open a word. A size of 1 with RuneError is
// a byte that is not UTF-8, which opens nothing.
func isLetter(r rune, size int) bool {
	if r < utf8.RuneSelf {
		return 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z'
	}
	if r == utf8.RuneError && size == 1 {
		return false
	}
	return unicode.IsLetter(r) || unicode.IsMark(r)
}

// wordEnd is the byte after the word that begins at the given byte. A word
// runs to a blank, a quote, a bar line, an equals sign, a comment, or
// anything that no word may hold.
func wordEnd(text string, at int) int {
	for at += sharps(text, at); at < len(text); {
		c := text[at]
		if c < utf8.RuneSelf {
			if c <= ' ' || c == '"' || c == '|' || c == '#' || c == '=' || c == 0x7f {
				return at
			}
			at++
			continue
		}
		r, size := utf8.DecodeRuneInString(text[at:])
		if !isLetter(r, size) && !unicode.IsNumber(r) && r != '’' {
			return at
		}
		at += size
	}
	return at
}

// stringEnd is the byte after the closing quote of the string that begins at
// the given byte, or the end of the text and false when nothing closes it.
func stringEnd(text string, at int) (int, bool) {
	for i := at + 1; i < len(text); i++ {
		switch text[i] {
		case '\\':
			i++
		case '"':
			return i + 1, true
		}
	}
	return len(text), false
}

// commentStart is the byte where the comment begins, looking from the given
// byte on and passing over quoted text and the sharps of notes; the end of the
// text when there is none.
func commentStart(text string, at int) int {
	if strings.IndexByte(text[at:], '#') < 0 {
		return len(text)
	}
	bars := false
	for i := at; i < len(text); i++ {
		switch text[i] {
		case '"':
			end, _ := stringEnd(text, i)
			i = end - 1
		case '|':
			bars = true
		case '#':
			switch {
			case bars && sharp(text, i):
			case !bars && i > 0 && sharps(text, i-1) > 0:
				i += sharps(text, i-1) - 2
			default:
				return i
			}
		}
	}
	return len(text)
}

// unquote takes the quotes off a string token and undoes its escapes, \" and \\.
// A backslash before anything else stands for itself.
func unquote(tok string) string {
	body := strings.TrimPrefix(tok, `"`)
	if end, closed := stringEnd(tok, 0); closed && end == len(tok) {
		body = body[:len(body)-1]
	} else {
		body = strings.TrimRight(body, " \t\r") // blanks at the end of a line mean nothing
	}
	if strings.IndexByte(body, '\\') < 0 {
		return body
	}
	var b strings.Builder
	for i := 0; i < len(body); i++ {
		if body[i] == '\\' && i+1 < len(body) && (body[i+1] == '"' || body[i+1] == '\\') {
			i++
		}
		b.WriteByte(body[i])
	}
	return b.String()
}

// Quote writes text as the notation quotes it.
func Quote(text string) string {
	if strings.ContainsAny(text, "\\\"\n\r") {
		text = strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", " ", "\r", " ").Replace(text)
	}
	return `"` + text + `"`
}
