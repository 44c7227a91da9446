package api_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"testing"
	"time"

	"thwart"
)

// What one phone met, another is told as a mark with an outfit and nothing else, page by page, each craft's latest outfit last. Planted
// craft, other seasons, craft without a mark and records that were taken out are not told.
func TestKnownCraftTellsMarksAndOutfitsAlone(t *testing.T) {
	w, m, s, p := field(t, nil)
	other := m.enrol(m.addPerson("Tobias", thwart.RoleSteward), thwart.AccessSteward)
	shift := p.shift(s.launch)
	p.sync(shift)
	met := func(hash string, length float64, change func(*thwart.Encounter)) thwart.Entry {
		enc := p.canoe(s, shift.Subject)
		enc.Inspection.Setup.LengthM = length
		if hash != "" {
			enc.Mark = &thwart.Mark{Hash: hash, Prefix: "MN"}
		}
		if change != nil {
			change(&enc)
		}
		return p.entry(thwart.KindInspection, enc)
	}
	hash := func(n int) string { return fmt.Sprintf("%032x", n) }
	first, again, second := met(hash(1), 4, nil), met(hash(1), 5, nil), met(hash(2), 6, nil)
	plain := met("", 7, nil)
	lastYear := met(hash(3), 8, func(e *thwart.Encounter) {
		e.Inspection.StartedAt = e.Inspection.StartedAt.AddDate(-1, 0, 0)
		out := e.Inspection.StartedAt.Add(-time.Hour)
		e.Inspection.LastWaters[0].OutAt, e.Inspection.EndedAt = &out, nil
	})
	if got := results(p.sync(first, second, plain, lastYear, again)); got != "[stored stored stored stored stored]" {
		t.Fatal(got)
	}
	planted := p.canoe(s, shift.Subject)
	planted.Mark, planted.Test = &thwart.Mark{Hash: hash(4), Prefix: "MN"}, true
	m.create(thwart.KindInspection, planted)

	type page struct {
		Season string                       `json:"season"`
		Craft  []map[string]json.RawMessage `json:"craft"`
		Next   int64                        `json:"next"`
	}
	lengths := map[string]float64{}
	order := []string{}
	after := int64(0)
	for range 50 {
		var got page
		other.want(http.StatusOK, "GET", fmt.Sprintf("/api/known-craft?after=%d&limit=1", after), nil).into(t, &got)
		if got.Season != w.clock.Now().UTC().Format("2006") || len(got.Craft) > 1 {
			t.Fatalf("%+v", got)
		}
		for _, c := range got.Craft {
			if keys := slices.Sorted(maps.Keys(c)); !slices.Equal(keys, []string{"hash", "setup"}) {
				t.Errorf("a craft tells %v", keys)
			}
			var h string
			var setup thwart.Setup
			if json.Unmarshal(c["hash"], &h) != nil || json.Unmarshal(c["setup"], &setup) != nil {
				t.Fatalf("%s", c)
			}
			lengths[h] = setup.LengthM
			order = append(order, h)
		}
		if got.Next == after {
			break
		}
		after = got.Next
	}
	if want := map[string]float64{hash(1): 5, hash(2): 6}; !maps.Equal(lengths, want) {
		t.Errorf("known: %v, want %v", lengths, want)
	}
	if want := []string{hash(1), hash(2), hash(1)}; !slices.Equal(order, want) {
		t.Errorf("in the order %v, want %v", order, want)
	}
	var whole page
	other.want(http.StatusOK, "GET", "/api/known-craft", nil).into(t, &whole)
	if len(whole.Craft) != 3 || whole.Next != after {
		t.Errorf("at once: %d craft, next %d; page by page next %d", len(whole.Craft), whole.Next, after)
	}
	other.want(http.StatusUnprocessableEntity, "GET", "/api/known-craft?after=-1", nil)
	other.want(http.StatusUnprocessableEntity, "GET", "/api/known-craft?limit=1001", nil)
}
