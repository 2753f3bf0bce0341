package lsp

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.lsp.dev/uri"
)

// A puller is a client that asks for what was found: after each change of its
// own, and when the server says that there is something new. It has one question
// open for a document; whoever wants to know more meanwhile has it cancelled and
// asked anew.
type puller struct {
	c       *client
	takes   bool // an answer that comes although it was cancelled counts
	docs    []*pulled
	read    int // messages that have been looked at
	answers int
}

type pulled struct {
	mirror
	open, result string
	again        bool
	shown        []string
}

func (p *puller) pullAll() {
	for _, d := range p.docs {
		p.pull(d)
	}
}

func (p *puller) pull(d *pulled) {
	if d.open != "" {
		if !d.again {
			id, err := strconv.Atoi(d.open)
			require.NoError(p.c.t, err)
			p.c.notify("$/cancelRequest", obj{"id": id})
		}
		d.again = true
		return
	}
	params := obj{"textDocument": doc(d.uri)}
	if d.result != "" {
		params["previousResultId"] = d.result
	}
	d.open = p.c.ask("textDocument/diagnostic", params)
}

// look takes what the server has sent, and says whether there was something.
func (p *puller) look() bool {
	c := p.c
	c.mu.Lock()
	refresh := false
	for ; p.read < len(c.notes); p.read++ {
		refresh = refresh || c.notes[p.read].Method == "workspace/diagnostic/refresh"
	}
	came := map[*pulled]message{}
	for _, d := range p.docs {
		if m, ok := c.answers[d.open]; ok {
			delete(c.answers, d.open)
			came[d] = m
		}
	}
	c.mu.Unlock()
	for _, d := range p.docs {
		if m, ok := came[d]; ok {
			p.take(d, m)
		}
	}
	if refresh {
		p.pullAll()
	}
	return refresh || len(came) > 0
}

func (p *puller) take(d *pulled, m message) {
	again := d.again
	d.open, d.again = "", false
	if m.Error != nil {
		require.Equal(p.c.t, cancelled, m.Error.Code, "%+v", m.Error)
		require.True(p.c.t, again, "given up although nobody said so")
	} else if p.takes || !again {
		p.keep(d, m)
	}
	if again {
		p.pull(d)
	}
}

func (p *puller) keep(d *pulled, m message) {
	var got struct {
		Kind, ResultID string
		Items          []struct {
			Range   json.RawMessage
			Message string
		}
	}
	require.NoError(p.c.t, json.Unmarshal(m.Result, &got))
	p.answers++
	if got.Kind == "full" {
		d.shown = []string{}
		for _, i := range got.Items {
			text, err := json.Marshal(i.Message)
			require.NoError(p.c.t, err)
			d.shown = append(d.shown, fmt.Sprintf("%s %s", i.Range, text))
		}
	} else {
		require.Equal(p.c.t, d.result, got.ResultID, "the client has it already")
	}
	d.result = got.ResultID
}

// settles goes on as a client that does nothing by itself any more, and time
// passes, until what is shown is what is wanted.
func (p *puller) settles(clock *handClock, quiet time.Duration, want [][]string) error {
	for end := time.Now().Add(p.c.patience); ; {
		moved := p.look()
		moved = clock.advance(quiet) > 0 || moved
		wrong := ""
		for i, d := range p.docs {
			if d.open != "" || !slices.Equal(d.shown, want[i]) {
				wrong += fmt.Sprintf("%s, version %d, shows\n%s\nand a fresh check finds\n%s\n", d.name, d.version, strings.Join(d.shown, "\n"), strings.Join(want[i], "\n"))
			}
		}
		switch {
		case wrong == "":
			return nil
		case time.Now().After(end):
			return fmt.Errorf("%s", wrong)
		case !moved:
			time.Sleep(time.Millisecond)
		}
	}
}

// Whoever asks for what was found ends with all of it, however changes, saves,
// questions, cancellations, pauses and news come between one another.
func TestWhoAsksEndsWithAllThatIsFound(t *testing.T) {
	sessions := 12 // a sample; HANDFUL_SESSIONS=400 is a long run by hand
	if n, err := strconv.Atoi(os.Getenv("HANDFUL_SESSIONS")); err == nil {
		sessions = n
	}
	for i := range sessions {
		t.Run(strconv.Itoa(i), func(t *testing.T) { pulls(t, rand.New(rand.NewPCG(19, uint64(i))), i%2 == 0, 60) })
	}
}

// dictated is what is written at the end of the piece, over and over.
const dictated = "\nplayer Nobody\n  R wodblock as written\n  L triangle | 1 2 3 4\nplayer Rae\n  R snare-drum as witten\nmark X at 3\n"

func pulls(t *testing.T, by *rand.Rand, takes bool, steps int) {
	root := t.TempDir()
	clock := &handClock{}
	const quiet = time.Second
	c := startWith(t, Options{Version: "test", Quiet: quiet, after: clock.after}, obj{
		"textDocument": obj{"diagnostic": obj{"relatedDocumentSupport": false}, "synchronization": obj{"didSave": true}},
		"workspace":    obj{"diagnostics": obj{"refreshSupport": true}}, "general": obj{"positionEncodings": arr{"utf-16"}},
	}, obj{"rootUri": string(uri.File(root))})
	p := &puller{c: c, takes: takes}
	piece := "use \"kit.handful\"\ntitle \"A Piece\"\n\npart \"Percussion\"\n  woodblock | 1 2 3 4 | 1 2& 4 | % | -\n  triangle | - | - | - | 1\n\nplayer Wren\n  R woodblock as written\n  R triangle as written\n"
	kit := "kit\n  woodblock clamped at left 30 ahead 40\n  triangle clipped at right 20 ahead 50\n"
	for name, text := range map[string]string{"piece.handful": piece, "kit.handful": kit} {
		require.NoError(t, os.WriteFile(filepath.Join(root, name), []byte(text), 0o600))
	}
	for _, d := range []*pulled{{mirror: mirror{name: "piece.handful", text: []rune(piece)}}, {mirror: mirror{name: "kit.handful", text: []rune(kit)}}} {
		d.uri, d.version = string(uri.File(filepath.Join(root, d.name))), 1
		p.docs = append(p.docs, d)
		c.open(d.uri, string(d.text))
		p.pull(d)
	}
	next := by.IntN(len(dictated))
	edit := func(d *pulled, from, to int, is string) {
		change := d.edit(from, to, is)
		c.change(d.uri, d.version, change)
		p.pullAll() // what is in one file may make another wrong
	}
	for range steps {
		d := p.docs[0]
		switch n := len(d.text); by.IntN(12) {
		case 0, 1, 2, 3, 4:
			for range 1 + by.IntN(12) {
				edit(d, len(d.text), len(d.text), dictated[next:next+1])
				next = (next + 1) % len(dictated)
			}
		case 5:
			from := max(0, n-by.IntN(8))
			edit(d, from, n, "")
		case 6:
			at := d.lawful(by.IntN(n + 1))
			edit(d, at, at, scraps[by.IntN(len(scraps))])
		case 7:
			o := p.docs[1]
			at := o.lawful(by.IntN(len(o.text) + 1))
			edit(o, at, at, scraps[by.IntN(len(scraps))])
		case 8:
			d = p.docs[by.IntN(2)]
			require.NoError(t, os.WriteFile(filepath.Join(root, d.name), []byte(string(d.text)), 0o600))
			c.notify("textDocument/didSave", obj{"textDocument": doc(d.uri)})
		case 9:
			clock.advance(time.Duration(by.IntN(1500)) * time.Millisecond)
		case 10:
			p.pullAll()
		case 11:
			for asked := p.docs[0].open; asked != "" && p.docs[0].open == asked; {
				if !p.look() {
					time.Sleep(100 * time.Microsecond)
				}
			}
		}
		p.look()
	}
	all := []*mirror{&p.docs[0].mirror, &p.docs[1].mirror}
	want := [][]string{fresh(t, root, all[0], all), fresh(t, root, all[1], all)}
	require.NoError(t, p.settles(clock, quiet, want))
	require.NotZero(t, p.answers)
	for range 3 { // and it stays so
		p.pullAll()
		require.NoError(t, p.settles(clock, quiet, want))
	}
}
