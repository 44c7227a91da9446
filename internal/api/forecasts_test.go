package api_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
	"thwart/season/spreading"
	"thwart/season/waiting"
)

func TestForecasts(t *testing.T) {
	w := newWorld(t, nil)
	m := w.setup()
	m.want(http.StatusUnprocessableEntity, "GET", "/api/waits", nil)
	withDemo(t, w)
	w.clock.add(time.Minute)
	var q waiting.WaitReport
	m.want(http.StatusOK, "GET", "/api/waits?day=weekday&times=2&stewards=2", nil).into(t, &q)
	if q.Day != "weekday" || q.Stewards[0] != 2 || len(q.Shown.Hours) != 14 {
		t.Errorf("%+v", q)
	}
	m.want(http.StatusUnprocessableEntity, "GET", "/api/waits?stewards=1,2", nil)
	var s spreading.SpreadReport
	m.want(http.StatusOK, "GET", "/api/spread?organism=zebra_mussel&runs=100&years=3&unlookedClear=true", nil).into(t, &s)
	if len(s.Years) != 3 || len(s.Waters) == 0 || s.Runs != 100 {
		t.Errorf("%+v", s)
	}
	if got := m.want(http.StatusUnprocessableEntity, "GET", "/api/spread?organism=kraken", nil); !hasField(problemOf(t, got), "organism") {
		t.Errorf("%s", got.body)
	}
	m.account("st", thwart.AccessSteward).want(http.StatusForbidden, "GET", "/api/spread?organism=zebra_mussel", nil)
	out, err := api.SpreadJob(api.NewLiveBook(w.store, nil).Current)(t.Context(), []byte(`{"organism": "zebra_mussel", "runs": 100, "years": 2}`), func(float64, string) {})
	if err != nil || !strings.Contains(string(out), `"sentence"`) {
		t.Errorf("%v %s", err, out)
	}
}
