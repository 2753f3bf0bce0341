package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What editors colour is what the notation has: a new statement or word without
// go generate is found here.
func TestEditorsColourTheWordsThatThereAre(t *testing.T) {
	for file, lists := range files() {
		text, err := os.ReadFile(filepath.Join("..", "..", "..", "..", "editors", file))
		require.NoError(t, err)
		for _, l := range lists {
			assert.Equal(t, 1, strings.Count(string(text), l.before), "%s has %s once", file, l.before)
		}
		assert.Equal(t, fresh(string(text), lists), string(text), "%s: run go generate ./lang/syntax", file)
	}
}
