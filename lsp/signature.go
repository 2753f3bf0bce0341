package lsp

import (
	"context"
	"strings"

	"go.lsp.dev/protocol"

	"example.org/handful/lang/syntax"
)

// SignatureHelp shows how the statement at the cursor is written, and how far
// it has come.
func (s *session) SignatureHelp(ctx context.Context, p *protocol.SignatureHelpParams) (*protocol.SignatureHelp, error) {
	d, err := s.find(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	f := d.parsed()
	line, col := d.at(p.Position)
	l := f.Lines[line]
	if col > len(l.Code())+1 || strings.TrimSpace(l.Text[:col]) == "" {
		return nil, nil
	}
	form := syntax.FormFor(l.Text, d.seats()[line].Block)
	if form == nil {
		return nil, nil
	}
	var params []protocol.ParameterInformation
	at := 0
	for _, word := range strings.Fields(form.Shape) {
		i := strings.Index(form.Shape[at:], word) + at
		params = append(params, protocol.ParameterInformation{Label: protocol.ParameterInformationLabelTuple{
			uint32(s.enc.units(form.Shape[:i])), uint32(s.enc.units(form.Shape[:i+len(word)])),
		}})
		at = i + len(word)
	}
	active := min(fieldsBefore(l.Text[:col]), len(params)-1)
	return &protocol.SignatureHelp{
		Signatures: []protocol.SignatureInformation{{
			Label: form.Shape, Documentation: protocol.String(form.Says), Parameters: params,
		}},
		ActiveSignature: ptr(uint32(0)),
		ActiveParameter: protocol.NewNullable(uint32(max(0, active))),
	}, nil
}

// fieldsBefore is how many words end before the cursor.
func fieldsBefore(text string) int {
	n := len(strings.Fields(text))
	if text != "" && text[len(text)-1] != ' ' && text[len(text)-1] != '\t' {
		n--
	}
	return n
}
