// Package syntax turns the text of a .handful file into a tree and back.
//
// In comes text, any bytes at all. Out come lines, each with its statement,
// its bars, its comment and what is wrong with it; and, from [Format], the
// same file in its canonical layout.
//
// One statement a line, and each line parses alone. A broken line is one
// problem and the rest of the file still means what it meant, which is also
// why [Reparse] may keep every line whose text did not change. Every node
// carries its range as byte offsets within its line.
//
// The package never looks a name up, never knows how long a bar is, and never
// reads a file: what a line means beside the others is package score's work.
package syntax
