// Package guide is the handbook.
//
// In come the texts of this folder, the rules, the catalogue and the grammar.
// Out come topics for a terminal, a search through all of them, and a site of
// pages that needs nothing else. What a rule, an instrument or a statement is
// stands where it is defined and is read from there; only what is said nowhere
// else stands here, in topics/*.md.
//
// The package never writes a file, never runs a command, and shows no finding
// that was not found.
package guide

import (
	"embed"
	"fmt"
	"strings"
	"sync"
)

//go:embed topics/*.md
var topicFiles embed.FS

// A Topic is a text that somebody reads from beginning to end.
type Topic struct {
	Name  string // what it is asked for by
	Title string
	Says  string // in one line, what is in it
	nodes []node // the rest
}

// order is the one in which the topics are best read.
var order = [...]string{"arranger", "leader", "teacher", "notation", "questions", "glossary", "cautions"}

// Lessons are the first of the topics, and are read with a file at hand.
const Lessons = 3

// Topics is every topic, in the order in which they are best read.
func Topics() []*Topic { return topics() }

var topics = sync.OnceValue(func() []*Topic {
	out := make([]*Topic, len(order))
	for i, name := range order {
		data, err := topicFiles.ReadFile("topics/" + name + ".md")
		if err != nil {
			panic(err) // it is compiled in
		}
		out[i] = readTopic(name, data)
	}
	return out
})

// readTopic takes a topic apart: "# Title", a line that says what is in it,
// and the text.
func readTopic(name string, data []byte) *Topic {
	title, rest, _ := strings.Cut(strings.TrimPrefix(string(data), "# "), "\n")
	says, rest, _ := strings.Cut(strings.TrimLeft(rest, "\n"), "\n")
	return &Topic{Name: name, Title: title, Says: says, nodes: read(rest)}
}

// A Block is a stretch of a topic that is not prose. Its first words say what
// it is:
//
//	handful FILE finds RULE, RULE     a piece, and what a check finds in it
//	edit FILE finds RULE, RULE        lines taken out (-) and put in (+)
//	console exit 1                    a command behind $, and what it says;
//	                                  … alone on a line stands for what is left out
//	table WHAT                        made of what stands elsewhere
type Block struct {
	Kind  string
	File  string
	Finds []string // rules of errors, warnings and compromises
	Exit  int
	Text  string
}

// Blocks are the blocks of a topic, in order.
func (t *Topic) Blocks() []Block {
	var out []Block
	for i := range t.nodes {
		if n := &t.nodes[i]; n.kind == fenced {
			out = append(out, n.block)
		}
	}
	return out
}

// readBlock reads the words behind a fence.
func readBlock(info, text string) Block {
	b := Block{Text: text}
	info, finds, _ := strings.Cut(info, " finds ")
	for _, rule := range strings.Split(finds, ",") {
		if rule = strings.TrimSpace(rule); rule != "" {
			b.Finds = append(b.Finds, rule)
		}
	}
	b.Kind, b.File, _ = strings.Cut(info, " ")
	if n, err := fmt.Sscanf(b.File, "exit %d", &b.Exit); n == 1 && err == nil {
		b.File = ""
	}
	return b
}

// Edit makes an edit block's changes in a text. Lines that go have to be there,
// one below the other; lines that come stand where those went, or at the end.
func (b *Block) Edit(was string) (string, error) {
	var out, in strings.Builder
	for line := range strings.Lines(b.Text) {
		switch {
		case strings.HasPrefix(line, "- "):
			out.WriteString(line[2:])
		case strings.HasPrefix(line, "+ "):
			in.WriteString(line[2:])
		case strings.TrimSpace(line) == "-":
			out.WriteString("\n")
		case strings.TrimSpace(line) == "+":
			in.WriteString("\n")
		default:
			return "", fmt.Errorf("a line of an edit begins with - or +: %s", line)
		}
	}
	if out.Len() == 0 {
		return was + in.String(), nil
	}
	if strings.Count(was, out.String()) != 1 {
		return "", fmt.Errorf("what is taken out stands there %d times: %s", strings.Count(was, out.String()), out.String())
	}
	return strings.Replace(was, out.String(), in.String(), 1), nil
}
