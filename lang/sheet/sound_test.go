package sheet

import (
	"encoding/json"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
)

// elementKinds are the kinds of elements that ISO 32000-1, 14.8.4, has, of those that
// a sheet may need.
var elementKinds = regexp.MustCompile(`^/(Document|Sect|H[1-6]|P|L|LI|Lbl|LBody|Table|TR|TH|TD|THead|TBody|Caption|Figure|Span)$`)

// The file is sound, and its structure is whole, as another program reads it: every
// element is in the one that it says it is in, every piece of every page belongs to
// one, tables have nothing but rows and rows nothing but cells, and the file says
// its language and that its title is shown (the demands of ISO 32000-1, 14.7 to 14.9, and
// of ISO 14289-1, 7.1 to 7.5, that can be asked of the objects alone).
func TestThePDFIsWhole(t *testing.T) {
	qpdf := tool(t, "qpdf")
	for name, docs := range map[string][]Doc{
		"ferry":   Docs([]*check.Result{ferry(t)}, Options{}),
		"scripts": Docs([]*check.Result{checked("x", ofManyScripts)}, Options{Fonts: []*Font{dejaVu(t), lohit(t)}}),
	} {
		file := writePDF(t, docs)
		out, err := exec.Command(qpdf, "--check", file).CombinedOutput()
		require.NoError(t, err, string(out))
		assert.NotContains(t, string(out), "WARNING")
		out, err = exec.Command(qpdf, "--json=2", "--json-key=qpdf", "--json-stream-data=inline", "--decode-level=generalized", file).Output()
		require.NoError(t, err)
		f := readWhole(t, out)
		f.catalogue()
		assert.Greater(t, f.elements(), 100, name)
		f.pieces()
	}
}

// A wholePDF is one as qpdf reads it.
type wholePDF struct {
	t       *testing.T
	objects map[string]dict
	streams map[string]string
	root    dict
	seen    map[string]string // elements, and what kind each is
}

type dict map[string]any

func readWhole(t *testing.T, data []byte) *wholePDF {
	var file struct{ QPDF []json.RawMessage }
	require.NoError(t, json.Unmarshal(data, &file))
	require.Len(t, file.QPDF, 2)
	var all map[string]struct {
		Value  any
		Stream struct {
			Dict dict
			Data []byte
		}
	}
	require.NoError(t, json.Unmarshal(file.QPDF[1], &all))
	f := &wholePDF{t: t, objects: map[string]dict{}, streams: map[string]string{}, seen: map[string]string{}}
	for name, o := range all {
		name = strings.TrimPrefix(name, "obj:")
		if d, ok := o.Value.(map[string]any); ok {
			f.objects[name] = d
		}
		if o.Stream.Dict != nil {
			f.objects[name], f.streams[name] = o.Stream.Dict, string(o.Stream.Data)
		}
	}
	f.root = f.of(f.objects["trailer"]["/Root"])
	require.NotEmpty(t, f.root)
	return f
}

// of is what a reference stands for.
func (f *wholePDF) of(ref any) dict {
	if name, ok := ref.(string); ok {
		return f.objects[name]
	}
	d, _ := ref.(map[string]any)
	return d
}

func (f *wholePDF) catalogue() {
	assert.Equal(f.t, "u:en", f.root["/Lang"])
	assert.Equal(f.t, true, f.of(f.root["/MarkInfo"])["/Marked"])
	assert.Equal(f.t, true, f.of(f.root["/ViewerPreferences"])["/DisplayDocTitle"])
	assert.Contains(f.t, f.streams[f.root["/Metadata"].(string)], "<dc:title>")
}

// elements walks through the structure, and says how much there is.
func (f *wholePDF) elements() int {
	tree := f.root["/StructTreeRoot"].(string)
	f.element(f.objects[tree]["/K"].(string), tree, "")
	return len(f.seen)
}

func (f *wholePDF) element(name, up, kindOfUp string) {
	e := f.objects[name]
	require.NotNil(f.t, e, name)
	kind, _ := e["/S"].(string)
	assert.NotContains(f.t, f.seen, name, "it is in one place")
	f.seen[name] = kind
	assert.Regexp(f.t, elementKinds, kind)
	assert.Equal(f.t, up, e["/P"], "%s says where it is", name)
	switch kind {
	case "/TR":
		assert.Equal(f.t, "/Table", kindOfUp)
	case "/TH", "/TD":
		assert.Equal(f.t, "/TR", kindOfUp)
	case "/Figure":
		assert.NotEmpty(f.t, e["/Alt"])
	}
	kids, _ := e["/K"].([]any)
	for _, k := range kids {
		if kid, ok := k.(string); ok {
			if kind == "/Table" {
				assert.Equal(f.t, "/TR", f.objects[kid]["/S"])
			}
			f.element(kid, name, kind)
		}
	}
}

var (
	marked = regexp.MustCompile(`/MCID \d+`)
	begun  = regexp.MustCompile(`\bB[DM]C\b`)
	ended  = regexp.MustCompile(`\bEMC\b`)
)

// pieces compares what is marked on each page with what the structure has of it.
func (f *wholePDF) pieces() {
	nums := f.of(f.of(f.root["/StructTreeRoot"])["/ParentTree"])["/Nums"].([]any)
	owners := map[float64][]any{}
	for i := 0; i+1 < len(nums); i += 2 {
		owners[nums[i].(float64)] = nums[i+1].([]any)
	}
	pages := 0
	for _, p := range f.objects {
		if p["/Type"] != "/Page" {
			continue
		}
		pages++
		assert.Equal(f.t, "/S", p["/Tabs"])
		content := f.streams[p["/Contents"].(string)]
		own := owners[p["/StructParents"].(float64)]
		found := marked.FindAllString(content, -1)
		assert.Len(f.t, found, len(own), "each piece has one element, and each element's piece is there")
		for _, ref := range own {
			assert.Contains(f.t, f.seen, ref)
		}
		assert.Len(f.t, ended.FindAllString(content, -1), len(begun.FindAllString(content, -1)), "each is ended")
	}
	assert.Len(f.t, owners, pages)
}
