package report

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"thwart"
	"thwart/draw"
	"thwart/engine/num"
	"thwart/internal/exchange"
	"thwart/season"
	"thwart/season/figures"
	"thwart/season/plan"
	"thwart/season/spreading"
	"thwart/unit"
)

// Edition is which report is made.
type Edition string

// Editions.
const (
	Whole   Edition = "season"  // the season book
	Launch  Edition = "launch"  // one page for one launch
	Partner Edition = "partner" // one page for one partner
	Board   Edition = "board"   // two pages for a board
)

// Editions lists them.
var Editions = []Edition{Whole, Launch, Partner, Board}

// Risk is what one organism's risk comes to over the season.
type Risk struct {
	Organism string
	// Arriving is expected craft that arrive with it alive aboard, Through those of them that nobody finds.
	Arriving, Through num.Interval
	NotLooked         float64 // passages from waters where nobody looked for it
}

// stopped takes the share that is stopped as known and the number that arrives as not.
func (r Risk) stopped() num.Interval {
	if !(r.Arriving.Mid > 0) {
		return num.Interval{}
	}
	return r.Arriving.Scale(max(0, 1-r.Through.Mid/r.Arriving.Mid))
}

// Traffic is estimated traffic over the season.
type Traffic struct {
	Arrivals num.Interval // craft to launch at all launches, met or not; Lo = Hi: no interval is given
	Between  float64      // passages between waters
	Warnings []string
}

// Skill is what people find, without names.
type Skill struct {
	Class         string // in words
	Found, Trials int
	People        int
	Mean          num.Interval
	Published     float64
}

// Inputs are what a report is made from. What is nil or empty has a reason beside it, which the report tells.
type Inputs struct {
	Season    *figures.Season
	Book      *season.Book
	Programme thwart.Programme
	Edition   Edition
	Language  string // of the words and the numbers, one of [Languages]; empty = en
	Units     unit.System
	Letter    bool
	Demo      bool

	Traffic        *Traffic
	TrafficMissing string
	Risks          []Risk
	RisksMissing   string
	Skills         []Skill
	SkillsMissing  string
	// Choices are plans for next season: fewer hours, as many, more. The middle one has the frontier.
	Choices     []plan.Choice
	PlanMissing string
	// Chosen is the plan that the office has chosen, if it has.
	Chosen     *plan.SeasonPlan
	ChosenName string
	// Years are forecasts of the organism that brings most risk: with the hours as worked, then with next season's plan.
	Years        []*spreading.SpreadReport
	YearsMissing string

	Made     time.Time
	App      string // version of the program
	Data     string // version of the data library
	Seed     uint64
	Earlier  *Published // the numbers of an earlier report, to tell what changed
	Measure  draw.Measure
	Licence  string
	Citation string
}

// maker makes one document.
type maker struct {
	*tongue
	in  Inputs
	s   *figures.Season
	doc *Document
}

func (in Inputs) validate() error {
	var errs thwart.FieldErrors
	if !slices.Contains(Editions, in.Edition) {
		errs = append(errs, thwart.FieldError{Field: "edition", Value: string(in.Edition), Accepted: "season, launch, partner, board"})
	}
	if in.Season == nil || in.Book == nil {
		errs = append(errs, thwart.FieldError{Field: "season", Accepted: "the numbers of a season and its records"})
	}
	if in.Language != "" && !slices.Contains(Languages, in.Language) {
		errs = append(errs, thwart.FieldError{Field: "language", Value: in.Language, Accepted: strings.Join(Languages, ", ")})
	}
	if in.Edition == Launch && in.Season != nil && in.Season.Query.Launch == "" {
		errs = append(errs, thwart.FieldError{Field: "launch", Accepted: "the launch that the page is for"})
	}
	if in.Edition == Partner && in.Season != nil && in.Season.Query.Partner == "" {
		errs = append(errs, thwart.FieldError{Field: "partner", Accepted: "the partner that the page is for"})
	}
	if in.Made.IsZero() {
		errs = append(errs, thwart.FieldError{Field: "made", Accepted: "a time"})
	}
	if in.Measure == nil {
		errs = append(errs, thwart.FieldError{Field: "measure", Accepted: "how wide words are"})
	}
	if len(errs) > 0 {
		return errs
	}
	return nil
}

// Make makes the content of a report.
func Make(in Inputs) (*Document, error) {
	if err := in.validate(); err != nil {
		return nil, err
	}
	name := in.Programme.Name
	s := in.Season
	g := newTongue(in.Language)
	m := &maker{tongue: g, in: in, s: s, doc: &Document{
		words: g,
		Title: name, Lang: g.tag(), Letterhead: in.Programme.Letterhead, Letter: in.Letter, made: g.dateOf(in.Made), creator: "thwart " + in.App, demo: in.Demo,
		OnePage: in.Edition != Whole,
	}}
	if name == "" {
		m.doc.Title = m.t("The programme")
	}
	m.doc.Subtitle = m.f("Season report, %s to %s", m.date(s.From), m.date(s.To))
	m.doc.Colophon = m.colophon()
	switch in.Edition {
	case Whole:
		m.book()
	case Board:
		m.doc.Subtitle = m.f("For the board: %s", m.seasons(s))
		m.board()
	default:
		m.page()
	}
	if len(g.lost) > 0 {
		return nil, fmt.Errorf("the report cannot be made in the language %s: there is no translation of %q", g.lang, g.lost)
	}
	return m.doc, nil
}

func (g *tongue) date(d season.Day) string { return g.dateOf(d.Date()) }

func (g *tongue) seasons(s *figures.Season) string {
	a, b := s.From.Date().Year(), s.To.Date().Year()
	if a == b {
		return g.f("season %d", a)
	}
	return g.f("seasons %d to %d", a, b)
}

func (m *maker) colophon() []string {
	out := []string{
		m.f("Data cut: entry %d of the programme's records.", m.s.Cursor),
		m.f("Program %s, data library %s, seed %d.", m.in.App, m.in.Data, m.in.Seed),
	}
	var rules []string
	for _, r := range m.s.Rules {
		if r.Protocol != "" {
			rules = append(rules, r.Protocol+" ("+m.whole(float64(r.Craft))+")")
		}
	}
	if len(rules) > 0 {
		out = append(out, m.f("Rules and craft judged under each: %s.", m.list(rules)))
	}
	return append(out, m.f("Made %s. The same records, program and seed give the same bytes.", m.doc.made))
}

func (m *maker) section(id, title string, breakBefore bool, blocks ...Block) {
	kept := make([]Block, 0, len(blocks))
	for _, b := range blocks {
		switch x := b.(type) {
		case nil:
			continue
		case Para:
			if x.Text == "" {
				continue
			}
		case Lead:
			if x.Text == "" {
				continue
			}
		case Picture:
			x.Scene = m.drawn(x.Scene)
			b = x
		}
		kept = append(kept, b)
	}
	m.doc.Sections = append(m.doc.Sections, Section{ID: id, Title: title, Blocks: kept, Break: breakBefore})
}

// get finds a figure of the whole season.
func (m *maker) get(id string) figures.Figure { return m.s.Get(id) }

func (m *maker) n(id string) int {
	f := m.get(id)
	if f.Unit == figures.UnitShare {
		return f.X
	}
	return int(f.Value)
}

// cells writes counts of one column with small ones hidden, so that none can be had by taking the others from their sum.
func (g *tongue) cells(counts []int) []string {
	out := exchange.HideSmall(counts)
	for i, c := range out {
		switch c {
		case "<5":
			out[i] = "< 5"
		case "withheld":
			out[i] = g.t("hidden")
		default:
			out[i] = g.whole(float64(counts[i]))
		}
	}
	return out
}

// shareCell writes a share of a row; a share of fewer than five cases is left out, because the count could be had from it.
func (g *tongue) shareCell(f figures.Figure, hidden bool) string {
	if !f.Known || f.N == 0 {
		return "–"
	}
	if hidden || f.X < exchange.SmallCell || f.N-f.X < exchange.SmallCell {
		return "–"
	}
	return g.share(f)
}
