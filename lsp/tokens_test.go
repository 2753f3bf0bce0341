package lsp

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.lsp.dev/protocol"
)

// Tokens are where the pieces of the lines are, whatever ends the lines, and a text
// that follows another has those that it has by itself.
func TestTokensAreWhereThePiecesAre(t *testing.T) {
	paths, err := filepath.Glob("../examples/*.handful")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	var texts []string
	for _, path := range paths {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		texts = append(texts, string(text))
	}
	random := rand.New(rand.NewPCG(20, 3))
	for _, text := range texts[:len(texts):len(texts)] {
		lines := strings.Split(text, "\n")
		i := random.IntN(len(lines))
		lines[i] = strings.Repeat(lines[i]+" \U0001F941 é", 2)
		texts = append(texts, strings.Join(append([]string{"\ufefftitle \"x\""}, lines...), "\r\n"), strings.Join(lines, "\r"),
			strings.ReplaceAll(text, "1 ", "1 \r\r\n"), strings.ReplaceAll(text, " | ", " |\r\n\r"), "", text[:len(text)/2])
	}
	for _, enc := range []encoding{utf8Columns, utf16Columns, utf32Columns} {
		var last colouredLines
		for _, text := range texts {
			d := &document{source: newSource("file:///a.handful", "file:///a.handful", newIndex(text, enc), nil)}
			var got []uint32
			got, last = d.encodeTokensAfter(last)
			require.Equal(t, piecesAsTokens(d), got, "%q", text)
			anew, _ := d.encodeTokensAfter(colouredLines{})
			require.Equal(t, anew, got)
			from := random.IntN(len(d.parsed().Lines))
			require.Equal(t, anew, d.encodeTokens(0, len(d.parsed().Lines)+5))
			require.Zero(t, len(d.encodeTokens(from, from))%5)
		}
	}
}

// piecesAsTokens are all tokens of a document, each looked up by itself.
func piecesAsTokens(d *document) []uint32 {
	out := []uint32{}
	last := protocol.Position{}
	f := d.parsed()
	for i, l := range f.Lines {
		for _, p := range piecesOf(l, d.seats()[i]) {
			at := d.idx.position(f.Starts[i] + p.Start)
			delta := at.Character
			if at.Line == last.Line {
				delta -= last.Character
			}
			modifiers := uint32(0)
			if p.defines {
				modifiers = 1
			}
			if p.role == roleLimb {
				modifiers |= sideOf(l.Text[p.Start:p.End])
			}
			out = append(out, at.Line-last.Line, delta, uint32(d.idx.enc.units(l.Text[p.Start:p.End])), tokenNumbers()[p.role], modifiers)
			last = at
		}
	}
	return out
}

// What is sent by hand is what the protocol's own types would send.
func TestTokensAreSentAsTheProtocolWritesThem(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 7))
	for n := range 300 {
		data := make([]uint32, n)
		for i := range data {
			data[i] = random.Uint32() >> random.IntN(33)
		}
		id := strings.Repeat("a1", n%4)
		tokens := &protocol.SemanticTokens{ResultID: &id, Data: data}
		want, err := protocol.Marshal(tokens)
		require.NoError(t, err)
		got, err := codec{}.Marshal(tokens)
		require.NoError(t, err)
		assert.Equal(t, string(want), string(got))
	}
}
