// Command glyphs copies the outlines that sheets draw out of a SMuFL font.
//
//	go run ./internal/glyphs FONT.otf < glyphs/names.txt > glyphs/outlines.txt
//
// The font is bravura.otf of the npm package @vexflow-fonts/bravura, under the
// licence in glyphs/OFL.txt; the code points are SMuFL 1.4's.
//
// In come glyph names, one a line as "name codepoint". Out comes a line each:
// the name, then the outline in units of a thousandth of an em, y downwards.
package main

import (
	"bufio"
	"fmt"
	"os"
	"strconv"
	"strings"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: glyphs FONT.otf < names > outlines.txt")
		os.Exit(2)
	}
	if err := run(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "glyphs:", err)
		os.Exit(1)
	}
}

func run(file string) error {
	data, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	font, err := sfnt.Parse(data)
	if err != nil {
		return err
	}
	var buf sfnt.Buffer
	out := bufio.NewWriter(os.Stdout)
	in := bufio.NewScanner(os.Stdin)
	for in.Scan() {
		name, code, _ := strings.Cut(in.Text(), " ")
		r, err := strconv.ParseUint(strings.TrimPrefix(code, "U+"), 16, 32)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		index, err := font.GlyphIndex(&buf, rune(r))
		if err != nil || index == 0 {
			return fmt.Errorf("%s (%s) is not in the font", name, code)
		}
		segments, err := font.LoadGlyph(&buf, index, fixed.I(1000), nil)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		fmt.Fprintf(out, "%s%s\n", name, path(segments))
	}
	if err := in.Err(); err != nil {
		return err
	}
	return out.Flush()
}

func path(segments sfnt.Segments) string {
	var b strings.Builder
	for _, s := range segments {
		n := 1
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			b.WriteString(" M")
		case sfnt.SegmentOpLineTo:
			b.WriteString(" L")
		case sfnt.SegmentOpQuadTo:
			b.WriteString(" Q")
			n = 2
		case sfnt.SegmentOpCubeTo:
			b.WriteString(" C")
			n = 3
		}
		for _, p := range s.Args[:n] {
			fmt.Fprintf(&b, " %d %d", p.X.Round(), p.Y.Round())
		}
	}
	return b.String()
}
