package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
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

// A talker is what an editor says to the server, and what it hears.
type talker struct {
	to   io.Writer
	from *bufio.Reader
	last int
}

func talk(t *testing.T) *talker {
	in, to := io.Pipe()
	from, out := io.Pipe()
	done := make(chan int, 1)
	go func() { done <- Run([]string{"lsp"}, in, out, io.Discard) }()
	c := &talker{to, bufio.NewReader(from), 0}
	t.Cleanup(func() {
		c.answer(t, "shutdown", nil)
		c.say(t, map[string]any{"method": "exit"})
		assert.Equal(t, exitClean, <-done)
	})
	c.answer(t, "initialize", map[string]any{"processId": nil, "rootUri": nil, "capabilities": map[string]any{}})
	c.say(t, map[string]any{"method": "initialized", "params": map[string]any{}})
	return c
}

func (c *talker) say(t require.TestingT, message map[string]any) {
	message["jsonrpc"] = "2.0"
	body, err := json.Marshal(message)
	require.NoError(t, err)
	_, err = fmt.Fprintf(c.to, "Content-Length: %d\r\n\r\n%s", len(body), body)
	require.NoError(t, err)
}

// answer is what the server answers, as text, and whether it did not refuse to.
func (c *talker) answer(t require.TestingT, method string, params any) (string, bool) {
	c.last++
	c.say(t, map[string]any{"id": c.last, "method": method, "params": params})
	for {
		var size int
		for {
			line, err := c.from.ReadString('\n')
			require.NoError(t, err)
			if line = strings.TrimSpace(line); line == "" {
				break
			}
			_, _ = fmt.Sscanf(line, "Content-Length: %d", &size)
		}
		body := make([]byte, size)
		_, err := io.ReadFull(c.from, body)
		require.NoError(t, err)
		var heard struct {
			ID     *int
			Method string
			Result any
			Error  *struct{ Message string }
		}
		if json.Unmarshal(body, &heard) != nil || heard.ID == nil || heard.Method != "" || *heard.ID != c.last {
			continue
		}
		text, _ := heard.Result.(string)
		return text, heard.Error == nil
	}
}

// plannedAlike says whether the server's plans of a text are those of the command, byte for byte.
func (c *talker) plannedAlike(t require.TestingT, text, players string) bool {
	uri := fmt.Sprintf("untitled:piece-%d", c.last)
	c.say(t, map[string]any{"method": "textDocument/didOpen", "params": map[string]any{"textDocument": map[string]any{"uri": uri, "languageId": "handful", "version": 1, "text": text}}})
	args := []string{"plan", "-"}
	if players != "" {
		args = append(args, "--players", players)
	}
	var out, errs strings.Builder
	code := Run(args, strings.NewReader(text), &out, &errs)
	got, ok := c.answer(t, "workspace/executeCommand", map[string]any{"command": "handful.plan", "arguments": []string{uri, players}})
	require.Equal(t, code == exitClean, ok, "%s\n%s", errs.String(), text)
	if ok {
		require.Equal(t, out.String(), got, text)
	}
	c.say(t, map[string]any{"method": "textDocument/didClose", "params": map[string]any{"textDocument": map[string]any{"uri": uri}}})
	return ok
}

// What the server plans is what the command plans, to the byte: of shipped pieces, as they are
// and of their parts alone, and of made-up ones.
func TestTheServerPlansAsTheCommandDoes(t *testing.T) {
	c := talk(t)
	for _, piece := range []string{"lighthouse", "weir", "harbour-march"} {
		text, err := os.ReadFile(filepath.Join("../../examples", piece+".handful"))
		require.NoError(t, err)
		parts, _, _ := strings.Cut(string(text), "\nplayer ")
		require.True(t, c.plannedAlike(t, string(text), ""), piece)
		require.True(t, c.plannedAlike(t, parts+"\n", "2"), piece)
	}
	planned := 0
	madeup.Try(t, 20, func(r *rapid.T) {
		text := madeup.Parts(r, 4, 6)
		if rapid.Bool().Draw(r, "somebody") {
			text += "player Ida\n  profile student\n"
		}
		if c.plannedAlike(r, text, rapid.SampledFrom([]string{"", "1", "2", "3"}).Draw(r, "players")) {
			planned++
		}
	})
	require.Positive(t, planned, "some of them can be planned")
	t.Log(planned, "made-up pieces planned")
}
