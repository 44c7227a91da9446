package demo

import (
	"fmt"
	"io"
	"strings"
	"time"

	"thwart"
)

// WriteSVG draws the region as it was known at a moment: lakes, launches, names. Waters at risk are inked, waters nobody has
// looked at are hatched, so that "not looked" is never taken for clean.
func (w *World) WriteSVG(out io.Writer, t time.Time) error {
	const perKM, margin = 11.0, 24.0
	wide, high := regionWideKM+2*beltKM, regionHighKM+2*beltKM
	var b strings.Builder
	at := func(p thwart.Point) (float64, float64) {
		q := toPlane(p)
		return margin + (q.x+wide/2)*perKM, margin + (high/2-q.y)*perKM
	}
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.0f" font-family="sans-serif">`, wide*perKM+2*margin, high*perKM+2*margin)
	b.WriteString(`<defs><pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">` +
		`<rect width="7" height="7" fill="#fbfaf6"/><path d="M0 0v7" stroke="#0b5c7a" stroke-width="2"/></pattern></defs>`)
	b.WriteString(`<rect width="100%" height="100%" fill="#fbfaf6"/>`)
	fmt.Fprintf(&b, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="none" stroke="#4a5a66" stroke-dasharray="10 8" stroke-width="2"/>`,
		margin+beltKM*perKM, margin+beltKM*perKM, regionWideKM*perKM, regionHighKM*perKM)
	for i := range w.Waters {
		body := w.Waters[i].Known(t)
		fill := "#dcebf1"
		if body.Others == thwart.StatusNotLooked {
			fill = "url(#hatch)"
		}
		for _, s := range body.Statuses {
			if s.Status.AtRisk() && !s.From.After(t) {
				fill = "#e3c3cd"
			}
		}
		fmt.Fprintf(&b, `<path fill="%s" fill-rule="evenodd" stroke="#0b5c7a" stroke-width="1.6" stroke-linejoin="round" d="`, fill)
		for _, ring := range body.Outline {
			for k, p := range ring {
				x, y := at(p)
				fmt.Fprintf(&b, "%c%.1f %.1f", "ML"[min(k, 1)], x, y)
			}
			b.WriteByte('Z')
		}
		b.WriteString(`"/>`)
	}
	for i := range w.Launches {
		x, y := at(w.Launches[i].Body.At)
		fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="4" fill="#14202b"/><text x="%.1f" y="%.1f" font-size="11" fill="#4a5a66">%s</text>`,
			x, y, x+7, y+4, w.Launches[i].Body.Name)
	}
	for i := range w.Waters {
		x, y := at(w.Waters[i].Body.Centre)
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" font-size="15" font-weight="600" text-anchor="middle" fill="#14202b" stroke="#fbfaf6" stroke-width="3" paint-order="stroke">%s</text>`,
			x, y, w.Waters[i].Body.Name)
	}
	b.WriteString("</svg>\n")
	_, err := io.WriteString(out, b.String())
	return err
}
