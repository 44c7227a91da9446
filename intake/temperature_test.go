package intake_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"thwart/intake"
	"thwart/unit"
)

func TestParseTemp(t *testing.T) {
	for text, want := range map[string]unit.Celsius{
		"60": 60, "60 C": 60, "60 °C": 60, "60c": 60, " 60.5°C ": 60.5, "60,5": 60.5, "60 Celsius": 60, "60 degrees C": 60, "60 ℃": 60,
		"140F": 60, "140 °F": 60, "140 fahrenheit": 60, "140 deg F": 60, "140 ºf": 60, "32 F": 0, "212F": 100, "0": 0, "100": 100, "+48.9": 48.9,
	} {
		got, err := intake.ParseTemp(text)
		if err != nil || math.Abs(float64(got-want)) > 1e-9 {
			t.Errorf("%q: %v, %v; want %v", text, got, err, want)
		}
	}
}

func TestParseTempRefuses(t *testing.T) {
	for text, hint := range map[string]string{
		"140":      "did you mean 60 °C (140 °F)?",
		"140 °C":   "did you mean 60 °C (140 °F)?",
		"100.1":    "did you mean 37.8 °C (100.1 °F)?",
		"20 F":     "did you mean 20 °C (68 °F)?",
		"213 F":    "",
		"250 F":    "",
		"-1":       "",
		"1000":     "",
		"":         "",
		"hot":      "",
		"60 K":     "",
		"NaN":      "",
		"Inf":      "",
		"0x3c":     "",
		"6 0":      "",
		"60 C C":   "",
		"1,000.5":  "",
		"60.5.1":   "",
		"60\x00":   "",
		"1e999 °C": "",
	} {
		_, err := intake.ParseTemp(text)
		var row *intake.RowError
		if !errors.As(err, &row) || row.Hint != hint || row.Column != "temperature" || row.Value != text || !strings.Contains(err.Error(), "accepted: 0 to 100 °C") {
			t.Errorf("%q: %v, want a refusal with hint %q", text, err, hint)
		}
	}
}

func TestParseTempUnit(t *testing.T) {
	for text, want := range map[string]intake.TempUnit{
		"": intake.UnitUnknown, " ": intake.UnitUnknown, "c": intake.DegC, "°C": intake.DegC, "Celsius": intake.DegC, "F": intake.DegF, "deg f": intake.DegF, "fahrenheit": intake.DegF,
	} {
		if got, err := intake.ParseTempUnit(text); err != nil || got != want {
			t.Errorf("%q: %q, %v; want %q", text, got, err, want)
		}
	}
	for _, text := range []string{"K", "°", "CF", "degrees"} {
		if got, err := intake.ParseTempUnit(text); err == nil {
			t.Errorf("%q: %q, want an error", text, got)
		}
	}
}

func FuzzParseTemp(f *testing.F) {
	for _, seed := range []string{"60", "60 C", "140 °F", "60,5", "140", "-0", "1e2", "℃", "Â°C", "\xb0C", "60\u202eF", "9" + strings.Repeat("9", 100)} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, err := intake.ParseTemp(s)
		if err != nil {
			if text := err.Error(); !utf8.ValidString(text) || len(text) > 500 {
				t.Fatalf("error text %q", text)
			}
			return
		}
		if !(got >= 0 && got <= 100) {
			t.Fatalf("%q: %v °C was accepted", s, got)
		}
		again, err := intake.ParseTemp(fmt.Sprintf("%.17g C", float64(got)))
		if err != nil || again != got {
			t.Fatalf("%q: %v reads back as %v, %v", s, got, again, err)
		}
	})
}

func ExampleParseTemp() {
	for _, text := range []string{"48.9", "140 °F", "140"} {
		c, err := intake.ParseTemp(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(unit.Metric.Temp(c))
	}
	// Output:
	// 48.9 °C
	// 60 °C
	// temperature: "140" is not accepted; accepted: 0 to 100 °C, or a number with F from 32 to 212; did you mean 60 °C (140 °F)?
}
