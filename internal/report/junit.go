package report

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"path/filepath"
)

// The elements of a test report, as most build services read it.
type (
	testSuite struct {
		XMLName  xml.Name   `xml:"testsuite"`
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

// junit keeps its suites as text until it is known how many tests there are,
// which is said before them.
type junit struct {
	fails                   func(severity string) bool
	suites                  [][]byte
	tests, failures, errors int
}

// JUnit is a test report: a file is a suite, a finding a test, which fails if
// the check does because of it. A file without findings is one test that
// passes. Fails says of which severities a finding fails the check.
func JUnit(fails func(severity string) bool) Document { return &junit{fails: fails} }

func (j *junit) File(_ io.Writer, f *File) error { return j.add(j.suite(f)) }

func (j *junit) add(s testSuite) error {
	s.Tests = len(s.Cases)
	for _, c := range s.Cases {
		if c.Failure != nil {
			s.Failures++
		}
		if c.Error != nil {
			s.Errors++
		}
	}
	j.tests, j.failures, j.errors = j.tests+s.Tests, j.failures+s.Failures, j.errors+s.Errors
	text, err := xml.MarshalIndent(s, "  ", "  ")
	j.suites = append(j.suites, bytes.Join([][]byte{text, nil}, []byte("\n"))) // without the room that was left behind it
	return err
}

func (j *junit) End(w io.Writer, troubles []string) error {
	if len(troubles) > 0 {
		s := testSuite{Name: "not checked"}
		for _, t := range troubles {
			s.Cases = append(s.Cases, testCase{Class: "not checked", Name: t, Error: &testBad{Message: t, Type: "not-checked", Text: t}})
		}
		if err := j.add(s); err != nil {
			return err
		}
	}
	_, err := fmt.Fprintf(w, "%s<testsuites name=\"handful\" tests=\"%d\" failures=\"%d\" errors=\"%d\">\n", xml.Header, j.tests, j.failures, j.errors)
	for i, text := range j.suites {
		if err == nil {
			_, err = w.Write(text)
		}
		j.suites[i] = nil
	}
	if err == nil {
		_, err = io.WriteString(w, "</testsuites>\n")
	}
	return err
}

func (j *junit) suite(f *File) testSuite {
	s := testSuite{Name: filepath.ToSlash(f.Path)}
	lines := Lines(f)
	for i := range f.Findings {
		d := &f.Findings[i]
		c := testCase{Class: s.Name, Name: fmt.Sprintf("%s at %d:%d", d.Rule, d.Line, d.Column)}
		bad := &testBad{d.text(), d.Rule, lines[i]}
		switch {
		case d.Rule == Internal:
			c.Error = bad
		case j.fails(d.Severity):
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
