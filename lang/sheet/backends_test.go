package sheet

import (
	"bytes"
	"crypto"
	"encoding/base64"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"example.org/handful/lang/check"
)

func ferry(t testing.TB) *check.Result {
	text, err := os.ReadFile("../../examples/ferry-landing.handful")
	require.NoError(t, err)
	return checked("ferry-landing.handful", string(text))
}

const dated = "2000-01-01T00:00:00Z"

func TestTheSamePieceIsTheSameBytes(t *testing.T) {
	var pdfs, htmls, texts [2][]byte
	for i := range 2 {
		docs := Docs([]*check.Result{checked("long", long(120))}, Options{})
		pdf, err := PDF(docs, PDFOptions{Date: dated})
		require.NoError(t, err)
		pdfs[i], htmls[i] = pdf, []byte(HTMLPage(docs))
		for k := range docs {
			texts[i] = append(texts[i], docs[k].Text()...)
		}
	}
	assert.True(t, bytes.Equal(pdfs[0], pdfs[1]), "pdf")
	assert.True(t, bytes.Equal(htmls[0], htmls[1]), "html")
	assert.True(t, bytes.Equal(texts[0], texts[1]), "text")
}

func TestEveryPictureIsWellFormed(t *testing.T) {
	for name, docs := range allDocs() {
		if !strings.HasSuffix(name, "/A5") {
			continue
		}
		for i := range docs {
			for _, p := range docs[i].Pages {
				svg := p.SVG()
				d := xml.NewDecoder(strings.NewReader(svg))
				texts := 0
				for {
					tok, err := d.Token()
					if err == io.EOF {
						break
					}
					require.NoError(t, err, "%s: %s", name, p.Title)
					if s, ok := tok.(xml.StartElement); ok && s.Name.Local == "text" {
						texts++
					}
				}
				want := 0
				for _, it := range p.Items {
					if it.Kind == wording {
						want++
					}
				}
				assert.Equal(t, want, texts, "%s: %s", name, p.Title)
			}
		}
	}
}

func TestMarkupInNamesIsText(t *testing.T) {
	r := checked("x", "title \"<script>alert(1)</script> & \\u0001\"\nplayer \"<b>Ann\"\n  R snare-drum | \"</svg><i>\" 1\n")
	for _, out := range []string{HTML(r, ""), Docs([]*check.Result{r}, Options{})[0].Pages[0].SVG()} {
		assert.NotContains(t, out, "<script>alert")
		assert.NotContains(t, out, "<b>Ann")
		assert.NotContains(t, out, "<i>")
		assert.Contains(t, out, "&lt;b&gt;Ann")
	}
}

// The page may do nothing but show itself: its policy comes before anything
// that it rules, allows its own style and no other, and there is nothing in it
// that the policy forbids.
func TestThePageHasAStrictPolicy(t *testing.T) {
	for _, page := range []string{
		HTML(ferry(t), ""), HTML(ferry(t), "Nell"), HTMLPage(nil),
		HTML(checked("x", "title \"</style><style>*{display:none}</style><base href='//x.example'>\"\nplayer \"<b style='color:red' onclick='x'>Ann\"\n  R snare-drum | \"<img src=x onerror=y>\" 1\n"), ""),
	} {
		head := regexp.MustCompile(`^<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<meta http-equiv="Content-Security-Policy" content="([^"]*)">\n`).FindStringSubmatch(page)
		require.NotNil(t, head, page[:200])
		rules := map[string]string{}
		for _, rule := range strings.Split(head[1], "; ") {
			name, allows, _ := strings.Cut(rule, " ")
			rules[name] = allows
		}
		styles := regexp.MustCompile(`(?s)<style[^>]*>(.*?)</style>`).FindAllStringSubmatch(page, -1)
		require.Len(t, styles, 1)
		digest := crypto.SHA256.New()
		digest.Write([]byte(styles[0][1]))
		want := map[string]string{
			"default-src": "'none'", "font-src": "data:", "base-uri": "'none'", "form-action": "'none'",
			"style-src": fmt.Sprintf("'sha256-%s'", base64.StdEncoding.EncodeToString(digest.Sum(nil))),
		}
		scripts := regexp.MustCompile(`(?s)<script([^>]*)>(.*?)</script>`).FindAllStringSubmatch(page, -1)
		require.Equal(t, strings.Count(page, "<script"), len(scripts))
		if len(scripts) > 0 { // what is played, as data, and the one script
			require.Len(t, scripts, 2)
			assert.Equal(t, ` type="application/json" id="play"`, scripts[0][1])
			assert.NotContains(t, scripts[0][2], "<")
			assert.Equal(t, []string{"", playScript}, scripts[1][1:])
			assert.NotRegexp(t, `innerHTML|insertAdjacent|document\.write|\beval\b|\bFunction\b|fetch\(|XMLHttp|WebSocket|sendBeacon|localStorage|cookie`, playScript)
			digest.Reset()
			digest.Write([]byte(scripts[1][2]))
			want["script-src"] = fmt.Sprintf("'sha256-%s'", base64.StdEncoding.EncodeToString(digest.Sum(nil)))
		}
		assert.Equal(t, want, rules)
		without := strings.ReplaceAll(page, playScript, "")
		assert.NotRegexp(t, `<[^>]* style=|<[^>]* on[a-z]+=|<(base|form|iframe|object|embed|link|img|audio|video)\b|javascript:`, without)
	}
}

// The page stands alone, has its landmarks and headings in order, a name for
// every picture and the same in words beside it.
func TestHTMLStandsAloneAndReadsAloud(t *testing.T) {
	page := HTML(ferry(t), "")
	assert.NotRegexp(t, `(src|href)="?(https?:)?//`, page)
	assert.NotRegexp(t, `url\(["']?https?:`, page)
	for _, must := range []string{`<html lang="en">`, "<title>", "<header>", "<nav aria-label=", "<main>", "@page{size:595.28pt 841.89pt", "prefers-color-scheme:dark", "@media print"} {
		assert.Contains(t, page, must)
	}
	assert.Equal(t, 1, strings.Count(page, "<h1>"))
	ids := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]+)"`).FindAllStringSubmatch(page, -1) {
		assert.False(t, ids[m[1]], "id %s twice", m[1])
		ids[m[1]] = true
	}
	for _, m := range regexp.MustCompile(`aria-labelledby="([^"]+)"`).FindAllStringSubmatch(page, -1) {
		assert.True(t, ids[m[1]], m[1])
	}
	pictures := strings.Count(page, "<svg ")
	assert.Equal(t, pictures-1, strings.Count(page, `role="img"`), "all but the outlines that pictures are made of")
	assert.Equal(t, strings.Count(page, "<figure>"), strings.Count(page, "<details>"))
	assert.Equal(t, 2, strings.Count(page, "@font-face"), "each font is there once")
	for _, m := range regexp.MustCompile(`<table>\n<caption>([^<]*)</caption>`).FindAllStringSubmatch(page, -1) {
		assert.NotEmpty(t, strings.TrimSpace(m[1]), "every table has a caption")
	}
	assert.Contains(t, page, "<td>mf 1 2&amp; 3 4</td>", "the strokes are there in words")
}

func TestTheFontInThePageIsTheFontThatWasMeasured(t *testing.T) {
	used := map[rune]bool{}
	for _, r := range "Handful é Ω ж 12&…" {
		used[r] = true
	}
	f := standardFaces().weights[0]
	small := subset(f, used)
	assert.Less(t, len(small), len(goregular.TTF)/4)
	cut, err := sfnt.Parse(small)
	require.NoError(t, err)
	whole, err := sfnt.Parse(goregular.TTF)
	require.NoError(t, err)
	var buf sfnt.Buffer
	for r := range used {
		i, err := cut.GlyphIndex(&buf, r)
		require.NoError(t, err)
		j, err := whole.GlyphIndex(&buf, r)
		require.NoError(t, err)
		assert.Equal(t, j, i, "%c", r)
		a, err := cut.GlyphAdvance(&buf, i, fixed.I(1000), font.HintingNone)
		require.NoError(t, err)
		b, err := whole.GlyphAdvance(&buf, j, fixed.I(1000), font.HintingNone)
		require.NoError(t, err)
		assert.Equal(t, b, a, "%c", r)
		x, err := cut.LoadGlyph(&buf, i, fixed.I(1000), nil)
		require.NoError(t, err)
		got := append(sfnt.Segments(nil), x...)
		y, err := whole.LoadGlyph(&buf, j, fixed.I(1000), nil)
		require.NoError(t, err)
		assert.Equal(t, append(sfnt.Segments(nil), y...), got, "%c", r)
	}
	other, err := cut.GlyphIndex(&buf, 'Q')
	require.NoError(t, err)
	x, err := cut.LoadGlyph(&buf, other, fixed.I(1000), nil)
	require.NoError(t, err)
	assert.Empty(t, x, "a letter that is not used has no outline left")
}

func TestEveryGlyphOfTheCatalogueIsThere(t *testing.T) {
	for _, in := range checked("x", "").Score.Catalogue.Instruments() {
		for _, g := range in.Glyphs {
			p, ok := pictograms()[g]
			assert.True(t, ok && p.box.W > 0 && p.box.H > 0, "%s of the %s", g, in.Name())
		}
	}
}

// tool finds a program that some tests need, or skips with its name.
func tool(t testing.TB, name string) string {
	path, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("%s is not installed: what needs it is not tested here", name)
	}
	return path
}

func writePDF(t *testing.T, docs []Doc) string {
	data, err := PDF(docs, PDFOptions{Date: dated})
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	require.NoError(t, os.WriteFile(file, data, 0o644))
	return file
}

func TestTextCanBeTakenOutOfThePDF(t *testing.T) {
	pdftotext := tool(t, "pdftotext")
	r := checked("x", "title \"Ζέφυρος и Буря\"\ncredit \"Žofie's été\"\ntempo 90\nplayer \"Łucja\"\n  R snare-drum | mf 1 2& | \"più sotto voce\" 1\n")
	file := writePDF(t, Docs([]*check.Result{r}, Options{}))
	out, err := exec.Command(pdftotext, "-layout", file, "-").Output()
	require.NoError(t, err)
	for _, want := range []string{"Ζέφυρος и Буря", "Žofie's été", "Łucja", "snare drum", "più sotto voce", "Packing list"} {
		assert.Contains(t, string(out), want)
	}
}

// The outline of the PDF has the sheets, and under the cue sheet its marks in the
// order of the bars.
func TestThePDFHasAnOutlineAtTheMarks(t *testing.T) {
	r := ferry(t)
	docs := Docs([]*check.Result{r}, Options{Player: "Nell"})
	var got, want []string
	for page := range docs[0].Pages {
		for _, m := range docs[0].marksOn(page) {
			got = append(got, m.name)
		}
	}
	for _, m := range r.Score.Marks {
		want = append(want, m.Name)
	}
	require.NotEmpty(t, want)
	assert.Equal(t, want, got)
	data, err := PDF(docs, PDFOptions{Date: dated})
	require.NoError(t, err)
	assert.Equal(t, len(docs)+len(want), bytes.Count(objectsOf(t, data), []byte("/Dest[")))
}

func TestEveryPageOfThePDFRenders(t *testing.T) {
	pdftoppm := tool(t, "pdftoppm")
	docs := Docs([]*check.Result{ferry(t)}, Options{})
	pages := 0
	for i := range docs {
		pages += len(docs[i].Pages)
	}
	file := writePDF(t, docs)
	out, err := exec.Command(pdftoppm, "-r", "20", "-gray", file, filepath.Join(filepath.Dir(file), "page")).CombinedOutput()
	require.NoError(t, err, string(out))
	assert.Empty(t, string(out))
	pictures, err := filepath.Glob(filepath.Join(filepath.Dir(file), "page*.pgm"))
	require.NoError(t, err)
	require.Len(t, pictures, pages)
	for _, p := range pictures {
		data, err := os.ReadFile(p)
		require.NoError(t, err)
		dark := 0
		for _, b := range data[20:] {
			if b < 128 {
				dark++
			}
		}
		assert.Greater(t, dark, 20, "%s is not blank", p)
	}
}

// browser finds Chromium, under either of its names.
func browser(t testing.TB) string {
	for _, name := range []string{"chromium", "chromium-browser"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Skip("chromium is not installed: how the page looks and prints in a browser is not tested here")
	return ""
}

func writeHTML(t testing.TB, page string) string {
	file := filepath.Join(t.TempDir(), "sheet.html")
	require.NoError(t, os.WriteFile(file, []byte(page), 0o644))
	return file
}

func TestABrowserFindsThePageAccessible(t *testing.T) {
	chromium, node := browser(t), tool(t, "node")
	if _, err := os.Stat(filepath.Join(os.Getenv("HANDFUL_NODE_MODULES"), "axe-core")); err != nil {
		t.Skip("set HANDFUL_NODE_MODULES to where axe-core and playwright-core are, to test what assistive technology makes of the page")
	}
	out, err := exec.Command(node, "testdata/accessible.mjs", chromium, writeHTML(t, HTML(ferry(t), ""))).Output()
	require.NoError(t, err, string(out))
	assert.Equal(t, "[]\n", string(out))
}

func TestThePagePrintsOneSheetOfPaperAPage(t *testing.T) {
	chromium, pdfinfo := browser(t), tool(t, "pdfinfo")
	docs := Docs([]*check.Result{ferry(t)}, Options{Paper: Papers()[2], Player: "Nell"})
	pages := 0
	for i := range docs {
		pages += len(docs[i].Pages)
	}
	file := writeHTML(t, HTMLPage(docs))
	printed := strings.TrimSuffix(file, ".html") + ".pdf"
	out, err := exec.Command(chromium, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", "--user-data-dir="+t.TempDir(), "--print-to-pdf="+printed, "file://"+file).CombinedOutput()
	require.NoError(t, err, string(out))
	info, err := exec.Command(pdfinfo, printed).Output()
	require.NoError(t, err)
	assert.Regexp(t, `Pages: +`+strconv.Itoa(pages)+`\n`, string(info))
	assert.Regexp(t, `Page size: +4(19|20)[.0-9]* x 59[45][.0-9]* pts`, string(info))
}
