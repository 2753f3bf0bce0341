package exchange

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/internal/outside"
	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// Tables for programs that calculate, read by Debian's python3-openpyxl 3.0 and
// python3-odf 1.4, hold cell for cell what the table of comma-separated values
// holds: counts as numbers, and everything else as the text that it is, formulas
// too.
func TestTablesAreReadBackByOthers(t *testing.T) {
	text := "tempo 60\nbars 4\nprinted \"101\" at 1\nplayer \"=1+1 <&> Zoë\"\n  kit\n    snare-drum at right 20 ahead 40\n    triangle clipped at left 30 ahead 50\n" +
		"  R snare-drum with snare-stick | 1 3 | 1\n  from 3\n  L triangle clipped with triangle-beater | 1 | 2 3\n"
	results := []*check.Result{check.Check("x.handful", syntax.Parse(text), check.Options{})}
	for _, file := range examples(t) {
		results = append(results, checked(t, file))
	}
	const xlsx = `
sheet = openpyxl.load_workbook(sys.argv[1]).active
print(json.dumps([["" if c.value is None else ("n" if c.data_type == "n" else "t") + str(c.value) for c in row] for row in sheet.iter_rows()]))`
	const ods = `
from odf.opendocument import load
from odf.table import Table, TableRow, TableCell
out = []
for row in load(sys.argv[1]).spreadsheet.getElementsByType(TableRow):
    cells = []
    for c in row.getElementsByType(TableCell):
        kind = c.getAttribute("valuetype")
        cells.append("" if kind is None else ("n" if kind == "float" else "t") + str(odf.teletype.extractText(c)))
    out.append(cells)
print(json.dumps(out))`
	for _, r := range results {
		plain, err := Table(r, CSV)
		require.NoError(t, err)
		want, err := csv.NewReader(strings.NewReader(string(plain))).ReadAll()
		require.NoError(t, err)
		numbers := map[string]bool{"from bar": true, "to bar": true, "right cm": true, "ahead cm": true, "up cm": true, "strokes": true}
		heads := slices.Clone(want[0])
		for n, row := range want {
			for i, cell := range row {
				switch {
				case cell == "":
				case n > 0 && numbers[heads[i]]:
					row[i] = "n" + cell
				default: // text, without the apostrophe
					row[i] = "t" + strings.TrimPrefix(cell, "'")
				}
			}
		}
		for as, read := range map[TableFormat][2]string{XLSX: {"openpyxl", xlsx}, ODS: {"odf.teletype", ods}} {
			data, err := Table(r, as)
			require.NoError(t, err)
			file := filepath.Join(t.TempDir(), "x."+string(as))
			require.NoError(t, os.WriteFile(file, data, 0o600))
			var got [][]string
			outside.Python(t, read[0], read[1], &got, file)
			assert.Equal(t, want, got, "%s of %s", as, r.Score.Title)
		}
	}
}
