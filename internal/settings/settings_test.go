package settings

import (
	"bytes"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
)

func TestWhatIsWrongIsSaidWhereItStands(t *testing.T) {
	for text, want := range map[string][]string{
		"":                                     nil,
		"profil = \"student\"":                 {`f:1:1: there is no setting "profil" here; did you mean "profile"?`},
		"[check]\nfailon = \"never\"":          {`f:2:1: there is no setting "check.failon" here; did you mean "fail-on"?`},
		"[check]\nfail-on = \"eror\"":          {`f:2:11: check.fail-on is error, warning or never, not "eror"; did you mean "error"?`},
		"\nprofile = \"clown\"":                {`f:2:11: profile is `},
		"profile = 3":                          {`f:1:11: `},
		"profile = ":                           {`f:1:`},
		"[severity]\nno-such-rule = \"off\"":   {`f:2:1: severity: there is no rule "no-such-rule"`},
		"[severity]\nshort-chang = \"off\"":    {`f:2:1: severity: there is no rule "short-chang"; did you mean "short-change"?`},
		"[severity]\nsyntax = \"off\"":         {`f:2:1: severity: syntax always is an error`},
		"[severity]\nthin-margin = \"loud\"":   {`f:2:1: severity: thin-margin is error, warning, compromise, info or off, not "loud"`},
		"use = [\"../all.handful\"]":           {`f:1:8: use: "../all.handful" lies outside the folder of this file`},
		"use = [\"/etc/all.handful\"]":         {`f:1:8: use: "/etc/all.handful" lies outside`},
		"[check]\nbaseline = \"../b\"":         {`f:2:12: baseline: "../b" lies outside`},
		"[check]\nexclude = [\"[a\"]":          {`f:2:12: exclude: "[a" cannot be read as a pattern`},
		"[[where]]\nprofile = \"student\"":     {`: path: "" matches nothing`},
		"[sheet]\npaper = \"A9\"\nfor = \"x\"": {`f:2:9: sheet.paper is `, `f:3:7: sheet.for is stand, desk or pit, not "x"`},
	} {
		_, problems := Parse("f", text)
		var got []string
		for _, p := range problems {
			got = append(got, p.Error())
		}
		require.Len(t, got, len(want), "%s: %v", text, got)
		for i := range want {
			assert.Contains(t, got[i], want[i], text)
		}
	}
}

func TestWhatHoldsForAPiece(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, FileName)
	require.NoError(t, os.WriteFile(file, []byte(`
profile = "experienced"
use = ["store.handful"]
[severity]
thin-margin = "off"
[check]
include = ["season/", "*.one"]
exclude = ["old-*"]
[[where]]
path = "school/"
profile = "student"
severity = { thin-margin = "error", seam = "info" }
[[where]]
path = "school/night.handful"
profile = "professional"
`), 0o644))
	s, problems, err := Read(file)
	require.NoError(t, err)
	require.Empty(t, problems)
	at := func(name string) string { return filepath.Join(dir, filepath.FromSlash(name)) }
	assert.Equal(t, "experienced", s.ProfileOf(at("a.handful")))
	assert.Equal(t, "student", s.ProfileOf(at("school/a.handful")))
	assert.Equal(t, "professional", s.ProfileOf(at("school/night.handful")), "the later goes before")
	assert.Equal(t, Severities{"thin-margin": "off"}, s.SeveritiesOf(at("a.handful")))
	assert.Equal(t, Severities{"thin-margin": "error", "seam": "info"}, s.SeveritiesOf(at("school/night.handful")))
	assert.Equal(t, []string{"store.handful"}, s.Shared(at("school/a.handful")))
	assert.Empty(t, s.Shared(at("store.handful")), "it does not use itself")
	assert.True(t, s.Meant(at("season/a.handful")))
	assert.False(t, s.Meant(at("a.handful")))
	assert.False(t, s.Meant(at("season/old-a.handful")))

	thin := &check.Finding{Rule: check.RuleNamed("thin-margin"), Severity: check.Warning}
	_, told := s.SeveritiesOf(at("a.handful")).Of(thin)
	assert.False(t, told)
	severity, told := s.SeveritiesOf(at("school/a.handful")).Of(thin)
	assert.True(t, told)
	assert.Equal(t, check.Error, severity)
}

func TestTheNearestFileHolds(t *testing.T) {
	dir := t.TempDir()
	far := filepath.Join(dir, "band", "season", "one")
	require.NoError(t, os.MkdirAll(far, 0o755))
	assert.Empty(t, Above(far, ""))
	outer := filepath.Join(dir, FileName)
	require.NoError(t, os.WriteFile(outer, nil, 0o644))
	assert.Equal(t, outer, Above(far, ""))
	near := filepath.Join(dir, "band", "season", FileName)
	require.NoError(t, os.WriteFile(near, nil, 0o644))
	assert.Equal(t, near, Above(far, ""))
	assert.Equal(t, near, Above(far, filepath.Dir(near)))
	require.NoError(t, os.Remove(near))
	assert.Empty(t, Above(far, filepath.Dir(near)), "nor above the folder that is the last to be read")
	require.NoError(t, os.Mkdir(filepath.Join(dir, "band", ".git"), 0o755))
	assert.Empty(t, Above(far, ""), "nothing is looked for above a repository")
}

// Every setting is told of, and nothing else is.
func TestTheSchemaKnowsEverySetting(t *testing.T) {
	var names []string
	var walk func(at reflect.Type, name string)
	walk = func(at reflect.Type, name string) {
		for i := range at.NumField() {
			f := at.Field(i)
			key := nameOf(f)
			if key == "" {
				continue
			}
			whole := strings.TrimPrefix(name+"."+key, ".")
			names = append(names, whole)
			of := f.Type
			if of.Kind() == reflect.Slice {
				of = of.Elem()
			}
			if of.Kind() == reflect.Struct {
				walk(of, whole)
			}
		}
	}
	walk(reflect.TypeFor[Settings](), "")
	for _, name := range names {
		assert.NotEmpty(t, told[name].says, name)
	}
	assert.Len(t, told, len(names))
}

// Whatever the schema takes can be read, and the file to start from, with every
// # taken away, is taken by both.
func TestTheSchemaAndTheReaderAgree(t *testing.T) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("settings.json", doc))
	schema, err := c.Compile("settings.json")
	require.NoError(t, err)

	full := regexp.MustCompile(`(?m)^# ([\[a-z].*=.*|\[.*)$`).ReplaceAllString(First(), "$1")
	for text, good := range map[string]bool{
		First(): true, full: true,
		"profil = \"student\"": false, "profile = \"clown\"": false, "[check]\nfail-on = \"x\"": false,
		"[severity]\nno-such-rule = \"off\"": false, "[severity]\nsyntax = \"off\"": false, "[severity]\nseam = \"off\"": true,
		"[[where]]\nprofile = \"student\"": false,
	} {
		_, problems := Parse("f", text)
		assert.Equal(t, good, len(problems) == 0, "%s: %v", text, problems)
		var value map[string]any
		require.NoError(t, toml.Unmarshal([]byte(text), &value), text)
		assert.Equal(t, good, schema.Validate(value) == nil, text)
	}
	s, _ := Parse("f", full)
	assert.Equal(t, "warning", s.Check.FailOn)
	assert.Equal(t, "pit", s.Sheet.For)
	assert.Len(t, s.Where, 1)
}

func TestThePublishedSchemaIsThisOne(t *testing.T) {
	published, err := os.ReadFile("../../editors/handful.schema.json")
	require.NoError(t, err)
	assert.Equal(t, string(Schema()), string(published), "handful init --schema > editors/handful.schema.json")
}
