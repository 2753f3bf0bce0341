package written

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"handful/lang/beat"
)

// maxNesting is how deep elements may stand in one another.
const maxNesting = 200

// A puller reads a document element by element, forward only, so that memory
// stays in proportion to what is kept.
type puller struct {
	dec   *xml.Decoder
	depth int
}

func newPuller(data []byte) *puller {
	dec := xml.NewDecoder(bytes.NewReader(data))
	dec.CharsetReader = func(charset string, in io.Reader) (io.Reader, error) {
		switch strings.ToLower(charset) {
		case "utf-8", "us-ascii", "ascii":
			return in, nil
		}
		return nil, fmt.Errorf("it is written in %s; save it as UTF-8", charset)
	}
	return &puller{dec: dec}
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
