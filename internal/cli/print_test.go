package cli

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"thwart"
	"thwart/unit"
)

// Conversions are exact by definition (NIST SP 811, appendix B); 140 °F and 120 °F are the figures that UMPS III prints.
func TestSayConvertsSentences(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"a temperature", "Hold it at 60 °C for 10 s.", "Hold it at 140 °F for 10 s."},
		{"a temperature at the end", "This step needs 48.9 °C", "This step needs 120 °F"},
		{"an uncertainty is a difference", "reads 49 °C with ±1 °C, which proves 48 °C.", "reads 120.2 °F with ±1.8 °F, which proves 118.4 °F."},
		{"a range", "between 10 to 20 °C", "between 50 to 68 °F"},
		{"a range with a dash", "at 5-10 °C", "at 41-50 °F"},
		{"flow and pressure", "down to 3.785411784 L/min at 4.136854375901017 bar", "down to 1 gal/min at 60 psi"},
		{"volume", "about 3.785411784 L of it", "about 1 gal of it"},
		{"no unit of ours", "for each metre of a pass, 9 passes in 5 min", "for each metre of a pass, 9 passes in 5 min"},
		{"Fahrenheit is given", "printed 140 °F (60 °C)", "printed 140 °F (60 °C)"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := printer{units: unit.US}
			if got := p.say(c.in); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
			if p.units = unit.Metric; p.say(c.in) != c.in {
				t.Errorf("metric text was changed to %q", p.say(c.in))
			}
		})
	}
}

func TestPercentNeverRoundsAChanceAway(t *testing.T) {
	for _, c := range []struct {
		x    float64
		want string
	}{
		{0, "0 %"}, {1e-9, "under 0.01 %"}, {0.00012, "0.01 %"}, {0.0123, "1.2 %"}, {0.284, "28 %"}, {0.99499, "99 %"},
		{0.995, "over 99 %"}, {0.9999999, "over 99 %"}, {1, "100 %"},
	} {
		if got := percent(c.x); got != c.want {
			t.Errorf("percent(%g) is %q, want %q", c.x, got, c.want)
		}
	}
}

// A flow that must not be passed is never rounded up, a temperature that must be reached never down, in either system.
func TestDecidingFiguresRoundToTheSafeSide(t *testing.T) {
	metric, us := printer{units: unit.Metric}, printer{units: unit.US}
	for _, c := range []struct{ name, got, want string }{
		{"flow, metric", metric.flowDown(14.37), "14.3 L/min"},
		{"flow, US", us.flowDown(3.99 * unit.LitresPerUSGallon), "3.9 gal/min"},
		{"flow up", metric.flowUp(14.31), "14.4 L/min"},
		{"temperature down", metric.tempDown(59.98), "59.9 °C"},
		{"temperature up", metric.tempUp(59.91), "60 °C"},
		{"a whole temperature stays, down", us.tempDown(60), "140 °F"},
		{"a whole temperature stays, up", us.tempUp(unit.FromFahrenheit(120)), "120 °F"},
	} {
		if c.got != c.want {
			t.Errorf("%s: %s, want %s", c.name, c.got, c.want)
		}
	}
}

func TestTextKeepsToTheWidth(t *testing.T) {
	var b bytes.Buffer
	p := printer{w: &b, width: 40}
	long := strings.Repeat("word ", 60)
	p.para(4, long)
	p.hang(0, 8, long)
	p.item(2, "-", long)
	p.table(2, [][]string{{"a", "bb", long}, {"aaa", "b", "short"}})
	p.oneLine([][]string{{"a", long}})
	for _, l := range strings.Split(b.String(), "\n") {
		if n := utf8.RuneCountInString(l); n > 40 {
			t.Errorf("%d columns: %q", n, l)
		}
		if strings.TrimRight(l, " ") != l {
			t.Errorf("spaces at the end of %q", l)
		}
	}
	if !strings.Contains(b.String(), "  a    bb  word") {
		t.Errorf("columns do not line up:\n%s", b.String())
	}
}

// The plate tells the outcomes apart by its edge alone.
func TestPlatesDifferWithoutColour(t *testing.T) {
	seen := map[string]thwart.Outcome{}
	for _, o := range thwart.Outcomes {
		if other, twice := seen[edges[o]]; twice {
			t.Errorf("%s has the edge of %s", o, other)
		}
		seen[edges[o]] = o
	}
}

func TestFieldNames(t *testing.T) {
	for in, want := range map[string]string{
		"ID": "id", "RefTempC": "refTempC", "SourceIDs": "sourceIds", "GBIFKey": "gbifKey", "ITISTSN": "itistsn", "LengthM": "lengthM",
	} {
		if got := fieldName(in); got != want {
			t.Errorf("fieldName(%q) is %q, want %q", in, got, want)
		}
	}
}
