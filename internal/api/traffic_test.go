package api_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
	"thwart/season/flows"
)

// withDemo fills the store with a short demo season.
func withDemo(t *testing.T, w *world) *demo.World {
	t.Helper()
	d, kept := demotest.Season(demo.Options{Seed: 1, Scale: 0.02})
	if err := demotest.Fill(t.Context(), w.store, kept); err != nil {
		t.Fatal(err)
	}
	return d
}

func TestTraffic(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	// Without records every question is answered in words.
	for _, path := range []string{"/api/traffic/arrivals", "/api/traffic/flows", "/api/traffic/risk", "/api/traffic/card"} {
		a := m.want(http.StatusUnprocessableEntity, "GET", path, nil)
		if !strings.Contains(string(a.body), "hours") {
			t.Errorf("%s: %s", path, a.body)
		}
	}
	d := withDemo(t, w)
	w.clock.add(time.Minute)
	var f flows.FlowsReport
	m.want(http.StatusOK, "GET", "/api/traffic/flows?top=7", nil).into(t, &f)
	if len(f.Pairs) != 7 || len(f.Waters) != 42 || f.Total < 1000 || f.From.String() != "2026-05-01" {
		t.Errorf("%d pairs, %d waters, %g passages from %v", len(f.Pairs), len(f.Waters), f.Total, f.From)
	}
	var a flows.ArrivalsReport
	m.want(http.StatusOK, "GET", "/api/traffic/arrivals", nil).into(t, &a)
	if len(a.Launches) != 50 || len(a.Days) < 100 {
		t.Errorf("%d launches, %d days", len(a.Launches), len(a.Days))
	}
	var r flows.RiskFlows
	m.want(http.StatusOK, "GET", "/api/traffic/risk?organism=eurasian_watermilfoil&top=3", nil).into(t, &r)
	if len(r.Organisms) != 1 || len(r.Organisms[0].Pairs) != 3 || len(r.Organisms[0].Sources) == 0 {
		t.Errorf("%+v", r)
	}
	var c flows.ModelCard
	m.want(http.StatusOK, "GET", "/api/traffic/card", nil).into(t, &c)
	if len(c.Coefficients) < 4 || len(c.CannotSay) == 0 || c.Cursor == 0 || c.Weather.Known == 0 || len(c.Weather.Said) == 0 {
		t.Errorf("%+v", c)
	}
	var e flows.DeclarationEffect
	m.want(http.StatusOK, "GET", "/api/traffic/declaration?organism=zebra_mussel&water="+d.Waters[20].ID, nil).into(t, &e)
	if e.Water.ID != d.Waters[20].ID {
		t.Errorf("%+v", e)
	}
	if got := m.want(http.StatusUnprocessableEntity, "GET", "/api/traffic/declaration?organism=kraken&water="+d.Waters[20].ID, nil); !hasField(problemOf(t, got), "organism") {
		t.Errorf("%s", got.body)
	}
	m.want(http.StatusUnprocessableEntity, "GET", "/api/traffic/risk?organism=kraken", nil)
	m.want(http.StatusUnprocessableEntity, "GET", "/api/traffic/flows?detour=9", nil)
	steward := m.account("st", thwart.AccessSteward)
	steward.want(http.StatusForbidden, "GET", "/api/traffic/flows", nil)
}

func TestBootstrapJob(t *testing.T) {
	w := newWorld(t, nil)
	do := api.BootstrapJob(api.NewLiveBook(w.store, nil).Current)
	quiet := func(float64, string) {}
	if _, err := do(t.Context(), []byte(`{"replicates": 3}`), quiet); err == nil || !strings.Contains(err.Error(), "replicates") {
		t.Errorf("three replicates: %v", err)
	}
	if _, err := do(t.Context(), nil, quiet); err == nil || !strings.Contains(err.Error(), "hours") {
		t.Errorf("no records: %v", err)
	}
	withDemo(t, w)
	told := 0.0
	out, err := do(t.Context(), []byte(`{"replicates": 25, "seed": 3}`), func(f float64, _ string) { told = f })
	if err != nil || told != 1 || !strings.Contains(string(out), `"bootstrapSe"`) {
		t.Errorf("%v, told %g, %s", err, told, out)
	}
}
