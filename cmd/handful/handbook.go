package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"

	"example.org/handful/cmd/handful/disk"
	"example.org/handful/lang/check"
	"example.org/handful/lang/guide"
)

// ownHandbook is the handbook's pages in the user's own cache, for editors that
// are not told where they are: the codes of findings lead there. They are written
// when the first finding is shown, once for each build of the program.
type ownHandbook struct {
	*streams
	folder  string // "" where the user has no cache
	begun   sync.Once
	written atomic.Bool
	lies    sync.Map // whether it lies in a workspace, by that one's folders
}

func newOwnHandbook(s *streams) *ownHandbook {
	h := &ownHandbook{streams: s}
	if cache, err := os.UserCacheDir(); err == nil {
		h.folder = filepath.Join(cache, "handful", "handbook")
	}
	return h
}

// in is the folder with the pages, or "" while there are none, and where they
// would lie in the workspace: there nothing is written, nor read. It does not
// wait for them.
func (h *ownHandbook) in(workspace []string) string {
	if h.folder == "" || h.within(workspace) {
		return ""
	}
	h.begun.Do(func() {
		if h.current() {
			h.written.Store(true)
			return
		}
		go check.Contained(h.write) // what goes wrong is for nobody: the server's own words are there
	})
	if !h.written.Load() {
		return ""
	}
	return h.folder
}

func (h *ownHandbook) within(workspace []string) bool {
	key := strings.Join(workspace, "\x00")
	if lies, known := h.lies.Load(key); known {
		return lies.(bool)
	}
	lies := false
	for _, w := range workspace {
		rel, err := filepath.Rel(really(w), really(h.folder))
		lies = lies || err != nil || rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
	}
	h.lies.Store(key, lies)
	return lies
}

// really is a path with its links followed, as far as it is there.
func really(path string) string {
	if got, err := filepath.EvalSymlinks(path); err == nil {
		return got
	}
	up := filepath.Dir(path)
	if up == path {
		return path
	}
	return filepath.Join(really(up), filepath.Base(path))
}

// ofBuild is the file that says of which build the pages are. It is written last.
const ofBuild = ".of"

// build tells this program from every other one.
func build() string {
	text := version()
	if path, err := os.Executable(); err == nil {
		if info, err := os.Stat(path); err == nil {
			text += fmt.Sprintf(", %d bytes of %s", info.Size(), info.ModTime().UTC().Format("2006-01-02 15:04:05.000000000"))
		}
	}
	return text + "\n"
}

func (h *ownHandbook) current() bool {
	text, err := os.ReadFile(filepath.Join(h.folder, ofBuild))
	return err == nil && string(text) == build()
}

func (h *ownHandbook) write() {
	var files []outFile
	for _, p := range guide.Pages() {
		files = append(files, outFile{filepath.FromSlash(p.Path), []byte(p.HTML)})
	}
	if err := guidePages.write(h.streams, h.folder, files, true); err != nil {
		return
	}
	mark, err := disk.At(h.disk, filepath.Join(h.folder, ofBuild), h.folder)
	if err == nil && mark.There() {
		_, err = mark.Look()
	}
	if err == nil && mark.Write([]byte(build())) == nil {
		h.written.Store(true)
	}
}
