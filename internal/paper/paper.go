// Package paper prints the forms that a shift falls back on when no phone works: the sheet for one boat, the tally sheet and the
// wash card. They are made from one protocol and from the same walk that the phone shows, so that fields and stops have the same
// order and numbers on both, and a sheet is keyed in from top to bottom.
//
// Every sheet has a number of its own with a check character ([thwart.SheetNumber]). [Claim] takes the next free numbers from a
// programme's records, so that none is printed twice; [Write] prints. Without numbers the sheets are specimens.
package paper

import (
	"fmt"
	"io"
	"slices"
	"time"

	"thwart"
	"thwart/internal/pdf"
	"thwart/receipt"
	"thwart/unit"
)

// Options say what is printed.
type Options struct {
	Form     thwart.SheetForm
	Protocol thwart.Protocol // tables filled in
	Class    string          // craft class whose walk stands on the boat sheet; for the other forms empty
	First    int             // number of the first sheet; 0 = one specimen without a number
	Count    int
	Units    unit.System // of temperatures on the wash card
	Paper    pdf.Size    // zero = A4
	Made     time.Time
	Name     string // of the programme; may be empty
}

// Sizes of paper that forms are laid out for.
var Sizes = map[string]pdf.Size{"a4": pdf.A4, "letter": pdf.Letter}

// Check reports every option that cannot be taken, so that no number is taken for sheets that cannot be printed.
func (o Options) Check() error {
	var errs thwart.FieldErrors
	need := func(ok bool, field, value, accepted string) {
		if !ok {
			errs = append(errs, thwart.FieldError{Field: field, Value: value, Accepted: accepted})
		}
	}
	need(slices.Contains(thwart.SheetForms, o.Form), "form", string(o.Form), "B, T or W")
	need(!o.Made.IsZero(), "made", "", "the day of printing")
	if o.First != 0 || o.Count > 1 {
		need(o.Count >= 1 && o.Count <= thwart.MaxSheets, "count", fmt.Sprint(o.Count), fmt.Sprintf("1 to %d sheets", thwart.MaxSheets))
		need(o.First >= 0 && o.First+o.Count-1 <= thwart.MaxSheet, "first", fmt.Sprint(o.First), fmt.Sprintf("1 to %d", thwart.MaxSheet))
	}
	if o.Form == thwart.SheetBoat {
		if _, err := walkOf(o.Class); err != nil {
			return err
		}
	} else {
		need(o.Class == "", "class", o.Class, "none: only the sheet for a boat has a walk")
	}
	if o.Form == thwart.SheetWash {
		need(len(o.Protocol.Wash) > 0, "protocol", o.Protocol.ID, "a protocol with a wash table")
	}
	if errs != nil {
		return errs
	}
	return nil
}

// Write prints the sheets. What cannot be taken gives [thwart.FieldErrors]; nothing is written then.
func Write(w io.Writer, o Options) error {
	if o.Units == "" {
		o.Units = unit.Metric
	}
	if o.Paper == (pdf.Size{}) {
		o.Paper = pdf.A4
	}
	if o.First == 0 {
		o.Count = 1
	}
	if err := o.Check(); err != nil {
		return err
	}
	s := &sheet{o: &o, d: pdf.New(pdf.Info{
		Title: titles[o.Form], Subject: "Form to be filled in by hand", Lang: "en", Creator: "thwart", Made: o.Made,
	}, o.Paper)}
	for i := range o.Count {
		number := ""
		if o.First > 0 {
			number = thwart.SheetNumber(o.Form, o.First+i)
		}
		if err := s.page(number); err != nil {
			return err
		}
	}
	return s.d.Write(w)
}

var titles = map[thwart.SheetForm]string{
	thwart.SheetBoat: "One boat", thwart.SheetTally: "Boats not looked at", thwart.SheetWash: "One wash",
}

// Greys only: forms are copied, and printed with what the office has.
var (
	ink  = pdf.Hex("#000000")
	soft = pdf.Hex("#444444")
	rule = pdf.Hex("#777777")
	band = pdf.Hex("#E8E8E8")
)

// Measures of a page in millimetres.
const (
	margin = 12.0
	comb   = 5.4 // width of a box for one figure
	boxH   = 6.2 // height of a box to write in
	tickMM = 3.4 // side of a box to tick
)

// sheet is a page being filled from the top.
type sheet struct {
	o *Options
	d *pdf.Doc
	y float64
}

func (s *sheet) right() float64  { return s.o.Paper.WidthMM - margin }
func (s *sheet) bottom() float64 { return s.o.Paper.HeightMM - 11 }
func (s *sheet) width() float64  { return s.right() - margin }

// page prints one sheet.
func (s *sheet) page(number string) error {
	s.d.Page()
	if err := s.head(number); err != nil {
		return err
	}
	foot := pdf.Style{Font: pdf.Sans, SizePt: 7, Color: soft}
	s.d.Text(margin, s.o.Paper.HeightMM-6, fmt.Sprintf("%s@%s · printed %s · pencil, on dry or waterproof paper", s.o.Protocol.ID, s.o.Protocol.Version, s.o.Made.Format("2 January 2006")), foot)
	foot.Align = pdf.Right
	s.d.Text(s.right(), s.o.Paper.HeightMM-6, "A blank never counts as clean.", foot)
	switch s.o.Form {
	case thwart.SheetBoat:
		return s.boat()
	case thwart.SheetTally:
		s.tally()
	case thwart.SheetWash:
		s.wash()
	}
	return nil
}

// qrMM is the side of the code of a sheet's number, its margin included: modules of about 0.6 mm.
const qrMM = 17.0

// head prints the title, and the sheet's number in letters and as a code.
func (s *sheet) head(number string) error {
	title := titles[s.o.Form]
	s.d.Text(margin, margin+5, title, pdf.Style{Font: pdf.SansBold, SizePt: 17, Color: ink})
	s.d.Bookmark(title, 0, margin)
	under := s.o.Name
	if !s.o.Protocol.Confirmed {
		under = join(under, "rules not confirmed: for practice only")
	}
	s.d.Text(margin, margin+10.5, under, pdf.Style{Font: pdf.Sans, SizePt: 9, Color: soft})
	x := s.right()
	if number != "" {
		code, err := receipt.Picture(number, true)
		if err != nil {
			return err
		}
		x -= qrMM
		s.d.Scene(code, pdf.Grey, x, margin-4, qrMM)
		x -= 3
	} else {
		number = "SPECIMEN"
	}
	s.d.Text(x, margin+5, number, pdf.Style{Font: pdf.MonoBold, SizePt: 17, Color: ink, Align: pdf.Right})
	s.d.Text(x, margin+10.5, "1  "+labels["serial"], pdf.Style{Font: pdf.Sans, SizePt: 8.5, Color: soft, Align: pdf.Right})
	s.y = margin + 15
	return nil
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + " · " + b
}
