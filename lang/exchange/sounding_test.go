package exchange

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/internal/outside"
	"example.org/handful/lang/check"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/syntax"
)

// engraved turns MusicXML files into the MIDI files that npm's verovio 6.3.0
// makes of them, with every note as it sounds.
func engraved(t *testing.T, scores [][]byte) [][]byte {
	modules := outside.NodeModules(t, "verovio")
	dir := t.TempDir()
	file, main := filepath.Join(dir, "scores.json"), filepath.Join(dir, "midi.mjs")
	texts := make([]string, len(scores))
	for i, data := range scores {
		texts[i] = string(data)
	}
	in, err := json.Marshal(texts)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(file, in, 0o600))
	require.NoError(t, os.WriteFile(main, []byte(`
const { VerovioToolkit } = await import(process.argv[2] + "/verovio/dist/verovio.mjs");
const create = (await import(process.argv[2] + "/verovio/dist/verovio-module.mjs")).default;
const fs = await import("node:fs");
const tk = new VerovioToolkit(await create());
const out = [];
for (const text of JSON.parse(fs.readFileSync(process.argv[3], "utf8"))) {
  tk.loadData(text);
  out.push(tk.renderToMIDI());
}
fs.writeFileSync(process.argv[3], JSON.stringify(out));`), 0o600))
	said, err := exec.Command("node", main, modules, file).CombinedOutput()
	require.NoError(t, err, "%s", said)
	in, err = os.ReadFile(file)
	require.NoError(t, err)
	var out [][]byte // as base64
	require.NoError(t, json.Unmarshal(in, &out))
	return out
}

// A xylophone sounds an octave higher than written, a glockenspiel two, timpani
// as written: common practice. At 60 to the minute a count is a second, so what
// two readers must hear is written here by hand.
func TestEveryNoteSoundsAsItShould(t *testing.T) {
	pieces := map[string][][2]float64{ // seconds and keys
		"R xylophone with rubber-mallet | 1:C5 2:F#5 3:C5 4:Bb3":  {{0, 84}, {1, 90}, {2, 84}, {3, 70}},
		"L glockenspiel with plastic-mallet | 1:C5 3:G4":          {{0, 96}, {2, 91}},
		"R timpani with timpani-mallet | 1:F2 2:Bb2 4:D2":         {{0, 41}, {1, 46}, {3, 38}},
		"R+L marimba with yarn-mallet | 1:C3+G4 3:Eb4+Ab5":        {{0, 48}, {0, 67}, {2, 63}, {2, 80}},
		"R+L vibraphone with cord-mallet | 1:F4+A4 | - | 2:C5+F5": {{0, 65}, {0, 69}, {9, 72}, {9, 77}},
		"RL crotales with brass-mallet | 1:C4 2:C5 3:Db5 4:C6":    {{0, 84}, {1, 96}, {2, 97}, {3, 108}},
		"R chimes with chime-hammer | 1:C4 3:F5":                  {{0, 60}, {2, 77}},
	}
	// and drawn ones, over all that each of them has
	draw := rand.New(rand.NewPCG(15, 4))
	for _, x := range []struct {
		limb, what, low, high string
		up                    int // octaves that it sounds above what is written
	}{
		{"RL", "xylophone with rubber-mallet", "F3", "C7", 1}, {"RL", "glockenspiel with plastic-mallet", "F3", "C6", 2}, {"RL", "marimba with yarn-mallet", "A2", "C7", 0},
		{"RL", "vibraphone with cord-mallet", "F3", "F6", 0}, {"RL", "crotales with brass-mallet", "C4", "C6", 2}, {"R", "chimes with chime-hammer", "C4", "F5", 0}, {"RL", "timpani with timpani-mallet", "D2", "A3", 0},
	} {
		low, _ := pitch.Parse(x.low)
		high, _ := pitch.Parse(x.high)
		text := x.limb + " " + x.what + " |"
		var want [][2]float64
		for n := range 24 {
			if n > 0 && n%4 == 0 {
				text += " |"
			}
			p := pitch.FromSemitone(low.Semitone() + draw.IntN(high.Semitone()-low.Semitone()+1))
			text += fmt.Sprintf(" %d:%s", n%4+1, p)
			want = append(want, [2]float64{float64(n), float64(p.Semitone() + 12*x.up)})
		}
		pieces[text] = want
	}
	var texts []string
	var scores, ours [][]byte
	for text := range pieces {
		r := check.Check("t.handful", syntax.Parse(fmt.Sprintf("tempo 60\nbars 6\nplayer Ida\n  %s\n", text)), check.Options{})
		require.Empty(t, r.Score.Problems, text)
		data, _, err := MusicXML(r, MusicXMLOptions{})
		require.NoError(t, err)
		midi, _, err := MIDI(r, MIDIOptions{})
		require.NoError(t, err)
		texts, scores, ours = append(texts, text), append(scores, data), append(ours, midi)
	}
	for i, theirs := range engraved(t, scores) {
		assert.Equal(t, pieces[texts[i]], tidied(outside.Mido(t, theirs, true)), "MusicXML: %s", texts[i])
		assert.Equal(t, pieces[texts[i]], tidied(outside.Mido(t, ours[i], true)), "MIDI: %s", texts[i])
	}
}

// tidied are seconds and keys in order, at whole hundredths.
func tidied(list []outside.Heard) (out [][2]float64) {
	for _, h := range list {
		out = append(out, [2]float64{math.Round(h.T*100) / 100, float64(h.Key)})
	}
	slices.SortFunc(out, func(a, b [2]float64) int { return slices.Compare(a[:], b[:]) })
	return out
}
