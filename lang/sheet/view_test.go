package sheet

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
)

// A page for a view has what the whole page shows there, byte for byte: the outlines
// are numbered on each page as they come, and are written out to compare.
func TestAViewShowsWhatTheWholePageShowsThere(t *testing.T) {
	seen := 0
	for name, text := range pieces() {
		docs := Docs([]*check.Result{checked(name, text)}, Options{})
		whole := HTMLPage(docs)
		for n, from := range viewsFrom() {
			part := HTMLView(docs, from)
			for _, is := range []string{`(?s)<details>.*?</details>`, `(?s)<section id="\w+" aria.*?</section>`, `(?s)<header>.*?</header>`, `(?s)<nav.*?</nav>`} {
				assert.Equal(t, cut(whole, is), cut(part, is), "%s: %s", name, is)
			}
			layout := `(?s)<div class="screen w` + strconv.Itoa(n) + `">.*?</div>`
			shown := cut(part, layout)
			assert.Equal(t, cut(whole, layout), shown, name)
			assert.Len(t, cut(part, `<div class="screen `), len(shown), "%s: no other layout is there", name)
			assert.Less(t, len(cut(part, `<figure>`)), len(cut(whole, `<figure>`))+1-min(1, len(shown)), "%s: nothing as it is printed", name)
			seen += len(shown)
		}
	}
	assert.Greater(t, seen, 30)
}

// cut is every place of a page that an expression matches, with its outlines written out.
func cut(page, expression string) []string {
	outlines := map[string]string{}
	for _, m := range regexp.MustCompile(`<path id="(o\d+)" d="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		outlines[m[1]] = m[2]
	}
	uses := regexp.MustCompile(`href="#(o\d+)"`)
	found := regexp.MustCompile(expression).FindAllString(page, -1)
	for i := range found {
		found[i] = uses.ReplaceAllStringFunc(found[i], func(use string) string {
			return `href="` + outlines[uses.FindStringSubmatch(use)[1]] + `"`
		})
	}
	return found
}

// The style of a whole page and a view agree on which layout is shown where.
func TestViewsAreThoseOfTheStyle(t *testing.T) {
	const rem = 16
	from := []int{0}
	for _, m := range regexp.MustCompile(`\(min-width:([\d.]+)rem\)[^{]*\{\.plays:not\(\.paper\) \.w(\d)`).FindAllStringSubmatch(htmlStyle, -1) {
		wide, err := strconv.ParseFloat(m[1], 64)
		require.NoError(t, err)
		require.Equal(t, strconv.Itoa(len(from)), m[2])
		from = append(from, int(wide*rem))
	}
	assert.Equal(t, from, viewsFrom())
	assert.Len(t, from, len(screenWidths()))
	assert.True(t, slices.IsSorted(from))
	for n, at := range from {
		page := HTMLView(Docs([]*check.Result{checked("v", "tempo 90\nplayer Ida\n  R triangle | 1 2 3\n")}, Options{}), at)
		assert.Contains(t, page, `<body data-from="`+strconv.Itoa(at)+`" data-to="`)
		assert.Contains(t, page, `<div class="screen w`+strconv.Itoa(n)+`">`)
		assert.True(t, strings.Contains(page, viewStyle))
	}
}
