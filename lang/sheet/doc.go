// Package sheet makes what goes on the stand: for every player a cue sheet, a
// set-up plan and a practice sheet, for the section a packing list and a
// chart, for the conductor what will sound different.
//
// In comes a checked piece, a [check.Result] or several. Out come [Doc]s:
// pages of lines, boxes, circles, outlines and measured words, in points, and
// from these, by one back end each, SVG, HTML, PDF and text.
//
// The package never works out a time, a motion or a verdict of its own, and
// never opens a file or asks for the date.
package sheet
