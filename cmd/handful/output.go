package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"regexp"
	"strings"
	"sync"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/term"
)

// output is a stream that is read by people, on a terminal or in the log of a
// build. Whatever is written to it, from whichever file or name, no control
// character comes out but line ends, tabs and our own colours, and no line
// that a build service would take for a command. What goes wrong with writing
// is remembered, so that nobody has to ask each time.
type output struct {
	mu     sync.Mutex
	to     io.Writer
	begun  []byte // a line without its end yet
	colour bool
	err    error
}

// file is the stream, if it is one of the system's.
func (o *output) file() *os.File {
	f, _ := o.to.(*os.File)
	return f
}

func (o *output) terminal() bool {
	f := o.file()
	return f != nil && term.IsTerminal(int(f.Fd()))
}

// Write implements io.Writer.
func (o *output) Write(p []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	end := bytes.LastIndexByte(p, '\n') + 1
	if end == 0 {
		o.begun = append(o.begun, p...)
		return len(p), o.err
	}
	text := p[:end]
	if len(o.begun) > 0 {
		text = append(o.begun, text...)
	}
	o.put(text)
	o.begun = append([]byte(nil), p[end:]...)
	return len(p), o.err
}

// flush writes a last line that has no end.
func (o *output) flush() error {
	o.mu.Lock()
	defer o.mu.Unlock()
	if len(o.begun) > 0 {
		o.put(o.begun)
		o.begun = nil
	}
	return o.err
}

func (o *output) put(text []byte) {
	if o.err != nil {
		return
	}
	_, o.err = o.to.Write(fitLines(text, o.colour))
}

// raw writes what is a file rather than a report, byte for byte.
type raw struct{ o *output }

func (r raw) Write(p []byte) (int, error) {
	if err := r.o.flush(); err != nil {
		return 0, err
	}
	n, err := r.o.to.Write(p)
	if err != nil {
		r.o.err = err
	}
	return n, err
}

// data is where the text of a file goes. On a terminal it is looked at, and
// must not drive it.
func (s *streams) data() io.Writer {
	if s.out.terminal() {
		return s.out
	}
	return raw{s.out}
}

// Build services take lines of a log for commands to them: those that begin
// with two colons, whatever blanks stand before them, and those with two
// number signs, a name and a bracket, wherever those stand.
var bracketed = regexp.MustCompile(`##([A-Za-z]*)\[`)

// fitLines are lines fit to be read; those that are already are not copied one by one.
func fitLines(text []byte, colour bool) []byte {
	var b []byte
	done := 0 // what is in b, or as it is
	for at := 0; at < len(text); {
		end := len(text)
		if n := bytes.IndexByte(text[at:], '\n'); n >= 0 {
			end = at + n + 1
		}
		if line := text[at:end]; !isFit(line) {
			b = append(append(b, text[done:at]...), fit(string(line), colour)...)
			done = end
		}
		at = end
	}
	if b == nil {
		return text
	}
	return append(b, text[done:]...)
}

// isFit says whether fit leaves a line as it is. It may say no where it does.
func isFit(line []byte) bool {
	for i := 0; i < len(line); {
		c := line[i]
		switch {
		case c == '#' || c == ':':
			if i+1 < len(line) && line[i+1] == c {
				return false
			}
		case c >= ' ' && c < 0x7f, c == '\n', c == '\t':
		case c < utf8.RuneSelf:
			return false
		default:
			r, size := utf8.DecodeRune(line[i:])
			if r == utf8.RuneError || unseen(r) {
				return false
			}
			i += size
			continue
		}
		i++
	}
	return true
}

// fit is a line fit to be read. What is changed keeps its width, so that marks
// below it stay in place.
func fit(line string, colour bool) string {
	plain := true
	for i := 0; i < len(line); i++ {
		if c := line[i]; c < ' ' && c != '\n' && c != '\t' || c >= 0x7f {
			plain = false
			break
		}
	}
	if !plain {
		line = seen(line, colour)
	}
	if start := strings.TrimLeftFunc(line, unicode.IsSpace); strings.HasPrefix(start, "::") {
		line = line[:len(line)-len(start)] + "∶" + start[1:]
	}
	if strings.Contains(line, "##") {
		line = bracketed.ReplaceAllString(line, "#♯$1[")
	}
	return line
}

var colours = regexp.MustCompile(`^\x1b\[[0-9;]*m`)

// seen is a line without what is there and not to be seen.
func seen(line string, colour bool) string {
	line = strings.Replace(line, "\r\n", "\n", 1)
	var b strings.Builder
	for i := 0; i < len(line); {
		r, size := utf8.DecodeRuneInString(line[i:])
		switch {
		case r == '\n' || r == '\t':
			b.WriteRune(r)
		case r == '\x1b' && colour && colours.MatchString(line[i:]):
			size = len(colours.FindString(line[i:]))
			b.WriteString(line[i : i+size])
		case unseen(r):
			b.WriteRune(utf8.RuneError)
		default:
			b.WriteRune(r)
		}
		i += size
	}
	return b.String()
}

// seenJSON is JSON in which strings write out, as the language allows, what
// should not come out as it is.
func seenJSON(text []byte) []byte {
	var b bytes.Buffer
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRune(text[i:])
		if r != '\n' && unseen(r) {
			writeEscaped(&b, r)
		} else {
			b.Write(text[i : i+size])
		}
		i += size
	}
	return bracketed.ReplaceAll(b.Bytes(), []byte(`#\u0023$1[`))
}

// writeEscaped writes a character as JSON writes those that it must not have
// as they are.
func writeEscaped(b *bytes.Buffer, r rune) {
	if r > 0xffff {
		high, low := utf16.EncodeRune(r)
		fmt.Fprintf(b, `\u%04x\u%04x`, high, low)
		return
	}
	fmt.Fprintf(b, `\u%04x`, r)
}
