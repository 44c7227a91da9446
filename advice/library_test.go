package advice_test

import (
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
	"thwart/unit"
)

// Sources of the facts in these tests.
const (
	umpsTable  = "UMPS III (2016), Table 3"
	utahRule   = "Utah Admin. Code R657-60-2"
	mnLaw      = "Minnesota Statutes 84D.10"
	mnHelpers  = "Minnesota DNR programme pages and lake association FAQ"
	orRule     = "Oregon OAR 250-010-0660; ORS 830.589"
	caCode     = "California Fish and Game Code 2301"
	idRule     = "Idaho IDAPA 02.06.09.133"
	azRule     = "Arizona Admin. Code R12-4-902; releases 2009-2020"
	mtReleases = "Montana Fish, Wildlife & Parks releases 2019-2023"
	mtCode     = "MCA 80-7-1010(2)"
)

func TestLibraryHasItsProtocols(t *testing.T) {
	var ids []string
	for _, p := range advice.Protocols() {
		ids = append(ids, p.ID)
	}
	if !slices.IsSorted(ids) {
		t.Errorf("not in order of id: %v", ids)
	}
	for _, want := range []string{
		"regional-minimum", "own-rules", "utah", "minnesota", "south-dakota", "montana", "wyoming", "idaho", "washington",
		"oregon", "california-folsom", "tahoe", "arizona", "new-mexico", "british-columbia", "alberta", "manitoba", "glacier",
		"waterton", "parks-canada-mountain", "yellowstone", "new-york-lake-george", "wisconsin", "new-zealand",
		"switzerland-zurich", "central-switzerland",
	} {
		if !slices.Contains(ids, want) {
			t.Errorf("no protocol %s", want)
		}
	}
}

// What must hold for every protocol, whatever its law says.
func TestEveryProtocolIsAnHonestExample(t *testing.T) {
	for _, p := range advice.Protocols() {
		t.Run(p.ID, func(t *testing.T) {
			if p.Confirmed {
				t.Error("is confirmed; nobody of a programme has checked it")
			}
			if p.TextDate == "" || p.Summary == "" || len(p.Notes) == 0 || len(p.Powers) == 0 {
				t.Error("lacks its date, summary, notes or powers")
			}
			if err := p.Validate(); err != nil {
				t.Error(err)
			}
			for _, id := range p.Sources {
				if _, ok := refdata.SourceByID(id); !ok {
					t.Errorf("sources: %q is not in the list of sources", id)
				}
			}
			for what, source := range citedBy(p) {
				if source == "common practice, no source" {
					continue
				}
				for _, id := range strings.Split(source, ";") {
					if !slices.Contains(p.Sources, id) {
						t.Errorf("%s cites %s, which its list of sources leaves out", what, id)
					}
				}
			}
			acts := map[string]bool{}
			for _, w := range p.Powers {
				if acts[w.Act] {
					t.Errorf("power %s stands twice; only the first would count", w.Act)
				}
				acts[w.Act] = true
			}
			for key := range p.Words {
				if !slices.Contains(wordKeys(), key) {
					t.Errorf("words: %q is no code of ours", key)
				}
			}
		})
	}
}

// citedBy lists every source cell of the protocol's own lines. Lines of a table bring their own.
func citedBy(p thwart.Protocol) map[string]string {
	m := map[string]string{}
	for _, a := range p.Always {
		m["always "+a.When] = a.Source
	}
	for _, w := range p.Powers {
		m["power "+w.Act] = w.Source
	}
	for _, d := range p.TestedDrying {
		m["tested drying of "+d.Organism] = d.Source
	}
	for _, c := range p.Chemicals {
		m["chemical "+c.Agent+c.Strength] = c.Source
	}
	return m
}

// wordKeys lists our codes that an authority's own word may stand beside.
func wordKeys() []string {
	keys := append([]string{"cleared", "held", "severe_risk", "day_use", "moored"}, thwart.PowerActs...)
	for _, o := range thwart.Outcomes {
		keys = append(keys, string(o))
	}
	for _, s := range thwart.WaterStatuses {
		keys = append(keys, string(s))
	}
	return keys
}

// A wash can be prescribed under every protocol: each part the wash tables know has its line, whatever the risk.
func TestEveryProtocolWashesEveryPart(t *testing.T) {
	parts := []thwart.Part{
		thwart.PartHull, thwart.PartTrailer, thwart.PartGimbal, thwart.PartEngine, thwart.PartBallast, thwart.PartWell,
		thwart.PartBilge, thwart.PartGear,
	}
	for _, p := range advice.Protocols() {
		for _, part := range parts {
			for _, risk := range []string{"low", "high"} {
				publishedLine(t, p, part, risk)
			}
		}
	}
}

// Hull, trailer, gimbal and compartments as the regional table has them, in every protocol, save where a text asks
// something else by name.
func TestWashFacts(t *testing.T) {
	f := unit.FromFahrenheit
	for _, tc := range []struct {
		protocol string
		part     thwart.Part
		risk     string
		tempC    unit.Celsius
		contactS float64
		measured thwart.MeasuredAt
		method   thwart.Method
		maxPSI   float64
		source   string
	}{
		{"regional-minimum", "hull", "high", f(140), 10, "contact", "high_spray", 3000, umpsTable},
		{"regional-minimum", "trailer", "high", f(140), 70, "contact", "low_spray", 60, umpsTable},
		{"regional-minimum", "gimbal", "high", f(140), 132, "contact", "low_spray", 60, umpsTable},
		{"regional-minimum", "gear", "high", f(140), 10, "contact", "low_spray", 60, umpsTable},
		{"regional-minimum", "well", "high", f(120), 130, "contact_or_exit", "low_spray_or_flush", 60, umpsTable},
		{"regional-minimum", "bilge", "high", f(120), 130, "contact_or_exit", "low_spray_or_flush", 60, umpsTable},
		{"regional-minimum", "ballast", "low", f(120), 130, "exit", "flush", 60, umpsTable},
		{"regional-minimum", "ballast", "high", f(120), 130, "exit", "fill_and_flush", 60, umpsTable},
		{"own-rules", "hull", "high", f(140), 10, "contact", "high_spray", 3000, umpsTable},
		{"utah", "hull", "high", f(140), 10, "contact", "high_spray", 3000, "Utah Admin. Code R657-60 adopts UMPS"},
		{"south-dakota", "well", "high", f(120), 120, "contact_or_exit", "flush", 60, "South Dakota boat washing page"},
		{"south-dakota", "bilge", "high", f(120), 120, "contact_or_exit", "flush", 60, "South Dakota boat washing page"},
		{"south-dakota", "ballast", "high", f(120), 120, "exit", "flush", 60, "South Dakota boat washing page"},
		{"south-dakota", "gimbal", "high", f(140), 132, "contact", "low_spray", 60, umpsTable},
		{"minnesota", "well", "high", f(120), 120, "contact_or_exit", "low_spray_or_flush", 60, "Minnesota DNR hot-water advice"},
		{"minnesota", "bilge", "high", f(120), 120, "contact_or_exit", "low_spray_or_flush", 60, "Minnesota DNR hot-water advice"},
		{"minnesota", "hull", "high", f(140), 10, "contact", "high_spray", 3000, "Minnesota DNR hot-water advice"},
		{"minnesota", "trailer", "high", f(140), 70, "contact", "low_spray", 60, umpsTable},
		{"wyoming", "bilge", "high", f(140), 130, "contact_or_exit", "low_spray_or_flush", 60, "Wyoming Game and Fish FAQ, 140 °F; time " + umpsTable},
		{"tahoe", "ballast", "high", f(140), 130, "exit", "fill_and_flush", 60, "Tahoe page of 2015, 140 °F; time " + umpsTable},
		{"new-zealand", "gear", "low", 55, 300, "soak", "soak", 0, "New Zealand MPI, North Island page"},
		{"switzerland-zurich", "hull", "high", 70, 10, "contact", "high_spray", 3000, "Central Switzerland, 70-80 °C; time " + umpsTable},
	} {
		t.Run(tc.protocol+"_"+string(tc.part)+"_"+tc.risk, func(t *testing.T) {
			w := publishedLine(t, published(t, tc.protocol), tc.part, tc.risk)
			publishedFigure(t, "temperature", float64(w.TempC), float64(tc.tempC), tc.source)
			publishedFigure(t, "contact time", w.ContactS, tc.contactS, tc.source)
			publishedFigure(t, "pressure", w.PressureMaxBar, tc.maxPSI*unit.BarPerPSI, tc.source)
			if w.Measured != tc.measured || w.Method != tc.method {
				t.Errorf("measured at %s by %s, want at %s by %s (%s)", w.Measured, w.Method, tc.measured, tc.method, tc.source)
			}
		})
	}
}

// The engine is judged by the water that comes out, and what goes in is never above 60 °C (UMPS III Table 3, note 6).
func TestEngineEverywhere(t *testing.T) {
	for _, p := range advice.Protocols() {
		w := publishedLine(t, p, thwart.PartEngine, "high")
		if w.Measured != thwart.AtExit || w.Method != thwart.MethodEngineFlush {
			t.Errorf("%s: engine measured at %s by %s, want at the exit by flushing (%s)", p.ID, w.Measured, w.Method, umpsTable)
		}
		if !(w.MaxInletC > 0 && w.MaxInletC <= 60) {
			t.Errorf("%s: inlet limit %v °C, want at most 60 (%s, note 6)", p.ID, w.MaxInletC, umpsTable)
		}
	}
}

func TestUtahDrying(t *testing.T) {
	p := published(t, "utah")
	for month, want := range map[time.Month]float64{
		1: 30, 2: 30, 3: 18, 4: 18, 5: 18, 6: 7, 7: 7, 8: 7, 9: 18, 10: 18, 11: 18, 12: 30,
	} {
		n := 0
		for _, d := range p.Dry {
			if d.Applies == "simple" && slices.Contains(d.Months, month) {
				publishedFigure(t, "days in "+month.String(), d.Days, want, utahRule)
				n++
			}
		}
		if n != 1 {
			t.Errorf("%d lines for %s, want 1", n, month)
		}
	}
	freezing, complexCraft := 0, 0
	for _, d := range p.Dry {
		if d.FreezingH > 0 {
			publishedFigure(t, "hours below freezing", d.FreezingH, 72, utahRule)
			freezing++
		}
		if d.Applies == "complex" {
			publishedFigure(t, "complex craft", d.Days, 30, utahRule)
			if len(d.Months) > 0 {
				t.Errorf("complex craft wait in %v only; Utah names no months for them (%s)", d.Months, utahRule)
			}
			complexCraft++
		}
	}
	if freezing != 1 || complexCraft == 0 {
		t.Errorf("%d freezing lines and %d for complex craft, want 1 and some", freezing, complexCraft)
	}
	if !p.Criteria.StrainerOut || !p.SameWaterExempt {
		t.Error("sea strainers come out, and the same water again is exempt (Utah Admin. Code R657-60-5)")
	}
	publishedFigure(t, "look-back", p.LookBackDays, 30, "Utah Admin. Code R657-60-13")
}

func TestSealedAndNamedDryingTimes(t *testing.T) {
	for _, tc := range []struct {
		protocol, applies, usedIn string
		from                      thwart.ClockStart
		days                      float64
		source                    string
	}{
		{"regional-minimum", "any", "", "dry_to_touch", 30, "Western Regional Panel guidance"},
		{"glacier", "motor", "", "sealed", 30, "Glacier National Park boat rules 2011-2019"},
		{"waterton", "any", "", "sealed", 90, "Parks Canada, Waterton Lakes 2019-2025"},
		{"parks-canada-mountain", "any", "near", "dry_to_touch", 2, "Parks Canada, mountain parks"},
		{"parks-canada-mountain", "any", "elsewhere", "dry_to_touch", 30, "Parks Canada, mountain parks"},
		{"california-folsom", "any", "", "sealed", 30, "Folsom Lake rule of 14 April 2025"},
		{"california-east-bay", "any", "", "dry_to_touch", 30, "East Bay Municipal Utility District"},
		{"arizona", "any", "", "dry_to_touch", 5, azRule},
		{"british-columbia", "any", "", "out_of_water", 30, "British Columbia Invasive Mussel Defence Program"},
		{"minnesota", "dock", "", "out_of_water", 21, mnLaw},
		{"south-dakota", "any", "", "dry_to_touch", 7, "South Dakota boat washing page, cooler months"},
		{"wisconsin", "any", "", "dry_to_touch", 6, "Wisconsin Sea Grant"},
		{"new-zealand", "any", "", "dry_to_touch", 2, "New Zealand MPI"},
		{"yellowstone", "complex", "", "sealed", 30, "Yellowstone proposal of March 2024"},
	} {
		t.Run(tc.protocol+"_"+tc.applies+tc.usedIn, func(t *testing.T) {
			p := published(t, tc.protocol)
			i := slices.IndexFunc(p.Dry, func(d thwart.DryRule) bool {
				return d.Applies == tc.applies && d.UsedIn == tc.usedIn && d.From == tc.from && d.Days > 0
			})
			if i < 0 {
				t.Fatalf("no line for %s %s from %s in %+v", tc.applies, tc.usedIn, tc.from, p.Dry)
			}
			publishedFigure(t, "days", p.Dry[i].Days, tc.days, tc.source)
		})
	}
}

// Rules that treat a craft whatever is found on it.
func TestStandingRules(t *testing.T) {
	for _, tc := range []struct {
		protocol, when string
		outcome        thwart.Outcome
		source         string
	}{
		{"montana", "ballast", thwart.Wash, mtReleases},
		{"idaho", "out_of_region", thwart.Wash, "Idaho law from 1 July 2024"},
		{"california-folsom", "no_local_seal", thwart.DryOut, "Folsom Lake rule of 14 April 2025: every motor craft"},
		{"tahoe", "no_local_seal", thwart.Wash, "Lake Tahoe rule of 2025: every motor craft"},
		{"arizona", "moored", thwart.Wash, azRule},
		{"glacier", "no_local_seal", thwart.DryOut, "Glacier National Park boat rules 2011-2019"},
		{"waterton", "no_local_seal", thwart.DryOut, "Parks Canada, Waterton Lakes 2019-2025"},
		{"switzerland-zurich", "changes_water", thwart.Wash, "Canton Zurich, wash duty from 1 April 2025"},
		{"central-switzerland", "changes_water", thwart.Wash, "Central Switzerland, wash duty from 1 July 2023"},
	} {
		a := published(t, tc.protocol).Always
		if !slices.ContainsFunc(a, func(a thwart.Always) bool { return a.When == tc.when && a.Outcome == tc.outcome }) {
			t.Errorf("%s: no rule %s: %s in %+v (%s)", tc.protocol, tc.when, tc.outcome, a, tc.source)
		}
	}
	for id, applies := range map[string]string{"tahoe": "motor", "idaho": "any", "arizona": "moored"} {
		if !slices.ContainsFunc(published(t, id).Dry, func(d thwart.DryRule) bool { return d.NotAccepted && d.Applies == applies }) {
			t.Errorf("%s: drying is accepted for %s", id, applies)
		}
	}
}

// The notice of 2023 on wake boats was replaced and its new text not read: it is told, and binds nobody.
func TestHistoryBindsNobody(t *testing.T) {
	p := published(t, "new-zealand")
	for _, d := range p.Dry {
		if d.Never {
			t.Errorf("New Zealand bars %s for good by %s", d.Applies, d.Profile)
		}
	}
	if !strings.Contains(strings.Join(p.Notes, " "), "Wake boats") {
		t.Error("the notes do not tell of the wake boats")
	}
	// Where "never" is in force it stays.
	if !slices.ContainsFunc(published(t, "yellowstone").Dry, func(d thwart.DryRule) bool { return d.Never && d.Applies == "sealed_ballast" }) {
		t.Error("Yellowstone lets sealed ballast in")
	}
	if !slices.ContainsFunc(published(t, "waterton").Dry, func(d thwart.DryRule) bool { return d.Never && d.Applies == "carry_in" && d.UsedIn == "elsewhere" }) {
		t.Error("Waterton lets carried-in craft from outside in")
	}
}

func TestCriteriaFacts(t *testing.T) {
	for _, p := range advice.Protocols() {
		if !p.Criteria.DeadMusselFails {
			t.Errorf("%s passes dead mussels; British Columbia forbids them alive or dead, and no text read lets them pass", p.ID)
		}
		wantPlug := "out"
		if p.ID == "montana" {
			wantPlug = "may_refit"
		}
		if p.Criteria.Plug != wantPlug {
			t.Errorf("%s: plug %s, want %s (%s; out in most places)", p.ID, p.Criteria.Plug, wantPlug, mtCode)
		}
		if p.Criteria.StrainerOut != (p.ID == "utah") {
			t.Errorf("%s: strainer out %v; Utah alone asks for it", p.ID, p.Criteria.StrainerOut)
		}
		drainedOnly := slices.Contains([]string{"minnesota", "washington", "new-hampshire"}, p.ID)
		if p.Needs(thwart.Dry) == drainedOnly {
			t.Errorf("%s: asks for dry: %v", p.ID, p.Needs(thwart.Dry))
		}
	}
	for id, source := range map[string]string{
		"manitoba": "Manitoba AIS Regulation 173/2015", "utah": "Utah Admin. Code R657-60-5(6)",
		"switzerland-zurich": "Canton Zurich: every change of water", "central-switzerland": "Central Switzerland: every change of water",
	} {
		if !published(t, id).SameWaterExempt {
			t.Errorf("%s: the same water again is not exempt (%s)", id, source)
		}
	}
	if notes := strings.Join(published(t, "manitoba").Notes, " "); !strings.Contains(notes, "Car washes are not a decontamination") {
		t.Error("Manitoba's notes do not speak of car washes")
	}
	for _, id := range []string{"switzerland-zurich", "central-switzerland"} {
		if !published(t, id).Release {
			t.Errorf("%s takes no electronic release", id)
		}
	}
	if p := published(t, "new-york-lake-george"); !p.CarryInExempt || p.Criteria.Water != "none" {
		t.Error("Lake George exempts carried-in craft and fails any water (6 NYCRR 646-9)")
	}
}

func TestWhoMayDoWhat(t *testing.T) {
	for _, tc := range []struct {
		protocol, act string
		role          thwart.Role
		may           bool
		source        string
	}{
		{"minnesota", "refuse_launch", thwart.RoleSteward, true, mnLaw},
		{"minnesota", "require_wash", thwart.RoleSteward, true, mnLaw},
		{"minnesota", "order_wash", thwart.RoleSteward, false, mnLaw},
		{"minnesota", "hold", thwart.RoleSteward, false, mnLaw},
		{"minnesota", "refuse_launch", thwart.RoleVolunteer, false, mnHelpers},
		{"minnesota", "order_wash", thwart.RoleVolunteer, false, mnHelpers},
		{"minnesota", "inspect", thwart.RoleVolunteer, false, mnHelpers},
		{"oregon", "order_wash", thwart.RoleSteward, true, orRule},
		{"oregon", "fit_seal", thwart.RoleOwner, false, orRule},
		{"california-folsom", "order_wash", thwart.RoleAgency, true, caCode + ": director or designee"},
		{"california-folsom", "order_wash", thwart.RoleSteward, false, caCode},
		{"idaho", "release", thwart.RoleAgency, true, idRule},
		{"idaho", "release", thwart.RoleOfficer, false, idRule},
		{"idaho", "release", thwart.RoleSteward, false, idRule},
		{"british-columbia", "order_wash", thwart.RoleOfficer, true, "British Columbia: inspectors are sworn officers"},
		{"british-columbia", "refuse_launch", thwart.RoleSteward, false, "British Columbia: orders come from the office, not the job"},
		{"new-hampshire", "refuse_launch", thwart.RoleSteward, false, "New Hampshire lake hosts: by their own rules they do not stop a launch"},
		{"new-hampshire", "inspect", thwart.RoleVolunteer, true, "New Hampshire lake hosts offer to look"},
		{"wyoming", "impound", thwart.RoleOfficer, true, "Wyoming Game and Fish Commission Regulation ch. 62"},
		{"wyoming", "order_wash", thwart.RoleSteward, false, "Wyoming Game and Fish Commission Regulation ch. 62"},
		{"new-mexico", "require_wash", thwart.RoleSteward, true, "19.30.14.12 NMAC"},
		{"switzerland-zurich", "release", thwart.RoleAgency, true, "Canton Zurich: release by e-mail"},
	} {
		if tc.source == "" {
			t.Fatalf("%s %s names no source", tc.protocol, tc.act)
		}
		p := published(t, tc.protocol)
		if got := slices.Contains(p.May(tc.act), tc.role); got != tc.may {
			t.Errorf("%s: %s by %s: %v, want %v (%s)", tc.protocol, tc.act, tc.role, got, tc.may, tc.source)
		}
	}
}

// Unless a law that was read says so by name, no steward, technician or volunteer orders, holds, impounds or releases.
func TestOrdersAreForOfficers(t *testing.T) {
	lawful := map[string][]string{"oregon": {"order_wash"}}
	for _, p := range advice.Protocols() {
		for _, act := range []string{"order_wash", "hold", "impound", "release"} {
			if slices.Contains(lawful[p.ID], act) {
				continue
			}
			for _, r := range []thwart.Role{thwart.RoleOwner, thwart.RoleVolunteer, thwart.RoleSteward, thwart.RoleTechnician} {
				if slices.Contains(p.May(act), r) {
					t.Errorf("%s: a %s may %s", p.ID, r, act)
				}
			}
		}
	}
}

func TestAuthorityStandsBehindPowers(t *testing.T) {
	for _, a := range refdata.Authorities() {
		if a.Protocol == "" {
			continue
		}
		p := published(t, a.Protocol)
		for _, id := range a.SourceIDs {
			if !slices.Contains(p.Sources, id) {
				t.Errorf("%s: %s says who may do what there and is not among its sources", p.ID, id)
			}
		}
	}
}

func TestOwnRules(t *testing.T) {
	own, regional := published(t, "own-rules"), published(t, "regional-minimum")
	if own.Title != "Own rules: copy and edit" {
		t.Errorf("title %q", own.Title)
	}
	if diff := cmp.Diff(regional.Wash, own.Wash); diff != "" {
		t.Errorf("its wash differs from the regional minimum (-regional +own):\n%s", diff)
	}
	if !own.Alternative || !slices.Equal(own.Requires, thwart.Standards) {
		t.Errorf("alternative %v, requires %v; want it, and all three standards", own.Alternative, own.Requires)
	}
	if len(own.TestedDrying) != 1 {
		t.Fatalf("%d tested drying times, want 1", len(own.TestedDrying))
	}
	d := own.TestedDrying[0]
	const source = "Branstrator et al. 2013: none hatched after 6 h or more at 17 °C"
	publishedFigure(t, "hours", d.Hours, 6, source)
	publishedFigure(t, "temperature", float64(d.MinTempC), 17, source)
	publishedFigure(t, "margin", d.Margin, 2, "a programme's choice")
	if d.Organism != "spiny_water_flea" || d.Stage != "resting_egg" {
		t.Errorf("for %s %s", d.Organism, d.Stage)
	}
	if !strings.Contains(strings.Join(own.Notes, " "), "humidity of the test is not given") {
		t.Error("the notes do not say that the humidity is assumed")
	}
}

// A published table or profile that may bind can be named by a programme, and one that may not is refused with the reason.
func TestEveryTableCanBeNamedOrIsRefused(t *testing.T) {
	for _, name := range refdata.WashTables() {
		p := published(t, "own-rules")
		p.Wash, p.WashTable = nil, name
		usable := slices.ContainsFunc(refdata.WashTable(name), refdata.WashRow.Usable)
		got, err := advice.Expand(p)
		switch {
		case usable && err != nil:
			t.Errorf("%s: %v", name, err)
		case usable && len(got.Wash) == 0:
			t.Errorf("%s gives no lines", name)
		case !usable && err == nil:
			t.Errorf("%s is no rule and was taken", name)
		}
	}
	for _, name := range refdata.DryProfiles() {
		p := published(t, "own-rules")
		p.Dry, p.DryTables = nil, []string{name}
		usable := slices.ContainsFunc(refdata.DryRules(name), refdata.DryRule.Usable)
		got, err := advice.Expand(p)
		switch {
		case usable && err != nil:
			t.Errorf("%s: %v", name, err)
		case usable && len(got.Dry) == 0:
			t.Errorf("%s gives no lines", name)
		case !usable && err == nil:
			t.Errorf("%s does not bind and was taken", name)
		}
	}
}

func TestExpandLeavesTheGivenProtocolAlone(t *testing.T) {
	p := published(t, "own-rules")
	p.Wash, p.Dry = make([]thwart.WashRow, 0, 50), nil
	if _, err := advice.Expand(p); err != nil {
		t.Fatal(err)
	}
	if len(p.Wash) != 0 || p.Wash[:1][0].Part != "" || p.Dry != nil {
		t.Error("Expand wrote into the protocol it was given")
	}
}

// Callers own what they get: writing into one answer shows in no other.
func TestCallersGetCopies(t *testing.T) {
	before := advice.Protocols()
	spoil := advice.Protocols()
	for i := range spoil {
		p := &spoil[i]
		for k := range p.Words {
			p.Words[k] = "spoiled"
		}
		p.Requires[0] = "spoiled"
		p.Wash[0].TempC = 1
		p.Powers[0].Act = "spoiled"
		for j := range p.Powers {
			if len(p.Powers[j].Who) > 0 {
				p.Powers[j].Who[0] = "spoiled"
			}
		}
		for j := range p.Dry {
			p.Dry[j].Days = -1
			if len(p.Dry[j].Months) > 0 {
				p.Dry[j].Months[0] = 13
			}
		}
		for j := range p.Always {
			p.Always[j].When = "spoiled"
		}
		for j := range p.TestedDrying {
			p.TestedDrying[j].Hours = -1
		}
		for j := range p.Chemicals {
			p.Chemicals[j].For[0] = "spoiled"
		}
		for j := range p.DryTables {
			p.DryTables[j] = "spoiled"
		}
		for j := range p.SealTrust {
			p.SealTrust[j] = "spoiled"
		}
		p.Sources[0], p.Notes[0] = "spoiled", "spoiled"
	}
	if diff := cmp.Diff(before, advice.Protocols()); diff != "" {
		t.Errorf("a caller's change reached the library (-before +after):\n%s", diff)
	}
	one := published(t, "utah")
	one.Wash[0].TempC = 1
	if again := published(t, "utah"); again.Wash[0].TempC == 1 {
		t.Error("a caller's change reached the library through ProtocolByID")
	}
}

func TestExpandingTwiceChangesNothing(t *testing.T) {
	for _, p := range advice.Protocols() {
		again, err := advice.Expand(p)
		if err != nil {
			t.Errorf("%s: %v", p.ID, err)
			continue
		}
		if diff := cmp.Diff(p, again); diff != "" {
			t.Errorf("%s (-once +twice):\n%s", p.ID, diff)
		}
	}
}

func TestExpandedProtocolsReadBackEqual(t *testing.T) {
	for _, p := range advice.Protocols() {
		if diff := cmp.Diff(p, protocolReadBack(t, p)); diff != "" {
			t.Errorf("%s (-written +read):\n%s", p.ID, diff)
		}
	}
}

// Whatever lines of its own a programme writes, they stand first, nothing of theirs is lost, every part of the table is
// still covered, and filling in again changes nothing.
func TestOwnLinesStandFirst(t *testing.T) {
	base := published(t, "own-rules")
	table := base.Wash
	rapid.Check(t, func(rt *rapid.T) {
		p := base
		p.Wash, p.Dry = nil, nil
		p.WashTable = rapid.SampledFrom([]string{"umps3", "sd_gfp, umps3", "mn_dnr,umps3", "umps3, sd_gfp"}).Draw(rt, "tables")
		for range rapid.IntRange(0, 6).Draw(rt, "own") {
			w := rapid.SampledFrom(table).Draw(rt, "like")
			w.Risk = rapid.SampledFrom([]string{"", "low", "high"}).Draw(rt, "risk")
			w.ContactS = rapid.Float64Range(1, 7200).Draw(rt, "seconds")
			w.Source, w.Known = "board resolution", "programme"
			p.Wash = append(p.Wash, w)
		}
		got, err := advice.Expand(p)
		if err != nil {
			rt.Fatal(err)
		}
		if diff := cmp.Diff(p.Wash, got.Wash[:len(p.Wash)], equateEmpty); diff != "" {
			rt.Fatalf("own lines changed (-own +got):\n%s", diff)
		}
		for _, row := range table {
			for _, risk := range []string{"low", "high"} {
				first, ok := firstLineFor(got, row.Part, risk)
				if !ok {
					rt.Fatalf("nothing for %s at %s risk", row.Part, risk)
				}
				if own, ok := firstLineFor(p, row.Part, risk); ok && first != own {
					rt.Fatalf("%s at %s risk: %+v stands before the programme's own %+v", row.Part, risk, first, own)
				}
			}
		}
		again, err := advice.Expand(got)
		if err != nil {
			rt.Fatal(err)
		}
		if diff := cmp.Diff(got, again); diff != "" {
			rt.Fatalf("twice is not once:\n%s", diff)
		}
	})
}

var equateEmpty = cmp.Transformer("len0", func(w []thwart.WashRow) []thwart.WashRow {
	if len(w) == 0 {
		return nil
	}
	return w
})

func TestReadProtocolNamesWhatIsWrong(t *testing.T) {
	for _, tc := range []struct {
		name, change, to string // a piece of the file and what stands there instead
		field, says      string
	}{
		{"unknown field", `"title"`, `"titel"`, "titel", "only the fields"},
		{"no such wash table", `"washTable": "umps3"`, `"washTable": "umps4"`, "washTable", "did you mean umps3"},
		{"research as a rule", `"washTable": "umps3"`, `"washTable": "spray_trial"`, "washTable", "research"},
		{"a reference", `"washTable": "umps3"`, `"washTable": "ut_rule_2021"`, "washTable", "umps3"},
		{"empty name in a list", `"washTable": "umps3"`, `"washTable": "umps3,"`, "washTable", "one of"},
		{"no such drying table", `"west_general"`, `"west-generl"`, "dryTables[0]", "did you mean west_general"},
		{"a replaced notice", `"west_general"`, `"nz_wake"`, "dryTables[0]", "history"},
		{"an unnamed season", `"west_general"`, `"lake_george_old"`, "dryTables[0]", "sun"},
		{"no such organism", `"spiny_water_flea"`, `"spiny_waterflea"`, "testedDrying[0].organism", "did you mean spiny_water_flea"},
		{"no such stage", `"resting_egg"`, `"egg"`, "testedDrying[0].stage", "resting_egg"},
		{"no humidity", `"maxRhPct": 50`, `"maxRhPct": 0`, "testedDrying[0].maxRhPct", "1 to 100"},
		{"no temperature that can be", `"minTempC": 17`, `"minTempC": 170`, "testedDrying[0].minTempC", "0 to 50"},
		{"margin below one", `"margin": 2`, `"margin": 0.5`, "testedDrying[0].margin", "from 1"},
		{"a role nobody has", `"steward"`, `"king"`, "powers[0].who[0]", "steward"},
		{"text for a number", `"lookBackDays": 30`, `"lookBackDays": "30"`, "lookBackDays", "number"},
		{"standing rule for nothing", `"sameWaterExempt"`, `"always": [{"when": "any", "outcome": "launch", "source": "x", "known": "programme"}], "sameWaterExempt"`, "always[0].outcome", "wash"},
		{"agent without a time", `"powers"`, `"chemicals": [{"agent": "salt", "strength": "100 g/L", "for": ["gear"], "source": "x", "known": "programme"}], "powers"`, "chemicals[0].contactS", "seconds"},
		{"agent for nothing", `"powers"`, `"chemicals": [{"agent": "salt", "strength": "100 g/L", "contactS": 5, "for": [], "source": "x", "known": "programme"}], "powers"`, "chemicals[0].for", "part"},
		{"a standard without a name", `"clean",`, `"",`, "requires[0]", "clean, drained, dry"},
		{"a role without a name", `"steward"`, `""`, "powers[0].who[0]", "officer"},
		{"a line read at the nozzle", `"washTable"`, ownLine("hull", "nozzle"), "wash[0].measured", "proves nothing"},
		{"a line read nowhere", `"washTable"`, ownLine("hull", ""), "wash[0].measured", "contact"},
		{"a line for no part", `"washTable"`, ownLine("", "contact"), "wash[0].part", "hull"},
		{"a drying line without a clock", `"dryTables"`, ownDry(`"days": 5`), "dry[0].from", "dry_to_touch"},
		{"frost for less than no time", `"dryTables"`, ownDry(`"freezingH": -5, "from": "cleaned"`), "dry[0].freezingH", "1 to 1000"},
		{"used in no such place", `"dryTables"`, ownDry(`"days": 5, "from": "cleaned", "usedIn": "far"`), "dry[0].usedIn", "elsewhere"},
		{"confirmed by nobody", `"confirmed": false`, `"confirmed": true`, "confirmedBy", "who"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			file := string(refdata.ProtocolFiles()["own-rules"])
			if !strings.Contains(file, tc.change) {
				file = string(refdata.ProtocolFiles()["regional-minimum"])
			}
			changed := strings.Replace(file, tc.change, tc.to, 1)
			if changed == file {
				t.Fatalf("%s is not in the file", tc.change)
			}
			_, err := advice.ReadProtocol(strings.NewReader(changed))
			var errs thwart.FieldErrors
			if !errors.As(err, &errs) {
				t.Fatalf("error %v, want field errors", err)
			}
			i := slices.IndexFunc(errs, func(e thwart.FieldError) bool { return e.Field == tc.field })
			if i < 0 {
				t.Fatalf("errors %v, want one for %s", errs, tc.field)
			}
			if !strings.Contains(errs[i].Accepted, tc.says) {
				t.Errorf("accepted %q, want it to say %q", errs[i].Accepted, tc.says)
			}
		})
	}
	for name, file := range map[string]string{
		"empty": "", "not JSON": "{", "text after the end": string(refdata.ProtocolFiles()["own-rules"]) + "{}",
		"oversize": strings.Repeat(" ", advice.MaxProtocolBytes) + "{}",
	} {
		if _, err := advice.ReadProtocol(strings.NewReader(file)); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
}

// ownLine and ownDry write a line of the programme's own in front of the field they replace.
func ownLine(part, measured string) string {
	return `"wash": [{"part": "` + part + `", "tempC": 60, "measured": "` + measured +
		`", "contactS": 10, "method": "high_spray", "source": "x", "known": "programme"}], "washTable"`
}

func ownDry(fields string) string {
	return `"dry": [{"profile": "ours", "applies": "any", ` + fields + `, "kind": "rule", "source": "x", "known": "programme"}], "dryTables"`
}

func TestTablesByName(t *testing.T) {
	if rows, err := advice.WashTable("sd_gfp"); err != nil || len(rows) != 5 {
		t.Errorf("South Dakota's page gives %d full lines, %v; want 5", len(rows), err)
	}
	if rules, err := advice.DryRules("ut_simple"); err != nil || len(rules) != 4 {
		t.Errorf("Utah's simple craft have %d lines, %v; want 4", len(rules), err)
	}
	if _, err := advice.WashTable("umps"); err == nil || !strings.Contains(err.Error(), "umps3") {
		t.Errorf("a wash table that does not exist: %v", err)
	}
	if _, err := advice.DryRules("mt_ballast"); err == nil || !strings.Contains(err.Error(), "bill") {
		t.Errorf("a bill as a drying rule: %v", err)
	}
}

func TestProtocolByIDSuggests(t *testing.T) {
	for given, want := range map[string]string{
		"Utah": "utah", "minesota": "minnesota", "lake george": "new-york-lake-george", "zurich": "switzerland-zurich",
		"parks_canada_mountain": "parks-canada-mountain",
	} {
		_, err := advice.ProtocolByID(given)
		if err == nil || !strings.Contains(err.Error(), "did you mean "+want) {
			t.Errorf("%q: %v, want a hint at %s", given, err, want)
		}
	}
	_, err := advice.ProtocolByID(strings.Repeat("x", 500))
	if err == nil || !strings.Contains(err.Error(), "regional-minimum") || len(err.Error()) > 1200 {
		t.Errorf("an id that resembles nothing: %v, want a list of all there are", err)
	}
}

func TestCite(t *testing.T) {
	if got := advice.Cite("P02;P15"); !strings.Contains(got, "UMPS III Table 3") || !strings.Contains(got, "Minnesota Statutes 84D.10") {
		t.Errorf("Cite(P02;P15) = %q", got)
	}
	for _, own := range []string{"board resolution 7; P02", "P999", "", "common practice, no source"} {
		if got := advice.Cite(own); got != own {
			t.Errorf("Cite(%q) = %q, want it as it is", own, got)
		}
	}
}

// Nothing that reads makes the reader panic, and what is taken can be written and read again without a change.
func FuzzReadProtocol(f *testing.F) {
	for _, b := range refdata.ProtocolFiles() {
		f.Add(b)
	}
	f.Add([]byte(`{"id":"a","version":"1","title":"a","requires":["clean"],"criteria":{"water":"none","plug":"out"},"afterRisk":"nothing","washOrder":"inside_first","safetyFactor":1,"washTable":"umps3,mn_dnr","dryTables":["bc","bc"]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := advice.ReadProtocol(strings.NewReader(string(b)))
		if err != nil {
			return
		}
		if err := p.Validate(); err != nil {
			t.Fatalf("taken and not valid: %v", err)
		}
		if diff := cmp.Diff(p, protocolReadBack(t, p)); diff != "" {
			t.Fatalf("(-written +read):\n%s", diff)
		}
	})
}

func BenchmarkReadProtocol(b *testing.B) {
	file := string(refdata.ProtocolFiles()["own-rules"])
	for b.Loop() {
		if _, err := advice.ReadProtocol(strings.NewReader(file)); err != nil {
			b.Fatal(err)
		}
	}
}

func published(t testing.TB, id string) thwart.Protocol {
	t.Helper()
	p, err := advice.ProtocolByID(id)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// firstLineFor finds the line that decides for a part: the first that speaks of it under that risk.
func firstLineFor(p thwart.Protocol, part thwart.Part, risk string) (thwart.WashRow, bool) {
	for _, w := range p.Wash {
		if w.Part == part && (w.Risk == "" || w.Risk == risk) {
			return w, true
		}
	}
	return thwart.WashRow{}, false
}

func publishedLine(t testing.TB, p thwart.Protocol, part thwart.Part, risk string) thwart.WashRow {
	t.Helper()
	w, ok := firstLineFor(p, part, risk)
	if !ok {
		t.Fatalf("%s has no wash line for %s at %s risk", p.ID, part, risk)
	}
	return w
}

func protocolReadBack(t testing.TB, p thwart.Protocol) thwart.Protocol {
	t.Helper()
	b, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	got, err := advice.ReadProtocol(strings.NewReader(string(b)))
	if err != nil {
		t.Fatalf("its own JSON is not taken: %v", err)
	}
	return got
}

// publishedFigure compares with a published figure to the last few bits: tables keep what is printed, converted exactly.
func publishedFigure(t testing.TB, what string, got, want float64, source string) {
	t.Helper()
	if source == "" {
		t.Fatalf("%s: the expected value %v names no source", what, want)
	}
	if !(math.Abs(got-want) <= 1e-12*math.Max(1, math.Abs(want))) {
		t.Errorf("%s = %.17g, want %.17g (%s)", what, got, want, source)
	}
}
