package lsp

import (
	"encoding/json"
	"fmt"
	"math"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The meta model of the protocol, in which its authors publish every message's
// shape (version 3.17, as the protocol's library carries it). What the server
// uses of 3.18 beyond it is added below from the specification's text.
type metaModel struct {
	Requests, Notifications []metaMessage
	Structures              []metaStructure
	Enumerations            []metaEnumeration
	TypeAliases             []struct {
		Name string
		Type *metaType
	}
	structures   map[string]*metaStructure
	enumerations map[string]*metaEnumeration
	aliases      map[string]*metaType
	requests     map[string]*metaMessage
	notes        map[string]*metaMessage
}

type metaMessage struct {
	Method           string
	MessageDirection string
	Params, Result   *metaType
}

type metaStructure struct {
	Name            string
	Properties      []metaProperty
	Extends, Mixins []*metaType
}

type metaProperty struct {
	Name     string
	Type     *metaType
	Optional bool
}

type metaEnumeration struct {
	Name                 string
	Type                 *metaType
	Values               []struct{ Value any }
	SupportsCustomValues bool
}

type metaType struct {
	Kind    string
	Name    string
	Element *metaType
	Items   []*metaType
	Key     *metaType
	Value   json.RawMessage // a type for maps and literals, a text for string literals
}

// added is what 3.18 has and 3.17 has not, as far as it is used here.
const added = `{
  "requests": [
    {"method": "workspace/textDocumentContent", "messageDirection": "clientToServer", "params": {"kind": "reference", "name": "LSPAny"}, "result": {"kind": "reference", "name": "LSPAny"}}
  ]
}`

var loadModel = sync.OnceValues(func() (*metaModel, error) {
	dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "go.lsp.dev/protocol").Output()
	if err != nil {
		return nil, err
	}
	data, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(dir)), "internal", "genlsp", "testdata", "metaModel.json"))
	if err != nil {
		return nil, err
	}
	m := &metaModel{structures: map[string]*metaStructure{}, enumerations: map[string]*metaEnumeration{}, aliases: map[string]*metaType{}, requests: map[string]*metaMessage{}, notes: map[string]*metaMessage{}}
	if err := json.Unmarshal(data, m); err != nil {
		return nil, err
	}
	var more metaModel
	if err := json.Unmarshal([]byte(added), &more); err != nil {
		return nil, err
	}
	m.Requests = append(m.Requests, more.Requests...)
	for i := range m.Structures {
		m.structures[m.Structures[i].Name] = &m.Structures[i]
	}
	for i := range m.Enumerations {
		m.enumerations[m.Enumerations[i].Name] = &m.Enumerations[i]
	}
	for _, a := range m.TypeAliases {
		m.aliases[a.Name] = a.Type
	}
	for i := range m.Requests {
		m.requests[m.Requests[i].Method] = &m.Requests[i]
	}
	for i := range m.Notifications {
		m.notes[m.Notifications[i].Method] = &m.Notifications[i]
	}
	return m, nil
})

// validate holds a message of the server against the meta model.
func (c *client) validate(m message) {
	model, err := loadModel()
	if err != nil {
		c.complain("the meta model: %v", err)
		return
	}
	if m.JSONRPC != "2.0" {
		c.complain("a message is not JSON-RPC 2.0")
	}
	switch {
	case m.Method == methodSendAgain: // for clients that say that they know it
		var p struct{ URI string }
		if err = json.Unmarshal(m.Params, &p); err == nil && p.URI == "" {
			err = fmt.Errorf("%s without a document", m.Method)
		}
	case m.Method != "" && m.ID != nil:
		err = model.incoming(model.requests, m)
	case m.Method != "":
		err = model.incoming(model.notes, m)
	case m.Error != nil:
		if m.Error.Message == "" || m.Error.Code == 0 {
			err = fmt.Errorf("an error without code or message: %+v", *m.Error)
		}
	default:
		c.mu.Lock()
		method := c.asked[string(m.ID)]
		c.mu.Unlock()
		msg := model.requests[method]
		if msg == nil {
			err = fmt.Errorf("an answer to %s (%q), which nobody asked", m.ID, method)
		} else {
			err = model.check(method+" result", msg.Result, decoded(m.Result))
		}
	}
	if err != nil {
		c.complain("%v", err)
	}
}

func decoded(raw json.RawMessage) any {
	var v any
	json.Unmarshal(raw, &v)
	return v
}

func (m *metaModel) incoming(known map[string]*metaMessage, msg message) error {
	is := known[msg.Method]
	switch {
	case is == nil:
		return fmt.Errorf("the protocol has no %s of that kind", msg.Method)
	case is.MessageDirection == "clientToServer":
		return fmt.Errorf("%s goes from client to server only", msg.Method)
	case is.Params == nil:
		if msg.Params != nil && string(msg.Params) != "null" {
			return fmt.Errorf("%s has no params, and got %s", msg.Method, msg.Params)
		}
		return nil
	}
	return m.check(msg.Method+" params", is.Params, decoded(msg.Params))
}

// check says what is wrong with a value of a type, or nil.
func (m *metaModel) check(path string, t *metaType, v any) error {
	bad := func(want string) error {
		raw, _ := json.Marshal(v)
		return fmt.Errorf("%s: want %s, got %.200s", path, want, raw)
	}
	switch t.Kind {
	case "base":
		return m.base(t.Name, v, bad)
	case "reference":
		return m.reference(path, t.Name, v, bad)
	case "array":
		list, ok := v.([]any)
		if !ok {
			return bad("a list")
		}
		for i, e := range list {
			if err := m.check(fmt.Sprintf("%s[%d]", path, i), t.Element, e); err != nil {
				return err
			}
		}
	case "map":
		object, ok := v.(map[string]any)
		if !ok {
			return bad("an object")
		}
		var value metaType
		if err := json.Unmarshal(t.Value, &value); err != nil {
			return err
		}
		for k, e := range object {
			if err := m.check(path+"."+k, &value, e); err != nil {
				return err
			}
		}
	case "or":
		var errs []string
		for _, item := range t.Items {
			err := m.check(path, item, v)
			if err == nil {
				return nil
			}
			errs = append(errs, err.Error())
		}
		return fmt.Errorf("none of %d fits: %s", len(errs), strings.Join(errs, "; "))
	case "and":
		for _, item := range t.Items {
			if err := m.check(path, item, v); err != nil {
				return err
			}
		}
	case "tuple":
		list, ok := v.([]any)
		if !ok || len(list) != len(t.Items) {
			return bad(fmt.Sprintf("a list of %d", len(t.Items)))
		}
		for i, e := range list {
			if err := m.check(fmt.Sprintf("%s[%d]", path, i), t.Items[i], e); err != nil {
				return err
			}
		}
	case "literal":
		var s metaStructure
		if err := json.Unmarshal(t.Value, &s); err != nil {
			return err
		}
		return m.object(path, []*metaStructure{&s}, v, bad)
	case "stringLiteral":
		var want string
		json.Unmarshal(t.Value, &want)
		if v != want {
			return bad(want)
		}
	default:
		return fmt.Errorf("%s: the meta model has a kind %q that this test does not know", path, t.Kind)
	}
	return nil
}

func (m *metaModel) base(name string, v any, bad func(string) error) error {
	ok := false
	switch name {
	case "string", "RegExp":
		_, ok = v.(string)
	case "DocumentUri", "URI":
		text, is := v.(string)
		u, err := url.Parse(text)
		ok = is && err == nil && u.Scheme != ""
	case "boolean":
		_, ok = v.(bool)
	case "null":
		ok = v == nil
	case "integer", "uinteger", "decimal":
		n, is := v.(float64)
		low, high := -math.Pow(2, 31), math.Pow(2, 31)-1
		if name == "uinteger" {
			low = 0
		}
		ok = is && (name == "decimal" || n == math.Trunc(n) && low <= n && n <= high)
	}
	if !ok {
		return bad(name)
	}
	return nil
}

func (m *metaModel) reference(path, name string, v any, bad func(string) error) error {
	if name == "LSPAny" || name == "LSPObject" || name == "LSPArray" {
		return nil
	}
	if e := m.enumerations[name]; e != nil {
		if err := m.check(path, e.Type, v); err != nil || e.SupportsCustomValues {
			return err
		}
		for _, value := range e.Values {
			if value.Value == v {
				return nil
			}
		}
		return bad("one of " + name)
	}
	if a := m.aliases[name]; a != nil {
		return m.check(path, a, v)
	}
	s := m.structures[name]
	if s == nil {
		return fmt.Errorf("%s: the meta model has no %s", path, name)
	}
	return m.object(path, m.family(s), v, bad)
}

// family is a structure with all that it extends and mixes in.
func (m *metaModel) family(s *metaStructure) []*metaStructure {
	out := []*metaStructure{s}
	for _, t := range append(slices.Clone(s.Extends), s.Mixins...) {
		if up := m.structures[t.Name]; up != nil {
			out = append(out, m.family(up)...)
		}
	}
	return out
}

// object checks every property that there is, and that none is there which the
// meta model does not know.
func (m *metaModel) object(path string, family []*metaStructure, v any, bad func(string) error) error {
	object, ok := v.(map[string]any)
	if !ok {
		return bad("an object")
	}
	known := map[string]bool{}
	for _, s := range family {
		for _, p := range s.Properties {
			if known[p.Name] {
				continue // a nearer structure has said it more narrowly
			}
			known[p.Name] = true
			value, there := object[p.Name]
			if !there {
				if !p.Optional {
					return fmt.Errorf("%s: %s is missing", path, p.Name)
				}
				continue
			}
			if err := m.check(path+"."+p.Name, p.Type, value); err != nil {
				return err
			}
		}
	}
	for k := range object {
		if !known[k] && len(known) > 0 {
			return fmt.Errorf("%s: the meta model knows no %s", path, k)
		}
	}
	return nil
}

// The validator itself: what the specification allows, and what it does not.
func TestTheMetaModelTellsGoodFromBad(t *testing.T) {
	m, err := loadModel()
	require.NoError(t, err)
	for _, good := range []message{
		{Method: "window/logMessage", Params: []byte(`{"type":3,"message":"x"}`)},
		{Method: "textDocument/publishDiagnostics", Params: []byte(`{"uri":"file:///a","diagnostics":[{"range":{"start":{"line":0,"character":1},"end":{"line":0,"character":2}},"message":"x","severity":1}]}`)},
	} {
		assert.NoError(t, m.incoming(m.notes, good), "%s", good.Params)
	}
	for _, bad := range []message{
		{Method: "window/logMassage", Params: []byte(`{}`)},
		{Method: "textDocument/didOpen", Params: []byte(`{}`)}, // the wrong way
		{Method: "window/logMessage", Params: []byte(`{"type":9,"message":"x"}`)},
		{Method: "window/logMessage", Params: []byte(`{"type":3}`)},
		{Method: "window/logMessage", Params: []byte(`{"type":3,"message":"x","text":"y"}`)},
		{Method: "textDocument/publishDiagnostics", Params: []byte(`{"uri":"file:///a","diagnostics":null}`)},
		{Method: "textDocument/publishDiagnostics", Params: []byte(`{"uri":"no scheme","diagnostics":[]}`)},
		{Method: "textDocument/publishDiagnostics", Params: []byte(`{"uri":"file:///a","diagnostics":[{"range":{"start":{"line":-1,"character":1},"end":{"line":0,"character":2}},"message":"x"}]}`)},
	} {
		assert.Error(t, m.incoming(m.notes, bad), "%s %s", bad.Method, bad.Params)
	}
	assert.Error(t, m.check("hover", m.requests["textDocument/hover"].Result, decoded([]byte(`{"contents":{"kind":"html","value":"x"}}`))))
}
