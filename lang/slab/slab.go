// Package slab gives out room for lists, piece by piece, and takes it back all at once.
//
// Whoever works through many texts, one after the other, needs the same room for each
// again: what is worked out of one is done with when the next one comes. In come how many
// values a list will have. Out come empty lists, which may grow beyond that as any list.
// The package never looks at what they hold.
package slab

import "unsafe"

// An Of is room for values of one kind. It is not for several goroutines at once. Of a nil
// one each list has room of its own, and nothing is ever taken back.
type Of[T any] struct {
	block []T // what is given out of it
}

const (
	// least is how many values there is room for at first.
	least = 64
	// most is how much room is kept for what comes next, in bytes: one very long text
	// is no reason for more.
	most = 1 << 20
)

// List is an empty list with room for so many.
func (s *Of[T]) List(n int) []T {
	if s == nil {
		return make([]T, 0, n)
	}
	if s.block == nil || cap(s.block)-len(s.block) < n {
		s.block = make([]T, 0, max(least, 2*cap(s.block), n)) // the lists that there are keep theirs
	}
	at := len(s.block)
	s.block = s.block[:at+n]
	return s.block[at : at : at+n]
}

// Zeros is a list of so many that are nothing yet.
func (s *Of[T]) Zeros(n int) []T {
	if s == nil {
		return make([]T, n)
	}
	list := s.List(n)[:n]
	clear(list)
	return list
}

// New is a value that is nothing yet.
func (s *Of[T]) New() *T {
	if s == nil {
		return new(T)
	}
	return &s.Zeros(1)[0]
}

// Clear takes back all that was given out, which is good for nothing from then on.
func (s *Of[T]) Clear() {
	if s == nil {
		return
	}
	var one T
	if s.block = s.block[:0]; uintptr(cap(s.block))*unsafe.Sizeof(one) > most {
		s.block = nil
	}
}
