package kit_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/kit"
)

// tsv reads a table of words: comments, a heading, and rows of cells.
func tsv(t testing.TB, name string) [][]string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", name))
	require.NoError(t, err)
	var out [][]string
	headed := false
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		if strings.HasPrefix(line, "#") {
			continue
		}
		if headed {
			out = append(out, strings.Split(line, "\t"))
		}
		headed = true
	}
	require.NotEmpty(t, out)
	return out
}

func idsOf(kinds []*kit.Instrument) []string {
	var out []string
	for _, in := range kinds {
		out = append(out, in.ID)
	}
	return out
}

// Of the words that stand in parts nineteen in twenty are found, and none is
// taken for what it is not: each finds an instrument that it may mean, first,
// and where it finds several it says what each would mean.
func TestWordsOfParts(t *testing.T) {
	words := tsv(t, "part-words.tsv")
	found := map[string][2]int{}
	var wrong, missing []string
	for _, row := range words {
		want := strings.Fields(row[2])
		r := kit.Standard().Read(row[0], kit.Alone)
		n := found[row[1]]
		n[1]++
		switch got := idsOf(r.Kinds); {
		case len(got) == 0:
			missing = append(missing, row[0])
		case !slices.Contains(want, got[0]):
			wrong = append(wrong, fmt.Sprintf("%s: %v, and not %v", row[0], got, want))
		case len(got) > 1 && !r.Together && r.Meanings == "":
			wrong = append(wrong, row[0]+": several, and nothing says what each would mean")
		default:
			n[0]++
		}
		found[row[1]] = n
	}
	assert.Empty(t, wrong)
	assert.LessOrEqual(t, len(missing)*20, len(words), "more than one in twenty is not found: %v", missing)
	t.Logf("%d words; found by language, of all: %v; not found: %v", len(words), found, missing)
}

// What is no percussion, and what nobody knows, is never taken for an
// instrument. Horn and Pan are told as doubtful.
func TestNothingIsTakenForWhatItIsNot(t *testing.T) {
	for _, name := range []string{
		"Horn 1", "Horn in F", "French Horn", "Hn.", "Trumpet in Bb", "Tpt.", "Trp.", "Cor.", "Corno", "Flute", "Fl.", "Ob.", "Clar.", "B. Cl.", "Bsn.", "Vla.", "Vc.", "Cb.",
		"D.B.", "Bass", "Bass Guitar", "Gtr.", "Gui.", "Harp", "Piano", "Org.", "Voice", "Choir", "Alto", "Tenor", "Bar.", "Strings", "Cel.", "Acc.",
		"Table", "Note", "Mark", "Repeat", "Player", "Part", "Tacet", "Solo", "Cue", "Conductor", "Gizmo", "Zzz", "Thing 2", "Instrument", "Melody", "Left Hand", "A", "1", "", "…", "🥁",
	} {
		r := kit.Standard().Read(name, kit.Alone)
		assert.Nil(t, r.Sure(), name)
		if !r.Other {
			assert.Empty(t, idsOf(r.Kinds), name)
		}
	}
	for _, name := range []string{"Percussion", "Perc. 2", "Percussion I", "Schlagwerk", "Aux. Perc.", "Mallet Percussion"} {
		r := kit.Standard().Read(name, kit.Alone)
		assert.True(t, r.Section, name)
		assert.Empty(t, r.Kinds, name)
	}
}

// Every name of the catalogue finds its instrument, first or told among others.
func TestEveryNameIsRead(t *testing.T) {
	each(t, func(t *testing.T, in *kit.Instrument) {
		for _, name := range in.Names() {
			r := kit.Standard().Read(name, kit.Alone)
			assert.Contains(t, r.Kinds, in, name)
			if len(r.Kinds) > 1 {
				assert.NotEmpty(t, r.Meanings, "%s is %v, and nothing says what each would mean", name, idsOf(r.Kinds))
			}
		}
	})
}

// A name with a number before or behind it, in the plural, or with its words
// cut short and dotted is still the same thing, or among those that it is told
// it may be.
func TestNamesAreReadHoweverTheyAreWritten(t *testing.T) {
	var names []struct {
		in   *kit.Instrument
		name string
	}
	for _, in := range kit.Standard().Instruments() {
		if !strings.ContainsAny(in.Called, "(") {
			names = append(names, struct {
				in   *kit.Instrument
				name string
			}{in, in.Called})
		}
	}
	require.NotEmpty(t, names)
	draws.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom(names).Draw(t, "name")
		words := strings.Fields(n.name)
		for i, w := range words {
			if len(w) < 6 || strings.Contains(w, "-") || i < len(words)-1 && rapid.Bool().Draw(t, "whole") {
				continue
			}
			switch rapid.IntRange(0, 3).Draw(t, "how") {
			case 0:
				if i < len(words)-1 || strings.HasSuffix(w, "s") || strings.HasSuffix(w, "n") || strings.HasSuffix(w, "i") {
					break
				}
				words[i] = w + "s"
			case 1:
				cut := rapid.IntRange(4, len(w)-1).Draw(t, "cut")
				if isASCII(w) {
					words[i] = w[:cut] + "."
				}
			case 2:
				words[i] = strings.ToUpper(w)
			}
		}
		if called := kit.Standard().Called(strings.Join(words, " ")); len(called) > 0 && !slices.Contains(called, n.in) {
			t.Skip("those letters are another's: Tamb.")
		}
		text := strings.Join(words, rapid.SampledFrom([]string{" ", "-", "  "}).Draw(t, "between"))
		text = rapid.SampledFrom([]string{"", "2 ", "1st ", "High ", "2 large ", "Perc. 3: "}).Draw(t, "before") + text +
			rapid.SampledFrom([]string{"", " 2", " II", " #1", " (2)", " [high]", " No. 3"}).Draw(t, "behind")
		r := kit.Standard().Read(text, kit.Alone)
		if !slices.Contains(r.Kinds, n.in) {
			t.Fatalf("%q is read as %v, and not as the %s", text, idsOf(r.Kinds), n.in.ID)
		}
	})
}

func isASCII(s string) bool {
	return strings.IndexFunc(s, func(r rune) bool { return r > 127 }) < 0
}

func TestCompanySettlesNames(t *testing.T) {
	for name, want := range map[string]string{"Crash": "suspended-cymbal", "Crash Cymbals": "suspended-cymbal", "Cymbal": "suspended-cymbal", "Bass Drum": "bass-drum-pedal", "Snare": "snare-drum", "Kick": "bass-drum-pedal"} {
		r := kit.Standard().Read(name, kit.InDrumSet)
		require.Len(t, r.Kinds, 1, name)
		assert.Equal(t, want, r.Kinds[0].ID, name)
		assert.NotNil(t, r.Sure(), name)
	}
	assert.Equal(t, "crash-cymbals", kit.Standard().Read("Crash Cymbals", kit.Alone).Sure().ID)
	assert.Equal(t, "bass-drum", kit.Standard().Read("Bass Drum", kit.Alone).Sure().ID)
}

// A layer's own instruments are read in the same ways, and before the others.
func TestOwnInstrumentsAreReadAsWell(t *testing.T) {
	own := &kit.Instrument{ID: "tin-bath", Called: "Tin bath", Own: true, Ways: []*kit.Way{{Mount: kit.OnStand, Hands: 1}}}
	cat := kit.Standard().With([]*kit.Instrument{own}, nil)
	for _, name := range []string{"Tin bath", "Tin Baths", "2 Tin Baths", "tin-bath", "Tin Bath 1"} {
		assert.Same(t, own, cat.Read(name, kit.Alone).Sure(), name)
		assert.Empty(t, kit.Standard().Read(name, kit.Alone).Kinds, name)
	}
	assert.Equal(t, "triangle", cat.Read("Trian.", kit.Alone).Sure().ID)
}

// Nothing that anybody may type ends the program, and reading is the same twice.
func TestReadingNamesNeverFails(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		name := rapid.String().Draw(t, "name")
		a, b := kit.Standard().Read(name, kit.Alone), kit.Standard().Read(name, kit.Alone)
		if !slices.Equal(a.Kinds, b.Kinds) || a.Meanings != b.Meanings {
			t.Fatalf("%q is read in two ways", name)
		}
	})
}

func BenchmarkReadName(b *testing.B) {
	names := []string{"Susp. Cym.", "Kl. Trommel", "Tub. Bells", "2 Bongos", "Grosse Caisse", "Violin II", "Gizmo", "Large Woodblocks 2", "Cymbals", "Trian.", "Snare Drum/Bass Drum", "S.D."}
	for _, name := range names {
		b.Run(strings.ReplaceAll(name, "/", "+"), func(b *testing.B) {
			kit.Standard().Read(name, kit.Alone)
			b.ReportAllocs()
			for b.Loop() {
				kit.Standard().Read(name, kit.Alone)
			}
		})
	}
}

// What it costs to open the catalogue, to read one entry of it, and to find a
// name for the first time.
func BenchmarkOpenTheCatalogue(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		kit.Open()
	}
}
