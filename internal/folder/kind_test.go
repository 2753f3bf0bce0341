package folder

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWhatAFileIs(t *testing.T) {
	const piece = "title \"Zoë\"\ntempo 96\nplayer Ida\n  R woodblock clamped | 1 2\n"
	for text, want := range map[string]string{
		"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n":                          "it is a PDF, and no text in this notation",
		"MThd\x00\x00\x00\x06\x00\x01":                           "it is a MIDI file: import it first",
		"PK\x03\x04\x14\x00META-INF/container.xml":               "it is MusicXML (compressed): import it first",
		"PK\x03\x04\x14\x00[Content_Types].xml":                  "it is an office document, and no text in this notation",
		"PK\x03\x04\x14\x00photos/":                              "it is an archive (zip), and no text in this notation",
		"\x89PNG\r\n\x1a\n\x00\x00":                              "it is a picture (PNG), and no text in this notation",
		"\xff\xd8\xff\xe0":                                       "it is a picture (JPEG), and no text in this notation",
		"RIFF\x24\x00\x00\x00WAVEfmt ":                           "it is a recording (WAV), and no text in this notation",
		"<?xml version=\"1.0\"?>\n<score-partwise version=\"4\"": "it is MusicXML: import it first",
		"\ufeff<?xml version=\"1.0\"?><!DOCTYPE score-timewise":  "it is MusicXML: import it first",
		"<?xml version=\"1.0\"?><svg>":                           "it is a picture (SVG), and no text in this notation",
		"<!DOCTYPE html>\n":                                      "it is a web page, and no text in this notation",
		"<plist":                                                 "",
		"title \"\xe9\"":                                         "line 1, column 8: this is a byte (E9) that is not UTF-8 text: save the file as UTF-8",
		"tempo 96\ntitle \"日\xe9\"":                              "line 2, column 9: this is a byte (E9) that is not UTF-8 text: save the file as UTF-8",
		"title \"\ufffd\xe9\"":                                   "line 1, column 9: this is a byte (E9) that is not UTF-8 text: save the file as UTF-8",
		"\x00\x01\x02\xff":                                       "it is a file of bytes, and no text in this notation",
		piece:                                                    "",
		"\ufeff" + piece:                                         "",
		"title \"\ufffd\"":                                       "",
		"title \"\x00\"":                                         "", // the checker says where it stands
		"":                                                       "",
		"MThe rest is missing":                                   "",
		"II":                                                     "",
		"PK":                                                     "",
		"BM snare-drum":                                          "",
	} {
		got := ""
		if k := Kind(text); k != nil {
			got = k.Error()
		}
		assert.Equal(t, want, got, "%q", text)
	}
	for _, order := range [][2]int{{0, 8}, {8, 0}} {
		var b strings.Builder
		for _, u := range utf16.Encode([]rune(piece)) {
			b.WriteByte(byte(u >> order[0]))
			b.WriteByte(byte(u >> order[1]))
		}
		k := Kind(b.String())
		require.NotNil(t, k)
		assert.Equal(t, "it is text in UTF-16: save the file as UTF-8", k.Error())
		mark := "\xff\xfe"
		if order[0] == 8 {
			mark = "\xfe\xff"
		}
		assert.Equal(t, "text in UTF-16", Kind(mark+b.String()).What)
	}
}

// What a piece uses is refused for the same reasons.
func TestAUsedFileOfAnotherKind(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "plan.handful"), []byte("%PDF-1.4"), 0o644))
	_, _, err := NewLibrary().Loader(dir, nil)("piece.handful", "plan.handful")
	assert.ErrorContains(t, err, "cannot be read: it is a PDF")
	_, err = Read(dir, "plan.handful")
	assert.NoError(t, err, "whoever asks for the bytes gets them")
}
