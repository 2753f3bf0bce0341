package main

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"time"
)

// A kind of edit is made again and again; n counts.
type kind struct {
	name string
	make func(s *server, d *rand.Rand, n int) (time.Duration, error)
}

// toggle puts one word for another in some line, and back the next time.
func toggle(from, to string, fits func(line string, at, of int) bool) func(*server, *rand.Rand, int) (time.Duration, error) {
	at := -1
	return func(s *server, d *rand.Rand, n int) (time.Duration, error) {
		is, want := from, to
		if n%2 == 1 {
			is, want = to, from
		} else {
			var may []int
			for i, l := range s.lines {
				if strings.Contains(l, from) && fits(l, i, len(s.lines)) {
					may = append(may, i)
				}
			}
			if len(may) == 0 {
				return 0, fmt.Errorf("no line has %q", from)
			}
			at = may[d.IntN(len(may))]
		}
		col := strings.Index(s.lines[at], is)
		return s.edit(at, col, col+len(is), want)
	}
}

func lineWith(s *server, begins string) int {
	return slices.IndexFunc(s.lines, func(l string) bool { return strings.HasPrefix(strings.TrimSpace(l), begins) })
}

// enter puts an empty line before some line, and takes it away the next time.
func enter(begins string) func(*server, *rand.Rand, int) (time.Duration, error) {
	return func(s *server, _ *rand.Rand, n int) (time.Duration, error) {
		at := lineWith(s, begins) - 1
		if n%2 == 1 {
			return s.join(at - 1)
		}
		return s.edit(at, len(s.lines[at]), len(s.lines[at]), "\n")
	}
}

// typing writes a cue letter by letter, and begins anew.
func typing() func(*server, *rand.Rand, int) (time.Duration, error) {
	cue := "  " + setups[1].cues[1] + " | 1 2 | 3 | -"
	return func(s *server, _ *rand.Rand, n int) (time.Duration, error) {
		last := len(s.lines) - 1
		if n%(len(cue)+1) == len(cue) {
			return s.edit(last, 0, len(s.lines[last]), "")
		}
		return s.edit(last, len(s.lines[last]), len(s.lines[last]), cue[n%(len(cue)+1):n%(len(cue)+1)+1])
	}
}

// kinds are the edits whose names have what the flag asks for.
func kinds() []kind {
	return slices.DeleteFunc(allKinds(), func(k kind) bool { return !strings.Contains(k.name, *ofKind) })
}

func allKinds() []kind {
	any := func(string, int, int) bool { return true }
	return []kind{
		{"any bar of a part", toggle("| 1 2 3 |", "| 1 2& 3 |", any)},
		{"a late bar", toggle("| 1 3 |", "| 1 3& |", func(l string, at, of int) bool { return at > of/4 })},
		{"tempo in the head", func(s *server, d *rand.Rand, n int) (time.Duration, error) {
			at := lineWith(s, "tempo")
			return s.edit(at, strings.Index(s.lines[at], "= ")+2, len(s.lines[at]), fmt.Sprint(72+n%2))
		}},
		{"a place in a kit", toggle("left 35", "left 36", any)},
		{"Enter in the head", enter("meter")},
		{"Enter among the parts", enter("part \"Percussion 2\"")},
		{"a cue letter by letter", typing()},
		{"a comment at the end", func(s *server, _ *rand.Rand, n int) (time.Duration, error) {
			last := len(s.lines) - 1
			return s.edit(last, 0, len(s.lines[last]), fmt.Sprintf("# %d", n))
		}},
	}
}

// edits is from sending an edit to reading the diagnostics of its version.
func (b bench) edits() error {
	for _, doc := range []struct {
		bars, players int
	}{{400, 4}, {1000, 8}, {4600, 4}} {
		if *ofBars != 0 && *ofBars != doc.bars {
			continue
		}
		text := piece(uint64(doc.bars), doc.bars, doc.players, 3)
		took := make([][][]time.Duration, len(b.bins)) // by build and kind
		cpu := make([][]time.Duration, len(b.bins))
		for j, bin := range b.bins {
			s, err := serve(bin, b.dir, text)
			if err != nil {
				return err
			}
			d := rand.New(rand.NewPCG(9, 9))
			for _, k := range kinds() {
				for n := range 6 { // warm
					if _, err := k.make(s, d, n); err != nil {
						return fmt.Errorf("%s: %w", k.name, err)
					}
				}
				var list []time.Duration
				// What this program clears away while a server works would be in the measure.
				runtime.GC()
				usual := debug.SetGCPercent(-1)
				before := s.cpu()
				for n := range *edits {
					t, err := k.make(s, d, n+6)
					if err != nil {
						return fmt.Errorf("%s: %w", k.name, err)
					}
					list = append(list, t)
				}
				cpu[j] = append(cpu[j], s.cpu()-before)
				debug.SetGCPercent(usual)
				slices.Sort(list)
				took[j] = append(took[j], list)
			}
			s.end()
		}
		for i, k := range kinds() {
			what := fmt.Sprintf("edit, %d lines: %s", strings.Count(text, "\n"), k.name)
			middle := func(j int) time.Duration { return took[j][i][(len(took[j][i])-1)/2] }
			longest := func(j int) time.Duration { return took[j][i][len(took[j][i])-1] }
			for _, q := range []struct {
				name, unit string
				of         func(j int) float64
			}{
				{"p50", "ms", func(j int) float64 { return ms(middle(j)) }},
				{"p99", "ms", func(j int) float64 { return ms(took[j][i][(len(took[j][i])-1)*99/100]) }},
				{"longest", "ms", func(j int) float64 { return ms(longest(j)) }},
				{"processor", "ms", func(j int) float64 { return ms(cpu[j][i]) / float64(*edits) }},
				{"longest to p50", "", func(j int) float64 { return float64(longest(j)) / float64(middle(j)) }},
			} {
				values := make([]float64, len(b.bins))
				for j := range values {
					values[j] = q.of(j)
				}
				row(what+", "+q.name, q.unit, values)
			}
		}
	}
	return nil
}

func ms(d time.Duration) float64 { return d.Seconds() * 1e3 }
