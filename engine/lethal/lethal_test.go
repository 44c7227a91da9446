package lethal_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"thwart/engine/lethal"
	"thwart/unit"
)

// printedTolerance is the relative size of half a unit in the last place of the reference values, which are printed
// with five or six figures (10805 is the coarsest).
const printedTolerance = 5e-5

// table reads a reference file into rows by column name, and refuses a row without a source.
func table(t testing.TB, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for i, record := range records[1:] {
		row := map[string]string{}
		for j, column := range records[0] {
			row[column] = record[j]
		}
		if row["source"] == "" {
			t.Fatalf("%s, row %d: no source", name, i+2)
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		t.Fatalf("%s: no rows", name)
	}
	return rows
}

func num(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func profiles(t testing.TB) map[string]lethal.Profile {
	t.Helper()
	all := map[string]lethal.Profile{}
	for _, r := range table(t, "profiles.csv") {
		p := lethal.Profile{
			Name: r["profile"], RefC: unit.Celsius(num(t, r["ref_c"])), RefS: num(t, r["ref_s"]),
			ZLowC: num(t, r["z_low_c"]), ZHighC: num(t, r["z_high_c"]),
			MinC: unit.Celsius(num(t, r["min_c"])), FloorS: num(t, r["floor_s"]),
		}
		if err := p.Validate(); err != nil {
			t.Error(err)
		}
		all[p.Name] = p
	}
	return all
}

func TestT100SPublished(t *testing.T) {
	all := profiles(t)
	for _, r := range table(t, "t100.csv") {
		p, ok := all[r["profile"]]
		if !ok {
			t.Fatalf("no profile %q", r["profile"])
		}
		got, want := p.T100S(unit.Celsius(num(t, r["temp_c"]))), num(t, r["t100_s"])
		if math.IsInf(want, 1) != math.IsInf(got, 1) || !math.IsInf(want, 1) && math.Abs(got-want) > printedTolerance*want {
			t.Errorf("%s at %s °C: %g s, want %g s (%s)", p.Name, r["temp_c"], got, want, r["source"])
		}
	}
}

// Every exposure that killed all must lie on or below the curve, and every exposure that left some alive strictly
// below it: the curve never asks for less than was tried.
func TestCurveCoversTheEvidence(t *testing.T) {
	all := profiles(t)
	for _, r := range table(t, "evidence.csv") {
		p, ok := all[r["profile"]]
		if !ok {
			t.Fatalf("no profile %q", r["profile"])
		}
		asked, tried := p.T100S(unit.Celsius(num(t, r["temp_c"]))), num(t, r["exposure_s"])
		switch r["dead"] {
		case "all":
			if asked < tried {
				t.Errorf("%s at %s °C asks for %g s, less than the %g s tried (%s)", p.Name, r["temp_c"], asked, tried, r["source"])
			}
		case "some":
			if asked <= tried {
				t.Errorf("%s at %s °C accepts %g s, which left some alive (%s)", p.Name, r["temp_c"], tried, r["source"])
			}
		default:
			t.Fatalf("dead = %q", r["dead"])
		}
	}
}

func parseTrace(t testing.TB, s string) []lethal.Sample {
	t.Helper()
	var samples []lethal.Sample
	for _, part := range strings.Split(s, ";") {
		at, temp, _ := strings.Cut(part, ":")
		samples = append(samples, lethal.Sample{AtS: num(t, at), TempC: unit.Celsius(num(t, temp))})
	}
	return samples
}

func TestDosePublished(t *testing.T) {
	all := profiles(t)
	for _, r := range table(t, "dose.csv") {
		p, ok := all[r["profile"]]
		if !ok {
			t.Fatalf("no profile %q", r["profile"])
		}
		got, want := p.Dose(parseTrace(t, r["trace_s:c"]), 0), num(t, r["dose"])
		if math.Abs(got-want) > printedTolerance*want {
			t.Errorf("%s, %s: dose %g, want %g (%s)", p.Name, r["trace_s:c"], got, want, r["source"])
		}
		if lethal.Lethal(got, 1) != (r["verdict"] == "pass") {
			t.Errorf("%s, %s: lethal %v, want %s (%s)", p.Name, r["trace_s:c"], lethal.Lethal(got, 1), r["verdict"], r["source"])
		}
	}
}

func TestDoseGapsAndBadSamples(t *testing.T) {
	p := profiles(t)["quagga_adult|spray"]
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name    string
		samples []lethal.Sample
		maxGap  float64
		want    float64
		source  string
	}{
		{"no samples", nil, 30, 0, "definition: nothing measured, nothing earned"},
		{"one sample has no duration", []lethal.Sample{{0, 60}}, 30, 0, "definition"},
		{"step of just the limit counts", []lethal.Sample{{0, 60}, {30, 60}}, 30, 6, "30 s / 5 s, Comeau et al. 2011"},
		{"longer step is cold", []lethal.Sample{{0, 60}, {30.001, 60}}, 30, 0, "definition: a gap counts as cold"},
		{"no limit", []lethal.Sample{{0, 60}, {3600, 60}}, 0, 720, "3600 s / 5 s, Comeau et al. 2011"},
		{"negative limit", []lethal.Sample{{0, 60}, {10, 60}}, -1, 0, "definition: fail-safe"},
		{"limit not a number", []lethal.Sample{{0, 60}, {10, 60}}, nan, 0, "definition: fail-safe"},
		{"colder end counts", []lethal.Sample{{0, 60}, {5, 49}, {10, 60}}, 0, 0, "no evidence below 50 °C, Comeau et al. 2011"},
		{"temperature not a number", []lethal.Sample{{0, 60}, {5, unit.Celsius(nan)}, {10, 60}, {15, 60}}, 0, 1, "5 s / 5 s, Comeau et al. 2011"},
		{"infinite temperature", []lethal.Sample{{0, unit.Celsius(inf)}, {5, unit.Celsius(inf)}}, 0, 0, "definition: not a reading"},
		{"time not a number", []lethal.Sample{{0, 60}, {nan, 60}, {5, 60}, {10, 60}}, 0, 1, "5 s / 5 s, Comeau et al. 2011"},
		{"time minus infinity", []lethal.Sample{{-inf, 60}, {0, 60}, {5, 60}}, 0, 1, "5 s / 5 s, Comeau et al. 2011"},
		{"time plus infinity", []lethal.Sample{{0, 60}, {5, 60}, {inf, 60}}, 0, 1, "5 s / 5 s, Comeau et al. 2011"},
		{"clock goes back: no second counted twice", []lethal.Sample{{0, 60}, {10, 60}, {5, 60}, {15, 60}}, 0, 3, "15 s / 5 s, Comeau et al. 2011"},
		{"starts behind itself", []lethal.Sample{{10, 60}, {0, 60}, {12, 60}}, 0, 0.4, "2 s / 5 s, Comeau et al. 2011"},
	} {
		if c.source == "" {
			t.Fatalf("%s: no source", c.name)
		}
		if got := p.Dose(c.samples, c.maxGap); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: dose %g, want %g (%s)", c.name, got, c.want, c.source)
		}
	}
}

// A profile nobody filled in must not call cold water lethal.
func TestInvalidProfileEarnsNothing(t *testing.T) {
	good := lethal.Profile{Name: "x", RefC: 60, RefS: 10, ZLowC: 5, ZHighC: 10, MinC: 50, FloorS: 5}
	if err := good.Validate(); err != nil {
		t.Fatal(err)
	}
	nan := math.NaN()
	for field, spoil := range map[string]func(p *lethal.Profile){
		"RefC":   func(p *lethal.Profile) { p.RefC = unit.Celsius(nan) },
		"RefS":   func(p *lethal.Profile) { p.RefS = 0 },
		"ZLowC":  func(p *lethal.Profile) { p.ZLowC = -1 },
		"ZHighC": func(p *lethal.Profile) { p.ZHighC = math.Inf(1) },
		"MinC":   func(p *lethal.Profile) { p.MinC = 61 },
		"MinC ":  func(p *lethal.Profile) { p.ZLowC = 0 },
		"FloorS": func(p *lethal.Profile) { p.FloorS = 11 },
	} {
		p := good
		spoil(&p)
		err := p.Validate()
		if err == nil || !strings.Contains(err.Error(), strings.TrimSpace(field)+" =") || !strings.Contains(err.Error(), "accepted:") {
			t.Errorf("spoilt %s: error %v does not name the field and what is accepted", field, err)
		}
		if got := p.Dose([]lethal.Sample{{0, 70}, {100, 70}}, 0); got != 0 {
			t.Errorf("spoilt %s: dose %g, want 0", field, got)
		}
		if got := p.T100S(70); !math.IsInf(got, 1) {
			t.Errorf("spoilt %s: t100 %g, want +Inf", field, got)
		}
	}
	if got := (lethal.Profile{}).Dose([]lethal.Sample{{0, 70}, {100, 70}}, 0); got != 0 {
		t.Errorf("zero profile: dose %g, want 0", got)
	}
}

func TestLethal(t *testing.T) {
	for _, c := range []struct {
		dose, factor float64
		want         bool
	}{
		{1, 1, true},
		{1 - 0.9e-9, 1, true},
		{1 - 1.1e-9, 1, false},
		{1.999, 2, false},
		{2, 2, true},
		{5, 0.5, false}, // less than the published exposure is not a factor of safety
		{5, 0, false},
		{5, math.NaN(), false},
		{5, math.Inf(1), false},
		{math.NaN(), 1, false},
		{math.Inf(1), 1, false},
	} {
		if got := lethal.Lethal(c.dose, c.factor); got != c.want {
			t.Errorf("Lethal(%v, %v) = %v, want %v", c.dose, c.factor, got, c.want)
		}
	}
}

func TestEffective(t *testing.T) {
	if got := lethal.Effective(49, 1); got != 48 {
		t.Errorf("49 °C ± 1: %v, want 48", got)
	}
	for _, c := range []struct{ reading, uncertainty float64 }{
		{math.NaN(), 1}, {math.Inf(1), 1}, {49, math.NaN()}, {49, -1}, {49, math.Inf(1)},
	} {
		if got := lethal.Effective(unit.Celsius(c.reading), c.uncertainty); !math.IsInf(float64(got), -1) {
			t.Errorf("Effective(%v, %v) = %v, want minus infinity", c.reading, c.uncertainty, got)
		}
	}
	// 40.3 - 0.1 is 40.199999999999996 in binary: the reading proves 40.2 °C all the same.
	p := lethal.Profile{Name: "x", RefC: 40.2, RefS: 300, MinC: 40.2, FloorS: 300}
	if got := p.T100S(lethal.Effective(40.3, 0.1)); got != 300 {
		t.Errorf("t100 at 40.3 - 0.1: %v, want 300", got)
	}
}

func TestDoseDoesNotAllocate(t *testing.T) {
	p := profiles(t)["dreissenid_any|immersion_interpolated"]
	samples := make([]lethal.Sample, 1000)
	for i := range samples {
		samples[i] = lethal.Sample{AtS: float64(i), TempC: 50}
	}
	if n := testing.AllocsPerRun(10, func() { p.Dose(samples, 30) }); n != 0 {
		t.Errorf("%v allocations, want 0", n)
	}
}

// drawProfile makes profiles that validate.
func drawProfile(t *rapid.T) lethal.Profile {
	p := lethal.Profile{
		Name:   "drawn",
		RefC:   unit.Celsius(rapid.Float64Range(30, 70).Draw(t, "RefC")),
		RefS:   rapid.Float64Range(1, 4000).Draw(t, "RefS"),
		ZHighC: rapid.SampledFrom([]float64{0, 3, 11.3, 40}).Draw(t, "ZHighC"),
		ZLowC:  rapid.SampledFrom([]float64{0, 3, 16.6, 40}).Draw(t, "ZLowC"),
	}
	p.FloorS = p.RefS * rapid.Float64Range(0.01, 1).Draw(t, "floor")
	p.MinC = p.RefC
	if p.ZLowC > 0 {
		p.MinC -= unit.Celsius(rapid.Float64Range(0, 20).Draw(t, "below"))
	}
	if err := p.Validate(); err != nil {
		t.Fatal(err)
	}
	return p
}

func drawTrace(t *rapid.T) []lethal.Sample {
	n := rapid.IntRange(2, 30).Draw(t, "n")
	samples := make([]lethal.Sample, n)
	at := 0.0
	for i := range samples {
		samples[i] = lethal.Sample{AtS: at, TempC: unit.Celsius(rapid.Float64Range(0, 100).Draw(t, "temp"))}
		at += rapid.Float64Range(0.1, 40).Draw(t, "dt")
	}
	return samples
}

func TestT100NeverGrowsWithTemperature(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProfile(t)
		a := unit.Celsius(rapid.Float64Range(-10, 110).Draw(t, "a"))
		b := a + unit.Celsius(rapid.Float64Range(0, 50).Draw(t, "hotter by"))
		if p.T100S(b) > p.T100S(a) {
			t.Fatalf("t100(%v) = %v is above t100(%v) = %v", b, p.T100S(b), a, p.T100S(a))
		}
		if p.T100S(a) < p.FloorS {
			t.Fatalf("t100(%v) = %v is below the floor %v", a, p.T100S(a), p.FloorS)
		}
	})
}

func TestDoseHotterOrLongerNeverLower(t *testing.T) {
	const rounding = 1 - 1e-12 // a sum taken in another order
	rapid.Check(t, func(t *rapid.T) {
		p, samples := drawProfile(t), drawTrace(t)
		before := p.Dose(samples, 30)
		if before < 0 || math.IsNaN(before) {
			t.Fatalf("dose %v", before)
		}
		hotter := make([]lethal.Sample, len(samples))
		for i, s := range samples {
			hotter[i] = lethal.Sample{AtS: s.AtS, TempC: s.TempC + unit.Celsius(rapid.Float64Range(0, 30).Draw(t, "warm"))}
		}
		if after := p.Dose(hotter, 30); after < before*rounding {
			t.Fatalf("hotter: %v is below %v", after, before)
		}
		last := samples[len(samples)-1]
		longer := append(samples[:len(samples):len(samples)], lethal.Sample{
			AtS:   last.AtS + rapid.Float64Range(0.1, 40).Draw(t, "more"),
			TempC: unit.Celsius(rapid.Float64Range(0, 100).Draw(t, "last")),
		})
		if after := p.Dose(longer, 30); after < before {
			t.Fatalf("longer: %v is below %v", after, before)
		}
		// Slower by a factor: the same temperatures held for longer.
		slower, factor := make([]lethal.Sample, len(samples)), rapid.Float64Range(1, 3).Draw(t, "slower")
		for i, s := range samples {
			slower[i] = lethal.Sample{AtS: s.AtS * factor, TempC: s.TempC}
		}
		if after := p.Dose(slower, 0); after < p.Dose(samples, 0)*rounding {
			t.Fatalf("slower: %v is below %v", after, p.Dose(samples, 0))
		}
	})
}

// Whatever the samples, the dose is a number that is not negative, and at most the time from first to last over the
// shortest time the profile can ask for.
func TestDoseOfAnything(t *testing.T) {
	anyFloat := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-10, 110),
		rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0}))
	rapid.Check(t, func(t *rapid.T) {
		p := drawProfile(t)
		samples := make([]lethal.Sample, rapid.IntRange(0, 12).Draw(t, "n"))
		first, last := math.Inf(1), math.Inf(-1)
		for i := range samples {
			samples[i] = lethal.Sample{AtS: anyFloat.Draw(t, "at"), TempC: unit.Celsius(anyFloat.Draw(t, "temp"))}
			if !math.IsNaN(samples[i].AtS) && !math.IsInf(samples[i].AtS, 0) {
				first, last = min(first, samples[i].AtS), max(last, samples[i].AtS)
			}
		}
		got := p.Dose(samples, rapid.SampledFrom([]float64{0, 30}).Draw(t, "gap"))
		if math.IsNaN(got) || got < 0 {
			t.Fatalf("dose %v", got)
		}
		if limit := max(0, last-first) / p.FloorS; got > limit*(1+1e-9) {
			t.Fatalf("dose %v is above %v, the whole time at the floor", got, limit)
		}
	})
}

func BenchmarkDose36000(b *testing.B) {
	p := profiles(b)["dreissenid_any|immersion_interpolated"]
	samples := make([]lethal.Sample, 36000)
	for i := range samples {
		samples[i] = lethal.Sample{AtS: float64(i), TempC: unit.Celsius(45 + float64(i%10))}
	}
	b.ReportAllocs()
	for b.Loop() {
		p.Dose(samples, 30)
	}
}
