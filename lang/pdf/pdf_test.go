package pdf

import (
	"bytes"
	"compress/zlib"
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTextStrings(t *testing.T) {
	for in, want := range map[string]string{
		"plain":      "(plain)",
		`a(b)\c`:     `(a\(b\)\\c)`,
		"più":        "<FEFF0070006900F9>",
		"a\nb":       "<FEFF0061000A0062>",
		"\U0001d11e": "<FEFFD834DD1E>",
	} {
		assert.Equal(t, want, text(in))
	}
}

func TestNumbers(t *testing.T) {
	for in, want := range map[float64]string{0: "0", -0.001: "0", 100: "100", 0.5: "0.5", -1.25: "-1.25", 1.005: "1", 20: "20"} {
		assert.Equal(t, want, num(in))
	}
}

// An outline of two levels: who is below whom, and beside whom.
func TestTheOutlineIsATree(t *testing.T) {
	f := New(About{Title: "x", Language: "en"})
	p := f.Page(100, 200)
	p.For(f.Root().Add(Paragraph))
	p.Line(0, 0, 10, 10, Look{Thick: 1})
	p.Done()
	for _, m := range []struct {
		title string
		level int
	}{{"a", 0}, {"a1", 1}, {"a2", 1}, {"b", 0}} {
		f.Bookmark(m.title, m.level, p, 50)
	}
	out := f.Bytes()
	at := bytes.Index(out, []byte("/Type/ObjStm"))
	require.Positive(t, at)
	_, packed, _ := bytes.Cut(out[at:], []byte("stream\n"))
	z, err := zlib.NewReader(bytes.NewReader(packed))
	require.NoError(t, err)
	objects, err := io.ReadAll(z)
	require.NoError(t, err)
	for _, want := range []string{
		`<</Type/Outlines/First \d+ 0 R/Last \d+ 0 R/Count 2>>`,
		`<</Title \(a\)/Parent \d+ 0 R/Dest\[\d+ 0 R/XYZ null 150 null\]/First \d+ 0 R/Last \d+ 0 R/Count 2/Next \d+ 0 R>>`,
		`<</Title \(a1\)/Parent \d+ 0 R/Dest\[.*\]/Next \d+ 0 R>>`,
		`<</Title \(a2\)/Parent \d+ 0 R/Dest\[.*\]/Prev \d+ 0 R>>`,
		`<</Title \(b\)/Parent \d+ 0 R/Dest\[.*\]/Prev \d+ 0 R>>`,
		`/S/P/P \d+ 0 R/Pg \d+ 0 R/K\[0\]`,
	} {
		assert.Regexp(t, want, string(objects))
	}
}
