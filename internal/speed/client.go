package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"net/textproto"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

// A document is how a client opens one.
type document struct {
	URI      string `json:"uri"`
	Language string `json:"languageId"`
	Version  int    `json:"version"`
	Text     string `json:"text"`
}

// A server is a language server on pipes, with one document open.
type server struct {
	cmd     *exec.Cmd
	in      io.WriteCloser
	out     *bufio.Reader
	uri     string
	version int
	id      int
	lines   []string
	arrived time.Time // when the last frame that until waited for was read
}

func serve(bin, dir, text string) (*server, error) {
	s := &server{cmd: exec.Command(bin, "lsp"), uri: "file://" + filepath.Join(dir, "piece.handful"), lines: strings.Split(text, "\n")}
	s.cmd.Stderr = os.Stderr
	var err error
	if s.in, err = s.cmd.StdinPipe(); err != nil {
		return nil, err
	}
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	s.out = bufio.NewReaderSize(out, 1<<20)
	if err := s.cmd.Start(); err != nil {
		return nil, err
	}
	if err := s.call("initialize", map[string]any{"processId": os.Getpid(), "rootUri": nil, "capabilities": map[string]any{
		"textDocument": map[string]any{"publishDiagnostics": map[string]any{"versionSupport": true}}}}); err != nil {
		return nil, err
	}
	s.send(map[string]any{"method": "initialized", "params": map[string]any{}})
	s.version = 1
	s.send(map[string]any{"method": "textDocument/didOpen", "params": map[string]any{"textDocument": document{s.uri, "handful", 1, text}}})
	return s, s.shown()
}

func (s *server) send(m map[string]any) {
	m["jsonrpc"] = "2.0"
	body, err := json.Marshal(m)
	if err != nil {
		panic(err)
	}
	fmt.Fprintf(s.in, "Content-Length: %d\r\n\r\n%s", len(body), body)
}

type message struct {
	ID     *int   `json:"id"`
	Method string `json:"method"`
	Params struct {
		URI     string `json:"uri"`
		Version int    `json:"version"`
	} `json:"params"`
}

// read is the next frame, whole. What is in it is looked at only afterwards, so
// that the client's own work is not in the measure.
func (s *server) read() ([]byte, error) {
	head, err := textproto.NewReader(s.out).ReadMIMEHeader()
	if err != nil {
		return nil, err
	}
	n, err := strconv.Atoi(head.Get("Content-Length"))
	if err != nil {
		return nil, err
	}
	body := make([]byte, n)
	_, err = io.ReadFull(s.out, body)
	return body, err
}

func (s *server) until(want func(*message) bool) error {
	for {
		body, err := s.read()
		if err != nil {
			return err
		}
		s.arrived = time.Now() // reading a frame is in a measure, parsing it is not
		var m message
		if err := json.Unmarshal(body, &m); err != nil {
			return err
		}
		if m.ID != nil && m.Method != "" { // a request of the server's
			s.send(map[string]any{"id": *m.ID, "result": nil})
			continue
		}
		if want(&m) {
			return nil
		}
	}
}

func (s *server) shown() error {
	return s.until(func(m *message) bool {
		return m.Method == "textDocument/publishDiagnostics" && m.Params.URI == s.uri && m.Params.Version == s.version
	})
}

func (s *server) call(method string, params any) error {
	s.id++
	id := s.id
	s.send(map[string]any{"id": id, "method": method, "params": params})
	return s.until(func(m *message) bool { return m.ID != nil && *m.ID == id })
}

// edit puts text in the place of some bytes of a line, and says how long it took
// until what is found was there. The last frame read is the one that is waited
// for, so reading it is in the measure and parsing it is not.
func (s *server) edit(line, from, to int, text string) (time.Duration, error) {
	was := s.lines[line]
	fresh := strings.Split(was[:from]+text+was[to:], "\n")
	s.lines = slices.Replace(s.lines, line, line+1, fresh...)
	return s.change(line, from, line, to, text)
}

func (s *server) change(line, from, toLine, to int, text string) (time.Duration, error) {
	s.version++
	time.Sleep(*pace)
	at := func(l, c int) map[string]int { return map[string]int{"line": l, "character": c} }
	began := time.Now()
	s.send(map[string]any{"method": "textDocument/didChange", "params": map[string]any{
		"textDocument":   map[string]any{"uri": s.uri, "version": s.version},
		"contentChanges": []any{map[string]any{"range": map[string]any{"start": at(line, from), "end": at(toLine, to)}, "text": text}}}})
	want := fmt.Sprintf(`"version":%d`, s.version)
	for {
		body, err := s.read()
		if err != nil {
			return 0, err
		}
		took := time.Since(began)
		head := string(body[:min(len(body), 300)])
		tail := string(body[max(0, len(body)-300):])
		if strings.Contains(head+tail, "publishDiagnostics") && (strings.Contains(head, want) || strings.Contains(tail, want)) {
			return took, nil
		}
	}
}

// join takes the line end behind a line away again.
func (s *server) join(line int) (time.Duration, error) {
	at := len(s.lines[line])
	s.lines = slices.Replace(s.lines, line, line+2, s.lines[line]+s.lines[line+1])
	return s.change(line, at, line+1, 0, "")
}

// cpu is the processor time that the server has used so far.
func (s *server) cpu() time.Duration {
	tasks, _ := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/schedstat", s.cmd.Process.Pid))
	var sum int64
	for _, t := range tasks {
		if text, err := os.ReadFile(t); err == nil {
			if n, err := strconv.ParseInt(strings.Fields(string(text))[0], 10, 64); err == nil {
				sum += n
			}
		}
	}
	return time.Duration(sum)
}

func (s *server) end() {
	s.in.Close()
	s.cmd.Process.Kill()
	s.cmd.Wait()
}
