package main

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The server's messages come out as they are made, byte for byte: what is for
// people is cleaned, and this is not for people.
func TestTheServerSpeaksOnStandardOutput(t *testing.T) {
	message := func(body string) string {
		return fmt.Sprintf("Content-Length: %d\r\n\r\n%s", len(body), body)
	}
	in := message(`{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"processId":null,"rootUri":null,"capabilities":{}}}`) +
		message(`{"jsonrpc":"2.0","method":"initialized","params":{}}`) +
		message(`{"jsonrpc":"2.0","id":2,"method":"shutdown"}`) + message(`{"jsonrpc":"2.0","method":"exit"}`)
	out, errs, code := run(t, in, "lsp")
	assert.Equal(t, exitClean, code, errs)
	for n := 0; ; n++ {
		if out == "" {
			assert.GreaterOrEqual(t, n, 2)
			return
		}
		head, rest, ok := strings.Cut(out, "\r\n\r\n")
		require.True(t, ok, "%q", out)
		var size int
		_, err := fmt.Sscanf(head, "Content-Length: %d", &size)
		require.NoError(t, err, "%q", head)
		require.LessOrEqual(t, size, len(rest))
		assert.True(t, strings.HasPrefix(rest, "{") && strings.HasSuffix(rest[:size], "}"), "%q", rest[:size])
		out = rest[size:]
	}
}
