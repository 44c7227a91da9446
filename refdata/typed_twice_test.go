package refdata

import (
	"math"
	"testing"

	"thwart/unit"
)

// cited fails a test whose expected value names no source.
func cited(t *testing.T, source string) {
	t.Helper()
	if source == "" {
		t.Fatal("an expected value without a source")
	}
}

// same compares an optional number with the published one; want NaN means that nothing was published.
func same(t *testing.T, what string, got *float64, want float64, source string) {
	t.Helper()
	cited(t, source)
	switch {
	case math.IsNaN(want):
		if got != nil {
			t.Errorf("%s = %g, want nothing (%s)", what, *got, source)
		}
	case got == nil:
		t.Errorf("%s is absent, want %g (%s)", what, want, source)
	case *got != want:
		t.Errorf("%s = %g, want %g (%s)", what, *got, want, source)
	}
}

func degrees(c *unit.Celsius) *float64 {
	if c == nil {
		return nil
	}
	v := float64(*c)
	return &v
}

var absent = math.NaN()

// What the papers print, typed a second time beside the paper, against what the tables say.
func TestHeatEvidenceAsPublished(t *testing.T) {
	const (
		comeau     = "Comeau et al. 2011, Biofouling 27:267-274, abstract"
		comeau15   = "Comeau et al. 2015, doi 10.1201/b18447-23, abstract"
		morse      = "Morse 2009, Biofouling 25:605-610, from memory"
		beyer      = "Beyer, Moy & De Stasio 2011, Environ. Manage. 47:67-76, abstract"
		mohit21    = "Mohit, Johnson & Arnott 2021, Manag. Biol. Invasions, abstract"
		mohit23    = "Mohit, Johnson & Arnott 2023, Sci. Rep. 13, abstract"
		anderson   = "Anderson et al. 2015, Biol. Invasions 17:2287-2297, abstract"
		shannon    = "Shannon et al. 2018, Manag. Biol. Invasions 9(4), abstract"
		rajagopal  = "Rajagopal et al. 2005, Biofouling, abstract"
		columbia   = "Columbia River Basin Team 2013, appendix D-1"
		branstr    = "Branstrator et al. 2013, Limnol. Oceanogr. 58:2171-2184, abstract"
		blumer     = "Blumer et al. 2009, J. Aquat. Plant Manage. 47:122-127, abstract"
		coughlan19 = "Coughlan et al. 2019, Manag. Biol. Invasions 10:111-126, abstract"
	)
	tests := []struct {
		id                   string
		tempC, s, mortality  float64
		result               HeatResult
		organism, mustSource string
	}{
		{"HW01", 40, 40, 1, FirstAllDead, "quagga_mussel", comeau},
		{"HW02", 50, 20, 1, FirstAllDead, "quagga_mussel", comeau},
		{"HW03", 54, 10, 1, FirstAllDead, "quagga_mussel", comeau},
		{"HW04", 60, 5, 1, FirstAllDead, "quagga_mussel", comeau},
		{"HW05", 70, 5, 1, AllDead, "quagga_mussel", comeau},
		{"HW06", 80, 5, 1, AllDead, "quagga_mussel", comeau},
		{"HW08", absent, absent, 0.875, FractionOfTests, "quagga_mussel", comeau15},
		{"HW09", 60, 10, 1, FirstAllDead, "zebra_mussel", morse},
		{"HW10", 80, 5, 1, FirstAllDead, "zebra_mussel", morse},
		{"HW11", 60, 5, absent, NotAllDead, "zebra_mussel", morse},
		{"HW13", 60, 5, 1, AllDead, "dreissenid", mohit21},
		{"HW14", 50, 900, 1, AllDead, "", mohit21},
		{"HW15", 60, 10, absent, HeatFraction, "zebra_mussel", mohit23},
		{"HW16", 45, 900, 0.99, FractionPooled, "zebra_mussel", anderson},
		{"HW17", 40, 10, 1, AllDead, "zebra_mussel", shannon},
		{"HW18", 36, 38 * 60, 1, TimeToAllDead, "zebra_mussel", rajagopal},
		{"HW19", 37, 3600, 1, TimeToAllDead, "dreissenid", columbia},
		{"HW20", 33, 13 * 3600, 1, TimeToAllDead, "zebra_mussel", columbia},
		{"HW21", 43.3, 300, 1, AllDead, "zebra_mussel", "Wisconsin Sea Grant news item: 110 °F for at least 5 min"},
		{"HW22", 43, 300, 1, AllDead, "zebra_mussel", beyer},
		{"HW64", 43, 300, 1, AllDead, "quagga_mussel", beyer},
		{"HW31", 43, 300, 1, AllDead, "spiny_water_flea", beyer},
		{"HW33", 40, 600, absent, SomeHatch, "spiny_water_flea", branstr},
		{"HW34", 50, 60, absent, SomeHatch, "spiny_water_flea", branstr},
		{"HW35", 50, 300, 1, AllDead, "spiny_water_flea", branstr},
		{"HW36", 60, 60, 1, AllDead, "spiny_water_flea", branstr},
		{"HW38", 60, 120, 1, AllDead, "eurasian_watermilfoil", blumer},
		{"HW41", 45, 900, 0.4, HeatFraction, "parrotfeather", shannon},
		{"HW42", 50, 600, 0.9, HeatFraction, "parrotfeather", shannon},
		{"HW43", 60, 60, 1, HeatFraction, "parrotfeather", shannon},
		{"HW44", 45, 900, 0.9, HeatFraction, "swamp_stonecrop", "Anderson et al. 2015, Conservation Evidence study 5869"},
		{"HW45", absent, 90, absent, HeatIneffective, "swamp_stonecrop", "Bradbeer et al. 2021, Manag. Biol. Invasions 12:125-147, abstract"},
		{"HW50", 49, 600, 1, AllDeadClaimed, "new_zealand_mudsnail", "mudsnail gear guidance: 10 min at 120 °F (48.9 °C, held to 49 °C)"},
		{"HW52", 50, 15, absent, HeatFraction, "new_zealand_mudsnail", "Dwyer et al. 2003: most, not all, abstract"},
		{"HW53", 45, 300, 1, AllDead, "asian_clam", coughlan19},
		{"HW54", 100, 30, 1, AllDead, "asian_clam", coughlan19},
		{"HW55", 100, 300, 1, AllDead, "asian_clam", "Coughlan et al. 2020, abstract"},
		{"HW59", 40, 1200, 1, AllDead, "didymo", "Kilroy et al. 2006, slides"},
		{"HW62", 60, 10, absent, NotAllDead, "banded_mystery_snail", mohit23},
		{"HW65", 38, 17.5 * 3600, 1, TimeToAllDead, "golden_mussel", "Perepelizin & Boltovskoy 2011, Environ. Sci. Technol. 45:7868-7873, abstract"},
		{"HW66", 38, 17.5 * 3600, 1, TimeToAllDead, "golden_mussel", "Perepelizin & Boltovskoy 2011, abstract"},
		{"HW67", 34, 644.3 * 3600, 1, TimeToAllDead, "golden_mussel", "Perepelizin & Boltovskoy 2011, abstract"},
		{"HW07", absent, absent, 1, AllDead, "quagga_mussel", comeau15},
		{"HW12", absent, 15, 1, AllDead, "zebra_mussel", "Bradbeer et al. 2021, abstract: 15 s at 10 cm"},
		{"HW23", 32, absent, absent, LethalLongTerm, "dreissenid", columbia},
		{"HW24", 30, absent, absent, NoSurvivalLimit, "quagga_mussel", "Kappel et al. 2015, doi 10.1201/b18447-14, abstract"},
		{"HW25", 25, absent, absent, HeatDegreeHours, "zebra_mussel", "White et al. 2015, Can. J. Fish. Aquat. Sci. 72:1221-1229, abstract"},
		{"HW26", 35, absent, 1, NoSurvival, "dreissenid", "Koplyay 2020, thesis abstract"},
		{"HW27", 28, absent, absent, HighMortality, "dreissenid", columbia},
		{"HW30", 60, 10, absent, HeatFraction, "spiny_water_flea", mohit23},
		{"HW32", 40, 60, absent, SomeHatch, "spiny_water_flea", branstr},
		{"HW39", 60, 600, absent, NotAllDead, "eurasian_watermilfoil", blumer},
		{"HW40", 60, 10, absent, HeatFraction, "", mohit23},
		{"HW46", 60, absent, absent, HeatNothingFound, "curly_leaf_pondweed", "nothing found at the temperature that kills milfoil"},
		{"HW56", 100, 30, 1, AllDead, "zebra_mussel", "Coughlan et al. 2020, abstract"},
		{"HW60", 45, 2400, 1, AllDeadClaimed, "didymo", "British Columbia practice advisory 2022"},
		{"HW61", 60, 60, 1, AllDead, "didymo", "New Zealand guidance, from memory"},
		{"HW63", 43.3, 60, absent, HeatClaimed, "dreissenid", "boat transfer station plan"},
		{"HW68", 36, 4 * 86400, 1, TimeToAllDead, "asian_clam", "secondary account, from memory: 4 d"},
		{"HW69", 37, 2 * 86400, 1, TimeToAllDead, "asian_clam", "secondary account, from memory: 2 d"},
		{"HW70", 43, 1800, absent, HeatPredicted, "asian_clam", "secondary account, from memory: 30 min predicted"},
		{"HW71", 45, 60, absent, HeatFraction, "new_zealand_mudsnail", "Dwyer et al. 2003: most, not all, abstract"},
	}
	rows := map[string]HeatEvidence{}
	for _, e := range HeatEvidences() {
		rows[e.ID] = e
	}
	checked := map[string]bool{}
	for _, tt := range tests {
		checked[tt.id] = true
		e, ok := rows[tt.id]
		if !ok {
			t.Errorf("%s is missing (%s)", tt.id, tt.mustSource)
			continue
		}
		same(t, tt.id+" °C", degrees(e.TempC), tt.tempC, tt.mustSource)
		same(t, tt.id+" s", e.ExposureS, tt.s, tt.mustSource)
		same(t, tt.id+" dead", e.Mortality, tt.mortality, tt.mustSource)
		if e.Result != tt.result || e.Organism != tt.organism {
			t.Errorf("%s: %s of %q, want %s of %q (%s)", tt.id, e.Result, e.Organism, tt.result, tt.organism, tt.mustSource)
		}
	}
	for id, e := range rows {
		if !checked[id] && (e.TempC != nil || e.ExposureS != nil || e.Mortality != nil) {
			t.Errorf("%s holds numbers that no test compares with its source", id)
		}
	}
	for _, id := range []string{"HW01", "HW17", "HW63"} {
		if rows[id].Refused == "" {
			t.Errorf("%s is not refused, although longer survival at the same or a higher temperature is published", id)
		}
	}
}

func TestHeatProfilesAsDerived(t *testing.T) {
	const (
		spray = "lowest line above the points of Comeau et al. 2011 from 50 to 60 °C"
		sea   = "110 °F (43.3 °C) for 5 min, Wisconsin Sea Grant; 43 °C for 5 min, Beyer et al. 2011"
		half  = sea + "; 60 °C for 10 s, nearly all, Mohit et al. 2023"
		cold  = "lowest line above 33 °C 13 h, 36 °C 38 min, 37 °C 1 h, 43.3 °C 5 min"
	)
	tests := []struct {
		id                                     string
		refC, refS, zBelow, zAbove, minC, floo float64
		use                                    HeatUse
		factor                                 float64
		source                                 string
	}{
		{"quagga_adult_spray", 60, 5, 16.60, absent, 50, 5, ForRelease, 1, spray},
		{"zebra_adult_spray", 60, 10, absent, absent, 60, 10, ForRelease, 1, "5 s, Mohit et al. 2021; 10 s, Morse 2009 from memory"},
		{"dreissenid_any_immersion", 43.3, 300, absent, absent, 43.3, 300, ForRelease, 1, sea},
		{"dreissenid_any_immersion_interpolated", 43.3, 300, absent, 11.30, 43.3, 10, ForPlanning, 1, half},
		{"dreissenid_cold_acclimated_immersion", 43.3, 300, 4.69, absent, 33, 300, ForRelease, 1, cold},
		{"bythotrephes_adult_immersion", 43.3, 300, absent, absent, 43.3, 300, ForRelease, 2, "43 °C for 5 min, 10 min more reliable: Beyer et al. 2011"},
		{"bythotrephes_adult_immersion_interpolated", 43.3, 300, absent, 11.30, 43.3, 10, ForPlanning, 2, half},
		{"bythotrephes_resting_egg_immersion", 50, 300, absent, 14.30, 50, 60, ForRelease, 1, "Branstrator et al. 2013"},
		{"ewm_fragment_immersion", 60, 120, absent, absent, 60, 120, ForRelease, 1, "Blumer et al. 2009"},
		{"nz_mudsnail_immersion", 49, 600, absent, absent, 49, 600, ForRelease, 1, "agency guidance, 10 min at 120 °F"},
		{"asian_clam_adult_immersion", 45, 300, absent, absent, 45, 300, ForRelease, 1, "Coughlan et al. 2019"},
		{"didymo_immersion", 40, 1200, absent, absent, 40, 1200, ForRelease, 1, "Kilroy et al. 2006"},
		{"golden_mussel_immersion", 38, 63000, absent, absent, 38, 63000, ForRelease, 1, "17.5 h at 38-43 °C: Perepelizin & Boltovskoy 2011"},
	}
	for _, tt := range tests {
		p, ok := HeatProfileByID(tt.id)
		if !ok {
			t.Errorf("%s is missing (%s)", tt.id, tt.source)
			continue
		}
		for _, v := range []struct {
			what string
			got  float64
			want float64
		}{
			{"°C", float64(p.RefTempC), tt.refC}, {"s", p.RefTimeS, tt.refS}, {"least °C", float64(p.MinTempC), tt.minC},
			{"floor s", p.FloorS, tt.floo}, {"factor", p.MinFactor, tt.factor},
		} {
			same(t, tt.id+" "+v.what, &v.got, v.want, tt.source)
		}
		same(t, tt.id+" z below", p.ZBelowK, tt.zBelow, tt.source)
		same(t, tt.id+" z above", p.ZAboveK, tt.zAbove, tt.source)
		if p.Use != tt.use {
			t.Errorf("%s is for %s, want %s", tt.id, p.Use, tt.use)
		}
	}
	if got := len(HeatProfiles()); got != len(tests) {
		t.Errorf("%d profiles, %d checked", got, len(tests))
	}
	cold10, _ := HeatProfileByID("dreissenid_cold_acclimated_immersion")
	same(t, "source water of the cold profile", degrees(cold10.MaxSourceWaterC), 10, "winter animals from 5-10 °C: Columbia River Basin Team 2013")
}

// The slopes follow from the points they were drawn through or above.
func TestHeatSlopes(t *testing.T) {
	z := func(degrees, ratio float64) float64 { return degrees / math.Log10(ratio) }
	tests := []struct {
		id        string
		got, want float64
		tol       float64
		source    string
	}{
		{"quagga_adult_spray", 16.60, z(60-50, 20.0/5), 0.02, "20 s at 50 °C and 5 s at 60 °C, Comeau et al. 2011"},
		{"bythotrephes_resting_egg_immersion", 14.30, z(60-50, 300.0/60), 0.02, "300 s at 50 °C and 60 s at 60 °C, Branstrator et al. 2013"},
		{"dreissenid_any_immersion_interpolated", 11.30, z(60-43.3, 300.0/10), 0.02, "300 s at 43.3 °C and 10 s at 60 °C"},
	}
	for _, tt := range tests {
		cited(t, tt.source)
		if math.Abs(tt.got-tt.want) > tt.tol {
			t.Errorf("%s: z = %.2f, want %.2f (%s)", tt.id, tt.got, tt.want, tt.source)
		}
	}
	// The cold line asks for no less than any report it was drawn above, and touches the slowest.
	p, _ := HeatProfileByID("dreissenid_cold_acclimated_immersion")
	at := func(tempC float64) float64 {
		return p.RefTimeS * math.Pow(10, (float64(p.RefTempC)-tempC) / *p.ZBelowK)
	}
	for _, r := range []struct {
		tempC, s float64
		source   string
	}{
		{33, 46800, "Columbia River Basin Team 2013: 13 h"},
		{36, 2280, "Rajagopal et al. 2005: 38 min"},
		{37, 3600, "Columbia River Basin Team 2013: about 1 h"},
		{43.3, 300, "Wisconsin Sea Grant: 5 min"},
	} {
		cited(t, r.source)
		if at(r.tempC) < r.s {
			t.Errorf("the cold line asks %.0f s at %g °C, less than the %g s reported (%s)", at(r.tempC), r.tempC, r.s, r.source)
		}
	}
	if at(33) > 46800*1.02 {
		t.Errorf("the cold line asks %.0f s at 33 °C, want it to touch 46800 s", at(33))
	}
}

func TestDryingEvidenceAsPublished(t *testing.T) {
	const (
		ricciardi  = "Ricciardi et al. 1995, Can. J. Fish. Aquat. Sci. 52:470-477, abstract"
		golden     = "Hydrobiologia 2020, doi 10.1007/s10750-020-04191-4, abstract"
		branstr    = "Branstrator et al. 2013, abstract"
		bruck      = "Bruckerhoff et al. 2013, meeting abstract PS 16-143"
		bruck15    = "Bruckerhoff et al. 2015, doi 10.1007/s10750-014-1947-9, abstract"
		basiouny   = "Basiouny et al. 1978, Weed Sci., abstract"
		mohit      = "Mohit et al. 2023, abstract"
		guler      = "Guler 2020, Ann. Limnol. 56:29, abstract"
		darrigran  = "Darrigran et al., abstract"
		crassula   = "Anderson et al. 2015, Conservation Evidence study 5869"
		mudsnail   = "Alonso & Castro-Diez 2012, NeoBiota 14:67-74, abstract"
		mudsnail19 = "Romero-Blanco & Alonso 2019, NeoBiota 44:57-73, abstract"
		bickel     = "Bickel 2015, doi 10.1007/s10750-014-1979-1, abstract"
		swiss      = "Eawag 2015, media release"
		paukstis   = "Paukstis et al. 1999, abstract"
	)
	tests := []struct {
		id                         string
		tempC, rh, h, toH, survive float64
		source                     string
	}{
		{"DY01", 10, 95, 240, absent, 0.73, ricciardi},
		{"DY02", 10, 95, 240, absent, 0.10, ricciardi},
		{"DY03", 20, 50, 120, absent, absent, ricciardi},
		{"DY04", 20, 50, 24, 72, 0, ricciardi},
		{"DY06", absent, absent, 72, 120, absent, ricciardi},
		{"DY07", 5, absent, 60, absent, absent, paukstis},
		{"DY09", 12, absent, 42, absent, 0.25, swiss},
		{"DY10", absent, absent, 60, absent, 0, mohit},
		{"DY13", 10, absent, 264, absent, 0, golden},
		{"DY14", 20, absent, 144, absent, 0, golden},
		{"DY15", 30, absent, 72, absent, 0, golden},
		{"DY16", 25, absent, 120, absent, 0, darrigran},
		{"DY17", 25, absent, 168, absent, 0, darrigran},
		{"DY18", absent, absent, 60, absent, 0, mohit},
		{"DY19", 17, absent, 4, absent, 1, branstr},
		{"DY20", 17, absent, 6, absent, 0, branstr},
		{"DY22", absent, absent, 24, absent, absent, bruck},
		{"DY23", absent, absent, 72, absent, absent, bruck},
		{"DY26", absent, absent, 144, absent, 0, mohit},
		{"DY28", absent, absent, 18, absent, absent, bruck},
		{"DY29", absent, absent, 336, absent, absent, bruck},
		{"DY30", 30, 40, 16, absent, absent, basiouny},
		{"DY31", 30, 40, 64, absent, 0.167, basiouny},
		{"DY35", absent, absent, 48, absent, absent, mudsnail},
		{"DY36", absent, absent, 20, absent, absent, mudsnail19},
		{"DY39", absent, absent, 174, absent, absent, guler},
		{"DY40", absent, absent, 278, absent, absent, guler},
		{"DY46", absent, absent, 192, absent, 0.8, crassula},
		{"DY48", absent, absent, 1680, absent, absent, "Japanese mystery snail, George Mason University, abstract: 10 weeks"},
		{"DY49", absent, absent, 18, absent, absent, bruck15},
		{"DY50", absent, absent, 48, absent, absent, bruck15},
		{"DY51", absent, absent, 12, absent, absent, bruck15},
		{"DY52", absent, absent, 672, absent, absent, bruck15},
		{"DY53", absent, absent, 3, absent, absent, bickel},
		{"DY54", absent, absent, 42, absent, absent, bickel},
		{"DY05", 20, absent, absent, 120, absent, ricciardi},
		{"DY08", 20, absent, 36, absent, absent, paukstis},
		{"DY24", absent, absent, 13, absent, absent, "Evans et al. 2011, society post 2014"},
		{"DY25", absent, absent, 1, absent, absent, "Jerde et al. 2012, Aquat. Invasions 7:135-142, abstract"},
		{"DY27", absent, absent, 1, 3, absent, "Barnes et al. 2013 and meeting abstract 2011: 0, 1 and 3 h"},
		{"DY32", 30, 40, 8, absent, absent, basiouny},
		{"DY34", absent, absent, 4, absent, 0, "Glisson et al. 2020, from memory"},
		{"DY37", 29, absent, 24, absent, absent, "Richards et al. 2004, from memory"},
		{"DY38", absent, absent, 72, absent, absent, "mudsnail gear guidance: 48 h and 24 h"},
		{"DY41", 20, absent, 643, absent, absent, "McMahon 1979, Nautilus, from memory: 26.8 d"},
		{"DY44", absent, absent, absent, absent, 0, "Kilroy et al. 2006, slides: 83 % moisture"},
		{"DY45", absent, absent, 960, absent, absent, "West Branch Susquehanna page: 40 d"},
		{"DY47", absent, absent, 168, absent, absent, mohit},
	}
	rows := map[string]DryingEvidence{}
	for _, e := range DryingEvidences() {
		rows[e.ID] = e
	}
	checked := map[string]bool{}
	for _, tt := range tests {
		checked[tt.id] = true
		e, ok := rows[tt.id]
		if !ok {
			t.Errorf("%s is missing (%s)", tt.id, tt.source)
			continue
		}
		same(t, tt.id+" °C", degrees(e.TempC), tt.tempC, tt.source)
		same(t, tt.id+" %", e.RHPct, tt.rh, tt.source)
		same(t, tt.id+" h", e.TimeH, tt.h, tt.source)
		same(t, tt.id+" to h", e.TimeToH, tt.toH, tt.source)
		same(t, tt.id+" alive", e.Survival, tt.survive, tt.source)
	}
	for id, e := range rows {
		if !checked[id] && (e.TempC != nil || e.RHPct != nil || e.TimeH != nil || e.TimeToH != nil || e.Survival != nil) {
			t.Errorf("%s holds numbers that no test compares with its source", id)
		}
	}
}

func TestDryingSetsAsFitted(t *testing.T) {
	const fit = "fit to Ricciardi et al. 1995, Paukstis et al. 1999, Eawag 2015, Mohit et al. 2023, Hydrobiologia 2020"
	tests := []struct {
		id                                           string
		slope, vpd, shape, large, small, juvenile, a float64
	}{
		{"central", 0.059, 0.25, 3.25, 3.8, 1.97, 0.87, 1.8124},
		{"cautious", 0.1, 0.15, 2.0, 4.2, 1.6, 0.62, 2.6283},
	}
	sets := DryingSets()
	if len(sets) != len(tests) {
		t.Fatalf("%d sets, want %d", len(sets), len(tests))
	}
	for i, tt := range tests {
		s := sets[i]
		if s.ID != tt.id || !s.Release {
			t.Errorf("set %d is %s, release %v; want %s for release", i, s.ID, s.Release, tt.id)
		}
		for _, v := range []struct {
			what      string
			got, want float64
			source    string
		}{
			{"slope", s.TempSlopePerK, tt.slope, fit}, {"exponent", s.VPDExponent, tt.vpd, fit}, {"shape", s.Shape, tt.shape, fit},
			{"large", s.LargeD, tt.large, fit}, {"small", s.SmallD, tt.small, fit}, {"juvenile", s.JuvenileD, tt.juvenile, fit},
			{"limit", s.ClearA, tt.a, "one in a thousand left: A = (ln 1000)^(1/shape)"},
			{"coldest", float64(s.MinTempC), 5, "coldest trial: Paukstis et al. 1999, 5 °C"},
			{"hottest", float64(s.MaxTempC), 30, "hottest trial: Hydrobiologia 2020, 30 °C"},
			{"reference", float64(s.RefTempC), 20, fit}, {"reference humidity", s.RefRHPct, 50, fit},
			{"driest", s.MaxVPDKPa, 1.4, fit}, {"dampest", s.MinVPDKPa, 0.02, fit},
		} {
			same(t, s.ID+" "+v.what, &v.got, v.want, v.source)
		}
		if want := math.Pow(math.Log(1000), 1/s.Shape); math.Abs(s.ClearA-want) > 0.5e-4 {
			t.Errorf("%s: limit %g, want %.4f for one in a thousand left", s.ID, s.ClearA, want)
		}
		for scale, want := range map[DryingScale]float64{ScaleLarge: tt.large, ScaleSmall: tt.small, ScaleJuvenile: tt.juvenile} {
			if got, ok := s.LambdaD(scale); !ok || got != want {
				t.Errorf("%s: scale %s = %g, want %g", s.ID, scale, got, want)
			}
		}
	}
	shown := 0
	for _, s := range sets {
		if s.Display {
			shown++
		}
	}
	if shown != 1 {
		t.Errorf("%d sets to show, want one", shown)
	}
	refits := DryingRefits()
	if len(refits) != 16 || refits[0].Large20C50D != 6.9 || refits[2].Shape != 2 || refits[2].Large5C80D != 65.2 {
		t.Errorf("refits = %d, first %+v", len(refits), refits[0])
	}
}

// The doses follow from the hours of the trials in the air they are taken to have been made in.
func TestDryingDosesAsDerived(t *testing.T) {
	// Vapour-pressure deficit in kPa by FAO-56 (Allen et al. 1998, eq. 11 and 26).
	vpd := func(tempC, rh float64) float64 {
		return 0.6108 * math.Exp(17.27*tempC/(tempC+237.3)) * (1 - rh/100)
	}
	plants := 144 * vpd(20, 50) // Mohit et al. 2023: 6 d, in air taken as 20 °C and 50 %
	tests := []struct {
		id                     string
		alive, clear, minH     float64
		wantAlive, wantClear   float64
		aliveSource, minSource string
	}{
		{"ewm_single_stem", 22.4, 168, 144, 24 * vpd(20, 60), plants, "Bruckerhoff et al. 2013: 24 h", "Mohit et al. 2023: 6 d"},
		{"ewm_coiled_clump", 67.3, 168, 144, 72 * vpd(20, 60), plants, "Bruckerhoff et al. 2013: 72 h", "Mohit et al. 2023: 6 d"},
		{"curly_leaf_stem", 16.8, 168, 144, 18 * vpd(20, 60), plants, "Bruckerhoff et al. 2013: 18 h", "Mohit et al. 2023: 6 d"},
		{"curly_leaf_turion", 628.5, absent, absent, 672 * vpd(20, 60), absent, "Bruckerhoff et al. 2015: 28 d", "never"},
		{"hydrilla_fragment", 40.7, 168, 144, 16 * vpd(30, 40), plants, "Basiouny et al. 1978: 16 h at 30 °C and 40 %", "Mohit et al. 2023: 6 d"},
		{"hydrilla_tuber", 163, absent, absent, 64 * vpd(30, 40), absent, "Basiouny et al. 1978: 64 h at 30 °C and 40 %", "never"},
		{"starry_stonewort_bulbil", absent, absent, absent, absent, absent, "none read", "never"},
		{"bythotrephes_adult", absent, 70, 60, absent, 60 * vpd(20, 50), "none read", "Mohit et al. 2023: 60 h"},
		{"bythotrephes_resting_egg", 3.9, 70, 60, 4 * vpd(17, 50), 60 * vpd(20, 50), "Branstrator et al. 2013: 4 h at 17 °C", "Mohit et al. 2023: 60 h"},
		{"nz_mudsnail", 56.1, 84, 72, 48 * vpd(20, 50), 72 * vpd(20, 50), "Alonso & Castro-Diez 2012: 48 h", "gear guidance: 72 h"},
	}
	for _, tt := range tests {
		d, ok := DryingDoseByID(tt.id)
		if !ok {
			t.Errorf("%s is missing (%s)", tt.id, tt.aliveSource)
			continue
		}
		same(t, tt.id+" alive", d.LastAliveKPaH, tt.alive, tt.aliveSource)
		same(t, tt.id+" clear", d.ClearKPaH, tt.clear, tt.minSource)
		same(t, tt.id+" h", d.MinH, tt.minH, tt.minSource)
		// Doses are kept to three figures or one decimal, whichever is coarser.
		if !math.IsNaN(tt.wantAlive) && math.Abs(tt.alive-tt.wantAlive) > max(0.005*tt.wantAlive, 0.05) {
			t.Errorf("%s: alive at %g kPa h, want %.2f (%s)", tt.id, tt.alive, tt.wantAlive, tt.aliveSource)
		}
		if !math.IsNaN(tt.wantClear) && math.Abs(tt.clear-tt.wantClear) > 0.005*tt.wantClear {
			t.Errorf("%s: clear at %g kPa h, want %.2f (%s)", tt.id, tt.clear, tt.wantClear, tt.minSource)
		}
	}
	if got := len(DryingDoses()); got != len(tests) {
		t.Errorf("%d doses, %d checked", got, len(tests))
	}
}

// The time larvae last is an envelope: it runs through two published times and above the others.
func TestResidualModelAsDerived(t *testing.T) {
	m, ok := ResidualModelByID("dreissenid_larva")
	if !ok || m.LnDaysAt0C != 4.140 || m.SlopePerK != 0.0843 || m.MinTempC != 0 || m.MaxTempC != 30 {
		t.Fatalf("model = %+v", m)
	}
	days := func(tempC float64) float64 { return math.Exp(m.LnDaysAt0C - m.SlopePerK*tempC) }
	tests := []struct {
		tempC, days float64
		touches     bool
		source      string
	}{
		{10, 27, true, "Choi et al. 2013, Manag. Biol. Invasions 4:61-69: 27 d in autumn, temperature assumed"},
		{30, 5, true, "Choi et al. 2013: about 5 d in summer, temperature assumed"},
		{10, 24, false, "Western Regional Panel page: 24 d at 50 °F"},
		{15, 8.5, false, "Western Regional Panel page: 8.5 d at 59 °F"},
		{30, 4.5, false, "Western Regional Panel page: 4.5 d at 86 °F"},
	}
	for _, tt := range tests {
		cited(t, tt.source)
		got := days(tt.tempC)
		if got < tt.days {
			t.Errorf("%.2f d at %g °C, less than the %g d published (%s)", got, tt.tempC, tt.days, tt.source)
		}
		if tt.touches && got > tt.days*1.005 {
			t.Errorf("%.2f d at %g °C, want it to run through %g d (%s)", got, tt.tempC, tt.days, tt.source)
		}
	}
	published := map[string]float64{"WA01": 24, "WA02": 8.5, "WA03": 4.5, "WA04": 5, "WA05": 27, "WA06": absent, "WA07": absent, "WA08": absent, "WA09": 13, "WA10": 365}
	for _, e := range ResidualEvidences() {
		want, ok := published[e.ID]
		if !ok {
			t.Errorf("%s is not checked", e.ID)
			continue
		}
		same(t, e.ID, e.Days, want, "Western Regional Panel page; Choi et al. 2013; Doll & McCartney 2018; Branstrator et al. 2013; Hawley & Garver 2008")
	}
}

func TestAgentTrialsAsPublished(t *testing.T) {
	const (
		davis    = "Davis, Wong & Harman 2017, J. Aquat. Anim. Health, abstract"
		columbia = "Columbia River Basin Team 2013, appendix D-1"
		oakland  = "Oakland University repository item, abstract"
		branstr  = "Branstrator et al. 2013, abstract"
	)
	tests := []struct {
		id             string
		s, dead, tempC float64
		source         string
	}{
		{"CH01", 6 * 3600, 1, absent, davis}, {"CH02", 12 * 3600, 1, absent, davis}, {"CH03", 24 * 3600, 1, absent, davis},
		{"CH04", 96 * 3600, 1, absent, davis}, {"CH05", 12 * 3600, 1, absent, davis}, {"CH06", 18 * 3600, 1, absent, davis},
		{"CH07", 600, 1, absent, "Britton & Dingman 2011, abstract"},
		{"CH09", 300, 0, absent, branstr}, {"CH10", 28 * 86400, 0, absent, branstr},
		{"CH12", 600, 1, absent, oakland}, {"CH13", 600, 0.563, absent, oakland}, {"CH14", 600, 0.688, absent, oakland},
		{"CH17", 48 * 3600, 1, -1.5, columbia}, {"CH18", 7 * 3600, 1, -3, columbia}, {"CH19", 2 * 3600, 1, -10, columbia},
		{"CH08", 1200, absent, absent, "public guidance page, FAQ 16: 20 min"},
		{"CH11", 600, absent, absent, "N. Am. J. Fish. Manage. 2016, abstract"},
		{"CH15", 80 * 60, absent, absent, "Coughlan et al. 2019, abstract: 80 min to 72 h"},
		{"CH16", 60, absent, absent, "Kilroy et al. 2006"},
		{"CH21", 5 * 86400, absent, absent, "Leuven et al. 2014, Aquat. Invasions 9:243-252, abstract"},
		{"CH20", 2700, absent, absent, "Paukstis et al. 1996, J. Freshwater Ecol. 11:513-519: 2 of 17 and 4 of 16 lived"},
		{"CH22", 6 * 3600, absent, -3, "mudsnail gear guidance"},
		{"CH23", 1800, 1, absent, "LaFond et al. 2021, Manag. Biol. Invasions 12:378-388, abstract"},
		{"CH24", absent, absent, absent, branstr},
	}
	rows := map[string]AgentTrial{}
	for _, e := range AgentTrials() {
		rows[e.ID] = e
	}
	if len(rows) != len(tests) {
		t.Errorf("%d rows, %d checked", len(rows), len(tests))
	}
	ends := map[string]float64{"CH12": 20 * 60, "CH13": 20 * 60, "CH14": 20 * 60, "CH15": 72 * 3600}
	for _, tt := range tests {
		e, ok := rows[tt.id]
		if !ok {
			t.Errorf("%s is missing (%s)", tt.id, tt.source)
			continue
		}
		end, ranged := ends[tt.id]
		if !ranged {
			end = absent
		}
		same(t, tt.id+" s", e.TimeS, tt.s, tt.source)
		same(t, tt.id+" to s", e.TimeToS, end, tt.source)
		same(t, tt.id+" dead", e.Mortality, tt.dead, tt.source)
		same(t, tt.id+" °C", degrees(e.TempC), tt.tempC, tt.source)
	}
}

func TestRemovalAndLoadsAsPublished(t *testing.T) {
	const (
		angell  = "Angell et al. 2024, abstract"
		rothlis = "Rothlisberger et al. 2010, Fisheries 35:121-132, abstract"
		pilot   = "dog pilot of 2014, press"
		johnson = "Johnson, Ricciardi & Carlton 2001, Ecol. Appl. 11:1789-1799, from memory"
	)
	removal := map[string]Removal{}
	for _, r := range Removals() {
		removal[r.ID] = r
	}
	for _, tt := range []struct {
		id       string
		mean, se float64
		source   string
	}{
		{"DE01", 0.564, absent, angell}, {"DE02", 0.792, absent, angell}, {"DE03", 0.844, absent, angell},
		{"DE04", 0.88, 0.05, rothlis}, {"DE05", 0.83, 0.04, rothlis}, {"DE06", 0.62, 0.03, rothlis},
		{"DE07", 0.65, 0.04, rothlis}, {"DE08", 0.74, 0.06, rothlis}, {"DE09", 0.91, 0.02, rothlis},
		{"DE10", 0.90, absent, "Mohit et al. 2023, abstract: 900-1200 psi"},
		{"DE11", absent, absent, "Wellard Kelly 2024, abstract: no percentages"},
		{"DE14", 1, absent, pilot}, {"DE15", 0.75, absent, pilot},
	} {
		same(t, tt.id+" mean", removal[tt.id].Mean, tt.mean, tt.source)
		same(t, tt.id+" error", removal[tt.id].SE, tt.se, tt.source)
	}
	loads, unchecked := map[string]Load{}, map[string]bool{}
	for _, l := range Loads() {
		loads[l.ID] = l
		unchecked[l.ID] = true
	}
	for _, tt := range []struct {
		id        string
		value, to float64
		source    string
	}{
		{"LD01", 40, absent, "De Ventura et al. 2016, Biol. Invasions 18:1451-1466, abstract"},
		{"LD02", 60, absent, "Eawag 2015, media release"},
		{"LD03", 53000, absent, "Minchin & Moriarty 1998, abstract"},
		{"LD04", 7.9, 21.8, "Collas et al. 2018, Hydrobiologia 810, abstract"},
		{"LD05", 5.3, absent, johnson}, {"LD06", 0.9, absent, johnson}, {"LD07", 0.12, absent, johnson}, {"LD08", 40, 100, johnson},
		{"LD09", 321, absent, "Kelly et al. 2013, Biol. Invasions 15, abstract"},
		{"LD10", 31.9, absent, "Campbell et al. 2016, Manag. Biol. Invasions 7:281-286, from memory"},
		{"LD11", absent, absent, "Doll & McCartney 2018, press"},
		{"LD12", absent, absent, "not found"},
		{"LD13", 1024, absent, "Jacobs & MacIsaac 2007, Hydrobiologia 583:119-126, abstract"},
		{"LD14", 87, 88, "Branstrator et al. 2021, Lake Reserv. Manage. 37:391-405, abstract"},
		{"LD15", 33, absent, "Putah Creek wading-gear trial, summary"},
		{"LD16", 16, absent, "Wisconsin volunteer boat checks 2009, secondary page"},
		{"LD17", 0.46, absent, "Montana press figures 2024"},
		{"LD18", 31, absent, "Minnesota road checks 2012, press"},
		{"LD19", 25, absent, "New York audit as reported 2020"},
		{"LD20", 50, absent, "Adirondack stewards as reported 2020"},
		{"LD21", 0.039, absent, "25 of 64,157, Idaho 2015, newspaper"},
		{"LD22", 0.32, absent, "113 of 34,953, Lake George 2021, newspaper"},
		{"LD23", 2.10, absent, "Hubbard County 2016 report"},
		{"LD24", 3.8, absent, "Adirondack stewards 2017 report"},
		{"LD25", 0.22, absent, "19 of 8,818, Alberta 2023, press"},
		{"LD26", 0.033, absent, "31 of 93,000, Idaho 2017, state page"},
	} {
		delete(unchecked, tt.id)
		same(t, tt.id, loads[tt.id].Value, tt.value, tt.source)
		same(t, tt.id+" to", loads[tt.id].ValueTo, tt.to, tt.source)
	}
	for id := range unchecked {
		t.Errorf("%s is compared with no source", id)
	}
	for id, share := range map[string]float64{"LD21": 25.0 / 64157, "LD22": 113.0 / 34953, "LD25": 19.0 / 8818, "LD26": 31.0 / 93000} {
		if got := *loads[id].Value / 100; math.Abs(got-share) > 0.03*share { // two figures are kept
			t.Errorf("%s: %.5f, want %.5f from the counts in its note", id, got, share)
		}
	}
	if loads["LD01"].Bound != Above {
		t.Error("LD01: the paper says more than 40 %")
	}
}

// The priors follow from the published shares by the arithmetic written beside them.
func TestPriorsAsDerived(t *testing.T) {
	const weight = 10.0 // craft or looks; low, so that a programme's own findings soon outweigh it
	carrying := []struct {
		organism string
		exposure Exposure
		mean     float64
		source   string
	}{
		{"zebra_mussel", Moored, (0.40 + 0.60) / 2, "De Ventura et al. 2016 and Eawag 2015"},
		{"zebra_mussel", DayUse, 0.053 + 0.009, "Johnson et al. 2001, from memory"},
		{"zebra_mussel", WaterAboard, 0.5, "no share read: Beta(1, 1)"},
		{"hydrilla", DayUse, 0.16, "Wisconsin volunteer boat checks 2009"},
		{"new_zealand_mudsnail", Wading, 51.0 / 52, "Putah Creek: 50 of 50, rule of succession"},
		{"didymo", DayUse, 0.25, "no share of its own: 25 % of craft at high-risk launches, New York audit as reported 2020"},
		{"didymo", Moored, 0.5, "no share known: Beta(1, 1)"},
	}
	for _, tt := range carrying {
		cited(t, tt.source)
		p, ok := CarryingPriorFor(tt.organism, tt.exposure)
		if mean := p.Alpha / (p.Alpha + p.Beta); !ok || math.Abs(mean-tt.mean) > 0.0005 {
			t.Errorf("%s %s: mean %.4f, want %.4f (%s)", tt.organism, tt.exposure, mean, tt.mean, tt.source)
		}
		if sum := p.Alpha + p.Beta; math.Abs(sum-weight) > 1e-9 && !(p.Assumption && math.Abs(sum-2) < 1e-9) {
			t.Errorf("%s %s: weight %g, want %g, or 2 where nothing is known", tt.organism, tt.exposure, sum, weight)
		}
		if p.Alpha == 1 && p.Beta == 1 && !p.Assumption {
			t.Errorf("%s %s: nothing known, and the row does not say it is assumed", tt.organism, tt.exposure)
		}
	}
	boater, crew := 0.564/0.792, 0.844/0.792
	detection := []struct {
		class  DetectionClass
		who    Looker
		mean   float64
		source string
	}{
		{PlantsSeen, Steward, 0.88, "Rothlisberger et al. 2010: 88 % of plants by hand"},
		{PlantsSeen, Boater, 0.88 * boater, "the same, scaled by Angell et al. 2024"},
		{PlantsSeen, HotWaterCrew, 0.88 * crew, "the same, scaled by Angell et al. 2024"},
		{SmallFelt, Steward, 0.65, "Rothlisberger et al. 2010: 65 % of small animals by hand; pilot 75 %"},
		{SmallFelt, Boater, 0.65 * boater, "the same, scaled by Angell et al. 2024"},
		{SmallFelt, HotWaterCrew, 0.65 * crew, "the same, scaled by Angell et al. 2024"},
		{WaterSeen, Steward, 0.792, "Angell et al. 2024"},
		{WaterSeen, Boater, 0.564, "Angell et al. 2024"},
		{WaterSeen, HotWaterCrew, 0.844, "Angell et al. 2024"},
		{HiddenInWater, Steward, 0.05, "assumption: larvae cannot be seen"},
		{HiddenInMud, Steward, 0.05, "assumption: bulbils in mud are seldom seen"},
	}
	for _, tt := range detection {
		cited(t, tt.source)
		p, ok := DetectionPriorFor(tt.class, tt.who)
		mean := p.Alpha / (p.Alpha + p.Beta)
		if !ok || math.Abs(mean-tt.mean) > 0.0006 || math.Abs(p.Alpha+p.Beta-weight) > 1e-9 {
			t.Errorf("%s %s: Beta(%g, %g), mean %.4f; want mean %.4f and weight %g (%s)", tt.class, tt.who, p.Alpha, p.Beta, mean, tt.mean, weight, tt.source)
		}
	}
	shares, _ := CarryingSharesFor("spiny_water_flea")
	if shares.Weights[Tangled] != 87.5 || shares.Weights[InWater] != 12.5 || shares.Weights[Attached] != 0 || shares.Weights[InMud] != 0 {
		t.Errorf("shares = %v, want 87.5 tangled (Branstrator et al. 2021: 87-88 %% on lines)", shares.Weights)
	}
}

// Keys as read in public checklists; an organism without a key there has none here.
func TestTaxonKeys(t *testing.T) {
	const (
		gbif     = "GBIF backbone keys in the TrIAS unified checklist and three other public lists, 2019-2025"
		itisRead = "ITIS TSN in US EPA taxa lists, 2019-2025"
		itisRec  = "ITIS TSN from memory"
	)
	tests := []struct {
		id       string
		gbif     int
		tsn      int
		tsnKnown Known
		source   string
	}{
		{"zebra_mussel", 2287072, 81339, FromMemory, gbif + "; " + itisRec},
		{"quagga_mussel", 2287073, 0, "", gbif},
		{"dreissenid", 0, 81338, Published, itisRead + ", genus"},
		{"golden_mussel", 0, 0, "", "no key read"},
		{"spiny_water_flea", 0, 0, "", "no key read"},
		{"fishhook_water_flea", 0, 0, "", "no key read"},
		{"eurasian_watermilfoil", 0, 27039, FromMemory, itisRec},
		{"variable_leaf_watermilfoil", 5361762, 0, "", gbif},
		{"curly_leaf_pondweed", 0, 39007, FromMemory, itisRec},
		{"hydrilla", 5329570, 38974, FromMemory, gbif + "; " + itisRec},
		{"starry_stonewort", 0, 0, "", "no key read"},
		{"new_zealand_mudsnail", 5192470, 205006, Published, gbif + "; " + itisRead},
		{"asian_clam", 8190231, 81387, FromMemory, gbif + "; " + itisRec},
		{"rusty_crayfish", 8979506, 0, "", gbif},
		{"round_goby", 2379089, 172072, Published, gbif + "; " + itisRead},
		{"water_chestnut", 3188757, 0, "", gbif},
		{"fanwort", 2882443, 0, "", gbif},
		{"brittle_naiad", 5329434, 0, "", gbif},
		{"european_frogbit", 0, 0, "", "no key read"},
		{"parrotfeather", 5361785, 0, "", gbif},
	}
	checked := map[string]bool{}
	for _, tt := range tests {
		cited(t, tt.source)
		checked[tt.id] = true
		o, ok := OrganismByID(tt.id)
		if !ok || o.GBIFKey != tt.gbif || o.ITISTSN != tt.tsn || o.ITISKnown != tt.tsnKnown {
			t.Errorf("%s: GBIF %d, TSN %d %q; want %d, %d %q (%s)", tt.id, o.GBIFKey, o.ITISTSN, o.ITISKnown, tt.gbif, tt.tsn, tt.tsnKnown, tt.source)
		}
		if o.GBIFKey != 0 && o.GBIFKnown != Published {
			t.Errorf("%s: GBIF key %s; only keys that were read are given", tt.id, o.GBIFKnown)
		}
	}
	for _, o := range Organisms() {
		if !checked[o.ID] && (o.GBIFKey != 0 || o.ITISTSN != 0) {
			t.Errorf("%s has a key that no list gives", o.ID)
		}
	}
}

func TestFuelsAsPublished(t *testing.T) {
	tests := []struct {
		id     string
		btu    float64
		mjPerL float64 // BTU times 1055.056 J over 3.785412 L
		known  Known
		source string
	}{
		{"diesel", 137381, 38.290, Published, "US EIA energy conversion calculators, 2021"},
		{"gasoline", 120214, 33.505, Published, "US EIA units and calculators, 2022"},
		{"heating_oil", 138500, 38.602, FromMemory, "US EIA, older editions, from memory"},
		{"kerosene", 135000, 37.627, FromMemory, "US EIA, 5.67 million Btu a barrel, from memory"},
		{"propane", 91452, 25.489, FromMemory, "US EIA, from memory"},
	}
	for _, tt := range tests {
		cited(t, tt.source)
		f, ok := FuelByID(tt.id)
		if !ok || f.BTUPerUSGal != tt.btu || f.Known != tt.known || math.Abs(f.MJPerL-tt.mjPerL) > 0.001 {
			t.Errorf("%s = %+v, want %g BTU/gal, %.3f MJ/L, %s (%s)", tt.id, f, tt.btu, tt.mjPerL, tt.known, tt.source)
		}
	}
}
