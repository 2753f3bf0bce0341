package madeup

import (
	"flag"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
)

// Try tries a property on so many pieces: fewer with -short, more when
// HANDFUL_FILES says how many times as many. The seed is fixed, so that a
// change and not chance makes a test fail; HANDFUL_SEED takes another one.
func Try(t *testing.T, many int, property func(t *rapid.T)) {
	t.Helper()
	if testing.Short() {
		many /= 2 // and rapid takes a fifth of that
	}
	if by, err := strconv.Atoi(os.Getenv("HANDFUL_FILES")); err == nil && by > 0 {
		many *= by
	}
	set(t, "rapid.checks", strconv.Itoa(many))
	set(t, "rapid.seed", draws.Seed())
	set(t, "rapid.shrinktime", "10s")
	draws.Check(t, property)
}

// set gives a flag of the library another value for one test.
func set(t *testing.T, name, value string) {
	f := flag.Lookup(name)
	if f == nil {
		t.Fatalf("there is no flag %s", name)
	}
	was := f.Value.String()
	if err := flag.Set(name, value); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := flag.Set(name, was); err != nil {
			t.Error(err)
		}
	})
}
