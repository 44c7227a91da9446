package api_test

import (
	"bytes"
	"encoding/json"
	"slices"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"thwart"
	"thwart/internal/demo"
)

// described compiles a schema of the description that a server hands out. An independent implementation judges by it.
func described(t *testing.T, name string) *jsonschema.Schema {
	t.Helper()
	c := jsonschema.NewCompiler()
	if err := c.AddResource("openapi.json", fromJSON(t, newWorld(t, nil).api.OpenAPI())); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("openapi.json#/components/schemas/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func fromJSON(t *testing.T, text []byte) any {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

const (
	idA = "01980d5e-6a00-7000-8000-000000000001"
	idB = "01980d5e-6a00-7000-8000-000000000002"
)

// sparse are bodies with hardly more than what the program insists on, as a page or an older phone may send them.
var sparse = map[thwart.Kind]string{
	thwart.KindShift:        `{"launch":"` + idA + `","people":["` + idB + `"],"from":"2026-07-04T07:00:00Z","weather":{"airC":24,"rhPct":55,"wet":true}}`,
	thwart.KindInspection:   `{"shift":"` + idA + `","protocol":"own@1","inspection":{"startedAt":"2026-07-04T07:00:00Z","setup":{"class":"canoe","drives":["hand"],"spaces":[],"gear":null},"lastWaters":null}}`,
	thwart.KindTally:        `{"shift":"` + idA + `","at":"2026-07-04T07:00:00Z","passedBy":3}`,
	thwart.KindProgramme:    `{"name":"Withy Lakes","zone":"America/Chicago"}`,
	thwart.KindPairing:      `{"a":"` + idA + `","b":"` + idB + `","decision":"same"}`,
	thwart.KindReopening:    `{"record":"` + idA + `","entry":"` + idB + `","why":"asked again"}`,
	thwart.KindSecondLook:   `{"encounter":"` + idA + `","person":"` + idB + `","at":"2026-07-04T07:00:00Z","other":"` + idB + `"}`,
	thwart.KindDrill:        `{"person":"` + idA + `","seed":7,"difficulty":"usual","setup":"canoe","startedAt":"2026-07-04T07:00:00Z","endedAt":"2026-07-04T07:10:00Z","places":null,"questionsAsked":5,"questionsRight":4,"score":80}`,
	thwart.KindCurriculum:   `{"name":"Inspector","for":"inspect","months":12,"parts":[{"name":"rules","what":"reading","pages":["rules"]}]}`,
	thwart.KindCertificate:  `{"person":"` + idA + `","curriculum":"` + idB + `","for":"inspect","from":"2026-07-04T07:00:00Z","expires":"2027-07-04T07:00:00Z","by":"M"}`,
	thwart.KindPlan:         `{"name":"Busy weekends","season":"2026","constraints":{"hours":400}}`,
	thwart.KindPlannedShift: `{"launch":"` + idA + `","from":"2026-07-04T07:00:00Z","to":"2026-07-04T12:00:00Z","people":[]}`,
	thwart.KindAvailability: `{"person":"` + idA + `","from":"2026-05-01","to":"2026-09-30"}`,
	thwart.KindIncident:     `{"what":"mussels on an axle","encounter":"` + idA + `","openedAt":"2026-07-04T07:00:00Z","state":"open"}`,
	thwart.KindView:         `{"page":"encounters","name":"Held","filter":""}`,
	thwart.KindSheets:       `{"form":"B","first":1,"count":20,"protocol":"own@1","at":"2026-07-04T07:00:00Z"}`,
	thwart.KindReceipt:      `{"encounter":"` + idA + `","issuedAt":"2026-07-04T07:00:00Z","device":"` + idB + `","keyId":"k","code":"THW1:AAAA","outcome":"launch"}`,
	thwart.KindPhoto:        `{"encounter":"` + idA + `","sha256":"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855","bytes":10,"type":"image/jpeg"}`,
	thwart.KindKey: `{"use":"programme","keyId":"k","public":"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=","signer":"k",` +
		`"signature":"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA==","from":"2026-07-04T07:00:00Z"}`,
}

// entriesOfEveryKind gives entries of every kind: a season of the demo, and sparse ones.
func entriesOfEveryKind(t *testing.T) []thwart.Entry {
	t.Helper()
	_, season, err := demo.Generate(demo.Options{Seed: 5, Scale: 0.01})
	if err != nil {
		t.Fatal(err)
	}
	of := map[thwart.Kind]int{}
	var out []thwart.Entry
	for e := range season {
		if of[e.Kind]++; of[e.Kind] <= 60 {
			out = append(out, e)
		}
	}
	for kind, body := range sparse {
		e := thwart.Entry{ID: idA, Subject: idA, Kind: kind, MadeAt: time.Unix(1.78e9, 0).UTC(), Origin: thwart.OriginOffice, Body: json.RawMessage(body)}
		if _, err := e.Decode(); err != nil {
			t.Errorf("a sparse %s: %v", kind, err)
		}
		of[kind]++
		out = append(out, e)
	}
	for _, k := range thwart.Kinds {
		if of[k] == 0 {
			t.Errorf("there is no %s to look at", k)
		}
	}
	return out
}

// with gives an entry in JSON as the description describes it, its body changed.
func with(t *testing.T, e thwart.Entry, change func(body map[string]any)) any {
	t.Helper()
	text, err := json.Marshal(e)
	if err != nil {
		t.Fatal(err)
	}
	v := fromJSON(t, text)
	change(v.(map[string]any)["body"].(map[string]any))
	return v
}

// What the program takes and hands on fits what the description says of its kind, from the office or an older phone, and with a
// field of a newer one.
func TestBodiesFitTheDescription(t *testing.T) {
	s := described(t, "Entry")
	for _, e := range entriesOfEveryKind(t) {
		if err := s.Validate(with(t, e, func(map[string]any) {})); err != nil {
			t.Errorf("%s: %v\n%s", e.Kind, err, e.Body)
		}
		if err := s.Validate(with(t, e, func(b map[string]any) { b["later"] = "of a newer program" })); err != nil {
			t.Errorf("%s with a field of a newer program: %v", e.Kind, err)
		}
	}
	removed := thwart.Entry{ID: idB, Subject: idA, Supersedes: idA, Removed: true, Why: "twice", Kind: thwart.KindView, Origin: thwart.OriginOffice}
	text, err := json.Marshal(removed)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Validate(fromJSON(t, text)); err != nil {
		t.Errorf("a removal has no body: %v", err)
	}
}

// A body is described by its kind: under another kind it does not fit, and what is said to be required the program insists on.
func TestDescribedBodiesAreTold(t *testing.T) {
	s := described(t, "Entry")
	var doc struct {
		Components struct {
			Schemas map[string]struct {
				Required   []string
				Properties map[string]struct {
					Ref string `json:"$ref"`
				}
				Discriminator struct{ Mapping map[string]string }
			}
		}
	}
	if err := json.Unmarshal(newWorld(t, nil).api.OpenAPI(), &doc); err != nil {
		t.Fatal(err)
	}
	seen := map[thwart.Kind]bool{}
	required := 0
	for _, e := range entriesOfEveryKind(t) {
		part := doc.Components.Schemas["Entry"].Discriminator.Mapping[string(e.Kind)]
		body := doc.Components.Schemas[lastOf(doc.Components.Schemas[lastOf(part)].Properties["body"].Ref)]
		if len(body.Properties) == 0 {
			t.Fatalf("the body of a %s is not described", e.Kind)
		}
		if seen[e.Kind] {
			continue
		}
		seen[e.Kind] = true
		for _, name := range body.Required {
			required++
			without := e
			var fields map[string]json.RawMessage
			if err := json.Unmarshal(e.Body, &fields); err != nil {
				t.Fatal(err)
			}
			delete(fields, name)
			text, err := json.Marshal(fields)
			if err != nil {
				t.Fatal(err)
			}
			without.Body = text
			if _, err := without.Decode(); err == nil {
				t.Errorf("%s: %s is said to be required, and is not", e.Kind, name)
			}
			if s.Validate(with(t, e, func(b map[string]any) { delete(b, name) })) == nil {
				t.Errorf("%s without its %s fits", e.Kind, name)
			}
		}
		if e.Kind == thwart.KindWater {
			e.Kind = thwart.KindShift
			if s.Validate(with(t, e, func(map[string]any) {})) == nil {
				t.Error("the body of a water fits a shift")
			}
		}
	}
	if required < 2*len(thwart.Kinds) {
		t.Errorf("only %d fields are required", required)
	}
	for _, name := range []string{"Entry", "Kept", "Subject", "CreateInBody"} {
		kinds := doc.Components.Schemas[name].Discriminator.Mapping
		if len(kinds) != len(thwart.Kinds) || slices.ContainsFunc(thwart.Kinds, func(k thwart.Kind) bool { return kinds[string(k)] == "" }) {
			t.Errorf("%s tells %d kinds apart", name, len(kinds))
		}
	}
}

func lastOf(ref string) string { return ref[bytes.LastIndexByte([]byte(ref), '/')+1:] }
