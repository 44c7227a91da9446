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
	{"demo-invite", "POST", "/api/demo/invite", `{"role":"steward"}` /*   */, "404 404 404 404 404 404 404 404 404 404"},
	{"renew-lease", "POST", "/api/lease", "" /*                           */, "401 403 403 403 403 403 200 200 200 403"},
	{"list-devices", "GET", "/api/devices", "" /*                         */, "401 403 403 200 403 403 403 403 403 403"},
	{"revoke-device", "POST", "/api/devices/{none}/revoke", "" /*         */, "401 403 403 404 403 403 403 403 403 403"},
	{"list-audit", "GET", "/api/audit", "" /*                             */, "401 403 403 200 403 200 403 403 403 403"},

	{"sync", "POST", "/api/sync", `{"entries":[]}` /*                     */, "401 403 403 403 403 403 200 200 200 403"},
	{"list-changes", "GET", "/api/changes", "" /*                         */, "401 200 200 200 200 200 200 200 200 403"},
	{"list-changes", "GET", "/api/changes?kinds=inspection", "" /*        */, "401 422 422 200 200 200 422 422 200 403"},
	{"list-changes", "GET", "/api/changes?kinds=trial", "" /*             */, "401 422 422 200 422 422 422 422 200 403"},

	{"get-basemap", "GET", "/api/basemap", "" /*                          */, "401 200 200 200 200 200 403 403 403 403"},
	{"get-basemap-tiles", "GET", "/api/basemap/tiles", "" /*              */, "401 404 404 404 404 404 403 403 403 403"},

	{"list-encounters", "GET", "/api/encounters", "" /*                   */, "401 403 403 200 200 200 403 403 200 403"},
	{"list-encounters", "GET", "/api/encounters?withTests=true", "" /*    */, "401 403 403 200 403 403 403 403 200 403"},
	{"count-encounters", "GET", "/api/encounters/count", "" /*            */, "401 403 403 200 200 200 403 403 200 403"},
	{"count-encounters", "GET", "/api/encounters/count?withTests=true", "", "401 403 403 200 403 403 403 403 200 403"},
	{"list-receipts", "GET", "/api/encounters/receipts", "" /*            */, "401 403 403 200 200 200 403 403 200 403"},
	{"list-receipts", "GET", "/api/encounters/receipts?withTests=true", "", "401 403 403 200 403 403 403 403 200 403"},
	{"get-encounter", "GET", "/api/encounters/{own}", "" /*               */, "401 200 404 200 200 200 200 404 200 403"},
	{"get-encounter", "GET", "/api/encounters/{other}", "" /*             */, "401 404 404 200 200 200 404 404 200 403"},
	{"get-drawing", "GET", "/api/encounters/{own}/drawing", "" /*         */, "401 200 404 200 200 200 200 404 200 403"},
	{"get-drawing", "GET", "/api/encounters/{other}/drawing", "" /*       */, "401 404 404 200 200 200 404 404 200 403"},
	{"list-subjects", "GET", "/api/subjects?kind=shift", "" /*            */, "401 422 422 200 200 200 422 422 200 403"},
	{"list-subjects", "GET", "/api/subjects?kind=trial", "" /*            */, "401 422 422 200 422 422 422 422 200 403"},
	{"list-subjects", "GET", "/api/subjects?kind=water", "" /*            */, "401 200 200 200 200 200 200 200 200 403"},
	{"list-subjects", "GET", "/api/subjects?kind=drill", "" /*            */, "401 200 200 200 200 200 200 200 200 403"},
	{"list-subjects", "GET", "/api/subjects?kind=drill&parent={none}", "", "401 403 403 200 200 200 403 403 200 403"},
	{"list-subjects", "GET", "/api/subjects?kind=incident", "" /*         */, "401 422 422 200 200 200 422 422 200 403"},
	{"list-subjects", "GET", "/api/subjects?kind=plan", "" /*             */, "401 422 422 200 200 200 422 422 200 403"},
	{"get-subject", "GET", "/api/subjects/{certificate}", "" /*           */, "401 200 404 200 200 200 200 404 200 403"},
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
	{"get-morning", "GET", "/api/morning", "" /*                          */, "401 403 403 200 200 200 403 403 403 403"},
	{"get-traffic-flows", "GET", "/api/traffic/flows", "" /*               */, "401 403 403 422 422 422 403 403 403 403"},
	{"get-traffic-arrivals", "GET", "/api/traffic/arrivals", "" /*         */, "401 403 403 422 422 422 403 403 403 403"},
	{"get-traffic-risk", "GET", "/api/traffic/risk", "" /*                 */, "401 403 403 422 422 422 403 403 403 403"},
	{"get-traffic-card", "GET", "/api/traffic/card", "" /*                 */, "401 403 403 422 422 422 403 403 403 403"},
	{"get-traffic-declaration", "GET", "/api/traffic/declaration?water=x&organism=y", "" /* */, "401 403 403 422 422 422 403 403 403 403"},
	{"what-if", "POST", "/api/what-if", `{}` /*                           */, "401 403 403 422 422 422 403 403 403 403"},
	{"get-waits", "GET", "/api/waits", "" /*                              */, "401 403 403 422 422 422 403 403 403 403"},
	{"get-spread", "GET", "/api/spread?organism=none", "" /*              */, "401 403 403 422 422 422 403 403 403 403"},
	{"get-watch", "GET", "/api/watch?organism=none", "" /*                */, "401 403 403 422 422 422 403 403 403 403"},
	{"start-plan", "POST", "/api/plan", `{"money":-1}` /*                 */, "401 403 403 201 201 201 403 403 403 403"},
	{"get-plan", "GET", "/api/plan/{none}", "" /*                         */, "401 403 403 404 404 404 403 403 403 403"},
	{"get-plan", "GET", "/api/plan/{job}", "" /*                          */, "401 403 403 404 404 404 403 403 403 403"},
	{"start-roster", "POST", "/api/roster", `{"from":"never"}` /*         */, "401 403 403 422 403 403 403 403 403 403"},
	{"get-roster", "GET", "/api/roster/{none}", "" /*                     */, "401 403 403 404 403 403 403 403 403 403"},
	{"get-roster", "GET", "/api/roster/{job}", "" /*                      */, "401 403 403 404 403 403 403 403 403 403"},
	{"get-roster-place", "GET", "/api/roster/{none}/place?launch=x&day=x&from=6", "", "401 403 403 404 403 403 403 403 403 403"},
	{"get-roster-place", "GET", "/api/roster/{job}/place?launch=x&day=x&from=6", "", "401 403 403 404 403 403 403 403 403 403"},
	{"change-roster", "POST", "/api/roster/{none}/changes", `{}` /*       */, "401 403 403 422 403 403 403 403 403 403"},
	{"get-roster-calendar", "GET", "/api/roster/{none}/calendar", "" /*   */, "401 403 403 404 403 403 403 403 403 403"},
	{"get-roster-calendar", "GET", "/api/roster/{job}/calendar", "" /*    */, "401 403 403 404 403 403 403 403 403 403"},
	{"list-twins", "GET", "/api/twins?of={none}", "" /*                   */, "401 403 403 404 403 403 403 403 403 403"},
	{"list-twins", "GET", "/api/twins", "" /*                             */, "401 403 403 200 403 403 403 403 403 403"},
	{"list-protocols", "GET", "/api/protocols", "" /*                     */, "401 200 200 200 200 200 200 200 200 403"},
	{"get-protocol", "GET", "/api/protocols/{protocol}", "" /*              */, "401 200 200 200 200 200 200 200 200 403"},
	{"get-protocol", "GET", "/api/protocols/{none}", "" /*                  */, "401 404 404 404 404 404 404 404 404 403"},
	{"assess", "POST", "/api/assess", `{}` /*                             */, "401 422 422 422 422 422 422 422 422 403"},
	{"follow-events", "GET", "/api/events?after=-1", "" /*                */, "401 403 403 422 422 422 403 403 422 403"},

	{"get-skill", "GET", "/api/skill", "" /*                              */, "401 200 200 200 200 200 200 200 200 403"},
	{"list-standings", "GET", "/api/standings", "" /*                     */, "401 200 200 200 200 200 200 200 200 403"},
	{"list-debriefs", "GET", "/api/debriefs", "" /*                       */, "401 200 200 200 200 200 200 200 200 403"},
	{"list-open-trials", "GET", "/api/trials/open", "" /*                 */, "401 403 403 200 403 403 403 403 403 403"},
	{"plant-trial", "POST", "/api/trials", `{"object":"T","like":"x","place":"p","steward":"x"}`, "401 403 403 422 403 403 403 403 403 403"},
	{"close-trial", "POST", "/api/trials/{none}/close", `{"retrievedAt":"2026-07-04T12:00:00Z"}`, "401 403 403 404 403 403 403 403 403 403"},
	{"make-drill", "POST", "/api/drills", `{"difficulty":9}` /*           */, "401 422 422 422 422 422 422 422 422 403"},
	{"look-at-drill", "POST", "/api/drills/look", `{}` /*                 */, "401 422 422 422 422 422 422 422 422 403"},
	{"score-drill", "POST", "/api/drills/score", `{}` /*                  */, "401 422 422 422 422 422 422 422 422 403"},
	{"get-own-practice", "GET", "/api/practice", "" /*                    */, "401 200 200 200 200 200 200 200 200 403"},
	{"get-handbook", "GET", "/api/handbook?class=runabout", "" /*         */, "401 200 200 200 200 200 200 200 200 403"},
	{"get-handbook", "GET", "/api/handbook?class=none", "" /*             */, "401 422 422 422 422 422 422 422 422 403"},
	{"list-craft", "GET", "/api/craft", "" /*                              */, "401 200 200 200 200 200 200 200 200 403"},
	{"list-places", "GET", "/api/craft/{class}/places", "" /*              */, "401 200 200 200 200 200 200 200 200 403"},
	{"list-organisms", "GET", "/api/organisms", "" /*                      */, "401 200 200 200 200 200 200 200 200 403"},
	{"ask-quiz", "POST", "/api/quizzes", `{"count":0}` /*                 */, "401 422 422 422 422 422 422 422 422 403"},
	{"mark-quiz", "POST", "/api/quizzes/mark", `{}` /*                    */, "401 422 422 422 422 422 422 422 422 403"},

	{"create-subject", "POST", "/api/subjects", `{"kind":"water","body":{}}`, "401 403 403 422 403 403 403 403 403 403"},
	{"correct", "POST", "/api/subjects/{own}/corrections", `{"why":"x"}`, "401 403 403 428 403 403 403 403 403 403"},
	{"correct", "POST", "/api/subjects/{other}/corrections", `{"why":"x"}`, "401 403 403 428 403 403 403 403 403 403"},
	{"correct-many", "POST", "/api/corrections", `{"why":"x","changes":[]}`, "401 403 403 422 403 403 403 403 403 403"},
	{"list-acts", "GET", "/api/corrections", "" /*                        */, "401 403 403 200 403 403 403 403 403 403"},
	{"reopen", "POST", "/api/subjects/{own}/reopenings", `{"why":"x"}` /*  */, "401 403 403 428 403 403 403 403 403 403"},
	{"undo-act", "POST", "/api/corrections/{none}/undo", `{"why":"x"}` /* */, "401 403 403 404 403 403 403 403 403 403"},
	{"list-refusals", "GET", "/api/refusals", "" /*                       */, "401 200 200 200 403 403 200 200 200 403"},
	{"settle-refusal", "POST", "/api/refusals/{none}/settle", `{"how":"x"}`, "401 403 403 404 403 403 403 403 403 403"},
	{"get-season", "GET", "/api/season", "" /*                             */, "401 403 403 200 200 200 403 403 403 403"},
	{"list-doubts", "GET", "/api/season/doubts", "" /*                    */, "401 403 403 200 200 200 403 403 403 403"},
	{"list-figure-records", "GET", "/api/season/records?figure=found", "" /* */, "401 403 403 200 200 200 403 403 403 403"},
	{"get-report", "GET", "/api/reports/{none}", "" /*                     */, "401 403 403 404 404 404 403 403 403 403"},
	{"get-report", "GET", "/api/reports/{job}", "" /*                      */, "401 403 403 404 404 404 403 403 403 403"},
	{"publish-open-data", "GET", "/api/open-data?form=geojson", "" /*     */, "401 403 403 422 422 403 403 403 403 403"},
	{"send-picture", "POST", "/api/pictures", "{}" /*                     */, "401 422 422 422 403 403 422 422 422 403"},
	{"get-picture", "GET", "/api/pictures/{picture}", "" /*               */, "401 404 404 200 200 200 200 404 200 403"},
	{"get-picture", "GET", "/api/pictures/{none}", "" /*                  */, "401 404 404 404 404 404 404 404 404 403"},
	{"export", "GET", "/api/export/nothing", "" /*                        */, "401 403 403 422 422 403 403 403 403 403"},
	{"export", "GET", "/api/export/waters", "" /*                         */, "401 403 403 200 200 403 403 403 403 403"},
	{"export", "GET", "/api/export/archive", "" /*                        */, "401 403 403 200 403 403 403 403 403 403"},
	{"read-headings", "POST", "/api/import/headings", `{}` /*             */, "401 403 403 422 403 403 403 403 403 403"},
	{"guess-mapping", "POST", "/api/import/mapping", `{}` /*              */, "401 403 403 422 403 403 403 403 403 403"},
	{"preview-import", "POST", "/api/import/preview", `{}` /*             */, "401 403 403 422 403 403 403 403 403 403"},
	{"import-table", "POST", "/api/import", `{}` /*                       */, "401 403 403 422 403 403 403 403 403 403"},
	{"list-purges", "GET", "/api/purges", "" /*                           */, "401 403 403 200 403 200 403 403 403 403"},
	{"preview-purge", "POST", "/api/purges/preview", `{}` /*              */, "401 403 403 422 403 403 403 403 403 403"},
	{"purge", "POST", "/api/purges", `{"confirm":"x"}` /*                 */, "401 403 403 422 403 403 403 403 403 403"},
	{"get-mark-key", "GET", "/api/mark-key", "" /*                        */, "401 403 403 403 403 403 200 200 200 403"},
	{"list-known-craft", "GET", "/api/known-craft", "" /*                 */, "401 403 403 403 403 403 200 200 200 403"},
	{"rotate-receipt-key", "POST", "/api/receipt-key/rotate", `{"confirm":"x"}`, "401 403 403 503 403 403 403 403 403 403"},
	{"mark", "POST", "/api/marks", `{"registration":"--"}` /*             */, "401 403 403 422 403 403 403 403 403 403"},
	{"print-sheets", "POST", "/api/sheets", `{"form":"B","protocol":"none"}`, "401 403 403 404 403 403 403 403 403 403"},
	{"print-sheets", "POST", "/api/sheets", `{"form":"B","protocol":"none","specimen":true}`, "401 404 404 404 404 404 403 403 403 403"},
	{"list-job-kinds", "GET", "/api/job-kinds", "" /*                     */, "401 403 403 200 200 200 403 403 403 403"},
	{"start-job", "POST", "/api/jobs", `{"kind":"nothing"}` /*            */, "401 403 403 422 422 422 403 403 403 403"},
	{"list-jobs", "GET", "/api/jobs", "" /*                               */, "401 403 403 200 200 200 403 403 403 403"},
	{"get-job", "GET", "/api/jobs/{none}", "" /*                          */, "401 403 403 404 404 404 403 403 403 403"},
	{"get-job", "GET", "/api/jobs/{job}", "" /*                           */, "401 403 403 200 404 404 403 403 403 403"},
	{"cancel-job", "POST", "/api/jobs/{none}/cancel", "" /*               */, "401 403 403 404 404 404 403 403 403 403"},
	{"cancel-job", "POST", "/api/jobs/{job}/cancel", "" /*                */, "401 403 403 200 404 404 403 403 403 403"},
	// Last: it ends the sessions of the rows above.
	{"sign-out", "POST", "/api/sign-out", "" /*                           */, "401 204 204 204 204 204 403 403 403 403"},
}

func TestAccessTable(t *testing.T) {
	w := newWorld(t, withWork)
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
	ids := map[string]string{"{none}": api.NewID(noon), "{class}": "runabout", "{water}": s.clear, "{protocol}": "own-rules@1"}
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
	var picture api.PictureKept
	phones["phone:steward"].picture(t, onePixel).into(t, &picture)
	ids["{picture}"] = picture.SHA256
	var kept thwart.Subject
	m.want(http.StatusCreated, "POST", "/api/subjects", map[string]any{"kind": thwart.KindCertificate, "body": thwart.Certified{
		Person: browsers["steward"].person, Curriculum: api.NewID(noon),
		Certificate: thwart.Certificate{For: "inspect", From: noon, Expires: noon.AddDate(1, 0, 0), By: "M. Alder"}}}).into(t, &kept)
	ids["{certificate}"] = kept.ID
	m.want(http.StatusOK, "POST", "/api/devices/"+phones["revoked"].id+"/revoke", nil)
	var job thwart.Job
	m.want(http.StatusCreated, "POST", "/api/jobs", map[string]any{"kind": "managers", "input": map[string]any{}}).into(t, &job)
	ids["{job}"] = job.ID

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
	path, _, _ = strings.Cut(method+" "+path, "?")
	parts, want := strings.Split(path, "/"), strings.Split(described, "/")
	return slices.EqualFunc(parts, want, func(p, d string) bool { return p == d || d == "{id}" })
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
