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
// it. It prints page by page on the paper the documents are made for. On a screen
// cue sheets are broken anew to its width, and play.
func HTMLPage(docs []Doc) string { return htmlPage(docs, everyView()) }

// HTMLView is the page as it is shown where a view is so many pixels of a browser wide:
// its cue sheets are laid out for that width alone, and not drawn as they are printed.
// Its body says for which widths it is (data-from, data-to).
func HTMLView(docs []Doc, width int) string { return htmlPage(docs, viewOf(width)) }

func htmlPage(docs []Doc, view view) string {
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
	body, script := sections(docs, view)
	style := "\n" + allFaces(f, title, pages) + fmt.Sprintf(htmlStyle, num(paper.W), num(paper.H), num(paper.W), num(paper.H))
	ofBody := ""
	if view.alone {
		style += viewStyle
		ofBody = fmt.Sprintf(` data-from="%d" data-to="%d"`, view.from, view.to)
	}
	b.Grow(len(style) + len(body) + 2*len(script) + 4096)
	fmt.Fprintf(&b, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta http-equiv=\"Content-Security-Policy\" content=\"%s\">\n", policy(style, script))
	fmt.Fprintf(&b, "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>%s</title>\n<style>%s</style>\n</head>\n<body%s>\n", escape(title), style, ofBody)
	fmt.Fprintf(&b, "<header><h1>%s</h1></header>\n", escape(title))
	if len(docs) > 1 {
		b.WriteString("<nav aria-label=\"Sheets\"><ul>\n")
		for i := range docs {
			fmt.Fprintf(&b, "<li><a href=\"#d%d\">%s</a></li>\n", i+1, escape(docs[i].heading()))
		}
		b.WriteString("</ul></nav>\n")
	}
	b.WriteString(body)
	if script != "" {
		fmt.Fprintf(&b, "<script>%s</script>\n", script)
	}
	b.WriteString("</body>\n</html>\n")
	return b.String()
}

// sections is the documents one after the other, and the script that plays those
// that can be played; "" where none can.
func sections(docs []Doc, view view) (body, script string) {
	var b strings.Builder
	b.WriteString("<main>\n")
	plays := &playedPage{Care: []string{cautionClick, cautionHouse}}
	known := &shapes{numbers: map[string]int{}}
	pieces := map[*check.Result]int{}
	screens, room := make([][]screen, len(docs)), 0
	check.Each(len(docs), func(i int) {
		if doc := &docs[i]; doc.plays() {
			screens[i] = doc.part.screens(view)
		}
	})
	for i := range docs {
		room += docs[i].room(screens[i])
	}
	b.Grow(room)
	for i := range docs {
		doc := &docs[i]
		form := svgForm{classes: true, shapes: known}
		if doc.plays() {
			form.strokes, form.changes = doc.part, doc.part.changeNumbers()
			part := doc.playedPartOf(fmt.Sprintf("d%d", i+1), screens[i], view)
			n, ok := pieces[doc.part.res]
			if !ok {
				n = len(plays.Pieces)
				pieces[doc.part.res] = n
				plays.Pieces = append(plays.Pieces, playedOf(doc.part.res))
			}
			part.Piece = n
			plays.Parts = append(plays.Parts, part)
		}
		doc.section(&b, i+1, form, screens[i], view)
	}
	b.WriteString("</main>\n")
	if len(known.list) > 0 {
		known.write(&b)
	}
	if len(plays.Parts) == 0 {
		return b.String(), ""
	}
	fmt.Fprintf(&b, "<script type=\"application/json\" id=\"play\">%s</script>\n", playData(plays))
	return b.String(), playScript
}

// plays says whether it is a cue sheet with something on it.
func (doc *Doc) plays() bool { return doc.part != nil && len(doc.lines) > 0 }

// policy is what a page may do: show itself, in the one style that it brings
// and with the fonts in that, and play, with the one script that it brings.
// Nothing is fetched from anywhere, nothing else runs and nothing is sent,
// whatever stood in the names that were written into it.
func policy(style, script string) string {
	allows := func(text string) string {
		sum := sha256.Sum256([]byte(text))
		return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	rules := "default-src 'none'; style-src " + allows(style) + "; font-src data:; base-uri 'none'; form-action 'none'"
	if script != "" {
		rules += "; script-src " + allows(script)
	}
	return rules
}

// room is about how many bytes a document takes, so that they need not be moved
// over and over.
func (doc *Doc) room(screens []screen) int {
	items := 0
	for _, p := range doc.Pages {
		items += len(p.Items)
	}
	for i := range screens {
		for _, p := range screens[i].doc.Pages {
			items += len(p.Items)
		}
	}
	return 110*items + 4096
}

func (doc *Doc) section(b *strings.Builder, n int, form svgForm, screens []screen, view view) {
	class := ""
	if len(screens) > 0 {
		class = ` class="cues"`
	}
	fmt.Fprintf(b, "<section id=\"d%d\"%s aria-labelledby=\"d%d-h\">\n<h2 id=\"d%d-h\">%s</h2>\n", n, class, n, n, escape(doc.heading()))
	for i := range screens {
		fmt.Fprintf(b, "<div class=\"screen w%d\">\n", screens[i].nth)
		screens[i].write(b, form)
		b.WriteString("</div>\n")
	}
	for i, p := range doc.Pages {
		if len(screens) == 0 || !view.alone {
			form.id = fmt.Sprintf("d%d-p%d", n, i+1)
			b.WriteString("<figure>\n")
			p.writeSVG(b, form)
			b.WriteString("</figure>\n")
		}
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

func (t *table) html(b *strings.Builder) {
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

// viewStyle shows the one layout of a page for a view, however wide that is now.
const viewStyle = `@media screen{.plays:not(.paper) .screen{display:block}}
`

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
figure>svg{display:block;width:100%%;height:auto;aspect-ratio:%s/%s}
.shapes{position:absolute}
.screen,.head,.bar,.told,.change{display:none}
details{margin:0 0 1.5rem;overflow-x:auto}summary{cursor:pointer;padding:.4rem 0}
table{border-collapse:collapse;margin:.5rem 0 1rem;font-size:.9rem}
caption{text-align:left;font-weight:bold;padding:.2rem 0}
th,td{border:1px solid var(--pale);padding:.2rem .45rem;text-align:left;vertical-align:top;font-weight:normal}
thead th{font-weight:bold}
.f0{fill:none}.f1{fill:var(--ink)}.f2{fill:var(--mid)}.f3{fill:var(--pale)}.f4{fill:var(--wash)}.f5{fill:var(--paper)}
.s1{stroke:var(--ink)}.s2{stroke:var(--mid)}.s3{stroke:var(--pale)}.s4{stroke:var(--wash)}.s5{stroke:var(--paper)}
@media screen{
.plays .cues figure{display:none}
.plays.paper .cues figure{display:block}
.plays body{max-width:66rem}
.bar{display:block;position:sticky;top:0;z-index:2;background:var(--paper);border-bottom:2px solid var(--ink);padding:.5rem 0}
.told{display:block}.told p{margin:.3rem 0}
.row{display:flex;flex-wrap:wrap;gap:.4rem .6rem;align-items:center}
.status{margin:.3rem 0 0;min-height:1.45em;white-space:nowrap;overflow:hidden;text-overflow:ellipsis}.pair{display:flex;gap:.4rem;align-items:center}
button,input,select{font:inherit;color:inherit;background:var(--paper);border:1px solid var(--ink);border-radius:4px;padding:.25rem .6rem;min-height:2rem}
input[type=checkbox],input[type=radio]{width:1.2rem;height:1.2rem;min-height:0;accent-color:var(--link)}input[type=range]{padding:0;border:0;accent-color:var(--link);width:9rem}input[type=number]{width:5rem}
button.main{background:var(--ink);color:var(--paper);font-weight:bold;min-width:5.5rem}
button:disabled{color:var(--mid);border-style:dashed}
button:focus-visible,input:focus-visible,select:focus-visible,.change:focus-visible{outline:3px solid var(--link);outline-offset:2px}
.where{font-weight:bold;min-width:6rem}.tempo{display:flex;gap:.4rem;align-items:center}.slide{position:relative;display:inline-flex}
.mark{position:absolute;top:0;bottom:0;width:3px;margin-left:-1px;background:var(--ink);pointer-events:none}
.over .ceiling{font-weight:bold}
.groups{display:flex;flex-wrap:wrap;gap:.6rem}fieldset{border:1px solid var(--pale);min-width:0;flex:1 1 17rem}fieldset label{margin-right:.6rem}
dl{display:grid;grid-template-columns:max-content 1fr;gap:.1rem .8rem;margin:.4rem 0}dd{margin:0}dt{font-weight:bold}
.unseen{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%%)}
.line{display:block;max-width:100%%;height:auto;content-visibility:auto;cursor:pointer;margin:0 auto}
.head{display:block;position:absolute;left:0;top:0;width:3px;background:var(--link);opacity:.55;pointer-events:none;z-index:1}
.head[hidden],.change[hidden],.mark[hidden]{display:none}
.change{display:block;position:fixed;left:0;right:0;bottom:0;z-index:2;max-height:34vh;overflow:auto;background:var(--paper);border-top:2px solid var(--ink);padding:.4rem 1rem}
.change p,.change ol{margin:.2rem 0}.change .now{font-weight:bold;text-decoration:underline}
.only-R [data-hand^=L],.only-L [data-hand^=R]{opacity:.3}
rect.chosen{stroke:var(--link);stroke-width:1.6px}
rect.band1,rect.band2{stroke:var(--ink);stroke-width:1.6px}rect.band2{stroke-dasharray:4 2}
rect.band3.f5,rect.band2.f1,rect.band3.f4{fill:var(--ink)}text.band3{fill:var(--paper)}
rect.band0.f1,rect.band1.f1{fill:var(--ink)}
html{scroll-padding:8rem 0 2rem}
}
@media screen and (max-width:47.4rem){.plays:not(.paper) .w0{display:block}body{padding:.4rem .5rem}.tempo label{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%%)}.tempo input{width:5.5rem}.where{min-width:3.5rem}button{padding:.25rem .45rem}button.main{min-width:4rem}}
@media screen and (min-width:47.5rem) and (max-width:67.4rem){.plays:not(.paper) .w1{display:block}}
@media screen and (min-width:67.5rem){.plays:not(.paper) .w2{display:block}}
@media print{.screen,.bar,.told,.change,.head{display:none}}
@page{size:%spt %spt;margin:0}
@media print{
:root{color-scheme:light;--paper:#fff;--ink:#000;--mid:#444;--pale:#8a8a8a;--wash:#dedede}
body{max-width:none;padding:0;margin:0}
header,nav,h2,details{display:none}
figure{border:0;margin:0;overflow:hidden;break-after:page;break-inside:avoid}
section:last-child figure:last-of-type{break-after:auto}
figure>svg{width:100vw;height:100vh;print-color-adjust:exact;-webkit-print-color-adjust:exact}
}
`
