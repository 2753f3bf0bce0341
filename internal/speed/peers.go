package main

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strconv"
	"strings"
)

// A peer is a well-kept linter of another language, whose files have as many
// bytes as ours.
type peer struct {
	name, program string
	folder        string
	text          func(seed uint64, size int) string
	file          string                                   // what the n-th of them is called
	args          func(files []string, cores int) []string // told how many cores, where it does not take that from Go's own setting
}

// peers is the check of a library beside linters of other languages, in turn in
// one run: nearly clean files, two mistakes in each, everything anew.
func (b bench) peers() error {
	list := b.linters()
	sizes, paths, err := b.libraries(list)
	if err != nil {
		return err
	}
	fmt.Printf("%-58s", fmt.Sprintf("%d files, nearly clean, everything anew", *files))
	for _, p := range list {
		fmt.Printf(" %16s", p.name)
	}
	fmt.Println()
	all := make([][3]usage, len(list)) // of one core and of two
	for i := range *times {
		for k, p := range list {
			for cores := 1; cores <= 2; cores++ {
				b.env = []string{"GOMAXPROCS=" + strconv.Itoa(cores)}
				u, err := b.command(p.program, p.args(paths[k], cores)...)
				if err != nil {
					return fmt.Errorf("%s: %w", p.name, err)
				}
				if was := &all[k][cores]; i == 0 {
					*was = u
				} else {
					*was = usage{min(was.wall, u.wall), min(was.cpu, u.cpu), min(was.peak, u.peak)}
				}
			}
		}
	}
	tell := func(what string, of func(k int) float64) {
		fmt.Printf("%-58s", what)
		for k := range list {
			fmt.Printf(" %16.4g", of(k))
		}
		fmt.Println()
	}
	tell("MB of text", func(k int) float64 { return sizes[k] })
	tell("files a second, one core", func(k int) float64 { return float64(*files) / all[k][1].wall.Seconds() })
	tell("files a second, two cores", func(k int) float64 { return float64(*files) / all[k][2].wall.Seconds() })
	tell("two cores beside one", func(k int) float64 { return all[k][1].wall.Seconds() / all[k][2].wall.Seconds() })
	tell("MB a second of the processor, two cores", func(k int) float64 { return sizes[k] / all[k][2].cpu.Seconds() })
	tell("MB peak, two cores", func(k int) float64 { return all[k][2].peak })
	return nil
}

// linters are the command and the peers that are there.
func (b bench) linters() []peer {
	list := []peer{{name: "handful", program: b.bins[0], folder: "scores", file: "%d.handful",
		text: func(seed uint64, _ int) string { return piece(seed, 32+int(seed)%40, 2, 2) },
		args: func([]string, int) []string { return anew("scores") }}}
	if *actionlint != "" {
		list = append(list, peer{name: "actionlint", program: *actionlint, folder: "workflows", file: "%d.yml", text: workflow,
			args: func(files []string, _ int) []string {
				return append([]string{"-no-color", "-shellcheck=", "-pyflakes="}, files...)
			}})
	}
	if *oxlint != "" {
		list = append(list, peer{name: "oxlint", program: *oxlint, folder: "programs", file: "%d.js", text: program,
			args: func(_ []string, cores int) []string {
				return []string{"--threads", strconv.Itoa(cores), "programs"}
			}})
	}
	return list
}

// libraries writes each peer as many files as ours are, of as many bytes; it says
// how many MB each has, and which files.
func (b bench) libraries(list []peer) (sizes []float64, paths [][]string, err error) {
	sizes, paths = make([]float64, len(list)), make([][]string, len(list))
	for i := range *files {
		size := 0
		for k, p := range list {
			text := p.text(uint64(i), size)
			if k == 0 {
				size = len(text)
			}
			name := filepath.Join(p.folder, strconv.Itoa(i%40), fmt.Sprintf(p.file, i))
			if err := b.write(name, text); err != nil {
				return nil, nil, err
			}
			sizes[k] += float64(len(text)) / 1e6
			paths[k] = append(paths[k], name)
		}
	}
	return sizes, paths, nil
}

// workflow draws a workflow of a build service of a size, with two mistakes.
func workflow(seed uint64, size int) string {
	d := rand.New(rand.NewPCG(seed, 78))
	var b strings.Builder
	fmt.Fprintf(&b, "name: Number %d\non: [push, pull_request]\njobs:\n", seed)
	wrong := 0
	for job := 0; b.Len() < size; job++ {
		fmt.Fprintf(&b, "  job-%d:\n    runs-on: %s\n    timeout-minutes: %d\n    strategy:\n      matrix:\n        part: [%d, %d, %d]\n    steps:\n      - uses: actions/checkout@v4\n",
			job, []string{"ubuntu-latest", "windows-latest", "macos-latest"}[d.IntN(3)], 5+d.IntN(40), d.IntN(9), 10+d.IntN(9), 20+d.IntN(9))
		for step := range 3 + d.IntN(6) {
			value := "${{ matrix.part }}"
			if wrong < 2 && d.IntN(4) == 0 {
				value, wrong = "${{ matrix.player }}", wrong+1
			}
			fmt.Fprintf(&b, "      - name: Step %d of %d\n        if: ${{ github.event_name == 'push' && success() }}\n        env:\n          PART: %s\n        run: |\n          echo \"$PART\"\n          make part-%d\n", step, job, value, d.IntN(99))
		}
	}
	return b.String()
}

// program draws a JavaScript file of a size, with two mistakes.
func program(seed uint64, size int) string {
	d := rand.New(rand.NewPCG(seed, 79))
	var b strings.Builder
	fmt.Fprintf(&b, "import { read } from \"./read.js\";\n\n// Number %d.\n", seed)
	wrong := 0
	for n := 0; b.Len() < size; n++ {
		fmt.Fprintf(&b, "export function part%d(bars, tempo = %d) {\n  const out = [];\n  for (const bar of bars) {\n    const { at, strokes } = read(bar, tempo * %d.5);\n", n, 60+d.IntN(99), d.IntN(9))
		for range 2 + d.IntN(5) {
			fmt.Fprintf(&b, "    if (strokes.length > %d && at !== %d) {\n      out.push({ at: at + %d, loud: strokes.map((s) => s.loud * 0.%d) });\n    }\n", d.IntN(9), d.IntN(99), d.IntN(9), 1+d.IntN(9))
		}
		if wrong < 2 && d.IntN(3) == 0 {
			wrong++
			b.WriteString("    if (at === NaN) debugger;\n")
		}
		b.WriteString("  }\n  return out;\n}\n\n")
	}
	return b.String()
}
