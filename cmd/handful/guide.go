package main

import (
	"bufio"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"example.org/handful/lang/check"
	"example.org/handful/lang/guide"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/words"
)

type guideVerb struct {
	Topic  []string `arg:"" optional:"" help:"A topic, a rule, an instrument or an implement. Without one, what there is."`
	Search string   `placeholder:"WORDS" help:"Say where the handbook has all of these words, or the beginnings of them."`
	To     string   `enum:",text,html" default:"" placeholder:"html|text" help:"What to make. Without it: text, here, or with -o pages of HTML."`
	Out    string   `short:"o" placeholder:"DIR" help:"The folder to write the pages to; it is made if it is not there. Pages made before are written over, other files stay."`
	Force  bool     `help:"Write over other files of the same names, and over pages that were changed by hand."`
}

func (v *guideVerb) Help() string {
	return `  handful guide                            what there is to read
  handful guide arranger                   a lesson of ten minutes
  handful guide --search one hand roll     where that is spoken of
  handful guide --to html -o handbook      everything, to read in a browser, without a network`
}

func (v *guideVerb) Run(s *streams) error {
	name := strings.Join(v.Topic, " ")
	switch {
	case v.To == "html" && v.Out == "":
		return errors.New("--to html makes files: say in which folder, with -o DIR")
	case v.To == "text" && v.Out != "":
		return errors.New("text is shown here: leave out -o, or say --to html")
	case v.Out != "" && (name != "" || v.Search != ""):
		return errors.New("the pages are made all together: leave out the topic, or leave out -o")
	case v.Out != "":
		return v.write(s)
	}
	out := bufio.NewWriter(s.out)
	switch {
	case v.Search != "":
		return v.search(out, strings.TrimSpace(v.Search+" "+name))
	case name == "":
		listTopics(out)
		return out.Flush()
	}
	if e := entryNamed(name); e != nil {
		out.WriteString(e.Text())
		return out.Flush()
	}
	var names []string
	for _, e := range guide.Entries() {
		names = append(names, e.Name)
	}
	return unknown("topic, rule or instrument", name, names, "handful guide")
}

// entryNamed finds what is asked for: by its name, or an instrument by any
// that only one goes by.
func entryNamed(name string) *guide.Entry {
	if in := kit.Standard().Resolve(name); in != nil {
		name = in.ID
	}
	name = strings.ReplaceAll(strings.ToLower(name), " ", "-")
	for _, e := range guide.Entries() {
		if e.Name == name {
			return &e
		}
	}
	return nil
}

func listTopics(out *bufio.Writer) {
	for i, t := range guide.Topics() {
		switch i {
		case 0:
			fmt.Fprintln(out, "Lessons of ten minutes")
		case guide.Lessons:
			fmt.Fprintln(out, "\nTo look things up")
		}
		fmt.Fprintf(out, "  %-10s  %s\n", t.Name, t.Title)
		for _, line := range words.Wrap(t.Says, 84) {
			fmt.Fprintf(out, "              %s\n", line)
		}
	}
	cat := kit.Standard()
	fmt.Fprintf(out, "\nAnd each of %d rules, %d instruments and %d implements by its name:\n", len(check.Rules()), len(cat.Instruments()), len(cat.Implements()))
	fmt.Fprintln(out, "  handful guide short-change\n  handful guide triangle\n  handful guide --search one hand roll")
}

// mostHits is how many places a search shows.
const mostHits = 25

func (v *guideVerb) search(out *bufio.Writer, query string) error {
	hits := guide.Search(query)
	if len(hits) == 0 {
		return fmt.Errorf("nothing in the handbook has all of these: %s", query)
	}
	for _, h := range hits[:min(len(hits), mostHits)] {
		fmt.Fprintf(out, "%s (%s)\n", h.Name, h.Kind)
		text := h.Says
		if h.Line != "" {
			text = h.Line
		}
		for _, line := range words.Wrap(text, guide.Width) {
			fmt.Fprintf(out, "  %s\n", line)
		}
	}
	if n := len(hits) - mostHits; n > 0 {
		fmt.Fprintf(out, "\nand %d more: say another word with it\n", n)
	}
	return out.Flush()
}

// write puts the pages into their folder.
func (v *guideVerb) write(s *streams) error {
	var files []outFile
	for _, p := range guide.Pages() {
		files = append(files, outFile{filepath.FromSlash(p.Path), []byte(p.HTML)})
	}
	if err := guidePages.write(s, v.Out, files, v.Force); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "%s and %s\n", filepath.Join(v.Out, "index.html"), words.Count(len(files)-1, "page beside it", "pages beside it"))
	return nil
}
