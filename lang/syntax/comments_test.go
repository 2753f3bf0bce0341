package syntax

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
)

// A comment is lost if there are fewer like it than before, wherever they stand.
func TestACommentThatIsLostIsFound(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		ends := rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "ends")
		text := func(name string) (string, map[string]int) {
			lines := rapid.SliceOfN(rapid.SampledFrom([]string{"tempo 90 # slow", "# x", "tempo 90", "", "  R triangle | 1 # x"}), 0, 6).Draw(t, name)
			has := map[string]int{}
			for _, l := range lines {
				if _, c, ok := strings.Cut(l, "# "); ok {
					has[c]++
				}
			}
			text := strings.Join(lines, ends)
			if rapid.Bool().Draw(t, name+" ends") {
				text += ends
			}
			return text, has
		}
		before, had := text("before")
		after, has := text("after")
		lost := strings.TrimLeft(LostComment(before, after), "# ")
		fewer := false
		for c := range had {
			fewer = fewer || had[c] > has[c]
		}
		if fewer {
			assert.Greater(t, had[lost], has[lost], "%q of %q is not in %q", lost, before, after)
		} else {
			assert.Empty(t, lost, "%q %q", before, after)
		}
	})
}
