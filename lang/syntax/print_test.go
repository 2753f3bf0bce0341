package syntax_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/compose"
	"example.org/handful/internal/draws"
	"example.org/handful/lang/syntax"
)

// said is a tree without where it stands: types and texts. The commas of a list
// are layout.
func said(v reflect.Value) string {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			return "-"
		}
		return said(v.Elem())
	case reflect.Slice:
		var list []string
		for i := range v.Len() {
			if text := said(v.Index(i)); text != `Listed{""}` {
				list = append(list, text)
			}
		}
		return "[" + strings.Join(list, " ") + "]"
	case reflect.Struct:
		if text := v.FieldByName("Text"); text.IsValid() && text.Kind() == reflect.String {
			word := text.String()
			if v.Type() == reflect.TypeFor[syntax.Listed]() {
				word = strings.Trim(word, ",")
			}
			return fmt.Sprintf("%s{%q}", v.Type().Name(), word)
		}
		text := v.Type().Name() + "{"
		for i := range v.NumField() {
			if v.Type().Field(i).Name != "Pos" {
				text += v.Type().Field(i).Name + ":" + said(v.Field(i)) + " "
			}
		}
		return text + "}"
	}
	return fmt.Sprint(v)
}

func saidBy(s syntax.Stmt) string { return said(reflect.ValueOf(s)) }

// statements are those of the shipped files, of the samples, and of composed
// texts: each that can be read.
func statements(t testing.TB) []syntax.Stmt {
	var texts []string
	for _, glob := range []string{"../../examples/*.handful", "../kit/catalogue/*.handful"} {
		names, _ := filepath.Glob(glob)
		require.NotEmpty(t, names)
		for _, name := range names {
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			texts = append(texts, string(text))
		}
	}
	for _, f := range append(syntax.Forms(), syntax.Wordless()...) {
		texts = append(texts, f.Sample)
	}
	for seed := range uint64(300) {
		texts = append(texts, compose.Text(rand.New(rand.NewPCG(seed, 7))))
	}
	var out []syntax.Stmt
	for _, text := range texts {
		for _, l := range syntax.Parse(text).Lines {
			if l.Stmt != nil && len(l.Problems) == 0 {
				out = append(out, l.Stmt)
			}
		}
	}
	return out
}

func readAgain(t interface {
	Helper()
	Fatalf(string, ...any)
}, s syntax.Stmt) {
	t.Helper()
	text := syntax.Print(s)
	l := syntax.ParseLine(text)
	if len(l.Problems) > 0 {
		t.Fatalf("%s\nprinted: %s\n%s", saidBy(s), text, l.Problems[0].Message())
	}
	if a, b := saidBy(s), saidBy(l.Stmt); a != b {
		t.Fatalf("printed: %s\nbefore: %s\nafter:  %s", text, a, b)
	}
}

// What is read and printed reads as the same tree, of every type of statement.
func TestWhatIsPrintedReadsTheSame(t *testing.T) {
	types := map[reflect.Type]int{}
	for _, s := range statements(t) {
		_, all := syntax.PrintedAll(s)
		require.True(t, all, "%s: %s", syntax.Print(s), saidBy(s))
		readAgain(t, s)
		types[reflect.TypeOf(s)]++
	}
	for _, f := range append(syntax.Forms(), syntax.Wordless()...) {
		assert.NotZero(t, types[reflect.TypeOf(syntax.ParseLine(f.Sample).Stmt)], f.Word)
	}
}

// A pool has statements by their type, to make others of.
type pool struct {
	types []reflect.Type
	of    map[reflect.Type][]reflect.Value
}

func poolOf(list []syntax.Stmt) pool {
	p := pool{of: map[reflect.Type][]reflect.Value{}}
	for _, s := range list {
		v := reflect.ValueOf(s).Elem()
		if p.of[v.Type()] == nil {
			p.types = append(p.types, v.Type())
		}
		p.of[v.Type()] = append(p.of[v.Type()], v)
	}
	return p
}

// draw is a statement that nobody has written, made of the parts of two: clauses
// of one with those of the other, and without them.
func (p pool) draw(t *rapid.T) syntax.Stmt {
	of := p.of[rapid.SampledFrom(p.types).Draw(t, "type")]
	v := reflect.New(of[0].Type())
	v.Elem().Set(mixed(t, rapid.SampledFrom(of).Draw(t, "one"), rapid.SampledFrom(of).Draw(t, "other")))
	return v.Interface().(syntax.Stmt)
}

func mixed(t *rapid.T, a, b reflect.Value) reflect.Value {
	out := reflect.New(a.Type()).Elem()
	for i := range a.NumField() {
		x, y := a.Field(i), b.Field(i)
		inside := x.Kind() == reflect.Pointer && !x.IsNil() && !y.IsNil() && x.Elem().Kind() == reflect.Struct && !x.Elem().FieldByName("Text").IsValid()
		needless := x.Kind() == reflect.Pointer || x.Kind() == reflect.Slice || x.Kind() == reflect.Bool
		switch way := rapid.IntRange(0, 5).Draw(t, a.Type().Field(i).Name); {
		case way < 2:
			out.Field(i).Set(y)
		case way == 2 && needless:
		case way == 3 && inside:
			both := reflect.New(x.Type().Elem())
			both.Elem().Set(mixed(t, x.Elem(), y.Elem()))
			out.Field(i).Set(both)
		default:
			out.Field(i).Set(x)
		}
	}
	return out
}

func TestMadeStatementsReadTheSame(t *testing.T) {
	pool := poolOf(statements(t))
	made, lawful := 0, 0
	draws.Check(t, func(t *rapid.T) {
		s := pool.draw(t)
		made++
		if _, all := syntax.PrintedAll(s); !all {
			return // no production has it: something that must be there is not
		}
		lawful++
		readAgain(t, s)
	})
	assert.Greater(t, lawful, made/2)
}

// A name stands in quotes where it needs them, and reads as itself.
func TestNamesReadAsThemselves(t *testing.T) {
	for name, want := range map[string]string{"Nell": "Nell", "Jo B": `"Jo B"`, "9": `"9"`, "because": "because", "a|b": `"a|b"`, `a"b`: `"a\"b"`, "": `""`, "Zoë": "Zoë", "#1": `"#1"`} {
		assert.Equal(t, "player "+want, syntax.Print(&syntax.Player{Name: syntax.TitleOf(name)}))
	}
	draws.Check(t, func(t *rapid.T) {
		name := rapid.OneOf(rapid.StringMatching(`[ -~é’\x{301}]{1,12}`), rapid.SampledFrom([]string{"in", "at", "for", "because", "RH", "to", "with", "on", "it"})).Draw(t, "name")
		reason := syntax.Quoted(name)
		player, ok := syntax.ParseLine(syntax.Print(&syntax.Player{Name: syntax.TitleOf(name)})).Stmt.(*syntax.Player)
		require.True(t, ok)
		assert.Equal(t, name, player.Name.Value())
		of := syntax.TitleOf(name)
		accept, ok := syntax.ParseLine(syntax.Print(&syntax.Accept{Rule: syntax.Word("fold"), Player: &of, Reason: &reason})).Stmt.(*syntax.Accept)
		require.True(t, ok)
		assert.Equal(t, name, accept.Player.Value())
		assert.Equal(t, name, accept.Reason.Value())
	})
}

func TestPlacesToStand(t *testing.T) {
	for want, s := range map[string]*syntax.Spot{
		"at right 20 ahead 40":      syntax.SpotAt("", 20.4, 39.6, 0),
		"at left 20 behind 40 up 9": syntax.SpotAt("", -20, -40, 9),
		"at timps down 5":           syntax.SpotAt("timps", 0.2, 0, -5),
		"at timps":                  syntax.SpotAt("timps", 0, 0, 0),
		"at ahead 0":                syntax.SpotAt("", 0, 0.4, 0),
	} {
		assert.Equal(t, want, syntax.Print(s))
		readAgain(t, &syntax.Stand{Word: syntax.Word("table"), Spot: s, Facing: syntax.Facing(90)})
	}
	assert.Nil(t, syntax.Facing(0))
}
