package check

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What players do play, in works that are played everywhere, is no error; what
// nobody plays on the same thing is one. All the tempos and figures are from
// memory, as the works are commonly played; none is a quotation of a score.
func TestTemposThatPlayersDoPlay(t *testing.T) {
	for _, c := range []struct {
		work  string
		tempo int
		cue   string // what is played
		never string // what nobody plays, at the same tempo
	}{
		{"Copland, El Salón México: claves in quavers of the quick bars", 144,
			`R claves held | 1 1& 2 3 3& 4`, `R claves held | 1 1e 1& 1a 2 2e 2& 2a 3 3e 3& 3a 4 4e 4& 4a`},
		{"son clave, as every dance band plays it", 200,
			`R claves held | 1 2& 4 | 2 3`, `R claves held | 1 1e 1& 1a 2 2e 2& 2a | 1 1e 1& 1a 2 2e 2& 2a`},
		{"Reich, Clapping Music: quavers in twelve, hand against hand", 160,
			`R+L hand-clap | 1 1& 2 3 3& 4 | 1 2 2&`, `R+L hand-clap | 1 1e 1& 1a 2 2e 2& 2a 3 3e 3& 3a 4 4e 4& 4a`},
		{"Liszt, Piano Concerto 1, third movement: the triangle's dotted figure", 132,
			`R triangle held with triangle-beater | 1 1a 2 3 4`, `R triangle held with triangle-beater | 1 1+1/8 1+2/8 1+3/8 1+4/8 1+5/8 1+6/8 1+7/8 2 2+1/8 2+2/8 2+3/8`},
		{"Brahms, Symphony 4, third movement: triangle in quavers", 120,
			`R triangle held with triangle-beater | 1 1& 2 2& 3 4`, `R triangle held with triangle-beater | 1 1+1/8 1+2/8 1+3/8 1+4/8 1+5/8 1+6/8 1+7/8 2 2+1/8 2+2/8 2+3/8`},
		{"Holst, The Planets, Mars: tam-tam", 160,
			`R tam-tam | 1 | 1 | 1`, `R tam-tam | 1 1+1/8 1+2/8 1+3/8 1+4/8 1+5/8 1+6/8 1+7/8`},
		{"Mussorgsky and Ravel, Pictures, The Great Gate of Kiev: tam-tam in minims", 84,
			`R tam-tam | 1 3 | 1 3`, `R tam-tam | 1 1+1/8 1+2/8 1+3/8 1+4/8 1+5/8 1+6/8 1+7/8 2 2+1/8 2+2/8 2+3/8`},
		{"the last stroke of a Latin chart: vibraslap, a bar apart", 120,
			`R vibraslap | 1 | 3`, `R vibraslap | 1 1+1/8 1+2/8 1+3/8 1+4/8 1+5/8 1+6/8 1+7/8`},
		{"Verdi, Requiem, Dies irae: bass drum in the rests of the others", 160,
			`R bass-drum | ff 2 4 | 2 4`, `R bass-drum | 1 1e 1& 1a 2 2e 2& 2a 3 3e 3& 3a 4 4e 4& 4a`},
		{"Sousa, The Stars and Stripes Forever: bass drum on every beat", 120,
			`R bass-drum | 1 2 3 4 | %`, `R bass-drum | 1 1+1/8 1+2/8 1+3/8 1+4/8 1+5/8 1+6/8 1+7/8 2 2+1/8 2+2/8 2+3/8`},
		{"Bizet, Carmen, Chanson bohème: castanets on a board, both hands", 132,
			`RL castanets | 1 1& 1a 2 2& 2a 3 3& 3a`, `R castanets | 1 1+1/8 1+2/8 1+3/8 1+4/8 1+5/8 1+6/8 1+7/8 2 2+1/8 2+2/8 2+3/8`},
		{"Anderson, Sleigh Ride: sleigh bells in crotchets and quavers", 120,
			`R sleigh-bells | 1 2 2& 3 4 4& | %`, `R sleigh-bells | 1 1+1/8 1+2/8 1+3/8 1+4/8 1+5/8 1+6/8 1+7/8 2 2+1/8 2+2/8 2+3/8`},
		{"Tchaikovsky, Nutcracker, Trepak: tambourine in quavers", 144,
			`R tambourine held with fingers | 1 1& 2 2& 3 4`, `R tambourine held with fingers | 1 1+1/8 1+2/8 1+3/8 1+4/8 1+5/8 1+6/8 1+7/8 2 2+1/8 2+2/8 2+3/8`},
		{"Tchaikovsky, Symphony 4, finale: cymbals on every beat", 160,
			`R+L crash-cymbals | f 1 2 3 4 | %`, `R+L crash-cymbals | 1 1+1/8 1+2/8 1+3/8 1+4/8 1+5/8 1+6/8 1+7/8`},
		{"Ravel, Boléro: the snare drum's triplets, hand to hand", 72,
			`RL snare-drum with snare-stick | 1 2 2t 2l 3 3t 3l 4`, `R snare-drum with snare-stick | 1 1+1/20 1+2/20 1+3/20 1+4/20 1+5/20`},
		{"Gershwin, An American in Paris: woodblock in semiquavers, hand to hand", 112,
			`RL woodblock clamped with rubber-mallet | 1 1e 1& 1a 2 2& 3 4`, `R woodblock clamped with rubber-mallet | 1 1+1/10 1+2/10 1+3/10 1+4/10 1+5/10`},
		{"Saint-Saëns, Danse macabre: xylophone in quavers of a quick three", 200,
			`RL xylophone | 1 1& 2 2& 3 3&`, `R xylophone | 1 1+1/6 1+2/6 1+3/6 1+4/6 1+5/6 2`},
	} {
		text := fmt.Sprintf("tempo %d\nplayer Ida\n  %s\n", c.tempo, c.cue)
		assert.Empty(t, errorsOf(text), "%s\n%s", c.work, text)
		text = fmt.Sprintf("tempo %d\nplayer Ida\n  %s\n", c.tempo, c.never)
		if errs := errorsOf(text); assert.NotEmpty(t, errs, "%s\n%s", c.work, text) {
			for _, e := range errs {
				assert.Regexp(t, "^(too-fast|short-change|two-hand-roll)", e, text)
			}
		}
	}
}
