package report

import (
	"bytes"
	"fmt"
	"io"
	"net/url"
	"path/filepath"
	"strings"

	"example.org/handful/lang/check"
	"example.org/handful/lang/guide"
)

// The parts of a log of the Static Analysis Results Interchange Format 2.1.0
// (OASIS Standard, 2020) that are written.
type (
	sarifTool struct {
		Driver sarifDriver `json:"driver"`
	}
	sarifDriver struct {
		Name    string      `json:"name"`
		Version string      `json:"version"`
		Rules   []sarifRule `json:"rules"`
	}
	sarifRule struct {
		ID      string       `json:"id"`
		Short   sarifText    `json:"shortDescription"`
		Full    sarifText    `json:"fullDescription"`
		Help    sarifHelp    `json:"help"`
		Default sarifDefault `json:"defaultConfiguration"`
	}
	sarifText struct {
		Text string `json:"text"`
	}
	sarifHelp struct {
		Text     string `json:"text"`
		Markdown string `json:"markdown"`
	}
	sarifDefault struct {
		Level string `json:"level"`
	}
	sarifInvocation struct {
		Successful    bool                `json:"executionSuccessful"`
		Notifications []sarifNotification `json:"toolExecutionNotifications"`
	}
	sarifNotification struct {
		Level   string    `json:"level"`
		Message sarifText `json:"message"`
	}
	sarifArtifact struct {
		Location sarifArtifactAt `json:"location"`
	}
	sarifArtifactAt struct {
		URI  string `json:"uri"`
		Base string `json:"uriBaseId,omitempty"`
	}
	sarifResult struct {
		Rule         string            `json:"ruleId"`
		Index        int               `json:"ruleIndex"`
		Level        string            `json:"level"`
		Message      sarifText         `json:"message"`
		Locations    []sarifLocation   `json:"locations"`
		Related      []sarifLocation   `json:"relatedLocations,omitempty"`
		Fingerprints map[string]string `json:"partialFingerprints"`
		Fixes        []sarifFix        `json:"fixes,omitempty"`
		Properties   map[string]any    `json:"properties"`
	}
	sarifLocation struct {
		ID       *int          `json:"id,omitempty"`
		Physical sarifPhysical `json:"physicalLocation"`
		Message  *sarifText    `json:"message,omitempty"`
	}
	sarifPhysical struct {
		Artifact sarifArtifactAt `json:"artifactLocation"`
		Region   sarifRegion     `json:"region"`
	}
	sarifRegion struct {
		StartLine   int `json:"startLine"`
		StartColumn int `json:"startColumn"`
		EndLine     int `json:"endLine"`
		EndColumn   int `json:"endColumn"`
	}
	sarifFix struct {
		Description sarifText     `json:"description"`
		Changes     []sarifChange `json:"artifactChanges"`
	}
	sarifChange struct {
		Artifact     sarifArtifactAt    `json:"artifactLocation"`
		Replacements []sarifReplacement `json:"replacements"`
	}
	sarifReplacement struct {
		Deleted  sarifRegion `json:"deletedRegion"`
		Inserted sarifText   `json:"insertedContent"`
	}
)

// sarif writes the results of each file as it comes; what has to be known of all
// of them stands behind.
type sarif struct {
	list
	index      map[string]int // of the rules
	artifacts  []sarifArtifact
	successful bool
}

// SARIF is a log of one run of the program of a version.
func SARIF(version string) (Document, error) {
	driver := sarifDriver{Name: "handful", Version: version}
	index := map[string]int{}
	for i, rule := range check.Rules() {
		driver.Rules = append(driver.Rules, sarifRuleOf(rule))
		index[rule.Name] = i
	}
	tool, err := jsonWithin("   ", sarifTool{driver}, " ")
	head := `{
 "$schema": "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
 "version": "2.1.0",
 "runs": [
  {
   "tool": ` + string(tool) + `,
   "columnKind": "unicodeCodePoints",
   "results": `
	return &sarif{list{head: head, prefix: "    ", indent: " "}, index, []sarifArtifact{}, true}, err
}

func (s *sarif) File(w io.Writer, f *File) error {
	s.artifacts = append(s.artifacts, sarifArtifact{artifact(f.Path)})
	var b bytes.Buffer
	for i := range f.Findings {
		d := &f.Findings[i]
		if d.Rule == Internal {
			s.successful = false
		}
		index, known := s.index[d.Rule]
		if !known {
			index = -1
		}
		if err := s.add(&b, sarifResultOf(f, d, index)); err != nil {
			return err
		}
	}
	return written(w, &b, nil)
}

func (s *sarif) End(w io.Writer, troubles []string) error {
	done := sarifInvocation{s.successful && len(troubles) == 0, []sarifNotification{}}
	for _, t := range troubles {
		done.Notifications = append(done.Notifications, sarifNotification{"error", sarifText{t}})
	}
	var b bytes.Buffer
	s.end(&b)
	artifacts, err := jsonWithin("   ", s.artifacts, " ")
	if err != nil {
		return err
	}
	invocations, err := jsonWithin("   ", []sarifInvocation{done}, " ")
	fmt.Fprintf(&b, ",\n   \"artifacts\": %s,\n   \"invocations\": %s\n  }\n ]\n}\n", artifacts, invocations)
	return written(w, &b, err)
}

func sarifRuleOf(r *check.Rule) sarifRule {
	var text, marked []string
	for _, s := range guide.Sections(r) {
		body := strings.Join(strings.Split(s.Text, "\n"), " ")
		text = append(text, s.Title+": "+body)
		marked = append(marked, "**"+s.Title+".** "+body)
	}
	return sarifRule{
		ID: r.Name, Short: sarifText{r.Finds}, Full: sarifText{strings.Join(strings.Fields(r.Means), " ")},
		Help:    sarifHelp{strings.Join(text, "\n\n"), strings.Join(marked, "\n\n")},
		Default: sarifDefault{level(r.Severities[0].String())},
	}
}

func level(severity string) string {
	if severity == "error" || severity == "warning" {
		return severity
	}
	return "note"
}

func sarifResultOf(f *File, d *Finding, index int) sarifResult {
	out := sarifResult{
		Rule: d.Rule, Index: index, Level: level(d.Severity), Message: sarifText{d.text()},
		Locations:    []sarifLocation{{Physical: sarifPhysical{artifact(d.path(f)), region(d.Range)}}},
		Fingerprints: map[string]string{"handful/v1": d.Fingerprint},
		Properties:   map[string]any{"severity": d.Severity},
	}
	if d.Player != "" {
		out.Properties["player"] = d.Player
	}
	if d.NeedSeconds != nil && d.WindowSeconds != nil {
		out.Properties["needSeconds"], out.Properties["windowSeconds"] = *d.NeedSeconds, *d.WindowSeconds
	}
	for i, n := range d.Related {
		out.Related = append(out.Related, sarifLocation{new(i), sarifPhysical{artifact(n.Path), region(n.Range)}, &sarifText{n.Message}})
	}
	for _, fix := range d.Fixes {
		change := sarifChange{Artifact: artifact(f.Path)}
		for _, e := range fix.Edits {
			change.Replacements = append(change.Replacements, sarifReplacement{region(e.Range), sarifText{e.Text}})
		}
		if len(change.Replacements) > 0 {
			out.Fixes = append(out.Fixes, sarifFix{sarifText{fix.Title}, []sarifChange{change}})
		}
	}
	return out
}

func region(r Range) sarifRegion {
	return sarifRegion{r.Line, r.Column, max(r.Line, r.EndLine), max(1, r.EndColumn)}
}

// artifact is a file as a reference from the folder that was checked, or from
// the top of the machine.
func artifact(name string) sarifArtifactAt {
	if filepath.IsAbs(name) {
		slash := filepath.ToSlash(name)
		if !strings.HasPrefix(slash, "/") {
			slash = "/" + slash
		}
		return sarifArtifactAt{URI: (&url.URL{Scheme: "file", Path: slash}).String()}
	}
	return sarifArtifactAt{(&url.URL{Path: filepath.ToSlash(name)}).String(), "%SRCROOT%"}
}
