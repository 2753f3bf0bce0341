// Command speed measures the handful command as people and build services use
// it, beside another build of it: edits in the server, cold checks, libraries,
// growth, memory. The documents are drawn by a generator of its own (draw.go).
//
//	go run ./internal/speed [-beside OLD] [-only edits,cold,library,kept,growth,tokens,peers] NEW
//
// NEW and OLD are handful binaries; .ci/speed builds both. Each figure is taken
// in turn from one and from the other in one run, and the least of several is
// told, since whatever else a machine does only ever adds.
package main

import (
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"
)

var (
	beside     = flag.String("beside", "", "another handful binary, to compare with")
	only       = flag.String("only", "edits,cold,library,kept,growth,tokens", "what to measure")
	edits      = flag.Int("edits", 100, "edits of each kind")
	pace       = flag.Duration("pace", 0, "how long somebody waits before the next edit; at once without it")
	ofKind     = flag.String("kind", "", "only edits whose names have this")
	ofBars     = flag.Int("bars", 0, "only the document of so many bars: 400, 1000 or 4600")
	files      = flag.Int("files", 2000, "files of a library; five times as many for its memory")
	actionlint = flag.String("actionlint", "", "where actionlint is, for peers")
	oxlint     = flag.String("oxlint", "", "where oxlint is, for peers")
	times      = flag.Int("times", 3, "how often each figure is taken, to tell the least")
)

func main() {
	flag.Parse()
	if flag.NArg() != 1 {
		flag.Usage()
		os.Exit(2)
	}
	bins := []string{flag.Arg(0)}
	if *beside != "" {
		bins = append(bins, *beside)
	}
	dir, err := os.MkdirTemp("", "speed")
	if err == nil {
		err = run(bench{bins: bins, dir: dir})
		os.RemoveAll(dir)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "speed:", err)
		os.Exit(1)
	}
}

type bench struct {
	bins  []string
	dir   string
	cache string   // where a build keeps what it found, behind its number; "" is an empty folder for every run
	env   []string // besides
}

func run(b bench) error {
	load, _ := os.ReadFile("/proc/loadavg")
	fmt.Printf("load average %s%-58s %12s %12s %7s\n", load, "", "now", "beside", "ratio")
	for _, part := range []struct {
		name string
		run  func() error
	}{{"edits", b.edits}, {"cold", b.cold}, {"library", b.library}, {"kept", b.kept}, {"growth", b.growth}, {"tokens", b.tokens}, {"peers", b.peers}} {
		if strings.Contains(","+*only+",", ","+part.name+",") {
			if err := part.run(); err != nil {
				return fmt.Errorf("%s: %w", part.name, err)
			}
		}
	}
	return nil
}

// row tells one figure of each build, and how the first stands to the second.
func row(what, unit string, values []float64) {
	fmt.Printf("%-58s", what)
	for _, v := range values {
		fmt.Printf(" %12s", fmt.Sprintf("%.4g %s", v, unit))
	}
	if len(values) == 2 {
		fmt.Printf(" %7.2f", values[0]/values[1])
	}
	fmt.Println()
}

// A usage is what a run of a command took.
type usage struct {
	wall, cpu time.Duration
	peak      float64 // MB
}

func (b bench) command(bin string, args ...string) (usage, error) {
	cmd := exec.Command(bin, args...)
	cmd.Dir = b.dir
	cache := fmt.Sprint(b.cache, slices.Index(b.bins, bin))
	if b.cache == "" {
		empty, err := os.MkdirTemp(b.dir, ".cache")
		if err != nil {
			return usage{}, err
		}
		defer os.RemoveAll(empty)
		cache = empty
	}
	cmd.Env = append(append(os.Environ(), "HANDFUL_CACHE="+cache), b.env...)
	began := time.Now()
	err := cmd.Run()
	u := usage{wall: time.Since(began)}
	var exit *exec.ExitError
	if err != nil && (!errors.As(err, &exit) || exit.ExitCode() > 1) {
		return u, fmt.Errorf("%s %s: %w", bin, strings.Join(args, " "), err)
	}
	u.cpu = cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
	u.peak = float64(cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss) / 1024
	return u, nil
}

// least runs a command of each build in turn, and keeps the least of each figure.
func (b bench) least(n int, args ...string) ([]usage, error) {
	out := make([]usage, len(b.bins))
	for i := range n {
		for j, bin := range b.bins {
			u, err := b.command(bin, args...)
			if err != nil {
				return nil, err
			}
			if i == 0 {
				out[j] = u
			}
			out[j] = usage{min(out[j].wall, u.wall), min(out[j].cpu, u.cpu), min(out[j].peak, u.peak)}
		}
	}
	return out, nil
}

func each(list []usage, figure func(usage) float64) []float64 {
	out := make([]float64, len(list))
	for i, u := range list {
		out[i] = figure(u)
	}
	return out
}

func wallMS(u usage) float64 { return u.wall.Seconds() * 1e3 }
func cpuMS(u usage) float64  { return u.cpu.Seconds() * 1e3 }
func peakMB(u usage) float64 { return u.peak }

func (b bench) write(name, text string) error {
	path := filepath.Join(b.dir, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	return os.WriteFile(path, []byte(text), 0o644)
}

// cold is the command on one file, from its start to its end.
func (b bench) cold() error {
	for _, doc := range []struct {
		name string
		text string
	}{{"clean", piece(3, 400, 4, 0)}, {"20 mistakes", piece(3, 400, 4, 20)}} {
		if err := b.write("one.handful", doc.text); err != nil {
			return err
		}
		lines := strings.Count(doc.text, "\n")
		for _, args := range [][]string{{"check", "one.handful"}, {"check", "one.handful", "--no-fixes"}, {"check", "one.handful", "--format", "json"}, {"fmt", "--check", "one.handful"}} {
			list, err := b.least(5**times, args...)
			if err != nil {
				return err
			}
			what := fmt.Sprintf("%s, %d lines, %s", strings.Join(slices.DeleteFunc(slices.Clone(args), func(a string) bool { return a == "one.handful" }), " "), lines, doc.name)
			row(what+", wall", "ms", each(list, wallMS))
			row(what+", processor", "ms", each(list, cpuMS))
		}
	}
	return nil
}

// library is a folder of pieces, nearly clean and with eight mistakes each.
func (b bench) library() error {
	size := map[string]float64{}
	for name, wrong := range map[string]int{"clean": 0, "wrong": 8} {
		for i := range *files {
			text := piece(uint64(i), 32+i%40, 2, wrong)
			size[name] += float64(len(text)) / 1e6
			if err := b.write(fmt.Sprintf("%s/%d/%d.handful", name, i%40, i), text); err != nil {
				return err
			}
		}
	}
	for _, name := range []string{"clean", "wrong"} {
		for _, args := range [][]string{{"check", name}, {"check", name, "--no-fixes"}, {"check", name, "--format", "json"}} {
			list, err := b.least(*times, args...)
			if err != nil {
				return err
			}
			what := fmt.Sprintf("%s, %d files, %.1f MB", strings.Join(args, " "), *files, size[name])
			row(what, "files/s", each(list, func(u usage) float64 { return float64(*files) / u.wall.Seconds() }))
			row(what, "MB/cpu-s", each(list, func(u usage) float64 { return size[name] / u.cpu.Seconds() }))
			row(what, "MB peak", each(list, peakMB))
		}
	}
	for i := range 5 * *files {
		if err := b.write(fmt.Sprintf("many/%d/%d.handful", i%40, i), piece(uint64(i), 32+i%40, 2, 2)); err != nil {
			return err
		}
	}
	list, err := b.least(1, "check", "many", "--no-fixes")
	if err != nil {
		return err
	}
	row(fmt.Sprintf("check --no-fixes, %d files", 5**files), "MB peak", each(list, peakMB))
	return nil
}

// anew is the check of a folder that uses nothing of an earlier one.
func anew(folder string) []string {
	return []string{"check", folder, "--no-fixes", "--no-cache", "--fail-on", "never"}
}

// kept is a library that was checked before, and how much a second core brings.
func (b bench) kept() error {
	n := 5 * *files
	for i := range n {
		if err := b.write(fmt.Sprintf("kept/%d/%d.handful", i%40, i), piece(uint64(i), 32+i%40, 2, 2)); err != nil {
			return err
		}
	}
	perSecond := func(u usage) float64 { return float64(n) / u.wall.Seconds() }
	tell := func(what string, list []usage) {
		row(what, "files/s", each(list, perSecond))
		row(what+", wall", "ms", each(list, wallMS))
		row(what+", processor", "ms", each(list, cpuMS))
		row(what, "MB peak", each(list, peakMB))
	}
	for _, cores := range []string{"1", "2"} {
		b.env = []string{"GOMAXPROCS=" + cores}
		list, err := b.least(*times, anew("kept")...)
		if err != nil {
			return err
		}
		tell(fmt.Sprintf("%d files anew, cores: %s", n, cores), list)
	}
	b.env = nil
	if list, err := b.least(1, "check", "kept", "--no-fixes"); err != nil {
		return err
	} else {
		tell(fmt.Sprintf("%d files, kept for the next run", n), list)
	}
	b.cache = filepath.Join(b.dir, ".kept")
	if _, err := b.least(1, "check", "kept", "--no-fixes"); err != nil {
		return err
	}
	time.Sleep(3 * time.Second) // a file that was written just now is looked into
	if _, err := b.least(1, "check", "kept", "--no-fixes"); err != nil {
		return err
	}
	list, err := b.least(2**times, "check", "kept", "--no-fixes")
	if err != nil {
		return err
	}
	tell(fmt.Sprintf("%d files, all kept", n), list)
	for _, git := range [][]string{{"init", "-q"}, {"add", "kept"}, {"-c", "user.name=speed", "-c", "user.email=speed@example.org", "commit", "-qm", "all"}} {
		cmd := exec.Command("git", git...)
		cmd.Dir = b.dir
		if said, err := cmd.CombinedOutput(); err != nil {
			return fmt.Errorf("git %s: %w: %s", git[0], err, said)
		}
	}
	if err := b.write("kept/7/7.handful", piece(7, 40, 2, 2)+"# changed\n"); err != nil {
		return err
	}
	since := []string{"check", "kept", "--no-fixes", "--changed-since", "HEAD"}
	if _, err := b.least(1, since...); err != nil {
		return err
	}
	if list, err = b.least(2**times, since...); err != nil {
		return err
	}
	tell(fmt.Sprintf("one of %d changed since HEAD", n), list)
	return nil
}

// growth is how the time grows with the bars and with the marks of one piece.
func (b bench) growth() error {
	for _, g := range []struct {
		what  string
		sizes [2]int
		text  func(int) string
	}{
		{"bars", [2]int{10_000, 100_000}, func(n int) string { return piece(5, n, 4, 0) }},
		{"marks", [2]int{4_000, 16_000}, marked},
	} {
		var took [2][]float64
		for i, n := range g.sizes {
			if err := b.write("grown.handful", g.text(n)); err != nil {
				return err
			}
			list, err := b.least(*times, "check", "grown.handful", "--no-fixes")
			if err != nil {
				return err
			}
			took[i] = each(list, cpuMS)
			row(fmt.Sprintf("%d %s, processor", n, g.what), "ms", took[i])
		}
		exponents := make([]float64, len(b.bins))
		for j := range exponents {
			exponents[j] = math.Log(took[1][j]/took[0][j]) / math.Log(float64(g.sizes[1])/float64(g.sizes[0]))
		}
		row(fmt.Sprintf("growth in %s, %d to %d", g.what, g.sizes[0], g.sizes[1]), "", exponents)
	}
	return nil
}

// tokens is the colours of a whole document, asked for anew.
func (b bench) tokens() error {
	long := "title \"A long line\"\nmeter 4/4\ntempo 80\n\npart \"Percussion 1\"\n  " + setups[0].lines[0] + strings.Repeat(" | 1 2& 4", 56_000/9) + "\n"
	for _, doc := range []struct{ what, text string }{{"4,200 lines", piece(4, 900, 8, 0)}, {"a line of 56 KB", long}} {
		values := make([]float64, len(b.bins))
		for j, bin := range b.bins {
			s, err := serve(bin, b.dir, doc.text)
			if err != nil {
				return err
			}
			for i := range 3 + 4**times {
				// A version of its own each time, so that no answer is kept.
				if _, err := s.edit(0, len(s.lines[0]), len(s.lines[0]), " "); err != nil {
					return err
				}
				began := time.Now()
				if err := s.call("textDocument/semanticTokens/full", map[string]any{"textDocument": map[string]any{"uri": s.uri}}); err != nil {
					return err
				}
				if took := s.arrived.Sub(began).Seconds() * 1e3; i == 0 || took < values[j] {
					values[j] = took
				}
			}
			s.end()
		}
		row("semantic tokens, "+doc.what, "ms", values)
	}
	return nil
}
