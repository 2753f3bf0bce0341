package since

import (
	"encoding/hex"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

var errUnknown = errors.New("it is not known")

// leastDigits is how many digits of a commit's name are taken for it, as git
// takes them.
const leastDigits = 4

// commitNamed finds a commit by what people call it: a branch, a tag, digits of
// its own name, and behind that ~3 for the third before it, ^2 for the second of
// those that were merged, and so on.
func (r *store) commitNamed(revision string) (plumbing.Hash, error) {
	name, steps := revision, ""
	if i := strings.IndexAny(revision, "~^"); i >= 0 {
		name, steps = revision[:i], revision[i:]
	}
	at, err := r.begins(name)
	for steps != "" && err == nil {
		at, steps, err = r.step(at, steps)
	}
	return at, err
}

// begins finds the commit that a name without steps is of.
func (r *store) begins(name string) (plumbing.Hash, error) {
	if name == "@" {
		name = string(plumbing.HEAD)
	}
	if plumbing.IsHash(name) {
		if hash, err := r.peeled(plumbing.NewHash(name)); err == nil {
			return hash, nil
		}
	}
	for _, rule := range plumbing.RefRevParseRules {
		ref, err := storer.ResolveReference(r, plumbing.ReferenceName(fmt.Sprintf(rule, name)))
		if err != nil || ref == nil {
			continue
		}
		if hash, err := r.peeled(ref.Hash()); err == nil {
			return hash, nil
		}
	}
	return r.abbreviated(strings.ToLower(name))
}

// abbreviated finds the one commit whose name begins so.
func (r *store) abbreviated(digits string) (is plumbing.Hash, err error) {
	begin, err := hex.DecodeString(digits[:len(digits)&^1])
	if err != nil || len(digits) < leastDigits {
		return is, errUnknown
	}
	list, err := r.HashesWithPrefix(begin)
	if err != nil {
		return is, err
	}
	for _, hash := range list {
		if !strings.HasPrefix(hash.String(), digits) {
			continue
		}
		of, err := r.peeled(hash)
		switch {
		case err != nil:
		case is.IsZero() || is == of:
			is = of
		default:
			return is, errUnknown // there are several
		}
	}
	if is.IsZero() {
		return is, errUnknown
	}
	return is, nil
}

// peeled is the commit that an object is, or is a tag of.
func (r *store) peeled(hash plumbing.Hash) (plumbing.Hash, error) {
	for {
		if _, err := r.EncodedObject(plumbing.CommitObject, hash); err == nil {
			return hash, nil
		}
		of, err := r.tagged(hash)
		if err != nil {
			return hash, err
		}
		hash = of
	}
}

// step goes from a commit to where the first of the steps behind its name leads.
func (r *store) step(at plumbing.Hash, steps string) (to plumbing.Hash, rest string, err error) {
	kind, rest := steps[0], steps[1:]
	for _, itself := range []string{"{commit}", "{}"} {
		if after, ok := strings.CutPrefix(rest, itself); kind == '^' && ok {
			return at, after, nil
		}
	}
	digits := rest[:len(rest)-len(strings.TrimLeft(rest, "0123456789"))]
	rest = rest[len(digits):]
	n := 1
	if digits != "" {
		if n, err = strconv.Atoi(digits); err != nil {
			return to, "", err
		}
	}
	switch {
	case kind == '~':
		for ; n > 0 && err == nil; n-- {
			at, err = r.parent(at, 1)
		}
		return at, rest, err
	case kind == '^' && n == 0:
		return at, rest, nil
	case kind == '^':
		at, err = r.parent(at, n)
		return at, rest, err
	}
	return to, "", errUnknown
}

// parent is the so-many-th of the commits that a commit comes from.
func (r *store) parent(of plumbing.Hash, n int) (plumbing.Hash, error) {
	c, err := r.commit(of)
	if err == nil && n > len(c.parents) {
		err = errUnknown
	}
	if err != nil {
		return of, err
	}
	return c.parents[n-1], nil
}
