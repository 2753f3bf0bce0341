package lsp

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"
)

// A screen is a client that keeps what is shown. It takes the first of it only
// when it is told to.
type screen struct {
	protocol.UnimplementedClient
	came, take chan struct{}
	once       sync.Once
	mu         sync.Mutex
	shown      []*protocol.PublishDiagnosticsParams
}

func (c *screen) PublishDiagnostics(_ context.Context, p *protocol.PublishDiagnosticsParams) error {
	c.once.Do(func() {
		close(c.came)
		<-c.take
	})
	c.mu.Lock()
	defer c.mu.Unlock()
	c.shown = append(c.shown, p)
	return nil
}

// showing is a session with a screen and a workspace folder that holds one
// file, which nobody has read yet.
func showing(t *testing.T, text string) (*session, *screen, uri.URI) {
	root := t.TempDir()
	file := filepath.Join(root, "quay.handful")
	require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
	c := &screen{came: make(chan struct{}), take: make(chan struct{})}
	s := newSession(t.Context(), newFramed(nil, nil, nil), Options{})
	s.client = c
	s.change(func(w *world) { w.folders = []string{root} })
	return s, c, uri.File(file)
}

func opening(id uri.URI, version int32, text string) *protocol.DidOpenTextDocumentParams {
	return &protocol.DidOpenTextDocumentParams{TextDocument: protocol.TextDocumentItem{URI: id, Version: version, Text: text}}
}

// What is found in a file on the disk is not shown over what is found in its
// open text, however slowly it gets out.
func TestAFileOnTheDiskDoesNotTakeTheScreenFromItsOpenText(t *testing.T) {
	s, c, id := showing(t, "no such line\n")
	s.background(s.scan)
	<-c.came
	require.NoError(t, s.DidOpen(t.Context(), opening(id, 1, "nor this one\n")))
	s.mu.Lock()
	assert.True(t, s.runners[id].again, "who shows the file shows the text when that is done")
	assert.Empty(t, s.line, "and nobody else does")
	s.mu.Unlock()
	require.NoError(t, s.DidOpen(t.Context(), opening(id, 1, "tempo 96\n")), "the same version again")
	close(c.take)
	s.work.Wait()
	last := c.shown[len(c.shown)-1]
	assert.Equal(t, protocol.NewOptional[int32](1), last.Version)
	assert.Empty(t, last.Diagnostics)
}

// A text that was opened before the workspace was read, and closed again, has
// nothing more to show if nothing is wrong with its file.
func TestWhatAnUnsavedTextShowedGoesWithIt(t *testing.T) {
	s, c, id := showing(t, "tempo 96\n")
	close(c.take)
	require.NoError(t, s.DidOpen(t.Context(), opening(id, 1, "no such line\n")))
	s.work.Wait()
	require.NoError(t, s.DidClose(t.Context(), &protocol.DidCloseTextDocumentParams{TextDocument: protocol.TextDocumentIdentifier{URI: id}}))
	s.work.Wait()
	require.Len(t, c.shown, 2)
	assert.NotEmpty(t, c.shown[0].Diagnostics)
	assert.Empty(t, c.shown[1].Diagnostics)
	assert.Empty(t, s.marked)
}

// A text that is not known any more moves with its folder all the same, and is
// at home when it comes again whole.
func TestALostTextMovesWithItsFolder(t *testing.T) {
	s, c, id := showing(t, "tempo 96\n")
	close(c.take)
	s.change(func(w *world) { w.folders = nil })
	require.NoError(t, s.DidOpen(t.Context(), opening(id, 1, "tempo 96\n")))
	require.Error(t, s.didChange([]byte(`{"textDocument": {"uri": "`+string(id)+`", "version": 2}, "contentChanges": [{}]}`)))
	s.renew(func(w *world) { w.folders = []string{filepath.Dir(pathOf(id))} })
	d := s.now().docs.get(id)
	assert.Equal(t, filepath.Dir(pathOf(id)), d.root)
	_, err := d.analysis.wait(t.Context())
	assert.Equal(t, d.lost, err)
	require.NoError(t, s.didChange([]byte(`{"textDocument": {"uri": "`+string(id)+`", "version": 3}, "contentChanges": [{"text": ""}]}`)))
	assert.Equal(t, "quay.handful", s.now().docs.get(id).name)
	assert.NotEmpty(t, s.now().docs.get(id).root)
	s.work.Wait()
}

// Comments and empty lines move what is shown, and no check is made for it until
// somebody needs one.
func TestACommentMovesWhatIsFoundWithoutACheck(t *testing.T) {
	var checks atomic.Int32
	c := startWith(t, Options{failing: func(work, _ string) {
		if work == "checking" {
			checks.Add(1)
		}
	}}, able, nil)
	c.open(page, "tempo 60\nplayer Ida\n  R no-such-thing with snare-stick | 1 | 2\n")
	was := c.shownFor(page, 1)
	require.NotEmpty(t, was)
	c.change(page, 2, obj{"range": span(0, 8, 0, 8), "text": " # slow\n\n# by ear"})
	now := c.shownFor(page, 2)
	assert.EqualValues(t, 1, checks.Load())
	require.Len(t, now, len(was))
	for i := range now {
		assert.Equal(t, was[i].Message, now[i].Message)
		assert.Equal(t, was[i].Range.Start.Line+2, now[i].Range.Start.Line)
	}
	c.call("textDocument/hover", at(page, 4, 6), nil)
	assert.EqualValues(t, 2, checks.Load())
	c.change(page, 3, obj{"range": span(4, 4, 4, 17), "text": "woodblock"})
	assert.NotEqual(t, codes(now), codes(c.shownFor(page, 3)))
	assert.EqualValues(t, 3, checks.Load())
}
