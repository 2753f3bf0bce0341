package main

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

type manVerb struct{}

func (v *manVerb) Help() string {
	return `  handful man | man -l -                                          read it here
  handful man >~/.local/share/man/man1/handful.1                  … or put it where  man handful  finds it`
}

// Run writes the manual page from the command line's own model, so that it has
// every verb and every flag and says of each what --help says.
func (v *manVerb) Run(s *streams) error {
	var b strings.Builder
	name := s.model.Name
	fmt.Fprintf(&b, ".TH %s 1 \"%s\" \"%s\" \"\"\n", strings.ToUpper(name), dayOf(), roff(name+" "+version()))
	fmt.Fprintf(&b, ".SH NAME\n%s \\- %s\n", name, roff(purpose))
	fmt.Fprintf(&b, ".SH SYNOPSIS\n.B %s\n.I verb\n.RI [ arguments ]\n", name)
	b.WriteString(".SH DESCRIPTION\n")
	roffText(&b, s.model.Help)
	b.WriteString(".SH VERBS\n")
	for _, v := range verbsOf(s.model) {
		fmt.Fprintf(&b, ".SS %s\n%s\n", roff(v.called), roff(sentence(v.help)))
		if v.detail != "" {
			b.WriteString(".PP\n")
			roffText(&b, v.detail)
		}
		for _, a := range v.arguments {
			fmt.Fprintf(&b, ".TP\n.I %s\n%s\n", roff(a.name), roff(a.help))
		}
		for _, f := range v.flags {
			fmt.Fprintf(&b, ".TP\n.B %s\n%s\n", roff(f.written), roff(sentence(f.help)))
		}
	}
	_, err := io.WriteString(s.data(), b.String())
	return err
}

// purpose is what the command is for, in the line that manuals are searched by.
const purpose = "check, plan and print percussion cues for each hand, in plain text"

var roffSigns = map[rune]string{'\\': `\e`, '-': `\-`, '\'': `\(aq`, '`': "\\`", '~': `\(ti`, '^': `\(ha`, '"': `\(dq`}

// roff is a text as manual pages have it: a backslash and a hyphen are
// themselves, and no line is taken for a request.
func roff(text string) string {
	var b strings.Builder
	for _, r := range text {
		switch sign := roffSigns[r]; {
		case sign != "":
			b.WriteString(sign)
		case r < utf8.RuneSelf:
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, `\[u%04X]`, r)
		}
	}
	text = b.String()
	if strings.HasPrefix(text, ".") {
		text = `\&` + text
	}
	return text
}

// sentence ends a text as one.
func sentence(text string) string {
	if strings.HasSuffix(text, "?") {
		return text
	}
	return text + "."
}

// roffText sets paragraphs, and what is indented as it stands.
func roffText(b *strings.Builder, text string) {
	for i, part := range strings.Split(strings.Trim(text, "\n"), "\n\n") {
		if part == "" {
			continue
		}
		literal := false
		if i > 0 {
			b.WriteString(".PP\n")
		}
		for _, line := range strings.Split(part, "\n") {
			if indented := strings.HasPrefix(line, "  "); indented != literal {
				literal = indented
				b.WriteString(map[bool]string{true: ".nf\n", false: ".fi\n"}[literal])
			}
			b.WriteString(roff(line) + "\n")
		}
		if literal {
			b.WriteString(".fi\n")
		}
	}
}
