package thwart_test

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"thwart"
)

const sound = `{
  "inspection": {
    "startedAt": "2026-07-04T09:30:00-05:00",
    "setup": {"class": "runabout", "drives": ["sterndrive"], "spaces": [{"kind": "bilge", "count": "unknown"}], "gear": [], "trailer": "unknown"},
    "plugsOut": "unknown", "driveLowered": "yes",
    "lastWaters": [{"water": "a", "outAt": "2026-07-02T18:00:00-05:00", "stay": "unknown"}],
    "findings": [{"place": "x", "matter": "unknown", "vitality": "unknown", "removed": "unknown"}]
  },
  "waters": [{"id": "a", "name": "A", "status": {"zebra_mussel": "infested"}, "others": "unknown"}],
  "protocolId": "utah"
}`

func TestReadCase(t *testing.T) {
	cs, err := thwart.ReadCase(strings.NewReader(sound))
	if err != nil {
		t.Fatal(err)
	}
	in := cs.Inspection
	if in.PlugsOut != thwart.Unknown || in.Setup.Trailer != thwart.TrailerUnknown || in.Setup.Spaces[0].Count != thwart.CountUnknown ||
		in.Findings[0].Matter != thwart.MatterUnknown || in.LastWaters[0].Stay != thwart.StayUnknown {
		t.Errorf("\"unknown\" is not read as unknown: %+v", in)
	}
	b, err := json.Marshal(cs)
	if err != nil {
		t.Fatal(err)
	}
	again, err := thwart.ReadCase(strings.NewReader(string(b)))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(cs, again); diff != "" {
		t.Errorf("written and read again (-first +second):\n%s", diff)
	}
}

// Every refusal names the field, the value and what is accepted, and reports all fields at once.
func TestRefusals(t *testing.T) {
	for _, c := range []struct{ from, to, field, says string }{
		{`"plugsOut": "unknown"`, `"plugsOut": "maybe"`, "inspection.plugsOut", "yes, no"},
		{`"startedAt": "2026-07-04T09:30:00-05:00",`, ``, "inspection.startedAt", "offset"},
		{`"class": "runabout", `, ``, "inspection.setup.class", "craft class"},
		{`"drives": ["sterndrive"]`, `"drives": []`, "inspection.setup.drives", "hand"},
		{`"drives": ["sterndrive"]`, `"drives": ["rocket"]`, "inspection.setup.drives[0]", "sterndrive"},
		{`"spaces": [{"kind": "bilge", "count": "unknown"}]`, `"spaces": null`, "inspection.setup.spaces", "empty list"},
		{`"count": "unknown"`, `"count": -3`, "", "whole number"},
		{`"count": "unknown"`, `"count": 99`, "inspection.setup.spaces[0].count", "0 to 20"},
		{`"gear": []`, `"lengthM": 600`, "inspection.setup.lengthM", "0.5 to 40 m"},
		{`"outAt": "2026-07-02T18:00:00-05:00"`, `"outAt": "2026-08-02T18:00:00-05:00"`, "inspection.lastWaters[0].outAt", "before"},
		{`"water": "a"`, `"water": "b"`, "inspection.lastWaters[0].water", "waters"},
		{`"matter": "unknown"`, `"matter": "slime"`, "inspection.findings[0].matter", "plant"},
		{`"place": "x", `, ``, "inspection.findings[0].place", "place"},
		{`"zebra_mussel": "infested"`, `"zebra_mussel": "clean"`, "waters[0].status.zebra_mussel", "not_found"},
		{`"protocolId": "utah"`, `"protocolId": "utah", "unit": {"outletC": 140}`, "unit.outletC", "did you mean 60 °C (140 °F)"},
		{`"protocolId": "utah"`, `"protocolId": "utah", "weather": [{"hours": 5, "tempC": 20, "rhPct": 120}]`, "weather[0].rhPct", "0 to 100"},
		{`"protocolId": "utah"`, `"protocolId": "utah", "skill": {"found": 3, "trials": 2}`, "skill", "between 0 and trials"},
		{`"protocolId": "utah"`, `"protocolId": "utah", "colour": 1`, "colour", "fields of the schema"},
		{`"protocolId": "utah"`, `"protocolId": 5`, "protocolId", "text"},
	} {
		t.Run(c.field+" "+c.to, func(t *testing.T) {
			file := strings.Replace(sound, c.from, c.to, 1)
			if file == sound {
				t.Fatalf("%s is not in the file", c.from)
			}
			_, err := thwart.ReadCase(strings.NewReader(file))
			if err == nil {
				t.Fatal("no error")
			}
			var fields thwart.FieldErrors
			if errors.As(err, &fields) {
				if fields[0].Field != c.field {
					t.Errorf("field %q, want %q", fields[0].Field, c.field)
				}
			} else if c.field != "" {
				t.Errorf("%v is not a list of field errors", err)
			}
			if !strings.Contains(err.Error(), c.says) {
				t.Errorf("%v does not say %q", err, c.says)
			}
		})
	}
	file := strings.NewReplacer(`"plugsOut": "unknown"`, `"plugsOut": "maybe"`, `"matter": "unknown"`, `"matter": "slime"`).Replace(sound)
	_, err := thwart.ReadCase(strings.NewReader(file))
	var fields thwart.FieldErrors
	if !errors.As(err, &fields) || len(fields) != 2 {
		t.Errorf("two fields at fault, reported: %v", err)
	}
	for name, text := range map[string]string{
		"empty": "", "not JSON": "{", "text behind": sound + "x", "a list": "[]", "too large": strings.Repeat(" ", thwart.MaxCaseBytes+1),
	} {
		if _, err := thwart.ReadCase(strings.NewReader(text)); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestOutcomesAreALadder(t *testing.T) {
	for i, o := range thwart.Outcomes {
		if o.Rank() != i {
			t.Errorf("%s has rank %d, want %d", o, o.Rank(), i)
		}
		for k, p := range thwart.Outcomes {
			want := o
			if k > i {
				want = p
			}
			if got := o.Stricter(p); got != want {
				t.Errorf("%s against %s: %s, want %s", o, p, got, want)
			}
		}
	}
}

// Only a look that found nothing, or a declared eradication, takes a water off the list; everything else is at risk.
func TestUnknownWaterIsAtRisk(t *testing.T) {
	free := map[thwart.WaterStatus]bool{thwart.StatusNotFound: true, thwart.StatusEradicated: true}
	for _, s := range append(thwart.WaterStatuses, thwart.StatusUnknown) {
		if s.AtRisk() == free[s] {
			t.Errorf("%q at risk: %v", s, s.AtRisk())
		}
	}
	w := thwart.Water{Status: map[string]thwart.WaterStatus{"hydrilla": thwart.StatusNotFound}}
	if !w.Of("zebra_mussel").AtRisk() || w.Of("hydrilla").AtRisk() {
		t.Error("an organism nobody wrote down is not at risk, or one not found is")
	}
}

// Whichever way hot water is brought, a thinner way never stands in for a fuller one.
func TestMethodsThatServe(t *testing.T) {
	for _, c := range []struct {
		done, asked thwart.Method
		want        bool
	}{
		{thwart.MethodFlush, thwart.MethodFillFlush, false},
		{thwart.MethodFillFlush, thwart.MethodFlush, true},
		{thwart.MethodLowSpray, thwart.MethodHighSpray, false},
		{thwart.MethodHighSpray, thwart.MethodLowSpray, true},
		{thwart.MethodLowSpray, thwart.MethodLowOrFlush, true},
		{thwart.MethodHighSpray, thwart.MethodEngineFlush, false},
		{thwart.MethodLowSpray, thwart.MethodSoak, false},
	} {
		if got := c.done.Serves(c.asked); got != c.want {
			t.Errorf("%s for %s: %v, want %v", c.done, c.asked, got, c.want)
		}
	}
	for _, m := range []thwart.MeasuredAt{thwart.AtUnknown, thwart.AtNozzle, thwart.AtInlet} {
		if m.Proves(thwart.AtContact) || m.Proves(thwart.AtExit) || m.Proves(thwart.AtContactOrExit) {
			t.Errorf("a reading at %q proves something", m)
		}
	}
}

// Whatever is read is either refused or stands up to its own checks and survives being written and read again.
func FuzzReadCase(f *testing.F) {
	f.Add([]byte(sound))
	f.Add([]byte(`{"inspection":{"startedAt":"2026-07-04T09:30:00Z","setup":{"class":"x","drives":["hand"],"spaces":[]}}}`))
	f.Add([]byte("\xef\xbb\xbf{}"))
	f.Add([]byte(strings.Repeat(`{"inspection":`, 2000)))
	f.Add([]byte(`{"inspection":{"note":"` + "\x00\xed\xa0\x80\u202e" + `"}}`))
	files, _ := filepath.Glob("examples/cases/*.json")
	for _, name := range files {
		if b, err := os.ReadFile(name); err == nil {
			f.Add(b)
		}
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		cs, err := thwart.ReadCase(strings.NewReader(string(b)))
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error without words")
			}
			return
		}
		if cs.Inspection.StartedAt.Equal(time.Time{}) {
			t.Fatal("taken without a time")
		}
		out, err := json.Marshal(cs)
		if err != nil {
			t.Fatalf("taken and cannot be written: %v", err)
		}
		if _, err := thwart.ReadCase(strings.NewReader(string(out))); err != nil {
			t.Fatalf("taken, written, and refused: %v", err)
		}
	})
}
