package guide

import (
	"crypto/sha256"
	_ "embed" // the style and the script
	"encoding/base64"
	"fmt"
	"strings"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

//go:embed page/style.css
var style string

//go:embed page/search.js
var script string

// A Page is one file of the site.
type Page struct {
	Path string // below the site's folder, parted by slashes
	HTML string
}

// RulePage is the page of a rule.
func RulePage(rule string) string { return "rules/" + rule + ".html" }

func instrumentPage(id string) string { return "instruments/" + id + ".html" }

func topicPage(name string) string { return name + ".html" }

// pageOf is where something of a kind is told.
func pageOf(kind, name string) string {
	switch kind {
	case "rule":
		return RulePage(name)
	case "instrument":
		return instrumentPage(name)
	case "implement":
		return "implements.html#" + name
	}
	return topicPage(name)
}

// Pages is the whole site. Its pages need nothing else: no network, and but for
// looking words up no script.
func Pages() []Page {
	out := []Page{index(), searchPage(), rulesPage(), instrumentsPage(), implementsPage()}
	all := Topics()
	for i, t := range all {
		s := &shell{path: topicPage(t.Name), title: t.Title, says: t.Says, kind: map[bool]string{true: "Lesson " + fmt.Sprint(i+1), false: "Handbook"}[i < Lessons]}
		if i > 0 {
			s.before = &link{topicPage(all[i-1].Name), all[i-1].Title}
		}
		if i+1 < len(all) {
			s.after = &link{topicPage(all[i+1].Name), all[i+1].Title}
		}
		out = append(out, s.page(t.html(s)))
	}
	rules := check.Rules()
	for i, r := range rules {
		s := &shell{path: RulePage(r.Name), title: r.Name, says: "finds " + r.Finds, kind: "Rule", up: &link{"rules.html", "All rules"}}
		if i > 0 {
			s.before = &link{RulePage(rules[i-1].Name), rules[i-1].Name}
		}
		if i+1 < len(rules) {
			s.after = &link{RulePage(rules[i+1].Name), rules[i+1].Name}
		}
		out = append(out, s.page(ruleBody(r)))
	}
	ins := kit.Standard().Instruments()
	for i, in := range ins {
		s := &shell{path: instrumentPage(in.ID), title: in.Called, says: strings.Join(append([]string{in.ID}, in.Abbrevs...), " · "), kind: "Instrument, " + in.Family, up: &link{"instruments.html", "All instruments"}}
		if i > 0 {
			s.before = &link{instrumentPage(ins[i-1].ID), ins[i-1].Called}
		}
		if i+1 < len(ins) {
			s.after = &link{instrumentPage(ins[i+1].ID), ins[i+1].Called}
		}
		out = append(out, s.page(instrumentBody(in)))
	}
	return out
}

type link struct{ path, text string }

// A shell is what stands around the text of a page.
type shell struct {
	path, title, says, kind string
	up, before, after       *link
	scripts                 string // a script that the page runs
}

// to is the way from this page to another.
func (s *shell) to(path string) string {
	return strings.Repeat("../", strings.Count(s.path, "/")) + path
}

// chapters are what stands at the head of each page.
var chapters = [...]link{
	{"index.html", "Start"}, {"notation.html", "Notation"}, {"rules.html", "Rules"}, {"instruments.html", "Instruments"},
	{"implements.html", "Implements"}, {"questions.html", "Questions"}, {"glossary.html", "Glossary"}, {"cautions.html", "Cautions"}, {"search.html", "Search"},
}

func (s *shell) page(body string) Page {
	var b strings.Builder
	fmt.Fprintf(&b, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta http-equiv=\"Content-Security-Policy\" content=\"%s\">\n", s.policy())
	fmt.Fprintf(&b, "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"color-scheme\" content=\"light dark\">\n<title>%s – Handful handbook</title>\n<style>%s</style>\n</head>\n<body>\n", escape(s.title), style)
	b.WriteString("<a class=\"skip\" href=\"#text\">To the text</a>\n")
	fmt.Fprintf(&b, "<header class=\"masthead\">\n<p class=\"name\"><a href=\"%s\">Handful <span>the handbook</span></a></p>\n<nav aria-label=\"Chapters\"><ul>\n", s.to("index.html"))
	for _, c := range chapters {
		here := ""
		if c.path == s.path || s.up != nil && s.up.path == c.path {
			here = ` aria-current="` + map[bool]string{true: "page", false: "true"}[c.path == s.path] + `"`
		}
		fmt.Fprintf(&b, "<li><a href=\"%s\"%s>%s</a></li>\n", s.to(c.path), here, c.text)
	}
	b.WriteString("</ul></nav>\n</header>\n<main id=\"text\">\n")
	if s.kind != "" {
		fmt.Fprintf(&b, "<p class=\"kind\">%s</p>\n", escape(s.kind))
	}
	fmt.Fprintf(&b, "<h1>%s</h1>\n", escape(s.title))
	if s.says != "" {
		fmt.Fprintf(&b, "<p class=\"lead\">%s</p>\n", escape(s.says))
	}
	b.WriteString(body)
	b.WriteString("</main>\n")
	if s.before != nil || s.after != nil {
		b.WriteString("<nav class=\"turn\" aria-label=\"Neighbouring pages\">\n")
		if s.before != nil {
			fmt.Fprintf(&b, "<a rel=\"prev\" href=\"%s\"><span>before</span> %s</a>\n", s.to(s.before.path), escape(s.before.text))
		}
		if s.after != nil {
			fmt.Fprintf(&b, "<a rel=\"next\" href=\"%s\"><span>after</span> %s</a>\n", s.to(s.after.path), escape(s.after.text))
		}
		b.WriteString("</nav>\n")
	}
	b.WriteString("<footer><p>A verdict is an aid to judgement, never a guarantee. The rules of the house and qualified people come first. All pieces, players and towns are invented.</p></footer>\n")
	if s.scripts != "" {
		fmt.Fprintf(&b, "<script>%s</script>\n", s.scripts)
	}
	b.WriteString("</body>\n</html>\n")
	return Page{s.path, b.String()}
}

// policy is what a page may do: show itself in the style that it brings, and
// run the one script of its own, if it has one. Nothing is fetched or sent.
func (s *shell) policy() string {
	out := "default-src 'none'; style-src '" + sum(style) + "'; "
	if s.scripts != "" {
		out += "script-src '" + sum(s.scripts) + "'; "
	}
	return out + "base-uri 'none'; form-action 'none'"
}

func sum(text string) string {
	h := sha256.Sum256([]byte(text))
	return "sha256-" + base64.StdEncoding.EncodeToString(h[:])
}

func index() Page {
	s := &shell{path: "index.html", title: "Who covers what, with which hand", says: "How to write down a reduced percussion part, have it checked, and put it on the stand."}
	var b strings.Builder
	b.WriteString("<h2>Three lessons of ten minutes</h2>\n<ol class=\"cards\">\n")
	for i, t := range Topics() {
		if i == Lessons {
			b.WriteString("</ol>\n<h2>To look things up</h2>\n<ul class=\"cards\">\n")
		}
		fmt.Fprintf(&b, "<li><a href=\"%s\">%s</a><p>%s</p></li>\n", topicPage(t.Name), escape(t.Title), escape(t.Says))
	}
	cat := kit.Standard()
	for _, e := range [...]struct{ path, title, says string }{
		{"rules.html", fmt.Sprintf("The %d rules", len(check.Rules())), "What each finds, why it matters at the stand, what it stands on, and an example of each."},
		{"instruments.html", fmt.Sprintf("The %d instruments", len(cat.Instruments())), "Ways of playing each and what they cost, how they are done, and a drawing to scale."},
		{"implements.html", fmt.Sprintf("The %d implements", len(cat.Implements())), "Sticks, mallets and beaters, and what each of them plays."},
		{"search.html", "Search", "Every page, and where it has your words."},
	} {
		fmt.Fprintf(&b, "<li><a href=\"%s\">%s</a><p>%s</p></li>\n", e.path, e.title, e.says)
	}
	b.WriteString("</ul>\n")
	return s.page(b.String())
}

// searchPage lists every page. With a script it also looks for words in them;
// without one it is an index, which the browser itself can search.
func searchPage() Page {
	s := &shell{path: "search.html", title: "Search", says: "Every page of the handbook.", scripts: script}
	var b strings.Builder
	b.WriteString("<div id=\"ask\" role=\"search\" hidden>\n<label for=\"words\">Words, or their beginnings; all of them have to be there</label>\n<input id=\"words\" type=\"search\" autocomplete=\"off\" spellcheck=\"false\">\n<p id=\"count\" role=\"status\"></p>\n</div>\n<ul id=\"hits\" class=\"index\">\n")
	for _, e := range Entries() {
		fmt.Fprintf(&b, "<li data-kind=\"%s\" data-words=\"%s\"><a href=\"%s\">%s</a> <span>%s · %s</span></li>\n", e.Kind, escape(bag(e.Text())), pageOf(e.Kind, e.Name), escape(e.Name), e.Kind, escape(e.Says))
	}
	b.WriteString("</ul>\n")
	return s.page(b.String())
}

// bag is every word of a text once.
func bag(text string) string {
	seen := map[string]bool{}
	var out []string
	for _, w := range strings.Fields(fold(text)) {
		if !seen[w] {
			seen[w] = true
			out = append(out, w)
		}
	}
	return strings.Join(out, " ")
}

func rulesPage() Page {
	s := &shell{path: "rules.html", title: "Rules", says: "What a check finds. Errors cannot be done, or lose something written; warnings have a price or a risk; compromises are what the sound pays."}
	var b strings.Builder
	b.WriteString("<ul class=\"index\">\n")
	for _, r := range check.Rules() {
		fmt.Fprintf(&b, "<li>%s<a href=\"%s\"><code>%s</code></a> <span>%s</span></li>\n", badges(r), RulePage(r.Name), r.Name, escape(r.Finds))
	}
	b.WriteString("</ul>\n")
	return s.page(b.String())
}

func badges(r *check.Rule) string {
	var b strings.Builder
	for _, s := range r.Severities {
		fmt.Fprintf(&b, "<span class=\"badge %s\">%s</span> ", s, s)
	}
	return b.String()
}

func ruleBody(r *check.Rule) string {
	var b strings.Builder
	fmt.Fprintf(&b, "<p>%s</p>\n", badges(r))
	for _, sec := range Sections(r) {
		fmt.Fprintf(&b, "<h2>%s</h2>\n", sec.Title)
		for _, para := range strings.Split(strings.TrimSpace(sec.Text), "\n\n") {
			fmt.Fprintf(&b, "<p>%s</p>\n", escape(strings.Join(strings.Fields(para), " ")))
		}
	}
	fmt.Fprintf(&b, "<h2>%s</h2>\n%s<ul class=\"found\">\n", tripsTitle, pre("notation", r.Trips))
	for _, f := range found(r) {
		fmt.Fprintf(&b, "<li>%s</li>\n", escape(f))
	}
	fmt.Fprintf(&b, "</ul>\n<h2>%s</h2>\n%s", passesTitle, pre("notation", r.Passes))
	return b.String()
}

// pre is a block of text as it is written. It can be scrolled with the keys.
func pre(class, text string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "<pre class=\"%s\" tabindex=\"0\"><code>", class)
	for i, line := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		if i > 0 {
			b.WriteByte('\n')
		}
		switch {
		case class == "console" && strings.HasPrefix(line, "$ "):
			fmt.Fprintf(&b, "<b>%s</b>", escape(line))
		case class == "edit" && strings.HasPrefix(line, "-"):
			fmt.Fprintf(&b, "<del>%s</del>", escape(line))
		case class == "edit" && strings.HasPrefix(line, "+"):
			fmt.Fprintf(&b, "<ins>%s</ins>", escape(line))
		case class == "notation" && strings.HasPrefix(strings.TrimSpace(line), "#"):
			fmt.Fprintf(&b, "<i>%s</i>", escape(line))
		default:
			b.WriteString(escape(line))
		}
	}
	b.WriteString("\n</code></pre>\n")
	return b.String()
}

func instrumentsPage() Page {
	s := &shell{path: "instruments.html", title: "Instruments", says: "By family. Each page has the ways of playing it, what they cost, how they are done, and a drawing to scale."}
	var b strings.Builder
	for _, family := range syntax.Families() {
		fmt.Fprintf(&b, "<h2>%s</h2>\n<ul class=\"columns\">\n", family)
		for _, in := range kit.Standard().Instruments() {
			if in.Family == family {
				fmt.Fprintf(&b, "<li><a href=\"%s\">%s</a></li>\n", instrumentPage(in.ID), escape(in.Called))
			}
		}
		b.WriteString("</ul>\n")
	}
	return s.page(b.String())
}

func facts(b *strings.Builder, list []kit.Fact) {
	b.WriteString("<dl class=\"facts\">\n")
	word := ""
	for _, f := range list {
		if f.Word != word {
			fmt.Fprintf(b, "<dt>%s</dt>", f.Word)
			word = f.Word
		}
		fmt.Fprintf(b, "<dd>%s</dd>\n", escape(f.Text))
	}
	b.WriteString("</dl>\n")
}

func instrumentBody(in *kit.Instrument) string {
	var b strings.Builder
	a := kit.Standard().Account(in)
	fmt.Fprintf(&b, "<figure class=\"drawing\">\n<div>%s%s</div>\n<figcaption>Schematic, to scale: measures are the catalogue's, shapes are the family's. From the front beside somebody %g cm tall, with the height at which it is struck; from above with the player's side at the bottom", Front(in), above(in), somebody)
	if n := max(1, in.Members); n == 1 && in.Family != kit.Keyboard {
		b.WriteString(", and dashed how wide the place is that a stroke has to hit")
	}
	if !in.Sized() {
		b.WriteString(". Nothing gives its size: it is drawn as wide as where it is struck")
	}
	b.WriteString(".</figcaption>\n</figure>\n")
	facts(&b, a.Facts)
	b.WriteString("<h2>How it is played</h2>\n<ol class=\"ways\">\n")
	for i, t := range a.Ways {
		says := escape(t.Says)
		if before, costs, ok := strings.Cut(says, "costs: "); ok {
			says = before + "<strong>costs:</strong> " + costs
		}
		usual := ""
		if i == 0 {
			usual = "<em class=\"usual\">the usual way</em> "
		}
		fmt.Fprintf(&b, "<li><p>%s%s</p>\n", usual, says)
		if t.Same {
			b.WriteString("<p class=\"how\">Done as the one above.</p>\n")
		} else {
			for _, line := range t.How {
				if caution, ok := strings.CutPrefix(line, "! "); ok {
					fmt.Fprintf(&b, "<p class=\"how care\"><strong>Caution:</strong> %s</p>\n", escape(caution))
				} else {
					fmt.Fprintf(&b, "<p class=\"how\">%s</p>\n", escape(line))
				}
			}
		}
		b.WriteString("</li>\n")
	}
	b.WriteString("</ol>\n<h2>What may stand for it, and what else there is to know</h2>\n")
	facts(&b, a.Rest)
	return b.String()
}

func implementsPage() Page {
	s := &shell{path: "implements.html", title: "Implements", says: "What strikes: sticks, mallets, beaters, the bare hand."}
	var b strings.Builder
	cat := kit.Standard()
	for _, im := range cat.Implements() {
		fmt.Fprintf(&b, "<section id=\"%s\">\n<h2>%s</h2>\n<p><code>%s</code> %s</p>\n", im.ID, escape(im.Called), im.ID, escape(strings.Join(im.Abbrevs, " · ")))
		facts(&b, cat.AccountOf(im).Facts)
		b.WriteString("</section>\n")
	}
	return s.page(b.String())
}

// html is the topic's text as it stands on a page.
func (t *Topic) html(s *shell) string {
	var b strings.Builder
	for i := range t.nodes {
		t.nodes[i].html(&b, s)
	}
	return b.String()
}

func (n *node) html(b *strings.Builder, s *shell) {
	list := func(tag string) {
		fmt.Fprintf(b, "<%s>\n", tag)
		for _, item := range n.items {
			fmt.Fprintf(b, "<li>%s</li>\n", s.inline(item))
		}
		fmt.Fprintf(b, "</%s>\n", tag)
	}
	switch n.kind {
	case heading:
		fmt.Fprintf(b, "<h%d id=\"%s\">%s</h%d>\n", n.level, anchor(n.text), s.inline(n.text), n.level)
	case bullets:
		list("ul")
	case numbers:
		list("ol")
	case terms:
		b.WriteString("<dl class=\"terms\">\n")
		for _, t := range n.terms {
			fmt.Fprintf(b, "<dt id=\"%s\">%s</dt><dd>%s</dd>\n", anchor(t[0]), s.inline(t[0]), s.inline(t[1]))
		}
		b.WriteString("</dl>\n")
	case caution:
		fmt.Fprintf(b, "<p class=\"care\"><strong>Caution:</strong> %s</p>\n", s.inline(n.text))
	case fenced:
		n.block.html(b, s)
	default:
		fmt.Fprintf(b, "<p>%s</p>\n", s.inline(n.text))
	}
}

// anchor is what a heading is linked to by.
func anchor(text string) string { return strings.ReplaceAll(fold(bare(text)), " ", "-") }

// inline is a line of prose. The name of a rule or an instrument leads to its
// page.
func (s *shell) inline(text string) string {
	var b strings.Builder
	for _, sp := range spans(text) {
		said := escape(sp.text)
		switch sp.kind {
		case notation:
			said = "<code>" + said + "</code>"
			switch {
			case !strings.Contains(sp.text, "-"):
			case check.RuleNamed(sp.text) != nil:
				said = "<a href=\"" + s.to(RulePage(sp.text)) + "\">" + said + "</a>"
			case kit.Standard().Instrument(sp.text) != nil:
				said = "<a href=\"" + s.to(instrumentPage(sp.text)) + "\">" + said + "</a>"
			}
		case stress:
			said = "<em>" + said + "</em>"
		case weight:
			said = "<strong>" + said + "</strong>"
		case linked:
			kind, name, _ := strings.Cut(sp.to, ":")
			said = "<a href=\"" + escape(s.to(pageOf(kind, name))) + "\">" + said + "</a>"
		}
		b.WriteString(said)
	}
	return b.String()
}

func (b *Block) html(w *strings.Builder, s *shell) {
	if b.Kind == "table" {
		tableOf(b.File).html(w, b.File)
		return
	}
	class, said := map[string]string{"handful": "notation", "edit": "edit", "console": "console"}[b.Kind], ""
	switch {
	case b.Kind == "handful" && b.File != "":
		said = "<code>" + escape(b.File) + "</code>"
	case b.Kind == "edit":
		said = "a change in <code>" + escape(b.File) + "</code>"
	}
	w.WriteString("<figure class=\"block\">\n")
	if said != "" {
		fmt.Fprintf(w, "<figcaption>%s</figcaption>\n", said)
	}
	w.WriteString(pre(class, b.Text))
	if len(b.Finds) > 0 {
		w.WriteString("<p class=\"found\">A check finds: ")
		for i, rule := range b.Finds {
			if i > 0 {
				w.WriteString(", ")
			}
			fmt.Fprintf(w, "<a href=\"%s\"><code>%s</code></a>", s.to(RulePage(rule)), rule)
		}
		w.WriteString("</p>\n")
	}
	w.WriteString("</figure>\n")
}

func (t table) html(w *strings.Builder, what string) {
	if len(t.head) == 1 { // one column is a list
		w.WriteString("<ul>\n")
		for _, r := range t.rows {
			fmt.Fprintf(w, "<li>%s</li>\n", escape(r[0]))
		}
		w.WriteString("</ul>\n")
		return
	}
	fmt.Fprintf(w, "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Table: %s\">\n<table>\n<thead><tr>", escape(what))
	for _, h := range t.head {
		fmt.Fprintf(w, "<th scope=\"col\">%s</th>", escape(h))
	}
	w.WriteString("</tr></thead>\n<tbody>\n")
	for _, r := range t.rows {
		w.WriteString("<tr>")
		for i, c := range r {
			if i < t.code || t.head[i] == forExample {
				fmt.Fprintf(w, "<td><code>%s</code></td>", escape(c))
			} else {
				fmt.Fprintf(w, "<td>%s</td>", escape(c))
			}
		}
		w.WriteString("</tr>\n")
	}
	w.WriteString("</tbody>\n</table>\n</div>\n")
}
