package draw

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Style is how a scene is put down as SVG.
type Style struct {
	// Colour gives each role its colour. Nil leaves them to the page's style sheet: the custom properties --ink, --paper and
	// so on, with the colours of [Printed] where a page has none.
	Colour map[Role]string
	Sans   string // families of type; empty = Atkinson Hyperlegible, then what the page has
	Mono   string
	ID     string // begins the ids of hatches, so that two drawings may stand on one page
	Class  string // of the svg element
	WidthM string // such as 180mm, for paper; empty = as wide as its place
}

// Tile is the distance between the lines of a hatch in the scene's units, and their width.
func (h Hatch) Tile() (distance, width float64) {
	if h == WideLines {
		return 12, 1.2
	}
	return 6, 1.2
}

// Printed are the measured colours of each role on paper.
var Printed = map[Role]string{
	Ink: "#14202B", Slate: "#4A5A66", Faint: "#C9CFD0", Paper: "#FBFAF6", Lake: "#0B5C7A", Wash: "#DCEBF0",
	Madder: "#9C2B4E", Reed: "#3F6B3A", Brass: "#8A5A00",
	Step0: "#EEF2F1", Step1: "#C3D6DC", Step2: "#86AFBF", Step3: "#3F7F9B", Step4: "#0B4A63",
}

// SVG writes a scene as one svg element (SVG 1.1). Title and description come first, so that a screen reader says what it is.
// The text is escaped; a scene cannot bring in anything else.
func (s *Scene) SVG(st Style) string {
	w := svgWriter{style: st, hatches: map[[2]string]bool{}}
	var body strings.Builder
	w.items(&body, s.Items)
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s"`, num(s.Width), num(s.Height))
	if st.WidthM != "" {
		fmt.Fprintf(&b, ` width="%s"`, escape(st.WidthM))
	}
	if st.Class != "" {
		fmt.Fprintf(&b, ` class="%s"`, escape(st.Class))
	}
	b.WriteString(` role="img" fill="none">`)
	if s.Title != "" {
		fmt.Fprintf(&b, "<title>%s</title>", escape(s.Title))
	}
	if s.Desc != "" {
		fmt.Fprintf(&b, "<desc>%s</desc>", escape(s.Desc))
	}
	if len(w.order) > 0 {
		b.WriteString("<defs>")
		for _, k := range w.order {
			b.WriteString(w.hatch(Hatch(k[0]), Role(k[1])))
		}
		b.WriteString("</defs>")
	}
	b.WriteString(body.String())
	b.WriteString("</svg>")
	return b.String()
}

type svgWriter struct {
	style   Style
	hatches map[[2]string]bool
	order   [][2]string
}

func (w *svgWriter) items(b *strings.Builder, items []Item) {
	for _, it := range items {
		switch x := it.(type) {
		case Path:
			w.path(b, &x)
		case Mark:
			w.mark(b, &x)
		case Text:
			w.text(b, &x)
		case Group:
			b.WriteString("<g")
			attr(b, "id", x.ID)
			attr(b, "class", x.Class)
			b.WriteString(">")
			if x.Title != "" {
				fmt.Fprintf(b, "<title>%s</title>", escape(x.Title))
			}
			w.items(b, x.Items)
			b.WriteString("</g>")
		}
	}
}

func (w *svgWriter) colour(r Role) string {
	if c, ok := w.style.Colour[r]; ok {
		return c
	}
	if w.style.Colour != nil {
		return Printed[r]
	}
	return "var(--" + string(r) + "," + Printed[r] + ")"
}

func (w *svgWriter) path(b *strings.Builder, p *Path) {
	if len(p.Cmds) == 0 {
		return
	}
	b.WriteString(`<path d="`)
	for _, c := range p.Cmds {
		b.WriteByte(c.Op)
		n := 1
		switch c.Op {
		case 'C':
			n = 3
		case 'Z':
			n = 0
		}
		for i, q := range c.P[:n] {
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(num(q.X) + " " + num(q.Y))
		}
	}
	b.WriteString(`"`)
	w.fill(b, p.Fill, p.Hatch)
	if p.Stroke != None && p.Width > 0 {
		attr(b, "stroke", w.colour(p.Stroke))
		attr(b, "stroke-width", num(p.Width))
		if p.Round {
			b.WriteString(` stroke-linecap="round" stroke-linejoin="round"`)
		}
		if len(p.Dash) > 0 {
			parts := make([]string, len(p.Dash))
			for i, d := range p.Dash {
				parts[i] = num(d)
			}
			attr(b, "stroke-dasharray", strings.Join(parts, " "))
		}
	}
	if p.Opacity > 0 && p.Opacity < 1 {
		attr(b, "opacity", num(p.Opacity))
	}
	b.WriteString("/>")
}

func (w *svgWriter) fill(b *strings.Builder, r Role, h Hatch) {
	switch {
	case r == None:
	case h == Plain:
		attr(b, "fill", w.colour(r))
	default:
		k := [2]string{string(h), string(r)}
		if !w.hatches[k] {
			w.hatches[k] = true
			w.order = append(w.order, k)
		}
		attr(b, "fill", "url(#"+w.hatchID(h, r)+")")
	}
}

func (w *svgWriter) hatchID(h Hatch, r Role) string {
	return escape(w.style.ID) + "hatch-" + string(h) + "-" + string(r)
}

// hatch writes the tile of a hatch, in the scene's units.
func (w *svgWriter) hatch(h Hatch, r Role) string {
	const head = `<pattern id="%s" patternUnits="userSpaceOnUse" width="%s" height="%s"%s>`
	c := escape(w.colour(r))
	line := func(d string) string { return fmt.Sprintf(`<path d="%s" stroke="%s" stroke-width="1.2"/>`, d, c) }
	switch h {
	case Diagonal:
		return fmt.Sprintf(head, w.hatchID(h, r), "6", "6", ` patternTransform="rotate(45)"`) + line("M0 0V6") + "</pattern>"
	case Level:
		return fmt.Sprintf(head, w.hatchID(h, r), "6", "6", "") + line("M0 3H6") + "</pattern>"
	case Cross:
		return fmt.Sprintf(head, w.hatchID(h, r), "6", "6", ` patternTransform="rotate(45)"`) + line("M0 0V6M0 0H6") + "</pattern>"
	case WideLines:
		return fmt.Sprintf(head, w.hatchID(h, r), "12", "12", ` patternTransform="rotate(45)"`) + line("M0 0V12") + "</pattern>"
	}
	return fmt.Sprintf(head, w.hatchID(h, r), "6", "6", "") + fmt.Sprintf(`<circle cx="3" cy="3" r="1.1" fill="%s"/>`, c) + "</pattern>"
}

func (w *svgWriter) mark(b *strings.Builder, m *Mark) {
	p := Path{Stroke: m.Stroke, Fill: m.Fill, Width: m.Width, Cmds: m.Outline()}
	w.path(b, &p)
}

// Outline gives the commands of a mark's shape.
func (m *Mark) Outline() []Cmd {
	x, y, r := m.At.X, m.At.Y, m.R
	var p Pen
	switch m.Shape {
	case Square:
		return Rect(x-r, y-r, 2*r, 2*r)
	case Diamond:
		return p.Move(x, y-r).Line(x+r, y).Line(x, y+r).Line(x-r, y).Close().Cmds()
	case Up:
		h := r * math.Sqrt(3) / 2
		return p.Move(x, y-r).Line(x+h, y+r/2).Line(x-h, y+r/2).Close().Cmds()
	case Bar:
		return p.Move(x-r, y).Line(x+r, y).Cmds()
	}
	return Ellipse(x, y, r, r)
}

const (
	sans = "'Atkinson Hyperlegible',system-ui,sans-serif"
	mono = "'B612 Mono',ui-monospace,monospace"
)

func (w *svgWriter) text(b *strings.Builder, t *Text) {
	family := w.style.Sans
	if family == "" {
		family = sans
	}
	if t.Mono {
		if family = w.style.Mono; family == "" {
			family = mono
		}
	}
	fmt.Fprintf(b, `<text x="%s" y="%s"`, num(t.At.X), num(t.At.Y))
	attr(b, "font-family", family)
	attr(b, "font-size", num(t.Size))
	if t.Bold {
		b.WriteString(` font-weight="700"`)
	}
	if t.Anchor != "" && t.Anchor != Start {
		attr(b, "text-anchor", string(t.Anchor))
	}
	attr(b, "fill", w.colour(t.Role))
	if t.Halo {
		fmt.Fprintf(b, ` paint-order="stroke" stroke="%s" stroke-width="%s" stroke-linejoin="round"`, escape(w.colour(Paper)), num(t.Size/4))
	}
	if t.Turn != 0 {
		fmt.Fprintf(b, ` transform="rotate(%s %s %s)"`, num(t.Turn), num(t.At.X), num(t.At.Y))
	}
	fmt.Fprintf(b, ">%s</text>", escape(t.Text))
}

func attr(b *strings.Builder, name, value string) {
	if value != "" {
		fmt.Fprintf(b, ` %s="%s"`, name, escape(value))
	}
}

var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;")

// escape makes a text safe in SVG; characters that XML cannot hold are left out.
func escape(s string) string {
	clean := strings.Map(func(r rune) rune {
		if r < 0x20 && r != '\t' && r != '\n' && r != '\r' || r == 0xfffe || r == 0xffff || r == 0xfffd {
			return -1
		}
		return r
	}, s)
	return escaper.Replace(clean)
}

// num writes a coordinate to a hundredth; what is no number is drawn at zero rather than spoiling the file.
func num(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "0"
	}
	s := strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64)
	if s == "-0" {
		return "0"
	}
	return s
}
