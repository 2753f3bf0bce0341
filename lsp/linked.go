package lsp

import (
	"context"
	"regexp"
	"strings"

	"go.lsp.dev/protocol"

	"example.org/handful/lang/check"
)

// What a name may become while all of it is written at once: what goes further
// would not be the same name in every place, and is for renaming. Clients read
// these as regular expressions, some without classes of letters.
var (
	linkedMark   = regexp.MustCompile(`^(?:[A-Za-zÀ-ÖØ-öø-ɏ][A-Za-zÀ-ÖØ-öø-ɏ0-9]*)$`)
	linkedPlayer = regexp.MustCompile(`^(?:[A-Za-zÀ-ÖØ-öø-ɏ](?:-?[A-Za-zÀ-ÖØ-öø-ɏ0-9])*)$`)
	linkedQuoted = regexp.MustCompile(`^(?:[^"\\\r\n]+)$`)
)

// LinkedEditingRange are the places of the document that are written together
// when the name of a player, a part or a mark is: where it is made and where it
// is used. It offers nothing where that is not all of it, so that nothing is left
// behind: a part that other files share, or a name that is written in two ways.
func (s *session) LinkedEditingRange(ctx context.Context, p *protocol.LinkedEditingRangeParams) (*protocol.LinkedEditingRanges, error) {
	d, r, err := s.checked(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	y, ok := d.subjectAt(p.Position, r.Score.Catalogue)
	if !ok || y.role != rolePlayer && y.role != rolePart && y.role != roleMark {
		return nil, nil
	}
	w := s.worldOf(ctx)
	if s.mayRename(w, d, r, y) != nil {
		return nil, nil
	}
	for _, t := range s.around(w, d, r, y) {
		if t.id != d.uri && len(mentions(t.file, y, r.Score.Catalogue)) > 0 {
			return nil, nil
		}
	}
	return d.linked(r, y, p.Position), nil
}

// linked are the places of a name, without its quotes, or nil where they cannot
// be written together from a position.
func (d *document) linked(r *check.Result, y subject, p protocol.Position) *protocol.LinkedEditingRanges {
	out := &protocol.LinkedEditingRanges{}
	f, made, here := d.parsed(), 0, false
	var all *regexp.Regexp
	for i, m := range mentions(f, y, r.Score.Catalogue) {
		text := f.Lines[m.line].Text[m.span.Start:m.span.End]
		pattern := linkedPlayer
		if y.role == roleMark {
			pattern = linkedMark
		}
		if inner, ok := strings.CutPrefix(text, `"`); ok {
			pattern = linkedQuoted
			m.span.Start++
			m.span.End = m.span.Start + len(strings.TrimSuffix(inner, `"`))
			text = f.Lines[m.line].Text[m.span.Start:m.span.End]
		}
		if i > 0 && pattern != all || text != y.name || !pattern.MatchString(text) {
			return nil
		}
		all = pattern
		if m.defines {
			made++
		}
		at := d.where(m.line, m.span)
		here = here || within(p, at)
		out.Ranges = append(out.Ranges, at)
	}
	if made != 1 || !here {
		return nil
	}
	words := all.String()
	out.WordPattern = ptr(words[1 : len(words)-1]) // of a part of a line, not of all of it
	return out
}
