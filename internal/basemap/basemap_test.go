package basemap_test

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"thwart/internal/basemap"
	"thwart/internal/basemap/basemaptest"
)

func write(t *testing.T, b []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "region.pmtiles")
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestAFileSaysWhatItIs(t *testing.T) {
	b := basemaptest.Archive{MinZoom: 3, MaxZoom: 12, Bounds: [4]int32{-75_500_000 * 10, 441234567, -740_000_000, 450_000_000}, TilePacking: 2,
		Metadata: `{"name":"x","attribution":"<a href=\"https://maps.example/owed?a=1&amp;b=2\" onclick=\"x()\">&copy; The survey</a> &amp; <b>others</b><script>alert(1)</script> <a href=\"javascript:x\">bad</a>",
		"vector_layers":[{"id":"water","fields":{}},{"id":"roads"},{"id":"water"}]}`}.Bytes()
	f, err := basemap.Open(write(t, b))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	want := basemap.Tileset{Type: "mvt", MinZoom: 3, MaxZoom: 12, Bounds: [4]float64{-75.5, 44.1234567, -74, 45}, Layers: []string{"water", "roads"},
		Attribution: []basemap.Credit{{Text: "© The survey", Link: "https://maps.example/owed?a=1&b=2"}, {Text: "&"}, {Text: "others"}, {Text: "bad"}}, Version: f.Info.Version}
	if d := cmp.Diff(want, f.Info); d != "" {
		t.Error(d)
	}
	got, err := io.ReadAll(f.Content())
	if err != nil || !bytes.Equal(got, b) {
		t.Errorf("%d bytes of %d, %v", len(got), len(b), err)
	}
}

func TestPicturesNeedNoLayers(t *testing.T) {
	for kind, name := range map[byte]string{2: "png", 3: "jpeg", 4: "webp"} {
		f, err := basemap.Open(write(t, basemaptest.Archive{TileType: kind, Metadata: "{}", InnerPacking: 1}.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		if f.Info.Type != name || len(f.Info.Layers) != 0 {
			t.Errorf("%+v", f.Info)
		}
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	}
}

func TestWhatIsNoBaseMapIsNamed(t *testing.T) {
	whole := basemaptest.Archive{}.Bytes()
	for name, c := range map[string]struct {
		file []byte
		says string
	}{
		"empty":             {nil, "0 bytes"},
		"another format":    {append([]byte("SQLite format 3\x00"), whole...), `begins with "SQLite "`},
		"an older version":  {basemaptest.Archive{Version: 2}.Bytes(), "version 2"},
		"cut off":           {whole[:len(whole)-1], "may have been cut off"},
		"pictures of avif":  {basemaptest.Archive{TileType: 5}.Bytes(), "type number 5"},
		"tiles by brotli":   {basemaptest.Archive{TilePacking: 3}.Bytes(), "tiles are packed in way number 3"},
		"inner by zstd":     {basemaptest.Archive{InnerPacking: 4}.Bytes(), "directories are packed in way number 4"},
		"no tiles":          {basemaptest.Archive{NoTileEntries: true}.Bytes(), "lists no tile"},
		"no JSON":           {basemaptest.Archive{Metadata: "name: region"}.Bytes(), "no JSON object"},
		"no layers":         {basemaptest.Archive{Metadata: "{}"}.Bytes(), "vector_layers"},
		"zooms upside down": {basemaptest.Archive{MinZoom: 9, MaxZoom: 3}.Bytes(), "from 9 to 3"},
		"nowhere":           {basemaptest.Archive{Bounds: [4]int32{1e7, 1e7, 1e7, 2e7}}.Bytes(), "reach from 1, 1 to 1, 2"},
		"not packed at all": {func() []byte { b := basemaptest.Archive{InnerPacking: 1}.Bytes(); b[97] = 2; return b }(), "root directory cannot be read"},
	} {
		path := write(t, c.file)
		_, err := basemap.Open(path)
		var bad *basemap.Error
		if !errors.As(err, &bad) || !strings.Contains(err.Error(), path) || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), basemap.Accepted) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := basemap.Open(filepath.Join(t.TempDir(), "none.pmtiles")); !errors.Is(err, os.ErrNotExist) || !strings.Contains(err.Error(), "none.pmtiles") {
		t.Errorf("no file: %v", err)
	}
	if _, err := basemap.Open(t.TempDir()); err == nil || !strings.Contains(err.Error(), "it is no file") {
		t.Errorf("a folder: %v", err)
	}
}

// Whatever stands in a file, opening it ends with an answer that holds together.
func FuzzOpen(f *testing.F) {
	f.Add(basemaptest.Archive{}.Bytes())
	f.Add(basemaptest.Archive{TileType: 2, Metadata: "{}", InnerPacking: 1}.Bytes())
	f.Fuzz(func(t *testing.T, b []byte) {
		m, err := basemap.Open(write(t, b))
		if err != nil {
			return
		}
		defer m.Close()
		i := m.Info
		if i.MinZoom > i.MaxZoom || i.Bounds[0] >= i.Bounds[2] || i.Bounds[1] >= i.Bounds[3] || i.Type == "" || i.Type == "mvt" && len(i.Layers) == 0 {
			t.Errorf("%+v", i)
		}
		for _, c := range i.Attribution {
			if c.Link != "" && !strings.HasPrefix(c.Link, "http") {
				t.Errorf("%+v", c)
			}
		}
	})
}
