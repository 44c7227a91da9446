package paper

import (
	"fmt"
	"math"
	"strings"

	"thwart"
	"thwart/advice"
	"thwart/draw/craft"
	"thwart/internal/pdf"
	"thwart/refdata"
)

// walk is a class with the walk that the phone shows for it when nothing about the craft was changed.
type walk struct {
	name  string
	setup thwart.Setup
	plan  advice.RoundPlan
}

func walkOf(class string) (walk, error) {
	setup, err := advice.UsualSetup(class)
	if err != nil {
		return walk{}, err
	}
	places, err := advice.Places(setup)
	if err != nil {
		return walk{}, err
	}
	plan, err := advice.Round(places, setup, advice.RoundOptions{})
	c, _ := refdata.CraftClassByID(setup.Class)
	return walk{c.Name, setup, plan}, err
}

// boat prints the fields of one boat in the order in which they are keyed in.
func (s *sheet) boat() error {
	w, err := walkOf(s.o.Class)
	if err != nil {
		return err
	}
	s.asked(w.name)
	finds := findsOf(len(w.plan.Stops))
	rest := restHeight(finds)
	if err := s.stops(&w, s.bottom()-rest-s.y); err != nil {
		return err
	}
	s.y = s.bottom() - rest
	s.found(finds)
	s.outcome()
	s.strip()
	return nil
}

// asked prints what is noted before the walk.
func (s *sheet) asked(class string) {
	const first = boxH + 3.6 // a row with small words below
	x, y := margin, s.y
	base := func() float64 { return y + boxH - 1.8 }
	at := s.label(2, x, base(), "day")
	at = s.day(at+2, y) + 5
	at = s.label(3, at, base(), "from")
	at = s.clock(at+2, y) + 5
	at = s.label(4, at, base(), "to")
	s.clock(at+2, y)
	y += first
	at = s.label(5, x, base(), "craft")
	at += 2 + s.d.Text(at+2, base(), class, pdf.Style{Font: pdf.SansBold, SizePt: 10, Color: ink})
	s.d.Text(s.right(), base(), "another kind of craft: take its own sheet", pdf.Style{Font: pdf.Sans, SizePt: 8, Color: soft, Align: pdf.Right})
	y += boxH + 0.6
	at = s.label(6, x, base(), "water")
	s.blank(at+2, y, 66, boxH)
	at = s.label(7, at+72, base(), "out")
	s.day(at+2, y)
	y += first
	mid := y + boxH/2 - 0.6
	at = s.label(8, x, mid+1.2, "stay")
	at = s.ticks(at+2, mid, 8.5, "day use", "moored or slip", "not sure") + 3
	at = s.label(9, at, mid+1.2, "plugs")
	at = s.ticks(at+2, mid, 8.5, "yes", "no") + 3
	at = s.label(10, at, mid+1.2, "drive")
	s.ticks(at+2, mid, 8.5, "yes", "no")
	s.y = y + boxH
}

// Heights of the parts below the walk.
const (
	findMM   = 6.4
	outMM    = 9.0
	stripMM  = 12.0
	restRow  = 7.4
	findHead = 3.6
	headRow  = 5.2
	minStop  = 2.9
	mostStop = 6.0
)

// findsOf is how many lines for finds stand below a walk of so many stops.
func findsOf(stops int) int {
	if stops > 76 {
		return 3
	}
	return 4
}

func restHeight(finds int) float64 {
	return 2*restRow + bandMM + findHead + float64(finds)*findMM + outMM + stripMM
}

// columns are how many columns the stops take.
func columnsOf(stops int) int {
	switch {
	case stops <= 22:
		return 1
	case stops <= 84:
		return 2
	}
	return 3
}

// stops prints the walk: every stop with its number, and three boxes so that a blank is no answer. The picture of the craft stands
// above where there is room for it.
func (s *sheet) stops(w *walk, height float64) error {
	first := ""
	for i, f := range w.plan.First {
		if i > 0 {
			first += " "
		}
		first += f.Say
	}
	top := s.y
	if first != "" {
		s.y += 0.4
		s.lines(margin, s.width(), pdf.SansBold, 8, "First: "+first)
		s.y += 1.2
	}
	cols := columnsOf(len(w.plan.Stops))
	rows := int(math.Ceil(float64(len(w.plan.Stops)) / float64(cols)))
	left := height - (s.y - top) - headRow
	// the craft in profile, if rows keep a good height beside it
	if spare := left - float64(rows)*4.6; spare > 30 {
		scene, err := craft.Draw(w.setup, craft.Options{View: craft.Side})
		if err != nil {
			return err
		}
		width := min(s.width(), min(spare, 48)*scene.Width/scene.Height)
		tall := s.d.Scene(scene, pdf.Grey, margin+(s.width()-width)/2, s.y, width)
		s.y += tall + 1
		left -= tall + 1
	}
	step := min(left/float64(rows), mostStop)
	if step < minStop {
		return thwart.FieldErrors{{Field: "class", Value: w.setup.Class, Accepted: fmt.Sprintf("a class whose %d stops fit on one page of this paper", len(w.plan.Stops))}}
	}
	colW := (s.width() - float64(cols-1)*3) / float64(cols)
	if cols == 1 {
		colW = 125 // boxes near their words
	}
	for c := range cols {
		x := margin + float64(c)*(colW+3)
		s.stopColumn(x, colW, step, w.plan.Stops[min(c*rows, len(w.plan.Stops)):min((c+1)*rows, len(w.plan.Stops))])
	}
	s.y += headRow + float64(rows)*step
	return nil
}

// answers are the three boxes of a stop.
var answers = []string{"nothing", "found", "not\nchecked"}

func (s *sheet) stopColumn(x, width, step float64, stops []advice.RoundStop) {
	const gap = 9.0 // from box to box
	boxes := x + width - 2*gap - 6.5
	for i, a := range answers {
		lines := strings.Split(a, "\n")
		for k, l := range lines {
			s.d.Text(boxes+float64(i)*gap+1.6, s.y+headRow-0.9-2.2*float64(len(lines)-1-k), l, pdf.Style{Font: pdf.Sans, SizePt: 6, Color: soft, Align: pdf.Middle})
		}
	}
	side := min(3.2, step-0.5)
	y := s.y + headRow
	for i, st := range stops {
		if i > 0 && stops[i-1].Station != st.Station {
			s.d.Line(x, y, x+width, y, 0.12, rule)
		}
		base := y + step/2 + 1.05
		s.d.Text(x+5, base, fmt.Sprint(st.Number), pdf.Style{Font: pdf.SansBold, SizePt: 8, Color: ink, Align: pdf.Right})
		text, size := fit(pdf.Sans, 8, 6.25, boxes-x-7.5, st.Name)
		s.d.Text(x+6.5, base, text, pdf.Style{Font: pdf.Sans, SizePt: size, Color: ink})
		for k := range answers {
			s.d.Frame(boxes+float64(k)*gap, y+(step-side)/2, side, side, 0.25, ink)
		}
		y += step
	}
}

// found prints what is noted after the walk.
func (s *sheet) found(finds int) {
	mid := s.y + restRow/2
	at := s.label(11, margin, mid+1.2, "rest")
	at = s.ticks(at+2, mid, 8.5, "yes", "no")
	s.d.Text(at+1, mid+1.1, "yes: every stop with a tick under “nothing”", pdf.Style{Font: pdf.Sans, SizePt: 7.5, Color: soft})
	s.y += restRow
	mid = s.y + restRow/2
	at = s.label(12, margin, mid+1.2, "unchecked")
	at += 2
	for range 8 {
		at = s.combs(at, mid-boxH/2, "##") + 1.6
	}
	s.d.Text(at+1, mid+1.1, "their numbers", pdf.Style{Font: pdf.Sans, SizePt: 7.5, Color: soft})
	s.y += restRow
	s.band(13, "found", "one line for each thing; more things than lines: a second sheet")
	cols := s.findColumns()
	head := pdf.Style{Font: pdf.Sans, SizePt: 6.5, Color: soft}
	for _, c := range []struct {
		x    float64
		word string
	}{{cols[0], "stop"}, {cols[1], "what"}, {cols[2], "how much"}, {cols[3] - 5, "all taken off"}} {
		s.d.Text(c.x, s.y+2.7, c.word, head)
	}
	s.y += findHead
	for range finds {
		mid := s.y + findMM/2 - 0.2
		s.combs(cols[0], s.y, "##")
		s.ticks(cols[1], mid, 7, Matters...)
		s.ticks(cols[2], mid, 7, Amounts...)
		s.ticks(cols[3], mid, 7, "")
		s.y += findMM
	}
}

func (s *sheet) findColumns() [4]float64 {
	return [4]float64{margin, margin + 2*comb + 2.5, s.right() - 65, s.right() - 9}
}

// Matters and Amounts are the words of a find, in the order in which the screen lists them.
var (
	Matters = []string{"plant", "attached", "loose", "mud", "water", "egg", "bait", "other"}
	Amounts = []string{"1", "2–10", "11–100", ">100"}
)

// outcome prints the five plates.
func (s *sheet) outcome() {
	s.d.Line(margin, s.y+0.4, s.right(), s.y+0.4, 0.4, ink)
	mid := s.y + outMM/2 + 0.4
	at := s.label(14, margin, mid+1.2, "outcome") + 4
	for _, o := range thwart.Outcomes {
		s.blank(at, mid-2.4, 4.8, 4.8)
		at += 6.2
		at += s.d.Text(at, mid+1.6, advice.Plate(o), pdf.Style{Font: pdf.SansBold, SizePt: 11, Color: ink}) + 5
	}
	s.y += outMM
}

// strip prints what is cut off and destroyed once it is keyed: only its mark is kept.
func (s *sheet) strip() {
	s.d.Dashed(margin, s.y+0.8, s.right(), s.y+0.8, 0.25, soft)
	y := s.y + 3
	at := s.label(15, margin, y+boxH-1.8, "mark")
	at = s.combs(at+2, y, "##########")
	x := at + 3
	for i, l := range pdf.Wrap(pdf.Sans, 7.5, s.right()-x, "Only where the programme asks for it. Cut off and destroy this strip once it is keyed: the number is not kept, only a mark that cannot be read back.") {
		s.d.Text(x, y+2.2+3.2*float64(i), l, pdf.Style{Font: pdf.Sans, SizePt: 7.5, Color: soft})
	}
	s.y += stripMM
}
