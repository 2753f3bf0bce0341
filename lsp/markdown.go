package lsp

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// What a file says may be written by anybody, and editors show what the server
// sends as Markdown: a name must not become a link, a picture, a command or a
// second column.

// md is a text of the piece as Markdown that shows just that text. Hyphens,
// full stops and brackets that mean nothing inside a line stay readable for
// whoever is shown the source.
func md(text string) string {
	var b strings.Builder
	for i, r := range text {
		switch {
		case r == '\n' || r == '\r' || r == '\t':
			b.WriteByte(' ')
		case unseen(r):
			b.WriteRune(utf8.RuneError)
		case r == '&' && !strings.HasPrefix(text[i:], "& "): // else it begins no entity
			b.WriteString("&amp;") // a backslash does not keep every reader from an entity
		case strings.ContainsRune("\\`*_[]<>|~#!@$", r),
			r == ':' && strings.HasPrefix(text[i:], "://"),
			r == '.' && i >= 3 && strings.EqualFold(text[i-3:i], "www"):
			b.WriteByte('\\')
			b.WriteRune(r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// plainName is a name for a message in a sentence: some editors make links of
// what looks like one.
func plainName(text string) string {
	return strings.ReplaceAll(strings.Map(func(r rune) rune {
		if unseen(r) {
			return utf8.RuneError
		}
		return r
	}, text), "](", "] (")
}

// unseen says whether a character is there and not to be seen. The two joiners
// are part of how some scripts are written.
func unseen(r rune) bool {
	return unicode.IsControl(r) || unicode.Is(unicode.Cf, r) && r != '\u200c' && r != '\u200d'
}

// block is a text as it stands, behind a fence that it does not hold itself.
func block(text string) string { return fenced("text", text) }

func fenced(language, text string) string {
	fence := "```"
	for strings.Contains(text, fence) {
		fence += "`"
	}
	text = strings.Map(func(r rune) rune {
		if r != '\n' && unseen(r) {
			return utf8.RuneError
		}
		return r
	}, text)
	return fence + language + "\n" + strings.TrimRight(text, "\n") + "\n" + fence
}

// plainText is what Markdown of ours says, for clients that show none.
func plainText(text string) string {
	var out []string
	fence := ""
	for _, l := range strings.Split(text, "\n") {
		switch ticks := l[:len(l)-len(strings.TrimLeft(l, "`"))]; {
		case fence != "" && l == fence:
			fence = ""
		case fence != "":
			out = append(out, l)
		case len(ticks) >= 3:
			fence = ticks
		case strings.HasPrefix(l, "|") && strings.Trim(l, "|- ") == "": // between a table's head and its rows
		case strings.HasPrefix(l, "| "):
			out = append(out, strings.TrimRight(strings.TrimSuffix(bare(l[2:]), "|"), " "))
		default:
			out = append(out, strings.TrimSpace(bare(l)))
		}
	}
	return strings.TrimSpace(strings.Join(out, "\n"))
}

// bare is a line without the signs of Markdown that md and we ourselves write.
func bare(line string) string {
	var b strings.Builder
	line = strings.ReplaceAll(line, "**", "")
	for i := 0; i < len(line); i++ {
		if line[i] == '\\' && i+1 < len(line) {
			i++
		}
		b.WriteByte(line[i])
	}
	return strings.ReplaceAll(b.String(), "&amp;", "&")
}
