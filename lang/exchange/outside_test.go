package exchange

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/internal/outside"
	"example.org/handful/lang/check"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

func checked(t testing.TB, file string) *check.Result {
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	return check.Check(filepath.Base(file), syntax.Parse(string(text)), check.Options{})
}

func parade(t testing.TB) []byte {
	data, err := os.ReadFile("../../examples/quay-parade.musicxml")
	require.NoError(t, err)
	return data
}

func examples(t testing.TB) []string {
	files, err := filepath.Glob("../../examples/*.handful")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	return files
}

// MusicXML 4.0 schema: W3C Music Notation Community Group, musicxml.xsd, with
// the attributes that it imports from the xml and xlink namespaces.
func TestWhatGoesOutIsValid(t *testing.T) {
	outside.Need(t, "xmllint")
	for _, file := range examples(t) {
		data, _, err := MusicXML(checked(t, file), MusicXMLOptions{})
		require.NoError(t, err, file)
		valid(t, filepath.Base(file), data)
	}
	valid(t, "quay-parade.musicxml", parade(t))
}

func valid(t *testing.T, name string, data []byte) {
	dir, err := filepath.Abs("testdata")
	require.NoError(t, err)
	cmd := exec.Command("xmllint", "--nonet", "--noout", "--schema", filepath.Join(dir, "musicxml.xsd"), "-")
	cmd.Env = append(os.Environ(), "XML_CATALOG_FILES="+filepath.Join(dir, "catalog.xml"))
	cmd.Stdin = bytes.NewReader(data)
	out, err := cmd.CombinedOutput()
	assert.NoError(t, err, "%s: %.2000s", name, out)
}

// ours is every stroke that is struck, as played.
func ours(r *check.Result) []float64 {
	var out []float64
	for _, m := range r.Motions {
		for i := range m.Events {
			if e := &m.Events[i]; e.Kind == motion.Strike || e.Kind == motion.RollOn {
				out = append(out, e.T0)
			}
		}
	}
	slices.Sort(out)
	return out
}

// Our MIDI files, read by npm's midi-file 1.2.4 and Debian's python3-mido, hold
// the same notes at the same seconds, and those are when strokes are played.
func TestMIDIIsReadBackByTwoOthers(t *testing.T) {
	modules := outside.NodeModules(t, "midi-file")
	const js = `
const midi = require(process.argv[2] + "/midi-file");
const m = midi.parseMidi(require("node:fs").readFileSync(process.argv[3]));
const all = [];
for (const t of m.tracks) { let at = 0; for (const e of t) { at += e.deltaTime; all.push({ at, e }); } }
all.sort((a, b) => a.at - b.at || (a.e.type === "setTempo" ? -1 : 0) - (b.e.type === "setTempo" ? -1 : 0));
let us = 500000, tick = 0, sec = 0; const out = [];
for (const { at, e } of all) {
  sec += (at - tick) * us / 1e6 / m.header.ticksPerBeat; tick = at;
  if (e.type === "setTempo") us = e.microsecondsPerBeat;
  if (e.type === "noteOn" && e.velocity > 0) out.push({ t: sec, key: e.noteNumber });
}
console.log(JSON.stringify(out));`
	dir := t.TempDir()
	main := filepath.Join(dir, "read.cjs")
	require.NoError(t, os.WriteFile(main, []byte(js), 0o600))
	ordered := func(list []outside.Heard) []outside.Heard {
		slices.SortFunc(list, func(a, b outside.Heard) int {
			switch {
			case math.Abs(a.T-b.T) > 1e-4 && a.T < b.T:
				return -1
			case math.Abs(a.T-b.T) > 1e-4:
				return 1
			}
			return a.Key - b.Key
		})
		return list
	}
	for _, example := range examples(t) {
		r := checked(t, example)
		data, _, err := MIDI(r, MIDIOptions{})
		require.NoError(t, err)
		file := filepath.Join(dir, "x.mid")
		require.NoError(t, os.WriteFile(file, data, 0o600))
		out, err := exec.Command("node", main, modules, file).Output()
		require.NoError(t, err)
		var one []outside.Heard
		require.NoError(t, json.Unmarshal(out, &one))
		one = ordered(one)
		two := ordered(outside.Mido(t, data, false))
		require.Equal(t, len(one), len(two), example)
		var times []float64
		for i := range one {
			assert.Equal(t, one[i].Key, two[i].Key, "%s, note %d", example, i)
			assert.InDelta(t, one[i].T, two[i].T, 1e-3, "%s, note %d", example, i)
			times = append(times, one[i].T)
		}
		slices.Sort(times)
		for _, at := range ours(r) {
			i, _ := slices.BinarySearch(times, at-0.002)
			assert.True(t, i < len(times) && times[i] <= at+0.002, "%s: the stroke at %.4f s is not heard", example, at)
		}
	}
}

// What goes out comes in again with every stroke at its place.
func TestMIDIComesBack(t *testing.T) {
	r := check.Check("x.handful", syntax.Parse("tempo 100\nbars 3\nplayer Ida\n  R snare-drum with snare-stick | mf 1 1t 1l 2 2e 3& | f 1 4a | 1 2+2/3 3\n  L triangle clipped with triangle-beater | p 2 | - | 4\n"), check.Options{})
	data, _, err := MIDI(r, MIDIOptions{})
	require.NoError(t, err)
	text, lost, err := written.Text(data, written.Options{})
	require.NoError(t, err)
	assert.Empty(t, lost)
	assert.Contains(t, text, "snare-drum | mf 1 1t 1l 2 2e 3& | f 1 4a | 1 2l 3")
	assert.Contains(t, text, "triangle | p 2 | - | 4")
	click, _, err := MIDI(r, MIDIOptions{Click: true})
	require.NoError(t, err)
	assert.Greater(t, len(click), len(data))

	rolled := check.Check("x.handful", syntax.Parse("tempo 100\nbars 3\nplayer Ida\n  R suspended-cymbal with yarn-mallet | p 1~3 | 2~ | ~3\n"), check.Options{})
	data, _, err = MIDI(rolled, MIDIOptions{})
	require.NoError(t, err)
	text, lost, err = written.Text(data, written.Options{})
	require.NoError(t, err)
	require.Len(t, lost, 2)
	assert.Contains(t, lost[0].What, "written as rolls")
	assert.Contains(t, lost[1].What, `"Crash Cymbal 1" may be suspended-cymbal or crash-cymbals`, "two instruments share the key, and that is said")
	assert.Contains(t, text, "suspended-cymbal | p 1~3 | 2~ | ~3")
}
