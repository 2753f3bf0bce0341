package written

import (
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
)

// ourTokens is a document as the reader here has it, up to the end of its first
// element: what begins with its attributes, text, and what ends.
func ourTokens(doc string) (out []string, err error) {
	p := newPuller(doc)
	e, err := p.root()
	if err != nil {
		return nil, err
	}
	for begins := true; ; {
		said := ""
		if begins {
			said = "<" + e.name
			e.each(func(key, value string) { said += fmt.Sprintf(" %s=%q", key, value) })
			out = append(out, said)
		} else {
			out = append(out, "/")
			if len(p.open) == 0 {
				return out, nil
			}
		}
		if said, e, begins, err = p.next(); err != nil {
			return nil, err
		}
		if said != "" {
			out = append(out, said)
		}
	}
}

// theirTokens is the same as the standard library has it.
func theirTokens(doc string) (out []string, err error) {
	dec := xml.NewDecoder(strings.NewReader(doc))
	dec.CharsetReader = func(_ string, in io.Reader) (io.Reader, error) { return in, nil }
	text := ""
	flush := func() {
		if text != "" {
			out = append(out, text)
		}
		text = ""
	}
	for depth := 0; ; {
		tok, err := dec.Token()
		if err != nil {
			return nil, err
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			if depth > 0 {
				flush()
			}
			text = ""
			depth++
			said := "<" + tok.Name.Local
			for _, a := range tok.Attr {
				said += fmt.Sprintf(" %s=%q", a.Name.Local, a.Value)
			}
			out = append(out, said)
		case xml.EndElement:
			flush()
			out = append(out, "/")
			if depth--; depth == 0 {
				return out, nil
			}
		case xml.CharData:
			text += string(tok)
		}
	}
}

// agree compares the two readers. Where the other is stricter about what the
// reader here passes over, or knows more letters, they may differ.
func agree(t require.TestingT, doc string) {
	theirs, bad := theirTokens(doc)
	ours, err := ourTokens(doc)
	switch {
	case bad == nil && (!utf8.ValidString(doc) || strings.Contains(doc, ":") || strings.Contains(doc, "<!") || strings.Count(doc, "<") > maxNesting || len(doc) >= maxText):
		// bytes that are no text, in what they pass over; names in a space of their own; bounds
		if err == nil && !strings.Contains(doc, ":") && !strings.Contains(doc, "<!") && len(doc) < maxText {
			assert.Equal(t, theirs, ours, "%q", doc)
		}
	case bad == nil:
		require.NoError(t, err, "%q", doc)
		require.Equal(t, theirs, ours, "%q", doc)
	case err == nil && !strings.Contains(doc, "<?") && !strings.Contains(doc, "<!") && !strings.Contains(doc, ":") && strings.IndexFunc(doc, func(c rune) bool { return c >= utf8.RuneSelf }) < 0:
		t.Errorf("it is taken, and the other reader says %v: %q", bad, doc)
		t.FailNow()
	}
}

// Documents put together of what documents are made of, well and badly, are to
// the reader here what they are to the standard library's.
func TestDocumentsAreReadAsTheStandardLibraryReadsThem(t *testing.T) {
	pieces := []string{"<a>", "<a>", "</a>", "</a>", "<b x='1' y = \"2\">", "</b>", "<c/>", "<c z='&lt;&#65;&#x42;'/>", "<d\n e='f'\t/>", "text", " ", "\n", "\r\n", "\r", "&amp;", "&quot;&apos;&gt;&lt;",
		"&#10;", "<!-- - c -->", "<![CDATA[ <x> & ]]>", "<?pi some?>", "é", "&#x1d11e;", "]", "]]", "a]b", "</a >",
		"&", "&nbsp;", "&#0;", "<", "< a>", "<a b>", "<a b=c>", "<a b='<'>", "<a b='&'>", "]]>", "</x>", "\x01", "<a b='1'c='2'>", "<a/ >", "<1>", "&#xfffe;", "\uffff", "&#55296;", "&#x110000;", "<!--", "<?", "<![CDATA["}
	draws.Check(t, func(t *rapid.T) {
		most := len(pieces) - 1
		if rapid.IntRange(0, 2).Draw(t, "well") > 0 {
			most = 25
		}
		var b strings.Builder
		b.WriteString(rapid.SampledFrom([]string{"", "<?xml version='1.0' encoding='UTF-8'?>", "<!DOCTYPE a>", " "}).Draw(t, "head"))
		b.WriteString("<r>")
		for range rapid.IntRange(0, 12).Draw(t, "pieces") {
			b.WriteString(pieces[rapid.IntRange(0, most).Draw(t, "piece")])
		}
		b.WriteString("</r>")
		agree(t, b.String())
	})
	doc := string(parade(t))
	ours, err := ourTokens(doc)
	require.NoError(t, err)
	theirs, err := theirTokens(doc)
	require.NoError(t, err)
	assert.Equal(t, theirs, ours)
}

func FuzzDocument(f *testing.F) {
	f.Add("<a b='c'>d&amp;<e/><!-- f --></a>")
	f.Fuzz(func(t *testing.T, doc string) { agree(t, doc) })
}

// What is wrong with a document is said at its line.
func TestWhatIsWrongWithADocument(t *testing.T) {
	for doc, want := range map[string]string{
		"<a>\n<b></a>":  "line 2: <b> is ended by </a>",
		"<a>\n\n<b":     "line 3: it ends in the middle",
		"<a>":           "line 1: it ends in the middle",
		"":              "line 1: it ends in the middle",
		"\n</a>":        "line 2: </a> ends what has not begun",
		"<a>&nbsp;</a>": "line 1: &nbsp; is no character that XML itself has; a & by itself is written &amp;",
		"<a b>":         "line 1: the attribute b of <a> has no value",
		"<a b=c>":       "line 1: the attribute b of <a> has a value without quotation marks",
		"<a>\n\x01</a>": "line 1: a character that no document can have: U+0001",
		"<a>\n\xff</a>": "line 2: invalid UTF-8",
		"<!DOCTYPE a [<!ENTITY b 'c>d'>\n]><a>&b;<": "line 2: &b; is no character that XML itself has; a & by itself is written &amp;",
		strings.Repeat("<a>", 300):                  "line 1: elements stand more than 200 deep in one another",
	} {
		_, err := ourTokens(doc)
		assert.EqualError(t, err, want, "%q", doc)
	}
	said, err := ourTokens("<!DOCTYPE a PUBLIC \"-//X//Y>\" 'z' [ <!-- ' --> <!ELEMENT a ANY> ]><a>b</a>")
	assert.NoError(t, err)
	assert.Equal(t, []string{"<a", "b", "/"}, said)
}
