package paper

import (
	"fmt"
	"strings"

	"thwart/internal/pdf"
)

// labels are the names of the fields, the same words as on the phone's screen where a sheet is keyed in; a test holds the two
// against each other.
var labels = map[string]string{
	"serial": "Number of the card", "day": "Day", "from": "Began at", "to": "Ended at", "craft": "Kind of craft", "water": "Last water", "out": "Out of it on",
	"stay": "How it lay there", "plugs": "Plugs out", "drive": "Drive lowered", "rest": "All the rest looked at, felt and dry",
	"unchecked": "Stops not checked", "found": "Found", "outcome": "Outcome on the card", "mark": "Registration number",
	"passedBy": "Passed by", "refused": "Said no", "turnedAway": "Left the queue",
	"boat": "Number of the boat’s card", "gauge": "Thermometer, plus or minus", "steps": "Steps",
}

// label writes a field's number and name with the baseline at y, and gives where the text ends.
func (s *sheet) label(n int, x, y float64, key string) float64 {
	s.d.Text(x, y, fmt.Sprint(n), pdf.Style{Font: pdf.SansBold, SizePt: 9, Color: ink})
	at := x + 4.6
	if n < 10 {
		at = x + 3.2
	}
	return at + s.d.Text(at, y, labels[key], pdf.Style{Font: pdf.Sans, SizePt: 9, Color: ink})
}

// combs draws boxes for figures. The pattern has a # for each box; other characters stand between, small. It gives the right end.
func (s *sheet) combs(x, y float64, pattern string) float64 {
	for _, r := range pattern {
		if r == '#' {
			s.d.Frame(x, y, comb, boxH, 0.3, ink)
			x += comb
			continue
		}
		text := string(r)
		x += 0.6 + s.d.Text(x+0.6, y+boxH-1.6, text, pdf.Style{Font: pdf.Sans, SizePt: 9, Color: soft}) + 0.6
	}
	return x
}

// under writes a small word below the middle of a stretch.
func (s *sheet) under(x1, x2, y float64, word string) {
	s.d.Text((x1+x2)/2, y, word, pdf.Style{Font: pdf.Sans, SizePt: 6.5, Color: soft, Align: pdf.Middle})
}

// day draws the boxes of a date, in the order year, month, day, and gives the right end.
func (s *sheet) day(x, y float64) float64 {
	s.under(x, x+4*comb, y+boxH+2.4, "year")
	m := x + 4*comb + 2.8
	s.under(m, m+2*comb, y+boxH+2.4, "month")
	d := m + 2*comb + 2.8
	s.under(d, d+2*comb, y+boxH+2.4, "day")
	return s.combs(x, y, "####-##-##")
}

// clock draws the boxes of a time of day and gives the right end.
func (s *sheet) clock(x, y float64) float64 {
	s.under(x, x+4*comb+3, y+boxH+2.4, "24-hour clock")
	return s.combs(x, y, "##:##")
}

// ticks draws a box to tick before each word and gives the right end; mid is the middle of the boxes.
func (s *sheet) ticks(x, mid float64, sizePt float64, words ...string) float64 {
	for _, w := range words {
		s.d.Frame(x, mid-tickMM/2, tickMM, tickMM, 0.3, ink)
		x += tickMM + 1.1
		x += s.d.Text(x, mid+sizePt*0.125, w, pdf.Style{Font: pdf.Sans, SizePt: sizePt, Color: ink}) + 3.2
	}
	return x
}

// blank draws a box to write in.
func (s *sheet) blank(x, y, w, h float64) { s.d.Frame(x, y, w, h, 0.3, ink) }

// bandMM is the height of a grey band.
const bandMM = 5.2

// band draws a grey band with a field's name and, behind it, how it is filled in.
func (s *sheet) band(n int, key, how string) {
	s.d.Box(margin, s.y, s.width(), bandMM, band)
	end := s.label(n, margin+1.5, s.y+3.7, key)
	s.d.Text(end+4, s.y+3.7, how, pdf.Style{Font: pdf.Sans, SizePt: 8, Color: soft})
	s.y += bandMM
}

// lines writes wrapped text and moves down.
func (s *sheet) lines(x, width float64, font pdf.Font, sizePt float64, text string) {
	for _, line := range pdf.Wrap(font, sizePt, width, text) {
		s.y += sizePt * 0.44
		s.d.Text(x, s.y, line, pdf.Style{Font: font, SizePt: sizePt, Color: ink})
	}
}

// fit gives the largest size of type, at most most, in which a text is no wider than width; where even least is too wide, the
// text is cut.
func fit(font pdf.Font, most, least, width float64, text string) (string, float64) {
	for size := most; size >= least; size -= 0.25 {
		if pdf.Width(font, size, text) <= width {
			return text, size
		}
	}
	runes := []rune(text)
	for len(runes) > 1 && pdf.Width(font, least, string(runes)+"…") > width {
		runes = runes[:len(runes)-1]
	}
	return strings.TrimSpace(string(runes)) + "…", least
}
