package exchange

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/internal/outside"
	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// heardDrums are keys by what plays them: the General MIDI percussion key map
// (MIDI Association) under the names that it has for them.
var heardDrums = []struct {
	cue  string
	keys []int
}{
	{"R tom-toms with snare-stick | 1:high 2:middle-high 3:middle-low 4:low", []int{50, 48, 47, 45}}, // High Tom, Hi-Mid Tom, Low-Mid Tom, Low Tom
	{"R tom-toms with snare-stick | 1:1 2:2 3:3 4:4", []int{50, 48, 47, 45}},
	{"L bongos | 1:high 2:low", []int{60, 61}},                          // Hi Bongo, Low Bongo
	{"R congas | 1:high 2:low", []int{63, 64}},                          // Open Hi Conga, Low Conga
	{"R timbales with snare-stick | 1:high 2:low", []int{65, 66}},       // High Timbale, Low Timbale
	{"R agogo on stand with snare-stick | 1:high 2:low", []int{67, 68}}, // High Agogo, Low Agogo
	{"R+L bongos | 1:high+low", []int{60, 61}},
	{"R+L tom-toms with snare-stick | 1:low+high", []int{45, 50}},
}

// What goes out is read by Debian's python3-mido, which shares nothing with the
// reader here.
func TestDrumsOfASetAreHeard(t *testing.T) {
	outside.Need(t, "/usr/bin/python3")
	if exec.Command("/usr/bin/python3", "-c", "import mido").Run() != nil {
		t.Skip("python3-mido is not there")
	}
	for _, c := range heardDrums {
		data, told := midiOf(t, c.cue)
		assert.Empty(t, told, c.cue)
		file := filepath.Join(t.TempDir(), "x.mid")
		require.NoError(t, os.WriteFile(file, data, 0o600))
		said, err := exec.Command("/usr/bin/python3", "-c", `
import mido, json, sys
print(json.dumps([m.note for m in mido.MidiFile(sys.argv[1]) if m.type == "note_on" and m.velocity > 0 and m.channel == 9]))`, file).Output()
		require.NoError(t, err)
		var keys []int
		require.NoError(t, json.Unmarshal(said, &keys))
		if strings.Contains(c.cue, "+L") { // at once
			slices.Sort(keys)
		}
		assert.Equal(t, c.keys, keys, c.cue)
	}
}

func midiOf(t *testing.T, cue string) (data []byte, told []string) {
	t.Helper()
	r := check.Check("t.handful", syntax.Parse("tempo 60\nbars 1\nplayer Ida\n  "+cue+"\n"), check.Options{})
	require.Empty(t, r.Score.Problems, cue)
	data, told, err := MIDI(r, MIDIOptions{})
	require.NoError(t, err)
	return data, told
}

// Where the map has no key for a drum or no note, that is told, and nothing else.
func TestWhatMIDICannotSayOfDrumsIsTold(t *testing.T) {
	for cue, want := range map[string]string{
		"R temple-blocks with rubber-mallet | 1:high 2:low": "which of the temple blocks: MIDI has no key for each, and all of them sound on one",
		"R bongos | 1 2":                        "strokes on the bongos that do not say which: they sound on the high one, since each has a key of its own",
		"R xylophone with rubber-mallet | 1":    "strokes on the xylophone that do not say which note: they sound as D5",
		"R timpani with timpani-mallet | 1:2":   "strokes on the timpani that do not say which note: they sound as B2",
		"R snare-drum with snare-stick | 1 2 ":  "",
		"R xylophone with rubber-mallet | 1:C5": "",
	} {
		data, told := midiOf(t, cue)
		assert.NotEmpty(t, data)
		if want == "" {
			assert.Empty(t, told, cue)
			continue
		}
		assert.Equal(t, []string{"not in the file: " + want}, told, cue)
	}
}

// An instrument of the piece's own with notes or kettles keeps them.
func TestNotesOfAnInstrumentOfOnesOwnComeBackFromMIDI(t *testing.T) {
	for block, want := range map[string]string{
		"kettle 74 F2 C3\n  kettle 66 Bb2 F3\n  way floor takes 2 hands with timpani-mallet": "timpani | 1:F2 2:C3",
		"range C2 C4\n  way on stand takes 1 hand with yarn-mallet":                          "vibraphone | 1:F2 2:C3",
		"range C2 C4\n  octaves 1\n  way on stand takes 1 hand with yarn-mallet":             "xylophone | 1:F2 2:C3",
		"range C2 C4\n  octaves 2\n  way on stand takes 1 hand with yarn-mallet":             "glockenspiel | 1:F2 2:C3",
	} {
		text := "tempo 60\nbars 1\ninstrument mine\n  called \"Mine\"\n  family membrane\n  " + block + "\nplayer Ida\n  R mine | 1:F2 2:C3\n"
		r := check.Check("t.handful", syntax.Parse(text), check.Options{})
		require.Empty(t, r.Score.Problems, text)
		data, told, err := MIDI(r, MIDIOptions{})
		require.NoError(t, err)
		require.Len(t, told, 1)
		assert.Contains(t, told[0], "it sounds as the "+strings.Fields(want)[0])
		back, _, err := written.Text(data, written.Options{})
		require.NoError(t, err)
		assert.Contains(t, strings.ReplaceAll(back, "mf ", ""), want)
	}
}

// Drums of a set that have keys come back from MIDI as the same drums.
func TestDrumsComeBackFromMIDI(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		set := rapid.SampledFrom([]struct {
			cue  string
			aims []string
		}{
			{"tom-toms with snare-stick", []string{"high", "middle-high", "middle-low", "low"}},
			{"bongos", []string{"high", "low"}},
			{"congas", []string{"high", "low"}},
			{"timbales with snare-stick", []string{"high", "low"}},
			{"agogo on stand with snare-stick", []string{"high", "low"}},
		}).Draw(t, "set")
		limb := rapid.SampledFrom([]string{"R", "L", "R+L"}).Draw(t, "limb")
		var struck, want []string
		for count := 1; count <= 4; count++ {
			n := 1
			if limb == "R+L" {
				n = 2
			}
			drums := rapid.Permutation(set.aims).Draw(t, "drums")[:n]
			struck = append(struck, fmt.Sprintf("%d:%s", count, strings.Join(drums, "+")))
			slices.Sort(drums)
			want = append(want, strings.Join(drums, "+"))
		}
		text := fmt.Sprintf("tempo 60\nbars 1\nplayer Ida\n  %s %s | %s\n", limb, set.cue, strings.Join(struck, " "))
		was := check.Check("was.handful", syntax.Parse(text), check.Options{})
		data, told, err := MIDI(was, MIDIOptions{})
		if err != nil || len(told) > 0 || len(was.Score.Problems) > 0 {
			t.Fatal(err, told, was.Score.Problems)
		}
		back, lost, err := written.Text(data, written.Options{})
		if err != nil || len(lost) > 0 {
			t.Fatal(err, lost)
		}
		is := score.Bind("is.handful", syntax.Parse(back), nil, score.Options{})
		got := map[string][]string{} // by place: each hand has a track of its own
		for _, p := range is.Parts {
			for _, l := range p.Lines {
				for i := range l.Strokes {
					for _, k := range l.StruckAt(i).Keys {
						got[l.Strokes[i].At.String()] = append(got[l.Strokes[i].At.String()], k.String())
					}
				}
			}
		}
		for count, w := range want {
			at := was.Score.Players[0].Cues[0].Strokes[count].At.String()
			slices.Sort(got[at])
			if g := strings.Join(got[at], "+"); g != w {
				t.Fatalf("%s: %s for %s\n%s\n%s", at, g, w, text, back)
			}
		}
	})
}
