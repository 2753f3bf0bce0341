package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/check"
)

// A WhatIf is one single change and what it would take away.
type WhatIf struct {
	Change string
	Errors int // that are left
	Freed  int // that go
}

// WhatIfs says at which share of the tempo a piece as it is becomes playable,
// and which single changes take most errors out of it.
func WhatIfs(r *check.Result) (tempo float64, list []WhatIf) {
	tempo = 1.0
	for _, c := range r.Ceilings() {
		tempo = math.Min(tempo, c.Cannot.Factor)
	}
	before := errorCount(r)
	seen := map[string]bool{}
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Severity != check.Error || len(list) > 200 {
			continue
		}
		for _, fix := range r.Fixes(f) {
			key := fmt.Sprint(fix.Title, fix.Edits)
			if seen[key] || strings.HasPrefix(fix.Title, "accept") || strings.HasPrefix(fix.Title, "leave it out") {
				continue
			}
			seen[key] = true
			if after, ok := r.After(fix.Edits); ok {
				left := errorCount(after)
				place := ""
				if f.Where.File == 0 {
					place = fmt.Sprintf("line %d (%s): ", f.Where.Line+1, strings.TrimSpace(r.File.Lines[f.Where.Line].Code()))
				}
				list = append(list, WhatIf{place + fix.Title, left, before - left})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b WhatIf) int { return b.Freed - a.Freed })
	return tempo, list
}

func errorCount(r *check.Result) int {
	n := 0
	for i := range r.Findings {
		if r.Findings[i].Severity == check.Error {
			n += 1 + r.Findings[i].Times
		}
	}
	return n
}
