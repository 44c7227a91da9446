package api_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"net/http"
	"reflect"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/exchange"
)

func TestExport(t *testing.T) {
	w, m, s, p := field(t, nil)
	bio := m.account("bio", thwart.AccessBiologist)
	shift := p.shift(s.launch)
	plain := p.entry(thwart.KindInspection, p.canoe(s, shift.Subject))
	p.sync(shift, plain)
	boss := m.enrol(m.person, thwart.AccessManager)
	planted := boss.canoe(s, shift.Subject)
	planted.Test = true
	boss.sync(boss.entry(thwart.KindInspection, planted))

	rows := func(b *browser) int {
		a := b.want(http.StatusOK, "GET", "/api/export/inspections?edition=spreadsheet", nil)
		if d := a.header.Get("Content-Disposition"); d != `attachment; filename="inspections.csv"` || a.header.Get("Content-Type") != "text/csv; charset=utf-8" {
			t.Errorf("%v", a.header)
		}
		all, err := csv.NewReader(bytes.NewReader(a.body)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		return len(all) - 1
	}
	if n := rows(m); n != 2 {
		t.Errorf("%d rows for the manager", n)
	}
	if n := rows(bio); n != 1 {
		t.Errorf("%d rows for somebody who may not see planted craft", n)
	}
	a := m.want(http.StatusOK, "GET", "/api/export/archive", nil)
	z, err := zip.NewReader(bytes.NewReader(a.body), int64(len(a.body)))
	if err != nil || len(z.File) < 3 {
		t.Fatal(err)
	}
	if _, err := exchange.ReadArchive(t.Context(), bytes.NewReader(a.body), int64(len(a.body)), nil, nil); err != nil {
		t.Error(err)
	}
	var audit thwart.Page[thwart.Audit]
	m.want(http.StatusOK, "GET", "/api/audit", nil).into(t, &audit)
	n := 0
	for _, l := range audit.Items {
		if l.What == "export" {
			n++
		}
	}
	if n != 3 {
		t.Errorf("%d exports in the trail", n)
	}
	// A store that fails in the middle leaves a download that is seen to be cut off.
	_ = w.store.Close()
	res, err := m.http.Get(w.srv.URL + "/api/export/inspections")
	if err == nil {
		var b bytes.Buffer
		_, err = b.ReadFrom(res.Body)
		_ = res.Body.Close()
		if res.StatusCode == http.StatusOK && err == nil {
			t.Errorf("a download that failed looks whole: %q", b.String())
		}
	}
}

func TestPurgeOverHTTP(t *testing.T) {
	w, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	e := p.canoe(s, shift.Subject)
	e.Inspection.Note = "spoke to the owner"
	e.Mark = &thwart.Mark{Hash: strings.Repeat("0a", 16)}
	p.sync(shift, p.entry(thwart.KindInspection, e))
	w.clock.add(10 * time.Minute)
	ask := obj{"notesBefore": w.clock.Now(), "marksBefore": w.clock.Now()}
	var would api.PurgePreview
	m.want(http.StatusOK, "POST", "/api/purges/preview", ask).into(t, &would)
	if would.Report.Removed["note"] != 1 || would.Report.Removed["mark"] != 1 || !would.Report.DryRun || would.Confirm == "" {
		t.Errorf("%+v", would)
	}
	ask["confirm"] = would.Confirm + "x"
	m.want(http.StatusConflict, "POST", "/api/purges", ask)
	// Something else would go by now: the old word does not do any more.
	p.sync(p.entry(thwart.KindInspection, func() thwart.Encounter { e := e; e.Inspection.StartedAt = noon; return e }()))
	ask["confirm"] = would.Confirm
	m.want(http.StatusConflict, "POST", "/api/purges", ask)
	m.want(http.StatusOK, "POST", "/api/purges/preview", obj{"notesBefore": ask["notesBefore"], "marksBefore": ask["marksBefore"]}).into(t, &would)
	ask["confirm"] = would.Confirm
	var done thwart.PurgeReport
	m.want(http.StatusCreated, "POST", "/api/purges", ask).into(t, &done)
	if done.Removed["note"] != 2 || done.DryRun || done.By != m.person {
		t.Errorf("%+v", done)
	}
	var all struct{ Items []thwart.PurgeReport }
	m.want(http.StatusOK, "GET", "/api/purges", nil).into(t, &all)
	if len(all.Items) != 1 || all.Items[0].Removed["mark"] != 2 {
		t.Errorf("%+v", all)
	}
	// By the programme's own days, which go alone.
	pr := problemOf(t, m.want(http.StatusUnprocessableEntity, "POST", "/api/purges/preview", obj{"retention": true}))
	if !hasField(pr, "body.retention") {
		t.Errorf("no days told: %+v", pr)
	}
	m.create(thwart.KindProgramme, thwart.Programme{Name: "Ours", Zone: "UTC", Retention: thwart.Retention{TrialDays: 30}})
	boss := m.enrol(m.person, thwart.AccessManager)
	back := noon.Add(time.Hour)
	trial := thwart.Trial{Object: "T-1", Like: "small_felt", Place: "hull.keel", Steward: p.person, PlantedBy: m.person, PlantedAt: noon, Found: thwart.Yes, RetrievedAt: &back}
	sent := boss.entry(thwart.KindTrial, trial)
	boss.sync(sent)
	w.clock.add(32 * 24 * time.Hour)
	m.want(http.StatusOK, "POST", "/api/sign-in", obj{"login": "marit", "password": password})
	byRule, would := obj{"retention": true}, api.PurgePreview{}
	m.want(http.StatusOK, "POST", "/api/purges/preview", byRule).into(t, &would)
	if !reflect.DeepEqual(would.Report.Removed, map[string]int{"trial": 1}) {
		t.Errorf("%+v", would.Report)
	}
	byRule["confirm"] = would.Confirm
	m.want(http.StatusCreated, "POST", "/api/purges", byRule).into(t, &done)
	var left thwart.Subject
	m.want(http.StatusOK, "GET", "/api/subjects/"+sent.Subject, nil).into(t, &left)
	if strings.Contains(string(left.Body), p.person) || strings.Contains(string(left.Body), m.person) || left.Person != "" || left.Device != "" ||
		!strings.Contains(string(left.Body), "small_felt") {
		t.Errorf("left of the trial: %+v", left)
	}
	if pr := problemOf(t, m.want(http.StatusUnprocessableEntity, "POST", "/api/purges/preview", obj{"retention": true, "notesBefore": noon})); !hasField(pr, "body.retention") {
		t.Errorf("both: %+v", pr)
	}
	pr = problemOf(t, m.want(http.StatusUnprocessableEntity, "POST", "/api/purges/preview", obj{"notesBefore": w.clock.Now().Add(time.Hour)}))
	if !hasField(pr, "body.notesBefore") {
		t.Errorf("%+v", pr)
	}
}
