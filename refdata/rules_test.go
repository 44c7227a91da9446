package refdata_test

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	"thwart/refdata"
	"thwart/unit"
)

func TestRulesHoldTogether(t *testing.T) {
	if err := refdata.CheckRules(); err != nil {
		t.Fatal(err)
	}
}

// Sources of the figures in these tests.
const (
	umps3       = "UMPS III (2016), Table 3"
	utahRule    = "Utah Admin. Code R657-60-2"
	southDakota = "South Dakota Game, Fish and Parks, boat washing page"
	exact       = "C = (F - 32) / 1.8 by definition; 1 psi = 0.0689475729317831 bar, NIST SP 811 appendix B"
)

func TestWashTableFigures(t *testing.T) {
	for _, tc := range []struct {
		table, part, risk string
		tempF, contactS   float64
		measured, method  string
		psi               float64
		source            string
	}{
		{"umps3", "hull", "", 140, 10, "contact", "high_spray", 3000, umps3},
		{"umps3", "trailer", "", 140, 70, "contact", "low_spray", 60, umps3},
		{"umps3", "gear", "", 140, 10, "contact", "low_spray", 60, umps3},
		{"umps3", "gimbal", "", 140, 132, "contact", "low_spray", 60, umps3},
		{"umps3", "ballast", "low", 120, 130, "exit", "flush", 60, umps3},
		{"umps3", "ballast", "high", 120, 130, "exit", "fill_and_flush", 60, umps3},
		{"umps3", "well", "", 120, 130, "contact_or_exit", "low_spray_or_flush", 60, umps3},
		{"umps3", "bilge", "", 120, 130, "contact_or_exit", "low_spray_or_flush", 60, umps3},
		{"sd_gfp", "well", "", 120, 120, "contact_or_exit", "flush", 60, southDakota},
		{"sd_gfp", "bilge", "", 120, 120, "contact_or_exit", "flush", 60, southDakota},
		{"mn_dnr", "well", "", 120, 120, "contact_or_exit", "low_spray_or_flush", 60, "Minnesota DNR hot-water advice"},
	} {
		t.Run(tc.table+"_"+tc.part+tc.risk, func(t *testing.T) {
			w := washRow(t, tc.table, tc.part, tc.risk)
			ruleFact(t, "temperature", float64(*w.TempC), float64(unit.FromFahrenheit(tc.tempF)), tc.source)
			ruleFact(t, "contact time", *w.ContactS, tc.contactS, tc.source)
			ruleFact(t, "pressure", *w.PressureMaxBar, tc.psi*unit.BarPerPSI, tc.source)
			if w.Measured != tc.measured || w.Method != tc.method {
				t.Errorf("measured %s by %s, want %s by %s (%s)", w.Measured, w.Method, tc.measured, tc.method, tc.source)
			}
		})
	}
}

func TestEngineIsJudgedAtTheExitBelowAnInletLimit(t *testing.T) {
	w := washRow(t, "umps3", "engine", "")
	if w.Measured != "exit" || !w.UntilExit || w.ContactS != nil {
		t.Errorf("engine row: measured %q, until exit %v, contact time %v; want the exit and no fixed time (%s)", w.Measured, w.UntilExit, w.ContactS, umps3)
	}
	if w.MaxInletC == nil || *w.MaxInletC != 60 {
		t.Errorf("inlet limit %v, want 60 °C (%s, note 6)", w.MaxInletC, umps3)
	}
}

func TestPrintedTemperaturesAgree(t *testing.T) {
	fahrenheit := regexp.MustCompile(`^(\d+) °F$`)
	celsius := regexp.MustCompile(`^(?:\d+-)?(\d+) °C$`)
	checked := 0
	for _, name := range refdata.WashTables() {
		for _, w := range refdata.WashTable(name) {
			if w.TempC == nil {
				continue
			}
			checked++
			if m := fahrenheit.FindStringSubmatch(w.Printed); m != nil {
				f, err := strconv.ParseFloat(m[1], 64)
				if err != nil {
					t.Fatal(err)
				}
				ruleFact(t, w.ID, float64(*w.TempC), float64(unit.FromFahrenheit(f)), exact)
				continue
			}
			// A printed range asks for its warmer end.
			m := celsius.FindStringSubmatch(w.Printed)
			if m == nil {
				t.Errorf("%s: printed %q is neither °F nor °C", w.ID, w.Printed)
				continue
			}
			ruleFact(t, w.ID, float64(*w.TempC), mustNumber(t, m[1]), "the row's printed figure")
		}
	}
	if checked == 0 {
		t.Fatal("no row has a temperature")
	}
}

func TestWhatIsNoRuleCannotBeUsed(t *testing.T) {
	for _, table := range []string{"spray_trial", "gb_ccd", "ut_rule_2021", "nm_rule", "mn_2011_bill", "mb_rule", "ch_central", "wy_faq", "tahoe"} {
		rows := refdata.WashTable(table)
		if len(rows) == 0 {
			t.Errorf("%s: no rows", table)
		}
		for _, w := range rows {
			if w.Usable() {
				t.Errorf("%s may be used as a rule; it is research, a reference, or lacks a temperature or time", w.ID)
			}
		}
	}
	for _, profile := range []string{"nz_wake", "mt_ballast", "yellowstone_2024_proposal", "lake_george_old", "ny_dec", "yellowstone_advice"} {
		rows := refdata.DryRules(profile)
		if len(rows) == 0 {
			t.Errorf("%s: no rows", profile)
		}
		for _, d := range rows {
			if d.Usable() {
				t.Errorf("%s may be relied on; it is history, a bill, a proposal, or needs a season that no record shows", d.ID)
			}
		}
	}
	if refdata.WashTable("no_such_table") != nil || refdata.DryRules("no_such_profile") != nil {
		t.Error("a table that does not exist has rows")
	}
}

func TestDryingFigures(t *testing.T) {
	spring := []time.Month{3, 4, 5, 9, 10, 11}
	for _, tc := range []struct {
		id, applies, from string
		days              float64
		months            []time.Month
		source            string
	}{
		{"ut_simple_summer", "simple", "cleaned", 7, []time.Month{6, 7, 8}, utahRule},
		{"ut_simple_spring_autumn", "simple", "cleaned", 18, spring, utahRule},
		{"ut_simple_winter", "simple", "cleaned", 30, []time.Month{12, 1, 2}, utahRule},
		{"ut_complex", "complex", "cleaned", 30, nil, utahRule},
		{"ut_after_wash", "after_wash", "washed", 30, nil, utahRule},
		{"mn_gear", "dock", "out_of_water", 21, nil, "Minnesota Statutes 84D.10"},
		{"wi_seagrant", "any", "dry_to_touch", 6, nil, "Wisconsin Sea Grant decontamination page"},
		{"az_day_use", "any", "dry_to_touch", 5, nil, "Arizona Game and Fish releases 2009-2020"},
		{"glacier", "motor", "sealed", 30, nil, "Glacier National Park boat rules 2011-2019"},
		{"waterton", "any", "sealed", 90, nil, "Parks Canada, Waterton Lakes 90-day quarantine"},
		{"parks_canada_near", "any", "dry_to_touch", 2, nil, "Parks Canada, mountain parks drying rule"},
		{"parks_canada_elsewhere", "any", "dry_to_touch", 30, nil, "Parks Canada, mountain parks drying rule"},
		{"ca_folsom_2025", "any", "sealed", 30, nil, "Folsom Lake golden mussel rule of April 2025"},
		{"nz", "any", "dry_to_touch", 2, nil, "New Zealand Ministry for Primary Industries"},
		// Of a printed range of 2-4 days the longer end.
		{"sd_gfp_summer", "any", "dry_to_touch", 4, nil, southDakota},
	} {
		t.Run(tc.id, func(t *testing.T) {
			d := dryRow(t, tc.id)
			if d.Days == nil {
				t.Fatal("no days")
			}
			ruleFact(t, "days", *d.Days, tc.days, tc.source)
			if d.Applies != tc.applies || d.From != tc.from || !slices.Equal(d.Months, tc.months) {
				t.Errorf("for %s from %s in %v, want %s from %s in %v (%s)", d.Applies, d.From, d.Months, tc.applies, tc.from, tc.months, tc.source)
			}
		})
	}
	ruleFact(t, "hours below freezing", *dryRow(t, "ut_simple_freezing").FreezingH, 72, utahRule)
	if !dryRow(t, "tahoe_2025").NotAccepted || !dryRow(t, "id_2024").NotAccepted || !dryRow(t, "az_moored").NotAccepted {
		t.Error("Tahoe, Idaho and moored craft in Arizona: drying is not accepted")
	}
	if !dryRow(t, "yellowstone").Never || !dryRow(t, "nz_wake").Never {
		t.Error("sealed ballast in Yellowstone and in the history of New Zealand: never")
	}
}

// Every month of a profile that names months has its line, so that no date falls through.
func TestNamedMonthsCoverTheYear(t *testing.T) {
	var months []time.Month
	for _, d := range refdata.DryRules("ut_simple") {
		months = append(months, d.Months...)
	}
	slices.Sort(months)
	if want := []time.Month{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}; !slices.Equal(months, want) {
		t.Errorf("Utah names %v, want each month once", months)
	}
}

func TestHotWaterAlwaysCallsUpTheBurnWarning(t *testing.T) {
	for _, name := range refdata.WashTables() {
		for _, w := range refdata.WashTable(name) {
			if w.TempC == nil || *w.TempC < 48.8 {
				continue
			}
			if !hasCaution(refdata.CautionsFor(w.TempC), "scald") {
				t.Errorf("%s at %v °C shows no burn warning", w.ID, *w.TempC)
			}
		}
	}
	if got := refdata.CautionsFor(nil, "trailer"); !hasCaution(got, "moving_rig") || hasCaution(got, "scald") {
		t.Errorf("a trailer without hot water calls up %v", got)
	}
	cold := unit.Celsius(20)
	if got := refdata.CautionsFor(&cold); got != nil {
		t.Errorf("cold water calls up %v", got)
	}
}

func TestEveryTriggerCallsUpSomething(t *testing.T) {
	for _, trigger := range refdata.CautionTriggers {
		if len(refdata.CautionsFor(nil, trigger)) == 0 {
			t.Errorf("nothing is called up by %s", trigger)
		}
	}
}

// A steward reads a caution aloud: school grade 8 at most, and sentences of at most 20 words.
func TestCautionsArePlain(t *testing.T) {
	const maxGrade, maxWords = 8, 20
	for _, c := range refdata.Cautions() {
		sentences, words, syllables := 0, 0, 0
		for _, s := range regexp.MustCompile(`[.?!]+(\s|$)`).Split(c.Text, -1) {
			list := strings.Fields(s)
			if len(list) == 0 {
				continue
			}
			if len(list) > maxWords {
				t.Errorf("%s: %d words in %q, want at most %d", c.ID, len(list), s, maxWords)
			}
			sentences++
			words += len(list)
			for _, w := range list {
				syllables += syllablesOf(w)
			}
		}
		grade := 0.39*float64(words)/float64(sentences) + 11.8*float64(syllables)/float64(words) - 15.59 // Kincaid et al. 1975
		if grade > maxGrade {
			t.Errorf("%s: reads at grade %.1f, want at most %d: %q", c.ID, grade, maxGrade, c.Text)
		}
	}
}

// syllablesOf counts runs of vowels, without a silent e at the end.
func syllablesOf(word string) int {
	n, in := 0, false
	for _, r := range strings.ToLower(word) {
		v := strings.ContainsRune("aeiouy", r)
		if v && !in {
			n++
		}
		in = v
	}
	if w := strings.TrimRightFunc(strings.ToLower(word), unicode.IsPunct); n > 1 && strings.HasSuffix(w, "e") && !strings.HasSuffix(w, "le") {
		n--
	}
	return max(n, 1)
}

// Hotter water never takes longer to burn.
func TestScaldTimesFall(t *testing.T) {
	last := map[string]refdata.ScaldTime{}
	for _, s := range refdata.ScaldTimes() {
		if p, ok := last[s.Person]; ok && (s.TempC <= p.TempC || *s.SecondDegreeS > *p.SecondDegreeS) {
			t.Errorf("%s after %s: hotter must not be slower", s.ID, p.ID)
		}
		if s.ThirdDegreeS != nil && *s.ThirdDegreeS < *s.SecondDegreeS {
			t.Errorf("%s: a third-degree burn before a second-degree one", s.ID)
		}
		last[s.Person] = s
	}
}

func TestMaterialLimits(t *testing.T) {
	for _, tc := range []struct {
		id     string
		max    float64
		unit   string
		source string
	}{
		{"engine_inlet", 60, "°C", umps3 + ", note 6"},
		{"flush_port", 60 * unit.BarPerPSI, "bar", umps3 + ", note 6"},
		{"outboard_flush_port", 40 * unit.BarPerPSI, "bar", "an outboard maker's owner's guide"},
		{"stopped_flush", 15, "s", "an engine maker's manuals 2010 and 2012"},
		{"out_of_water_speed", 1400, "rpm", "an engine maker's manuals 2010 and 2012"},
	} {
		i := slices.IndexFunc(refdata.MaterialLimits(), func(m refdata.MaterialLimit) bool { return m.ID == tc.id })
		if i < 0 {
			t.Errorf("no limit %s", tc.id)
			continue
		}
		m := refdata.MaterialLimits()[i]
		if m.Max == nil || m.Unit != tc.unit {
			t.Errorf("%s: max %v %s, want a number in %s", tc.id, m.Max, m.Unit, tc.unit)
			continue
		}
		ruleFact(t, tc.id, *m.Max, tc.max, tc.source)
	}
	// A limit that nobody published is absent, never zero.
	for _, m := range refdata.MaterialLimits() {
		if m.Max != nil && *m.Max == 0 {
			t.Errorf("%s: a limit of 0", m.ID)
		}
		if m.ID == "ballast_pump" && m.Max != nil {
			t.Errorf("%s: %v; no maker's figure was found", m.ID, *m.Max)
		}
	}
}

func TestPublishedDetection(t *testing.T) {
	for id, want := range map[string]float64{"inspectors_field": 0.792, "crews_field": 0.844, "owners_field": 0.564} {
		i := slices.IndexFunc(refdata.DetectionResults(), func(d refdata.DetectionResult) bool { return d.ID == id })
		if i < 0 {
			t.Fatalf("no result %s", id)
		}
		ruleFact(t, id, *refdata.DetectionResults()[i].Share, want, "Angell et al. 2024")
	}
}

// Shares and counts that stand side by side must agree with the inspections they are of.
func TestSeasonFiguresArePossible(t *testing.T) {
	for _, s := range refdata.SeasonChecks() {
		if s.Count != nil && s.Inspections != nil && s.What != "hours worked" && *s.Count > *s.Inspections {
			t.Errorf("%s: %v of %v", s.ID, *s.Count, *s.Inspections)
		}
		if s.ShareLowPct != nil && s.ShareHighPct != nil && *s.ShareLowPct > *s.ShareHighPct {
			t.Errorf("%s: from %v to %v %%", s.ID, *s.ShareLowPct, *s.ShareHighPct)
		}
		if s.What == "" && (s.Count != nil || s.ShareHighPct != nil) {
			t.Errorf("%s: a figure of nothing", s.ID)
		}
	}
}

func TestFiguresRunUpwards(t *testing.T) {
	for _, f := range append(refdata.Equipment(), refdata.Costs()...) {
		if f.Low != nil && f.High != nil && *f.Low > *f.High {
			t.Errorf("%s: from %v to %v", f.ID, *f.Low, *f.High)
		}
	}
}

func washRow(t *testing.T, table, part, risk string) refdata.WashRow {
	t.Helper()
	for _, w := range refdata.WashTable(table) {
		if w.Part == part && w.Risk == risk && w.Usable() {
			return w
		}
	}
	t.Fatalf("%s has no usable line for %s %s", table, part, risk)
	return refdata.WashRow{}
}

func dryRow(t *testing.T, id string) refdata.DryRule {
	t.Helper()
	for _, p := range refdata.DryProfiles() {
		for _, d := range refdata.DryRules(p) {
			if d.ID == id {
				return d
			}
		}
	}
	t.Fatalf("no drying line %s", id)
	return refdata.DryRule{}
}

func hasCaution(list []refdata.Caution, id string) bool {
	return slices.ContainsFunc(list, func(c refdata.Caution) bool { return c.ID == id })
}

// ruleFact compares with a published figure to the last few bits: tables keep what is printed, converted exactly.
func ruleFact(t *testing.T, what string, got, want float64, source string) {
	t.Helper()
	if source == "" {
		t.Fatalf("%s: the expected value %v names no source", what, want)
	}
	if !(math.Abs(got-want) <= 1e-12*math.Max(1, math.Abs(want))) {
		t.Errorf("%s = %.17g, want %.17g (%s)", what, got, want, source)
	}
}

func mustNumber(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
