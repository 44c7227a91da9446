package thwart_test

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/unit"
)

const (
	id1 = "01980d5e-6a00-7000-8000-000000000001"
	id2 = "01980d5e-6a00-7000-8000-000000000002"
	id3 = "01980d5e-6a00-7000-8000-000000000003"
)

var noon = time.Date(2026, 7, 4, 12, 0, 0, 0, time.UTC)

func shiftEntry(edit func(*thwart.Entry)) thwart.Entry {
	e := thwart.Entry{
		ID: id1, Kind: thwart.KindShift, Subject: id1, MadeAt: noon, Origin: thwart.OriginPhone, Seq: 1,
		Body: json.RawMessage(`{"launch":"` + id2 + `","people":["` + id3 + `"],"from":"2026-07-04T07:00:00Z"}`),
	}
	if edit != nil {
		edit(&e)
	}
	return e
}

func TestEntry(t *testing.T) {
	if err := shiftEntry(nil).Validate(); err != nil {
		t.Fatal(err)
	}
	if _, err := shiftEntry(nil).Decode(); err != nil {
		t.Fatal(err)
	}
	correction := func(e *thwart.Entry) { e.ID, e.Supersedes, e.Why = id2, id1, "wrong launch" }
	if err := shiftEntry(correction).Validate(); err != nil {
		t.Error(err)
	}
	for field, edit := range map[string]func(*thwart.Entry){
		"id":         func(e *thwart.Entry) { e.ID = "01980D5E-6A00-7000-8000-000000000001" },
		"subject":    func(e *thwart.Entry) { e.Subject = "x" },
		"kind":       func(e *thwart.Entry) { e.Kind = "rumour" },
		"origin":     func(e *thwart.Entry) { e.Origin = "" },
		"madeAt":     func(e *thwart.Entry) { e.MadeAt = time.Time{} },
		"seq":        func(e *thwart.Entry) { e.Seq = -1 },
		"body":       func(e *thwart.Entry) { e.Body = nil },
		"why":        func(e *thwart.Entry) { correction(e); e.Why = "" },
		"supersedes": func(e *thwart.Entry) { e.Subject = id2 },
		"removed":    func(e *thwart.Entry) { e.Removed = true },
	} {
		err := shiftEntry(edit).Validate()
		if err == nil || !strings.HasPrefix(err.Error(), field) {
			t.Errorf("%s: %v", field, err)
		}
	}
	if _, err := shiftEntry(func(e *thwart.Entry) { e.Body = json.RawMessage(`{"launch":5}`) }).Decode(); err == nil {
		t.Error("a number for an id: no error")
	}
	// A newer program's extra field is taken and stays in the entry.
	newer := shiftEntry(func(e *thwart.Entry) {
		e.Body = json.RawMessage(strings.Replace(string(e.Body), "{", `{"mood":"good",`, 1))
	})
	if _, err := newer.Decode(); err != nil || !strings.Contains(string(newer.Body), "mood") {
		t.Errorf("a field of a newer program: %v, %s", err, newer.Body)
	}
}

// Every field that an entry says, and every byte of its body, is in its sum.
func TestSumCoversEverything(t *testing.T) {
	base := shiftEntry(nil).Sum()
	if shiftEntry(nil).Sum() != base {
		t.Fatal("two sums of one entry")
	}
	for name, edit := range map[string]func(*thwart.Entry){
		"id": func(e *thwart.Entry) { e.ID = id2 }, "kind": func(e *thwart.Entry) { e.Kind = thwart.KindTally },
		"subject": func(e *thwart.Entry) { e.Subject = id2 }, "supersedes": func(e *thwart.Entry) { e.Supersedes = id2 },
		"removed": func(e *thwart.Entry) { e.Removed = true }, "why": func(e *thwart.Entry) { e.Why = "x" },
		"madeAt": func(e *thwart.Entry) { e.MadeAt = noon.Add(time.Nanosecond) }, "origin": func(e *thwart.Entry) { e.Origin = "paper" },
		"person": func(e *thwart.Entry) { e.Person = id3 }, "device": func(e *thwart.Entry) { e.Device = id3 },
		"seq": func(e *thwart.Entry) { e.Seq = 2 }, "body": func(e *thwart.Entry) { e.Body = append(e.Body, ' ') },
	} {
		if shiftEntry(edit).Sum() == base {
			t.Errorf("%s is not in the sum", name)
		}
	}
	local := shiftEntry(func(e *thwart.Entry) { e.MadeAt = noon.In(time.FixedZone("", -5*3600)) })
	if local.Sum() != base {
		t.Error("the same instant in another zone has another sum")
	}
}

func TestStatusOfAWaterByDate(t *testing.T) {
	day := func(m time.Month, d int) time.Time { return time.Date(2026, m, d, 0, 0, 0, 0, time.UTC) }
	since := day(6, 1)
	end := day(9, 1)
	w := thwart.WaterBody{
		Name: "Fenwillow Lake", Others: thwart.StatusNotFound,
		Statuses: []thwart.DatedStatus{
			{Organism: "zebra_mussel", Status: thwart.StatusNotFound, From: day(5, 1), To: ptr(day(7, 18))},
			{Organism: "zebra_mussel", Status: thwart.StatusInfested, From: day(7, 18), SuspectedSince: &since},
			{Organism: "hydrilla", Status: thwart.StatusPositive, From: day(4, 1), To: &end},
		},
	}
	if err := w.Validate(); err != nil {
		t.Fatal(err)
	}
	for at, want := range map[time.Time][2]thwart.WaterStatus{
		day(5, 20): {thwart.StatusNotFound, thwart.StatusPositive},
		day(6, 10): {thwart.StatusSuspect, thwart.StatusPositive}, // left after the first suspicion
		day(7, 18): {thwart.StatusInfested, thwart.StatusPositive},
		day(9, 1):  {thwart.StatusInfested, thwart.StatusNotFound},
	} {
		got := w.At("x", at)
		if got.Of("zebra_mussel") != want[0] || got.Of("hydrilla") != want[1] {
			t.Errorf("%v: mussels %q, hydrilla %q; want %q", at, got.Of("zebra_mussel"), got.Of("hydrilla"), want)
		}
	}
}

func ptr[T any](v T) *T { return &v }

// What the records refuse, each by the field at fault.
func TestBodiesRefuse(t *testing.T) {
	hold := &thwart.Verdict{Outcome: thwart.Hold}
	sound := thwart.Encounter{Shift: id1, Protocol: "utah@1", Inspection: thwart.Inspection{
		StartedAt: noon, Setup: thwart.Setup{Class: "canoe_kayak", Drives: []thwart.Drive{thwart.DriveHand}, Spaces: []thwart.Space{}},
	}}
	if err := sound.Validate(); err != nil {
		t.Fatal(err)
	}
	enc := func(f func(*thwart.Encounter)) thwart.Body { e := sound; f(&e); return &e }
	hot := unit.Celsius(140)
	for field, b := range map[string]thwart.Body{
		"mark.hash":   enc(func(e *thwart.Encounter) { e.Mark = &thwart.Mark{Hash: "AB 1234"} }),
		"mark.prefix": enc(func(e *thwart.Encounter) { e.Mark = &thwart.Mark{Hash: strings.Repeat("a", 32), Prefix: "ab1234"} }),
		"override.second": enc(func(e *thwart.Encounter) {
			e.Verdict, e.Override = hold, &thwart.Override{Outcome: thwart.Wash, By: id2, Why: "seen by the agency"}
		}),
		"override.why":            enc(func(e *thwart.Encounter) { e.Override = &thwart.Override{Outcome: thwart.Wash, By: id2} }),
		"homeArea":                enc(func(e *thwart.Encounter) { e.HomeArea = "12 Somewhere Street" }),
		"protocol":                enc(func(e *thwart.Encounter) { e.Protocol = "" }),
		"people":                  &thwart.Shift{Launch: id1, From: noon},
		"to":                      &thwart.Shift{Launch: id1, People: []string{id2}, From: noon, To: ptr(noon.Add(-time.Hour))},
		"weather.airC":            &thwart.Shift{Launch: id1, People: []string{id2}, From: noon, Weather: &thwart.Weather{AirC: new(unit.Celsius(77)), RHPct: new(50.0)}},
		"weather.rhPct":           &thwart.Shift{Launch: id1, People: []string{id2}, From: noon, Weather: &thwart.Weather{RHPct: new(0.0)}},
		"passedBy":                &thwart.Tally{Shift: id1, At: noon},
		"retrievedAt":             &thwart.Trial{Object: "T-14", Like: "small_felt", Place: "x", Steward: id1, PlantedBy: id2, PlantedAt: noon, Found: thwart.No},
		"steps[0].approvals":      &thwart.WashDone{Encounter: id1, Kit: id2, StartedAt: noon, EndedAt: noon, Steps: []thwart.WashStepDone{{Claim: thwart.WashClaim{Part: thwart.PartHull}, Outcome: "alternative", Approvals: []string{id1, id1}}}},
		"steps[0].why":            &thwart.WashDone{Encounter: id1, Kit: id2, StartedAt: noon, EndedAt: noon, Steps: []thwart.WashStepDone{{Claim: thwart.WashClaim{Part: thwart.PartHull}, Outcome: "short"}}},
		"unit.outletC":            &thwart.Kit{Name: "unit 2", Unit: thwart.WashUnit{OutletC: &hot}},
		"sha256":                  &thwart.Photo{Encounter: id1, SHA256: "x", Bytes: 5, Type: "image/jpeg"},
		"type":                    &thwart.Photo{Encounter: id1, SHA256: strings.Repeat("0", 64), Bytes: 5, Type: "image/svg+xml"},
		"outline[0]":              &thwart.WaterBody{Name: "A", Outline: [][]thwart.Point{{{0, 0}, {1, 0}, {1, 1}}}},
		"centre[1]":               &thwart.WaterBody{Name: "A", Centre: thwart.Point{0, 95}},
		"opens":                   &thwart.Ramp{Name: "A", Water: id1, Lanes: 1, Opens: "half past five"},
		"roles[0]":                &thwart.Person{Name: "Ines", Roles: []thwart.Role{"king"}},
		"certificates[0].expires": &thwart.Person{Name: "Ines", Roles: []thwart.Role{thwart.RoleSteward}, Certificates: []thwart.Certificate{{For: "inspect", From: noon, Expires: noon}}},
	} {
		err := b.Validate()
		if err == nil || !strings.HasPrefix(err.Error(), field) {
			t.Errorf("%s: %v", field, err)
		}
	}
}

// A shift written down before the weather was asked for stands, and weather said goes out as it came in: what was not said stays unsaid.
func TestWeatherOfAShift(t *testing.T) {
	plain := `{"launch":"` + id1 + `","people":["` + id2 + `"],"from":"2026-07-04T09:00:00-05:00"`
	for body, want := range map[string]*thwart.Weather{
		plain + `}`: nil,
		plain + `,"weather":{"airC":24,"rhPct":55,"wet":false}}`:  {AirC: new(unit.Celsius(24)), RHPct: new(55.0), Wet: new(false)},
		plain + `,"weather":{"airC":-2.5,"rhPct":90,"wet":true}}`: {AirC: new(unit.Celsius(-2.5)), RHPct: new(90.0), Wet: new(true)},
		plain + `,"weather":{"wet":true}}`:                        {Wet: new(true)},
		plain + `,"weather":{"airC":0,"rhPct":80}}`:               {AirC: new(unit.Celsius(0)), RHPct: new(80.0)},
	} {
		e := thwart.Entry{ID: id1, Kind: thwart.KindShift, Subject: id1, MadeAt: noon, Origin: thwart.OriginPhone, Seq: 1, Person: id2, Device: id3, Body: json.RawMessage(body)}
		b, err := e.Decode()
		if err != nil {
			t.Fatalf("%s: %v", body, err)
		}
		if err := b.Validate(); err != nil {
			t.Errorf("%s: %v", body, err)
		}
		got := b.(*thwart.Shift).Weather
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %+v; want %+v", body, got, want)
		}
		if again, err := json.Marshal(b); err != nil || string(again) != body {
			t.Errorf("%s\ngoes out as\n%s, %v", body, again, err)
		}
	}
}

func TestGivenOutcome(t *testing.T) {
	e := thwart.Encounter{}
	if e.Given() != "" {
		t.Errorf("nothing judged: %s", e.Given())
	}
	e.Inspection.Refused = true
	if e.Given() != thwart.Hold {
		t.Errorf("a refusal: %s, want hold", e.Given())
	}
	e.Verdict = &thwart.Verdict{Outcome: thwart.Wash}
	if e.Given() != thwart.Wash {
		t.Errorf("computed: %s", e.Given())
	}
	e.Override = &thwart.Override{Outcome: thwart.DryOut}
	if e.Given() != thwart.DryOut {
		t.Errorf("overridden: %s", e.Given())
	}
}

// Deny is the default: a role that nobody wrote down may do nothing.
func TestRolesMay(t *testing.T) {
	all := []thwart.Capability{thwart.CanRecord, thwart.CanRead, thwart.CanCorrect, thwart.CanManage, thwart.CanAudit, thwart.CanExport, thwart.CanSeeTrial}
	for role, want := range map[thwart.AccessRole]int{
		thwart.AccessManager: len(all), thwart.AccessSteward: 1, thwart.AccessTechnician: 1, thwart.AccessBiologist: 2, thwart.AccessAuditor: 2,
		"king": 0, "": 0,
	} {
		n := 0
		for _, c := range all {
			if role.May(c) {
				n++
			}
		}
		if n != want {
			t.Errorf("%q may do %d things, want %d", role, n, want)
		}
	}
	if thwart.AccessSteward.May(thwart.CanSeeTrial) || thwart.AccessBiologist.May(thwart.CanSeeTrial) {
		t.Error("planted objects are seen by those they test")
	}
}
