// Command colours writes the notation's words into the files by which editors
// colour a line that no server has read yet, from the forms and the productions.
package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/syntax"
)

// A list is words at one place of a file: what stands before them and behind.
type list struct {
	before, after string
	words         []string
	join          func([]string) string
}

func main() {
	for file, lists := range files() {
		path := filepath.Join("..", "..", "editors", file)
		text, err := os.ReadFile(path)
		if err == nil {
			err = os.WriteFile(path, []byte(fresh(string(text), lists)), 0o644)
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}

// fresh is a file with its lists as they are to be.
func fresh(text string, lists []list) string {
	for _, l := range lists {
		at := regexp.MustCompile("(?s)" + regexp.QuoteMeta(l.before) + ".*?" + regexp.QuoteMeta(l.after))
		text = at.ReplaceAllLiteralString(text, l.before+l.join(l.words)+l.after)
	}
	return text
}

func files() map[string][]list {
	var blocks, statements, margin, mounts, asks []string
	right, left, limbs := sides()
	below := slices.Concat(right, left, limbs) // what stands below a player
	for _, f := range syntax.Forms() {
		if f.Opens != 0 && f.Opens != syntax.InKit || f.Word == "kit" {
			blocks = append(blocks, f.Word)
		} else {
			statements = append(statements, f.Word)
		}
		if f.In == syntax.InHead {
			margin = append(margin, f.Word)
		}
		if f.In&syntax.InPlayer != 0 {
			below = append(below, f.Word)
		}
	}
	for _, m := range syntax.Mounts() {
		mounts = append(mounts, strings.TrimPrefix(m, "on "))
	}
	for _, a := range syntax.Asks() {
		if strings.Contains(a, " ") {
			asks = append(asks, a)
		}
	}
	slices.SortStableFunc(asks, func(a, b string) int { return len(b) - len(a) })
	words := slices.DeleteFunc(syntax.InnerWords(), func(w string) bool { return slices.Contains(mounts, w) || len(w) == 1 })
	slices.Reverse(words[1:]) // one-handed before one: the first that fits is taken
	plain := slices.DeleteFunc(slices.Clone(mounts), func(m string) bool { return !slices.Contains(syntax.Mounts(), m) })
	either := func(w []string) string { return strings.Join(w, "|") }
	vimEither := func(w []string) string { return strings.Join(w, `\|`) }
	spaced := func(w []string) string { return strings.Join(w, " ") }
	inJSON := func(w []string) string { return strings.ReplaceAll(either(w), "+", `\\+`) }
	inXML := func(w []string) string { return strings.ReplaceAll(either(w), "+", `\+`) }
	return map[string][]list{
		"vscode/language-configuration.json": {
			{`"beforeText": "^\\s*(part|`, `)\\b.*$"`, blocks[1:], either},
		},
		"vscode/syntaxes/handful.tmLanguage.json": {
			{`"match": "^\\s*(title|`, `)\\b`, statements[1:], either},
			{`"begin": "^\\s*(R|`, `)\\s+`, right[1:], inJSON},
			{`"begin": "^\\s*(L|`, `)\\s+`, left[1:], inJSON},
			{`"begin": "^\\s*(R\\+L|`, `)\\s+`, limbs[1:], inJSON},
			{`"match": "\\b(two in one hand|`, `)\\b", "name": "keyword.other.way.handful"`, asks[1:], either},
			{`"match": "\\b(held|`, `)\\b", "name": "support.constant.mount.handful"`, plain[1:], either},
			{`"match": "\\b(ahead|`, `)\\b", "name": "keyword.other.handful"`, words[1:], either},
			{`"match": "\\b(pppp|`, `)\\b"`, syntax.Dynamics()[1:], either},
		},
		"neovim/syntax/handful.vim": {
			{`syntax match handfulBlock /^\s*\zs\(`, `\)\>/`, blocks, vimEither},
			{`syntax match handfulHead /^\s*\zs\(`, `\)\>/`, statements, vimEither},
			{`syntax match handfulLimb /^\s*\zs\(`, `\)\ze`, limbs, vimEither},
			{`syntax match handfulRight /^\s*\zs\(`, `\)\ze`, right, vimEither},
			{`syntax match handfulLeft /^\s*\zs\(`, `\)\ze`, left, vimEither},
			{"syntax keyword handfulWord ", "\n", words, spaced},
			{"syntax keyword handfulMount ", "\n", mounts, spaced},
			{"syntax keyword handfulDynamic ", " contained\n", syntax.Dynamics(), spaced},
		},
		"kate/handful.xml": {
			{`<RegExpr String="(R\+L|`, `)(?=\s)" attribute="Limb"`, limbs[1:], inXML},
			{`<RegExpr String="(R|`, `)(?=\s)" attribute="Right"`, right[1:], inXML},
			{`<RegExpr String="(L|`, `)(?=\s)" attribute="Left"`, left[1:], inXML},
			{`<list name="blocks">`, `</list>`, blocks, items},
			{`<list name="statements">`, `</list>`, statements, items},
			{`<list name="words">`, `</list>`, words, items},
			{`<list name="mounts">`, `</list>`, mounts, items},
			{`<list name="dynamics">`, `</list>`, syntax.Dynamics(), items},
		},
		"emacs/handful-mode.el": {
			{`(regexp-opt '("R+L" `, `)`, limbs[1:], quoted},
			{`(regexp-opt '("R" `, `)`, right[1:], quoted},
			{`(regexp-opt '("L" `, `)`, left[1:], quoted},
			{"(defconst handful--blocks\n  '(", ")\n", blocks, quoted},
			{"(defconst handful--margin\n  '(", ")\n", margin, quoted},
			{"(defconst handful--below\n  '(", ")\n", below, quoted},
			{`(regexp-opt '("title" `, `)`, statements[1:], quoted},
			{`(regexp-opt '("ahead" `, `)`, words[1:], quoted},
			{`(regexp-opt '("held" `, `)`, mounts[1:], quoted},
			{`(regexp-opt '("pppp" `, `)`, syntax.Dynamics()[1:], quoted},
		},
	}
}

// sides are the words of limbs: those on the right, those on the left, and the others.
func sides() (right, left, others []string) {
	for _, l := range syntax.Limbs() {
		switch limb, _ := body.LimbNamed(l[0]); {
		case limb.OnTheRight():
			right = append(right, l[0])
		case limb.OnTheLeft():
			left = append(left, l[0])
		default:
			others = append(others, l[0])
		}
	}
	return right, left, others
}

// items is a list of XML, a word a line.
func items(words []string) string {
	var b strings.Builder
	for _, w := range words {
		b.WriteString("\n      <item>" + w + "</item>")
	}
	return b.String() + "\n    "
}

// quoted is a list of Lisp, in lines that fit.
func quoted(words []string) string {
	var b strings.Builder
	width := 0
	for i, w := range words {
		if i > 0 {
			if b.WriteByte(' '); width > 80 {
				b.WriteString("\n" + strings.Repeat(" ", 28))
				width = 0
			}
		}
		n, _ := fmt.Fprintf(&b, "%q", w)
		width += n + 1
	}
	return strings.ReplaceAll(b.String(), " \n", "\n")
}
