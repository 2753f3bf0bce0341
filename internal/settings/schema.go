package settings

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/sheet"
)

//go:generate sh -c "go run ../../cmd/handful init --schema >../../editors/handful.schema.json"

// keysOf are the settings that a table has, named by the keys that lead to it.
func keysOf(table []string) (names []string) {
	at := reflect.TypeFor[Settings]()
	for _, key := range table {
		f, ok := fieldOf(at, key)
		if !ok {
			return nil
		}
		for at = f.Type; at.Kind() == reflect.Pointer || at.Kind() == reflect.Slice; {
			at = at.Elem()
		}
		if at.Kind() != reflect.Struct {
			return nil
		}
	}
	for i := range at.NumField() {
		if name := nameOf(at.Field(i)); name != "" {
			names = append(names, name)
		}
	}
	return names
}

func fieldOf(t reflect.Type, key string) (reflect.StructField, bool) {
	for i := range t.NumField() {
		if nameOf(t.Field(i)) == key {
			return t.Field(i), true
		}
	}
	return reflect.StructField{}, false
}

// nameOf is what a field is called in a file; empty if it does not stand there.
func nameOf(f reflect.StructField) string {
	name := f.Tag.Get("toml")
	if name == "-" {
		return ""
	}
	return name
}

// A setting is what the schema and the first file say of one.
type setting struct {
	says  string   // in a sentence
	words []string // that it may be
}

// told are the settings by their whole names. A test holds this against the
// fields of Settings.
var told = map[string]setting{
	"profile":        {"Of players who do not say one.", body.ProfileNames()},
	"use":            {"Files that every piece below uses without saying so: the gear and the people that all have in common, from this file's folder.", nil},
	"severity":       {"How bad a rule's findings are here: severity.thin-margin = \"off\".", nil},
	"check":          {"How the folder is checked.", nil},
	"check.fail-on":  {"The least finding that makes the exit code 1.", failOns},
	"check.include":  {"Only the files that this matches, as in a .gitignore, from this file's folder.", nil},
	"check.exclude":  {"Not the files or folders that this matches, as in a .gitignore, from this file's folder.", nil},
	"check.baseline": {"The list of what was found earlier: only what is not in it is reported.", nil},
	"check.fixes":    {"Whether fixes are looked for.", nil},
	"sheet":          {"How sheets are made.", nil},
	"sheet.paper":    {"What they are printed on.", paperNames()},
	"sheet.for":      {"From how far a cue sheet is read.", sheet.Distances()},
	"sheet.to":       {"What is made.", formats},
	"where":          {"What holds for some of the pieces; what comes later goes before.", nil},
	"where.path":     {"Which pieces, as in a .gitignore, from this file's folder.", nil},
	"where.profile":  {"Of their players who do not say one.", body.ProfileNames()},
	"where.severity": {"How bad a rule's findings are in them.", nil},
}

type object = map[string]any

// Schema is the JSON schema of such a file, draft 2020-12.
func Schema() []byte {
	s := schemaOf(reflect.TypeFor[Settings](), "")
	s["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	s["title"] = FileName
	s["description"] = "How the pieces of a folder are checked and printed."
	text, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		panic(err) // it is made of words and lists
	}
	return append(text, '\n')
}

func schemaOf(t reflect.Type, name string) object {
	about := told[name]
	out := object{}
	if about.says != "" {
		out["description"] = about.says
	}
	switch t.Kind() {
	case reflect.Pointer:
		return schemaOf(t.Elem(), name)
	case reflect.Bool:
		out["type"] = "boolean"
	case reflect.String:
		out["type"] = "string"
		if about.words != nil {
			out["enum"] = about.words
		}
	case reflect.Slice:
		out["type"] = "array"
		if t.Elem().Kind() == reflect.String {
			out["items"] = object{"type": "string"}
		} else {
			out["items"] = schemaOf(t.Elem(), name)
		}
	case reflect.Map:
		out["type"], out["properties"], out["additionalProperties"] = "object", severitiesOf(), false
	case reflect.Struct:
		out["type"], out["properties"], out["additionalProperties"] = "object", fieldsOf(t, name), false
		if name == "where" {
			out["required"] = []string{"path"}
		}
	}
	return out
}

// severitiesOf is the severities that each rule may be given.
func severitiesOf() object {
	rules := object{}
	for _, rule := range ruleNames() {
		if !slices.Contains(always, rule) {
			rules[rule] = object{"enum": severities}
		}
	}
	return rules
}

func fieldsOf(t reflect.Type, name string) object {
	fields := object{}
	for i := range t.NumField() {
		f := t.Field(i)
		if key := nameOf(f); key != "" && f.IsExported() {
			fields[key] = schemaOf(f.Type, strings.TrimPrefix(name+"."+key, "."))
		}
	}
	return fields
}

// First is the text of a file to start from: all that can be said, each line
// a comment.
func First() string {
	return `# How the pieces in this folder, and in all folders below, are checked and
# printed. Every line is a comment until its # is taken away.

# Players who do not say one have this profile: ` + alternatives(body.ProfileNames()) + `.
# profile = "student"

# What every piece uses without saying so: the gear and the people that all
# have in common.
# use = ["shared/store.handful"]

[check]
# The least finding that makes the exit code 1: ` + alternatives(failOns) + `.
# fail-on = "warning"
# Which files are meant, as in a .gitignore.
# include = ["season/"]
# exclude = ["drafts/"]
# Only what is not in this list is reported; --write-baseline makes it.
# baseline = "baseline.json"
# Whether fixes are looked for.
# fixes = false

# How bad what a rule finds is: ` + alternatives(severities) + `.
[severity]
# thin-margin = "off"

[sheet]
# paper = "Letter"
# for = "pit"
# to = "pdf"

# Some pieces are another matter; what comes later goes before.
# [[where]]
# path = "school/"
# profile = "student"
# severity = { short-change = "warning" }
`
}
