//go:build unix

package lsp

import (
	"os"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// BenchmarkPanels measures what an editor asks for after an edit, in processor time of
// the whole program, so that what else the machine does counts for nothing: what hovers
// over a cue, what may stand behind its limb, and for the panels what stands at the
// caret, the set-up of a player, and a player's sheets, as a panel of some width asks for
// them and whole.
func BenchmarkPanels(b *testing.B) {
	data, err := os.ReadFile("../examples/ferry-landing.handful")
	if err != nil {
		b.Fatal(err)
	}
	for name, text := range map[string]string{"64-bars-2-players": string(data), "1000-bars-8-players": show(1000, 8)} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				panels(b, text)
			}
		})
	}
}

func panels(b *testing.B, text string) {
	c := start(b, able, nil)
	c.lax = true
	c.open(page, text)
	c.shownFor(page, 1)
	lines := strings.Split(text, "\n")
	tempo := slices.IndexFunc(lines, func(l string) bool { return strings.HasPrefix(l, "tempo") })
	player := slices.IndexFunc(lines, func(l string) bool { return strings.HasPrefix(l, "player") })
	name := strings.TrimPrefix(lines[player], "player ")
	var cues []int
	for i, l := range lines {
		if strings.Contains(l, " as written") {
			cues = append(cues, i)
		}
	}
	took := map[string][]time.Duration{}
	measure := func(what, method string, p obj) {
		began := processor()
		c.call(method, p, nil)
		took[what] = append(took[what], processor()-began)
	}
	for n := range 60 {
		end := len(lines[tempo])
		c.change(page, n+2, obj{"range": span(tempo, end-1, tempo, end), "text": strconv.Itoa(n % 10)})
		c.forget(page, n+2)
		line := strconv.Itoa(player + 1)
		for what, args := range map[string]arr{
			"standing": {page, line, "4"}, "setup": {page, line}, "sheet": {page, name, "html", "500"}, "sheet-whole": {page, name, "html"},
		} {
			command, _, _ := strings.Cut(what, "-")
			measure(what, "workspace/executeCommand", obj{"command": "handful." + command, "arguments": args})
		}
		cue := cues[n%len(cues)]
		measure("hover", "textDocument/hover", at(page, cue, strings.Index(lines[cue], " as ")+2))
		measure("completion", "textDocument/completion", at(page, cue, strings.Index(lines[cue], " ")+4))
	}
	for what, t := range took {
		quantiles(b, what, t)
	}
}

// processor is the processor time that the program has taken.
func processor() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
