package written

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"

	"example.org/handful/lang/beat"
)

// maxNesting is how deep elements may stand in one another.
const maxNesting = 200

// A puller reads a document element by element, forward only, so that memory
// stays in proportion to what is kept. It takes the text as it stands: what it
// hands out are pieces of it. The standard library's reader, which makes an
// object of everything, takes four times as long; a test compares the two.
//
// What declarations of a document type declare is passed over: their entities
// are none here.
type puller struct {
	doc     string
	at      int      // what is read next
	open    []string // the elements that are open, as they are called
	closes  bool     // the element that has just begun has ended with that: <x/>
	counted int      // up to where lines are counted
	lines   int      // ends of lines before that
}

// An element is one of a document, as it begins.
type element struct {
	name  string // without the prefix of a namespace
	attrs string // as they stand, in good order
}

// newPuller reads data that is UTF-8 by now, whatever its head says.
func newPuller(data string) *puller { return &puller{doc: data} }

// declared finds the encoding that the head of a document names.
var declared = regexp.MustCompile(`^\s*<\?xml[^>]*encoding\s*=\s*["']([^"']+)["']`)

// asUTF8 turns a document into UTF-8. UTF-16, which every reader of XML has to
// take, is known with a mark at its head or without, as XML 1.0 (fifth edition,
// appendix F) tells; other encodings by the name that the head gives.
func asUTF8(data string) (string, error) {
	wide := func(order unicode.Endianness) (string, error) {
		out, err := unicode.UTF16(order, unicode.UseBOM).NewDecoder().String(data)
		if err != nil {
			return "", errors.New("it begins as UTF-16 and does not go on so")
		}
		return out, nil
	}
	switch {
	case strings.HasPrefix(data, "\xff\xfe"), strings.HasPrefix(data, "<\x00?\x00"):
		return wide(unicode.LittleEndian)
	case strings.HasPrefix(data, "\xfe\xff"), strings.HasPrefix(data, "\x00<\x00?"):
		return wide(unicode.BigEndian)
	}
	data = strings.TrimPrefix(data, "\xef\xbb\xbf")
	m := declared.FindStringSubmatch(data[:min(len(data), 512)])
	if m == nil {
		return data, nil
	}
	name := strings.ToLower(m[1])
	switch name {
	case "utf-8", "utf8", "us-ascii", "ascii":
		return data, nil
	}
	enc, err := htmlindex.Get(name)
	if err != nil {
		return "", fmt.Errorf("it is written in %s, which is not read here; save it as UTF-8", m[1])
	}
	return enc.NewDecoder().String(data)
}

// root is the first element.
func (p *puller) root() (element, error) {
	if !utf8.ValidString(p.doc) {
		for i, c := range p.doc {
			if _, n := utf8.DecodeRuneInString(p.doc[i:]); c == utf8.RuneError && n == 1 {
				p.at = i
				return element{}, p.wrong("invalid UTF-8")
			}
		}
	}
	_, e, begins, err := p.next()
	if err == nil && !begins {
		return e, p.short()
	}
	return e, err
}

// each calls f for every child of the element that has just begun, up to its
// end. f must read its child to the end: by each, text or skip.
func (p *puller) each(f func(child element) error) error {
	for {
		_, e, begins, err := p.next()
		switch {
		case err != nil:
			return err
		case !begins:
			return nil
		}
		if err := f(e); err != nil {
			return err
		}
	}
}

// text is the text of the element that has just begun, read to its end.
func (p *puller) text() (string, error) {
	out := ""
	for outer := len(p.open) - 1; ; {
		inside := len(p.open)-1 == outer
		said, _, _, err := p.next()
		if err != nil {
			return "", err
		}
		if inside {
			out = added(out, said)
		}
		if len(p.open) == outer {
			return strings.TrimSpace(out), nil
		}
	}
}

func (p *puller) skip() error {
	_, err := p.text()
	return err
}

// duration reads a number of divisions, which may have decimals.
func duration(text string) (beat.Rat, bool) {
	whole, frac, _ := strings.Cut(strings.TrimSpace(text), ".")
	frac = strings.TrimRight(frac, "0")
	if len(frac) > 3 || len(whole) > 9 {
		return beat.Rat{}, false
	}
	n, err := strconv.ParseInt(whole+frac, 10, 64)
	if err != nil || n < 0 {
		return beat.Rat{}, false
	}
	d := int64(1)
	for range frac {
		d *= 10
	}
	return beat.R(n, d), true
}

func number(text string) int {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil {
		return -1
	}
	return n
}
