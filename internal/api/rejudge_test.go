package api_test

import (
	"net/http"
	"testing"
	"time"

	"thwart"
	"thwart/internal/api"
)

// A canoe came from a clear water two days ago and was judged fit. Declared infested since before it left, the water makes
// it a craft from a water at risk; declared infested only since, it does not; and nothing that is kept changes.
func TestWhatIfJudgesAgainWithoutTouchingAnything(t *testing.T) {
	_, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	canoe := p.canoe(s, shift.Subject)
	canoe.Protocol = "own-rules@1" // asks a wash or a drying time of every craft from a water at risk
	out := canoe.Inspection.StartedAt.Add(-48 * time.Hour)
	canoe.Inspection.LastWaters[0].OutAt = &out
	canoe.Inspection.Water = ""
	canoe.Inspection.NextWater = ""
	e := p.entry(thwart.KindInspection, canoe)
	p.sync(shift, e)
	var before thwart.Subject
	m.want(http.StatusOK, "GET", "/api/subjects/"+e.Subject, nil).into(t, &before)

	declared := func(from time.Time) api.Differences {
		var d api.Differences
		m.want(http.StatusOK, "POST", "/api/what-if", api.WhatIf{Water: s.clear,
			Status: &thwart.DatedStatus{Organism: "zebra_mussel", Status: thwart.StatusInfested, From: from}}).into(t, &d)
		return d
	}
	d := declared(out.Add(-24 * time.Hour))
	if d.Judged != 1 || d.LookBack != 1 || d.Shifts != 1 {
		t.Errorf("infested before it left: %+v", d)
	}
	if d.Changed != 1 || len(d.Boats) != 1 || d.Boats[0].Was != thwart.Launch || d.Boats[0].WouldBe == thwart.Launch || d.Boats[0].Subject != e.Subject {
		t.Errorf("infested before it left: %+v", d)
	}
	if n := len(d.Statuses); n != 1 || d.Statuses[0].Status != thwart.StatusInfested {
		t.Errorf("%d statuses with the one declared: %+v", n, d.Statuses)
	}
	if d := declared(out.Add(24 * time.Hour)); d.Judged != 1 || d.LookBack != 0 || d.Changed != 0 {
		t.Errorf("infested only after it left: %+v", d)
	}
	var after thwart.Subject
	m.want(http.StatusOK, "GET", "/api/subjects/"+e.Subject, nil).into(t, &after)
	if after.Sum() != before.Sum() || after.Versions != 1 {
		t.Error("the record changed")
	}
}

func TestWhatIfSaysWhatIsMissing(t *testing.T) {
	_, m, s, _ := field(t, nil)
	for _, c := range []struct {
		ask   api.WhatIf
		field string
	}{
		{api.WhatIf{}, "body.water"},
		{api.WhatIf{Water: s.clear}, "status"},
		{api.WhatIf{Water: s.launch, Status: &thwart.DatedStatus{}}, "water"},
		{api.WhatIf{Water: s.clear, Status: &thwart.DatedStatus{Organism: "zebra_mussel", Status: "drunk", From: noon}}, "statuses[0].status"},
		{api.WhatIf{Water: s.clear, Status: &thwart.DatedStatus{Organism: "zebra mussel", Status: thwart.StatusInfested, From: noon}}, "status.organism"},
	} {
		p := problemOf(t, m.want(http.StatusUnprocessableEntity, "POST", "/api/what-if", c.ask))
		if !hasField(p, c.field) {
			t.Errorf("%+v: %+v, want a word on %s", c.ask, p.Errors, c.field)
		}
	}
}
