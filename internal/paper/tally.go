package paper

import (
	"fmt"

	"thwart/internal/pdf"
)

// tallyLines is how many lines a tally sheet has: one for each hour of a long day.
const tallyLines = 10

// tally prints the sheet for boats that were met and not looked at: strokes by the hour, and the sums, which are keyed in.
func (s *sheet) tally() {
	y := s.y
	base := y + boxH - 1.8
	at := s.label(2, margin, base, "day")
	at = s.day(at+2, y) + 6
	at = s.label(3, at, base, "to")
	s.clock(at+2, y)
	s.y = y + boxH + 6
	s.lines(margin, s.width(), pdf.Sans, 9.5, "A stroke for each boat that nobody looked at, in the line of the hour; every fifth across the four before. "+
		"So the hours stay honest: a day on which half the boats went by is not a day on which none did. A boat that was looked at has a sheet of its own.")
	s.y += 4
	keys := []string{"passedBy", "refused", "turnedAway"}
	hourW := 20.0
	w := (s.width() - hourW) / float64(len(keys))
	row := (s.bottom() - s.y - 34) / tallyLines
	x := func(i int) float64 { return margin + hourW + float64(i)*w }
	s.d.Box(margin, s.y, s.width(), bandMM+2.6, band)
	s.d.Text(margin+1.5, s.y+3.9, "hour from", pdf.Style{Font: pdf.Sans, SizePt: 8, Color: soft})
	says := []string{"not stopped", "no look, no record of its own", "turned away before a look"}
	for i, k := range keys {
		s.label(4+i, x(i)+1.5, s.y+3.6, k)
		s.d.Text(x(i)+4.8, s.y+6.8, says[i], pdf.Style{Font: pdf.Sans, SizePt: 7, Color: soft})
	}
	s.y += bandMM + 2.6
	for range tallyLines {
		s.combs(margin+3, s.y+(row-boxH)/2, "##")
		for i := range keys {
			s.blank(x(i), s.y, w, row)
		}
		s.d.Line(margin, s.y+row, margin+hourW, s.y+row, 0.2, rule)
		s.y += row
	}
	s.y += 3
	s.d.Text(margin, s.y+boxH-1.8, "Sums", pdf.Style{Font: pdf.SansBold, SizePt: 10, Color: ink})
	for i := range keys {
		s.combs(x(i)+1.5, s.y, "###")
		s.d.Text(x(i)+1.5+3*comb+2, s.y+boxH-1.8, fmt.Sprintf("key as %d", 4+i), pdf.Style{Font: pdf.Sans, SizePt: 7.5, Color: soft})
	}
	s.y += boxH + 3
}
