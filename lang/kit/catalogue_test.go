package kit_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// table reads a reference table: a comment that names its source, a heading,
// and rows, keyed by their first column.
func table(t *testing.T, name string) map[string][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 1, name)
	out := map[string][]string{}
	for _, row := range rows[1:] {
		out[row[0]] = row
	}
	return out
}

// each runs a check on every instrument, by name.
func each(t *testing.T, check func(t *testing.T, in *kit.Instrument)) {
	t.Helper()
	all := kit.Standard().Instruments()
	require.NotEmpty(t, all)
	for _, in := range all {
		t.Run(in.ID, func(t *testing.T) { check(t, in) })
	}
}

func TestTheCatalogueReadsWithoutComplaint(t *testing.T) {
	require.NotEmpty(t, kit.CatalogueFiles())
	for _, name := range kit.CatalogueFiles() {
		t.Run(name, func(t *testing.T) {
			f := syntax.Parse(kit.CatalogueText(name))
			seats := f.Seats()
			for i, l := range f.Lines {
				assert.Empty(t, l.Problems, "line %d: %s", i+1, l.Text)
				assert.False(t, l.Broken, "line %d: %s", i+1, l.Text)
				assert.True(t, seats[i].Fits(l), "line %d stands in the wrong block: %s", i+1, l.Text)
			}
			_, _, problems := kit.Read(name, f, seats, false)
			for _, p := range problems {
				assert.Fail(t, p.Message(), "line %d: %s", p.Line+1, f.Lines[p.Line].Text)
			}
		})
	}
}

func TestEveryFileOfTheCatalogueIsInTheBinary(t *testing.T) {
	files, err := filepath.Glob("catalogue/*.handful")
	require.NoError(t, err)
	for i, f := range files {
		files[i] = filepath.Base(f)
	}
	assert.Equal(t, files, kit.CatalogueFiles())
}

func TestTheCatalogueIsInCanonicalLayout(t *testing.T) {
	for _, name := range kit.CatalogueFiles() {
		text := kit.CatalogueText(name)
		assert.Equal(t, text, syntax.Formatted(text), name)
	}
}

func TestEveryFileOpensByNamingWhatItHolds(t *testing.T) {
	for _, name := range kit.CatalogueFiles() {
		text := kit.CatalogueText(name)
		assert.True(t, strings.HasPrefix(text, "# "), name)
		head, _, _ := strings.Cut(text, "\n\n")
		assert.Contains(t, strings.ReplaceAll(head, "\n# ", " "), "common practice, no source", "%s has numbers that nobody published and does not say so", name)
	}
}

func TestNothingIsDefinedTwice(t *testing.T) {
	var defined []string
	for _, name := range kit.CatalogueFiles() {
		for _, l := range syntax.Parse(kit.CatalogueText(name)).Lines {
			if d, ok := l.Stmt.(*syntax.Define); ok {
				defined = append(defined, d.Word.Text+" "+d.Name.Text)
			}
		}
	}
	slices.Sort(defined)
	assert.Equal(t, slices.Compact(slices.Clone(defined)), defined)
	assert.Len(t, defined, len(kit.Standard().Instruments())+len(kit.Standard().Implements()))
	of := kit.Standard().With([]*kit.Instrument{{ID: "snare-drum"}, {ID: "a-drum"}}, []*kit.Implement{{ID: "snare-stick"}, {ID: "a-stick"}})
	var instruments, implements []string
	for _, in := range of.Instruments() {
		instruments = append(instruments, in.ID)
	}
	for _, im := range of.Implements() {
		implements = append(implements, im.ID)
	}
	assert.Equal(t, instruments, of.InstrumentIDs())
	assert.Equal(t, implements, of.ImplementIDs())
}

func TestEveryInstrumentOfTheTradeIsThere(t *testing.T) {
	ids := table(t, "instruments.csv")
	require.Len(t, ids, 69)
	for id := range ids {
		assert.NotNil(t, kit.Standard().Instrument(id), id)
	}
}

func TestEveryInstrumentIsDescribed(t *testing.T) {
	each(t, func(t *testing.T, in *kit.Instrument) {
		assert.NotEmpty(t, in.Called)
		assert.NotEmpty(t, in.Abbrevs)
		assert.NotEmpty(t, in.Family)
		assert.NotEmpty(t, in.Sounds)
		assert.NotEmpty(t, in.StopsBy)
		assert.NotEmpty(t, in.Basis)
		assert.False(t, in.Own)
		if in.Late > 0 {
			assert.NotEmpty(t, in.LateWhy)
		}
	})
}

func TestEveryImplementIsDescribed(t *testing.T) {
	var bare []string
	for _, im := range kit.Standard().Implements() {
		assert.NotEmpty(t, im.Called, im.ID)
		assert.NotEmpty(t, im.Basis, im.ID)
		if im.Weight == kit.Nothing {
			bare = append(bare, im.ID)
		}
	}
	assert.Equal(t, []string{"fingers"}, bare, "the bare hand is the one implement that weighs nothing")
}

func TestEverySoundIsAMusicXMLStandardSound(t *testing.T) {
	sounds := table(t, "musicxml-sounds.csv")
	each(t, func(t *testing.T, in *kit.Instrument) {
		for _, id := range in.Sounds {
			assert.Contains(t, sounds, id)
		}
	})
}

func TestEveryGlyphIsInSMuFL(t *testing.T) {
	glyphs := table(t, "smufl-percussion.csv")
	found := 0
	for _, name := range kit.CatalogueFiles() {
		for i, l := range syntax.Parse(kit.CatalogueText(name)).Lines {
			w, ok := l.Stmt.(*syntax.Words)
			if !ok || w.Word.Text != "glyph" {
				continue
			}
			for _, g := range w.Text {
				assert.Contains(t, glyphs, g.Text, "%s line %d", name, i+1)
				found++
			}
		}
	}
	assert.NotZero(t, found)
}

// Both ways: a key that General MIDI gives to an instrument is listed by it,
// and no instrument lists another's.
func TestKeysAreThoseOfGeneralMIDI(t *testing.T) {
	keys := table(t, "general-midi-percussion.csv")
	for note, row := range keys {
		n, err := strconv.Atoi(note)
		require.NoError(t, err)
		for _, id := range strings.Fields(row[3]) {
			in := kit.Standard().Instrument(id)
			require.NotNil(t, in, id)
			assert.Contains(t, in.MIDI, n, "%s is %s", row[1], id)
		}
	}
	each(t, func(t *testing.T, in *kit.Instrument) {
		for _, n := range in.MIDI {
			row, ok := keys[strconv.Itoa(n)]
			require.True(t, ok, "General MIDI has no percussion key %d", n)
			assert.Contains(t, strings.Fields(row[3]), in.ID, "key %d is %s", n, row[1])
		}
	})
}

func TestEveryImplementThatIsNamedIsDefined(t *testing.T) {
	// By its own id: a plural would be found, but only by way of a guess.
	var ids []string
	for _, im := range kit.Standard().Implements() {
		ids = append(ids, im.ID)
	}
	for _, im := range kit.Standard().Implements() {
		if im.Butt != "" {
			assert.Contains(t, ids, im.Butt, im.ID)
			assert.NotEmpty(t, im.ButtCost, im.ID)
		}
	}
	each(t, func(t *testing.T, in *kit.Instrument) {
		for _, w := range in.Ways {
			for _, c := range w.With {
				assert.Contains(t, ids, c.Implement)
			}
		}
		for _, ban := range in.Never {
			for _, id := range ban.With {
				assert.Contains(t, ids, id)
			}
		}
	})
}

func TestTheUsualWayCostsNothing(t *testing.T) {
	each(t, func(t *testing.T, in *kit.Instrument) {
		assert.Empty(t, in.Usual().Costs)
	})
}

// A stick breaks the head of a tambourine and is at home on its rim: that is
// the one reason for naming an implement both in a way and in a never.
func TestNoWayUsesWhatWouldBreakTheInstrument(t *testing.T) {
	each(t, func(t *testing.T, in *kit.Instrument) {
		for _, w := range in.Ways {
			for _, c := range w.With {
				if in.Banned(c.Implement) != "" {
					assert.Contains(t, w.Costs, "rim", "%s with %s: %s", w.Mount, c.Implement, in.Banned(c.Implement))
				}
			}
		}
	})
}

// A sentence about claves speaks of many, and one about a triangle of one.
func TestVerbsAgreeWithTheirInstruments(t *testing.T) {
	for id, want := range map[string]string{
		"claves": "are", "castanets": "are", "maracas": "are", "timpani": "are", "sleigh-bells": "are", "crotales": "are", "temple-blocks": "are",
		"triangle": "is", "wind-chimes": "is", "caxixi": "is", "bass-drum-pedal": "is", "vibraslap": "is", "snare-drum": "is",
	} {
		assert.Equal(t, want, kit.Standard().Instrument(id).Verb("is", "are"), id)
	}
	assert.Equal(t, "is", (&kit.Instrument{ID: "one-glass"}).Verb("is", "are"))
}

func TestEveryBanGivesItsReason(t *testing.T) {
	each(t, func(t *testing.T, in *kit.Instrument) {
		for _, ban := range in.Never {
			assert.NotEmpty(t, ban.With)
			assert.NotEmpty(t, ban.Reason)
		}
	})
}

func TestWaysMakeSense(t *testing.T) {
	each(t, func(t *testing.T, in *kit.Instrument) {
		for i, w := range in.Ways {
			if w.Softest != 0 && w.Loudest != 0 {
				assert.LessOrEqual(t, w.Softest, w.Loudest, "way %d", i+1)
			}
			if w.Limb == kit.Hand {
				assert.Positive(t, w.Hands, "way %d", i+1)
			} else {
				assert.Empty(t, w.With, "way %d: feet and mouths hold no implement", i+1)
			}
			if w.Limb == kit.Hand && w.Fixed() && len(w.With) == 0 {
				assert.Equal(t, kit.OnBody, w.Mount, "way %d: say fingers for the bare hand", i+1)
			}
			if w.Keeps {
				assert.True(t, w.HandHolds() || slices.ContainsFunc(w.With, func(c kit.Choice) bool { return c.Implement == "fingers" }),
					"way %d: only a hand that has no implement of its own keeps one", i+1)
			}
			for _, other := range in.Ways[:i] {
				assert.NotEqual(t, other, w, "way %d is there twice", i+1)
			}
		}
	})
}

// A roll that one hand makes on something fixed needs a reason: two mallets,
// a scrape, a crank, a sweep, or a price.
func TestRollsOfOneHandAreHonest(t *testing.T) {
	each(t, func(t *testing.T, in *kit.Instrument) {
		for i, w := range in.Ways {
			if !w.Rolls || w.Limb != kit.Hand || w.Hands != 1 || w.Costs != "" || !w.Fixed() {
				continue
			}
			assert.Contains(t, []string{"wind-chimes", "bell-tree", "glass-shell-bamboo-chimes", "thunder-sheet", "ratchet", "bell-wheel", "crystal-glasses", "siren"}, in.ID,
				"way %d: what does the roll of one hand cost?", i+1)
		}
	})
}

func TestTradeNamesAreNobodyElses(t *testing.T) {
	each(t, func(t *testing.T, in *kit.Instrument) {
		assert.Same(t, in, kit.Standard().Resolve(in.ID))
		if in.ID == "timbales" {
			return // the French for timpani: TestUnclearLettersAreKnownToBeUnclear
		}
		assert.Same(t, in, kit.Standard().Resolve(in.Called))
	})
}

// Common practice, no source: names and letters in real parts that mean two things.
func TestUnclearLettersAreKnownToBeUnclear(t *testing.T) {
	for letters, ids := range map[string][]string{
		"T.T.":        {"tam-tam", "tom-toms"},
		"Mar.":        {"maracas", "marimba"},
		"Gong":        {"tam-tam", "tuned-gong"},
		"Timbales":    {"timbales", "timpani"},
		"Rührtrommel": {"field-drum", "tenor-drum"},
	} {
		var got []string
		for _, in := range kit.Standard().Called(letters) {
			got = append(got, in.ID)
		}
		slices.Sort(got)
		assert.Equal(t, ids, got, letters)
		assert.Nil(t, kit.Standard().Resolve(letters), letters)
	}
}

// The facts that other packages and the documents lean on.
func TestOneHandedWays(t *testing.T) {
	find := func(id string, fits func(w *kit.Way) bool) *kit.Way {
		in := kit.Standard().Instrument(id)
		require.NotNil(t, in, id)
		for _, w := range in.Ways {
			if fits(w) {
				return w
			}
		}
		return nil
	}
	with := func(w *kit.Way, id string, count int) bool {
		return slices.Contains(w.With, kit.Choice{Implement: id, Count: count})
	}
	t.Run("a held triangle takes both hands and rolls with one beater", func(t *testing.T) {
		w := kit.Standard().Instrument("triangle").Usual()
		assert.Equal(t, kit.Held, w.Mount)
		assert.Equal(t, 2, w.Hands)
		assert.True(t, w.Rolls && with(w, "triangle-beater", 1))
	})
	t.Run("a clipped triangle rolls with one hand only at two corners", func(t *testing.T) {
		w := find("triangle", func(w *kit.Way) bool { return w.Mount == kit.Clipped && w.Hands == 1 && w.Rolls })
		require.NotNil(t, w)
		assert.Contains(t, w.Needs, "second-clip")
		assert.NotEmpty(t, w.Costs)
	})
	t.Run("a suspended cymbal rolls with two yarn mallets in one hand, at a price", func(t *testing.T) {
		w := find("suspended-cymbal", func(w *kit.Way) bool { return w.Hands == 1 && w.Rolls })
		require.NotNil(t, w)
		assert.True(t, with(w, "yarn-mallet", 2))
		assert.NotEmpty(t, w.Costs)
	})
	t.Run("a laid tambourine leaves a light implement in the fingers", func(t *testing.T) {
		w := find("tambourine", func(w *kit.Way) bool { return w.Mount == kit.Padded && w.Hands == 1 && with(w, "fingers", 1) })
		require.NotNil(t, w)
		assert.True(t, w.Keeps)
		assert.NotEmpty(t, w.Costs)
	})
	t.Run("timpani never roll with one hand", func(t *testing.T) {
		assert.Nil(t, find("timpani", func(w *kit.Way) bool { return w.Hands == 1 && w.Rolls }))
	})
	t.Run("a crash takes both hands, and nothing else is one", func(t *testing.T) {
		assert.Nil(t, find("crash-cymbals", func(w *kit.Way) bool { return w.Hands < 2 }))
	})
	t.Run("a whistle on a cord leaves both hands free", func(t *testing.T) {
		w := kit.Standard().Instrument("police-whistle").Usual()
		assert.Equal(t, kit.Mouth, w.Limb)
		assert.Zero(t, w.Hands)
		assert.Contains(t, w.Needs, "cord")
	})
	t.Run("the drum set is played from its stool", func(t *testing.T) {
		assert.Nil(t, find("drum-set", func(w *kit.Way) bool { return !w.Seated }))
	})
	t.Run("brass never touches a marimba", func(t *testing.T) {
		assert.NotEmpty(t, kit.Standard().Instrument("marimba").Banned("brass-mallet"))
	})
}

func TestWhatANameMayHaveMeant(t *testing.T) {
	ids := []string{"snare-drum", "snare-rim-click", "woodblock", "bass-drum-with-attached-cymbal", "crash-cymbals", "suspended-cymbal", "timbales"}
	for word, want := range map[string][]string{
		"snare":       {"snare-drum", "snare-rim-click"},
		"wood-block":  {"woodblock"},
		"cymbals":     {"crash-cymbals", "suspended-cymbal", "bass-drum-with-attached-cymbal"},
		"susp-cymbal": {"crash-cymbals", "suspended-cymbal", "bass-drum-with-attached-cymbal"},
		"snare-drun":  {"snare-drum"},
		"xyz":         {},
	} {
		assert.Equal(t, want, append([]string{}, kit.Meant(word, ids)...), word)
	}
}

// The room an instrument takes, how high it is and what one sits on are facts
// that every set-up leans on: none is left to a guess.
func TestEveryInstrumentHasItsSizeAndHeight(t *testing.T) {
	each(t, func(t *testing.T, in *kit.Instrument) {
		said := map[string]bool{}
		l := strings.Split(kit.CatalogueText(in.File), "\n")
		for _, line := range l[in.Line+1:] {
			if line == "" {
				break
			}
			word, _, _ := strings.Cut(strings.TrimSpace(line), " ")
			said[word] = true
		}
		for _, word := range []string{"size", "height", "fills"} {
			assert.True(t, said[word], "it does not say its %s", word)
		}
		assert.True(t, in.Sized())
		assert.GreaterOrEqual(t, max(in.Wide, in.Deep), in.Zone*0.9, "what is struck is wider than the instrument")
		assert.LessOrEqual(t, in.Over, max(in.Wide, in.Deep), "it hangs over by more than it is wide")
		assert.Less(t, in.Low, in.High)
		if !in.Stands() {
			assert.LessOrEqual(t, in.Low, in.Height)
			assert.LessOrEqual(t, in.Height, in.High)
		}
		seated := slices.ContainsFunc(in.Ways, func(w *kit.Way) bool { return w.Seated })
		assert.Equal(t, seated, said["seat"], "a seated way, and a seat")
		for _, id := range in.Shares {
			require.NotNil(t, kit.Standard().Instrument(id), id)
		}
		for _, w := range in.Ways {
			if w.Mount == kit.Floor {
				assert.True(t, in.Stands(), "it is played on the floor, and stands above it")
			}
		}
	})
}

// A third either way is what sizes vary.
func TestSizesAreThoseOfTheTrade(t *testing.T) {
	near := func(t *testing.T, want string, got float64, what string) {
		n, err := strconv.ParseFloat(want, 64)
		require.NoError(t, err)
		assert.InDelta(t, 1, got/n, 0.3, "%s %g, usually %g", what, got, n)
	}
	for id, row := range table(t, "sizes.csv") {
		t.Run(id, func(t *testing.T) {
			in := kit.Standard().Instrument(id)
			require.NotNil(t, in)
			near(t, row[1], in.Wide, "wide")
			near(t, row[2], in.Deep, "deep")
		})
	}
}

// Whatever is held in the hand to strike with reaches further than the hand.
func TestEveryImplementHasItsLength(t *testing.T) {
	for _, im := range kit.Standard().Implements() {
		if im.Weight == kit.Nothing {
			assert.Zero(t, im.Length, "the hand is as long as it is")
			continue
		}
		assert.Positive(t, im.Length, im.ID)
	}
}

// Whatever may be played instead of another thing, that other may be played
// instead of it, each at its own price; what goes one way only says why.
func TestStandInsAreMutual(t *testing.T) {
	oneWay := map[string]string{}
	for _, row := range tsv(t, "one-way.tsv") {
		oneWay[row[0]+" for "+row[1]] = row[2]
	}
	used := map[string]bool{}
	each(t, func(t *testing.T, in *kit.Instrument) {
		for _, st := range in.StandsFor {
			other := kit.Standard().Instrument(st.For)
			require.NotNil(t, other, st.For)
			assert.NotEmpty(t, st.Costs)
			assert.NotEqual(t, in.ID, st.For)
			costs, ok := kit.Standard().StandsIn(in, other)
			assert.True(t, ok)
			assert.Equal(t, st.Costs, costs)
			assert.Contains(t, kit.Standard().StandIns(other), kit.Substitute{In: in, Costs: st.Costs})
			_, back := kit.Standard().StandsIn(other, in)
			key := in.ID + " for " + other.ID
			if oneWay[key] != "" {
				used[key] = true
				assert.False(t, back, "%s is said to go one way only, and goes both", key)
				continue
			}
			assert.True(t, back, "%s, and not the other way round", key)
		}
	})
	for key := range oneWay {
		assert.True(t, used[key], "%s is nobody's", key)
	}
}

// Estimates of how noisy and how hard things are to take and lay, made apart
// from the catalogue, agree with it within a class either way.
func TestHandlingAgreesWithWhatWasEstimatedApart(t *testing.T) {
	for id, row := range table(t, "handling.csv") {
		in := kit.Standard().Instrument(id)
		require.NotNil(t, in, id)
		noise, err := strconv.Atoi(row[1])
		require.NoError(t, err)
		hard, err := strconv.Atoi(row[2])
		require.NoError(t, err)
		assert.InDelta(t, noise, int(in.Noise), 1, "%s: noise", id)
		// Three classes here, four there.
		assert.InDelta(t, float64(hard)*2/3, float64(in.Handling), 1, "%s: handling", id)
		lay, err := strconv.ParseFloat(row[4], 64)
		require.NoError(t, err)
		if held := in.Usual().Mount == kit.Held; held && lay >= 1.8 {
			assert.True(t, in.Handling > kit.Easy || in.Noise == kit.Loud, "%s takes %g s to lay quietly, and is neither hard nor loud", id, lay)
		}
	}
}

// Nobody is asked to carry what has no weight, and what stands on the floor and
// weighs as much as a person is not carried by one.
func TestCarryingIsHonest(t *testing.T) {
	each(t, func(t *testing.T, in *kit.Instrument) {
		assert.NotEqual(t, kit.Anyhow, in.Carry, "who carries it?")
		switch in.Carry {
		case kit.OnePerson:
			assert.LessOrEqual(t, in.Kilos, 15.0)
		case kit.TwoPeople:
			assert.GreaterOrEqual(t, in.Kilos, 8.0)
		case kit.OnWheels:
			assert.GreaterOrEqual(t, in.Kilos, 14.0)
		}
	})
}

// A way that holds the player to the spot says so in its cost as well, and feet
// that are taken besides the hands are never taken from a way of the feet.
func TestBodiesAreData(t *testing.T) {
	each(t, func(t *testing.T, in *kit.Instrument) {
		for i, w := range in.Ways {
			assert.LessOrEqual(t, w.Feet, 2, "way %d", i+1)
			if w.Limb != kit.Hand {
				assert.Zero(t, w.Feet, "way %d", i+1)
			}
			if slices.Contains(w.StopsBy, "pedal") && w.Limb == kit.Hand {
				assert.Positive(t, w.Feet, "way %d is stopped by a pedal that no foot is on", i+1)
			}
			if w.Named != "" {
				for _, o := range in.Ways[:i] {
					assert.NotEqual(t, w.Named, o.Named)
				}
			}
		}
	})
	for _, id := range []string{"vibraphone", "chimes", "hi-hat"} {
		assert.Equal(t, 1, kit.Standard().Instrument(id).Usual().Feet, id)
	}
	assert.Equal(t, 2, kit.Standard().Instrument("drum-set").Usual().Feet)
}

func TestThereAreEnoughOfThem(t *testing.T) {
	assert.GreaterOrEqual(t, len(kit.Standard().Instruments()), 130)
}
