package lsp

import (
	"context"
	"encoding/json"
	"strings"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"handful/lang/exchange"
)

// Commands that the server runs on an open document: its URI is the first
// argument. They answer with a text.
const (
	commandSheet  = "handful.sheet"
	commandExport = "handful.export"
	commandPlan   = "handful.plan"
	// These change the document, through the client.
	commandPlanHere  = "handful.planHere"
	commandCover     = "handful.cover"
	commandPlanLines = "handful.planLines"
)

func commandNames() []string {
	return []string{commandSheet, commandPlan, commandExport, commandPlanHere, commandCover, commandPlanLines}
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
		commandSheet: s.sheet, commandPlan: s.plan, commandExport: s.export, commandPlanHere: s.planHere, commandCover: s.cover, commandPlanLines: s.planLines,
	}[p.Command]
	if run == nil {
		return nil, refuse("there is no command %s; there are %s", p.Command, strings.Join(commandNames(), ", "))
	}
	id, err := uri.Parse(args[0])
	if err != nil {
		return nil, refuse("%s is no URI", args[0])
	}
	text, err := run(ctx, id, args[1:])
	if err != nil {
		return nil, err
	}
	return json.Marshal(text)
}

// export is the document in another format that is text.
func (s *session) export(ctx context.Context, id uri.URI, args []string) (string, error) {
	_, r, err := s.checked(ctx, id)
	if err != nil {
		return "", err
	}
	if len(args) == 0 || args[0] != "musicxml" {
		return "", refuse("%s wants a format that is text: musicxml; for MIDI use  handful export FILE --to midi -o FILE", commandExport)
	}
	data, err := exchange.MusicXML(r)
	return string(data), err
}
