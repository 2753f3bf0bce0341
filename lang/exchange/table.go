package exchange

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// A TableFormat is one in which a table goes out.
type TableFormat string

// The formats of tables: comma-separated values (RFC 4180), OpenDocument 1.3
// (ISO/IEC 26300) and Office Open XML (ECMA-376).
const (
	CSV  TableFormat = "csv"
	ODS  TableFormat = "ods"
	XLSX TableFormat = "xlsx"
)

// tableHead are the names of a table's columns.
var tableHead = []string{"player", "from bar", "to bar", "from, in print", "to, in print", "instrument", "part", "limb", "with", "fixed", "station", "right cm", "ahead cm", "up cm", "strokes"}

// counts are those of the columns that are numbers; bars in print are names.
var counts = []int{1, 2, 11, 12, 13, 14}

// Table writes who plays what, where and with what as a table: a row for each
// line of a player's text that plays, in order, with the hands and what is in
// them as the checker has found it.
func Table(r *check.Result, as TableFormat) ([]byte, error) {
	rows := [][]string{slices.Clone(tableHead)}
	for _, m := range r.Motions {
		for _, c := range m.Player.Cues {
			if row := tableRow(r.Score, m, c); row != nil {
				rows = append(rows, row)
			}
		}
	}
	switch as {
	case ODS:
		return openDocument(rows)
	case XLSX:
		return workbook(rows)
	}
	return commaSeparated(rows)
}

// commaSeparated writes rows as text. What would be a formula to a program that
// calculates begins with an apostrophe.
func commaSeparated(rows [][]string) ([]byte, error) {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	w.UseCRLF = true
	for _, row := range rows {
		for i, cell := range row {
			if _, err := strconv.ParseFloat(cell, 64); err != nil && strings.ContainsAny(cell[:min(1, len(cell))], "=+-@\t\r") {
				row[i] = "'" + cell
			}
		}
		if err := w.Write(row); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return out.Bytes(), w.Error()
}

// tableRow is the row of a line that plays, or nil of one that does not.
func tableRow(s *score.Score, m *motion.Result, c *score.Cue) []string {
	strokes, from, to := 0, 0, 0
	for i := range c.Strokes {
		if st := &c.Strokes[i]; st.Sounds() {
			if strokes == 0 {
				from = int(st.Bar)
			}
			strokes, to = strokes+1, int(st.Bar)
		}
	}
	if strokes == 0 {
		return nil
	}
	limbs, with := playing(m, c)
	it, station := c.Item, ""
	if it.Station > 0 && it.Station < len(m.Player.Stations) {
		station = m.Player.Stations[it.Station].Name
	}
	name := it.Inst.Name()
	if it.Name != it.Inst.ID {
		name = it.Name
	}
	fixed := ""
	if it.Stands != kit.AnyMount {
		fixed = it.Stands.String()
	}
	cm := func(v float64) string { return strconv.FormatFloat(math.Round(v), 'f', -1, 64) }
	return []string{m.Player.Name, strconv.Itoa(from), strconv.Itoa(to), s.Printed(from), s.Printed(to), name, c.Of, limbs, with,
		fixed, station, cm(it.At.Right), cm(it.At.Ahead), cm(it.At.Up), strconv.Itoa(strokes)}
}

// playing is which limbs play a line, and what they hold for it, in words.
func playing(m *motion.Result, c *score.Cue) (limbs, with string) {
	var all body.Limbs
	var held []string
	for i := range m.Events {
		e := &m.Events[i]
		if e.Cue != c || e.Kind.Stops() {
			continue
		}
		all |= e.Limbs
		for l := range (e.Limbs & body.Hands).Each() {
			if h := strings.TrimPrefix(m.HoldsAt(l, e.T0).Words(), "the "); h != "" && !strings.Contains("\n"+strings.Join(held, "\n")+"\n", "\n"+h+"\n") {
				held = append(held, h)
			}
		}
	}
	var names []string
	for l := range all.Each() {
		names = append(names, fmt.Sprint(l))
	}
	return strings.Join(names, "+"), strings.Join(held, "; ")
}
