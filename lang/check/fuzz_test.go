package check

import (
	"os"
	"path/filepath"
	"testing"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// FuzzCheck puts any text at all through the whole pipeline: it must come out
// with findings whose places exist, the same ones twice, and fixes that apply.
func FuzzCheck(f *testing.F) {
	for _, r := range Rules() {
		f.Add(r.Trips)
		f.Add(r.Passes)
	}
	f.Add("tempo 60\nplayer Ida\n  R holds snare-stick\n  R snare-drum | 1 | 1\n  R takes yarn-mallet at 1.2\n  R lays yarn-mallet at 1.3\n  L turns page at 1.3\naccept short-change at 1.2 because \"x\"\n")
	names, _ := filepath.Glob("../../examples/*.handful")
	for _, name := range names {
		if text, err := os.ReadFile(name); err == nil {
			f.Add(string(text))
		}
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 4096 {
			return
		}
		file := syntax.Parse(text)
		if score.Bind("fuzz.handful", file, nil, score.Options{}).Time.PlayedBars() > 1000 {
			return // bounded, but slow: benchmarks and the limits' own tests see to it
		}
		r := Check("fuzz.handful", file, Options{})
		for i := range r.Findings {
			fd := &r.Findings[i]
			if fd.Where.File != 0 {
				t.Fatalf("%s is in file %d, and there is only one", fd.Rule.Name, fd.Where.File)
			}
			line := int(fd.Where.Line)
			if line < 0 || line >= len(file.Lines) || fd.Where.Start < 0 || fd.Where.End < fd.Where.Start || int(fd.Where.End) > len(file.Lines[line].Text) {
				t.Fatalf("%s has no place: %+v", fd.Rule.Name, fd.Where)
			}
			if fd.Message() == "" {
				t.Fatalf("%s says nothing", fd.Rule.Name)
			}
		}
		if again := Check("fuzz.handful", syntax.Parse(text), Options{}); len(again.Findings) != len(r.Findings) {
			t.Fatalf("%d findings, then %d", len(r.Findings), len(again.Findings))
		}
		if again := Recheck(r, syntax.Parse(text+"\n# more\n")); len(again.Findings) != len(r.Findings) {
			t.Fatalf("%d findings, then %d of the same taken over", len(r.Findings), len(again.Findings))
		}
		if len(r.Findings) > 0 && len(text) < 512 {
			for _, fix := range r.Fixes(&r.Findings[0]) {
				if _, ok := Apply(file, fix.Edits); !ok {
					t.Fatalf("%s: the fix %q does not apply", r.Findings[0].Rule.Name, fix.Title)
				}
			}
		}
		r.Ceilings()
	})
}
