package syntax

import (
	"reflect"

	"github.com/alecthomas/participle/v2/lexer"
)

// PrintedAll is Print, and whether all of the node was written.
var PrintedAll = printed

// SaidTwiceInLine is what a line is told that says something twice.
const SaidTwiceInLine = saidTwiceInLine

// BothWays reads a line by the productions that are written by hand, nil where
// they leave it to the grammar, and by the grammar. It says whether the
// statement has such productions.
func BothWays(text string) (byHand, byGrammar Stmt, written bool, err error) {
	kind, from, to := nextToken(text, 0)
	if kind == lexer.EOF || kind == tokBad || kind == tokString || kind == tokEquals {
		return nil, nil, false, nil
	}
	first, end := text[from:to], to
	if kind == tokWord {
		first, end = firstWord(text, from, to)
	}
	f := formOf(first, text[end:], kind == tokBars)
	node, written := reflect.New(f.node).Interface().(direct)
	if !written {
		return nil, nil, false, nil
	}
	u := upcoming{words: &reading{text: text}}
	u.next()
	if node.direct(&u) && u.ends() {
		byHand = node.(Stmt)
	}
	byGrammar, err = f.byGrammar(&reading{text: text})
	return byHand, byGrammar, true, err
}
