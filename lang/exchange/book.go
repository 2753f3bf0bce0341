package exchange

import (
	"archive/zip"
	"bytes"
	"fmt"
	"hash/crc32"
	"slices"
	"strings"
)

// The two formats of tables for programs that calculate are archives of a few
// documents of XML, which are written here as they are: the library that there
// is for one of them costs every verb 1.3 MB and some milliseconds at its start,
// whether it writes a table or not.

// tableName is what the one table in a file is called.
const tableName = "Who plays what"

// maxCell is how many letters a cell may hold to all programs.
const maxCell = 32_767

// packed is an archive of files in their order. The first stands as it is where
// the format wants to be known by it.
func packed(plainFirst bool, files ...[2]string) ([]byte, error) {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for i, f := range files {
		if i == 0 && plainFirst {
			w, err := z.CreateRaw(&zip.FileHeader{Name: f[0], Method: zip.Store, CRC32: crc32.ChecksumIEEE([]byte(f[1])), CompressedSize64: uint64(len(f[1])), UncompressedSize64: uint64(len(f[1]))})
			if err != nil {
				return nil, err
			}
			if _, err := w.Write([]byte(f[1])); err != nil {
				return nil, err
			}
			continue
		}
		w, err := z.Create(f[0])
		if err != nil {
			return nil, err
		}
		if _, err := w.Write([]byte(xmlHead + f[1])); err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return out.Bytes(), err
}

const xmlHead = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n"

// cells hands on each cell of rows, and whether it is a number.
func cells(rows [][]string, row func(n int, cells func(cell func(i int, text string, number bool)))) {
	for n, list := range rows {
		row(n, func(cell func(i int, text string, number bool)) {
			for i, text := range list {
				if letters := []rune(text); len(letters) > maxCell {
					text = string(letters[:maxCell-1]) + "…"
				}
				cell(i, text, n > 0 && slices.Contains(counts, i))
			}
		})
	}
}

// workbook writes rows as a workbook of one sheet (ECMA-376, part 1), the names
// of the columns in sight while one goes down.
func workbook(rows [][]string) ([]byte, error) {
	var b strings.Builder
	last := fmt.Sprintf("%c%d", 'A'+len(rows[0])-1, len(rows))
	b.WriteString(`<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetViews><sheetView workbookViewId="0"><pane ySplit="1" topLeftCell="A2" activePane="bottomLeft" state="frozen"/></sheetView></sheetViews><cols>`)
	for i := range rows[0] {
		fmt.Fprintf(&b, `<col min="%d" max="%d" width="%d" customWidth="1"/>`, i+1, i+1, width(rows, i))
	}
	b.WriteString(`</cols><sheetData>`)
	cells(rows, func(n int, each func(func(int, string, bool))) {
		fmt.Fprintf(&b, `<row r="%d">`, n+1)
		each(func(i int, text string, number bool) {
			at := fmt.Sprintf("%c%d", 'A'+i, n+1)
			switch {
			case text == "":
			case number:
				fmt.Fprintf(&b, `<c r="%s"><v>%s</v></c>`, at, text)
			default:
				fmt.Fprintf(&b, `<c r="%s" t="inlineStr"><is><t xml:space="preserve">%s</t></is></c>`, at, esc(text))
			}
		})
		b.WriteString(`</row>`)
	})
	fmt.Fprintf(&b, `</sheetData><autoFilter ref="A1:%s"/></worksheet>`, last)
	const kind, relation = "application/vnd.openxmlformats-officedocument.spreadsheetml.", "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	return packed(false,
		[2]string{"[Content_Types].xml", `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/>` +
			`<Override PartName="/xl/workbook.xml" ContentType="` + kind + `sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="` + kind + `worksheet+xml"/></Types>`},
		[2]string{"_rels/.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="` + relation + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		[2]string{"xl/workbook.xml", `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="` + relation + `"><sheets><sheet name="` + tableName + `" sheetId="1" r:id="r1"/></sheets></workbook>`},
		[2]string{"xl/_rels/workbook.xml.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="` + relation + `/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`},
		[2]string{"xl/worksheets/sheet1.xml", b.String()})
}

// width is how wide a column is, in letters, so that what stands in it can be
// read.
func width(rows [][]string, column int) int {
	n := 0
	for _, row := range rows {
		n = max(n, len([]rune(row[column])))
	}
	return min(n, 60) + 3
}

// openDocument writes rows as a spreadsheet of one table (OpenDocument 1.3,
// parts 2 and 3).
func openDocument(rows [][]string) ([]byte, error) {
	const (
		kind  = "application/vnd.oasis.opendocument.spreadsheet"
		space = "urn:oasis:names:tc:opendocument:xmlns:"
	)
	var b strings.Builder
	b.WriteString(`<office:document-content xmlns:office="` + space + `office:1.0" xmlns:table="` + space + `table:1.0" xmlns:text="` + space + `text:1.0" office:version="1.3"><office:body><office:spreadsheet>`)
	fmt.Fprintf(&b, `<table:table table:name="%s"><table:table-column table:number-columns-repeated="%d"/>`, tableName, len(rows[0]))
	cells(rows, func(n int, each func(func(int, string, bool))) {
		if n == 0 {
			b.WriteString(`<table:table-header-rows>`)
		}
		b.WriteString(`<table:table-row>`)
		each(func(_ int, text string, number bool) {
			switch {
			case text == "":
				b.WriteString(`<table:table-cell/>`)
			case number:
				fmt.Fprintf(&b, `<table:table-cell office:value-type="float" office:value="%s"><text:p>%s</text:p></table:table-cell>`, text, text)
			default:
				fmt.Fprintf(&b, `<table:table-cell office:value-type="string"><text:p>%s</text:p></table:table-cell>`, esc(text))
			}
		})
		b.WriteString(`</table:table-row>`)
		if n == 0 {
			b.WriteString(`</table:table-header-rows>`)
		}
	})
	b.WriteString(`</table:table></office:spreadsheet></office:body></office:document-content>`)
	return packed(true, [2]string{"mimetype", kind}, [2]string{"content.xml", b.String()},
		[2]string{"META-INF/manifest.xml", `<manifest:manifest xmlns:manifest="` + space + `manifest:1.0" manifest:version="1.3"><manifest:file-entry manifest:full-path="/" manifest:version="1.3" manifest:media-type="` + kind +
			`"/><manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>`})
}
