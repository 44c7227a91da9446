package report

import (
	"fmt"
	"html"
	"io"
	"strings"

	"thwart/draw"
)

const style = `
:root{--ink:#14202B;--paper:#FBFAF6;--slate:#4A5A66;--faint:#C9CFD0;--lake:#0B5C7A;--tint:#EEF2F1}
*{box-sizing:border-box}
html{background:var(--paper);color:var(--ink);font:1.0625rem/1.6 "Thwart Serif",Georgia,"Times New Roman",serif}
body{margin:0 auto;max-width:56rem;padding:2rem 1.25rem 4rem}
h1,h2,caption,figcaption,nav,th,.number,.small,.missing,header p{font-family:"Atkinson Hyperlegible",system-ui,-apple-system,"Segoe UI",sans-serif}
h1{font-size:2.25rem;line-height:1.15;margin:1.5rem 0 .25rem}
h2{font-size:1.5rem;line-height:1.25;border-top:2px solid var(--ink);margin:3rem 0 1rem;padding-top:.75rem}
p{max-width:40rem}
header p{margin:.1rem 0;color:var(--slate)}
.lead{font-size:1.3125rem;line-height:1.45;max-width:46rem}
.small,.missing,figcaption{font-size:.9375rem;color:var(--slate);max-width:46rem}
.missing{background:var(--tint);border-left:4px solid var(--slate);color:var(--ink);padding:.75rem 1rem}
a{color:var(--lake)}
a:focus-visible{outline:3px solid var(--ink);outline-offset:2px}
.skip{position:absolute;left:-99rem}
.skip:focus{position:static}
nav ol{columns:2 18rem;padding-left:1.25rem}
.numbers{display:grid;grid-template-columns:repeat(auto-fit,minmax(13rem,1fr));gap:1rem 1.5rem;margin:1.5rem 0;padding:0;list-style:none}
.number{border-top:1px solid var(--faint);padding-top:.5rem}
.number b{display:block;font-size:2.25rem;line-height:1.1}
.number span{display:block}
.number span+span{color:var(--slate);font-size:.9375rem}
figure{margin:1.75rem 0}
figure svg{width:100%;height:auto;display:block}
.scroll{overflow-x:auto;margin:1.5rem 0}
.scroll:focus-visible{outline:3px solid var(--ink)}
table{border-collapse:collapse;width:100%;font-size:.9375rem;font-variant-numeric:tabular-nums lining-nums}
caption{font-weight:700;text-align:left;padding-bottom:.5rem}
th,td{padding:.35rem .75rem .35rem 0;text-align:left;vertical-align:top;border-bottom:1px solid var(--faint)}
thead th{border-bottom:2px solid var(--ink);color:var(--slate);vertical-align:bottom}
tbody th{font-weight:400;font-family:inherit}
.n{text-align:right}
footer{border-top:1px solid var(--faint);margin-top:3rem;color:var(--slate);font-size:.9375rem}
@media print{nav,.skip{display:none}h2{break-after:avoid}figure,tr{break-inside:avoid}}
`

// HTML writes the document as one page that stands by itself: headings in order, tables with captions and heads, drawings with
// words for whoever cannot see them.
func (doc *Document) HTML(w io.Writer) error {
	h := &page{doc: doc}
	h.head()
	for i := range doc.Sections {
		h.section(&doc.Sections[i], i)
	}
	h.out.WriteString("</main>\n<footer>")
	for _, c := range doc.Colophon {
		h.tag("p", c)
	}
	h.out.WriteString("</footer>\n</body>\n</html>\n")
	_, err := io.WriteString(w, h.out.String())
	return err
}

type page struct {
	doc  *Document
	out  strings.Builder
	pics int
}

func (h *page) tag(name, text string) {
	tag, _, _ := strings.Cut(name, " ")
	fmt.Fprintf(&h.out, "<%s>%s</%s>\n", name, html.EscapeString(text), tag)
}

func (h *page) head() {
	d := h.doc
	fmt.Fprintf(&h.out, "<!doctype html>\n<html lang=\"%s\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\n<title>%s: %s</title>\n<style>%s</style>\n</head>\n<body>\n",
		html.EscapeString(d.Lang), html.EscapeString(d.Title), html.EscapeString(d.Subtitle), style)
	fmt.Fprintf(&h.out, "<a class=\"skip\" href=\"#main\">%s</a>\n<header>\n", html.EscapeString(d.words.t("Skip to the report")))
	for _, l := range d.Letterhead {
		h.tag("p", l)
	}
	h.tag("h1", d.Title)
	h.tag("p", d.Subtitle)
	if d.demo {
		fmt.Fprintf(&h.out, "<p><strong>%s</strong></p>\n", html.EscapeString(d.words.t(invented)))
	}
	h.out.WriteString("</header>\n")
	if len(d.Sections) > 2 {
		fmt.Fprintf(&h.out, "<nav aria-label=\"%s\">\n<ol>\n", html.EscapeString(d.words.t("Contents")))
		for i := range d.Sections {
			s := &d.Sections[i]
			fmt.Fprintf(&h.out, "<li><a href=\"#%s\">%s</a></li>\n", html.EscapeString(s.ID), html.EscapeString(s.Title))
		}
		h.out.WriteString("</ol>\n</nav>\n")
	}
	h.out.WriteString("<main id=\"main\">\n")
}

func (h *page) section(s *Section, _ int) {
	fmt.Fprintf(&h.out, "<section aria-labelledby=\"%s\">\n<h2 id=\"%s\">%s</h2>\n", html.EscapeString(s.ID), html.EscapeString(s.ID), html.EscapeString(s.Title))
	for _, b := range s.Blocks {
		h.block(b)
	}
	h.out.WriteString("</section>\n")
}

func (h *page) block(b Block) {
	switch x := b.(type) {
	case Lead:
		h.tag(`p class="lead"`, x.Text)
	case Para:
		h.tag("p", x.Text)
	case Small:
		h.tag(`p class="small"`, x.Text)
	case Missing:
		h.tag(`p class="missing"`, x.Text)
	case List:
		h.out.WriteString("<ul>\n")
		for _, i := range x.Items {
			if i != "" {
				h.tag("li", i)
			}
		}
		h.out.WriteString("</ul>\n")
	case Numbers:
		h.out.WriteString("<ul class=\"numbers\">\n")
		for _, n := range x.Items {
			fmt.Fprintf(&h.out, "<li class=\"number\"><b>%s</b><span>%s</span><span>%s</span></li>\n", html.EscapeString(n.Value), html.EscapeString(n.Label), html.EscapeString(n.Note))
		}
		h.out.WriteString("</ul>\n")
	case Picture:
		h.picture(x)
	case Table:
		h.table(&x)
	}
}

func (h *page) picture(p Picture) {
	if p.Scene == nil {
		return
	}
	h.pics++
	s := *p.Scene
	s.Desc = p.Alt
	h.out.WriteString("<figure>\n" + s.SVG(draw.Style{Colour: draw.Printed, ID: fmt.Sprintf("p%d-", h.pics)}) + "\n")
	h.tag("figcaption", p.Caption)
	h.out.WriteString("</figure>\n")
}

func (h *page) table(t *Table) {
	fmt.Fprintf(&h.out, "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"%s\">\n<table>\n<caption>%s</caption>\n<thead>\n<tr>", html.EscapeString(t.Caption), html.EscapeString(t.Caption))
	class := func(i int) string {
		if t.Columns[i].Numeric {
			return ` class="n"`
		}
		return ""
	}
	for i, c := range t.Columns {
		fmt.Fprintf(&h.out, "<th scope=\"col\"%s>%s</th>", class(i), html.EscapeString(c.Head))
	}
	h.out.WriteString("</tr>\n</thead>\n<tbody>\n")
	for _, row := range t.Rows {
		h.out.WriteString("<tr>")
		for i, c := range row {
			if i == 0 {
				fmt.Fprintf(&h.out, "<th scope=\"row\">%s</th>", html.EscapeString(c))
				continue
			}
			fmt.Fprintf(&h.out, "<td%s>%s</td>", class(i), html.EscapeString(c))
		}
		h.out.WriteString("</tr>\n")
	}
	h.out.WriteString("</tbody>\n</table>\n</div>\n")
	if t.Note != "" {
		h.tag(`p class="small"`, t.Note)
	}
}
