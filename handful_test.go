package handful_test

import (
	"context"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful"
)

const tooSoon = `tempo 120
player Nell
  kit
    snare-drum on stand
    bass-drum on stand
  R snare-drum with snare-stick | 1 2 3 4 |
  R bass-drum with bass-drum-beater | - | 1 |
`

// A piece is checked, and what cannot be done is told in words.
func ExampleCheck() {
	piece := handful.Parse("quay.handful", `tempo 120
player Nell
  R snare-drum with snare-stick    | 1 2 3 4 |
  R bass-drum with bass-drum-beater | - | 1 |
`)
	for _, f := range handful.Check(piece, handful.Options{}).Findings {
		if f.Severity == handful.Error {
			fmt.Println(f)
		}
	}
	// Output:
	// quay.handful:4:43: error short-change: Nell's right hand has 0.50 s to lay the snare stick, take the bass drum beater, and that needs at least 0.61 s
}

func ExampleFormat() {
	text, err := handful.Format("tempo   96\nplayer Nell\n R snare drum with sticks | 1  2 3 4 | % x3\n")
	fmt.Print(text, err)
	// Output:
	// tempo 96
	//
	// player Nell
	//   R snare-drum with snare-stick | 1 2 3 4 | % x3
	// <nil>
}

func ExampleFix() {
	piece := handful.Parse("quay.handful", "tempo 96\nplayer Nell\n  R snare-drun with snare-stick | 1 2 3 4 |\n")
	fixed, made := handful.Fix(handful.Check(piece, handful.Options{}))
	fmt.Print(made, "\n", fixed.Text())
	// Output:
	// 1
	// tempo 96
	// player Nell
	//   R snare-drum with snare-stick | 1 2 3 4 |
}

func ExampleResult_Fixes() {
	r := handful.Check(handful.Parse("quay.handful", tooSoon), handful.Options{})
	for _, f := range r.Findings {
		for _, x := range r.Fixes(f) {
			fmt.Println(f.Rule, "-", x.Title)
		}
	}
	// Output:
	// short-change - play the concert bass drum with the left hand
	// short-change - play the concert bass drum with the snare stick that is in the hand already
	// short-change - play the snare drum with the left hand
	// short-change - accept it, with your reason
}

func ExamplePlan() {
	piece := handful.Parse("ferry.handful", `tempo 96
part "Percussion 1"
  snare-drum | 1 2 3 4 | % x3
part "Percussion 2"
  triangle | 1 3 | % x3
`)
	plan, err := handful.Plan(context.Background(), piece, handful.PlanOptions{Names: []string{"Nell"}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("lost:", plan.Lost)
	fmt.Print(plan.Text())
	// Output:
	// lost: 0
	// tempo 96
	// part "Percussion 1"
	//   snare-drum | 1 2 3 4 | % x3
	// part "Percussion 2"
	//   triangle | 1 3 | % x3
	//
	// player Nell
	//   kit
	//     snare-drum on stand at ahead 50
	//     triangle   clipped  at left 31 ahead 49
	//     table               at right 36 ahead 26
	//   R snare-drum with snare-stick as written
	//   L triangle clipped with triangle-beater as written
}

func ExampleSheet() {
	r := handful.Check(handful.Parse("quay.handful", "tempo 96\nplayer Nell\n  R snare-drum with snare-stick | 1 2 3 4 | % x3\n"), handful.Options{})
	page, err := handful.Sheet(r, handful.SheetOptions{To: "text", Player: "Nell"})
	line, _, _ := strings.Cut(string(page), "\n")
	fmt.Println(line, err)
	// Output:
	// quay: cue sheet for Nell <nil>
}

func ExampleImport() {
	data, _ := os.ReadFile("examples/quay-parade.musicxml")
	text, lost, err := handful.Import(data, handful.ImportOptions{})
	fmt.Println(strings.Count(text, "\npart "), "parts,", len(lost), "things to look at,", err)
	// Output:
	// 3 parts, 0 things to look at, <nil>
}

func ExampleExport() {
	r := handful.Check(handful.Parse("quay.handful", "tempo 96\nplayer Nell\n  R snare-drum with snare-stick | 1 2 3 4 | % x3\n"), handful.Options{})
	data, err := handful.Export(r, "midi")
	fmt.Printf("%.4s %v\n", data, err)
	// Output:
	// MThd <nil>
}

// A school has one good triangle beater, and wants to know where two people
// would have it in hand within a second. What it finds is accepted in a piece
// like anything else.
func ExampleRule() {
	oneBeater := handful.Rule{Name: "one-beater", Severity: handful.Warning, Look: func(v *handful.View) {
		for s := range v.Strokes() {
			for o := range v.Strokes() {
				if s.With == "triangle-beater" && o.With == s.With && o.Player < s.Player && math.Abs(s.From-o.From) < 1 && v.Once(s.Bar) {
					v.Report(s, "%s and %s both have a triangle beater in bar %d", o.Player, s.Player, s.Bar).Also(o, "the other one").OrAccept()
				}
			}
		}
	}}
	piece := handful.Parse("quay.handful", `tempo 96
player Nell
  R triangle clipped with triangle-beater | 1 | - | 1 |
player Otto
  R triangle clipped with triangle-beater | 2 | - | 1 |
accept one-beater at 3 because "Otto brings his own"
`)
	r := handful.Check(piece, handful.Options{Rules: []handful.Rule{oneBeater}})
	for _, f := range r.Findings {
		if f.Rule == "one-beater" {
			fmt.Println(f)
			fmt.Println(r.Fixes(f)[0].Title)
		}
	}
	// Output:
	// quay.handful:5:45: warning one-beater: Nell and Otto both have a triangle beater in bar 1
	// accept it, with your reason
}

// A rule that fails is a finding, and everything else is checked all the same.
func TestARuleThatFails(t *testing.T) {
	fails := handful.Rule{Name: "hasty", Severity: handful.Warning, Look: func(*handful.View) { panic("no such thing") }}
	early := handful.Rule{Name: "early", Look: func(v *handful.View) {
		for c := range v.Changes() {
			v.Report(c, "a change in bar %d", c.Bar)
		}
	}}
	plain := handful.Check(handful.Parse("quay.handful", tooSoon), handful.Options{})
	r := handful.Check(handful.Parse("quay.handful", tooSoon), handful.Options{Rules: []handful.Rule{fails, early}})
	said := map[string][]handful.Finding{}
	for _, f := range r.Findings {
		said[f.Rule] = append(said[f.Rule], f)
	}
	require.Len(t, said["hasty"], 1)
	assert.Contains(t, said["hasty"][0].Message, "no such thing")
	assert.Equal(t, handful.Warning, said["hasty"][0].Severity)
	require.NotEmpty(t, said["early"])
	assert.Equal(t, handful.Info, said["early"][0].Severity, "a rule that says no severity informs")
	assert.Positive(t, said["early"][0].There)
	assert.Len(t, r.Findings, len(plain.Findings)+1+len(said["early"]), "what is built in is found all the same")
}

func ExampleExplain() {
	text, ok := handful.Explain("short-change")
	line, _, _ := strings.Cut(text, "\n")
	fmt.Println(line, ok)
	// Output:
	// a gap that cannot hold laying, going, taking and settling true
}

// What is promised stays small: a name more is a decision.
func TestWhatIsPromised(t *testing.T) {
	file, err := parser.ParseFile(token.NewFileSet(), "handful.go", nil, parser.ParseComments)
	require.NoError(t, err)
	var names []string
	add := func(id *ast.Ident, doc *ast.CommentGroup) {
		if id.IsExported() {
			names = append(names, id.Name)
			assert.True(t, strings.Contains(doc.Text(), id.Name) || id.Name == "Error", "%s is explained", id.Name)
		}
	}
	for _, d := range file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if d.Recv == nil {
				add(d.Name, d.Doc)
			}
		case *ast.GenDecl:
			for _, s := range d.Specs {
				if s, ok := s.(*ast.TypeSpec); ok {
					add(s.Name, d.Doc)
				}
			}
		}
	}
	assert.LessOrEqual(t, len(names), 30, names)
}

// A file that a piece uses comes from whoever calls, in whatever format it is;
// without that nothing is opened.
func TestUsedFilesComeFromTheCaller(t *testing.T) {
	parade, err := os.ReadFile("examples/quay-parade.musicxml")
	require.NoError(t, err)
	text, _, err := handful.Import(parade, handful.ImportOptions{})
	require.NoError(t, err)
	part := strings.Split(strings.Split(text, "\npart \"")[1], "\"")[0]
	piece := handful.Parse("shows/quay.handful", "use \"kit.handful\"\npart \""+part+"\" in \"quay.musicxml\"\nplayer Nell\n")
	var asked []string
	r := handful.Check(piece, handful.Options{Open: func(path string) ([]byte, error) {
		asked = append(asked, path)
		switch path {
		case "shows/kit.handful":
			return []byte("tempo 96\n"), nil
		case "shows/quay.musicxml":
			return parade, nil
		}
		return nil, errors.New("there is no such file")
	}})
	assert.ElementsMatch(t, []string{"shows/kit.handful", "shows/quay.musicxml"}, asked)
	for _, f := range r.Findings {
		assert.NotContains(t, f.Message, "opened", f)
	}
	r = handful.Check(piece, handful.Options{})
	said := 0
	for _, f := range r.Findings {
		if strings.Contains(f.Message, "opened here") {
			said++
		}
	}
	assert.Equal(t, 2, said, r.Findings)
}

// What an import leaves out is named by its bar here and by the number in print.
func TestWhatAnImportLeavesOutHasItsBarInPrint(t *testing.T) {
	bar := func(number, more string) string {
		return `<measure number="` + number + `"><attributes><divisions>1</divisions></attributes>
<note><unpitched/><duration>4</duration>` + more + `</note></measure>`
	}
	score := `<score-partwise><part-list><score-part id="P"><part-name>Snare Drum</part-name></score-part></part-list><part id="P">` +
		bar("11", "") + bar("12", `<notations><technical><fingering>3</fingering></technical></notations>`) + `</part></score-partwise>`
	_, lost, err := handful.Import([]byte(score), handful.ImportOptions{})
	require.NoError(t, err)
	require.Len(t, lost, 1)
	assert.Equal(t, 2, lost[0].Bar)
	assert.Equal(t, "12", lost[0].Printed)
}

// The same piece gives the same bytes, and a word that is none an error.
func TestPagesAndFiles(t *testing.T) {
	r := handful.Check(handful.Parse("quay.handful", tooSoon), handful.Options{})
	for _, to := range []string{"html", "pdf", "text"} {
		one, err := handful.Sheet(r, handful.SheetOptions{To: to, Date: time.Date(2020, 2, 2, 0, 0, 0, 0, time.UTC)})
		require.NoError(t, err, to)
		two, err := handful.Sheet(r, handful.SheetOptions{To: to, Date: time.Date(2020, 2, 2, 0, 0, 0, 0, time.UTC)})
		require.NoError(t, err, to)
		assert.Equal(t, one, two, to)
		assert.NotEmpty(t, one, to)
	}
	for _, opt := range []handful.SheetOptions{{To: "stone"}, {Paper: "B7"}, {Player: "Nobody"}} {
		_, err := handful.Sheet(r, opt)
		assert.Error(t, err, opt)
	}
	_, err := handful.Export(r, "stone")
	assert.Error(t, err)
	_, _, err = handful.Import([]byte("%PDF-1.7"), handful.ImportOptions{})
	assert.Error(t, err)
}

// Whatever comes in, a result comes out.
func TestAnyTextIsAPiece(t *testing.T) {
	for _, text := range []string{"\x00", "player", "\xff\xfe\xfd", strings.Repeat("part \"", 1000), "tempo 0\nmeter 0/0\nbars -1\n"} {
		piece := handful.Parse("x.handful", text)
		assert.Equal(t, text, piece.Text())
		r := handful.Check(piece, handful.Options{})
		assert.Positive(t, r.Errors(), "%q", text)
		for _, f := range r.Findings {
			assert.Positive(t, f.Line, "%q: %s", text, f)
			assert.NotEqual(t, "internal", f.Rule, "%q: %s", text, f)
		}
		once, err := handful.Format(text)
		assert.NoError(t, err, "%q", text)
		twice, err := handful.Format(once)
		assert.NoError(t, err, "%q", text)
		assert.Equal(t, once, twice)
		_, err = handful.Plan(context.Background(), piece, handful.PlanOptions{Players: 1})
		assert.ErrorContains(t, err, "x.handful: ", "%q: nothing in it can be planned", text)
	}
	assert.Zero(t, handful.Check(handful.Parse("x.handful", ""), handful.Options{}).Errors())
	ended, end := context.WithCancel(context.Background())
	end()
	assert.True(t, handful.Check(handful.Parse("x.handful", tooSoon), handful.Options{Context: ended}).Stopped, "a check that was ended says that it is no verdict")
	assert.False(t, handful.Check(handful.Parse("x.handful", tooSoon), handful.Options{}).Stopped)
}
