// Package draws tries properties on what a generator draws, always the same from
// run to run: that a test fails is then the doing of a change and not of chance.
package draws

import (
	"flag"
	"os"
	"testing"

	"pgregory.net/rapid"
)

// Seed is what draws begin with. HANDFUL_SEED names another one, and so does the
// flag -rapid.seed.
func Seed() string {
	if seed := os.Getenv("HANDFUL_SEED"); seed != "" {
		return seed
	}
	return "20250611"
}

// The flags are given these values before the command line is read, which may
// give them others. What fails is told with its seed, so no file keeps it.
func init() {
	for name, value := range map[string]string{"rapid.seed": Seed(), "rapid.nofailfile": "true"} {
		if err := flag.Set(name, value); err != nil {
			panic(err)
		}
	}
}

// Check tries a property.
func Check(t *testing.T, property func(t *rapid.T)) {
	t.Helper()
	rapid.Check(t, property)
}
