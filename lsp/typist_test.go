package lsp

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// A handClock goes on when a test says so.
type handClock struct {
	mu     sync.Mutex
	now    time.Duration
	alarms map[int]alarm
	n      int
}

type alarm struct {
	at time.Duration
	f  func()
}

func (c *handClock) after(d time.Duration, f func()) (stop func() bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.alarms == nil {
		c.alarms = map[int]alarm{}
	}
	c.n++
	id := c.n
	c.alarms[id] = alarm{c.now + d, f}
	return func() bool {
		c.mu.Lock()
		defer c.mu.Unlock()
		_, set := c.alarms[id]
		delete(c.alarms, id)
		return set
	}
}

// advance lets time pass, and says how many alarms have gone off.
func (c *handClock) advance(d time.Duration) (rang int) {
	c.mu.Lock()
	c.now += d
	var due []func()
	for id, a := range c.alarms {
		if a.at <= c.now {
			due = append(due, a.f)
			delete(c.alarms, id)
		}
	}
	c.mu.Unlock()
	for _, f := range due {
		f()
	}
	return len(due)
}

// A typist writes a text letter by letter, as in an editor that indents a new
// line like the one above and takes an open offer on Enter, and keeps what is on
// the screen after every key.
type typist struct {
	c       *client
	id      string
	lines   []string
	at      int // the line of the cursor, which is at its end
	version int
	clock   *handClock
	letter  time.Duration
	end     time.Duration // before Enter
	read    int           // messages that have been looked at

	allowed map[spot]bool
	offered []string // what is open at the cursor
	since   map[string]time.Duration
	felt    typed
	screen  published
}

// typed is what somebody who types sees.
type typed struct {
	keys, onLine, elsewhere, flashes int
	damaged                          []string
	seen                             map[string]int // what flashed or stood where it should not, for looking at
}

type spot struct {
	code string
	line int
}

// key puts something behind the cursor, after taking some letters away.
func (w *typist) key(add string, back int, wait time.Duration) {
	w.pass(wait)
	line, col := w.at, len(w.lines[w.at])
	was := w.lines[line][:col-back]
	if add == "" || add[0] != '\n' {
		w.lines[line] = was + add
	} else {
		w.at++
		w.lines = slices.Insert(w.lines, w.at, add[1:])
	}
	w.version++
	w.c.change(w.id, w.version, obj{"range": span(line, col-back, line, col), "text": add})
	w.felt.keys++
	w.look(w.published())
	w.popUp(add)
}

func (w *typist) text() string { return strings.Join(w.lines, "\n") }

// pass lets time pass; what the server shows when its patience ends is seen.
func (w *typist) pass(d time.Duration) {
	for ; d > 0; d -= tick {
		for range w.clock.advance(min(d, tick)) {
			w.look(w.published())
		}
	}
}

// tick is how finely a typist looks at the screen while waiting.
const tick = 50 * time.Millisecond

// published waits for what is shown next of the version.
func (w *typist) published() (got published) {
	_, ok := w.c.wait(func() (message, bool) {
		for ; w.read < len(w.c.notes); w.read++ {
			m := w.c.notes[w.read]
			var p published
			if m.Method == "textDocument/publishDiagnostics" && json.Unmarshal(m.Params, &p) == nil && p.Version == w.version {
				got = p
				w.read++
				return m, true
			}
		}
		return message{}, false
	})
	require.True(w.c.t, ok, "nothing is shown of version %d", w.version)
	return got
}

func (w *typist) look(p published) {
	w.screen = p
	line := w.at
	now := map[string]bool{}
	onLine, elsewhere := false, false
	for _, d := range p.Diagnostics {
		id := fmt.Sprintf("%s %d: %s", d.Code, d.Range.Start.Line, d.Message)
		now[id] = true
		if _, ok := w.since[id]; !ok {
			w.since[id] = w.clock.now
		}
		if d.Severity != 1 {
			continue
		}
		switch here := d.Range.Start.Line <= line && line <= d.Range.End.Line; {
		case here:
			onLine = true
			w.felt.seen["on the line "+id]++
		case !w.allowed[spot{d.Code, d.Range.Start.Line}]:
			elsewhere = true
			w.felt.seen["elsewhere "+id]++
		}
	}
	for id, since := range w.since {
		if !now[id] {
			if w.clock.now-since < time.Second {
				w.felt.flashes++
				w.felt.seen["flash "+id]++
			}
			delete(w.since, id)
		}
	}
	if onLine {
		w.felt.onLine++
	}
	if elsewhere {
		w.felt.elsewhere++
	}
}

// popUp keeps what an editor would offer behind the key.
func (w *typist) popUp(add string) {
	w.offered = nil
	if add == "" || strings.HasPrefix(add, "\n") {
		return
	}
	ch := add[len(add)-1]
	word := ch == '_' || ch == '-' || '0' <= ch && ch <= '9' || 'a' <= ch|32 && ch|32 <= 'z'
	if !word && !strings.ContainsRune(" \".", rune(ch)) {
		return
	}
	w.offered = w.c.offers(w.id, w.at, len(w.lines[w.at]), w.lines[w.at])
}

// write types a text.
func (w *typist) write(text string) {
	for i, line := range strings.Split(text, "\n") {
		w.mayShow(w.text(), strings.Join(append(slices.Clone(w.lines[:w.at]), line), "\n"))
		if i > 0 {
			w.enter()
		}
		w.line(line)
	}
}

func (w *typist) enter() {
	if len(w.offered) > 0 {
		w.felt.damaged = append(w.felt.damaged, fmt.Sprintf("%q: %q is taken", w.lines[w.at], w.offered[0]))
	}
	was := w.lines[w.at]
	w.key("\n"+was[:len(was)-len(strings.TrimLeft(was, " "))], 0, w.end)
}

// line types a line, whose indent may be there.
func (w *typist) line(line string) {
	indent := len(w.lines[w.at])
	for ; !strings.HasPrefix(line, strings.Repeat(" ", indent)); indent-- {
		w.key("", 1, w.letter)
	}
	for _, ch := range line[indent:] {
		w.key(string(ch), 0, w.letter)
	}
}

// anew takes a line out and types it again, with the rest of the text around it.
func (w *typist) anew(at int) {
	line, with := w.lines[at], w.text()
	w.lines[at] = ""
	w.mayShow(with, w.text())
	w.lines[at] = line
	w.at = at
	w.key("", len(line), 2*time.Second)
	w.pass(2 * time.Second)
	w.line(line)
	w.pass(2 * time.Second)
}

// mayShow lets errors stand in other lines that a whole check finds in one of
// two texts: before and after a line is written.
func (w *typist) mayShow(texts ...string) {
	w.allowed = map[spot]bool{}
	for _, text := range texts {
		r := check.Check("a.handful", syntax.Parse(text), check.Options{})
		for i := range r.Findings {
			w.allowed[spot{r.Findings[i].Rule.Name, int(r.Findings[i].Where.Line)}] = true
		}
	}
}

// sitDown opens a document for somebody who types.
func sitDown(t *testing.T, text string, quiet, letter, end time.Duration) *typist {
	clock := &handClock{}
	c := startWith(t, Options{Version: "test", Quiet: quiet, after: clock.after}, able, nil)
	w := &typist{c: c, id: "untitled:typed.handful", lines: strings.Split(text, "\n"), version: 1, clock: clock, letter: letter, end: end, since: map[string]time.Duration{}}
	w.felt.seen = map[string]int{}
	c.open(w.id, text)
	w.mayShow(text)
	w.look(w.published())
	return w
}

// stop is the end of typing: after a second all that is found is on the screen.
func (w *typist) stop(text string) typed {
	require.Equal(w.c.t, text, w.text())
	w.pass(2 * time.Second)
	w.c.mu.Lock()
	defer w.c.mu.Unlock()
	var last published
	for _, m := range w.c.notes {
		if m.Method == "textDocument/publishDiagnostics" {
			last = published{}
			require.NoError(w.c.t, json.Unmarshal(m.Params, &last))
		}
	}
	assert.Len(w.c.t, last.Diagnostics, len(check.Check("typed.handful", syntax.Parse(text), check.Options{}).Findings))
	return w.felt
}

func (f *typed) add(o typed) {
	f.keys, f.onLine, f.elsewhere, f.flashes = f.keys+o.keys, f.onLine+o.onLine, f.elsewhere+o.elsewhere, f.flashes+o.flashes
	f.damaged = append(f.damaged, o.damaged...)
	if f.seen == nil {
		f.seen = map[string]int{}
	}
	for what, n := range o.seen {
		f.seen[what] += n
	}
}

func (f *typed) log(t *testing.T, how string) {
	t.Logf("%s: %d keys, errors on the line at %d, elsewhere at %d, %d flashes, %d lines damaged",
		how, f.keys, f.onLine, f.elsewhere, f.flashes, len(f.damaged))
}

func (f *typed) isQuiet(t *testing.T) {
	assert.Empty(t, f.damaged)
	assert.LessOrEqual(t, f.onLine*100, 5*f.keys, "errors on the line that is being typed: %v", f.seen)
	assert.LessOrEqual(t, f.elsewhere*100, 10*f.keys, "errors on other lines that a pause would not show: %v", f.seen)
	assert.LessOrEqual(t, f.flashes, 20, "what is shown for less than a second: %v", f.seen)
}

// Who types sees the line that is being written in peace, and nothing is taken
// from it: from an empty page, and anew in the middle of a piece.
func TestTypingIsQuiet(t *testing.T) {
	var quiet, loud, amid typed
	for i, file := range []string{"weir", "scene-change", "salt-market"} {
		if i > 0 && testing.Short() {
			break
		}
		data, err := os.ReadFile("../examples/" + file + ".handful")
		require.NoError(t, err)
		text := strings.TrimRight(string(data), "\n")
		write := func(waits time.Duration) (felt typed) {
			w := sitDown(t, "", waits, 60*time.Millisecond, 300*time.Millisecond)
			w.write(text)
			felt = w.stop(text)
			felt.log(t, fmt.Sprintf("%s, waiting %v", file, waits))
			return felt
		}
		quiet.add(write(time.Second))
		if i == 0 || !testing.Short() && os.Getenv("HANDFUL_FILES") != "" {
			loud.add(write(0))
		}
		w := sitDown(t, text, time.Second, 60*time.Millisecond, 300*time.Millisecond)
		for at := 0; at < len(w.lines); at += 4 {
			w.anew(at)
		}
		felt := w.stop(text)
		felt.log(t, file+", every fourth line anew")
		amid.add(felt)
	}
	quiet.isQuiet(t)
	amid.isQuiet(t)
	assert.Greater(t, loud.onLine*100, 50*loud.keys, "without waiting it is as it was: else this measures nothing")
}

// What cannot become right is shown while somebody writes on; what can, when the
// line is left, the pen rests, or the text is saved.
func TestWhatWaitsForThePen(t *testing.T) {
	head := "tempo 96\nbars 2\npart \"P\"\n  woodblock | 1 2 | 3\nplayer Ida\n"
	for _, ex := range []struct {
		typed string
		now   []string // rules of what is shown in the line at once
		then  []string // and a second later
	}{
		{"  R wood", nil, []string{"syntax"}},
		{"  R woodblok as wri", nil, []string{"syntax"}},
		{"  R woodblok as written", []string{"unknown-name"}, []string{"unknown-name"}},
		{"  R woodblok |", nil, []string{"unknown-name"}},
		{"  R woodblok | 1 2 ", []string{"unknown-name"}, []string{"unknown-name"}},
		{"  R woodblock | 1 2 9 4 ", nil, []string{"count"}},
		{"  R woodblock | 1 9 2 4 ", []string{"count"}, []string{"count"}},
		{"mark", nil, []string{"syntax"}},
	} {
		for _, end := range []string{"rest", "save", "enter"} {
			w := sitDown(t, head, time.Second, 60*time.Millisecond, 300*time.Millisecond)
			w.at = len(w.lines) - 1
			w.line(ex.typed)
			shown := func() (rules []string) {
				for _, d := range w.screen.Diagnostics {
					if d.Range.Start.Line == strings.Count(head, "\n") && d.Severity == 1 {
						rules = append(rules, d.Code)
					}
				}
				return rules
			}
			assert.Subset(t, append(shown(), ""), append(ex.now, ""), ex.typed)
			if ex.now == nil {
				assert.Empty(t, shown(), ex.typed)
			}
			switch end {
			case "rest":
				w.pass(time.Second)
			case "save":
				w.c.notify("textDocument/didSave", obj{"textDocument": doc(w.id)})
				w.look(w.published())
			case "enter":
				w.key("\n", 0, 0)
			}
			assert.Subset(t, shown(), ex.then, "%s, %s", ex.typed, end)
		}
	}
}

// Clients send what is typed in pieces of their own: several letters at once, a
// line with its end, the whole text.
func TestHoweverLettersComeTheyAreTyped(t *testing.T) {
	const head = "tempo 96\nbars 2\n"
	for how, changes := range map[string][]any{
		"letters":      {obj{"range": span(2, 0, 2, 0), "text": "m"}, obj{"range": span(2, 1, 2, 1), "text": "ar"}},
		"a line":       {obj{"range": span(2, 0, 2, 0), "text": "mar\n"}},
		"the text":     {obj{"text": head + "mar"}},
		"a line anew":  {obj{"range": span(1, 0, 2, 0), "text": "bars 2\nmar\n"}},
		"with its end": {obj{"range": span(1, 6, 2, 0), "text": "\n\n"}, obj{"range": span(2, 0, 2, 0), "text": "mar"}},
	} {
		w := sitDown(t, head, time.Second, 0, 0)
		w.version++
		w.c.change(w.id, w.version, changes...)
		assert.Empty(t, w.published().Diagnostics, how)
		w.version++
		w.c.change(w.id, w.version) // nothing at all
		assert.Empty(t, w.published().Diagnostics, how)
		assert.Equal(t, 1, w.clock.advance(time.Second), how)
		assert.Len(t, w.published().Diagnostics, 1, how)
	}
	w := sitDown(t, head, time.Second, 0, 0)
	w.version++
	w.c.change(w.id, w.version, obj{"range": span(2, 0, 2, 0), "text": "mar\nmeter 4/4\ntem\n"})
	assert.Len(t, w.published().Diagnostics, 2, "what is put in whole is told at once")
}

// A client that asks for what is found is asked to ask again once the pen rests,
// and what it had before is no answer then.
func TestWhatWaitsIsPulledWhenThePenRests(t *testing.T) {
	clock := &handClock{}
	can := obj{"textDocument": obj{"diagnostic": obj{}}, "workspace": obj{"diagnostics": obj{"refreshSupport": true}}}
	c := startWith(t, Options{Version: "test", Quiet: time.Second, after: clock.after}, can, nil)
	id := "untitled:pulled.handful"
	pull := func(had string) (kind, result string, codes []string) {
		var got struct {
			Kind, ResultID string
			Items          []diagnostic
		}
		p := obj{"textDocument": doc(id)}
		if had != "" {
			p["previousResultId"] = had
		}
		c.call("textDocument/diagnostic", p, &got)
		for _, d := range got.Items {
			codes = append(codes, d.Code)
		}
		return got.Kind, got.ResultID, codes
	}
	c.open(id, "tempo 96\n")
	_, first, found := pull("")
	assert.Empty(t, found)
	c.change(id, 2, obj{"range": span(1, 0, 1, 0), "text": "mar"})
	_, held, found := pull(first)
	assert.Empty(t, found)
	kind, _, _ := pull(held)
	assert.Equal(t, "unchanged", kind)
	assert.Equal(t, 1, clock.advance(time.Second))
	_, ok := c.wait(func() (message, bool) {
		for _, m := range c.notes {
			if m.Method == "workspace/diagnostic/refresh" {
				return m, true
			}
		}
		return message{}, false
	})
	require.True(t, ok, "the client is asked to ask again")
	kind, all, found := pull(held)
	assert.Equal(t, "full", kind)
	assert.Equal(t, []string{"syntax"}, found)
	kind, _, _ = pull(all)
	assert.Equal(t, "unchanged", kind)
}
