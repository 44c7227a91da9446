package paper

import (
	"fmt"
	"slices"

	"thwart"
	"thwart/advice"
	"thwart/internal/pdf"
	"thwart/refdata"
	"thwart/unit"
)

// wash prints the wash card: what to mind, then the steps of the protocol with their targets and room for what was read.
func (s *sheet) wash() {
	y := s.y
	base := func() float64 { return y + boxH - 1.8 }
	at := s.label(2, margin, base(), "boat")
	at = s.combs(at+2, y, "B-#######-#") + 5
	at = s.label(3, at, base(), "day")
	s.day(at+2, y)
	y += boxH + 3.6
	at = s.label(4, margin, base(), "from")
	at = s.clock(at+2, y) + 5
	at = s.label(5, at, base(), "to")
	at = s.clock(at+2, y) + 5
	at = s.label(6, at, base(), "gauge")
	s.combs(at+2, y, "#.#"+degree(s.o.Units))
	s.y = y + boxH + 7
	s.mind()
	s.band(7, "steps", "in this order; a step that cools down or stops begins again; coldest and seconds are keyed")
	rows := advice.WashCard(&s.o.Protocol)
	s.washHead()
	row := min((s.bottom()-s.y-2)/float64(len(rows)), 17)
	for i, r := range rows {
		s.washRow(i+1, &r, row)
	}
}

// degree is the unit that temperatures are written in.
func degree(u unit.System) string {
	if u == unit.US {
		return "°F"
	}
	return "°C"
}

// mind prints the cautions that the methods of the protocol call up, the gravest first, and how fast hot water burns.
func (s *sheet) mind() {
	triggers := []string{"hot_water", "burner", "prepare"}
	var hottest unit.Celsius
	for _, r := range s.o.Protocol.Wash {
		hottest = max(hottest, r.TempC)
		triggers = append(triggers, string(r.Method))
	}
	s.d.Text(margin, s.y+1, "Before the water is hot", pdf.Style{Font: pdf.SansBold, SizePt: 10, Color: ink})
	s.y += 2
	for _, c := range refdata.CautionsFor(&hottest, triggers...) {
		if !slices.Contains(washCautions, c.ID) {
			continue
		}
		top := s.y
		s.lines(margin+3, s.width()-3, pdf.Sans, 8, c.Text)
		s.d.Text(margin, top+3.5, "•", pdf.Style{Font: pdf.SansBold, SizePt: 8, Color: ink})
		s.y += 0.5
	}
	s.y += 1.6
}

// washCautions are the cautions of a wash that can hurt a person; the phone shows all of them.
var washCautions = []string{"scald", "injection", "carbon_monoxide", "fuel_vapour", "propeller", "engine_order", "moving_rig", "under", "electric", "noise"}

var methods = map[thwart.Method]string{
	thwart.MethodHighSpray: "high spray", thwart.MethodLowSpray: "low spray", thwart.MethodFlush: "flush", thwart.MethodFillFlush: "fill and flush",
	thwart.MethodLowOrFlush: "low spray or flush", thwart.MethodEngineFlush: "engine flush", thwart.MethodSoak: "soak",
}

var measured = map[thwart.MeasuredAt]string{
	thwart.AtContact: "on the surface", thwart.AtExit: "in the water that runs out", thwart.AtContactOrExit: "on the surface or in the water that runs out",
	thwart.AtSoak: "in the bath", thwart.AtNozzle: "at the nozzle", thwart.AtInlet: "at the inlet",
}

// reading is the boxes of a temperature: tenths of a degree Celsius, or whole degrees Fahrenheit.
func reading(u unit.System) string {
	if u == unit.US {
		return "###"
	}
	return "##.#"
}

// washColumns are where the boxes of a step stand: three readings, how long, read at the nozzle, not needed.
func (s *sheet) washColumns() (reads [3]float64, held, nozzle, not float64) {
	not = s.right() - 6
	nozzle = not - 9
	held = nozzle - 4 - 3*comb
	x := held - 3
	for i := 2; i >= 0; i-- {
		x -= 3*comb + 2.2
		reads[i] = x
		x -= 2.2
	}
	return reads, held, nozzle, not
}

func (s *sheet) washHead() {
	reads, held, nozzle, not := s.washColumns()
	y := s.y + 4.9
	word := pdf.Style{Font: pdf.Sans, SizePt: 6.5, Color: soft}
	for i, w := range []string{"first ", "last ", "coldest "} {
		s.d.Text(reads[i], y, w+degree(s.o.Units), word)
	}
	s.d.Text(held, y, "held, seconds", word)
	word.Align = pdf.Middle
	for _, c := range []struct {
		x    float64
		a, b string
	}{{nozzle, "at the", "nozzle"}, {not, "not", "needed"}} {
		s.d.Text(c.x+tickMM/2, y-2.2, c.a, word)
		s.d.Text(c.x+tickMM/2, y, c.b, word)
	}
	s.y += 5.8
}

// partNames are the words of the phone's wash screen.
var partNames = map[thwart.Part]string{
	thwart.PartHull: "Hull", thwart.PartTrailer: "Trailer", thwart.PartGimbal: "Gimbal", thwart.PartEngine: "Engine", thwart.PartBallast: "Ballast",
	thwart.PartWell: "Live and bait wells", thwart.PartBilge: "Bilge", thwart.PartGear: "Gear", thwart.PartInside: "Inside",
}

func (s *sheet) washRow(n int, r *thwart.WashRow, height float64) {
	reads, held, nozzle, not := s.washColumns()
	s.d.Line(margin, s.y, s.right(), s.y, 0.15, rule)
	name := partNames[r.Part]
	if r.Risk != "" {
		name += ", " + r.Risk + " risk"
	}
	x := margin + 5.5
	base := s.y + min(height, 15)/2 - 2.4
	s.d.Text(margin+4, base, fmt.Sprint(n), pdf.Style{Font: pdf.SansBold, SizePt: 9.5, Color: ink, Align: pdf.Right})
	x += s.d.Text(x, base, name, pdf.Style{Font: pdf.SansBold, SizePt: 9.5, Color: ink}) + 2.5
	s.d.Text(x, base, target(r, s.o.Units), pdf.Style{Font: pdf.SansBold, SizePt: 9.5, Color: ink})
	how := methods[r.Method] + limits(r, s.o.Units) + "; read " + measured[r.Measured]
	for i, line := range pdf.Wrap(pdf.Sans, 7.5, reads[0]-margin-7.5, how) {
		s.d.Text(margin+5.5, base+3.8+3.1*float64(i), line, pdf.Style{Font: pdf.Sans, SizePt: 7.5, Color: soft})
	}
	top := s.y + (min(height, 15)-boxH)/2 - 0.8
	for _, at := range reads {
		s.combs(at, top, reading(s.o.Units))
	}
	s.combs(held, top, "###")
	s.ticks(nozzle, top+boxH/2, 7, "")
	s.ticks(not, top+boxH/2, 7, "")
	s.y += height
}

func target(r *thwart.WashRow, u unit.System) string {
	if r.UntilExit {
		return u.Temp(r.TempC) + ", until it leaves as hot"
	}
	return fmt.Sprintf("%s for %g s", u.Temp(r.TempC), r.ContactS)
}

// limits says what must not be exceeded.
func limits(r *thwart.WashRow, u unit.System) string {
	out := ""
	if r.PressureMaxBar > 0 {
		out += ", at most " + u.Pressure(r.PressureMaxBar)
	}
	if r.MaxInletC > 0 {
		out += ", going in at " + u.Temp(r.MaxInletC) + " at most"
	}
	return out
}
