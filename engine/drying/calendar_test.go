package drying

import (
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the tests must not depend on the machine's zone files

	"github.com/google/go-cmp/cmp"
)

// published are rows of drying tables as their authorities print them.
var published = map[string][]Rule{
	"utah simple": { // Utah Admin. Code R657-60-2, craft without attached adults
		{Profile: "utah simple", Days: 7, Months: []time.Month{time.June, time.July, time.August}},
		{Profile: "utah simple", Days: 18, Months: []time.Month{time.March, time.April, time.May, time.September, time.October, time.November}},
		{Profile: "utah simple", Days: 30, Months: []time.Month{time.December, time.January, time.February}},
		{Profile: "utah simple", FreezingH: 72},
	},
	"utah complex":        {{Profile: "utah complex", Days: 30}},           // Utah Admin. Code R657-60-2
	"minnesota gear":      {{Profile: "minnesota gear", Days: 21}},         // Minnesota Statutes 84D.10
	"glacier":             {{Profile: "glacier", Days: 30}},                // Glacier National Park boat rules
	"parks canada near":   {{Profile: "parks canada near", Days: 2}},       // Parks Canada mountain parks
	"parks canada far":    {{Profile: "parks canada far", Days: 30}},       // Parks Canada mountain parks
	"wisconsin advice":    {{Profile: "wisconsin advice", Days: 6}},        // Wisconsin Sea Grant
	"yellowstone ballast": {{Profile: "yellowstone ballast", Never: true}}, // Yellowstone National Park
	"folsom":              {{Profile: "folsom", Days: 30}},                 // Folsom Lake, 2025
	"tahoe":               {{Profile: "tahoe", NoneAccepted: true}},        // Lake Tahoe, 2025
	"britain advice":      {{Profile: "britain advice"}},                   // GB Non-native Species Secretariat
	"new zealand gear":    {{Profile: "new zealand gear", Hours: 48}},      // Ministry for Primary Industries
}

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func clock(t testing.TB, s string, z *time.Location) time.Time {
	t.Helper()
	at, err := time.ParseInLocation("2006-01-02T15:04", s, z)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func earliest(t testing.TB, rules []Rule, start Start, site Site) Result {
	t.Helper()
	r, err := Earliest(rules, start, site)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestEarliestByPublishedTables(t *testing.T) {
	denver := zone(t, "America/Denver")
	for _, c := range reference(t, "calendar.csv") {
		var rules []Rule
		for name := range strings.SplitSeq(c["profiles"], ";") {
			rows, ok := published[name]
			if !ok {
				t.Fatalf("%s: no profile %q", c["case"], name)
			}
			rules = append(rules, rows...)
		}
		start := Start{DateOnly: !strings.Contains(c["start"], "T")}
		site := Site{Zone: denver}
		if start.DateOnly {
			start.At = clock(t, c["start"]+"T00:00", denver)
		} else {
			start.At = clock(t, c["start"], denver)
			site.Weather = &Weather{Start: start.At, Spells: []Spell{{Hours: 100, TempC: -4, RHPct: 70}}}
		}
		r := earliest(t, rules, start, site)
		got := string(r.State)
		if r.State == LaunchFrom {
			got = r.At.Format("2006-01-02T15:04")
			if r.DateOnly {
				got = r.At.Format("2006-01-02")
			}
		}
		if got != c["want"] || r.Profile != c["decides"] {
			t.Errorf("%s: %s by %q, want %s by %q (%s)", c["case"], got, r.Profile, c["want"], c["decides"], c["source"])
		}
		if r.Why == "" || len(r.ByProfile) != strings.Count(c["profiles"], ";")+1 {
			t.Errorf("%s: reason %q, %d profiles", c["case"], r.Why, len(r.ByProfile))
		}
	}
}

func TestEarliestSaysWhy(t *testing.T) {
	utc := Start{At: clock(t, "2026-08-28T00:00", time.UTC), DateOnly: true}
	r := earliest(t, published["utah simple"], utc, Site{})
	if want := "The rule asks 18 days from the start of its clock. The wait touches August and September, and the strictest of these counts."; r.Why != want {
		t.Errorf("%q, want %q", r.Why, want)
	}
	if !slices.Equal(r.Months, []time.Month{time.August, time.September}) || r.Rule.Days != 18 {
		t.Errorf("months %v, row %+v", r.Months, r.Rule)
	}
	long := earliest(t, published["utah simple"], Start{At: clock(t, "2026-11-30T00:00", time.UTC), DateOnly: true}, Site{})
	if want := "The rule asks 30 days from the start of its clock. The wait touches November and December, and the strictest of these counts."; long.Why != want {
		t.Errorf("%q, want %q", long.Why, want)
	}
	if got := listMonths([]time.Month{time.January, time.February, time.March}); got != "January, February and March" {
		t.Errorf("three months read %q", got)
	}
	both := earliest(t, slices.Concat(published["utah simple"], published["glacier"]), utc, Site{})
	if want := "The rule asks 30 days from the start of its clock. It is the strictest of 2 rules."; both.Why != want {
		t.Errorf("%q, want %q", both.Why, want)
	}
	if both.ByProfile[0].Why != r.Why {
		t.Errorf("the milder rule is not reported beside the stricter: %+v", both.ByProfile)
	}
}

func TestEarliestWithoutAStart(t *testing.T) {
	r := earliest(t, published["glacier"], Start{}, Site{})
	if r.State != RuleNotKnown || !r.At.IsZero() || !strings.Contains(r.Why, "not started") {
		t.Errorf("a craft whose clock never started may launch: %+v", r)
	}
	if r := earliest(t, nil, Start{At: clock(t, "2026-07-01T00:00", time.UTC)}, Site{}); r.State != RuleNotKnown {
		t.Errorf("without a rule: %s", r.State)
	}
	gap := []Rule{{Profile: "summer only", Days: 5, Months: []time.Month{time.July, time.August}}}
	r = earliest(t, gap, Start{At: clock(t, "2026-08-29T00:00", time.UTC), DateOnly: true}, Site{})
	if r.State != RuleNotKnown || r.Why != "The table has no row for September." {
		t.Errorf("a wait into a month without a row: %+v", r)
	}
}

func TestEarliestByFrost(t *testing.T) {
	start := Start{At: clock(t, "2026-01-05T08:00", time.UTC)}
	cold := Spell{Hours: 40, TempC: -3, RHPct: 80}
	for name, c := range map[string]struct {
		spells []Spell
		beyond Spell
		want   string
	}{
		"too short":                     {[]Spell{cold, {Hours: 31.9, TempC: -1, RHPct: 80}}, Spell{TempC: -9, RHPct: 80}, "2026-02-04T08:00"},
		"unknown weather does not help": {[]Spell{cold}, Spell{TempC: -20, RHPct: 80}, "2026-02-04T08:00"},
		"broken by an hour at 0 °C":     {[]Spell{cold, {Hours: 1, RHPct: 80}, cold, cold}, Spell{}, "2026-01-10T01:00"},
		"broken by snow that wets":      {[]Spell{cold, {Hours: 1, TempC: -1, RHPct: 99, Wet: true}, cold, cold}, Spell{}, "2026-01-10T01:00"},
		"unbroken over two spells":      {[]Spell{cold, cold}, Spell{}, "2026-01-08T08:00"},
		"found after a thaw":            {[]Spell{{Hours: 24, TempC: 3, RHPct: 90}, cold, cold}, Spell{}, "2026-01-09T08:00"},
	} {
		site := Site{Weather: &Weather{Start: start.At, Spells: c.spells, Beyond: c.beyond}}
		r := earliest(t, published["utah simple"], start, site)
		if got := r.At.Format("2006-01-02T15:04"); got != c.want {
			t.Errorf("%s: from %s, want %s", name, got, c.want)
		}
	}
	frost := &Weather{Start: start.At, Spells: []Spell{{Hours: 200, TempC: -10, RHPct: 80}}}
	never := []Rule{{Profile: "p", Never: true}, {Profile: "p", FreezingH: 72}}
	if r := earliest(t, never, start, Site{Weather: frost}); r.State != NoLaunchEver {
		t.Errorf("frost lifted a ban: %s", r.State)
	}
	// A date without an hour: the clock may have started as late as its last minute.
	r := earliest(t, published["utah simple"], Start{At: clock(t, "2026-01-05T00:00", time.UTC), DateOnly: true}, Site{Weather: frost})
	if got := r.At.Format("2006-01-02T15:04"); got != "2026-01-09T00:00" || r.DateOnly {
		t.Errorf("frost from a date: %s", got)
	}
}

// Days are counted on the clock, but never fewer than 24 hours each; hours are hours that pass.
func TestEarliestAcrossClockChanges(t *testing.T) {
	days := func(n float64) []Rule { return []Rule{{Profile: "days", Days: n}} }
	hours := func(n float64) []Rule { return []Rule{{Profile: "hours", Hours: n}} }
	const (
		springUS = "clocks went forward 2026-03-08 02:00 in America/Denver (tz database)"
		autumnUS = "clocks go back 2026-11-01 02:00 in America/Denver (tz database)"
		bothUS   = "both changes of 2026 in America/Denver (tz database)"
		lordHowe = "Lord Howe Island changes by half an hour, back on 2026-04-05, forward on 2026-10-04 (tz database)"
	)
	for _, c := range []struct {
		name, zone  string
		rules       []Rule
		start, want string
		source      string
	}{
		{"days over spring", "America/Denver", days(30), "2026-02-20T10:00", "2026-03-22T11:00-06:00", springUS},
		{"hours over spring", "America/Denver", hours(72), "2026-03-06T10:00", "2026-03-09T11:00-06:00", springUS},
		{"days over autumn", "America/Denver", days(30), "2026-10-20T10:00", "2026-11-19T10:00-07:00", autumnUS},
		{"hours over autumn", "America/Denver", hours(72), "2026-10-30T10:00", "2026-11-02T09:00-07:00", autumnUS},
		{"days over both", "America/Denver", days(270), "2026-02-20T10:00", "2026-11-17T10:00-07:00", bothUS},
		{"hours over both", "America/Denver", hours(270 * 24), "2026-02-20T10:00", "2026-11-17T10:00-07:00", bothUS},
		{"day that ends in the missing hour", "America/Denver", days(2), "2026-03-06T02:30", "2026-03-08T03:30-06:00", springUS},
		{"day that ends in the doubled hour", "America/Denver", days(2), "2026-10-30T01:30", "2026-11-01T01:30-06:00", autumnUS},
		{"half an hour, back", "Australia/Lord_Howe", days(5), "2026-04-02T12:00", "2026-04-07T12:00+10:30", lordHowe},
		{"half an hour, forward", "Australia/Lord_Howe", days(5), "2026-10-01T12:00", "2026-10-06T12:30+11:00", lordHowe},
	} {
		r := earliest(t, c.rules, Start{At: clock(t, c.start, zone(t, c.zone))}, Site{})
		if got := r.At.Format("2006-01-02T15:04-07:00"); got != c.want {
			t.Errorf("%s: from %s, want %s (%s)", c.name, got, c.want, c.source)
		}
	}
}

func TestEarliestOnDatesAcrossClockChanges(t *testing.T) {
	santiago := zone(t, "America/Santiago") // clocks go forward at midnight, 2026-09-06 (tz database): that day begins at 01:00
	r := earliest(t, []Rule{{Profile: "p", Days: 7}}, Start{At: clock(t, "2026-08-30T00:00", santiago), DateOnly: true}, Site{})
	if got := r.At.Format("2006-01-02T15:04"); got != "2026-09-06T01:00" || !r.DateOnly {
		t.Errorf("from %s, date only %v", got, r.DateOnly)
	}
	// 48 hours from a date count from its end.
	r = earliest(t, published["new zealand gear"], Start{At: clock(t, "2026-08-30T00:00", time.UTC), DateOnly: true}, Site{})
	if got := r.At.Format("2006-01-02T15:04"); got != "2026-09-02T00:00" || r.DateOnly {
		t.Errorf("from %s, date only %v", got, r.DateOnly)
	}
}

func TestEarliestAcrossAZoneBorder(t *testing.T) {
	denver, phoenix, chicago, losAngeles := zone(t, "America/Denver"), zone(t, "America/Phoenix"), zone(t, "America/Chicago"), zone(t, "America/Los_Angeles")
	week := []Rule{{Profile: "p", Days: 7}}
	for _, c := range []struct {
		name     string
		from, to *time.Location
		start    string
		want     string
		source   string
	}{
		{"an hour east", denver, chicago, "2026-07-10T23:30", "2026-07-18T00:30-05:00", "same instant seven days on"},
		{"an hour west", chicago, denver, "2026-07-10T00:30", "2026-07-16T23:30-06:00", "same instant seven days on"},
		{"to a place without summer time, spring", denver, phoenix, "2026-03-05T10:00", "2026-03-12T10:00-07:00", "168 hours; Denver's clock shows 11:00"},
		{"to a place without summer time, autumn", denver, phoenix, "2026-10-28T10:00", "2026-11-04T10:00-07:00", "Denver's clock time, 169 hours"},
		{"from a place without summer time, autumn", phoenix, denver, "2026-10-28T10:00", "2026-11-04T11:00-07:00", "launch clock: 11:00 to 11:00, 169 hours"},
	} {
		r := earliest(t, week, Start{At: clock(t, c.start, c.from)}, Site{Zone: c.to})
		if got := r.At.Format("2006-01-02T15:04-07:00"); got != c.want {
			t.Errorf("%s: from %s, want %s (%s)", c.name, got, c.want, c.source)
		}
	}
	// It is still August at the start's clock and already September at the launch's.
	r := earliest(t, published["utah simple"], Start{At: clock(t, "2026-08-24T23:30", losAngeles)}, Site{Zone: denver})
	if r.Rule.Days != 18 {
		t.Errorf("the calendar of the launch was not looked at: %v days, months %v", r.Rule.Days, r.Months)
	}
	// A date has no hour to carry over the border: 1 June is not 31 May there.
	r = earliest(t, published["utah simple"], Start{At: clock(t, "2026-06-01T00:00", denver), DateOnly: true}, Site{Zone: losAngeles})
	if r.Rule.Days != 7 || len(r.Months) != 1 {
		t.Errorf("1 June: %v days, months %v", r.Rule.Days, r.Months)
	}
	// The day ends later in the west, and the craft may have left in its last minute.
	for _, ends := range [][2]*time.Location{{denver, losAngeles}, {losAngeles, denver}} {
		r = earliest(t, published["new zealand gear"], Start{At: clock(t, "2026-07-10T00:00", ends[0]), DateOnly: true}, Site{Zone: ends[1]})
		if want := clock(t, "2026-07-13T00:00", losAngeles); !r.At.Equal(want) {
			t.Errorf("48 hours from a date over the border: %v, want %v", r.At, want)
		}
	}
	// A date stays that date on either side of the border.
	r = earliest(t, week, Start{At: clock(t, "2026-07-10T00:00", denver), DateOnly: true}, Site{Zone: losAngeles})
	if got := r.At.Format("2006-01-02"); got != "2026-07-17" {
		t.Errorf("from %s, want 2026-07-17", got)
	}
}

func TestStrictestOfTwoClocks(t *testing.T) {
	left := Start{At: clock(t, "2026-07-01T09:00", time.UTC)}
	sealed := Start{At: clock(t, "2026-07-20T15:00", time.UTC)}
	a := earliest(t, published["utah complex"], left, Site{})
	b := earliest(t, published["utah simple"], sealed, Site{})
	r := Strictest(a, b)
	if r.Profile != "utah complex" || len(r.ByProfile) != 2 {
		t.Errorf("%+v", r)
	}
	if diff := cmp.Diff([]ProfileResult{a.ProfileResult, b.ProfileResult}, r.ByProfile); diff != "" {
		t.Error(diff)
	}
	if r := Strictest(); r.State != RuleNotKnown {
		t.Errorf("nothing joined gives %s", r.State)
	}
}

func TestRuleRefusals(t *testing.T) {
	for name, r := range map[string]Rule{
		"no name":          {Days: 5},
		"part of a day":    {Profile: "p", Days: 2.5},
		"negative":         {Profile: "p", Days: -1},
		"too long":         {Profile: "p", Days: 5000},
		"month":            {Profile: "p", Days: 5, Months: []time.Month{13}},
		"frost and days":   {Profile: "p", Days: 5, FreezingH: 72},
		"frost and months": {Profile: "p", FreezingH: 72, Months: []time.Month{1}},
		"never and a wait": {Profile: "p", Never: true, Hours: 5},
		"never and none":   {Profile: "p", Never: true, NoneAccepted: true},
		"none and a wait":  {Profile: "p", NoneAccepted: true, Days: 3},
	} {
		if _, err := Earliest([]Rule{r}, Start{At: clock(t, "2026-07-01T00:00", time.UTC)}, Site{}); err == nil {
			t.Errorf("%s: %+v was taken", name, r)
		}
	}
	bad := &Weather{Spells: []Spell{{Hours: -1}}}
	if _, err := Earliest(published["glacier"], Start{}, Site{Weather: bad}); err == nil {
		t.Error("weather with a negative hour was taken")
	}
}
