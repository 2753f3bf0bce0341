package lsp

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"go.lsp.dev/uri"
)

// show is an invented show: for every player a part with two lines that take
// turns, eight bars each, and cues that cover them, one with either hand. One
// change in a hundred is tight.
func show(bars, players int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "title \"A bench\"\nmeter 4/4\ntempo 1/4 = 104\nbars %d\n", bars)
	for i := 0; i*16+1 <= bars; i++ {
		fmt.Fprintf(&b, "mark M%d at %d\n", i, i*16+1)
	}
	written := [][2]string{
		{"snare-drum", "woodblock"}, {"tambourine", "triangle"}, {"cowbell", "woodblock"}, {"tom-toms", "temple-blocks"},
	}
	how := map[string]string{
		"snare-drum": "R snare-drum with snare-stick", "woodblock": "L woodblock with snare-stick", "tambourine": "R tambourine padded with snare-stick",
		"triangle": "L triangle clipped with triangle-beater", "cowbell": "R cowbell with snare-stick", "tom-toms": "R tom-toms with snare-stick",
		"temple-blocks": "L temple-blocks with rubber-mallet",
	}
	for p := range players {
		names := written[p%len(written)]
		fmt.Fprintf(&b, "\npart \"Percussion %d\"\n", p+1)
		for from := 1; from+7 <= bars; from += 8 {
			fmt.Fprintf(&b, "  from %d\n  %s | mf 1 2& 3 4 | 1 2 3 | %%2 x2 | 1 | -\n", from, names[from/8%2])
		}
	}
	for p := range players {
		names := written[p%len(written)]
		fmt.Fprintf(&b, "\nplayer P%d\n", p+1)
		for i := 0; i*16+1 <= bars; i++ {
			fmt.Fprintf(&b, "  from M%d\n", i)
			for _, n := range names {
				fmt.Fprintf(&b, "  %s as written of \"Percussion %d\"\n", how[n], p+1)
			}
		}
	}
	return b.String()
}

// quantiles reports p50, p95 and p99 in milliseconds.
func quantiles(b *testing.B, what string, took []time.Duration) {
	slices.Sort(took)
	for _, q := range []int{50, 95, 99} {
		b.ReportMetric(float64(took[(len(took)-1)*q/100].Microseconds())/1000, fmt.Sprintf("%s-p%d-ms", what, q))
	}
	b.ReportMetric(0, "ns/op")
}

const benchEdits = 300

// BenchmarkEdit measures from sending an edit to reading the diagnostics of
// its version, over pipes, with nothing mocked.
func BenchmarkEdit(b *testing.B) {
	for _, doc := range []struct {
		name          string
		bars, players int
	}{{"100-bar-part", 100, 1}, {"1000-bars-8-players", 1000, 8}, {"10000-lines", 5700, 4}} {
		text := show(doc.bars, doc.players)
		b.Run(fmt.Sprintf("%s-%d-lines", doc.name, strings.Count(text, "\n")), func(b *testing.B) {
			for b.Loop() {
				edits(b, text)
			}
		})
	}
}

func edits(b *testing.B, text string) {
	c := start(b, able, nil)
	c.lax = true // the meta model is checked elsewhere
	c.open(page, text)
	c.shownFor(page, 1)
	lines := strings.Split(text, "\n")
	var bars []int
	for i, l := range lines {
		if strings.Contains(l, "| mf 1 2& 3 4 |") {
			bars = append(bars, i)
		}
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	var took, hovers, completions []time.Duration
	for n := range benchEdits {
		line := bars[rnd.IntN(len(bars))]
		col := strings.Index(lines[line], "mf 1 2& ") + len("mf 1 2& ")
		is := "3"
		if n%2 == 0 {
			is = "3&"
		}
		old := 1
		if strings.HasPrefix(lines[line][col:], "3& ") {
			old = 2
		}
		began := time.Now()
		c.change(page, n+2, obj{"range": span(line, col, line, col+old), "text": is})
		c.forget(page, n+2)
		took = append(took, time.Since(began))
		lines[line] = lines[line][:col] + is + lines[line][col+old:]
		if n%3 == 0 {
			began = time.Now()
			c.call("textDocument/hover", at(page, line, col), nil)
			hovers = append(hovers, time.Since(began))
			began = time.Now()
			c.call("textDocument/completion", at(page, line, 3), nil)
			completions = append(completions, time.Since(began))
		}
	}
	quantiles(b, "edit", took)
	quantiles(b, "hover", hovers)
	quantiles(b, "completion", completions)
}

// forget waits for the diagnostics of a version and drops what was read, so
// that the client's own book-keeping stays out of the measure.
func (c *client) forget(uri string, version int) {
	c.shownFor(uri, version)
	c.mu.Lock()
	c.notes = c.notes[:0]
	c.mu.Unlock()
}

// BenchmarkStart measures from nothing to the answer of initialize.
func BenchmarkStart(b *testing.B) {
	var took []time.Duration
	for b.Loop() {
		began := time.Now()
		c := dial(b, Options{})
		c.call("initialize", obj{"processId": nil, "rootUri": nil, "capabilities": able}, nil)
		took = append(took, time.Since(began))
		c.toServer.Close()
	}
	quantiles(b, "initialized", took)
}

// BenchmarkWorkspace measures the first diagnostics of a workspace of 2,000
// files, and the memory that the server then holds.
func BenchmarkWorkspace(b *testing.B) {
	root := b.TempDir()
	for i := range 2000 {
		dir := filepath.Join(root, fmt.Sprintf("book%d", i%40))
		if err := os.MkdirAll(dir, 0o700); err != nil {
			b.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("piece%d.handful", i)), []byte(show(64, 2)), 0o600); err != nil {
			b.Fatal(err)
		}
	}
	var took []time.Duration
	for b.Loop() {
		began := time.Now()
		c := start(b, able, obj{"rootUri": string(uri.File(root))})
		c.lax = true
		n := 0
		_, ok := c.wait(func() (message, bool) {
			for _, m := range c.notes {
				if m.Method == "textDocument/publishDiagnostics" {
					n++
				}
			}
			c.notes = c.notes[:0]
			return message{}, n >= 2000
		})
		if !ok {
			b.Fatalf("%d files were shown", n)
		}
		took = append(took, time.Since(began))
		var mem runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&mem)
		b.ReportMetric(float64(mem.HeapInuse)/(1<<20), "heap-MB")
		c.toServer.Close()
	}
	quantiles(b, "first", took)
}

// BenchmarkManyDocuments opens documents of five lines one after the other and
// waits for the last one's first diagnostics: time and memory a document should
// not depend on how many are open.
func BenchmarkManyDocuments(b *testing.B) {
	var before float64
	for _, n := range []int{500, 2000, 10_000} {
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			root := b.TempDir()
			var took []time.Duration
			for b.Loop() {
				c := start(b, able, obj{"rootUri": string(uri.File(root))})
				c.lax = true
				began := time.Now()
				for i := range n {
					c.open(string(uri.File(filepath.Join(root, fmt.Sprintf("p%d.handful", i)))),
						fmt.Sprintf("title \"Piece %d\"\ntempo 96\nbars 2\nplayer Ida\n  R triangle clipped with triangle-beater | 1 3 | 2\n", i))
				}
				shown := map[string]bool{}
				_, ok := c.wait(func() (message, bool) {
					for _, m := range c.notes {
						var p published
						json.Unmarshal(m.Params, &p)
						shown[p.URI] = true
					}
					c.notes = c.notes[:0]
					return message{}, len(shown) >= n
				})
				if !ok {
					b.Fatalf("%d documents were shown", len(shown))
				}
				took = append(took, time.Since(began))
				var mem runtime.MemStats
				runtime.GC()
				runtime.ReadMemStats(&mem)
				b.ReportMetric(float64(mem.HeapInuse)/(1<<20), "heap-MB")
				b.ReportMetric(float64(mem.Sys)/(1<<20), "system-MB")
				c.toServer.Close()
			}
			quantiles(b, "last", took)
			each := took[0].Seconds() / float64(n)
			if before > 0 {
				b.ReportMetric(each/before, "a-document-against-the-fewer")
			}
			before = each
		})
	}
}
