package advice_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"thwart"
	"thwart/advice"
	"thwart/unit"
)

func protocolOf(t *testing.T, id string) thwart.Protocol {
	t.Helper()
	p, err := advice.ProtocolByID(id)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

const (
	umps3 = "UMPS III (Pacific States Marine Fisheries Commission 2016), Table 3"
	sdGFP = "South Dakota Game, Fish and Parks, boat washing page"
)

// Wash records judged against the published tables.
func TestProveAgainstPublishedTables(t *testing.T) {
	exact := 0.0
	hotIn := unit.Celsius(62)
	inAt60 := unit.Celsius(60)
	for _, c := range []struct {
		name     string
		protocol string
		claim    thwart.WashClaim
		trace    []thwart.Probe
		want     string
		breach   bool
		lethal   map[string]string // organism/stage → answer
		source   string
	}{
		{"hull, 60.0 °C for 10 s", "regional-minimum", thwart.WashClaim{Part: thwart.PartHull, Method: thwart.MethodHighSpray, Measured: thwart.AtContact},
			steady(60, 10), "met", false, nil, umps3},
		{"hull, 59.9 °C for 60 s: no credit below the line", "regional-minimum", thwart.WashClaim{Part: thwart.PartHull, Method: thwart.MethodHighSpray, Measured: thwart.AtContact},
			steady(59.9, 60), "not_met", false, nil, umps3},
		{"hull, read at the nozzle: not contact, so unknown", "regional-minimum", thwart.WashClaim{Part: thwart.PartHull, Method: thwart.MethodHighSpray, Measured: thwart.AtNozzle},
			steady(60, 60), "unknown", false, map[string]string{"zebra_mussel/adult": "not_known"}, umps3},
		{"trailer, 10 s: needs 70", "regional-minimum", thwart.WashClaim{Part: thwart.PartTrailer, Method: thwart.MethodLowSpray, Measured: thwart.AtContact},
			steady(60, 10), "not_met", false, nil, umps3},
		{"gimbal, 132 s at high pressure: met, with damage to look for", "regional-minimum", thwart.WashClaim{Part: thwart.PartGimbal, Method: thwart.MethodHighSpray, Measured: thwart.AtContact, PressureBar: 200},
			steady(60, 132), "met", true, nil, umps3},
		{"live well, 48.9 °C for 130 s: 120 °F is 48.889 °C", "regional-minimum", thwart.WashClaim{Part: thwart.PartWell, Method: thwart.MethodFlush, Measured: thwart.AtExit},
			steady(48.9, 130), "met", false, nil, umps3},
		{"live well, 48.88 °C is below 120 °F", "regional-minimum", thwart.WashClaim{Part: thwart.PartWell, Method: thwart.MethodFlush, Measured: thwart.AtExit},
			steady(48.88, 130), "not_met", false, nil, umps3},
		{"live well, 120 s: the regional table asks 130", "regional-minimum", thwart.WashClaim{Part: thwart.PartWell, Method: thwart.MethodFlush, Measured: thwart.AtExit},
			steady(48.9, 120), "not_met", false, nil, umps3},
		{"live well, 120 s: South Dakota asks no more", "south-dakota", thwart.WashClaim{Part: thwart.PartWell, Method: thwart.MethodFlush, Measured: thwart.AtExit},
			steady(48.9, 120), "met", false, nil, sdGFP},
		{"ballast at high risk, flushed only: needs fill and flush", "regional-minimum", thwart.WashClaim{Part: thwart.PartBallast, Risk: "high", Method: thwart.MethodFlush, Measured: thwart.AtExit},
			steady(48.9, 130), "not_met", false, nil, umps3},
		{"ballast at low risk, flushed", "regional-minimum", thwart.WashClaim{Part: thwart.PartBallast, Risk: "low", Method: thwart.MethodFlush, Measured: thwart.AtExit},
			steady(48.9, 130), "met", false, nil, umps3},
		{"ballast, risk not known, counts as high", "regional-minimum", thwart.WashClaim{Part: thwart.PartBallast, Method: thwart.MethodFlush, Measured: thwart.AtExit},
			steady(48.9, 130), "not_met", false, nil, umps3},
		{"engine, in at 60, out at 57", "regional-minimum", thwart.WashClaim{Part: thwart.PartEngine, Method: thwart.MethodEngineFlush, Measured: thwart.AtExit, InletMaxC: &inAt60},
			steady(57, 600), "not_met", false, nil, umps3},
		{"engine, in at 62, out at 60.5: met, and the inlet limit is broken", "regional-minimum", thwart.WashClaim{Part: thwart.PartEngine, Method: thwart.MethodEngineFlush, Measured: thwart.AtExit, InletMaxC: &hotIn},
			steady(60.5, 30), "met", true, nil, umps3 + ", note 6"},
		{"hull, spiny water flea: met, eggs not shown dead", "regional-minimum", thwart.WashClaim{Part: thwart.PartHull, Method: thwart.MethodHighSpray, Measured: thwart.AtContact, Organisms: []string{"spiny_water_flea"}},
			steady(60, 10), "met", false, map[string]string{"spiny_water_flea/resting_egg": "not_known"}, umps3 + "; Branstrator et al. 2013"},
		{"live well, spiny water flea: met, eggs not shown dead", "regional-minimum", thwart.WashClaim{Part: thwart.PartWell, Method: thwart.MethodFlush, Measured: thwart.AtExit, Organisms: []string{"spiny_water_flea"}},
			steady(48.9, 130), "met", false, map[string]string{"spiny_water_flea/resting_egg": "not_lethal"}, umps3 + "; Branstrator et al. 2013"},
		{"hull, burner gives 49 °C", "regional-minimum", thwart.WashClaim{Part: thwart.PartHull, Method: thwart.MethodHighSpray, Measured: thwart.AtContact},
			steady(49, 600), "not_met", false, nil, umps3},
		{"hull, golden mussel: met, not shown dead", "regional-minimum", thwart.WashClaim{Part: thwart.PartHull, Method: thwart.MethodHighSpray, Measured: thwart.AtContact, Organisms: []string{"golden_mussel"}},
			steady(60, 10), "met", false, map[string]string{"golden_mussel/adult": "not_known"}, umps3 + "; no lethal figure was found"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.source == "" {
				t.Fatal("no source")
			}
			c.claim.PlusMinusC = &exact
			pr, err := advice.Prove(protocolOf(t, c.protocol), c.claim, c.trace)
			if err != nil {
				t.Fatal(err)
			}
			if pr.Protocol != c.want {
				t.Errorf("%s, want %s: %v (%s)", pr.Protocol, c.want, pr.Why, c.source)
			}
			if got := len(pr.Breaches) > 0; got != c.breach {
				t.Errorf("breaches %v, want some: %v", pr.Breaches, c.breach)
			}
			for key, want := range c.lethal {
				found := false
				for _, l := range pr.Lethal {
					if l.Organism+"/"+l.Stage == key {
						found = true
						if l.Answer != want {
							t.Errorf("%s: %s, want %s: %s", key, l.Answer, want, l.Text)
						}
					}
				}
				if !found {
					t.Errorf("nothing is said of %s", key)
				}
			}
		})
	}
}

// The two answers are given apart: a hull wash that the protocol accepts may fall short of the published exposure times
// the safety factor, and the other way round.
func TestTwoAnswersApart(t *testing.T) {
	p := protocolOf(t, "regional-minimum") // safety factor 2
	exact := 0.0
	claim := thwart.WashClaim{Part: thwart.PartHull, Method: thwart.MethodHighSpray, Measured: thwart.AtContact, PlusMinusC: &exact, Organisms: []string{"zebra_mussel"}}
	for held, want := range map[float64]string{10: "not_lethal", 20: "lethal"} {
		pr, err := advice.Prove(p, claim, steady(60, held))
		if err != nil {
			t.Fatal(err)
		}
		if pr.Protocol != "met" || pr.Lethal[0].Answer != want {
			t.Errorf("%g s at 60 °C: protocol %s, zebra mussel %s; want met and %s", held, pr.Protocol, pr.Lethal[0].Answer, want)
		}
		if strings.Contains(pr.Lethal[0].Text, "100 %") {
			t.Errorf("a kill of 100 %% is claimed: %s", pr.Lethal[0].Text)
		}
	}
}

func TestUnknownThermometerIsTakenAsPoor(t *testing.T) {
	claim := thwart.WashClaim{Part: thwart.PartHull, Method: thwart.MethodHighSpray, Measured: thwart.AtContact}
	for reading, want := range map[unit.Celsius]string{61: "not_met", 62.5: "met"} {
		pr, err := advice.Prove(protocolOf(t, "regional-minimum"), claim, steady(reading, 10))
		if err != nil {
			t.Fatal(err)
		}
		if pr.Protocol != want {
			t.Errorf("%v with an unchecked thermometer: %s, want %s", reading, pr.Protocol, want)
		}
	}
}

// Longer or hotter never lowers a dose or turns met into not met; both scales agree.
func TestLongerOrHotterNeverHurts(t *testing.T) {
	p := protocolOf(t, "regional-minimum")
	rank := map[string]int{"not_met": 0, "unknown": 1, "met": 2}
	exact := 0.0
	parts := []struct {
		part   thwart.Part
		method thwart.Method
	}{{thwart.PartHull, thwart.MethodHighSpray}, {thwart.PartTrailer, thwart.MethodLowSpray}, {thwart.PartWell, thwart.MethodFlush}, {thwart.PartBallast, thwart.MethodFillFlush}}
	for i := range 3000 {
		r := rand.New(rand.NewPCG(7, uint64(i)))
		at := pick(r, parts...)
		claim := thwart.WashClaim{Part: at.part, Method: at.method, Measured: thwart.AtExit, PlusMinusC: &exact, Organisms: []string{"zebra_mussel", "spiny_water_flea"}}
		if at.part == thwart.PartHull || at.part == thwart.PartTrailer {
			claim.Measured = thwart.AtContact
		}
		var log, hotter, longer, fahrenheit []thwart.Probe
		level := 45 + 20*r.Float64()
		for s := range 20 + r.IntN(160) {
			c := unit.Celsius(level + 2*r.NormFloat64())
			if maybe(r, 0.02) {
				c -= 12
			}
			log = append(log, thwart.Probe{AtS: float64(s), TempC: c})
			hotter = append(hotter, thwart.Probe{AtS: float64(s), TempC: c + 1.5})
			longer = append(longer, thwart.Probe{AtS: 2 * float64(s), TempC: c})
			fahrenheit = append(fahrenheit, thwart.Probe{AtS: float64(s), TempC: unit.FromFahrenheit(c.Fahrenheit())})
		}
		prove := func(log []thwart.Probe) thwart.Proof {
			pr, err := advice.Prove(p, claim, log)
			if err != nil {
				t.Fatal(err)
			}
			return pr
		}
		base := prove(log)
		for name, other := range map[string]thwart.Proof{"hotter": prove(hotter), "longer": prove(longer)} {
			if rank[other.Protocol] < rank[base.Protocol] {
				t.Fatalf("log %d: %s turned %s into %s", i, name, base.Protocol, other.Protocol)
			}
			for k := range base.Lethal {
				if other.Lethal[k].Dose < base.Lethal[k].Dose-1e-9 {
					t.Fatalf("log %d: %s lowered the dose of %s from %g to %g", i, name, base.Lethal[k].Organism, base.Lethal[k].Dose, other.Lethal[k].Dose)
				}
			}
		}
		f := prove(fahrenheit)
		if f.Protocol != base.Protocol || math.Abs(f.HeldS-base.HeldS) > 1e-6 {
			t.Fatalf("log %d: %s and %g s in °C, %s and %g s from °F", i, base.Protocol, base.HeldS, f.Protocol, f.HeldS)
		}
	}
}

func TestProveRefusesWhatItCannotTake(t *testing.T) {
	p := protocolOf(t, "regional-minimum")
	bad := -1.0
	for _, c := range []struct {
		claim thwart.WashClaim
		field string
	}{
		{thwart.WashClaim{Part: "keel"}, "part"},
		{thwart.WashClaim{Part: thwart.PartInside}, "part"},
		{thwart.WashClaim{Part: thwart.PartHull, Method: "scrub"}, "method"},
		{thwart.WashClaim{Part: thwart.PartHull, Measured: "tail"}, "measured"},
		{thwart.WashClaim{Part: thwart.PartHull, PlusMinusC: &bad}, "plusMinusC"},
		{thwart.WashClaim{Part: thwart.PartHull, PressureBar: math.NaN()}, "pressureBar"},
		{thwart.WashClaim{Part: thwart.PartHull, Organisms: []string{"kraken"}}, "organisms[0]"},
	} {
		_, err := advice.Prove(p, c.claim, steady(60, 10))
		if err == nil || !strings.Contains(err.Error(), c.field) || !strings.Contains(err.Error(), "accepted") {
			t.Errorf("%+v: error %v, want one that names %s and what is accepted", c.claim, err, c.field)
		}
	}
	if _, err := advice.Prove(p, thwart.WashClaim{Part: thwart.PartHull}); err == nil {
		t.Error("no readings: no error")
	}
}
