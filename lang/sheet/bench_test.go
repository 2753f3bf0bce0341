package sheet

import (
	"testing"

	"example.org/handful/lang/check"
)

// BenchmarkSheets makes every sheet of a number of 300 bars for four players,
// from the checked piece; budget 1 s on one core. The number is made up for
// the measurement.
func BenchmarkSheets(b *testing.B) {
	r := checked("bench", long(300))
	for b.Loop() {
		docs := Docs([]*check.Result{r}, Options{})
		pages := 0
		for i := range docs {
			pages += len(docs[i].Pages)
		}
		b.ReportMetric(float64(pages), "pages")
	}
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N), "of-1s")
}

func BenchmarkText(b *testing.B) {
	r := checked("bench", long(300))
	for b.Loop() {
		Text(r, "")
	}
}

func BenchmarkHTML(b *testing.B) {
	r := checked("bench", long(300))
	for b.Loop() {
		HTML(r, "")
	}
}

func BenchmarkPDF(b *testing.B) {
	docs := Docs([]*check.Result{checked("bench", long(300))}, Options{})
	for b.Loop() {
		if _, err := PDF(docs, PDFOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTenThousandBars is the largest piece that sheets are made of.
func BenchmarkTenThousandBars(b *testing.B) {
	r := checked("bench", long(10_000))
	for b.Loop() {
		Docs([]*check.Result{r}, Options{})
	}
}
