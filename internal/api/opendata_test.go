package api_test

import (
	"archive/zip"
	"bytes"
	"net/http"
	"testing"

	"thwart"
	"thwart/internal/opendata"
)

func TestOpenDataIsCheckedAndRefusedByName(t *testing.T) {
	_, m, s, p := field(t, nil)
	shift := p.shift(s.launch)
	batch := []any{shift}
	for range 12 {
		batch = append(batch, p.entry(thwart.KindInspection, p.canoe(s, shift.Subject)))
	}
	p.sync(batch...)
	m.want(http.StatusUnprocessableEntity, "GET", "/api/open-data?form=csv", nil) // neither licence nor contact
	const asked = "/api/open-data?licence=CC0-1.0&contact=data@withy.example&form="
	for _, form := range opendata.Forms {
		ans := m.want(http.StatusOK, "GET", asked+string(form)+"&for=agency", nil)
		z, err := zip.NewReader(bytes.NewReader(ans.body), int64(len(ans.body)))
		if err != nil {
			t.Fatalf("%s: %v", form, err)
		}
		if len(z.File) < 4 {
			t.Errorf("%s: %d files", form, len(z.File))
		}
	}
	m.want(http.StatusOK, "GET", asked+"csv", nil)
}
