package api_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/basemap"
	"thwart/internal/basemap/basemaptest"
)

func TestABaseMapGoesOutInPiecesToWhoIsSignedIn(t *testing.T) {
	file := basemaptest.Archive{Metadata: `{"attribution":"the survey","vector_layers":[{"id":"water"}]}`}.Bytes()
	path := filepath.Join(t.TempDir(), "region.pmtiles")
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	ground, err := basemap.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = ground.Close() })
	w := newWorld(t, func(c *api.Config) {
		c.Basemap = ground
		c.Rates.Caller = api.Rate{PerSecond: 0.001, Burst: 30}
	})
	boss := w.setup()
	steward := boss.account("ash", thwart.AccessSteward)

	w.browser().want(401, "GET", "/api/basemap", nil)
	for _, asked := range []string{"", "bytes=0-126"} {
		nobody := w.browser()
		nobody.header.Set("Range", asked)
		if a := nobody.want(401, "GET", "/api/basemap/tiles", nil); bytes.Contains(a.body, []byte("PMTiles")) {
			t.Error("a piece of the map went to nobody")
		}
	}
	var g api.Ground
	steward.want(200, "GET", "/api/basemap", nil).into(t, &g)
	if !g.Has || g.Tiles == nil || g.Tiles.Type != "mvt" || !slices.Equal(g.Tiles.Layers, []string{"water"}) || g.Tiles.Attribution[0].Text != "the survey" {
		t.Errorf("%+v", g)
	}

	whole := steward.want(200, "GET", "/api/basemap/tiles?v="+g.Tiles.Version, nil)
	if !bytes.Equal(whole.body, file) || whole.header.Get("Accept-Ranges") != "bytes" || whole.header.Get("Content-Type") != "application/vnd.pmtiles" {
		t.Errorf("%d bytes of %d, %v", len(whole.body), len(file), whole.header)
	}
	n := len(file)
	for _, c := range []struct {
		asked    string
		status   int
		from, to int // not included
	}{{"bytes=0-126", 206, 0, 127}, {"bytes=127-140", 206, 127, 141}, {fmt.Sprintf("bytes=%d-", n-10), 206, n - 10, n}, {"bytes=-7", 206, n - 7, n},
		{fmt.Sprintf("bytes=100-%d", 9*n), 206, 100, n}, {fmt.Sprintf("bytes=%d-%d", n, n+5), 416, 0, 0}} {
		steward.header.Set("Range", c.asked)
		a := steward.want(c.status, "GET", "/api/basemap/tiles", nil)
		if c.status != 206 {
			continue
		}
		if !bytes.Equal(a.body, file[c.from:c.to]) || a.header.Get("Content-Range") != fmt.Sprintf("bytes %d-%d/%d", c.from, c.to-1, n) {
			t.Errorf("%s: %d bytes, %s", c.asked, len(a.body), a.header.Get("Content-Range"))
		}
		if a.header.Get("ETag") != whole.header.Get("ETag") || a.header.Get("Cache-Control") != "private, no-cache" {
			t.Errorf("%s: %v", c.asked, a.header)
		}
	}
	// A page asks for many pieces at once; a caller's rate is not for them.
	steward.header.Set("Range", "bytes=0-9")
	for range 40 {
		steward.want(206, "GET", "/api/basemap/tiles", nil)
	}
	steward.header.Del("Range")
	steward.header.Set("If-None-Match", whole.header.Get("ETag"))
	steward.want(304, "GET", "/api/basemap/tiles", nil)
}

func TestWithoutABaseMapTheOfficeIsToldSo(t *testing.T) {
	boss := newWorld(t, nil).setup()
	var g api.Ground
	boss.want(200, "GET", "/api/basemap", nil).into(t, &g)
	if g.Has || g.Tiles != nil {
		t.Errorf("%+v", g)
	}
	boss.want(404, "GET", "/api/basemap/tiles", nil)
}
