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
	p := timewise{puller: newPuller(data), data: data, parts: map[string]*bytes.Buffer{}}
	if _, err := p.root(); err != nil {
		return nil, err
	}
	head := p.dec.InputOffset()
	body := head // where the first bar begins
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
		return p.measure(e)
	})
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	out.WriteString("<score-partwise>")
	out.Write(data[head:body])
	for _, id := range p.order {
		if err := open(&out, "part", []xml.Attr{{Name: xml.Name{Local: "id"}, Value: id}}); err != nil {
			return nil, err
		}
		out.Write(p.parts[id].Bytes())
		out.WriteString("</part>")
	}
	out.WriteString("</score-partwise>")
	return out.Bytes(), nil
}

// A timewise is a score that is written bar by bar, while its parts are
// gathered.
type timewise struct {
	*puller
	data  []byte
	order []string
	parts map[string]*bytes.Buffer // the bars of each
}

// measure gives each part what a bar holds of it.
func (t *timewise) measure(e xml.StartElement) error {
	var begins bytes.Buffer
	if err := open(&begins, "measure", e.Attr); err != nil {
		return err
	}
	return t.each(func(e xml.StartElement) error {
		id := attr(e, "id")
		from := t.dec.InputOffset()
		if err := t.skip(); err != nil || e.Name.Local != "part" {
			return err
		}
		inside := t.data[from:t.dec.InputOffset()]
		if end := bytes.LastIndex(inside, []byte("</")); end >= 0 {
			inside = inside[:end]
		} else {
			inside = nil // an element that is empty
		}
		b := t.parts[id]
		if b == nil {
			if len(t.order) == 1000 {
				return fmt.Errorf("line %d: there are more than 1000 parts", t.line())
			}
			b = &bytes.Buffer{}
			t.parts[id] = b
			t.order = append(t.order, id)
		}
		b.Write(begins.Bytes())
		b.Write(inside)
		b.WriteString("</measure>")
		return nil
	})
}

// open writes the beginning of an element.
func open(out *bytes.Buffer, name string, attrs []xml.Attr) error {
	out.WriteString("<" + name)
	for _, a := range attrs {
		fmt.Fprintf(out, " %s=\"", a.Name.Local)
		if err := xml.EscapeText(out, []byte(a.Value)); err != nil {
			return err
		}
		out.WriteByte('"')
	}
	out.WriteByte('>')
	return nil
}
