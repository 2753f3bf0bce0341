// Command sidebyside sends the same script of edits, hovers and completions to
// language servers on standard input and output, and prints how long each
// takes to answer.
//
//	go run ./lsp/sidebyside -lines 1000
//
// compares `handful lsp` with two well-regarded servers for other languages,
// each on a document of that many lines in its own language, that the Go
// module proxy and npm carry: gopls, and pyright. They are installed into a
// temporary folder. With arguments it measures one server alone:
//
//	go run ./lsp/sidebyside -file piece.handful -- handful lsp
//
// What is compared is what a person at an editor waits for: from sending an
// edit to reading the diagnostics that answer it. The languages are not alike,
// and neither is what their servers find out.
package main

import (
	"bufio"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net/textproto"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

func main() {
	lines := flag.Int("lines", 1000, "lines of the documents that are compared")
	edits := flag.Int("edits", 200, "edits to send")
	file := flag.String("file", "", "the document, for one server alone")
	flag.Parse()
	if err := run(*lines, *edits, *file, flag.Args()); err != nil {
		fmt.Fprintln(os.Stderr, "sidebyside:", err)
		os.Exit(1)
	}
}

// A contender is one server and its document.
type contender struct {
	name, language, file, text string
	command                    []string
}

func run(lines, edits int, file string, command []string) error {
	tmp, err := os.MkdirTemp("", "sidebyside")
	if err != nil {
		return err
	}
	defer os.RemoveAll(tmp)
	var list []contender
	if len(command) > 0 {
		text, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		list = []contender{{filepath.Base(command[0]), strings.TrimPrefix(filepath.Ext(file), "."), filepath.Base(file), string(text), command}}
	} else if list, err = contenders(tmp, lines); err != nil {
		return err
	}
	fmt.Printf("%-28s %6s %8s %26s %26s %26s\n", "", "lines", "start", "edit to diagnostics", "hover", "completion")
	fmt.Printf("%-28s %6s %8s %26s %26s %26s\n", "", "", "ms", "p50 / p95 / p99 ms", "p50 / p95 / p99 ms", "p50 / p95 / p99 ms")
	for _, c := range list {
		row, err := measure(tmp, c, edits)
		if err != nil {
			row = err.Error()
		}
		fmt.Printf("%-28s %6d %s\n", c.name, strings.Count(c.text, "\n"), row)
	}
	return nil
}

// contenders builds our server and installs the two others.
func contenders(tmp string, lines int) ([]contender, error) {
	build := exec.Command("go", "build", "-o", filepath.Join(tmp, "handful"), "./cmd/handful")
	if out, err := build.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("%v: %s", err, out)
	}
	list := []contender{{"handful lsp", "handful", "piece.handful", ours(lines), []string{filepath.Join(tmp, "handful"), "lsp"}}}
	gopls := exec.Command("go", "install", "golang.org/x/tools/gopls@v0.20.0")
	gopls.Env = append(os.Environ(), "GOBIN="+tmp)
	if out, err := gopls.CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "gopls: %v: %s", err, out)
	} else {
		list = append(list, contender{"gopls 0.20.0 (Go)", "go", "main.go", theirGo(lines), []string{filepath.Join(tmp, "gopls")}})
	}
	npm := exec.Command("npm", "install", "--silent", "--no-audit", "--no-fund", "--prefix", tmp, "pyright@1.1.406")
	if out, err := npm.CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "pyright: %v: %s", err, out)
	} else {
		list = append(list, contender{"pyright 1.1.406 (Python)", "python", "main.py", theirPython(lines),
			[]string{filepath.Join(tmp, "node_modules", ".bin", "pyright-langserver"), "--stdio"}})
	}
	return list, nil
}

// The documents: small blocks, each with a number to edit in it.

func ours(lines int) string {
	var b strings.Builder
	b.WriteString("title \"Side by side\"\ntempo 96\nbars 64\n")
	for i := 0; strings.Count(b.String(), "\n") < lines; i++ {
		fmt.Fprintf(&b, "\npart \"P%d\"\n", i)
		for bar := 1; bar < 64; bar += 8 {
			fmt.Fprintf(&b, "  from %d\n  woodblock | 1 2& 3 | 1 2 | %%2 x2\n", bar)
		}
		fmt.Fprintf(&b, "player Q%d\n  R woodblock with rubber-mallet as written of \"P%d\"\n", i, i)
	}
	return b.String()
}

func theirGo(lines int) string {
	var b strings.Builder
	b.WriteString("package main\n\nfunc main() {}\n")
	for i := 0; strings.Count(b.String(), "\n") < lines; i++ {
		fmt.Fprintf(&b, "\nfunc f%d(a int) int {\n\tif a > 3 {\n\t\treturn a + 1\n\t}\n\treturn 2 * a\n}\n", i)
	}
	return b.String()
}

func theirPython(lines int) string {
	var b strings.Builder
	for i := 0; strings.Count(b.String(), "\n") < lines; i++ {
		fmt.Fprintf(&b, "\ndef f%d(a: int) -> int:\n    if a > 3:\n        return a + 1\n    return 2 * a\n", i)
	}
	return b.String()
}

// digits are lines and columns of a digit behind a blank, one for each line.
func digits(text string) [][2]int {
	var out [][2]int
	for i, l := range strings.Split(text, "\n") {
		for k := 1; k+1 < len(l); k++ {
			if l[k] >= '1' && l[k] <= '3' && l[k-1] == ' ' && (l[k+1] == ' ' || l[k+1] == ':') {
				out = append(out, [2]int{i, k})
				break
			}
		}
	}
	return out
}

func measure(tmp string, c contender, edits int) (string, error) {
	root := filepath.Join(tmp, "work-"+c.language)
	if err := os.MkdirAll(root, 0o700); err != nil {
		return "", err
	}
	path := filepath.Join(root, c.file)
	if err := os.WriteFile(path, []byte(c.text), 0o600); err != nil {
		return "", err
	}
	if c.language == "go" {
		os.WriteFile(filepath.Join(root, "go.mod"), []byte("module side\n\ngo 1.24\n"), 0o600)
	}
	began := time.Now()
	s, err := connect(root, c.command)
	if err != nil {
		return "", err
	}
	defer s.end()
	rootURI, uri := "file://"+root, "file://"+path
	if _, err := s.call("initialize", map[string]any{
		"processId": os.Getpid(), "rootUri": rootURI,
		"workspaceFolders": []any{map[string]any{"uri": rootURI, "name": "work"}},
		"capabilities":     map[string]any{"textDocument": map[string]any{"publishDiagnostics": map[string]any{"versionSupport": true}}},
	}); err != nil {
		return "", err
	}
	started := time.Since(began)
	s.notify("initialized", map[string]any{})
	s.notify("textDocument/didOpen", map[string]any{"textDocument": map[string]any{"uri": uri, "languageId": c.language, "version": 1, "text": c.text}})
	if err := s.diagnostics(uri, 1); err != nil {
		return "", err
	}
	time.Sleep(time.Second) // let what the opening began come to rest
	numbers := digits(c.text)
	if len(numbers) == 0 {
		return "", fmt.Errorf("the document has no number to edit")
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	var edit, hover, completion []time.Duration
	for n := range edits {
		at := numbers[rnd.IntN(len(numbers))]
		pos := func(col int) map[string]any { return map[string]any{"line": at[0], "character": col} }
		digit := string("123"[rnd.IntN(3)])
		began := time.Now()
		s.notify("textDocument/didChange", map[string]any{
			"textDocument":   map[string]any{"uri": uri, "version": n + 2},
			"contentChanges": []any{map[string]any{"range": map[string]any{"start": pos(at[1]), "end": pos(at[1] + 1)}, "text": digit}},
		})
		if err := s.diagnostics(uri, n+2); err != nil {
			return "", err
		}
		edit = append(edit, time.Since(began))
		for method, took := range map[string]*[]time.Duration{"hover": &hover, "completion": &completion} {
			began := time.Now()
			if _, err := s.call("textDocument/"+method, map[string]any{"textDocument": map[string]any{"uri": uri}, "position": pos(at[1])}); err != nil {
				return "", err
			}
			*took = append(*took, time.Since(began))
		}
	}
	return fmt.Sprintf("%8.0f %26s %26s %26s", ms(started), quantiles(edit), quantiles(hover), quantiles(completion)), nil
}

func ms(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }

func quantiles(took []time.Duration) string {
	slices.Sort(took)
	q := func(p int) float64 { return ms(took[(len(took)-1)*p/100]) }
	return fmt.Sprintf("%.1f / %.1f / %.1f", q(50), q(95), q(99))
}

// A server is one that runs.
type server struct {
	cmd     *exec.Cmd
	in      io.WriteCloser
	mu      sync.Mutex
	cond    *sync.Cond
	next    int
	answers map[int]json.RawMessage
	shown   map[string]int // URI to the latest version that diagnostics came for
	count   map[string]int // URI to how often they came
	failed  error
}

func connect(dir string, command []string) (*server, error) {
	cmd := exec.Command(command[0], command[1:]...)
	cmd.Dir = dir
	in, err := cmd.StdinPipe()
	if err != nil {
		return nil, err
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	s := &server{cmd: cmd, in: in, answers: map[int]json.RawMessage{}, shown: map[string]int{}, count: map[string]int{}}
	s.cond = sync.NewCond(&s.mu)
	go s.listen(bufio.NewReader(out))
	return s, nil
}

func (s *server) end() {
	s.in.Close()
	done := make(chan struct{})
	go func() { s.cmd.Wait(); close(done) }()
	select {
	case <-done:
	case <-time.After(3 * time.Second):
		s.cmd.Process.Kill()
	}
}

func (s *server) listen(in *bufio.Reader) {
	for {
		header, err := textproto.NewReader(in).ReadMIMEHeader()
		var n int
		if err == nil {
			n, err = strconv.Atoi(header.Get("Content-Length"))
		}
		body := make([]byte, n)
		if err == nil {
			_, err = io.ReadFull(in, body)
		}
		if err != nil {
			s.mu.Lock()
			s.failed = err
			s.cond.Broadcast()
			s.mu.Unlock()
			return
		}
		var m struct {
			ID     json.RawMessage
			Method string
			Params json.RawMessage
		}
		json.Unmarshal(body, &m)
		s.mu.Lock()
		switch {
		case m.Method == "textDocument/publishDiagnostics":
			var p struct {
				URI     string
				Version int
			}
			json.Unmarshal(m.Params, &p)
			s.shown[p.URI] = p.Version
			s.count[p.URI]++
		case m.Method == "" && m.ID != nil:
			id, _ := strconv.Atoi(string(m.ID))
			s.answers[id] = body
		}
		s.cond.Broadcast()
		s.mu.Unlock()
		if m.Method != "" && m.ID != nil {
			var result any
			if m.Method == "workspace/configuration" {
				var p struct{ Items []any }
				json.Unmarshal(m.Params, &p)
				result = make([]any, len(p.Items))
			}
			s.send(map[string]any{"jsonrpc": "2.0", "id": m.ID, "result": result})
		}
	}
}

func (s *server) send(v any) {
	body, err := json.Marshal(v)
	if err != nil {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	fmt.Fprintf(s.in, "Content-Length: %d\r\n\r\n%s", len(body), body)
}

func (s *server) notify(method string, params any) {
	s.send(map[string]any{"jsonrpc": "2.0", "method": method, "params": params})
}

const patience = 30 * time.Second

func (s *server) wait(what string, ready func() bool) error {
	deadline := time.Now().Add(patience)
	timer := time.AfterFunc(patience, s.cond.Broadcast)
	defer timer.Stop()
	s.mu.Lock()
	defer s.mu.Unlock()
	for !ready() {
		switch {
		case s.failed != nil:
			return fmt.Errorf("the server ended: %w", s.failed)
		case time.Now().After(deadline):
			return fmt.Errorf("no %s within %v", what, patience)
		}
		s.cond.Wait()
	}
	return nil
}

func (s *server) call(method string, params any) (json.RawMessage, error) {
	s.mu.Lock()
	s.next++
	id := s.next
	s.mu.Unlock()
	s.send(map[string]any{"jsonrpc": "2.0", "id": id, "method": method, "params": params})
	var got json.RawMessage
	err := s.wait("answer to "+method, func() bool {
		m, ok := s.answers[id]
		delete(s.answers, id)
		got = m
		return ok
	})
	return got, err
}

// diagnostics waits for those of a version; where a server gives no versions,
// for the next that come.
func (s *server) diagnostics(uri string, version int) error {
	s.mu.Lock()
	before := s.count[uri]
	s.mu.Unlock()
	return s.wait("diagnostics", func() bool {
		v := s.shown[uri]
		return v == version || v == 0 && s.count[uri] > before
	})
}
