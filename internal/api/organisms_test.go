package api_test

import (
	"net/http"
	"strings"
	"testing"

	"thwart"
	"thwart/internal/api"
	"thwart/refdata"
)

func TestOrganismsAreThoseOfTheLibrary(t *testing.T) {
	_, m, _, _ := field(t, nil)
	var out struct{ Items []api.OrganismRow }
	m.want(http.StatusOK, "GET", "/api/organisms", nil).into(t, &out)
	if len(out.Items) != len(refdata.Organisms()) {
		t.Errorf("%d organisms, the library has %d", len(out.Items), len(refdata.Organisms()))
	}
	for _, o := range out.Items {
		if known, ok := refdata.OrganismByID(o.ID); !ok || o.Name != known.Common || o.Scientific != known.Scientific || o.Group != known.Group {
			t.Errorf("%+v, the library says %+v", o, known)
		}
	}
}

// A status of an organism that the library does not know would let no craft from that water be judged.
func TestAStatusNamesAnOrganismOfTheLibrary(t *testing.T) {
	_, m, _, _ := field(t, nil)
	water := func(organism string) map[string]any {
		return map[string]any{"kind": "water", "body": thwart.WaterBody{Name: "Sallow Mere", Centre: thwart.Point{10, 50},
			Statuses: []thwart.DatedStatus{
				{Organism: "quagga_mussel", Status: thwart.StatusInfested, From: noon},
				{Organism: organism, Status: thwart.StatusInfested, From: noon},
			}}}
	}
	for _, c := range []struct{ organism, accepted string }{
		{"zebra_musel", "zebra_mussel"},
		{"Zebra mussel", ": zebra_mussel"},
		{"something else", "GET /api/organisms"},
	} {
		p := problemOf(t, m.want(http.StatusUnprocessableEntity, "POST", "/api/subjects", water(c.organism)))
		if len(p.Errors) != 1 || p.Errors[0].Field != "body.body.statuses[1].organism" || p.Errors[0].Value != c.organism ||
			!strings.Contains(p.Errors[0].Accepted, c.accepted) {
			t.Errorf("%q: %+v, want it to accept %q", c.organism, p.Errors, c.accepted)
		}
	}
	m.want(http.StatusCreated, "POST", "/api/subjects", water("zebra_mussel"))
}
