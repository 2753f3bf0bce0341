package main

import (
	_ "embed"
	"fmt"
	"math/rand/v2"
	"strings"
)

// The documents are drawn here, from the words of the examples, and by nothing
// else that the code has been measured with: passages of uneven length, lines
// that are written in columns or not, similes, remarks, kits and notes.

// A setup is what somebody covers: what stands where, how the hands play it, and
// how its lines are written.
type setup struct {
	kit   []string
	lines [2]string // of the part
	cues  [2]string
}

//go:embed setups.txt
var setupsText string

var setups = readSetups(setupsText)

func readSetups(text string) (list []setup) {
	for _, block := range strings.Split(text, "\n\n") {
		var s setup
		n := 0
		for _, line := range strings.Split(strings.TrimSpace(block), "\n") {
			if cols := strings.Split(line, "|"); len(cols) == 3 {
				s.lines[n], s.cues[n] = strings.TrimSpace(cols[0]), strings.TrimSpace(cols[1])
				s.kit = append(s.kit, strings.TrimSpace(cols[2]))
				n++
			}
		}
		list = append(list, s)
	}
	return list
}

var (
	figures = []string{"1 3", "1 2 3", "2 4", "1 2 3 4", "1", "1 2& 4", "3", "1 3 4", "2& 4", "1 4"}
	loud    = []string{"mf ", "mp ", "p ", "f ", "", "", ""}
	names   = []string{"Nell", "Tam", "Ines", "Tomas", "Marta", "Sol", "Per", "Ash"}
	remarks = []string{"  # from the score", "  # was 2 and 4", ""}
)

// piece draws a piece. wrong is how many lines of it are mistaken: about as many
// errors are found.
func piece(seed uint64, bars, players, wrong int) string {
	d := rand.New(rand.NewPCG(seed, 77))
	pick := func(list []string) string { return list[d.IntN(len(list))] }
	var b strings.Builder
	fmt.Fprintf(&b, "title \"Quay Number %d\"\ncredit \"an invented pit number\"\nmeter 4/4\ntempo 1/4 = %d\nbars %d\n", seed, 66+d.IntN(24), bars)
	var marks []int
	for at := 5 + d.IntN(9); at < bars; at += 9 + d.IntN(15) {
		marks = append(marks, at)
		fmt.Fprintf(&b, "mark %s at %d\n", markName(len(marks)), at)
	}
	if bars > 60 {
		fmt.Fprintf(&b, "tempo 1/4 = %d from %d\nnote \"watch\" at %d\nhold %d.4\n", 60+d.IntN(20), bars/2, bars/3, bars)
	}
	who := func(p int) string {
		if p < len(names) {
			return names[p]
		}
		return fmt.Sprintf("%s%c", names[p%len(names)], 'A'+p/len(names)-1)
	}
	sets := make([]setup, players)
	for p := range players {
		sets[p] = setups[(p+int(seed))%len(setups)]
		fmt.Fprintf(&b, "\npart \"Percussion %d\"\n", p+1)
		for at, turn := 1, d.IntN(2); at <= bars; turn = 1 - turn {
			n := min(3+d.IntN(6), bars-at+1)
			fmt.Fprintf(&b, "  from %d\n  %-*s | %s%s\n", at, 10+d.IntN(7), sets[p].lines[turn], passage(d, n, pick), pick(remarks))
			at += n
		}
	}
	for p := range players {
		fmt.Fprintf(&b, "\nplayer %s\n", who(p))
		b.WriteString("  kit\n")
		for _, k := range sets[p].kit {
			fmt.Fprintf(&b, "    %s\n", k)
		}
		b.WriteString("    table at right 25 ahead 30\n")
		at := 1
		for i := 0; i <= len(marks); i++ {
			if i > 0 {
				at = marks[i-1]
				fmt.Fprintf(&b, "  from %s\n", markName(i))
			}
			for turn := range 2 {
				fmt.Fprintf(&b, "  %s as written of \"Percussion %d\"\n", sets[p].cues[turn], p+1)
			}
			if d.IntN(5) == 0 && at+4 < bars {
				fmt.Fprintf(&b, "  note \"count %d\" at %d\n", 1+d.IntN(4), at)
			}
		}
	}
	if wrong == 0 {
		return b.String()
	}
	lines := strings.Split(b.String(), "\n")
	for n := 0; n < wrong; n++ {
		spoil(d, lines, n)
	}
	return strings.Join(lines, "\n")
}

// passage is bars of a line, with rests and what is the same again.
func passage(d *rand.Rand, n int, pick func([]string) string) string {
	out := make([]string, 0, n)
	for i := 0; i < n; i++ {
		switch k := d.IntN(8); {
		case i == 0:
			out = append(out, pick(loud)+pick(figures))
		case k == 0:
			out = append(out, "-")
		case k < 3:
			out = append(out, "%")
		default:
			out = append(out, pick(figures))
		}
	}
	out[len(out)-1] = "-"
	return strings.Join(out, " | ")
}

// spoil makes a mistake in a line that is not empty.
func spoil(d *rand.Rand, lines []string, kind int) {
	for range 10_000 {
		i := d.IntN(len(lines))
		was := lines[i]
		switch cue := strings.Contains(was, "as written"); {
		case kind%8 == 0 && cue: // nobody knows it
			lines[i] = strings.Replace(was, "with ", "with xylo-", 1)
		case kind%8 == 1 && strings.Contains(was, " | "): // a count that is not in the bar
			lines[i] = strings.Replace(was, " | ", " | 6 ", 1)
		case kind%8 == 2 && cue: // both with one hand
			lines[i] = strings.NewReplacer("  R ", "  L ", "  L ", "  R ").Replace(was)
		case kind%8 == 3 && strings.HasPrefix(was, "  from "):
			lines[i] = "  from Z9"
		case kind%8 == 4 && cue: // a clause twice
			lines[i] = strings.Replace(was, "as written", was[strings.Index(was, "with "):], 1)
		case kind%8 == 5 && strings.Contains(was, " | ") && !strings.Contains(was, "1 2 3 4"): // too fast
			lines[i] = strings.Replace(was, " | ", " | 1 1e 1& 1a 2 2e 2& 2a 3 3e 3& 3a 4 4e 4& 4a | ", 1)
		case kind%8 == 6 && cue: // strokes that nobody plays
			lines[i] = "  # " + was
		case kind%8 == 7 && strings.Contains(was, " | "):
			lines[i] = was + " \"loud"
		default:
			continue
		}
		if lines[i] != was {
			return
		}
	}
}

func markName(n int) string {
	if n <= 26 {
		return string(rune('A' + n - 1))
	}
	return fmt.Sprintf("%c%d", 'A'+n%26, n/26)
}

// marked is a piece of so many marks with a cue at each.
func marked(marks int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "title \"Marks\"\nmeter 4/4\ntempo 80\nbars %d\n", marks*2)
	for i := 1; i <= marks; i++ {
		fmt.Fprintf(&b, "mark %s at %d\n", markName(i), i*2-1)
	}
	b.WriteString("\nplayer Nell\n")
	for i := 1; i <= marks; i++ {
		fmt.Fprintf(&b, "  from %s\n  %s | %s | -\n", markName(i), setups[0].cues[0], figures[i%len(figures)])
	}
	return b.String()
}
