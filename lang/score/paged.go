package score

import "slices"

// A paged is something for each line of a file, of most of which there is nothing. Who
// goes on from an earlier one copies the pages that are written in and no others; the
// earlier one stays as it is.
type paged[T any] struct {
	pages [][]T // nil is nothing
	own   []bool
}

const (
	pageBits = 5
	pageSize = 1 << pageBits
)

func newPaged[T any](lines int) *paged[T] {
	n := (lines + pageSize - 1) >> pageBits
	return &paged[T]{make([][]T, n), make([]bool, n)}
}

// with is another one with the same, of a file of so many lines.
func (p *paged[T]) with(lines int) *paged[T] {
	now := newPaged[T](lines)
	copy(now.pages, p.pages)
	return now
}

// at is what there is for a line.
func (p *paged[T]) at(line int) (what T) {
	if p == nil || line>>pageBits >= len(p.pages) || p.pages[line>>pageBits] == nil {
		return what
	}
	return p.pages[line>>pageBits][line&(pageSize-1)]
}

func (p *paged[T]) set(line int, what T) { *p.mine(line) = what }

// mine is the place for a line, to be written in.
func (p *paged[T]) mine(line int) *T {
	n := line >> pageBits
	switch {
	case p.own[n]:
	case p.pages[n] == nil:
		p.pages[n] = make([]T, pageSize)
	default:
		p.pages[n] = slices.Clone(p.pages[n])
	}
	p.own[n] = true
	return &p.pages[n][line&(pageSize-1)]
}

// clear lets go of what there is for some lines.
func (p *paged[T]) clear(from, to int) {
	var none T
	for line := from; line < to; {
		switch n := line >> pageBits; {
		case p.pages[n] == nil:
			line = (n + 1) << pageBits
		case line&(pageSize-1) == 0 && line+pageSize <= to:
			p.pages[n], p.own[n] = nil, false
			line += pageSize
		default:
			p.set(line, none)
			line++
		}
	}
}
