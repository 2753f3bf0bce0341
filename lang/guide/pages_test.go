package guide

import (
	"encoding/json"
	"encoding/xml"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
)

var (
	hrefs   = regexp.MustCompile(`href="([^"]*)"`)
	ids     = regexp.MustCompile(` id="([^"]*)"`)
	outside = regexp.MustCompile(`(?i)(https?:)?//[a-z]|url\(|@import|javascript:|\son[a-z]+=|\sstyle=`)
)

// allPages is the site, made once.
var allPages = sync.OnceValue(Pages)

// Every link of the site leads to a page of it, and to a place that is there;
// nothing leads out, and nothing stands twice under one name.
func TestTheSiteIsWhole(t *testing.T) {
	pages := map[string]string{}
	for _, p := range allPages() {
		require.NotContains(t, pages, p.Path)
		pages[p.Path] = p.HTML
	}
	links := 0
	for name, html := range pages {
		seen := map[string]bool{}
		for _, m := range ids.FindAllStringSubmatch(html, -1) {
			assert.False(t, seen[m[1]], "%s has two things called %s", name, m[1])
			seen[m[1]] = true
		}
		body := html[strings.Index(html, "<body>"):]
		assert.Empty(t, outside.FindString(body), name)
		for _, m := range hrefs.FindAllStringSubmatch(body, -1) {
			file, at, _ := strings.Cut(m[1], "#")
			to := name
			if file != "" {
				to = path.Join(path.Dir(name), file)
			}
			there, ok := pages[to]
			assert.True(t, ok, "%s links to %s, which is not there", name, m[1])
			if at != "" {
				assert.Contains(t, there, ` id="`+at+`"`, "%s links to %s", name, m[1])
			}
			links++
		}
	}
	for _, r := range check.Rules() {
		assert.Contains(t, pages[RulePage(r.Name)], escape(strings.Fields(r.Means)[0]), r.Name)
	}
	for _, in := range kit.Standard().Instruments() {
		assert.Contains(t, pages["instruments.html"], instrumentPage(in.ID))
	}
	t.Logf("%d pages, %d links", len(pages), links)
}

// A page lets nothing in: its policy names its own style and its own script,
// and the rest is forbidden.
func TestThePolicyOfAPage(t *testing.T) {
	for _, p := range allPages() {
		policy := regexp.MustCompile(`Content-Security-Policy" content="([^"]*)"`).FindStringSubmatch(p.HTML)
		require.Len(t, policy, 2, p.Path)
		assert.Contains(t, policy[1], "default-src 'none'; style-src 'sha256-", p.Path)
		assert.NotContains(t, policy[1], "unsafe", p.Path)
		assert.Equal(t, strings.Contains(p.HTML, "<script>"), strings.Contains(policy[1], "script-src"), p.Path)
		assert.Equal(t, p.Path == "search.html", strings.Contains(p.HTML, "<script"), p.Path)
	}
}

// Elements are closed in the order in which they were opened. All that HTML
// leaves open is told of here.
func TestThePagesAreWellFormed(t *testing.T) {
	for _, p := range allPages() {
		body := p.HTML[strings.Index(p.HTML, "<body>"):strings.Index(p.HTML, "</body>")] + "</body>"
		if i := strings.Index(body, "<script>"); i >= 0 {
			body = body[:i] + body[strings.Index(body, "</script>")+len("</script>"):]
		}
		body = regexp.MustCompile(`<input ([^>]*)>`).ReplaceAllString(strings.Replace(body, " hidden>", ` hidden="">`, 1), "<input $1/>")
		d := xml.NewDecoder(strings.NewReader(body))
		for {
			_, err := d.Token()
			if err == io.EOF {
				break
			}
			require.NoError(t, err, p.Path)
		}
	}
}

// What a text holds is shown as it is, whatever it holds.
func TestWhatStandsInATextIsNoMarkup(t *testing.T) {
	s := &shell{path: "x.html"}
	for _, text := range []string{`<script>1</script>`, `a "b" & 'c' <d`, "`<b>`", "*<i>*", "[<u>](rule:uncovered)"} {
		html := s.inline(text)
		for _, tag := range []string{"<script", "<b>", "<i>", "<u>", "<d"} {
			assert.NotContains(t, html, tag, text)
		}
	}
}

// The drawings are to scale: what is drawn is as wide, as deep and as high as
// the catalogue says, in the scale that the drawing names. The numbers are
// rounded to a tenth of a pixel.
func TestTheDrawingsAreToScale(t *testing.T) {
	attr := func(svg, pattern string) float64 {
		m := regexp.MustCompile(pattern).FindStringSubmatch(svg)
		if m == nil {
			return -1
		}
		v, err := strconv.ParseFloat(m[1], 64)
		require.NoError(t, err)
		return v
	}
	sized, floor := 0, regexp.MustCompile(`class="ground" d="M0 ([0-9.]+) `)
	for _, in := range kit.Standard().Instruments() {
		above, front := above(in), Front(in)
		k := attr(above, `data-scale="([0-9.e+-]+)"`)
		require.Positive(t, k, in.ID)
		if in.Sized() {
			sized++
			if in.Round && in.Members < 2 {
				assert.InDelta(t, in.Wide, 2*attr(above, `class="extent"[^>]* r="([0-9.]+)"`)/k, 0.2/k, in.ID)
			} else {
				assert.InDelta(t, in.Wide, attr(above, `class="extent"[^>]* width="([0-9.]+)"`)/k, 0.1/k, in.ID)
				deep := in.Deep
				if in.Round {
					deep = in.Wide
				}
				assert.InDelta(t, deep, attr(above, `class="extent"[^>]* height="([0-9.]+)"`)/k, 0.1/k, in.ID)
			}
			assert.InDelta(t, in.Wide, attr(front, `class="bar" d="M[0-9.-]+ [0-9.]+ h([0-9.]+)`)/frontScale, 0.1, in.ID)
		}
		ground := attr(front, floor.String())
		struck := attr(front, `class="measure" d="M[0-9.-]+ (-?[0-9.]+) `)
		assert.InDelta(t, in.Height, (ground-struck)/frontScale, 0.2, in.ID)
		wide := attr(above, `viewBox="0 0 ([0-9.]+) `)
		for _, m := range regexp.MustCompile(`class="extent" [a-z]+="(-?[0-9.]+)"`).FindAllStringSubmatch(above, -1) {
			x, _ := strconv.ParseFloat(m[1], 64)
			assert.True(t, x >= 0 && x <= wide, "%s leaves its picture", in.ID)
		}
	}
	assert.Greater(t, sized, 100)
}

// All of a topic's words are there in the terminal, and no line is too long to
// read; notation and outputs stay as they are.
func TestTopicsInATerminal(t *testing.T) {
	for _, topic := range Topics() {
		text := topic.Text()
		for _, b := range topic.Blocks() {
			switch b.Kind {
			case "table":
				assert.NotEmpty(t, tableOf(b.File).rows, "%s: a table of %s", topic.Name, b.File)
			default:
				assert.NotEmpty(t, b.Text, topic.Name)
				for line := range strings.Lines(b.Text) {
					assert.Contains(t, text, strings.TrimRight("    "+line, " \n"), topic.Name)
				}
			}
		}
		for i := range topic.nodes {
			if n := &topic.nodes[i]; n.kind == para {
				for _, word := range strings.Fields(bare(n.text)) {
					assert.Contains(t, text, word, topic.Name)
				}
			}
		}
	}
}

func TestSearch(t *testing.T) {
	first := func(query string) string {
		hits := Search(query)
		require.NotEmpty(t, hits, query)
		return hits[0].Kind + " " + hits[0].Name
	}
	assert.Equal(t, "rule short-change", first("short change"))
	assert.Equal(t, "rule short-change", first("SHORT-CHANGE"))
	assert.Equal(t, "instrument triangle", first("triangle"))
	assert.Equal(t, "rule roll-too-long", first("roll long"))
	assert.NotEmpty(t, Search("pupil makeshift"), "words of a lesson")
	assert.Empty(t, Search("accordion of glass"))
	assert.Empty(t, Search("  "))
	for _, h := range Search("needs clip ring") {
		assert.NotEmpty(t, h.Says)
	}
}

func browse(t *testing.T, script string, pages ...string) string {
	chromium := ""
	for _, name := range []string{"chromium", "chromium-browser"} {
		if at, err := exec.LookPath(name); err == nil {
			chromium = at
		}
	}
	node, err := exec.LookPath("node")
	if chromium == "" || err != nil {
		t.Skip("chromium or node is not installed: how the pages look in a browser is not tested here")
	}
	if _, err := os.Stat(filepath.Join(os.Getenv("HANDFUL_NODE_MODULES"), "axe-core")); err != nil {
		t.Skip("set HANDFUL_NODE_MODULES to where axe-core and playwright-core are, to test what assistive technology makes of the pages")
	}
	dir := t.TempDir()
	for _, p := range allPages() {
		file := filepath.Join(dir, filepath.FromSlash(p.Path))
		require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755))
		require.NoError(t, os.WriteFile(file, []byte(p.HTML), 0o644))
	}
	out, err := exec.Command(node, append([]string{script, chromium, dir}, pages...)...).Output()
	require.NoError(t, err, string(out))
	return string(out)
}

// By light at a desk, by dark on a phone, with and without scripts: the
// rules of accessibility find nothing, nothing is wider than the window, and
// nothing is asked of a network.
func TestABrowserFindsThePagesAccessible(t *testing.T) {
	pages := []string{"index.html", "arranger.html", "notation.html", "questions.html", "glossary.html", "cautions.html", "rules.html", "rules/short-change.html",
		"instruments.html", "instruments/triangle.html", "instruments/marimba.html", "implements.html", "search.html"}
	var found []string
	require.NoError(t, json.Unmarshal([]byte(browse(t, "testdata/accessible.mjs", pages...)), &found))
	assert.Empty(t, found)
}

func TestASearchInABrowser(t *testing.T) {
	var seen []string
	require.NoError(t, json.Unmarshal([]byte(browse(t, "testdata/search.mjs")), &seen))
	require.Len(t, seen, 4)
	assert.Equal(t, strconv.Itoa(len(Entries())), seen[0], "everything stands there before a word is asked for")
	assert.Equal(t, "short-change", seen[1], "what is called so comes first")
	assert.Equal(t, "No page has all of these words.", seen[2])
	assert.Equal(t, strconv.Itoa(len(Entries())), seen[3], "and everything again when the words are taken out")
}
