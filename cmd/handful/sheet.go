package main

import (
	"cmp"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/plan"
	"example.org/handful/lang/score"
	"example.org/handful/lang/sheet"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

type sheetVerb struct {
	Paths   []string `arg:"" name:"file" help:"Files of the programme, in order; folders for every .handful file below; - for standard input."`
	Player  string   `placeholder:"NAME" help:"Only this player's sheets."`
	Without []string `sep:"none" placeholder:"NAME" help:"Somebody is not there: the page for the hour before the concert, and the sheets of everybody who plays something new; may be given again."`
	To      string   `enum:",text,html,pdf,svg" default:"" placeholder:"html|pdf|svg|text" help:"What to make. Without it: HTML, which also prints, into a folder, else text."`
	Paper   string   `enum:",A4,Letter,A5,A3" default:"" placeholder:"A4|Letter|A5|A3" help:"What it is printed on; A4 is the default."`
	For     string   `enum:",stand,desk,pit" default:"" placeholder:"stand|desk|pit" help:"From how far a cue sheet is read: on a stand, near by on a desk, or at a metre in a dark pit, where it is larger and heavier."`
	Dark    bool     `help:"Cue sheets white on black."`
	Folded  string   `enum:"yes,no" default:"yes" placeholder:"yes|no" help:"Whether bars of a cue sheet that are like those before stand once."`
	Font    []string `placeholder:"FILE.ttf" sep:"none" help:"A TrueType font for scripts that are neither Latin, Greek nor Cyrillic; more than one may be given."`
	Out     string   `short:"o" placeholder:"DIR" help:"The folder to write files to; it is made if it is not there. Sheets made before are written over, other files stay."`
	Force   bool     `help:"Write over other files of the same names, and over sheets that were changed by hand."`
}

func (v *sheetVerb) Help() string {
	return `For every player a cue sheet, a set-up plan and a practice sheet; for the section a packing list and a chart; for the conductor what will sound different.

  handful sheet show.handful --player Nell             her sheets, here
  handful sheet show.handful --to pdf -o stand         everything, to print
  handful sheet show.handful --without Nell -o stand   she is ill: what changes, on one page, and the new sheets
  handful sheet act1.handful act2.handful --to html -o stand

The sheets say what the check says; run it first.`
}

func (v *sheetVerb) Run(s *streams) error {
	v.take(s)
	switch {
	case v.To == "" && v.Out == "":
		v.To = "text"
	case v.To == "" && slices.Contains([]string{".pdf", ".svg", ".html"}, strings.ToLower(filepath.Ext(v.Out))):
		return fmt.Errorf("sheets go into a folder, a file each: say --to %s -o FOLDER", strings.ToLower(filepath.Ext(v.Out))[1:])
	case v.To == "":
		v.To = "html"
	}
	if v.To != "text" && v.Out == "" {
		return fmt.Errorf("--to %s makes files: say in which folder, with -o DIR", v.To)
	}
	if len(v.Without) > 0 {
		return v.absent(s)
	}
	results, pieces, failed, err := v.read(s)
	if err != nil {
		return err
	}
	if err := v.playerIsThere(results); err != nil {
		return err
	}
	warnOfErrors(s, results, pieces)
	opt, err := v.options()
	if err != nil {
		return err
	}
	docs, faults := docsSafely(results, opt)
	for i, in := range pieces {
		if fault := faults[i]; fault != nil {
			s.failed(in.path, fault)
			failed = true
		}
	}
	if err := v.put(docs, s); err != nil {
		return err
	}
	if failed || s.badSettings {
		return exitCode(exitFailed)
	}
	return nil
}

// take has the settings of the first piece's folder decide what the command
// line does not.
func (v *sheetVerb) take(s *streams) {
	dir := v.Paths[0]
	if !isFolder(dir) {
		dir = filepath.Dir(dir)
	}
	conf := s.settingsFor(dir)
	v.Paper = cmp.Or(v.Paper, conf.Sheet.Paper, "A4")
	v.For = cmp.Or(v.For, conf.Sheet.For, "stand")
	if v.Out != "" {
		v.To = cmp.Or(v.To, conf.Sheet.To)
	}
}

func (v *sheetVerb) options() (sheet.Options, error) {
	fonts, err := v.fonts()
	paper, _ := sheet.PaperNamed(v.Paper)
	far, _ := sheet.DistanceNamed(v.For)
	return sheet.Options{Paper: paper, Player: v.Player, Fonts: fonts, For: far, Dark: v.Dark, Unfolded: v.Folded == "no"}, err
}

// absent makes the page of what changes without somebody, and the sheets of those who
// play something new.
func (v *sheetVerb) absent(s *streams) error {
	inputs, failed := gather(v.Paths, s)
	if failed || len(inputs) == 0 {
		return exitCode(exitFailed)
	}
	opt, err := v.options()
	if err != nil {
		return err
	}
	var docs []sheet.Doc
	lib := folder.NewLibrary()
	for _, in := range inputs {
		var a *plan.Absence
		var some []sheet.Doc
		how := in.checks(score.Options{}, lib)
		if fault := check.Contained(func() {
			if a, err = plan.Absent(s.ctx, in.name, syntax.Parse(in.text), plan.Options{Without: v.Without, Load: how.Load, Usual: how.Score.Profile, Uses: how.Score.Uses}); err == nil {
				some = sheet.AbsentDocs(a, opt)
			}
		}); fault != nil {
			return s.failed(in.path, fault)
		}
		switch {
		case err != nil:
			return fmt.Errorf("%s: %w", in.path, err)
		case a.Plan.Stopped || s.interrupted():
			return unfinished{"no sheets were made"}
		}
		docs = append(docs, some...)
	}
	return v.put(docs, s)
}

// read reads and checks the pieces of the programme. Those that cannot be used
// have been told of when it returns.
func (v *sheetVerb) read(s *streams) (results []*check.Result, pieces []input, failed bool, err error) {
	inputs, failed := gather(v.Paths, s)
	lib := folder.NewLibrary()
	for _, in := range inputs {
		if s.interrupted() {
			break
		}
		opt := in.checks(score.Options{}, lib)
		opt.Stop = stopped(s.ctx)
		r := checkSafely(in, opt)
		switch {
		case r.Stopped:
			return nil, nil, failed, unfinished{"no sheets were made"}
		case len(r.Faults) > 0:
			s.failed(in.path, r.Faults[0])
			failed = true
			continue
		}
		results, pieces = append(results, r), append(pieces, in)
	}
	if s.interrupted() {
		err = unfinished{"no sheets were made"}
	}
	return results, pieces, failed, err
}

func warnOfErrors(s *streams, results []*check.Result, pieces []input) {
	for i, r := range results {
		if n := errorsIn(r); n > 0 {
			fmt.Fprintf(s.err, "handful: %s has %s, and so have its sheets: see  handful check\n", clean(pieces[i].path), words.Count(n, "error", "errors"))
		}
	}
}

// put writes the sheets to where they are wanted.
func (v *sheetVerb) put(docs []sheet.Doc, s *streams) error {
	if v.Out != "" {
		return v.write(docs, s)
	}
	var text string
	if fault := check.Contained(func() { text = sheet.TextPage(docs) }); fault != nil {
		return s.failed("these sheets", fault)
	}
	_, err := io.WriteString(s.out, text)
	return err
}

func (v *sheetVerb) fonts() (out []*sheet.Font, err error) {
	for _, file := range v.Font {
		data, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		font, err := sheet.NewFont(data)
		if err != nil {
			return nil, fmt.Errorf("%s cannot be used: %w", file, err)
		}
		out = append(out, font)
	}
	return out, nil
}

func errorsIn(r *check.Result) (n int) {
	for i := range r.Findings {
		if r.Findings[i].Severity == check.Error {
			n++
		}
	}
	return n
}

// cleanLines is a text of many lines fit for a terminal.
func cleanLines(text string) string {
	lines := strings.Split(text, "\n")
	for i := range lines {
		lines[i] = clean(lines[i])
	}
	return strings.Join(lines, "\n")
}

func (v *sheetVerb) playerIsThere(results []*check.Result) error {
	var players []string
	for _, r := range results {
		for _, m := range r.Motions {
			if m.Player.Name == v.Player {
				return nil
			}
			players = append(players, m.Player.Name)
		}
	}
	switch {
	case v.Player == "" || len(results) == 0:
		return nil
	case syntax.Nearest(v.Player, players) != "":
		return fmt.Errorf("no player is called %s in what was read; did you mean %s?", v.Player, syntax.Nearest(v.Player, players))
	}
	return fmt.Errorf("no player is called %s in what was read", v.Player)
}

// write puts the documents into files: one for each player's sheets of a
// piece and one for the section's, or with svg one for each page. They are all
// made, and all may be written, before the first one is.
func (v *sheetVerb) write(docs []sheet.Doc, s *streams) (failed error) {
	names := map[string]bool{}
	var files []outFile
	for _, b := range bundles(docs) {
		name := unused(b.name, names)
		var some []outFile
		var err error
		if fault := check.Contained(func() { some, err = v.files(name, b.docs) }); fault != nil {
			failed = s.failed(name, fault)
			continue
		}
		if err != nil {
			return err
		}
		files = append(files, some...)
		if s.interrupted() {
			return unfinished{"no sheets were written"}
		}
	}
	if err := sheetsMade.write(s, v.Out, files, v.Force); err != nil {
		return err
	}
	return failed
}

type bundle struct {
	name string
	docs []sheet.Doc
}

// bundles puts together what one person takes along.
func bundles(docs []sheet.Doc) []bundle {
	var out []bundle
	for _, d := range docs {
		name := slug(d.Piece) + "-section"
		if d.Kind == "without" {
			name = slug(d.Piece) + "-" + slug(d.Title)
		}
		if d.Player != "" {
			name = slug(d.Piece) + "-" + slug(d.Player)
		}
		if n := len(out); n > 0 && out[n-1].name == name && !(d.Kind == "cues") {
			out[n-1].docs = append(out[n-1].docs, d)
			continue
		}
		out = append(out, bundle{name, []sheet.Doc{d}})
	}
	return out
}

// slug is a name that is fit for a file on any system: letters and numbers of
// any script, the rest hyphens.
func slug(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsNumber(r) && !unicode.Is(unicode.Mn, r) })
	text := strings.Join(words, "-")
	for len(text) > 60 {
		text = string([]rune(text)[:len([]rune(text))-1])
	}
	if text == "" {
		return "sheet"
	}
	return text
}

func unused(name string, names map[string]bool) string {
	try := name
	for n := 2; names[try]; n++ {
		try = fmt.Sprintf("%s-%d", name, n)
	}
	names[try] = true
	return try
}

type outFile struct {
	name string
	data []byte
}

func (v *sheetVerb) files(name string, docs []sheet.Doc) ([]outFile, error) {
	switch v.To {
	case "html":
		return []outFile{{name + ".html", []byte(sheet.HTMLPage(docs))}}, nil
	case "pdf":
		if err := sheet.CannotSet(docs); err != nil {
			return nil, err
		}
		data, err := sheet.PDF(docs, sheet.PDFOptions{Date: fixedDate})
		return []outFile{{name + ".pdf", data}}, err
	case "svg":
		var out []outFile
		for i := range docs {
			for k, p := range docs[i].Pages {
				out = append(out, outFile{fmt.Sprintf("%s-%s-%d.svg", name, docs[i].Kind, k+1), []byte(p.SVG())})
			}
		}
		return out, nil
	}
	return []outFile{{name + ".txt", []byte(sheet.TextPage(docs))}}, nil
}

// fixedDate keeps the day on which a file is made out of it, so that the same
// piece is always the same bytes.
const fixedDate = "2000-01-01T00:00:00Z"
