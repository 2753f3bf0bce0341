package lang

import (
	"fmt"
	"go/ast"
	"go/constant"
	"go/parser"
	"go/token"
	"go/types"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A fact is a number with what it counts, as a declaration has it.
type fact struct {
	value float64
	unit  string
	name  string // package and name
}

func (f fact) String() string { return fmt.Sprintf("%.6g %s", f.value, f.unit) }

// pure is what counts nothing: a share, a factor, a weight.
const pure = "share"

// The units that a comment or a name gives, and how many of the one that is
// compared each is.
var unitWords = []struct {
	word *regexp.Regexp
	unit string
	of   float64
}{
	{regexp.MustCompile(`\b(cm|centimetres)\b|(CM|Centimetres)$`), "cm", 1},
	{regexp.MustCompile(`\b(ms|milliseconds)\b|(Ms|Milliseconds)$`), "s", 0.001},
	{regexp.MustCompile(`\bseconds?\b|Seconds?$`), "s", 1},
	{regexp.MustCompile(`\bdegrees?\b|Degrees$`), "degrees", 1},
	{regexp.MustCompile(`\b(counts|quarters) a minute\b|\bbpm\b|Tempo$`), "a minute", 1},
	{regexp.MustCompile(`\bbars\b|Bars$`), "bars", 1},
	{regexp.MustCompile(`\b(shares?|times|costs?|for every|smaller|larger)\b|Share$|^cost`), pure, 1},
}

// unitOf is the unit that words give: the one behind "in", else the first.
func unitOf(words string) (unit string, of float64) {
	at := len(words) + 1
	for _, u := range unitWords {
		for _, m := range u.word.FindAllStringIndex(words, -1) {
			here := m[0]
			if strings.HasSuffix(words[:m[0]], "in ") {
				here = -1
			}
			if here < at {
				at, unit, of = here, u.unit, u.of
			}
		}
	}
	return unit, of
}

func literal(e ast.Expr) (float64, bool) {
	hasNumber := false
	ast.Inspect(e, func(n ast.Node) bool {
		l, ok := n.(*ast.BasicLit)
		hasNumber = hasNumber || ok && (l.Kind == token.INT || l.Kind == token.FLOAT)
		return true
	})
	if !hasNumber {
		return 0, false
	}
	tv, err := types.Eval(token.NewFileSet(), nil, token.NoPos, types.ExprString(e))
	if err != nil || tv.Value == nil || tv.Value.Kind() != constant.Int && tv.Value.Kind() != constant.Float {
		return 0, false
	}
	v, _ := constant.Float64Val(constant.ToFloat(tv.Value))
	return v, v != 0
}

// factsOf are the numbers with a unit that a file declares, in whatever scope.
// What a declaration says counts before what its group says.
func factsOf(pkg string, file *ast.File) (list []fact) {
	ast.Inspect(file, func(n ast.Node) bool {
		g, ok := n.(*ast.GenDecl)
		if !ok || g.Tok != token.CONST && g.Tok != token.VAR {
			return true
		}
		for _, s := range g.Specs {
			spec := s.(*ast.ValueSpec)
			for i, name := range spec.Names {
				if i >= len(spec.Values) {
					continue
				}
				v, ok := literal(spec.Values[i])
				if !ok {
					continue
				}
				unit, of := unitOf(name.Name)
				for _, words := range []string{spec.Comment.Text(), spec.Doc.Text(), g.Doc.Text()} {
					if unit == "" {
						unit, of = unitOf(words)
					}
				}
				if unit != "" && unit != pure {
					list = append(list, fact{v * of, unit, pkg + "." + name.Name})
				}
			}
		}
		return true
	})
	return list
}

// TestADecimalSaysWhatItCounts keeps the test below from missing one: a number
// with a point says its unit, or that it is a share. What the sheets are drawn
// with is in points of the page, and no fact of music.
func TestADecimalSaysWhatItCounts(t *testing.T) {
	eachFile(t, func(pkg, path string, file *ast.File) {
		if pkg == "sheet" || pkg == "guide" {
			return
		}
		for _, d := range file.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok || g.Tok != token.CONST && g.Tok != token.VAR {
				continue
			}
			for _, s := range g.Specs {
				spec := s.(*ast.ValueSpec)
				for i, name := range spec.Names {
					if i < len(spec.Values) && decimal(spec.Values[i]) {
						unit, _ := unitOf(name.Name + "\n" + spec.Comment.Text() + spec.Doc.Text() + g.Doc.Text())
						assert.NotEmpty(t, unit, "%s: %s says neither what it counts nor that it is a share", path, name.Name)
					}
				}
			}
		}
	})
}

func decimal(e ast.Expr) (is bool) {
	if _, ok := literal(e); !ok {
		return false
	}
	ast.Inspect(e, func(n ast.Node) bool {
		l, ok := n.(*ast.BasicLit)
		is = is || ok && l.Kind == token.FLOAT
		return true
	})
	return is
}

// alike are the facts that have one number and are not one, each with the
// reason why a change of one would not be a change of the others.
var alike = map[string]struct {
	names  string
	reason string
}{
	"0.25 s":  {"check.leastSpare motion.chokeSeconds", "what a change should leave over; when a short stroke is stopped"},
	"0.5 s":   {"check.quickShake check.releaseTime", "between the strokes of a shake; between a roll and what comes after it"},
	"1 cm":    {"motion.handBeyond plan.near", "a hand beyond the other one; two things of a plan as close as can be"},
	"1 s":     {"check.atOnce motion.ringsOn", "what is as good as together; a ring that is worth stopping"},
	"2 s":     {"check.handRoom sheet.stretch", "the other hand free around a change; how long somebody counts as playing on a chart"},
	"3 s":     {"body.HandOver body.PageTurn", "to turn a page; to hand a thing to somebody else"},
	"5 cm":    {"body.implementWidth room.thick", "a handle that is taken; an arm that another one passes"},
	"8 cm":    {"body.narrow room.fingers sheet.headR", "a narrow target; the hand's own length beyond the grip; half a head on the plan"},
	"10 cm":   {"motion.bentReach room.fromRim", "how far the hand still goes from a bent body; how far inside its rim a kettle is struck"},
	"15 cm":   {"body.StrikeWidth room.near room.strokeRoom", "what is struck; how far arms at one height cross without touching; how high a stick comes that strikes"},
	"20 cm":   {"kit.leastBeside motion.tableSpread room.laidThick room.seatedLower", "a short stick; two things on one table; what lies on a table, upwards; a stand set lower for a seat"},
	"30 cm":   {"body.HandsAhead body.leastStep body.mouthAway room.tableDeep", "hands that have nothing to do; the card's shortest side step; a whistle from the mouth; a table"},
	"40 cm":   {"body.pageAway body.pageWide check.stationBefore plan.apart room.tableWide sheet.besidePlayers", "two players on the floor; a hand from the page; the page; a station from its thing; two things of a plan that has no set-up yet; a table"},
	"45 cm":   {"body.UsualAhead room.pedalNear", "where an instrument stands that nobody has placed; a pedal that is near"},
	"50 cm":   {"plan.large room.stoolHigh score.arcRadius", "what is not brought along twice; a stool's height; the nearest arc of instruments"},
	"2 bars":  {"plan.rivalsNear sheet.restOfMany", "how far to either side rivals of a line are looked for; a rest that is counted down"},
	"4 bars":  {"plan.acrossLost plan.tail", "lost bars that a line goes on over; bars that are looked at behind a stretch"},
	"60 cm":   {"body.FootReach check.elbows motion.sideStep sheet.beforePlayers sheet.behindPlayers", "room behind and before a section; from one person to the next; a pedal from where the body stands; one step beside a station"},
	"75 cm":   {"body.crowdedPace kit.roundYou room.tableFar", "a pace where it is crowded; drums that are bent round their player; a table from its player"},
	"8 bars":  {"check.longRest plan.stretch syntax.longestGroup", "a rest in which one may get lost; what a plan gives away anew; a group of bars that a simile repeats"},
	"64 bars": {"beat.maxNesting score.maxSimile", "how deep sections lie in one another, to which bars are only the reason; the bars of a simile"},
}

// twice are the facts that several declarations have, those left out that are
// argued to be different ones.
func twice(list []fact) (found []string) {
	names := map[string][]string{}
	for _, f := range list {
		names[f.String()] = append(names[f.String()], f.name)
	}
	for what, all := range names {
		slices.Sort(all)
		if said := strings.Join(all, " "); len(all) > 1 && alike[what].names != said {
			found = append(found, what+": "+said)
		}
	}
	slices.Sort(found)
	return found
}

func TestAFactStandsOnce(t *testing.T) {
	var list []fact
	for _, root := range []string{".", "../internal", "../lsp", "../cmd"} {
		eachFileIn(t, root, func(pkg, _ string, file *ast.File) {
			list = append(list, factsOf(filepath.Base(pkg), file)...)
		})
	}
	require.Greater(t, len(list), 40, "facts are found at all")
	for _, f := range twice(list) {
		assert.Fail(t, "a fact in two places", "%s: let one of them be the other, or say in alike why they are two facts", f)
	}
	for what, a := range alike {
		found := slices.ContainsFunc(list, func(f fact) bool { return f.String() == what && strings.Contains(a.names, f.name) })
		assert.True(t, found && a.reason != "", "%s is argued, and nothing has it", what)
	}
}

// That the test above finds what it should, and nothing else.
func TestAFactInTwoPlacesIsFound(t *testing.T) {
	facts := func(text string) []fact {
		file, err := parser.ParseFile(token.NewFileSet(), "x.go", "package x\n"+text, parser.ParseComments)
		require.NoError(t, err)
		return factsOf("x", file)
	}
	for _, c := range []struct {
		what, text string
		want       []string
	}{
		{"in a comment behind", "const a = 7.25 // cm\nconst b = 7.25 // cm", []string{"7.25 cm: x.a x.b"}},
		{"in a comment above", "// a is how far, in cm.\nconst a = 7.25\nfunc f() { const b = 7.25 // cm\n }", []string{"7.25 cm: x.a x.b"}},
		{"by the group", "// In seconds.\nconst (\n a = 7\n b = 7.0\n)", []string{"7 s: x.a x.b"}},
		{"in another unit", "const a = 250 // ms\nvar b = 1.0/4 // seconds", []string{"0.25 s: x.a x.b"}},
		{"by the name", "const aSeconds = 7.25\nconst bSeconds = 7.25", []string{"7.25 s: x.aSeconds x.bSeconds"}},
		{"another unit", "const a = 7.25 // cm\nconst b = 7.25 // seconds", nil},
		{"another number", "const a = 7.25 // cm\nconst b = 7.5 // cm", nil},
		{"one by the other", "const a = 7.25 // cm\nconst b = a // cm", nil},
		{"no unit", "const a = 7.25\nconst b = 7.25", nil},
	} {
		assert.Equal(t, c.want, twice(facts(c.text)), c.what)
	}
}

// asides are the coordinates and the motions to whose numbers a name has to be
// given: a place or a distance in the middle of code is a fact that nobody
// finds again.
func unnamed(file *ast.File, motions map[string]bool) (found []string) {
	sides := map[string]bool{"Right": true, "Ahead": true, "Up": true}
	side := func(e ast.Expr) bool {
		s, ok := e.(*ast.SelectorExpr)
		return ok && sides[s.Sel.Name]
	}
	number := func(e ast.Expr) bool { _, ok := literal(e); return ok }
	for _, d := range file.Decls {
		fn, ok := d.(*ast.FuncDecl)
		if !ok || fn.Body == nil {
			continue
		}
		if len(fn.Body.List) == 1 {
			if r, ok := fn.Body.List[0].(*ast.ReturnStmt); ok && len(r.Results) == 1 {
				if _, ok := r.Results[0].(*ast.CompositeLit); ok { // a place with a name
					continue
				}
			}
		}
		ast.Inspect(fn.Body, func(n ast.Node) bool {
			bad := false
			switch n := n.(type) {
			case *ast.KeyValueExpr:
				key, ok := n.Key.(*ast.Ident)
				bad = ok && sides[key.Name] && number(n.Value)
			case *ast.AssignStmt:
				bad = len(n.Lhs) == 1 && side(n.Lhs[0]) && number(n.Rhs[0])
			case *ast.BinaryExpr:
				bad = (n.Op == token.ADD || n.Op == token.SUB) && (side(n.X) && number(n.Y) || side(n.Y) && number(n.X))
			case *ast.CallExpr:
				s, ok := n.Fun.(*ast.SelectorExpr)
				bad = ok && motions[s.Sel.Name] && slices.ContainsFunc(n.Args, number)
			}
			if bad {
				found = append(found, fn.Name.Name)
			}
			return true
		})
	}
	return found
}

// distances are the motions of package body that are told a distance.
func distances(t *testing.T) map[string]bool {
	motions := map[string]bool{}
	eachFileIn(t, "body", func(_, _ string, file *ast.File) {
		for _, d := range file.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || fn.Recv == nil || !fn.Name.IsExported() || types.ExprString(fn.Recv.List[0].Type) != "Profile" {
				continue
			}
			for _, p := range fn.Type.Params.List {
				motions[fn.Name.Name] = motions[fn.Name.Name] || types.ExprString(p.Type) == "float64"
			}
		}
	})
	return motions
}

func TestAPlaceHasAName(t *testing.T) {
	motions := distances(t)
	require.True(t, motions["Travel"] && motions["Carry"])
	for _, root := range []string{".", "../lsp", "../cmd"} {
		eachFileIn(t, root, func(_, path string, file *ast.File) {
			for _, fn := range unnamed(file, motions) {
				assert.Fail(t, "a place or a distance without a name", "%s: %s", path, fn)
			}
		})
	}
	file, err := parser.ParseFile(token.NewFileSet(), "x.go", `package x
func named() Point { return Point{Right: 20, Ahead: 40} }
func a() { at := Point{Right: 20, Ahead: far}; use(at) }
func b() { at.Ahead += 30 }
func c() { use(at.Right - 40) }
func d() { p.Carry(15, width) }
func fine() { at := Point{Right: 0, Ahead: far}; at.Up = low; p.Carry(d, width); use(at.Right * 2) }
`, 0)
	require.NoError(t, err)
	assert.Equal(t, []string{"a", "b", "c", "d"}, unnamed(file, motions))
}

// A wordList is words that stand beside one another in code: the elements or
// keys of a table, or the cases of a switch.
type wordList struct {
	at    string
	words map[string]bool
}

// fewest is how many words make a list that could be another one's.
const fewest = 4

func wordListsOf(path string, file *ast.File) (list []wordList) {
	ast.Inspect(file, func(n ast.Node) bool {
		l := wordList{path, map[string]bool{}}
		word := func(e ast.Expr) {
			if lit, ok := e.(*ast.BasicLit); ok && lit.Kind == token.STRING && len(lit.Value) > 2 {
				l.words[strings.Trim(lit.Value, "\"`")] = true
			}
		}
		first := func(e ast.Expr) { // of a row
			if row, ok := e.(*ast.CompositeLit); ok && len(row.Elts) > 0 {
				word(row.Elts[0])
			}
		}
		switch n := n.(type) {
		case *ast.CompositeLit:
			for _, e := range n.Elts {
				if kv, ok := e.(*ast.KeyValueExpr); ok {
					word(kv.Key)
					e = kv.Value
					if _, ok := kv.Key.(*ast.BasicLit); ok {
						continue
					}
				}
				word(e)
				first(e)
			}
		case *ast.SwitchStmt:
			for _, c := range n.Body.List {
				for _, e := range c.(*ast.CaseClause).List {
					word(e)
				}
			}
		}
		if len(l.words) >= fewest {
			list = append(list, l)
		}
		return true
	})
	return list
}

// shared are the words that two lists have both, if those are most of one.
func shared(a, b wordList) (both []string) {
	for w := range a.words {
		if b.words[w] {
			both = append(both, w)
		}
	}
	if len(both) < fewest || 3*len(both) < 2*min(len(a.words), len(b.words)) {
		return nil
	}
	slices.Sort(both)
	return both
}

// mapped are the files that have most words of a list of another's, since they
// say something else of each.
var mapped = map[string]string{
	"syntax/reading.go syntax/reading.go":           "what stands behind the first word, and which may be said with less",
	"body/limbs.go score/person.go":                 "which hand somebody lacks who has that one",
	"body/limbs.go written/xmlnote.go":              "the limbs that a written part says by what it is for",
	"kit/kit.go syntax/bars.go":                     "how loud each is that is no step from ppp to fff",
	"sheet/notes.go syntax/bars.go":                 "the sign of each",
	"kit/kit.go sheet/notes.go":                     "the sign of each",
	"pitch/pitch.go pitch/pitch.go":                 "read in several spellings, written in one",
	"guide/html.go guide/html.go":                   "what every page leads to, and of these what the first page says",
	"guide/tables.go syntax/reading.go":             "a heading of the handbook for each block; what stands behind each",
	"guide/tables.go ../lsp/completion.go":          "a heading of the handbook for each block; how each is begun",
	"syntax/reading.go ../lsp/completion.go":        "what stands behind each; how each is begun",
	"score/head.go syntax/reading.go":               "what each does; what stands behind each",
	"syntax/parse.go ../lsp/completion.go":          "what a line without its limb may go on with; what is said of each",
	"syntax/parse.go syntax/reading.go":             "what a line without its limb may go on with",
	"syntax/encoding.go ../internal/folder/kind.go": "texts are refused by the one, and files named by the other",
}

func TestAListStandsOnce(t *testing.T) {
	var list []wordList
	for _, root := range []string{".", "../internal", "../lsp", "../cmd"} {
		eachFileIn(t, root, func(_, path string, file *ast.File) {
			if path = filepath.ToSlash(path); !strings.HasPrefix(path, "../internal/compose/") && !strings.HasPrefix(path, "../internal/madeup/") {
				list = append(list, wordListsOf(path, file)...)
			}
		})
	}
	require.Greater(t, len(list), 40, "lists are found at all")
	met := map[string]bool{}
	for i, a := range list {
		for _, b := range list[:i] {
			if both := shared(a, b); both != nil {
				key := b.at + " " + a.at
				met[key] = true
				assert.NotEmpty(t, mapped[key], "%s: both list %s", key, strings.Join(both, ", "))
			}
		}
	}
	for key := range mapped {
		assert.True(t, met[key], "%s is argued, and has no list in common", key)
	}
	file, err := parser.ParseFile(token.NewFileSet(), "x.go", `package x
var a = []string{"one", "two", "three", "four", "five"}
var b = map[string]int{"five": 1, "one": 2, "two": 3, "three": 4}
func f() { switch x { case "one", "two": case "three", "four": } }
var row = []struct{ w string; n int }{{"one", 1}, {"two", 2}, {"three", 3}, {"four", 4}}
var other = []string{"one", "two", "three", "six", "seven", "eight"}
`, 0)
	require.NoError(t, err)
	own := wordListsOf("x", file)
	require.Len(t, own, 5)
	for _, l := range own[1:4] {
		assert.NotNil(t, shared(own[0], l))
	}
	assert.Nil(t, shared(own[0], own[4]))
}
