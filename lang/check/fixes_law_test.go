package check_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/check"
)

// alike are the rules that speak of one thing from different sides: whether a
// limb gets from one thing to the next in time.
var alike = map[string]string{
	"short-change": "a change", "seam": "a change", "vamp-exit": "a change", "thin-margin": "a change", "fermata-as-time": "a change",
}

// places counts the errors, and the errors and warnings, of each player's each
// rule.
func places(r *check.Result) (errors, all map[string]int) {
	errors, all = map[string]int{}, map[string]int{}
	var count func([]check.Finding)
	count = func(list []check.Finding) {
		for i := range list {
			f := &list[i]
			if k := kind(f); f.Severity <= check.Warning {
				all[k] += 1 + f.Times
				if f.Severity == check.Error {
					errors[k] += 1 + f.Times
				}
			}
			count(f.Within)
		}
	}
	count(r.Findings)
	return errors, all
}

func kind(f *check.Finding) string {
	k := f.Rule.Name
	if a, ok := alike[k]; ok {
		k = a
	}
	return fmt.Sprintf("%s [%s]", k, f.Player)
}

// holds says what is wrong with a fix: that its finding is still there, or
// that it brings an error or a warning with it. A warning in the place of an
// error of its kind is none that it brings.
func holds(r *check.Result, f *check.Finding, fix check.Fix, again func(text string) *check.Result) string {
	text, ok := check.Apply(r.File, fix.Edits)
	if !ok {
		return "it cannot be done"
	}
	after := again(text)
	wasErrors, was := places(r)
	errors, all := places(after)
	for k, m := range errors {
		if m > wasErrors[k] {
			return fmt.Sprintf("%d errors of %s, and were %d\n%s\n%s", m, k, wasErrors[k], strings.Join(said(after), "\n"), text)
		}
	}
	for k, m := range all {
		if m > was[k] {
			return fmt.Sprintf("%d of %s, and were %d\n%s\n%s", m, k, was[k], strings.Join(said(after), "\n"), text)
		}
	}
	me := fmt.Sprintf("%s %s %s [%s] [%s] %s", f.Severity, f.Rule.Name, f.PlaceWords(), f.Player, f.Limb, f.Message())
	if slices.Contains(said(after), me) {
		return "it is still there\n" + text
	}
	return ""
}

// A fix that is offered takes its finding away and brings no error and no
// warning.
func TestFixesHold(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := madeup.Draw(t, madeup.Options{Notes: true, Players: 2, Roads: true, Actions: true, Quick: true})
		p.Written = rapid.Bool().Draw(t, "as written")
		r := n.of(p.Text())
		for i := range r.Findings {
			f := &r.Findings[i]
			for _, fix := range r.Fixes(f) {
				n.tried++
				if wrong := holds(r, f, fix, func(text string) *check.Result { return at(text, 1) }); wrong != "" {
					t.Fatalf("%s %s %s: %s\n%q: %s\nbefore:\n%s", f.Severity, f.Rule.Name, f.PlaceWords(), f.Message(), fix.Title, wrong, p.Text())
				}
			}
		}
	})
}

// The same of every piece of the marker files.
func TestFixesHoldInTheMarkerFiles(t *testing.T) {
	tried := 0
	for _, m := range allMarkers(t) {
		for _, p := range m.pieces {
			r := m.folder.check(p)
			for i := range r.Findings {
				f := &r.Findings[i]
				for _, fix := range r.Fixes(f) {
					tried++
					wrong := holds(r, f, fix, func(text string) *check.Result { return m.folder.check(piece{name: p.name, text: text}) })
					if wrong != "" {
						t.Errorf("%s, %s: %s %s %s: %s\n%q: %s", m.path, p.name, f.Severity, f.Rule.Name, f.PlaceWords(), f.Message(), fix.Title, wrong)
					}
				}
			}
		}
	}
	t.Logf("%d fixes tried", tried)
}
