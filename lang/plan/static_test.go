package plan

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Seven lines of a dance: each in one hand, and the pair of maracas with somebody
// whose other line has ended.
const dance = `title "Mambo de la Sal"
meter 4/4
tempo 176
bars 64
mark A at 17
mark Mambo at 33
mark Coda at 57

part "Congas"
  congas | f 1 2 2& 3 4 4& | % x62 | 1

part "Bongos"
  bongos | f 1 1& 2 2& 3 3& 4 4& | % x31 | -32
  cowbell | -32 | ff 1 2 3 4 | % x30 | 1

part "Timbales"
  timbales | f 1 2 2& 3& 4& | % x62 | 1

part "Clave"
  claves | mf 1 2& 4 | 2 3 | %2 x31

part "Hand"
  guiro | mf 1 2 2& 3 4 4& | % x31 | -32
  maracas | -32 | f 1 1& 2 2& 3 3& 4 4& | % x31
`

// What a section leader would pencil in a minute a plan finds: nothing is lost with
// four, and with three no more than the bars about two changes.
func TestEveryLineStaysInOneHandWhereThatLosesLess(t *testing.T) {
	four := planned(t, dance, Options{Players: 4})
	clean(t, four)
	assert.Empty(t, four.Lost)
	if testing.Short() {
		return
	}
	three := planned(t, dance, Options{Players: 3})
	clean(t, three)
	assert.LessOrEqual(t, three.Value, 11.0)
}
