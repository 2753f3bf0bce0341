package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/internal/report"
	"example.org/handful/lang/check"
)

// plantedVariable says how many files are drawn; .ci/long sets it.
const plantedVariable = "HANDFUL_PLANTED"

// A planting is a library with a fault of a rule in every other file.
type planting struct {
	dir   string
	rules []*check.Rule
	files map[string]*check.Rule // nil where none is planted
}

// unplanted are rules of which no piece can trip one, each with the reason.
var unplanted = map[string]string{
	"internal": "it is a failure of the program",
}

// plantedAs trips a rule whose own example cannot stand in a larger file with
// exactly its findings: it uses a file that is there for the rule alone, or has
// something else the matter as well.
var plantedAs = map[string]string{
	"use":           "tempo 96\nuse \"../shared/nowhere.handful\"\nplayer Ida\n  R snare-drum | 1 2 3 4\n",
	"not-carried":   "tempo 60\nbars 4\npart \"Bells\" in \"../shared/mordent.musicxml\"\nplayer Ida\n  R triangle held with triangle-beater as written\n",
	"assumed-tempo": "player Ida\n  R snare-drum | 1\n",
	"fermata-as-time": `tempo 40.1
hold 1.1
player Ida
  kit
    snare-drum on stand at ahead 45
    triangle clipped at right 20 ahead 55
    table at right 30 ahead 40
  R snare-drum with snare-stick   | 1
  R triangle with triangle-beater | 2
`,
	"floor-pick-up": `tempo 60
player Ida
  kit
    tambourine floor at right 30 ahead 30
  R tambourine held with fingers | - | - | 1
`,
	"unclear-name": `tempo 60
part "Percussion"
  Bells | 1
player Ida
  R glockenspiel with plastic-mallet for Bells as written
`,
}

// trips is a piece in which a rule finds one thing.
func trips(rule *check.Rule) string {
	if text := plantedAs[rule.Name]; text != "" {
		return text
	}
	return rule.Trips
}

// plant draws a library: players and parts that are in order, 20 to 400 lines a
// file, a shared kit, parts that come as MusicXML, and in every other file
// besides what trips a rule.
func plant(t *testing.T, files int) *planting {
	p := &planting{dir: t.TempDir(), files: map[string]*check.Rule{}}
	write := func(name, text string) {
		at := filepath.Join(p.dir, filepath.FromSlash(name))
		require.NoError(t, os.MkdirAll(filepath.Dir(at), 0o755))
		require.NoError(t, os.WriteFile(at, []byte(text), 0o644))
	}
	write("handful.toml", "[check]\nfail-on = \"never\"\n")
	write("shared/quay.handful", "instrument quay-block\n  called \"quay block\" \"Q.B.\"\n  family wood\n  way clamped takes 1 hand with snare-stick loudest ff\n")
	write("music.handful", "tempo 96\npart \"Bells\"\n  triangle | 1 | 3 | 1 | -\nplayer Bells\n  R triangle held with triangle-beater as written\n")
	require.Equal(t, exitClean, Run([]string{"export", filepath.Join(p.dir, "music.handful"), "--to", "musicxml", "-o", filepath.Join(p.dir, "shared", "bells.musicxml")}, nil, &shown{}, &shown{}))
	require.NoError(t, os.Remove(filepath.Join(p.dir, "music.handful")))
	bells, err := os.ReadFile(filepath.Join(p.dir, "shared", "bells.musicxml"))
	require.NoError(t, err)
	write("shared/mordent.musicxml", strings.Replace(string(bells), "<notations>", "<notations><ornaments><mordent/></ornaments>", 1))
	for _, rule := range check.Rules() {
		if unplanted[rule.Name] == "" {
			p.rules = append(p.rules, rule)
		}
	}
	for i := range files {
		d := rand.New(rand.NewPCG(uint64(i), 21))
		name := fmt.Sprintf("%02d/number-%05d.handful", i%40, i)
		if i%2 == 0 {
			p.files[name] = nil
			write(name, inOrderPiece(d, i%20 == 0))
			continue
		}
		rule := p.rules[i/2%len(p.rules)]
		p.files[name] = rule
		write(name, trips(rule)+inOrderPlayers(d, trips(rule)))
	}
	return p
}

// inOrderPiece is a piece without an error, with parts.
func inOrderPiece(d *rand.Rand, music bool) string {
	var b strings.Builder
	fmt.Fprintf(&b, "title \"Number %d\"\ntempo %d\n", d.IntN(1000), 80+d.IntN(30))
	b.WriteString("use \"../shared/quay.handful\"\n")
	bars := 8 * (2 + d.IntN(18))
	if music {
		b.WriteString("part \"Bells\" in \"../shared/bells.musicxml\"\n")
	}
	fmt.Fprintf(&b, "bars %d\n", bars)
	for at := 9; at < bars; at += 8 {
		fmt.Fprintf(&b, "mark M%d at %d\n", at, at)
	}
	figures := []string{"1 3", "1", "2 4", "1 2 3", "3", "1 2& 4"}
	players := 1 + d.IntN(4)
	for k := range players {
		fmt.Fprintf(&b, "\npart \"Percussion %d\"\n", k+1)
		for at := 1; at <= bars; at += 8 {
			fmt.Fprintf(&b, "  from %d\n", at)
			for _, inst := range []string{"snare-drum ", "quay-block"} {
				fmt.Fprintf(&b, "  %s | mf %s | %s | %% x5 | -\n", inst, figures[d.IntN(len(figures))], figures[d.IntN(len(figures))])
			}
		}
	}
	for k := range players {
		fmt.Fprintf(&b, "\nplayer Person%c\n  kit\n    snare-drum on stand at ahead 40\n    quay-block clamped at left 35 ahead 45\n    table at right 25 ahead 30\n  R holds snare-stick\n  L holds snare-stick\n", 'A'+k)
		fmt.Fprintf(&b, "  R snare-drum as written of \"Percussion %d\"\n  L quay-block with snare-stick as written of \"Percussion %d\"\n", k+1, k+1)
	}
	if music {
		b.WriteString("\nplayer Bellman\n  R triangle held with triangle-beater as written\n")
	}
	return b.String()
}

// inOrderPlayers are people who can stand beside whatever trips a rule: in its
// tempo and its bars, and with what nobody else needs.
func inOrderPlayers(d *rand.Rand, beside string) string {
	var b strings.Builder
	for k := range 1 + d.IntN(12) {
		if strings.Contains(beside, "part \"") {
			fmt.Fprintf(&b, "\npart \"Beside %c\"\n  ships-bell | 1\n", 'A'+k)
		}
		fmt.Fprintf(&b, "\nplayer Beside%c\n  kit\n    ships-bell hung at ahead 45\n    table at right 25 ahead 30\n", 'A'+k)
		if strings.Contains(beside, "part \"") {
			fmt.Fprintf(&b, "  R ships-bell hung as written of \"Beside %c\"\n", 'A'+k)
		} else {
			b.WriteString("  R ships-bell hung | 1\n")
		}
		for range d.IntN(12) {
			fmt.Fprintf(&b, "  # %d: as at the rehearsal\n", d.IntN(100))
		}
	}
	return b.String()
}

// told is what a run says of the library, as JSON.
func (p *planting) told(t *testing.T, args ...string) string {
	var out, errs bytes.Buffer
	code := Run(append([]string{"check", p.dir, "--format", "json", "--fail-on", "never"}, args...), nil, &out, &errs)
	require.Equal(t, exitClean, code, errs.String())
	return out.String()
}

// Each fault that is planted is found once, nothing else is an error, and the
// report is the same on any number of cores, with what earlier runs found and
// without, in parts that are joined, and from any folder.
func TestPlantedFaults(t *testing.T) {
	files := 4 * len(check.Rules())
	if n, err := strconv.Atoi(os.Getenv(plantedVariable)); err == nil {
		files = n
	} else if testing.Short() {
		files = 2 * len(check.Rules())
	}
	t.Setenv(cacheVariable, t.TempDir())
	p := plant(t, files)
	whole := p.told(t, "--no-cache")
	var r struct{ Files []report.File }
	require.NoError(t, json.Unmarshal([]byte(whole), &r))
	require.Len(t, r.Files, files+1, "and the shared one")
	found := map[string]int{}
	for _, f := range r.Files {
		name, err := filepath.Rel(p.dir, f.Path)
		require.NoError(t, err)
		rule := p.files[filepath.ToSlash(name)]
		of := 0
		for _, x := range f.Findings {
			switch {
			case rule != nil && x.Rule == rule.Name:
				of++
				found[x.Rule]++
			default:
				assert.NotEqual(t, "error", x.Severity, "%s: %s: %s", name, x.Rule, x.Message)
			}
		}
		if rule != nil {
			assert.Equal(t, 1, of, "%s: %s is found once", name, rule.Name)
		}
	}
	for _, rule := range p.rules {
		assert.NotZero(t, found[rule.Name], rule.Name)
	}

	assert.Equal(t, whole, p.told(t), "with a cache that is empty")
	assert.Equal(t, whole, p.told(t), "with what was found before")
	was := runtime.GOMAXPROCS(1)
	assert.Equal(t, whole, p.told(t, "--no-cache"), "on one core")
	runtime.GOMAXPROCS(5)
	assert.Equal(t, whole, p.told(t, "--no-cache"), "on five")
	runtime.GOMAXPROCS(was)
	t.Chdir(t.TempDir())
	assert.Equal(t, whole, p.told(t, "--no-cache"), "from another folder")
	var parts []string
	for i := range 3 {
		name := fmt.Sprintf("%d.json", i)
		require.NoError(t, os.WriteFile(name, []byte(p.told(t, "--shard", fmt.Sprintf("%d/3", i+1))), 0o644))
		parts = append(parts, name)
	}
	var joined bytes.Buffer
	require.Equal(t, exitClean, Run(append([]string{"merge", "--format", "json", "--fail-on", "never"}, parts...), nil, &joined, &joined))
	assert.Equal(t, whole, joined.String(), "in three parts, joined")
	t.Logf("%d files, %d rules planted, %d faults, each found once", files, len(p.rules), files/2)
}
