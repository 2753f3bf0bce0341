package sheet

import (
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"strings"

	"example.org/handful/lang/check"
)

// HTML is a player's sheets as one page that needs nothing else; for "" it is
// everybody's and the section's.
func HTML(r *check.Result, player string) string {
	paper, _ := PaperNamed("A4")
	return HTMLPage(Docs([]*check.Result{r}, Options{Paper: paper, Player: player}))
}

// HTMLPage is documents in one page of HTML: every page of paper as a
// picture, and below it the same in words and tables for whoever does not see
// it. It prints page by page on the paper the documents are made for.
func HTMLPage(docs []Doc) string {
	var b strings.Builder
	title := "Nothing to print"
	paper := Paper{Name: "A4", W: 595.28, H: 841.89}
	var pages []*Page
	f := standardFaces()
	if len(docs) > 0 {
		f = docs[0].f
	}
	for i := range docs {
		pages = append(pages, docs[i].Pages...)
	}
	if len(docs) > 0 {
		title, paper = docs[0].Piece, docs[0].Paper
		if docs[0].Player != "" {
			title += " – " + docs[0].Player
		}
	}
	style := "\n" + allFaces(f, title, pages) + fmt.Sprintf(htmlStyle, num(paper.W), num(paper.H), num(paper.W), num(paper.H))
	fmt.Fprintf(&b, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta http-equiv=\"Content-Security-Policy\" content=\"%s\">\n", policy(style))
	fmt.Fprintf(&b, "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>%s</title>\n<style>%s</style>\n</head>\n<body>\n", escape(title), style)
	fmt.Fprintf(&b, "<header><h1>%s</h1></header>\n", escape(title))
	if len(docs) > 1 {
		b.WriteString("<nav aria-label=\"Sheets\"><ul>\n")
		for i := range docs {
			fmt.Fprintf(&b, "<li><a href=\"#d%d\">%s</a></li>\n", i+1, escape(docs[i].Heading()))
		}
		b.WriteString("</ul></nav>\n")
	}
	b.WriteString("<main>\n")
	for i := range docs {
		docs[i].section(&b, i+1)
	}
	b.WriteString("</main>\n</body>\n</html>\n")
	return b.String()
}

// policy is what a page may do: show itself, in the one style that it brings
// and with the fonts in that. Nothing is fetched from anywhere, nothing runs
// and nothing is sent, whatever stood in the names that were written into it.
func policy(style string) string {
	sum := sha256.Sum256([]byte(style))
	return "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; font-src data:; base-uri 'none'; form-action 'none'"
}

func (doc *Doc) section(b *strings.Builder, n int) {
	fmt.Fprintf(b, "<section id=\"d%d\" aria-labelledby=\"d%d-h\">\n<h2 id=\"d%d-h\">%s</h2>\n", n, n, n, escape(doc.Heading()))
	for i, p := range doc.Pages {
		id := fmt.Sprintf("d%d-p%d", n, i+1)
		b.WriteString("<figure>\n")
		p.writeSVG(b, svgForm{classes: true, id: id})
		b.WriteString("</figure>\n")
		p.inWords(b, i+1)
	}
	b.WriteString("</section>\n")
}

// inWords is a page without its picture.
func (p *Page) inWords(b *strings.Builder, n int) {
	fmt.Fprintf(b, "<details>\n<summary>%s, in words</summary>\n", escape(p.Title))
	for _, s := range p.Said {
		switch {
		case s.Table != nil:
			s.Table.html(b)
		case s.Heading:
			fmt.Fprintf(b, "<h3>%s</h3>\n", escape(s.Text))
		default:
			fmt.Fprintf(b, "<p>%s</p>\n", escape(s.Text))
		}
	}
	b.WriteString("</details>\n")
}

func (t *Table) html(b *strings.Builder) {
	fmt.Fprintf(b, "<table>\n<caption>%s</caption>\n<thead><tr>", escape(t.Caption))
	for _, h := range t.Head {
		fmt.Fprintf(b, "<th scope=\"col\">%s</th>", escape(h))
	}
	b.WriteString("</tr></thead>\n<tbody>\n")
	for _, r := range t.Rows {
		b.WriteString("<tr>")
		for i, c := range r {
			if i < t.Lead {
				fmt.Fprintf(b, "<th scope=\"row\">%s</th>", escape(c))
			} else {
				fmt.Fprintf(b, "<td>%s</td>", escape(c))
			}
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</tbody>\n</table>\n")
}

// htmlStyle takes the width and height of the paper twice, in points. Inks
// are classes, f for what is filled and s for lines, so that they turn with
// the light; print is always dark on white.
const htmlStyle = `
:root{color-scheme:light dark;--paper:#fff;--ink:#000;--mid:#444;--pale:#8a8a8a;--wash:#dedede;--link:#0b3d91}
@media (prefers-color-scheme:dark){:root{--paper:#101010;--ink:#f4f4f4;--mid:#c4c4c4;--pale:#8a8a8a;--wash:#3a3a3a;--link:#a8c7fa}}
body{margin:0 auto;max-width:60rem;padding:1rem;background:var(--paper);color:var(--ink);font-family:'Handful Sheet','Handful More',Verdana,'DejaVu Sans',sans-serif;line-height:1.45}
h1{font-size:1.6rem;margin:.5rem 0}h2{font-size:1.2rem;margin:2rem 0 .5rem}
a{color:var(--link)}a:focus-visible,summary:focus-visible{outline:3px solid var(--link);outline-offset:2px}
figure{margin:0 0 .5rem;border:1px solid var(--pale);overflow-x:auto}
svg{display:block;width:100%%;height:auto;aspect-ratio:%s/%s}
details{margin:0 0 1.5rem;overflow-x:auto}summary{cursor:pointer;padding:.4rem 0}
table{border-collapse:collapse;margin:.5rem 0 1rem;font-size:.9rem}
caption{text-align:left;font-weight:bold;padding:.2rem 0}
th,td{border:1px solid var(--pale);padding:.2rem .45rem;text-align:left;vertical-align:top;font-weight:normal}
thead th{font-weight:bold}
.f0{fill:none}.f1{fill:var(--ink)}.f2{fill:var(--mid)}.f3{fill:var(--pale)}.f4{fill:var(--wash)}.f5{fill:var(--paper)}
.s1{stroke:var(--ink)}.s2{stroke:var(--mid)}.s3{stroke:var(--pale)}.s4{stroke:var(--wash)}.s5{stroke:var(--paper)}
@page{size:%spt %spt;margin:0}
@media print{
:root{color-scheme:light;--paper:#fff;--ink:#000;--mid:#444;--pale:#8a8a8a;--wash:#dedede}
body{max-width:none;padding:0;margin:0}
header,nav,h2,details{display:none}
figure{border:0;margin:0;overflow:hidden;break-after:page;break-inside:avoid}
section:last-child figure:last-of-type{break-after:auto}
svg{width:100vw;height:100vh;print-color-adjust:exact;-webkit-print-color-adjust:exact}
}
`
