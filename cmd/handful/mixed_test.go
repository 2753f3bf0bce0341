package main

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/plan"
	"example.org/handful/lang/score"
	"example.org/handful/lang/sheet"
	"example.org/handful/lang/syntax"
)

// Texts of people with words and lines of one another's go the whole way: what was
// right in its place is nearly right in another, which is where a piece is half
// understood. Nothing ends, and what goes out comes in.
func TestMixedTextsGoTheWholeWay(t *testing.T) {
	tries, seed := 150, uint64(27)
	if n, err := strconv.Atoi(os.Getenv(textsVariable)); err == nil {
		tries, seed = n, rand.Uint64()
	} else if testing.Short() {
		tries = 40
	}
	texts := textsOfPeople(t)
	random := rand.New(rand.NewPCG(11, seed))
	m := newMixer(random, texts)
	checked := 0
	for n := range tries {
		text := m.text()
		file := syntax.Parse(text)
		if s := score.Bind("mixed.handful", file, nil, score.Options{}); folderKind(text) || s.Grid.Last() > 100 || s.Time.PlayedBars() > 200 {
			continue
		}
		checked++
		r := check.Check("mixed.handful", file, check.Options{})
		for i := range min(len(r.Findings), 6) {
			r.Fixes(&r.Findings[i])
		}
		switch n % 3 {
		case 0:
			wellFormed(t, r, sheet.Papers()[n/3%len(sheet.Papers())])
		case 1:
			outAndIn(t, text, r)
		case 2:
			if text, r := mended(text, r); r.Score.Grid.Last() <= 24 {
				planned(t, text, r, plan.Options{Players: n % 4, Keep: n%2 == 0})
			}
		}
	}
	t.Logf("%d of %d texts went the whole way (seed %d)", checked, tries, seed)
	require.Greater(t, checked, tries/2)
}

// textsOfPeople are the shipped pieces that are not long, what once ended the program,
// and what is shown of each rule.
func textsOfPeople(t *testing.T) []string {
	var texts []string
	for _, in := range []string{"../../examples/*.handful", "../../testdata/crashes/*.handful"} {
		paths, err := filepath.Glob(in)
		require.NoError(t, err)
		require.NotEmpty(t, paths)
		for _, path := range paths {
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			if len(text) < 8000 {
				texts = append(texts, string(text))
			}
		}
	}
	for _, r := range check.Rules() {
		texts = append(texts, r.Trips, r.Passes)
	}
	return texts
}

// A mixer puts lines and words of some texts into others.
type mixer struct {
	random              *rand.Rand
	texts, lines, words []string
}

func newMixer(random *rand.Rand, texts []string) *mixer {
	m := &mixer{random: random, texts: texts}
	for _, text := range texts {
		m.lines = append(m.lines, strings.Split(text, "\n")...)
		m.words = append(m.words, strings.Fields(text)...)
	}
	return m
}

func (m *mixer) any(list []string) string { return list[m.random.IntN(len(list))] }

func (m *mixer) text() string {
	lines := strings.Split(m.any(m.texts), "\n")
	if m.random.IntN(3) == 0 {
		lines = slices.Insert(lines, m.random.IntN(len(lines)+1), strings.Split(m.any(m.texts), "\n")...)
	}
	for range 1 + m.random.IntN(8) {
		i := m.random.IntN(len(lines))
		switch m.random.IntN(7) {
		case 0:
			lines = slices.Insert(lines, i, m.any(m.lines))
		case 1:
			if len(lines) > 1 {
				lines = slices.Delete(lines, i, i+1)
			}
		case 2:
			j := m.random.IntN(len(lines))
			lines[i], lines[j] = lines[j], lines[i]
		default:
			lines[i] = m.line(lines[i])
		}
	}
	return strings.Join(lines, "\n")
}

// line changes a word of a line: it is left out, or another one, or has one before it,
// or a number is up to three times as large.
func (m *mixer) line(line string) string {
	words := strings.Fields(line)
	if len(words) == 0 {
		return line
	}
	k := m.random.IntN(len(words))
	switch m.random.IntN(4) {
	case 0:
		words = slices.Delete(words, k, k+1)
	case 1:
		words[k] = m.any(m.words)
	case 2:
		words = slices.Insert(words, k, m.any(m.words))
	default:
		for i, word := range words {
			if n, err := strconv.Atoi(word); err == nil {
				words[i] = strconv.Itoa(m.random.IntN(4) * n)
				break
			}
		}
	}
	return line[:len(line)-len(strings.TrimLeft(line, " "))] + strings.Join(words, " ")
}
