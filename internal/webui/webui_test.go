package webui

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"
)

var made = fstest.MapFS{
	"ramp/index.html":   {Data: []byte("<!doctype html><title>ramp</title>")},
	"ramp/sw.js":        {Data: []byte("// worker")},
	"assets/a-1.js":     {Data: []byte("plain")},
	"assets/a-1.js.br":  {Data: []byte("packed")},
	".vite/secret.json": {Data: []byte("{}")},
}

func get(t *testing.T, h http.Handler, url, accept string) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(http.MethodGet, url, nil)
	r.Header.Set("Accept-Encoding", accept)
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func TestPageAnswersEveryAddressBelowIt(t *testing.T) {
	for _, url := range []string{"/ramp/", "/ramp/shift", "/ramp/boat/12", "/ramp/rules/own@2026.1"} {
		if w := get(t, page{made, "ramp"}, url, ""); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "<title>ramp") {
			t.Errorf("%s: %d %q", url, w.Code, w.Body)
		}
	}
	if w := get(t, page{made, "ramp"}, "/ramp/sw.js", ""); w.Code != http.StatusOK || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/javascript") {
		t.Errorf("the worker: %d %v", w.Code, w.Header())
	}
	if w := get(t, page{made, "ramp"}, "/ramp/gone.js", ""); w.Code != http.StatusNotFound {
		t.Errorf("a file that is not there: %d; a page would be taken for a script", w.Code)
	}
}

func TestPackedFileOnlyWhereItIsTaken(t *testing.T) {
	cases := []struct{ accept, coding, body string }{
		{"gzip, br", "br", "packed"}, {"br;q=0", "", "plain"}, {"", "", "plain"}, {"gzip", "", "plain"},
	}
	for _, c := range cases {
		w := get(t, files{made, true}, "/assets/a-1.js", c.accept)
		if w.Header().Get("Content-Encoding") != c.coding || w.Body.String() != c.body {
			t.Errorf("accept %q: %q, coding %q", c.accept, w.Body, w.Header().Get("Content-Encoding"))
		}
		if !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
			t.Errorf("accept %q: cache %q", c.accept, w.Header().Get("Cache-Control"))
		}
	}
	if w := get(t, files{made, true}, "/assets/../.vite/secret.json", ""); w.Code != http.StatusNotFound {
		t.Errorf("the build's own files: %d", w.Code)
	}
}

func TestAFileThatTheBrowserHasIsNotSentAgain(t *testing.T) {
	h := files{made, true}
	plain, packed := get(t, h, "/assets/a-1.js", "").Header().Get("ETag"), get(t, h, "/assets/a-1.js", "br").Header().Get("ETag")
	if plain == "" || plain == packed {
		t.Fatalf("tags %q and %q", plain, packed)
	}
	r := httptest.NewRequest(http.MethodGet, "/assets/a-1.js", nil)
	r.Header.Set("If-None-Match", plain)
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	if w.Code != http.StatusNotModified || w.Body.Len() > 0 {
		t.Errorf("%d %q", w.Code, w.Body)
	}
}

func TestUnbuiltAppSaysHow(t *testing.T) {
	if w := get(t, page{fstest.MapFS{}, "office"}, "/office/", ""); w.Code != http.StatusNotFound || !strings.Contains(w.Body.String(), "make build") {
		t.Errorf("%d %q", w.Code, w.Body)
	}
}
