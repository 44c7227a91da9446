package flows_test

import (
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"thwart"
	"thwart/advice"
	"thwart/engine/arrivals"
	"thwart/engine/traffic"
	"thwart/refdata"
	"thwart/season"
	"thwart/season/flows"
	"thwart/season/skill"
)

func fitted(t *testing.T) (*season.Book, *flows.Model) {
	t.Helper()
	_, book := demoBook()
	m, err := flows.New(book, flows.Options{Seed: 1})
	if err != nil || m.FlowError() != nil {
		t.Fatal(err, m.FlowError())
	}
	return book, m
}

// noNaN walks a result: JSON would refuse such a number, and a page would show it.
func noNaN(t *testing.T, v any) {
	t.Helper()
	var walk func(reflect.Value, string)
	walk = func(v reflect.Value, at string) {
		switch v.Kind() {
		case reflect.Float64:
			if math.IsNaN(v.Float()) || math.IsInf(v.Float(), 0) {
				t.Errorf("%s is %g", at, v.Float())
			}
		case reflect.Struct:
			for i := range v.NumField() {
				walk(v.Field(i), at+"."+v.Type().Field(i).Name)
			}
		case reflect.Slice, reflect.Array:
			for i := range v.Len() {
				walk(v.Index(i), at)
			}
		case reflect.Pointer:
			if !v.IsNil() {
				walk(v.Elem(), at)
			}
		}
	}
	walk(reflect.ValueOf(v), "")
	if _, err := json.Marshal(v); err != nil {
		t.Error(err)
	}
}

func TestCard(t *testing.T) {
	book, m := fitted(t)
	c := m.Card()
	noNaN(t, c)
	if len(c.Coefficients) != 6 || c.Theta == nil || c.RecordsUsed.Encounters != len(book.Encounters) || c.RecordsUsed.Waters != 42 || c.RecordsUsed.Outside != 6 {
		t.Errorf("%+v", c.RecordsUsed)
	}
	if c.RecordsUsed.FromKnown > c.RecordsUsed.Arriving || c.RecordsUsed.Arriving > c.RecordsUsed.Encounters || c.Craft != float64(c.RecordsUsed.FromKnown-c.RecordsUsed.Back) {
		t.Errorf("records used: %+v, craft %g", c.RecordsUsed, c.Craft)
	}
	sum := 0.0
	for _, b := range c.Fit.Distance {
		sum += b.Observed
	}
	if sum != c.Craft {
		t.Errorf("bands hold %g craft of %g", sum, c.Craft)
	}
	if c.Fit.ResidualSD < 0.9 || c.Fit.ResidualSD > 1.1 || math.Abs(c.Fit.ResidualMean) > 0.1 || c.Fit.R2 < 0.4 {
		t.Errorf("residuals %.3f ± %.3f, R² %.2f", c.Fit.ResidualMean, c.Fit.ResidualSD, c.Fit.R2)
	}
	// A model with zeros of their own holds the plain one as a special case, so that on weeks it has not seen it cannot be far from it.
	if z := slices.IndexFunc(c.Held.Scores, func(s flows.ModelScore) bool { return strings.Contains(s.Name, "zero-inflated") }); z >= 0 {
		if got, plain := c.Held.Scores[z], c.Held.Scores[0]; math.Abs(got.LogScore-plain.LogScore) > 0.02 || math.Abs(got.Bias-plain.Bias) > 0.1 {
			t.Errorf("zero-inflated %+v, negative binomial %+v", got, plain)
		}
	} else {
		t.Errorf("no zero-inflated score: %+v", c.Forms)
	}
	if c.Held == nil || c.Held.Note != "" || !c.Held.Better || c.Held.Scores[0].HitRate < 0.3 || math.Abs(c.Held.Scores[0].Bias-1) > 0.4 {
		t.Errorf("held out: %+v", c.Held)
	}
	var aic []float64
	for _, f := range c.Forms {
		if f.AIC != 0 {
			aic = append(aic, f.AIC)
		}
	}
	if len(aic) < 2 || aic[0] != slices.Min(aic) {
		t.Errorf("the demo's counts are negative binomial; forms %+v", c.Forms)
	}
	if !strings.Contains(strings.Join(c.CannotSay, " "), "1,803") {
		t.Error("what such models are known not to do is missing")
	}
	again, err := flows.New(book, flows.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	a, _ := json.Marshal(c)
	b, _ := json.Marshal(again.Card())
	if string(a) != string(b) {
		t.Error("the same records and seed give two cards")
	}
}

func TestArrivalsReport(t *testing.T) {
	w, _ := demoBook()
	_, m := fitted(t)
	r := m.Arrivals()
	noNaN(t, r)
	truth := map[string]float64{}
	for l, id := range w.Truth.Launches {
		truth[id] = w.Truth.Arrivals[l]
	}
	in := 0
	for _, l := range r.Launches {
		if l.Season.Contains(truth[l.Launch.ID]) {
			in++
		}
	}
	if in < 43 || len(r.Launches) != 50 { // 47.5 expected of 50, three standard deviations below is 43
		t.Errorf("%d of %d launches' arrivals lie in their intervals", in, len(r.Launches))
	}
	if len(r.Days) < 140 || r.Days[2].Type != "weekend" { // 3 May 2026 is a Sunday
		t.Errorf("%d days, %+v", len(r.Days), r.Days[2])
	}
	busy, quiet := m.Usual(0, season.Free, 10), m.Usual(0, season.Weekday, 10)
	if !(busy.Mid > quiet.Mid && quiet.Mid > 0) {
		t.Errorf("a weekend %+v, a weekday %+v", busy, quiet)
	}
}

func TestRiskAgainstTheTruth(t *testing.T) {
	w, _ := demoBook()
	_, m := fitted(t)
	r, err := m.Risk(flows.RiskOptions{})
	if err != nil {
		t.Fatal(err)
	}
	noNaN(t, r)
	if len(r.Organisms) != 5 {
		t.Fatalf("%d organisms; the demo has five", len(r.Organisms))
	}
	for _, o := range r.Organisms {
		for _, c := range w.Truth.Carrying {
			if c.Organism != o.Organism {
				continue
			}
			// The demo has 7.5 % of craft moored.
			if truth := 0.925*c.DayUse + 0.075*c.Moored; !o.Carry.Contains(truth) {
				t.Errorf("%s: carried by %.4f, believed %+v after %+v", c.Organism, truth, o.Carry, o.Evidence)
			}
			if o.Carry.Hi-o.Carry.Lo > o.Published.Hi-o.Published.Lo {
				t.Errorf("%s: the programme's own finds made the rate less certain: %+v, published %+v", c.Organism, o.Carry, o.Published)
			}
		}
		var sources, waters, launches float64
		for _, p := range o.Sources {
			sources += p.Arriving.Mid
		}
		for _, p := range o.Waters {
			waters += p.Arriving.Mid
		}
		for _, p := range o.Launches {
			launches += p.Arriving.Mid
		}
		for _, s := range []float64{sources, waters, launches} {
			if math.Abs(s/o.Total.Arriving.Mid-1) > 1e-9 {
				t.Errorf("%s: parts sum to %g, the whole is %g", o.Organism, s, o.Total.Arriving.Mid)
			}
		}
		if !(o.Total.Through.Mid < o.Total.Arriving.Mid) || o.AliveLo > o.AliveHi {
			t.Errorf("%s: %+v, alive %g to %g", o.Organism, o.Total, o.AliveLo, o.AliveHi)
		}
	}
}

func TestDeclare(t *testing.T) {
	book, m := fitted(t)
	r, err := m.Risk(flows.RiskOptions{Organisms: []string{"zebra_mussel"}})
	if err != nil {
		t.Fatal(err)
	}
	source := r.Organisms[0].Sources[0].ID
	same, err := m.Declare(source, "zebra_mussel")
	if err != nil {
		t.Fatal(err)
	}
	if same.Was == "infested" && same.Added.Arriving.Mid != 0 {
		t.Errorf("a water that is infested adds %+v", same.Added)
	}
	var clean string
	for i := range book.Waters {
		s := book.WaterAt(int32(i), season.Moment{MS: season.DayOf(2026, 10, 1).Date().UnixMilli(), Set: true}).Of("zebra_mussel")
		if s == thwart.StatusNotFound {
			clean = book.Waters[i].Subject
		}
	}
	d, err := m.Declare(clean, "zebra_mussel")
	if err != nil {
		t.Fatal(err)
	}
	noNaN(t, d)
	if d.Was != "not_found" || !(d.Added.Through.Mid > 0) || !(d.Share > 0 && d.Share < 1) || len(d.Launches) == 0 {
		t.Errorf("%+v", d)
	}
	for water, organism := range map[string]string{"nowhere": "zebra_mussel", clean: "kraken"} {
		var fields thwart.FieldErrors
		if _, err := m.Declare(water, organism); !errors.As(err, &fields) || len(fields) != 1 {
			t.Errorf("%s, %s: %v", water, organism, err)
		}
	}
}

// Every kind of data that cannot carry an answer is a message that says what to do.
func TestThinData(t *testing.T) {
	_, base := demoBook()
	says := func(m *flows.Model, code string) bool {
		return slices.ContainsFunc(m.Warnings(), func(w flows.Caveat) bool { return w.Code == code && w.Text != "" })
	}
	t.Run("no hours", func(t *testing.T) {
		book := *base
		book.Shifts = nil
		if _, err := flows.New(&book, flows.Options{}); !errors.Is(err, arrivals.ErrNoHours) {
			t.Errorf("%v", err)
		}
	})
	t.Run("no craft", func(t *testing.T) {
		book := *base
		book.Encounters, book.SecondLooks = nil, nil
		book.Shifts = slices.Clone(base.Shifts)
		for i := range book.Shifts {
			book.Shifts[i].PassedBy, book.Shifts[i].Refused, book.Shifts[i].TurnedAway = 0, 0, 0
		}
		if _, err := flows.New(&book, flows.Options{}); !errors.Is(err, arrivals.ErrNoCraft) {
			t.Errorf("%v", err)
		}
	})
	t.Run("one launch", func(t *testing.T) {
		book := *base
		at := base.Shifts[0].Launch
		book.Shifts = slices.Clone(base.Shifts)
		for i := range book.Shifts {
			if book.Shifts[i].Launch != at {
				book.Shifts[i].Launch = season.None
			}
		}
		m, err := flows.New(&book, flows.Options{})
		if err != nil {
			t.Fatal(err)
		}
		noNaN(t, m.Card())
		if !errors.Is(m.FlowError(), traffic.ErrOneWater) || !says(m, "no_flows") || !says(m, "unstaffed") || !says(m, "no_hours") {
			t.Errorf("%v, %+v", m.FlowError(), m.Warnings())
		}
		if _, err := m.Risk(flows.RiskOptions{}); !errors.Is(err, traffic.ErrOneWater) {
			t.Errorf("risk: %v", err)
		}
		noNaN(t, m.Arrivals())
	})
	t.Run("no positions", func(t *testing.T) {
		book := *base
		book.Waters = slices.Clone(base.Waters)
		for i := range book.Waters {
			if i > 30 {
				book.Waters[i].Body.Centre = thwart.Point{}
			}
		}
		m, err := flows.New(&book, flows.Options{})
		if err != nil {
			t.Fatal(err)
		}
		noNaN(t, m.Arrivals())
		if f, err := m.Flows(10); !says(m, "no_position") || err != nil || len(f.Waters) != 31 {
			t.Errorf("%d waters, %v, %+v", len(f.Waters), err, m.Warnings())
		}
		for i := range book.Waters {
			book.Waters[i].Body.Centre = thwart.Point{}
		}
		m, err = flows.New(&book, flows.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if m.FlowError() == nil || !strings.Contains(m.FlowError().Error(), "positions") {
			t.Errorf("no water lies anywhere: %v", m.FlowError())
		}
		noNaN(t, m.Card())
	})
	t.Run("few craft", func(t *testing.T) {
		book := *base
		book.Encounters, book.SecondLooks, book.Trials = base.Encounters[:120], nil, nil // those of the others point at craft left out
		m, err := flows.New(&book, flows.Options{})
		if err != nil {
			t.Fatal(err)
		}
		c := m.Card()
		noNaN(t, c)
		if m.FlowError() == nil && !says(m, "few_craft") {
			t.Errorf("%+v", m.Warnings())
		}
	})
	t.Run("no areas", func(t *testing.T) {
		book := *base
		book.Waters = slices.Clone(base.Waters)
		for i := range book.Waters {
			book.Waters[i].Body.AreaHa = 0
		}
		m, err := flows.New(&book, flows.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if m.FlowError() == nil || !says(m, "no_size") {
			t.Errorf("waters of one size: %v", m.FlowError())
		}
	})
}

// A programme in its third year still has this season's traffic on its pages, and is told that it is this season's alone.
func TestLatestOfSeveralSeasons(t *testing.T) {
	base, one := fitted(t)
	const yearsMS = 3 * 365 * 24 * 3600 * 1000
	earlier := func(at season.Moment) season.Moment { at.MS -= yearsMS; return at }
	book := *base
	book.Encounters, book.Shifts = slices.Clone(base.Encounters), slices.Clone(base.Shifts)
	for _, s := range base.Shifts {
		s.From, s.To = earlier(s.From), earlier(s.To)
		book.Shifts = append(book.Shifts, s)
	}
	for _, e := range base.Encounters {
		e.At, e.Twin = earlier(e.At), season.None
		if e.Shift != season.None {
			e.Shift += int32(len(base.Shifts))
		}
		book.Encounters = append(book.Encounters, e)
	}
	several, err := flows.New(&book, flows.Options{Seed: 1})
	if err != nil || several.FlowError() != nil {
		t.Fatal(err, several.FlowError())
	}
	if got := several.Warnings(); len(got) == 0 || got[0].Code != "latest_season" {
		t.Errorf("nothing says that it is one season of several: %+v", got)
	}
	a, b := one.Card(), several.Card()
	if a.From != b.From || a.To != b.To || !reflect.DeepEqual(a.RecordsUsed, b.RecordsUsed) {
		t.Errorf("%v to %v of %+v\nalone: %v to %v of %+v", b.From, b.To, b.RecordsUsed, a.From, a.To, a.RecordsUsed)
	}
	x, y := one.Arrivals(), several.Arrivals()
	x.Warnings, y.Warnings = nil, nil
	if !reflect.DeepEqual(x, y) {
		t.Error("arrivals differ from those of the season alone")
	}
	f, err1 := one.Flows(20)
	g, err2 := several.Flows(20)
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	f.Warnings, g.Warnings = nil, nil
	if !reflect.DeepEqual(f, g) {
		t.Error("flows differ from those of the season alone")
	}
}

// Where a programme's own trials tell, risk and plan rest on them; where it has none, on the published figure.
func TestFindsByOwnTrials(t *testing.T) {
	book, m := fitted(t)
	own, err := m.Risk(flows.RiskOptions{})
	if err != nil {
		t.Fatal(err)
	}
	team, err := skill.Team(book)
	if err != nil {
		t.Fatal(err)
	}
	bare := *book
	bare.Trials, bare.SecondLooks = nil, nil
	bare.Encounters = slices.Clone(book.Encounters)
	for i := range bare.Encounters {
		bare.Encounters[i].Twin = season.None
	}
	n, err := flows.New(&bare, flows.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	published, err := n.Risk(flows.RiskOptions{})
	if err != nil {
		t.Fatal(err)
	}
	told := 0
	for _, o := range own.Organisms {
		st, _ := advice.RidesAs(o.Organism)
		i := slices.IndexFunc(team.Classes, func(k thwart.SkillOf) bool { return k.Class == string(st.Detection) })
		if o.OwnFind != (i >= 0) {
			t.Errorf("%s: own %t, the programme's trials tell %t", o.Organism, o.OwnFind, i >= 0)
		}
		if i >= 0 {
			told++
			k := team.Classes[i]
			if mean := k.Alpha / (k.Alpha + k.Beta); mean < o.Find.Lo || mean > o.Find.Hi {
				t.Errorf("%s: found %.3f (%.3f to %.3f), by trials %.3f", o.Organism, o.Find.Mid, o.Find.Lo, o.Find.Hi, mean)
			}
		}
		j := slices.IndexFunc(published.Organisms, func(x flows.OrganismFlow) bool { return x.Organism == o.Organism })
		p, _ := refdata.DetectionPriorFor(st.Detection, refdata.Steward)
		if x := published.Organisms[j]; x.OwnFind || p.Alpha/(p.Alpha+p.Beta) < x.Find.Lo || p.Alpha/(p.Alpha+p.Beta) > x.Find.Hi {
			t.Errorf("%s without trials: %+v", o.Organism, x.Find)
		}
	}
	if told == 0 {
		t.Error("no organism is found by what the trials tell, so nothing was tried")
	}
}
