package lsp

import (
	"context"
	"encoding/json"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/lang/check"
	"example.org/handful/lang/exchange"
)

// Commands that the server runs on an open document: its URI is the first
// argument. They answer with a text.
const (
	commandSheet  = "handful.sheet"
	commandExport = "handful.export"
	commandPlan   = "handful.plan"
	// These answer with JSON: see standing, setupPlan and lineOf.
	commandStanding = "handful.standing"
	commandSetup    = "handful.setup"
	commandLineOf   = "handful.lineOf"
	// These change the document, through the client.
	commandPut       = "handful.put"
	commandPlanHere  = "handful.planHere"
	commandCover     = "handful.cover"
	commandPlanLines = "handful.planLines"
	commandWithout   = "handful.without"
)

func commandNames() []string {
	return []string{commandSheet, commandStanding, commandSetup, commandLineOf, commandPut, commandPlan, commandExport, commandPlanHere, commandCover, commandPlanLines, commandWithout}
}

func arguments(args ...any) []protocol.LSPAny {
	out := []protocol.LSPAny{}
	for _, a := range args {
		raw, err := json.Marshal(a)
		if err == nil {
			out = append(out, raw)
		}
	}
	return out
}

// tokenKey is for the token with which a client has said how it wants to be told
// of the progress of what it asks for.
type tokenKey struct{}

// ExecuteCommand runs one of them.
func (s *session) ExecuteCommand(ctx context.Context, p *protocol.ExecuteCommandParams) (protocol.LSPAny, error) {
	var args []string
	for _, raw := range p.Arguments {
		var a string
		if err := json.Unmarshal(raw, &a); err != nil {
			return nil, refuse("%s wants texts: a document's URI, and what belongs to it", p.Command)
		}
		args = append(args, a)
	}
	if len(args) == 0 {
		return nil, refuse("%s wants the URI of an open document", p.Command)
	}
	run := map[string]func(context.Context, uri.URI, []string) (string, error){
		commandSheet: s.sheet, commandStanding: s.standing, commandSetup: s.setup, commandLineOf: s.lineOf, commandPut: s.putThing,
		commandPlan: s.plan, commandExport: s.export, commandPlanHere: s.planHere, commandCover: s.cover, commandPlanLines: s.planLines, commandWithout: s.absent,
	}[p.Command]
	if run == nil {
		return nil, refuse("there is no command %s; there are %s", p.Command, strings.Join(commandNames(), ", "))
	}
	id, err := uri.Parse(args[0])
	if err != nil {
		return nil, refuse("%s is no URI", args[0])
	}
	if p.WorkDoneToken != nil {
		ctx = context.WithValue(ctx, tokenKey{}, p.WorkDoneToken)
	}
	var text string
	work := strings.TrimPrefix(p.Command, "handful.")
	if fault := s.contained(work, string(id), func() { text, err = run(ctx, id, args[1:]) }); fault != nil {
		if d := s.worldOf(ctx).docs.get(id); d != nil {
			return nil, d.analysis.blame(fault)
		}
		return nil, refuse("%s", fault.Message())
	}
	if err != nil {
		return nil, err
	}
	return textJSON(text)
}

// textJSON is a text as JSON, in one go: a page of sheets has megabytes, in which every
// mark of its markup would be six characters as they are written for pages.
func textJSON(text string) (protocol.LSPAny, error) {
	text = strings.ToValidUTF8(text, "\ufffd")
	return jsontext.AppendQuote(make([]byte, 0, len(text)+len(text)/8+2), text)
}

// sound is an open document and its check, refused where the program failed on
// it: what is made of half a piece is taken for the whole.
func (s *session) sound(ctx context.Context, id uri.URI) (*document, *check.Result, error) {
	d, r, err := s.checked(ctx, id)
	if err == nil && len(r.Faults) > 0 {
		err = refuse("%s", r.Faults[0].Message())
	}
	return d, r, err
}

// export is the document in another format that is text.
func (s *session) export(ctx context.Context, id uri.URI, args []string) (string, error) {
	_, r, err := s.sound(ctx, id)
	if err != nil {
		return "", err
	}
	if len(args) == 0 || args[0] != "musicxml" {
		return "", refuse("%s wants a format that is text: musicxml; for MIDI use  handful export FILE --to midi -o FILE", commandExport)
	}
	data, _, err := exchange.MusicXML(r, exchange.MusicXMLOptions{})
	return string(data), err
}
