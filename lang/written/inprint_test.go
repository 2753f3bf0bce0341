package written

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is left out is named by the number that its bar has on paper as well,
// where that is another than the one that is counted here; so is what a file
// that a piece uses does not bring.
func TestWhatIsLeftOutIsNamedAsInPrint(t *testing.T) {
	full := quarters("S", 4)
	finger := n("S", 12, "<notations><technical><fingering>3</fingering></technical></notations>") + rst(36)
	said := func(data string) []string {
		f, err := File("part.musicxml", data)
		require.NoError(t, err)
		text, lost, err := Text([]byte(data), Options{})
		require.NoError(t, err)
		require.Len(t, lost, len(f.Lost))
		for i, l := range lost {
			assert.Equal(t, f.Lost[i], l.String())
			assert.Contains(t, text, "# not carried over: "+l.String()+"\n")
		}
		return f.Lost
	}
	plain := measures(full, full, finger)
	assert.Equal(t, []string{"Percussion, bar 3, line 1: the sign fingering 3"}, said(plain))
	later := strings.NewReplacer(`number="1"`, `number="101"`, `number="2"`, `number="101a"`, `number="3"`, `number="102"`).Replace(plain)
	assert.Equal(t, []string{"Percussion, bar 3 (in print 102), line 1: the sign fingering 3"}, said(later))
	pickup := measures(`implicit="yes"@`+quarters("S", 1), full, finger)
	assert.Equal(t, []string{"Percussion, bar 2 (in print 3), line 1: the sign fingering 3"}, said(pickup))
	uncounted := measures(full, `implicit="yes"@`+finger, full)
	assert.Equal(t, []string{"Percussion, bar 2, line 1: the sign fingering 3"}, said(uncounted), "a bar without a number has none to be named by")
}
