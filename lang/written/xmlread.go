package written

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"

	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"

	"example.org/handful/lang/beat"
)

// maxNesting is how deep elements may stand in one another.
const maxNesting = 200

// A puller reads a document element by element, forward only, so that memory
// stays in proportion to what is kept.
type puller struct {
	dec   *xml.Decoder
	depth int
}

// newPuller reads data that is UTF-8 by now, whatever its head says.
func newPuller(data []byte) *puller {
	dec := xml.NewDecoder(bytes.NewReader(data))
	dec.CharsetReader = func(_ string, in io.Reader) (io.Reader, error) { return in, nil }
	return &puller{dec: dec}
}

// declared finds the encoding that the head of a document names.
var declared = regexp.MustCompile(`^\s*<\?xml[^>]*encoding\s*=\s*["']([^"']+)["']`)

// asUTF8 turns a document into UTF-8. UTF-16, which every reader of XML has to
// take, is known with a mark at its head or without, as XML 1.0 (fifth edition,
// appendix F) tells; other encodings by the name that the head gives.
func asUTF8(data []byte) ([]byte, error) {
	wide := func(order unicode.Endianness) ([]byte, error) {
		out, err := unicode.UTF16(order, unicode.UseBOM).NewDecoder().Bytes(data)
		if err != nil {
			return nil, errors.New("it begins as UTF-16 and does not go on so")
		}
		return out, nil
	}
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xfe")), bytes.HasPrefix(data, []byte("<\x00?\x00")):
		return wide(unicode.LittleEndian)
	case bytes.HasPrefix(data, []byte("\xfe\xff")), bytes.HasPrefix(data, []byte("\x00<\x00?")):
		return wide(unicode.BigEndian)
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	m := declared.FindSubmatch(data[:min(len(data), 512)])
	if m == nil {
		return data, nil
	}
	name := strings.ToLower(string(m[1]))
	switch name {
	case "utf-8", "utf8", "us-ascii", "ascii":
		return data, nil
	}
	enc, err := htmlindex.Get(name)
	if err != nil {
		return nil, fmt.Errorf("it is written in %s, which is not read here; save it as UTF-8", m[1])
	}
	return enc.NewDecoder().Bytes(data)
}

// line is where the reader stands, from 1.
func (p *puller) line() int {
	line, _ := p.dec.InputPos()
	return line
}

// fail puts an error where it was met.
func (p *puller) fail(err error) error {
	var syntax *xml.SyntaxError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &syntax):
		return fmt.Errorf("line %d: %s", syntax.Line, syntax.Msg)
	case errors.Is(err, io.EOF):
		return fmt.Errorf("line %d: it ends in the middle", p.line())
	}
	return err
}

// root is the first element.
func (p *puller) root() (xml.StartElement, error) {
	for {
		tok, err := p.dec.Token()
		if err != nil {
			return xml.StartElement{}, p.fail(err)
		}
		if start, ok := tok.(xml.StartElement); ok {
			return start.Copy(), nil
		}
	}
}

// each calls f for every child of the element that has just begun, up to its
// end. f must read its child to the end: by each, text or skip.
func (p *puller) each(f func(child xml.StartElement) error) error {
	if p.depth++; p.depth > maxNesting {
		return fmt.Errorf("line %d: elements stand more than %d deep in one another", p.line(), maxNesting)
	}
	defer func() { p.depth-- }()
	for {
		tok, err := p.dec.Token()
		if err != nil {
			return p.fail(err)
		}
		switch t := tok.(type) {
		case xml.StartElement:
			if err := f(t); err != nil {
				return err
			}
		case xml.EndElement:
			return nil
		}
	}
}

// text is the text of the element that has just begun, read to its end.
func (p *puller) text() (string, error) {
	var out string
	depth := 0
	for {
		tok, err := p.dec.Token()
		if err != nil {
			return "", p.fail(err)
		}
		switch t := tok.(type) {
		case xml.CharData:
			if depth == 0 && len(out) < 1<<16 {
				out += string(t)
			}
		case xml.StartElement:
			depth++
		case xml.EndElement:
			if depth == 0 {
				return strings.TrimSpace(out), nil
			}
			depth--
		}
	}
}

func (p *puller) skip() error {
	_, err := p.text()
	return err
}

// attr is an attribute's value, or "".
func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name && a.Name.Space == "" {
			return a.Value
		}
	}
	return ""
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
