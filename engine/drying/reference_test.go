package drying

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"thwart/unit"
)

// reference reads a table of expected values and fails on a row that does not say where it comes from.
func reference(t testing.TB, file string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	if len(lines) < 2 {
		t.Fatalf("%s: no rows", file)
	}
	var rows []map[string]string
	for i, line := range lines[1:] {
		row := map[string]string{}
		for j, name := range lines[0] {
			row[name] = line[j]
		}
		if strings.TrimSpace(row["source"]) == "" {
			t.Fatalf("%s: row %d names no source", file, i+1)
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	switch s {
	case "never":
		return math.Inf(1)
	case "-", "not known":
		return math.NaN()
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// near fails unless got lies within tol of want, and insists on the source of want.
func near(t testing.TB, what string, got, want, tol float64, source string) {
	t.Helper()
	if source == "" {
		t.Fatalf("%s: the expected value %v names no source", what, want)
	}
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.10g, want %.10g within %g (%s)", what, got, want, tol, source)
	}
}

// printed compares with a value as it is printed, to half a unit of its last digit.
func printed(t testing.TB, what string, got float64, want, source string) {
	t.Helper()
	_, decimals, _ := strings.Cut(want, ".")
	near(t, what, got, number(t, want), 0.5*math.Pow(10, -float64(len(decimals)))*(1+1e-9), source)
}

// readSpells reads "3d@5C/80%;2h@25C/40%"; without a humidity, 50 %.
func readSpells(t testing.TB, s string) []Spell {
	t.Helper()
	var spells []Spell
	for part := range strings.SplitSeq(s, ";") {
		length, rest, _ := strings.Cut(part, "@")
		temp, rh, hasRH := strings.Cut(rest, "/")
		spell := Spell{TempC: unit.Celsius(number(t, strings.TrimSuffix(temp, "C"))), RHPct: 50}
		if hasRH {
			spell.RHPct = number(t, strings.TrimSuffix(rh, "%"))
		}
		if days, ok := strings.CutSuffix(length, "d"); ok {
			spell.Hours = 24 * number(t, days)
		} else {
			spell.Hours = number(t, strings.TrimSuffix(length, "h"))
		}
		spells = append(spells, spell)
	}
	return spells
}

// The fit behind the mussel tables of testdata, and the edges of its evidence: Ricciardi et al. 1995, Paukstis et al.
// 1999, Eawag 2015, Mohit et al. 2023 and golden mussel (Hydrobiologia 2020) between 5 and 30 °C.
var evidence = Evidence{RefTempC: 20, RefRHPct: 50, MinTempC: 5, MaxTempC: 30, MinVPDKPa: 0.02, MaxVPDKPa: 1.4}

func mussels(stage string) Mussels {
	scale := map[string][2]float64{"large adult": {3.8, 4.2}, "small adult": {1.97, 1.6}, "settled juvenile": {0.87, 0.62}}[stage]
	return Mussels{
		Central:  WeibullSet{Name: "central", LambdaD: scale[0], BTPerC: 0.059, BV: 0.25, Shape: 3.25, AgeForClear: 1.8124, Evidence: evidence},
		Cautious: WeibullSet{Name: "cautious", LambdaD: scale[1], BTPerC: 0.1, BV: 0.15, Shape: 2, AgeForClear: 2.6283, Evidence: evidence},
	}
}

func doses(t testing.TB) map[string]Dose {
	t.Helper()
	all := map[string]Dose{}
	for _, r := range reference(t, "dose_stages.csv") {
		all[r["stage"]] = Dose{
			LastAliveKPaH: number(t, r["last_alive_kpa_h"]), ClearKPaH: number(t, r["clear_kpa_h"]), MinHours: number(t, r["min_hours"]),
		}
	}
	return all
}

// larvae is the upper envelope through Choi et al. 2013, Manag. Biol. Invasions 4:61-69.
var larvae = Residual{A: 4.140, BPerC: 0.0843, MinC: 0, MaxC: 30}

// restingEggs is the trial of Branstrator et al. 2013, Limnol. Oceanogr. 58:2171-2184: eggs of the spiny water flea dried
// 6 h at 17 °C did not hatch; the abstract names no humidity.
func restingEggs(margin float64) Tested {
	return Tested{Hours: 6, MinTempC: 17, MaxRHPct: 100, Margin: margin}
}
