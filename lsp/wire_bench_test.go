//go:build linux

package lsp

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/textproto"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// BenchmarkCompletionOverTheWire measures what an editor waits for on 1,000 bars for 8 players, by
// the clock: from the first byte of a request to the last byte of its answer, of the command
// in a process of its own. The request is written beforehand and the answer is not
// read into anything, so that the client counts for nothing. While somebody writes behind
// the limb of an empty line, whole cues are tried in the background.
func BenchmarkCompletionOverTheWire(b *testing.B) {
	command := filepath.Join(b.TempDir(), "handful")
	if out, err := exec.Command("go", "build", "-o", command, "../cmd/handful").CombinedOutput(); err != nil {
		b.Fatalf("%v: %s", err, out)
	}
	for _, place := range completionPlaces(show(1000, 8)) {
		b.Run(place.name, func(b *testing.B) {
			for b.Loop() {
				overTheWire(b, command, show(1000, 8), place)
			}
		})
	}
}

func overTheWire(b *testing.B, command, text string, place completionPlace) {
	cmd := exec.Command(command, "lsp")
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	if err != nil {
		b.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		b.Fatal(err)
	}
	defer cmd.Wait()
	defer in.Close()
	w := &plainWire{b, in, bufio.NewReaderSize(out, 1<<20)}
	w.write(framedJSON(obj{"jsonrpc": "2.0", "id": 0, "method": "initialize", "params": obj{"processId": nil, "rootUri": nil, "capabilities": able}}))
	w.until(`"id":0`)
	w.write(framedJSON(obj{"jsonrpc": "2.0", "method": "initialized", "params": obj{}}))
	w.write(framedJSON(obj{"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": obj{"textDocument": obj{"uri": page, "languageId": "handful", "version": 1, "text": text}}}))
	w.until(`"version":1`)
	lines, version, was := strings.Split(text, "\n"), 1, -1
	change := func(line int, now string) {
		version++
		w.write(framedJSON(obj{"jsonrpc": "2.0", "method": "textDocument/didChange", "params": obj{
			"textDocument": obj{"uri": page, "version": version}, "contentChanges": arr{obj{"range": span(line, 0, line+1, 0), "text": now + "\n"}},
		}}))
		w.until(fmt.Sprintf(`"version":%d`, version))
	}
	var took []time.Duration
	for n := range asked {
		line, now := place.edit(n)
		if was >= 0 && was != line {
			change(was, lines[was])
		}
		was = line
		time.Sleep(place.rests)
		change(line, now)
		at := place.col
		if at == 0 {
			at = len(now)
		}
		raw := framedJSON(obj{"jsonrpc": "2.0", "id": n + 1, "method": "textDocument/completion", "params": obj{
			"textDocument": obj{"uri": page}, "position": obj{"line": line, "character": at}, "context": obj{"triggerKind": 1},
		}})
		began := time.Now()
		w.write(raw)
		w.until(fmt.Sprintf(`"id":%d`, n+1))
		took = append(took, time.Since(began))
	}
	quantiles(b, "clock", took)
}

type plainWire struct {
	b   *testing.B
	in  io.Writer
	out *bufio.Reader
}

func framedJSON(v any) []byte {
	body, _ := json.Marshal(v)
	return append([]byte("Content-Length: "+strconv.Itoa(len(body))+"\r\n\r\n"), body...)
}

func (w *plainWire) write(frame []byte) {
	if _, err := w.in.Write(frame); err != nil {
		w.b.Fatal(err)
	}
}

// until reads messages up to one in which something stands near its beginning or end.
func (w *plainWire) until(what string) {
	for {
		header, err := textproto.NewReader(w.out).ReadMIMEHeader()
		if err != nil {
			w.b.Fatal(err)
		}
		n, _ := strconv.Atoi(header.Get("Content-Length"))
		body := make([]byte, n)
		if _, err := io.ReadFull(w.out, body); err != nil {
			w.b.Fatal(err)
		}
		if bytes.Contains(body, []byte(what+",")) || bytes.Contains(body, []byte(what+"}")) {
			return
		}
	}
}
