package report

import (
	"strings"

	"thwart/internal/pdf"
)

// columnWidths gives every column what it needs, numbers first, and the rest to the first.
func (s *setter) columnWidths(t *Table, cell pdf.Style) []float64 {
	out := make([]float64, len(t.Columns))
	rest := s.width()
	const gap = 5.0
	for i, c := range t.Columns {
		if c.Share > 0 {
			out[i] = c.Share * s.width()
			continue
		}
		if i == 0 {
			continue
		}
		w := 0.0
		for _, word := range strings.Fields(c.Head) {
			w = max(w, pdf.Width(pdf.SansBold, 8, word))
		}
		for _, r := range t.Rows {
			w = max(w, pdf.Width(cell.Font, cell.SizePt, r[i]))
		}
		out[i] = min(max(w, 20), s.width()/3) + gap
		rest -= out[i]
	}
	if t.Columns[0].Share == 0 {
		out[0] = max(rest, 25)
	}
	return out
}

func (s *setter) table(t *Table) {
	cell, step := pdf.Style{Font: pdf.Serif, SizePt: 9.6, Color: ink}, 4.5
	if t.Tight {
		cell, step = pdf.Style{Font: pdf.Serif, SizePt: 7.8, Color: ink}, 3.6
	}
	widths := s.columnWidths(t, cell)
	// A table that fits a page is not broken over two.
	whole := 16.0
	for _, row := range t.Rows {
		most := 1
		for i, c := range row {
			most = max(most, len(pdf.Wrap(cell.Font, cell.SizePt, widths[i]-2.5, c)))
		}
		whole += float64(most)*step + 1.6
	}
	if whole > s.bottom()-topMM {
		whole = 34
	}
	s.need(whole)
	s.d.Open(pdf.Grid)
	s.tagged(pdf.Caption, func() { s.d.Text(sideMM, s.y, t.Caption, pdf.Style{Font: pdf.SansBold, SizePt: 9.5, Color: ink}) })
	s.y += 5.5
	s.tagged(pdf.Row, func() { s.tableHead(t, widths, true) })
	for _, row := range t.Rows {
		var lines [][]string
		most := 1
		for i, c := range row {
			l := pdf.Wrap(cell.Font, cell.SizePt, widths[i]-2.5, c)
			lines = append(lines, l)
			most = max(most, len(l))
		}
		h := float64(most)*step + 1.6
		if s.y+h > s.bottom() {
			s.page()
			s.d.Text(sideMM, s.y, t.Caption+" "+s.doc.words.t("(continued)"), pdf.Style{Font: pdf.SansBold, SizePt: 9.5, Color: ink})
			s.y += 5.5
			s.tableHead(t, widths, false)
		}
		x := sideMM
		s.d.Open(pdf.Row)
		for i := range row {
			if i == 0 {
				s.d.OpenHead(false)
			} else {
				s.d.Open(pdf.Cell)
			}
			for k, l := range lines[i] {
				style, at := cell, x
				if t.Columns[i].Numeric {
					style.Align, at = pdf.Right, x+widths[i]
				}
				s.d.Text(at, s.y+float64(k)*step, l, style)
			}
			s.d.Close()
			x += widths[i]
		}
		s.d.Close()
		s.y += h
		s.d.Line(sideMM, s.y-step+0.6, sideMM+s.width(), s.y-step+0.6, 0.12, faint)
	}
	s.d.Close()
	if t.Note != "" {
		s.y += 0.8
		s.text(t.Note, sideMM, s.width(), pdf.Style{Font: pdf.Sans, SizePt: 8, Color: slate}, 3.9)
	}
	s.y += 5
}

// tableHead sets the heads of columns. Where a table goes on over a page they are repeated for the eye alone.
func (s *setter) tableHead(t *Table, widths []float64, first bool) {
	style := pdf.Style{Font: pdf.SansBold, SizePt: 8, Color: slate}
	most := 1
	var lines [][]string
	for i, c := range t.Columns {
		l := pdf.Wrap(style.Font, style.SizePt, widths[i]-2.5, c.Head)
		lines = append(lines, l)
		most = max(most, len(l))
	}
	x := sideMM
	for i := range t.Columns {
		if first {
			s.d.OpenHead(true)
		}
		for k, l := range lines[i] {
			st, at := style, x
			if t.Columns[i].Numeric {
				st.Align, at = pdf.Right, x+widths[i]
			}
			s.d.Text(at, s.y+float64(k+most-len(lines[i]))*3.6, l, st)
		}
		if first {
			s.d.Close()
		}
		x += widths[i]
	}
	s.y += float64(most)*3.6 + 1.4
	s.d.Line(sideMM, s.y-3.4, sideMM+s.width(), s.y-3.4, 0.3, ink)
	s.y += 1.4
}
