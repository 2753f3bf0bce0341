// Package exchange writes a checked piece in formats that other programs read.
//
// In comes the result of a check. Out come the bytes of a MusicXML 4.0 file or
// of a Standard MIDI File. [example.org/handful/lang/written] reads both.
//
// The package never opens a file and never works out a verdict: hands and
// changes are those that the path has found.
package exchange
