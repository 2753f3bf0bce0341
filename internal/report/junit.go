package report

import (
	"encoding/xml"
	"fmt"
	"path/filepath"
)

// The elements of a test report, as most build services read it.
type (
	testSuites struct {
		XMLName  xml.Name    `xml:"testsuites"`
		Name     string      `xml:"name,attr"`
		Tests    int         `xml:"tests,attr"`
		Failures int         `xml:"failures,attr"`
		Errors   int         `xml:"errors,attr"`
		Suites   []testSuite `xml:"testsuite"`
	}
	testSuite struct {
		Name     string     `xml:"name,attr"`
		Tests    int        `xml:"tests,attr"`
		Failures int        `xml:"failures,attr"`
		Errors   int        `xml:"errors,attr"`
		Cases    []testCase `xml:"testcase"`
	}
	testCase struct {
		Class   string   `xml:"classname,attr"`
		Name    string   `xml:"name,attr"`
		Failure *testBad `xml:"failure,omitempty"`
		Error   *testBad `xml:"error,omitempty"`
		Out     string   `xml:"system-out,omitempty"`
	}
	testBad struct {
		Message string `xml:"message,attr"`
		Type    string `xml:"type,attr"`
		Text    string `xml:",chardata"`
	}
)

// JUnit is a test report: a file is a suite, a finding a test, which fails if
// the check does because of it. A file without findings is one test that
// passes.
func JUnit(r *Report) ([]byte, error) {
	all := testSuites{Name: "handful"}
	add := func(s testSuite) {
		s.Tests = len(s.Cases)
		for _, c := range s.Cases {
			if c.Failure != nil {
				s.Failures++
			}
			if c.Error != nil {
				s.Errors++
			}
		}
		all.Tests, all.Failures, all.Errors = all.Tests+s.Tests, all.Failures+s.Failures, all.Errors+s.Errors
		all.Suites = append(all.Suites, s)
	}
	for i := range r.Files {
		add(suite(r, &r.Files[i]))
	}
	if len(r.Troubles) > 0 {
		s := testSuite{Name: "not checked"}
		for _, t := range r.Troubles {
			s.Cases = append(s.Cases, testCase{Class: "not checked", Name: t, Error: &testBad{Message: t, Type: "not-checked", Text: t}})
		}
		add(s)
	}
	b, err := xml.MarshalIndent(all, "", "  ")
	if err != nil {
		return nil, err
	}
	return append([]byte(xml.Header), append(b, '\n')...), nil
}

func suite(r *Report, f *File) testSuite {
	s := testSuite{Name: filepath.ToSlash(f.Path)}
	lines := Lines(f)
	for i := range f.Findings {
		d := &f.Findings[i]
		c := testCase{Class: s.Name, Name: fmt.Sprintf("%s at %d:%d", d.Rule, d.Line, d.Column)}
		bad := &testBad{d.text(), d.Rule, lines[i]}
		switch {
		case d.Rule == Internal:
			c.Error = bad
		case r.Fails(d.Severity):
			c.Failure = bad
		default:
			c.Out = lines[i]
		}
		s.Cases = append(s.Cases, c)
	}
	if len(s.Cases) == 0 {
		s.Cases = []testCase{{Class: s.Name, Name: "nothing found"}}
	}
	return s
}
