package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// formats are how a check may be reported.
var formats = []string{"text", "json", "jsonl", "line", "sarif", "junit", "github", "gitlab"}

// library lays a folder of pieces, some of them with something to find.
func library(t testing.TB, pieces int) string {
	dir := t.TempDir()
	for i := range pieces {
		text := fmt.Sprintf("title \"Piece %d\"\ntempo %d\nplayer Ida\n  R woodblock with rubber-mallet | %s\n  R triangle with triangle-beater | 3\n", i, 60+7*(i%20), strings.Repeat("1 2 4 | ", i%5)+"1")
		at := filepath.Join(dir, fmt.Sprintf("act-%d", i%3), fmt.Sprintf("piece-%03d.handful", i))
		require.NoError(t, os.MkdirAll(filepath.Dir(at), 0o755))
		require.NoError(t, os.WriteFile(at, []byte(text), 0o644))
	}
	return dir
}

// The same bytes come out of one processor and of several, in every form.
func TestTheSameReportOnAnyNumberOfCores(t *testing.T) {
	t.Chdir(library(t, 40))
	for _, format := range formats {
		var outs []string
		for _, cores := range []int{1, 2, 7} {
			was := runtime.GOMAXPROCS(cores)
			out, errs, code := run(t, "", "check", ".", "--format", format, "--no-fixes")
			runtime.GOMAXPROCS(was)
			assert.Empty(t, errs)
			assert.Equal(t, exitFindings, code)
			outs = append(outs, out)
		}
		assert.NotEmpty(t, outs[0])
		assert.True(t, outs[0] == outs[1] && outs[1] == outs[2], "%s differs", format)
	}
}

// lateForm is a form that waits with one file until another was told.
type lateForm struct {
	textForm
	wait chan struct{}
}

func (f lateForm) render(c *checked, p *page) {
	if c.path == "3" {
		<-f.wait
	}
	f.textForm.render(c, p)
}

// What is checked is told at once, and never in front of what comes before it.
func TestFilesAreToldAsSoonAsTheyCan(t *testing.T) {
	var inputs []input
	for i := range 6 {
		inputs = append(inputs, input{path: fmt.Sprint(i), name: fmt.Sprint(i), root: t.TempDir(), text: "tempo 96\nplayer Ida\n  R snorkel | 1 2\n"})
	}
	form := lateForm{wait: make(chan struct{})}
	var told []int
	var early atomic.Int32
	tell := &telling{form: form, to: &bytes.Buffer{}}
	pages := checkAll(context.Background(), inputs, checking{}, form, func(p *page) {
		tell.next(p)
		told = append(told, len(told))
		if len(told) == 3 {
			early.Store(3)
			close(form.wait) // it could not come here if the first three had to wait for the fourth
		}
	})
	assert.EqualValues(t, 3, early.Load())
	assert.Len(t, told, 6)
	out := tell.to.(*bytes.Buffer)
	require.NoError(t, tell.all(pages))
	var order []string
	for _, line := range strings.Split(out.String(), "\n") {
		if name, _, ok := strings.Cut(line, ":3:"); ok {
			order = append(order, name)
		}
	}
	assert.Equal(t, "0 1 2 3 4 5", strings.Join(order, " "))
}

func TestProgressGoesAwayAgain(t *testing.T) {
	var b strings.Builder
	p := &progress{to: &b, of: 40, everyNths: 10}
	for range 40 {
		p.step()
	}
	p.end()
	assert.Equal(t, "\r\x1b[K10 of 40 files\r\x1b[K20 of 40 files\r\x1b[K30 of 40 files\r\x1b[K40 of 40 files\r\x1b[K", b.String())
	var errs strings.Builder
	assert.Nil(t, (&streams{err: &output{to: &errs}}).progress(1000), "on a pipe there is none")
	var none *progress
	none.step()
	none.end()
}
