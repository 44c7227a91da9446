package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"thwart"
	"thwart/internal/api"
)

// The columns of the access table. "revoked" is a steward's phone that was taken out of service.
var callers = []string{"nobody", "steward", "technician", "manager", "biologist", "auditor", "phone:steward", "phone:technician", "phone:manager", "revoked"}

// accessTable holds what every operation answers to every caller. {own} is an inspection that the steward made, {other} one
// that somebody else made, {trial} a planted object, {none} an id that does not exist. Requests are such that whoever is let
// in changes nothing that another row needs; 404 and 422 mean: let in, and then told that there is nothing to do.
var accessTable = []struct {
	op, method, path, body string
	want                   string
}{
	//                                                                        nob ste tec man bio aud pst pte pma rev
	{"get-setup", "GET", "/api/setup", "" /*                              */, "200 200 200 200 200 200 200 200 200 200"},
	{"setup", "POST", "/api/setup", `{"code":"x","name":"x","login":"xx","password":"x"}`, "409 409 409 409 409 409 409 409 409 409"},
	{"sign-in", "POST", "/api/sign-in", `{"login":5}` /*                  */, "422 422 422 422 422 422 422 422 422 422"},
	{"get-me", "GET", "/api/me", "" /*                                    */, "401 200 200 200 200 200 200 200 200 403"},
	{"change-password", "POST", "/api/password", `{"oldPassword":"` + password + `","newPassword":"x"}`, "401 422 422 422 422 422 403 403 403 403"},
	{"list-accounts", "GET", "/api/accounts", "" /*                       */, "401 403 403 200 403 403 403 403 403 403"},
	{"create-account", "POST", "/api/accounts", `{"person":"x","login":"zz","password":"x","role":"steward"}`, "401 403 403 422 403 403 403 403 403 403"},
	{"revoke-account", "POST", "/api/accounts/{none}/revoke", "" /*       */, "401 403 403 404 403 403 403 403 403 403"},
	{"revoke-person", "POST", "/api/people/{none}/revoke", "" /*          */, "401 403 403 422 403 403 403 403 403 403"},
	{"list-invites", "GET", "/api/invites", "" /*                         */, "401 403 403 200 403 403 403 403 403 403"},
	{"create-invite", "POST", "/api/invites", `{"person":"x","role":"steward"}`, "401 403 403 422 403 403 403 403 403 403"},
	{"enrol", "POST", "/api/enrol", `{"code":"x","name":"x","publicKey":""}`, "422 422 422 422 422 422 422 422 422 422"},
	{"renew-lease", "POST", "/api/lease", "" /*                           */, "401 403 403 403 403 403 200 200 200 403"},
	{"list-devices", "GET", "/api/devices", "" /*                         */, "401 403 403 200 403 403 403 403 403 403"},
	{"revoke-device", "POST", "/api/devices/{none}/revoke", "" /*         */, "401 403 403 404 403 403 403 403 403 403"},
	{"list-audit", "GET", "/api/audit", "" /*                             */, "401 403 403 200 403 200 403 403 403 403"},

	{"sync", "POST", "/api/sync", `{"entries":[]}` /*                     */, "401 403 403 403 403 403 200 200 200 403"},
	{"list-changes", "GET", "/api/changes", "" /*                         */, "401 200 200 200 200 200 200 200 200 403"},
	{"list-changes", "GET", "/api/changes?kinds=inspection", "" /*        */, "401 422 422 200 200 200 422 422 200 403"},
	{"list-changes", "GET", "/api/changes?kinds=trial", "" /*             */, "401 422 422 200 422 422 422 422 200 403"},

	{"list-encounters", "GET", "/api/encounters", "" /*                   */, "401 403 403 200 200 200 403 403 200 403"},
	{"list-encounters", "GET", "/api/encounters?withTests=true", "" /*    */, "401 403 403 200 403 403 403 403 200 403"},
	{"get-encounter", "GET", "/api/encounters/{own}", "" /*               */, "401 200 404 200 200 200 200 404 200 403"},
	{"get-encounter", "GET", "/api/encounters/{other}", "" /*             */, "401 404 404 200 200 200 404 404 200 403"},
	{"list-subjects", "GET", "/api/subjects?kind=shift", "" /*            */, "401 403 403 200 200 200 403 403 200 403"},
	{"list-subjects", "GET", "/api/subjects?kind=trial", "" /*            */, "401 403 403 200 422 422 403 403 200 403"},
	{"get-subject", "GET", "/api/subjects/{own}", "" /*                   */, "401 200 404 200 200 200 200 404 200 403"},
	{"get-subject", "GET", "/api/subjects/{other}", "" /*                 */, "401 404 404 200 200 200 404 404 200 403"},
	{"get-subject", "GET", "/api/subjects/{water}", "" /*                 */, "401 200 200 200 200 200 200 200 200 403"},
	{"get-subject", "GET", "/api/subjects/{trial}", "" /*                 */, "401 404 404 200 404 404 404 404 200 403"},
	{"get-subject", "GET", "/api/subjects/{none}", "" /*                  */, "401 404 404 404 404 404 404 404 404 403"},
	{"get-history", "GET", "/api/subjects/{own}/history", "" /*           */, "401 200 404 200 200 200 200 404 200 403"},
	{"get-history", "GET", "/api/subjects/{other}/history", "" /*         */, "401 404 404 200 200 200 404 404 200 403"},
	{"get-history", "GET", "/api/subjects/{trial}/history", "" /*         */, "401 404 404 200 404 404 404 404 200 403"},
	{"list-totals", "GET", "/api/totals?by=week", "" /*                   */, "401 403 403 200 200 200 403 403 200 403"},
	{"list-totals", "GET", "/api/totals?by=steward", "" /*                */, "401 403 403 200 403 403 403 403 200 403"},
	{"list-twins", "GET", "/api/twins", "" /*                             */, "401 403 403 200 403 403 403 403 403 403"},
	{"list-protocols", "GET", "/api/protocols", "" /*                     */, "401 200 200 200 200 200 200 200 200 403"},
	{"assess", "POST", "/api/assess", `{}` /*                             */, "401 422 422 422 422 422 422 422 422 403"},
	{"follow-events", "GET", "/api/events?after=-1", "" /*                */, "401 403 403 422 422 422 403 403 422 403"},

	{"create-subject", "POST", "/api/subjects", `{"kind":"water","body":{}}`, "401 403 403 422 403 403 403 403 403 403"},
	{"correct", "POST", "/api/subjects/{own}/corrections", `{"why":"x"}`, "401 403 403 428 403 403 403 403 403 403"},
	{"correct", "POST", "/api/subjects/{other}/corrections", `{"why":"x"}`, "401 403 403 428 403 403 403 403 403 403"},
	{"list-refusals", "GET", "/api/refusals", "" /*                       */, "401 200 200 200 403 403 200 200 200 403"},
	{"settle-refusal", "POST", "/api/refusals/{none}/settle", `{"how":"x"}`, "401 403 403 404 403 403 403 403 403 403"},
	// Last: it ends the sessions of the rows above.
	{"sign-out", "POST", "/api/sign-out", "" /*                           */, "401 204 204 204 204 204 403 403 403 403"},
}

func TestAccessTable(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	s := m.season()
	browsers := map[string]*browser{"nobody": w.browser(), "manager": m}
	for _, r := range []thwart.AccessRole{thwart.AccessSteward, thwart.AccessTechnician, thwart.AccessBiologist, thwart.AccessAuditor} {
		browsers[string(r)] = m.account(string(r)+"1", r)
	}
	phones := map[string]*phone{
		"phone:steward":    m.enrol(browsers["steward"].person, thwart.AccessSteward),
		"phone:technician": m.enrol(browsers["technician"].person, thwart.AccessTechnician),
		"phone:manager":    m.enrol(m.person, thwart.AccessManager),
		"revoked":          m.enrol(browsers["steward"].person, thwart.AccessSteward),
	}
	ids := map[string]string{"{none}": api.NewID(noon), "{water}": s.clear}
	for name, p := range map[string]*phone{"{own}": phones["phone:steward"], "{other}": m.enrol(m.addPerson("Wren", thwart.RoleSteward), thwart.AccessSteward)} {
		shift := p.shift(s.launch)
		e := p.entry(thwart.KindInspection, p.canoe(s, shift.Subject))
		p.sync(shift, e)
		ids[name] = e.Subject
	}
	boss := phones["phone:manager"]
	trial := boss.entry(thwart.KindTrial, thwart.Trial{Object: "T-1", Like: "small_felt", Place: "hull.keel", Steward: browsers["steward"].person,
		PlantedBy: m.person, PlantedAt: w.clock.Now()})
	boss.sync(trial)
	ids["{trial}"] = trial.Subject
	m.want(http.StatusOK, "POST", "/api/devices/"+phones["revoked"].id+"/revoke", nil)

	var doc struct {
		Paths map[string]map[string]struct {
			OperationID string `json:"operationId"`
		}
	}
	if err := json.Unmarshal(w.api.OpenAPI(), &doc); err != nil {
		t.Fatal(err)
	}
	described := map[string]string{}
	for path, methods := range doc.Paths {
		for method, op := range methods {
			described[op.OperationID] = strings.ToUpper(method) + " " + path
		}
	}

	for _, row := range accessTable {
		want := strings.Fields(row.want)
		if len(want) != len(callers) {
			t.Fatalf("%s: %d answers for %d callers", row.op, len(want), len(callers))
		}
		if !fits(described[row.op], row.method, row.path) {
			t.Errorf("%s is %s, the row has %s %s", row.op, described[row.op], row.method, row.path)
		}
		path := row.path
		for k, id := range ids {
			path = strings.ReplaceAll(path, k, id)
		}
		for i, caller := range callers {
			var a answer
			var err error
			if p := phones[caller]; p != nil {
				a, err = p.call(row.method, path, []byte(row.body))
			} else if row.body == "" {
				a = browsers[caller].do(row.method, path, nil)
			} else {
				a = browsers[caller].do(row.method, path, row.body)
			}
			if err != nil {
				t.Fatal(err)
			}
			if fmt.Sprint(a.status) != want[i] {
				t.Errorf("%s %s by %s: status %d, want %s: %.200s", row.method, row.path, caller, a.status, want[i], a.body)
			}
			if a.status >= 400 {
				problemOf(t, a)
			}
		}
	}
	for _, op := range w.api.Operations() {
		rows := 0
		for _, r := range accessTable {
			if r.op == op {
				rows++
			}
		}
		if rows == 0 {
			t.Errorf("%s has no row in the access table", op)
		}
		if described[op] == "" {
			t.Errorf("%s is not described", op)
		}
		if strings.HasPrefix(described[op], "GET") && strings.Contains(described[op], "{id}") && rows < 2 {
			t.Errorf("%s reads one record and needs a row for an own and for another's", op)
		}
	}
	if len(described) != len(w.api.Operations()) {
		t.Errorf("%d operations are described, %d are registered", len(described), len(w.api.Operations()))
	}
}

// fits reports whether a request is of an operation's path.
func fits(described, method, path string) bool {
	path, _, _ = strings.Cut(path, "?")
	parts := strings.Split(path, "/")
	for i, p := range parts {
		if strings.HasPrefix(p, "{") {
			parts[i] = "{id}"
		}
	}
	return described == method+" "+strings.Join(parts, "/")
}

// TestMethodSwaps calls every path with the methods that it does not have.
func TestMethodSwaps(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	var doc struct{ Paths map[string]map[string]any }
	if err := json.Unmarshal(w.api.OpenAPI(), &doc); err != nil {
		t.Fatal(err)
	}
	for path, methods := range doc.Paths {
		for _, method := range []string{"GET", "POST", "PUT", "PATCH", "DELETE"} {
			if _, ok := methods[strings.ToLower(method)]; ok {
				continue
			}
			a := m.do(method, strings.ReplaceAll(path, "{id}", api.NewID(noon)), nil)
			if a.status != http.StatusMethodNotAllowed {
				t.Errorf("%s %s: status %d", method, path, a.status)
				continue
			}
			problemOf(t, a)
			allow := strings.Split(a.header.Get("Allow"), ", ")
			if len(allow) != len(methods) || slices.Contains(allow, method) {
				t.Errorf("%s %s: Allow %v", method, path, allow)
			}
		}
	}
	for _, path := range []string{"/nowhere", "/api/nowhere", "/api/subjects/x/y/z"} {
		problemOf(t, m.want(http.StatusNotFound, "GET", path, nil))
	}
}
