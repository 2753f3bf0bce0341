package body

import (
	"embed"
	"encoding/csv"
	"slices"
	"strconv"
	"strings"
	"sync"
)

//go:embed tables/*.csv
var files embed.FS

// tmu is one time measurement unit of MTM-1, in seconds.
const tmu = 0.036

type point struct{ cm, tmu float64 }

type tables struct {
	curves map[string][]point // "R B", "M C": reach and move by case, from the card in centimetres
	codes  map[string]code
}

type code struct {
	tmu    float64
	status string
}

// ReadTables reads the tables that every path asks for, if nobody has.
func ReadTables() {
	card()
	techniques()
}

// card reads the tables once. They are embedded and tested, so a row that
// does not read is left out.
var card = sync.OnceValue(func() tables {
	t := tables{curves: map[string][]point{}, codes: map[string]code{}}
	for _, row := range rows("mtm1-reach-move.csv") {
		if len(row) < 6 || row[2] != "0" || row[3] != "cm" {
			continue
		}
		cm, err1 := strconv.ParseFloat(row[4], 64)
		tmu, err2 := strconv.ParseFloat(row[5], 64)
		if err1 != nil || err2 != nil {
			continue
		}
		for _, c := range strings.Split(row[1], "/") {
			key := row[0] + " " + c
			t.curves[key] = append(t.curves[key], point{cm, tmu})
		}
	}
	for _, points := range t.curves {
		slices.SortFunc(points, func(a, b point) int {
			switch {
			case a.cm < b.cm:
				return -1
			case a.cm > b.cm:
				return 1
			}
			return 0
		})
	}
	for _, row := range rows("mtm1-grasp-release-body.csv") {
		if len(row) < 5 {
			continue
		}
		if tmu, err := strconv.ParseFloat(row[1], 64); err == nil {
			t.codes[row[0]] = code{tmu, row[4]}
		}
	}
	return t
})

func rows(name string) [][]string {
	f, err := files.Open("tables/" + name)
	if err != nil {
		return nil
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	r.FieldsPerRecord = -1
	all, _ := r.ReadAll()
	return all
}

// curve reads a card curve: straight between its rows, its first value below
// the first row, and beyond the last row on along the last two, as the
// method's practitioners extend the card.
func curve(key string, cm float64) (float64, bool) {
	points := card().curves[key]
	if len(points) < 2 {
		return 0, false
	}
	if !(cm > points[0].cm) { // what is no number, too
		return points[0].tmu, true
	}
	i := 1
	for i < len(points)-1 && points[i].cm < cm {
		i++
	}
	a, b := points[i-1], points[i]
	return a.tmu + (b.tmu-a.tmu)*(cm-a.cm)/(b.cm-a.cm), true
}

// reachTMU is MTM-1's reach of a case (A, B, C, D or E) over a distance.
func reachTMU(kind string, cm float64) (float64, bool) { return curve("R "+kind, cm) }

// moveTMU is MTM-1's move of a case (A, B or C) over a distance.
func moveTMU(kind string, cm float64) (float64, bool) { return curve("M "+kind, cm) }

// tmuOf is the value of an MTM-1 code such as G1A, RL1 or TBC1, and whether it
// was seen on the card or is from memory.
func tmuOf(name string) (tmu float64, status string, ok bool) {
	c, ok := card().codes[name]
	return c.tmu, c.status, ok
}

func seconds(name string) float64 { return card().codes[name].tmu * tmu }

func reach(kind string, cm float64) float64 { t, _ := reachTMU(kind, cm); return t * tmu }
func move(kind string, cm float64) float64  { t, _ := moveTMU(kind, cm); return t * tmu }
