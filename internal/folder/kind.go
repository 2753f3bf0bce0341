package folder

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"
)

// A Foreign is a text that is no .handful file, whatever its name says, and
// what it is instead.
type Foreign struct {
	What string // as in "a PDF"
	// Imports says that it holds written parts, and can be imported.
	Imports bool
	// Line and Column, from 1, are where it was seen, if at one place.
	Line, Column int
}

func (f *Foreign) Error() string {
	switch {
	case f.Line > 0:
		return fmt.Sprintf("line %d, column %d: this is %s: save the file as UTF-8", f.Line, f.Column, f.What)
	case strings.HasPrefix(f.What, "text in"):
		return fmt.Sprintf("it is %s: save the file as UTF-8", f.What)
	case f.Imports:
		return fmt.Sprintf("it is %s: import it first", f.What)
	}
	return fmt.Sprintf("it is %s, and no text in this notation", f.What)
}

// signatures are how files of other kinds begin, as the standards of those
// formats say.
var signatures = []struct {
	begins string
	at     int
	what   string
	parts  bool
}{
	{"\xff\xfe\x00\x00", 0, "text in UTF-32", false},
	{"\x00\x00\xfe\xff", 0, "text in UTF-32", false},
	{"\xff\xfe", 0, "text in UTF-16", false},
	{"\xfe\xff", 0, "text in UTF-16", false},
	{"%PDF-", 0, "a PDF", false},
	{"MThd", 0, "a MIDI file", true},
	{"\x89PNG\r\n\x1a\n", 0, "a picture (PNG)", false},
	{"\xff\xd8\xff", 0, "a picture (JPEG)", false},
	{"GIF87a", 0, "a picture (GIF)", false},
	{"GIF89a", 0, "a picture (GIF)", false},
	{"II*\x00", 0, "a picture (TIFF)", false},
	{"MM\x00*", 0, "a picture (TIFF)", false},
	{"WEBP", 8, "a picture (WebP)", false},
	{"WAVE", 8, "a recording (WAV)", false},
	{"fLaC\x00", 0, "a recording (FLAC)", false},
	{"OggS\x00", 0, "a recording (Ogg)", false},
	{"ID3\x02", 0, "a recording (MP3)", false},
	{"ID3\x03", 0, "a recording (MP3)", false},
	{"ID3\x04", 0, "a recording (MP3)", false},
	{"ftyp", 4, "a recording or a film (MP4)", false},
	{"\x1f\x8b", 0, "an archive (gzip)", false},
	{"7z\xbc\xaf\x27\x1c", 0, "an archive (7z)", false},
	{"Rar!\x1a\x07", 0, "an archive (RAR)", false},
	{"ustar", 257, "an archive (tar)", false},
	{"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", 0, "an office document", false},
	{`{\rtf`, 0, "a rich-text document", false},
	{"%!PS", 0, "a PostScript file", false},
	{"\x7fELF", 0, "a program", false},
}

// Kind says of a text that is not one of the notation what it is instead; nil
// is one that may be.
func Kind(text string) *Foreign {
	for _, s := range signatures {
		if len(text) >= s.at && strings.HasPrefix(text[s.at:], s.begins) {
			return &Foreign{What: s.what, Imports: s.parts}
		}
	}
	switch {
	case strings.HasPrefix(text, "PK\x03\x04"):
		return zipped(text)
	case strings.HasPrefix(strings.TrimLeft(strings.TrimPrefix(text, "\ufeff"), " \t\r\n"), "<"):
		return marked(text)
	}
	if at := strings.IndexByte(text, 0); at >= 0 && !utf8.ValidString(text) || wide(text) {
		if wide(text) {
			return &Foreign{What: "text in UTF-16"}
		}
		return &Foreign{What: "a file of bytes"}
	}
	if at := invalid(text); at >= 0 {
		before := text[:at]
		line := strings.Count(before, "\n")
		return &Foreign{What: fmt.Sprintf("a byte (%02X) that is not UTF-8 text", text[at]),
			Line: line + 1, Column: utf8.RuneCountInString(before[strings.LastIndexByte(before, '\n')+1:]) + 1}
	}
	return nil
}

// zipped says what is in a zip archive, by the names that stand in it.
func zipped(text string) *Foreign {
	switch head := text[:min(len(text), 4096)]; {
	case strings.Contains(head, "META-INF/container.xml"), strings.Contains(head, "application/vnd.recordare.musicxml"):
		return &Foreign{What: "MusicXML (compressed)", Imports: true}
	case strings.Contains(head, "[Content_Types].xml"), strings.Contains(head, "application/vnd.oasis.opendocument"):
		return &Foreign{What: "an office document"}
	}
	return &Foreign{What: "an archive (zip)"}
}

// marked says what a text is that begins with a tag.
func marked(text string) *Foreign {
	head := strings.ToLower(text[:min(len(text), 4096)])
	switch {
	case strings.Contains(head, "score-partwise"), strings.Contains(head, "score-timewise"):
		return &Foreign{What: "MusicXML", Imports: true}
	case strings.Contains(head, "<svg"):
		return &Foreign{What: "a picture (SVG)"}
	case strings.Contains(head, "<html"), strings.Contains(head, "<!doctype html"):
		return &Foreign{What: "a web page"}
	case strings.Contains(head, "<?xml"):
		return &Foreign{What: "XML"}
	}
	return nil // a line that begins so by mistake: the checker says what is wrong with it
}

// wide says whether a text without a mark at its head is in UTF-16: plain
// letters, and every other byte is nothing.
func wide(text string) bool {
	head := []byte(text[:min(len(text), 512)])
	if len(head) < 8 {
		return false
	}
	var zeros [2]int
	for i, c := range head {
		if c == 0 {
			zeros[i%2]++
		}
	}
	half := len(head) / 2
	return zeros[0] > half*3/4 && zeros[1] == 0 || zeros[1] > half*3/4 && zeros[0] == 0
}

// invalid is where a text has its first byte that is not UTF-8, or -1.
func invalid(text string) int {
	if utf8.ValidString(text) {
		return -1
	}
	for i, r := range text {
		if r == utf8.RuneError && !bytes.HasPrefix([]byte(text[i:min(len(text), i+3)]), []byte("\ufffd")) {
			return i
		}
	}
	return -1
}
