package main

import (
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"example.org/handful/internal/compose"
	"example.org/handful/lang/beat"
	"example.org/handful/lang/check"
	"example.org/handful/lang/exchange"
	"example.org/handful/lang/plan"
	"example.org/handful/lang/score"
	"example.org/handful/lang/sheet"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// The whole pipeline, from any text to what is printed, planned and exchanged.
// Each target is one property, which composed texts and mutated ones must keep
// alike: the fuzzer changes a text and the choices that another is composed of,
// and the test is made of both.

func addTexts(f *testing.F) {
	for _, text := range crashes(f) {
		f.Add(text, []byte{}, byte(0))
	}
	random := rand.New(rand.NewPCG(1, 2))
	for range 24 {
		choices := make([]byte, 64+random.IntN(192))
		for i := range choices {
			choices[i] = byte(random.Uint32())
		}
		f.Add("", choices, byte(random.Uint32()))
	}
}

// madeOf is the text of a try, and its check; nil where it would take too long.
func madeOf(t *testing.T, text string, choices []byte, bars int) (string, *check.Result) {
	if len(choices) > 0 {
		text += compose.Text(compose.Bytes(choices))
	}
	if len(text) > 4000 || folderKind(text) {
		return text, nil
	}
	file := syntax.Parse(text)
	s := score.Bind("fuzz.handful", file, nil, score.Options{})
	if s.Grid.Last() > bars || s.Time.PlayedBars() > 2*bars {
		return text, nil
	}
	return text, check.Check("fuzz.handful", file, check.Options{})
}

func folderKind(text string) bool { return native("-", text) != nil }

// FuzzPlanned plans any text. What comes out is what its own check says it is,
// keeps what was written for nobody in particular, and has no error of a kind
// that was not there before.
func FuzzPlanned(f *testing.F) {
	addTexts(f)
	f.Fuzz(func(t *testing.T, text string, choices []byte, how byte) {
		text, was := madeOf(t, text, choices, 24)
		if was == nil {
			return
		}
		if how&8 != 0 {
			text, was = mended(text, was)
		}
		planned(t, text, was, plan.Options{Players: int(how) % 4, Keep: how&4 != 0})
	})
}

// mended is a text without the lines that are not understood, since nothing is
// planned as long as there are any.
func mended(text string, r *check.Result) (string, *check.Result) {
	for range 8 {
		bad := map[int]bool{}
		for _, p := range r.Score.Problems {
			if p.Where.File == 0 {
				bad[int(p.Where.Line)] = true
			}
		}
		if len(bad) == 0 {
			break
		}
		var good []string
		for i, l := range r.File.Lines {
			if !bad[i] {
				good = append(good, l.Text)
			}
		}
		text = strings.Join(good, "\n")
		r = check.Check("fuzz.handful", syntax.Parse(text), check.Options{})
	}
	return text, r
}

func planned(t *testing.T, text string, was *check.Result, opt plan.Options) bool {
	p, err := plan.File(context.Background(), "fuzz.handful", was.File, opt)
	if err != nil {
		if strings.TrimSpace(err.Error()) == "" {
			t.Fatal("it is refused without a reason")
		}
		return false
	}
	is := check.Check("fuzz.handful", syntax.Parse(p.Text), check.Options{})
	if want, got := saidOf(p.Result), saidOf(is); !slices.Equal(want, got) {
		t.Fatalf("the plan says\n%s\nand its check\n%s\n%s", strings.Join(want, "\n"), strings.Join(got, "\n"), p.Text)
	}
	if before, after := partsOf(was.File), partsOf(is.File); !slices.Equal(before, after) {
		t.Fatalf("what is written was\n%s\nand is\n%s", strings.Join(before, "\n"), strings.Join(after, "\n"))
	}
	before := map[string]int{}
	for i := range was.Findings {
		if fd := &was.Findings[i]; fd.Severity == check.Error {
			before[fd.Rule.Name] += 1 + fd.Times
		}
	}
	for i := range is.Findings {
		// A set-up without room is told and left to whoever has the room.
		if fd := &is.Findings[i]; fd.Severity == check.Error && fd.Rule.Name != "same-space" {
			if before[fd.Rule.Name]--; before[fd.Rule.Name] < 0 {
				t.Fatalf("%s is new: %s\n%s\n\nof\n%s", fd.Rule.Name, fd.Message(), p.Text, text)
			}
		}
	}
	return true
}

// saidOf is what was found, in words.
func saidOf(r *check.Result) []string {
	var out []string
	for i := range r.Findings {
		f := &r.Findings[i]
		out = append(out, fmt.Sprintf("%d:%d %s %s %s", f.Where.Line, f.Where.Start, f.Rule.Name, f.Severity, f.Message()))
	}
	return out
}

// partsOf are the lines of the written parts, without how they are laid out.
func partsOf(f *syntax.File) []string {
	var out []string
	in := false
	for _, l := range f.Lines {
		written := l.Bars != nil // a line of the head may stand anywhere
		switch l.Stmt.(type) {
		case *syntax.Part:
			in, written = true, true
		case *syntax.Player, *syntax.Define:
			in = false
		}
		if in && written && len(l.Problems) == 0 {
			out = append(out, strings.Join(strings.Fields(l.Text), " "))
		}
	}
	return out
}

// FuzzWellFormed makes every sheet of any text, in every form: each is well
// formed, and has no character that is not to be seen.
func FuzzWellFormed(f *testing.F) {
	addTexts(f)
	f.Fuzz(func(t *testing.T, text string, choices []byte, how byte) {
		_, r := madeOf(t, text, choices, 100)
		if r == nil {
			return
		}
		wellFormed(t, r, sheet.Papers()[int(how)%len(sheet.Papers())])
	})
}

func wellFormed(t *testing.T, r *check.Result, paper sheet.Paper) {
	docs := sheet.Docs([]*check.Result{r}, sheet.Options{Paper: paper})
	for i := range docs {
		for _, p := range docs[i].Pages {
			if err := readXML(p.SVG(), true); err != nil {
				t.Fatalf("%s: %v\n%s", p.Title, err, p.SVG())
			}
		}
	}
	page := sheet.HTMLPage(docs)
	if err := readXML(page, false); err != nil {
		t.Fatalf("%v\n%s", err, page)
	}
	if n := strings.Count(page, "<script"); n != 0 && n != 2 { // what is played, and what plays it
		t.Fatalf("%d scripts are in the page", n)
	}
	for _, bad := range []string{"javascript:", " onclick="} {
		if strings.Contains(page, bad) {
			t.Fatalf("%s is in the page", bad)
		}
	}
	out := sheet.TextPage(docs)
	if !utf8.ValidString(out) {
		t.Fatalf("%q is no text", out)
	}
	data, err := sheet.PDF(docs, sheet.PDFOptions{Date: fixedDate})
	if err != nil {
		t.Fatal(err)
	}
	readPDF(t, data)
}

var scriptText = regexp.MustCompile(`(?s)<script[^>]*>.*?</script>`)

// readXML reads a document to its end: all that is opened is closed.
func readXML(text string, strict bool) error {
	if !strict { // what a script says is no markup
		text = scriptText.ReplaceAllString(text, "")
	}
	d := xml.NewDecoder(strings.NewReader(text))
	d.Strict = strict
	if !strict { // HTML has elements that are never closed
		d.AutoClose, d.Entity = xml.HTMLAutoClose, xml.HTMLEntity
		text = strings.Replace(text, "<!DOCTYPE html>", "", 1)
		if open, closed := strings.Count(text, "<section"), strings.Count(text, "</section>"); open != closed {
			return fmt.Errorf("%d sections are opened and %d closed", open, closed)
		}
	}
	depth := 0
	for {
		token, err := d.Token()
		switch {
		case errors.Is(err, io.EOF) && depth == 0:
			return nil
		case err != nil:
			return err
		}
		switch token.(type) {
		case xml.StartElement:
			depth++
		case xml.EndElement:
			depth--
		}
	}
}

// readPDF follows a file's table of objects: each is where the table says.
func readPDF(t *testing.T, data []byte) {
	at := bytes.LastIndex(data, []byte("startxref\n"))
	if !bytes.HasPrefix(data, []byte("%PDF-1.")) || at < 0 || !bytes.HasSuffix(bytes.TrimSpace(data), []byte("%%EOF")) {
		t.Fatalf("that is no PDF: %.40q … %.40q", data, data[max(0, len(data)-40):])
	}
	number, _, _ := strings.Cut(string(data[at+len("startxref\n"):]), "\n")
	table, err := strconv.Atoi(strings.TrimSpace(number))
	if err != nil || table >= len(data) || !regexp.MustCompile(`^\d+ 0 obj\n<</Type/XRef`).Match(data[table:]) {
		t.Fatalf("there is no table at %q", number)
	}
	objects := regexp.MustCompile(`(?m)^(\d+) 0 obj$`).FindAllSubmatchIndex(data, -1)
	entries := inflated(t, data[table:])
	if len(entries)%7 != 0 || len(entries)/7 < len(objects) {
		t.Fatalf("a table of %d bytes for %d objects", len(entries), len(objects))
	}
	for _, o := range objects {
		n, err := strconv.Atoi(string(data[o[2]:o[3]]))
		if err != nil || 7*n+7 > len(entries) {
			t.Fatalf("object %s has no place", data[o[2]:o[3]])
		}
		if e := entries[7*n:]; e[0] != 1 || int(binary.BigEndian.Uint32(e[1:])) != o[0] {
			t.Fatalf("object %d is not at %x, but at %d", n, e[:7], o[0])
		}
	}
}

// inflated is the stream of an object.
func inflated(t *testing.T, object []byte) []byte {
	_, stream, _ := bytes.Cut(object, []byte("stream\n"))
	z, err := zlib.NewReader(bytes.NewReader(stream))
	if err != nil {
		t.Fatal(err)
	}
	out, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// FuzzOutAndIn takes any text out and in again: what goes out is well formed
// and can be read, what comes back is text without a fault, and no stroke is
// missing that is not said to be lost.
func FuzzOutAndIn(f *testing.F) {
	addTexts(f)
	f.Fuzz(func(t *testing.T, text string, choices []byte, _ byte) {
		text, r := madeOf(t, text, choices, 100)
		if r == nil {
			return
		}
		outAndIn(t, text, r)
	})
}

func outAndIn(t *testing.T, text string, r *check.Result) bool {
	data, told, err := exchange.MusicXML(r, exchange.MusicXMLOptions{})
	if err != nil {
		return false
	}
	if err := readXML(string(data), true); err != nil {
		t.Fatalf("%v\n%s", err, data)
	}
	back, lost, err := written.Text(data, written.Options{})
	if err != nil {
		t.Fatalf("what went out does not come in: %v\n%s\n%s", err, text, data)
	}
	is := syntax.Parse(back)
	for _, l := range is.Lines {
		if len(l.Problems) > 0 {
			t.Fatalf("%s: %s", l.Text, l.Problems[0].Message())
		}
	}
	cut := slices.ContainsFunc(told, func(what string) bool { return strings.HasPrefix(what, "cut off") })
	if s := r.Score; !cut && len(lost) == 0 && len(s.Problems) == 0 && len(s.Repeats)+len(s.Vamps)+len(s.Orders) == 0 {
		went, came := 0, 0
		for _, p := range s.Players {
			went += writtenBy(p)
		}
		for _, p := range score.Bind("back.handful", is, nil, score.Options{}).Parts {
			for _, l := range p.Lines {
				came += len(l.Strokes)
			}
		}
		if went != came {
			t.Fatalf("%d strokes went out and %d came back, and nothing is said to be lost\n%s\n%s", went, came, text, back)
		}
	}
	midi, _, err := exchange.MIDI(r, exchange.MIDIOptions{Click: true})
	if err != nil {
		return true
	}
	if _, err := written.Read(midi, written.Options{}); err != nil {
		t.Fatalf("the MIDI that went out does not come in: %v\n%s", err, text)
	}
	return true
}

// writtenBy is how many strokes and stops a player's text has: a stop that it gives to
// a limb is one, but where a line has it or it is given to two.
func writtenBy(p *score.Player) int {
	type stop struct {
		item *score.Item
		at   beat.Rat
	}
	n, known := 0, map[stop]bool{}
	for _, c := range p.Cues {
		n += len(c.Strokes)
		for _, st := range c.Strokes {
			known[stop{c.Item, st.At}] = known[stop{c.Item, st.At}] || st.Has(score.Stop)
		}
	}
	for _, a := range p.Actions {
		if s := (stop{a.Item, a.At}); a.Kind == score.Damp && a.Item != nil && !known[s] {
			known[s] = true
			n++
		}
	}
	return n
}

// textsVariable says how many texts are composed, of choices that are new each
// time; .ci/long sets it.
const textsVariable = "HANDFUL_TEXTS"

// Some composed texts go the whole way in every test run; the fuzz targets make
// more of them.
func TestComposedTextsGoTheWholeWay(t *testing.T) {
	tries, seed := 30, uint64(4)
	if n, err := strconv.Atoi(os.Getenv(textsVariable)); err == nil {
		tries, seed = n, rand.Uint64()
	} else if testing.Short() {
		tries = 10
	}
	random := rand.New(rand.NewPCG(3, seed))
	checked, plans, out := 0, 0, 0
	for range tries {
		text, r := madeOf(t, compose.Text(random), nil, 24)
		if r == nil {
			continue
		}
		checked++
		wellFormed(t, r, sheet.Papers()[random.IntN(len(sheet.Papers()))])
		if outAndIn(t, text, r) {
			out++
		}
		text, r = mended(text, r)
		if planned(t, text, r, plan.Options{Players: 1 + random.IntN(3)}) {
			plans++
		}
	}
	t.Logf("%d texts checked and printed, %d taken out and in, %d planned (seed %d)", checked, out, plans, seed)
	require.NotZero(t, plans)
	require.Greater(t, out, checked/5)
}
