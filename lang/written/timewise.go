package written

import (
	"fmt"
	"strings"
)

// partwise turns a score that is written bar by bar, and in each bar part by
// part, into one that is written part by part. Both are MusicXML; what stands
// in the bars stays as it is.
func partwise(data string) (string, error) {
	p := timewise{puller: newPuller(data), data: data, parts: map[string]*strings.Builder{}, ids: map[string]string{}}
	if _, err := p.root(); err != nil {
		return "", err
	}
	head := p.at
	body := head // where the first bar begins
	measures := 0
	err := p.each(func(e element) error {
		if e.name != "measure" {
			err := p.skip()
			if measures == 0 {
				body = p.at
			}
			return err
		}
		if measures++; measures > MaxBars {
			return fmt.Errorf("line %d: there are more than %d bars", p.line(), MaxBars)
		}
		return p.measure(e)
	})
	if err != nil {
		return "", err
	}
	var out strings.Builder
	out.WriteString("<score-partwise>")
	out.WriteString(data[head:body])
	for _, id := range p.order {
		out.WriteString("<part " + p.ids[id] + ">")
		out.WriteString(p.parts[id].String())
		delete(p.parts, id)
		out.WriteString("</part>")
	}
	out.WriteString("</score-partwise>")
	return out.String(), nil
}

// A timewise is a score that is written bar by bar, while its parts are
// gathered.
type timewise struct {
	*puller
	data  string
	order []string
	parts map[string]*strings.Builder // the bars of each
	ids   map[string]string           // as they stand
}

// measure gives each part what a bar holds of it.
func (t *timewise) measure(e element) error {
	begins := "<measure " + e.attrs + ">"
	return t.each(func(e element) error {
		id := attr(e, "id")
		from := t.at
		if err := t.skip(); err != nil || e.name != "part" {
			return err
		}
		inside := t.data[from:t.at]
		if end := strings.LastIndex(inside, "</"); end >= 0 {
			inside = inside[:end]
		} else {
			inside = "" // an element that is empty
		}
		b := t.parts[id]
		if b == nil {
			if len(t.order) == 1000 {
				return fmt.Errorf("line %d: there are more than 1000 parts", t.line())
			}
			b = &strings.Builder{}
			t.parts[id] = b
			t.order = append(t.order, id)
			t.ids[id] = e.attrs
		}
		b.WriteString(begins)
		b.WriteString(inside)
		b.WriteString("</measure>")
		return nil
	})
}
