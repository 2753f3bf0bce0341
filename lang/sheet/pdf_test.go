package sheet

import (
	"bytes"
	"compress/zlib"
	"io"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/unicode/norm"

	"example.org/handful/lang/check"
)

// objectsOf is the objects of a PDF that are packed together.
func objectsOf(t *testing.T, data []byte) []byte {
	at := bytes.Index(data, []byte("/Type/ObjStm"))
	require.Positive(t, at)
	_, packed, _ := bytes.Cut(data[at:], []byte("stream\n"))
	z, err := zlib.NewReader(bytes.NewReader(packed))
	require.NoError(t, err)
	out, err := io.ReadAll(z)
	require.NoError(t, err)
	return out
}

// fontFile is a font of the machine, or skips with its name.
func fontFile(t *testing.T, file, packed string) *Font {
	data, err := os.ReadFile(file)
	if err != nil {
		t.Skipf("%s is not installed: what needs its font is not tested here", packed)
	}
	f, err := NewFont(data)
	require.NoError(t, err)
	return f
}

func dejaVu(t *testing.T) *Font {
	return fontFile(t, "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf", "fonts-dejavu-core")
}

func lohit(t *testing.T) *Font {
	return fontFile(t, "/usr/share/fonts/truetype/lohit-devanagari/Lohit-Devanagari.ttf", "fonts-lohit-deva")
}

// said is a PDF's words as a reader of its structure has them.
func said(t *testing.T, file string) string {
	out, err := exec.Command(tool(t, "pdfinfo"), "-struct-text", file).CombinedOutput()
	require.NoError(t, err, string(out))
	return string(out)
}

// What the PDF is made of, as poppler reads it: each sheet begins with its title, its
// tables have heads and as many cells in each row, and pictures have a place and words.
func TestThePDFIsTagged(t *testing.T) {
	docs := Docs([]*check.Result{ferry(t)}, Options{})
	file := writePDF(t, docs)
	info, err := exec.Command(tool(t, "pdfinfo"), file).CombinedOutput()
	require.NoError(t, err)
	assert.Regexp(t, `(?m)^Tagged: +yes$`, string(info))
	assert.Regexp(t, `(?m)^Metadata Stream: +yes$`, string(info))

	text := said(t, file)
	assert.NotContains(t, text, "Error")
	sheets := regexp.MustCompile(`(?m)^  Sect`).Split(text, -1)[1:]
	require.Len(t, sheets, len(docs))
	for i, s := range sheets {
		assert.True(t, strings.HasPrefix(strings.TrimSpace(s), "H1"), "%s begins with its title: %.80s", docs[i].heading(), s)
	}
	for _, row := range regexp.MustCompile(`(?m)^      TR\n((?:        .*\n)*)`).FindAllStringSubmatch(text, -1) {
		heads := strings.Count(row[1], "        TH")
		assert.Positive(t, heads, "every row says what it is about: %s", row[0])
		assert.Equal(t, heads, strings.Count(row[1], "/Scope /"), "and each head for what it is one")
	}
	for _, table := range regexp.MustCompile(`(?m)^    Table.*\n((?:      .*\n)*)`).FindAllStringSubmatch(text, -1) {
		rows := strings.Split(table[1], "      TR\n")[1:]
		require.Greater(t, len(rows), 1)
		cells := func(row string) int { return strings.Count(row, "        TH") + strings.Count(row, "        TD") }
		for _, r := range rows {
			assert.Equal(t, cells(rows[0]), cells(r), "a row of another length: %s", r)
		}
	}
	assert.Greater(t, strings.Count(text, "Table (block)"), 5)

	data, err := os.ReadFile(file)
	require.NoError(t, err)
	objects := string(objectsOf(t, data))
	figures := strings.Count(objects, "/S/Figure")
	assert.Equal(t, figures, strings.Count(text, "Figure:"))
	assert.Equal(t, figures, len(regexp.MustCompile(`/S/Figure/P \d+ 0 R/Pg \d+ 0 R/Alt (\(..|<FEFF)`).FindAllString(objects, -1)), "words for every picture")
	assert.Equal(t, figures, strings.Count(text, "/BBox"))
}

// What is packed is a table: what each thing is heads its row, for whom it is has a
// cell, and so has every box and line, for whoever fills them in.
func TestThePackingListIsATable(t *testing.T) {
	var list []Doc
	for _, doc := range Docs([]*check.Result{ferry(t)}, Options{Paper: Papers()[2]}) { // small: over several pages
		if doc.Kind == "packing" {
			list = append(list, doc)
		}
	}
	require.Len(t, list, 1)
	require.Greater(t, len(list[0].Pages), 1)
	text := said(t, writePDF(t, list))
	rows := strings.Split(text, "      TR\n")
	heads := 0
	for _, r := range rows[1:] {
		heads += strings.Count(r, "/Scope /Column")
		assert.Equal(t, 7, strings.Count(r, "        T"), r)
	}
	assert.GreaterOrEqual(t, heads, 4*7, "each kind of things has its heads")
	cymbals := regexp.MustCompile(`(?m)/Scope /Row\n +"2 suspended cymbals ?"\n +TD.*\n +"Nell, Tam ?"\n`)
	assert.Regexp(t, cymbals, text)
	assert.NotRegexp(t, `(?m)^    P.*\n +"(snare drum|clip for)`, text)
}

// Every word that is drawn is in the structure, but running heads and the numbers
// of pages.
func TestEveryWordOfThePDFIsRead(t *testing.T) {
	docs := Docs([]*check.Result{ferry(t)}, Options{})
	text := strings.Join(strings.Fields(said(t, writePDF(t, docs))), " ")
	for i := range docs {
		for _, p := range docs[i].Pages {
			for n := range p.Items {
				it := &p.Items[n]
				if it.Kind != wording || it.Text == "" || it.tag > 0 && p.tags[it.tag-1].kind == apart {
					continue
				}
				assert.Contains(t, text, strings.Join(strings.Fields(it.Text), " "), docs[i].heading())
			}
		}
	}
}

const ofManyScripts = `title "Ζέφυρος и Буря"
credit "שיר של נועה, 3 חלקים"
tempo 90
player "نهر طويل"
  R snare-drum | mf 1 2& | "בשקט גמור" 1
player "שִׁיר"
  R bass-drum | 1 | "धीरे हिन्दी" 2
`

// Text of every script is in its order, for whoever takes it out of the PDF and for
// whoever has it read.
func TestEveryScriptIsInItsOrder(t *testing.T) {
	r := checked("x", ofManyScripts)
	docs := Docs([]*check.Result{r}, Options{Fonts: []*Font{dejaVu(t), lohit(t)}})
	require.NoError(t, CannotSet(docs))
	file := writePDF(t, docs)
	out, err := exec.Command(tool(t, "pdftotext"), "-layout", file, "-").Output()
	require.NoError(t, err)
	plain := regexp.MustCompile("[\u202a-\u202e\u200e\u200f]").ReplaceAllString(string(out), "")
	read := said(t, file)
	for _, want := range []string{"Ζέφυρος и Буря", "שיר של נועה", "نهر طويل", "בשקט גמור", "धीरे हिन्दी"} {
		assert.True(t, strings.Contains(plain, want), "%s, taken out", want)
		if want != "धीरे हिन्दी" { // poppler asks for a syllable's own text only when it takes text out
			assert.True(t, strings.Contains(read, want), "%s, read", want)
		}
	}
	assert.True(t, strings.Contains(read, "שיר של נועה, 3 חלקים"), "with what stands in it from left to right")
	assert.Contains(t, norm.NFC.String(read), norm.NFC.String("שִׁיר"), "and its marks")
}

// Letters of Arabic have other shapes where they join, so that the same one is not
// the same glyph everywhere; Devanagari's i stands before its letter.
func TestLettersAreShaped(t *testing.T) {
	f := standardFaces().with([]*Font{dejaVu(t), lohit(t)})
	glyphs := func(text string) (out []uint16) {
		for _, run := range f.runs(text, false) {
			for _, g := range run.glyphs {
				out = append(out, g.ID)
			}
		}
		return out
	}
	alone, joined := glyphs("ه"), glyphs("ههه")
	require.Len(t, joined, 3)
	assert.NotEqual(t, joined[0], joined[1])
	assert.NotEqual(t, joined[1], joined[2])
	assert.NotContains(t, joined, alone[0])

	runs := f.runs("אב", false)
	require.Len(t, runs, 1)
	require.Len(t, runs[0].glyphs, 2)
	assert.Equal(t, "א", runs[0].glyphs[0].Text)
	assert.Greater(t, runs[0].glyphs[0].X, runs[0].glyphs[1].X, "the first letter stands on the right")

	k, ki := f.width("क", 1, false), f.width("कि", 1, false)
	assert.Greater(t, ki, k)
	runs = f.runs("कि", false)
	require.Len(t, runs, 1)
	shaped := runs[0].glyphs
	require.Len(t, shaped, 2)
	first, _ := f.more[1].glyph('क')
	assert.Equal(t, first, shaped[0].ID, "it is read as it is written")
	assert.Less(t, shaped[1].X, shaped[0].X, "and the vowel stands before")

	runs = f.runs("Tam אב 12 גד end", false) // numbers run from left to right within what does not
	var texts []string
	var at []float64
	for _, run := range runs {
		text := ""
		for _, g := range run.glyphs {
			text += g.Text
		}
		if text = strings.TrimSpace(text); text != "" {
			texts, at = append(texts, text), append(at, run.at)
		}
	}
	require.Equal(t, []string{"Tam", "אב", "12", "גד", "end"}, texts)
	assert.True(t, at[0] < at[3] && at[3] < at[2] && at[2] < at[1] && at[1] < at[4], "%v", at)
}

// What no font has is named, with whose it is and its letters.
func TestWhatAPDFCannotSetIsNamed(t *testing.T) {
	for text, want := range map[string]string{
		"player \"נועה\"\n  R snare-drum | 1\n":                        "the name of the player \"נועה\" cannot be in a PDF: its fonts have no נועה",
		"title \"नदी\"\nplayer Ann\n  R snare-drum | 1\n":              "the title \"नदी\" cannot be in a PDF: its fonts have no नदी",
		"player \"静\"\n  R snare-drum | 1\n":                           "the name of the player \"静\" cannot be in a PDF: its fonts have no 静",
		"player Ann\n  R snare-drum | \"静かに\" 1\n":                     "“静かに” ",
		"title \"Ζέφυρος и Буря\"\nplayer Łucja\n  R snare-drum | 1\n": "",
	} {
		err := CannotSet(Docs([]*check.Result{checked("x", text)}, Options{}))
		if want == "" {
			assert.NoError(t, err)
			continue
		}
		if assert.Error(t, err, text) {
			assert.Contains(t, strings.ReplaceAll(err.Error(), "\"“静かに”\"", "“静かに” "), want)
		}
	}
	r := checked("x", ofManyScripts)
	err := CannotSet(Docs([]*check.Result{r}, Options{Fonts: []*Font{dejaVu(t)}}))
	if assert.Error(t, err) {
		assert.Contains(t, err.Error(), "“धीरे हिन्दी”")
	}
}

// A browser gets of a font that was brought what it needs to shape it too.
func TestFontsForABrowserShape(t *testing.T) {
	r := checked("x", "title \"نهر\"\nplayer Ann\n  R snare-drum | 1\n")
	docs := Docs([]*check.Result{r}, Options{Fonts: []*Font{dejaVu(t)}})
	l := newLettering(docs[0].f)
	l.read("نهر", true)
	cut := directory(l.cut(l.f.more[0], l.used[1]))
	assert.NotEmpty(t, cut["GSUB"])
	for _, run := range l.f.runs("نهر", true) {
		for _, g := range run.glyphs {
			at := 4 * int(g.ID)
			assert.NotEqual(t, cut["loca"][at:at+4], cut["loca"][at+4:at+8], "the outline of a joined letter is there")
		}
	}
	assert.Contains(t, HTMLPage(docs), "unicode-range:U+")
}
