// Package handbook prints the field guide and the lesson sheets: made from the library of craft and organisms and from one
// protocol, in our own words, so that they change when those do.
//
// Start with [Write].
package handbook

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"thwart"
	"thwart/advice"
	"thwart/draw/craft"
	"thwart/internal/pdf"
	"thwart/practice"
	"thwart/refdata"
	"thwart/unit"
)

// Options say which handbook is printed.
type Options struct {
	Protocol thwart.Protocol // tables filled in
	Classes  []string        // craft classes, one sheet each; none = five common ones
	Units    unit.System
	Paper    pdf.Size // zero = A4
	Made     time.Time
	Seed     uint64 // of the lesson's questions
}

// usual are the craft that most ramps see.
var usual = []string{"open_aluminium_fishing", "runabout", "bass_boat", "wake_boat", "canoe_kayak"}

var (
	ink   = pdf.Hex("#14202B")
	slate = pdf.Hex("#4A5A66")
)

// Write prints the handbook. What cannot be taken gives [thwart.FieldErrors]; nothing is written then.
func Write(w io.Writer, o Options) error {
	if o.Made.IsZero() {
		return thwart.FieldErrors{{Field: "made", Accepted: "the day it is printed"}}
	}
	if o.Units == "" {
		o.Units = unit.Metric
	}
	if o.Paper == (pdf.Size{}) {
		o.Paper = pdf.A4
	}
	if len(o.Classes) == 0 {
		o.Classes = usual
	}
	ref := o.Protocol.ID + "@" + o.Protocol.Version
	s := &sheet{o: &o, d: pdf.New(pdf.Info{
		Title: "Field guide", Subject: "Where to look, what it may be, what to do", Lang: "en", Creator: "thwart", Made: o.Made,
	}, o.Paper)}
	s.foot = fmt.Sprintf("%s · data %s · printed %s", ref, refdata.Version(), o.Made.Format("2 January 2006"))
	s.rules()
	for _, class := range o.Classes {
		if err := s.craft(class); err != nil {
			return err
		}
	}
	s.organisms()
	if err := s.lesson(); err != nil {
		return err
	}
	return s.d.Write(w)
}

// sheet is a page being filled from the top.
type sheet struct {
	o    *Options
	d    *pdf.Doc
	y    float64
	head string
	foot string
}

const marginMM = 16.0

func (s *sheet) width() float64 { return s.o.Paper.WidthMM - 2*marginMM }

// page begins a sheet with its title.
func (s *sheet) page(title string) {
	s.head = title
	s.d.Page()
	s.y = marginMM + 6
	s.d.Text(marginMM, s.y, title, pdf.Style{Font: pdf.SansBold, SizePt: 17, Color: ink})
	s.d.Bookmark(title, 0, s.y-6)
	s.d.Line(marginMM, s.y+3, s.o.Paper.WidthMM-marginMM, s.y+3, 0.4, ink)
	s.d.Text(marginMM, s.o.Paper.HeightMM-9, s.foot, pdf.Style{Font: pdf.Sans, SizePt: 8, Color: slate})
	s.d.Text(s.o.Paper.WidthMM-marginMM, s.o.Paper.HeightMM-9, fmt.Sprint(s.d.Pages()), pdf.Style{Font: pdf.Sans, SizePt: 8, Color: slate, Align: pdf.Right})
	s.y += 10
}

// room goes on to a new sheet where less than so many millimetres are left.
func (s *sheet) room(mm float64) {
	if s.y+mm > s.o.Paper.HeightMM-marginMM {
		s.page(strings.TrimSuffix(s.head, ", continued") + ", continued")
	}
}

func (s *sheet) part(title string) {
	s.room(16)
	s.y += 3
	s.d.Text(marginMM, s.y, title, pdf.Style{Font: pdf.SansBold, SizePt: 12, Color: ink})
	s.y += 6
}

func (s *sheet) para(indent float64, font pdf.Font, size float64, text string) {
	for _, line := range pdf.Wrap(font, size, s.width()-indent, text) {
		s.room(5)
		s.d.Text(marginMM+indent, s.y, line, pdf.Style{Font: font, SizePt: size, Color: ink})
		s.y += size * 0.46
	}
	s.y += 1
}

func (s *sheet) row(name, text string) {
	s.room(6)
	s.d.Text(marginMM, s.y, name, pdf.Style{Font: pdf.SansBold, SizePt: 10, Color: ink})
	s.para(42, pdf.Sans, 10, text)
}

// rules says what the protocol in force asks for.
func (s *sheet) rules() {
	p := &s.o.Protocol
	s.page("Field guide: " + p.Title)
	if !p.Confirmed {
		s.para(0, pdf.SansBold, 10, "Nobody of the programme has confirmed these rules against the law in force. For practice only.")
	}
	s.para(0, pdf.Sans, 10, p.Summary)
	s.part("The five verdicts")
	for _, o := range thwart.Outcomes {
		s.row(advice.Plate(o), advice.Say(o))
	}
	s.part("Whatever is not known counts as the worst it could be")
	s.para(0, pdf.Sans, 10, "A place nobody looked at is not clean. A space nobody can see into is wet. A craft whose last water nobody can name comes from the worst. "+
		"A refusal is recorded, never argued, and it is not a pass.")
	if len(p.Wash) > 0 {
		s.part("Hot water")
		s.para(0, pdf.SansBold, 10, "Hot water scalds. Gloves, face shield, nobody else within reach of the spray; engine off and aired before a flush unless its owner runs it in the open.")
		for _, w := range p.Wash {
			name := string(w.Part)
			if w.Risk != "" {
				name += ", " + w.Risk + " risk"
			}
			text := fmt.Sprintf("%s, measured %s", s.o.Units.Temp(w.TempC), measured[w.Measured])
			if w.ContactS > 0 {
				text += fmt.Sprintf(", for %g s without a break", w.ContactS)
			}
			s.row(name, text+".")
		}
	}
}

var measured = map[thwart.MeasuredAt]string{
	thwart.AtContact: "on the surface", thwart.AtExit: "in the water that runs out", thwart.AtContactOrExit: "on the surface or in the water that runs out",
	thwart.AtSoak: "in the bath", thwart.AtNozzle: "at the nozzle", thwart.AtInlet: "at the inlet",
}

// craft is the sheet of one class: its drawing and its walk.
func (s *sheet) craft(class string) error {
	setup, err := advice.UsualSetup(class)
	if err != nil {
		return err
	}
	places, err := advice.Places(setup)
	if err != nil {
		return err
	}
	plan, err := advice.Round(places, setup, advice.RoundOptions{})
	if err != nil {
		return err
	}
	c, _ := refdata.CraftClassByID(setup.Class)
	s.page("Where to look: " + c.Name)
	scene, err := craft.Draw(setup, craft.Options{View: craft.Side, Round: &plan})
	if err != nil {
		return err
	}
	width := s.width()
	if tall := width * scene.Height / scene.Width; tall > 105 {
		width *= 105 / tall
	}
	s.y += s.d.Scene(scene, pdf.White, marginMM+(s.width()-width)/2, s.y-4, width) + 2
	for _, f := range plan.First {
		s.para(0, pdf.SansBold, 10, f.Say)
	}
	for _, st := range plan.Stops {
		s.room(6)
		s.d.Text(marginMM+6, s.y, fmt.Sprint(st.Number), pdf.Style{Font: pdf.SansBold, SizePt: 9, Color: ink, Align: pdf.Right})
		s.para(9, pdf.Sans, 9, st.Name+". "+st.Say)
		for _, caution := range st.Cautions {
			s.para(14, pdf.SansBold, 8.5, caution)
		}
	}
	return nil
}

// organisms lists what can be seen or felt, and how it rides along.
func (s *sheet) organisms() {
	s.page("What it may be")
	s.para(0, pdf.Sans, 10, "Do not name what you cannot tell apart. Write what it is made of and where; photograph it; an attached animal nobody can name counts as a live mussel.")
	for _, o := range refdata.Organisms() {
		var ways, found []string
		for _, st := range refdata.Stages(o.ID) {
			for _, c := range st.Carried {
				if w := ride[c]; !slices.Contains(ways, w) {
					ways = append(ways, w)
				}
			}
			if st.Felt && !slices.Contains(found, "feel") {
				found = append(found, "feel")
			}
			if st.Seen != "no" && !slices.Contains(found, "look") {
				found = append(found, "look")
			}
		}
		if len(found) == 0 {
			found = []string{"no eye or hand finds it: it comes with water or mud"}
		}
		slices.Sort(found)
		s.room(12)
		s.d.Text(marginMM, s.y, o.Common, pdf.Style{Font: pdf.SansBold, SizePt: 10, Color: ink})
		s.d.Text(s.o.Paper.WidthMM-marginMM, s.y, o.Scientific, pdf.Style{Font: pdf.Sans, SizePt: 9, Color: slate, Align: pdf.Right})
		s.y += 4.4
		s.para(4, pdf.Sans, 9.5, "Rides "+strings.Join(ways, ", ")+". To find it: "+strings.Join(found, " and ")+".")
	}
}

var ride = map[refdata.Carriage]string{
	refdata.Attached: "attached to hard parts", refdata.Tangled: "tangled in lines, plants and corners", refdata.InWater: "in water left aboard", refdata.InMud: "in mud",
}

// lesson is a sheet of questions with its answers overleaf.
func (s *sheet) lesson() error {
	q, err := practice.Ask(practice.QuizOrder{Seed: s.o.Seed, Protocol: &s.o.Protocol, Count: 12, At: s.o.Made, US: s.o.Units == unit.US})
	if err != nil {
		return err
	}
	none := make([]int, len(q.Questions))
	for i := range none {
		none[i] = -1
	}
	m, err := q.Mark(none)
	if err != nil {
		return err
	}
	s.page("Lesson sheet: judge for yourself")
	for _, x := range q.Questions {
		s.room(22)
		s.para(0, pdf.SansBold, 10, fmt.Sprintf("%d. %s", x.N, x.Text))
		for i, option := range x.Options {
			s.para(6, pdf.Sans, 10, fmt.Sprintf("%c  %s", 'a'+i, option))
		}
		s.y += 1.5
	}
	s.page("Lesson sheet: answers")
	for _, a := range m.Answers {
		s.para(0, pdf.Sans, 10, fmt.Sprintf("%d. %s. %s", a.N, a.Right, a.Why))
	}
	return nil
}
