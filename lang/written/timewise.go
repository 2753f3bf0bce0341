package written

import (
	"bytes"
	"encoding/xml"
	"fmt"
)

// partwise turns a score that is written bar by bar, and in each bar part by
// part, into one that is written part by part. Both are MusicXML; what stands
// in the bars stays as it is.
func partwise(data []byte) ([]byte, error) {
	p := newPuller(data)
	if _, err := p.root(); err != nil {
		return nil, err
	}
	head := p.dec.InputOffset()
	body := head // where the first bar begins
	var order []string
	parts := map[string]*bytes.Buffer{}
	measures := 0
	err := p.each(func(e xml.StartElement) error {
		if e.Name.Local != "measure" {
			err := p.skip()
			if measures == 0 {
				body = p.dec.InputOffset()
			}
			return err
		}
		if measures++; measures > MaxBars {
			return fmt.Errorf("line %d: there are more than %d bars", p.line(), MaxBars)
		}
		var open bytes.Buffer
		open.WriteString("<measure")
		for _, a := range e.Attr {
			fmt.Fprintf(&open, " %s=\"", a.Name.Local)
			if err := xml.EscapeText(&open, []byte(a.Value)); err != nil {
				return err
			}
			open.WriteByte('"')
		}
		open.WriteByte('>')
		return p.each(func(e xml.StartElement) error {
			id := attr(e, "id")
			from := p.dec.InputOffset()
			if err := p.skip(); err != nil || e.Name.Local != "part" {
				return err
			}
			inside := data[from:p.dec.InputOffset()]
			if end := bytes.LastIndex(inside, []byte("</")); end >= 0 {
				inside = inside[:end]
			} else {
				inside = nil // an element that is empty
			}
			b := parts[id]
			if b == nil {
				if len(order) == 1000 {
					return fmt.Errorf("line %d: there are more than 1000 parts", p.line())
				}
				b = &bytes.Buffer{}
				parts[id] = b
				order = append(order, id)
			}
			b.Write(open.Bytes())
			b.Write(inside)
			b.WriteString("</measure>")
			return nil
		})
	})
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	out.WriteString("<score-partwise>")
	out.Write(data[head:body])
	for _, id := range order {
		out.WriteString("<part id=\"")
		if err := xml.EscapeText(&out, []byte(id)); err != nil {
			return nil, err
		}
		out.WriteString("\">")
		out.Write(parts[id].Bytes())
		out.WriteString("</part>")
	}
	out.WriteString("</score-partwise>")
	return out.Bytes(), nil
}
