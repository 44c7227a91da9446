package thwart_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"thwart"
)

func of[T any](x T) *T { return &x }

// soundBodies holds one full body of each kind that the office or training makes.
func soundBodies() map[thwart.Kind]thwart.Body {
	later := noon.Add(time.Hour)
	return map[thwart.Kind]thwart.Body{
		thwart.KindProgramme: &thwart.Programme{
			Name: "Withy Lakes", Zone: "America/Chicago", Letterhead: []string{"Boat house"}, Units: "us", Languages: []string{"en", "es-MX"},
			Licence: "CC-BY-4.0", Citation: "Withy Lakes, season 2026", Contacts: []thwart.Contact{{Role: "agency", Words: "office hours", Phone: "+1 555 0100"}},
			Costs: thwart.Costs{Currency: "USD", PerStewardHour: 24, PerWash: 30}, Retention: thwart.Retention{MarkDays: 730, PhotoDays: 90},
			Protocol: "demo@1", SeasonFrom: "2026-05-01", SeasonTo: "2026-09-30",
		},
		thwart.KindReceipt: &thwart.Receipt{
			Encounter: id1, Wash: id2, IssuedAt: noon, Device: id3, KeyID: "d1", Code: "THW1:AAAA", Outcome: thwart.Launch, Seal: "0042", ExpiresAt: &later,
		},
		thwart.KindPairing:   &thwart.Pairing{A: id1, B: id2, Decision: thwart.PairSame, Why: "both remember it"},
		thwart.KindReopening: &thwart.Reopening{Record: id1, Entry: id2, Why: "the steward says otherwise"},
		thwart.KindSecondLook: &thwart.SecondLook{
			Encounter: id1, Other: id2, Person: id3, At: noon, Places: []thwart.SecondPlace{{Place: "hull.keel", Found: thwart.Yes, Like: "small_felt"}}, Blind: thwart.Yes,
		},
		thwart.KindDrill: &thwart.Drill{
			Person: id1, Seed: 7, Difficulty: "usual", Setup: "runabout", StartedAt: noon, EndedAt: later,
			Places:       []thwart.DrillPlace{{Place: "hull.keel", Object: true, Like: "small_felt", Answered: thwart.Yes, Seconds: 4}},
			VerdictGiven: thwart.Wash, VerdictRight: thwart.Wash, QuestionsAsked: 5, QuestionsRight: 4, Score: 88,
			Topics: []thwart.TopicAsked{{Topic: "verdict", Asked: 3, Right: 2}, {Topic: "drained", Asked: 2, Right: 2}},
		},
		thwart.KindCurriculum: &thwart.Curriculum{Name: "Inspector", For: "inspect", Months: 12, Parts: []thwart.CurriculumPart{
			{Name: "rules", What: thwart.PartReading, Pages: []string{"rules"}}, {Name: "drills", What: thwart.PartDrills, Drills: 10, Score: 80},
			{Name: "boats", What: thwart.PartObserved, Boats: 5, Months: 24},
		}},
		thwart.KindCertificate: &thwart.Certified{Person: id1, Curriculum: id2, Part: "drills",
			Certificate: thwart.Certificate{For: "inspect", From: noon, Expires: later, By: "M. Alder"}, Evidence: []string{id3}},
		thwart.KindPlan: &thwart.Plan{Name: "Busy weekends", Season: "2026", Constraints: json.RawMessage(`{"hours":400}`),
			Result: json.RawMessage(`{"launches":3}`), Value: of(9.0), Bound: of(10.0), Gap: of(0.1), Chosen: true},
		thwart.KindPlannedShift: &thwart.PlannedShift{Launch: id1, From: noon, To: later, People: []string{id2}, Plan: id3},
		thwart.KindAvailability: &thwart.Availability{Person: id1, From: "2026-05-01", To: "2026-09-30", Days: []string{"sat", "sun"}, MaxHours: 16},
		thwart.KindIncident: &thwart.Incident{What: "live mussels on an axle", Encounter: id1, Water: id2, OpenedAt: noon, State: thwart.IncidentClosed,
			ClosedAt: &later, Notes: []thwart.IncidentNote{{At: noon, By: id3, Text: "craft held"}}, Called: []thwart.Call{{At: noon, Role: "agency", Phone: "555 0100"}}},
		thwart.KindView: &thwart.View{Page: "encounters", Name: "Held this week", Filter: "outcome=hold"},
		thwart.KindKey: &thwart.Key{Use: thwart.KeyDevice, KeyID: "d1", Public: make([]byte, 32), Signer: "p1", Signature: make([]byte, 64), Device: id1,
			From: noon, Until: &later},
	}
}

// A full body of each kind is taken and comes back the same.
func TestOfficeBodiesRoundTrip(t *testing.T) {
	for kind, body := range soundBodies() {
		b, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		e := thwart.Entry{ID: id1, Subject: id1, Kind: kind, MadeAt: noon, Origin: thwart.OriginOffice, Body: b}
		if err := e.Validate(); err != nil {
			t.Errorf("%s: %v", kind, err)
		}
		back, err := e.Decode()
		if err != nil {
			t.Errorf("%s: %v", kind, err)
		} else if !reflect.DeepEqual(back, body) {
			t.Errorf("%s comes back as %+v", kind, back)
		}
	}
}

// Every refusal names its field.
func TestOfficeRefusals(t *testing.T) {
	for _, c := range []struct {
		kind           thwart.Kind
		from, to, want string
	}{
		{thwart.KindProgramme, `"America/Chicago"`, `"half past nine"`, "zone"},
		{thwart.KindProgramme, `"units":"us"`, `"units":"cubits"`, "units"},
		{thwart.KindProgramme, `"es-MX"`, `"Spanish please"`, "languages[1]"},
		{thwart.KindProgramme, `"+1 555 0100"`, `"call Ann"`, "contacts[0].phone"},
		{thwart.KindProgramme, `"perWash":30`, `"perWash":-30`, "costs.perWash"},
		{thwart.KindProgramme, `"markDays":730`, `"markDays":-1`, "retention.markDays"},
		{thwart.KindProgramme, `"2026-09-30"`, `"2026-04-30"`, "seasonTo"},
		{thwart.KindReceipt, `"encounter":"` + id1, `"encounter":"x`, "encounter"},
		{thwart.KindReceipt, `"code":"THW1:AAAA"`, `"code":""`, "code"},
		{thwart.KindReceipt, `"outcome":"launch"`, `"outcome":"fine"`, "outcome"},
		{thwart.KindReceipt, `"expiresAt":"2026-07-04T13`, `"expiresAt":"2026-07-04T11`, "expiresAt"},
		{thwart.KindPairing, id2, id1, "b"},
		{thwart.KindPairing, `"same"`, `"perhaps"`, "decision"},
		{thwart.KindReopening, `"entry":"` + id2, `"entry":"the last`, "entry"},
		{thwart.KindReopening, `"why":"the steward says otherwise"`, `"why":""`, "why"},
		{thwart.KindSecondLook, `"found":"yes"`, `"found":"maybe"`, "places[0].found"},
		{thwart.KindSecondLook, `"other":"` + id2, `"other":"` + id1, "other"},
		{thwart.KindDrill, `"score":88`, `"score":188`, "score"},
		{thwart.KindDrill, `"questionsRight":4`, `"questionsRight":6`, "questionsRight"},
		{thwart.KindDrill, `"topic":"drained","asked":2`, `"topic":"verdict","asked":2`, "topics[1].topic"},
		{thwart.KindDrill, `"topic":"drained","asked":2`, `"topic":"drained","asked":3`, "topics"},
		{thwart.KindDrill, `"seed":7`, `"seed":-7`, "seed"},
		{thwart.KindDrill, `"like":"small_felt"`, `"like":""`, "places[0].like"},
		{thwart.KindCurriculum, `"name":"boats"`, `"name":"drills"`, "parts[2].name"},
		{thwart.KindCurriculum, `"boats":5`, `"boats":0`, "parts[2].boats"},
		{thwart.KindCurriculum, `"months":12`, `"months":0`, "months"},
		{thwart.KindCertificate, `"expires":"2026-07-04T13`, `"expires":"2026-07-04T11`, "expires"},
		{thwart.KindCertificate, `"for":"inspect"`, `"for":"sail"`, "for"},
		{thwart.KindPlan, `{"hours":400}`, `[400]`, "constraints"},
		{thwart.KindPlan, `"bound":10`, `"bound":8`, "bound"},
		{thwart.KindPlannedShift, `"to":"2026-07-04T13`, `"to":"2026-07-06T13`, "to"},
		{thwart.KindPlannedShift, id2, "somebody", "people[0]"},
		{thwart.KindAvailability, `"sun"`, `"noon"`, "days[1]"},
		{thwart.KindAvailability, `"2026-09-30"`, `"next fall"`, "to"},
		{thwart.KindIncident, `"state":"closed"`, `"state":"open"`, "closedAt"},
		{thwart.KindIncident, `"text":"craft held"`, `"text":""`, "notes[0].text"},
		{thwart.KindView, `"page":"encounters"`, `"page":""`, "page"},
		{thwart.KindKey, `"signer":"p1"`, `"signer":""`, "signer"},
		{thwart.KindKey, `"public":"AAAA`, `"public":"`, "public"},
		{thwart.KindKey, `"use":"device"`, `"use":"revoked_receipt"`, "receipt"},
	} {
		b, err := json.Marshal(soundBodies()[c.kind])
		if err != nil {
			t.Fatal(err)
		}
		broken := strings.Replace(string(b), c.from, c.to, 1)
		if broken == string(b) {
			t.Fatalf("%s is not in %s", c.from, b)
		}
		_, err = thwart.Entry{Kind: c.kind, Body: json.RawMessage(broken)}.Decode()
		var fields thwart.FieldErrors
		if !errors.As(err, &fields) || fields[0].Field != c.want {
			t.Errorf("%s, %s for %s: %v; want a refusal of %s", c.kind, c.to, c.from, err, c.want)
		}
	}
}

// Every kind has a body, every kind that the office makes is tried above, and what is secret stays off phones.
func TestKinds(t *testing.T) {
	sound := soundBodies()
	seen := map[string]thwart.Kind{}
	for _, k := range thwart.Kinds {
		b := thwart.NewBody(k)
		if b == nil {
			t.Fatalf("%s has no body", k)
		}
		if other, ok := seen[fmt.Sprintf("%T", b)]; ok {
			t.Errorf("%s and %s share a body", k, other)
		}
		seen[fmt.Sprintf("%T", b)] = k
		if s, ok := sound[k]; ok && reflect.TypeOf(s) != reflect.TypeOf(b) {
			t.Errorf("%s: %T and %T", k, s, b)
		}
	}
	if thwart.NewBody("rumour") != nil {
		t.Error("a kind that does not exist has a body")
	}
	for _, k := range []thwart.Kind{thwart.KindTrial, thwart.KindPlan, thwart.KindCertificate, thwart.KindIncident, thwart.KindAvailability,
		thwart.KindDrill, thwart.KindSecondLook, thwart.KindView, thwart.KindPairing, thwart.KindReopening} {
		if k.Reference() {
			t.Errorf("%s is pulled by phones", k)
		}
	}
}
