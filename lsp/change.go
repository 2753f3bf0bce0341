package lsp

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/lang/syntax"
)

// A splice is one of the client's edits: a range and what stands there from now
// on, or a whole text.
type splice struct {
	Range *struct {
		Start, End *place
	} `json:"range"`
	Text *string `json:"text"`
}

// A place is a position as it came. The protocol's own type takes what does not
// fit for something else, and an edit whose range cannot be read for a whole
// text; this one keeps what was written.
type place struct {
	Line, Character json.RawMessage
}

// didChange applies the client's edits, in their order. If one of them cannot
// be read, or does not fit the text, none is made: the text stays, and nothing
// is said about the document until it comes again whole.
func (s *session) didChange(params []byte) error {
	var p struct {
		TextDocument struct {
			URI     string          `json:"uri"`
			Version json.RawMessage `json:"version"`
		} `json:"textDocument"`
		ContentChanges json.RawMessage `json:"contentChanges"`
	}
	if err := json.Unmarshal(params, &p); err != nil {
		return err
	}
	id, err := uri.Parse(p.TextDocument.URI)
	if err != nil || p.TextDocument.URI == "" {
		return refuse("a change of no document")
	}
	was := s.now().docs.get(id)
	if was == nil {
		return refuse("%s was changed and is not open", id)
	}
	version := was.version
	if n, err := strconv.ParseInt(string(p.TextDocument.Version), 10, 32); err == nil {
		version = int32(n)
	}
	var splices []splice
	if err := json.Unmarshal(p.ContentChanges, &splices); err != nil {
		return s.lose(was, version, "an edit that is none")
	}
	if version <= was.version {
		s.log.Printf("%s: version %d came after version %d", id, version, was.version)
	}
	idx, file, lost := was.idx, was.file.Load(), was.lost
	end, added := -1, ""
	for _, c := range splices {
		switch {
		case c.Text == nil:
			return s.lose(was, version, "an edit without its text")
		case c.Range == nil:
			end, added = written(idx.text(), *c.Text)
			lost, idx, file = nil, newIndex(*c.Text, s.enc), nil
		case lost != nil:
			continue // it was made to a text that is not known here
		default:
			from, to, why := idx.between(c.Range.Start, c.Range.End)
			if why != "" {
				return s.lose(was, version, why)
			}
			end, added = written(idx.stretch(from, to), *c.Text)
			end += from
			idx = s.spliced(was, idx, file, from, to, *c.Text)
			file = idx.file
		}
	}
	if lost != nil {
		return nil
	}
	s.edit(id, func(w *world) *document {
		d := s.newDocument(w, id, was.uri, version, idx, was)
		switch {
		case idx.sameText(was.idx):
			d.pen = was.pen
		case len(splices) > 1: // some clients gather what is typed
			end, added = written(was.idx.text(), idx.text())
			fallthrough
		default:
			d.pen = s.penAt(was, d.idx, end, added)
		}
		return d
	})
	return nil
}

// spliced is an index with something in the place of a stretch. A failure of the
// program in reading that is told by whoever reads the whole.
func (s *session) spliced(was *document, idx *index, file *syntax.File, from, to int, added string) (now *index) {
	if s.contained("reading", was.name, func() { now = idx.with(file, from, to, added) }) != nil {
		now = idx.with(nil, from, to, added)
	}
	return now
}

// written is where in a text that came in the place of another somebody has
// written last, and what. Some clients send whole lines or texts for a letter, and
// a new line with its end: who writes is still in that line.
func written(was, is string) (end int, added string) {
	n := min(len(was), len(is))
	from := 0
	for from < n && was[from] == is[from] {
		from++
	}
	same := 0
	for same < n-from && was[len(was)-1-same] == is[len(is)-1-same] {
		same++
	}
	end, added = len(is)-same, is[from:len(is)-same]
	if line, ended := strings.CutSuffix(added, "\n"); ended && strings.TrimSpace(line) != "" {
		return end - 1, line
	}
	return end, added
}

// between is the stretch of the text from one place to another, or says why
// there is none. A column behind a line's end is at its end, as the protocol
// has it; so is the line behind the last one, for clients that delete whole
// lines.
func (x *index) between(start, end *place) (from, to int, why string) {
	if from, why = x.exact(start, false); why != "" {
		return 0, 0, why
	}
	if to, why = x.exact(end, true); why != "" {
		return 0, 0, why
	}
	if to < from {
		return 0, 0, "an edit that ends before it begins"
	}
	return from, to, ""
}

func (x *index) exact(p *place, end bool) (int, string) {
	if p == nil {
		return 0, "an edit without its range"
	}
	line, err1 := strconv.ParseUint(string(p.Line), 10, 31)
	column, err2 := strconv.ParseUint(string(p.Character), 10, 31)
	switch n := uint64(len(x.starts)); {
	case err1 != nil || err2 != nil:
		return 0, "an edit at a place that is none"
	case end && line == n && column == 0:
		return x.size(), ""
	case line >= n:
		return 0, fmt.Sprintf("an edit of line %d, and the text has %d here", line+1, n)
	}
	text := x.line(int(line))
	at := x.enc.bytes(text, int(column))
	if x.enc.units(text[:at]) != int(column) && at < len(text) {
		return 0, fmt.Sprintf("an edit in the middle of a character of line %d", line+1)
	}
	return x.starts[line] + at, ""
}

// methodSendAgain asks a client that knows it for the whole text of a document:
// {uri} goes out, and what comes is a change without a range. Clients say that
// they know it in their experimental capabilities, "handfulSendAgain": true.
const methodSendAgain = "handful/sendAgain"

// lose says that the client's text is not known any more. The document keeps
// the text that it had, for the files that use it.
func (s *session) lose(was *document, version int32, what string) error {
	why := refuse("the editor sent %s: %s is kept as it was, and nothing is said about it until its whole text comes again; close the file and open it", what, plainName(was.name))
	s.edit(was.key, func(w *world) *document {
		d := *was
		d.version, d.lost = version, why
		d.analysis = s.newAnalysis(w, &d, was.analysis.lineage)
		return &d
	})
	if was.lost == nil {
		s.background(func() {
			if s.can.sendAgain {
				s.conn.Notify(s.ctx, methodSendAgain, map[string]string{"uri": string(was.uri)})
				return
			}
			s.client.ShowMessage(s.ctx, &protocol.ShowMessageParams{Type: protocol.MessageTypeError, Message: why.Error()})
		})
	}
	return why
}
