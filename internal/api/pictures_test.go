package api_test

import (
	"bytes"
	"net/http"
	"strings"
	"testing"

	"thwart"
	"thwart/internal/api"
)

// A picture is kept once, without what it said beside its pixels, and given to those who may see it as what it is.
func TestPictures(t *testing.T) {
	_, m, _, p := field(t, nil)
	var kept api.PictureKept
	p.picture(t, onePixel).into(t, &kept)
	if kept.Type != "image/png" || kept.Had || kept.Changed || kept.Bytes != len(onePixel) {
		t.Errorf("%+v", kept)
	}
	tail := append(bytes.Clone(onePixel), "SECRET"...)
	var again api.PictureKept
	p.picture(t, tail).into(t, &again)
	if again.SHA256 != kept.SHA256 || !again.Had || !again.Changed {
		t.Errorf("%+v", again)
	}
	a := m.want(http.StatusOK, "GET", "/api/pictures/"+kept.SHA256, nil)
	if !bytes.Equal(a.body, onePixel) || a.header.Get("Content-Type") != "image/png" || a.header.Get("X-Content-Type-Options") != "nosniff" ||
		!strings.Contains(a.header.Get("Content-Security-Policy"), "sandbox") || !strings.Contains(a.header.Get("Cache-Control"), "private") {
		t.Errorf("%v", a.header)
	}
	if pr := problemOf(t, p.want(http.StatusUnprocessableEntity, "POST", "/api/pictures", []byte("<svg/>"))); !hasField(pr, "body") {
		t.Errorf("%+v", pr)
	}
	p.want(http.StatusRequestEntityTooLarge, "POST", "/api/pictures", make([]byte, thwart.MaxPhotoBytes+1))
	m.want(http.StatusNotFound, "GET", "/api/pictures/"+strings.Repeat("0", 64), nil)
}
