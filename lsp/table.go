package lsp

import "iter"

// A table is a map that does not change: with and without give another one,
// which shares with it all but one part. The work of a change is that of a
// part, so that ten thousand documents are opened in ten thousand steps.
type table[K ~string, V any] struct {
	parts [tableParts]map[K]V
	n     int
}

const tableParts = 256

// part is where a key is kept: by the FNV-1a hash of its letters.
func (t *table[K, V]) part(k K) int {
	h := uint32(2166136261)
	for i := 0; i < len(k); i++ {
		h = (h ^ uint32(k[i])) * 16777619
	}
	return int((h ^ h>>16) % tableParts)
}

// get is what stands under a key, or nothing.
func (t *table[K, V]) get(k K) V { return t.parts[t.part(k)][k] }

func (t *table[K, V]) with(k K, v V) *table[K, V] {
	c, m := t.copied(k)
	if _, had := m[k]; !had {
		c.n++
	}
	m[k] = v
	return c
}

func (t *table[K, V]) without(k K) *table[K, V] {
	if _, had := t.parts[t.part(k)][k]; !had {
		return t
	}
	c, m := t.copied(k)
	delete(m, k)
	c.n--
	return c
}

// copied is a table like this one whose part for a key is its own.
func (t *table[K, V]) copied(k K) (*table[K, V], map[K]V) {
	c := *t
	i := t.part(k)
	m := make(map[K]V, len(t.parts[i])+1)
	for k, v := range t.parts[i] {
		m[k] = v
	}
	c.parts[i] = m
	return &c, m
}

// all goes through what is there, in no order.
func (t *table[K, V]) all() iter.Seq2[K, V] {
	return func(yield func(K, V) bool) {
		for _, m := range t.parts {
			for k, v := range m {
				if !yield(k, v) {
					return
				}
			}
		}
	}
}
