package demo

import (
	"cmp"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"thwart"
)

var svgPath = flag.String("svg", "", "write the drawn region to this file")

var regions = map[uint64]*World{}

// region makes the world of a seed, once.
func region(t *testing.T, seed uint64) *World {
	t.Helper()
	if w := regions[seed]; w != nil {
		return w
	}
	w, _, err := Generate(Options{Seed: seed, Scale: 0.01})
	if err != nil {
		t.Fatal(err)
	}
	regions[seed] = w
	return w
}

// crosses reports whether two segments share a point.
func crosses(a, b, c, d xy) bool {
	if math.Max(a.x, b.x) < math.Min(c.x, d.x) || math.Max(c.x, d.x) < math.Min(a.x, b.x) ||
		math.Max(a.y, b.y) < math.Min(c.y, d.y) || math.Max(c.y, d.y) < math.Min(a.y, b.y) {
		return false
	}
	side := func(p, q, r xy) float64 { return (q.x-p.x)*(r.y-p.y) - (q.y-p.y)*(r.x-p.x) }
	return side(a, b, c)*side(a, b, d) <= 0 && side(c, d, a)*side(c, d, b) <= 0
}

func TestCrossesSeesACrossing(t *testing.T) {
	if !crosses(xy{0, 0}, xy{2, 2}, xy{0, 2}, xy{2, 0}) || crosses(xy{0, 0}, xy{1, 0}, xy{0, 1}, xy{1, 1}) {
		t.Fatal("the check below would see nothing")
	}
}

// plane gives the rings of a record in kilometres, open (without the closing point).
func plane(outline [][]thwart.Point) [][]xy {
	rings := make([][]xy, len(outline))
	for i, ring := range outline {
		for _, p := range ring[:len(ring)-1] {
			rings[i] = append(rings[i], toPlane(p))
		}
	}
	return rings
}

func TestShoresAreSound(t *testing.T) {
	for seed := uint64(1); seed <= 3; seed++ {
		w := region(t, seed)
		var shores [][]xy
		for i := range w.Waters {
			body := &w.Waters[i].Body
			if err := body.Validate(); err != nil {
				t.Fatalf("seed %d, %s: %v", seed, body.Name, err)
			}
			rings := plane(body.Outline)
			var segments [][2]xy
			size, longest := 0.0, 0.0
			for k, ring := range rings {
				a := area(ring)
				if (k == 0) != (a > 0) {
					t.Errorf("seed %d, %s: ring %d runs the wrong way round (RFC 7946, section 3.1.6)", seed, body.Name, k)
				}
				size += a
				if k > 0 && !inside(rings[0], ring[0]) {
					t.Errorf("seed %d, %s: island %d lies on land", seed, body.Name, k)
				}
				for n := range ring {
					longest = max(longest, ring[n].dist(ring[(n+1)%len(ring)]))
					segments = append(segments, [2]xy{ring[n], ring[(n+1)%len(ring)]})
				}
			}
			slices.SortFunc(segments, func(a, b [2]xy) int { return cmp.Compare(min(a[0].x, a[1].x), min(b[0].x, b[1].x)) })
			for a := range segments {
				for b := a - 1; b >= 0 && min(segments[b][0].x, segments[b][1].x) > min(segments[a][0].x, segments[a][1].x)-longest; b-- {
					s, u := segments[a], segments[b]
					if s[0] == u[1] || s[1] == u[0] { // neighbours share an end
						continue
					}
					if crosses(s[0], s[1], u[0], u[1]) {
						t.Fatalf("seed %d, %s: its shore crosses itself near %v", seed, body.Name, toPoint(s[0]))
					}
				}
			}
			if got := size * 100; math.Abs(got/body.AreaHa-1) > 0.002 {
				t.Errorf("seed %d, %s: the outline holds %.1f ha, the record says %.1f", seed, body.Name, got, body.AreaHa)
			}
			if !inside(rings[0], toPlane(body.Centre)) {
				t.Errorf("seed %d, %s: its centre lies on land", seed, body.Name)
			}
			for k, other := range shores {
				for _, p := range rings[0] {
					if p.dist(w.Waters[k].at) < 20 && inside(other, p) {
						t.Fatalf("seed %d: %s runs into %s", seed, body.Name, w.Waters[k].Body.Name)
					}
				}
			}
			shores = append(shores, rings[0])
		}
		inBounds(t, w)
	}
}

// sphereHa is the area of a ring on the sphere by the trapezoid rule on longitude and sine of latitude.
func sphereHa(ring []thwart.Point) float64 {
	var sum float64
	for i := range len(ring) - 1 {
		p, q := ring[i], ring[i+1]
		sum += (q.Lon() - p.Lon()) * degree * (math.Sin(p.Lat()*degree) + math.Sin(q.Lat()*degree)) / 2
	}
	return math.Abs(sum) * earthKM * earthKM * 100
}

// The plane is off by what an equirectangular map is: the cosine of the latitude against that of the middle.
func TestAreaOnTheSphere(t *testing.T) {
	w := region(t, 1)
	for i := range w.Waters {
		body := &w.Waters[i].Body
		ha := sphereHa(body.Outline[0])
		for _, island := range body.Outline[1:] {
			ha -= sphereHa(island)
		}
		stretch := math.Cos(body.Centre.Lat()*degree) / math.Cos(middleLat*degree)
		if math.Abs(ha/body.AreaHa/stretch-1) > 0.01 || math.Abs(stretch-1) > 0.025 {
			t.Errorf("%s: %.1f ha on the sphere, %.1f in the record, map stretch %.4f", body.Name, ha, body.AreaHa, stretch)
		}
	}
}

func inBounds(t *testing.T, w *World) {
	t.Helper()
	outside := 0
	for i := range w.Waters {
		body := &w.Waters[i].Body
		for _, p := range body.Outline[0] {
			q := toPlane(p)
			in := math.Abs(q.x) <= regionWideKM/2 && math.Abs(q.y) <= regionHighKM/2
			if in == body.Outside {
				t.Fatalf("%s: outside is %v, but it reaches %v", body.Name, body.Outside, p)
			}
			if p.Lon() < -42 || p.Lon() > -37 || p.Lat() < 45 || p.Lat() > 48 {
				t.Fatalf("%s lies at %v, which is not the middle of the ocean", body.Name, p)
			}
		}
		if body.Outside {
			outside++
		}
	}
	if outside != 6 || len(w.Waters)-outside < 36 || len(w.Launches) < 48 || len(w.Kits) != 3 || len(w.Stewards) != 24 {
		t.Errorf("%d waters, %d of them outside, %d launches, %d units, %d stewards", len(w.Waters), outside, len(w.Launches), len(w.Kits), len(w.Stewards))
	}
}

// Names of real waters and places that a made-up name could hit by accident; no list is complete.
var realNames = strings.Fields(`windermere buttermere grasmere thirlmere haweswater ullswater coniston ennerdale tahoe minnetonka vermilion
	superior michigan huron erie ontario champlain powell mead havasu pyramid okanagan flathead geneva como garda lugano constance
	mendota winnebago winnipesaukee moosehead cayuga seneca oneida ladoga vanern loch lomond ness rutland kielder hubbard stearns`)

func TestNamesAreOurOwn(t *testing.T) {
	for seed := uint64(1); seed <= 3; seed++ {
		w := region(t, seed)
		seen := map[string]bool{}
		name := func(n string) {
			if seen[n] {
				t.Errorf("seed %d: two things are called %s", seed, n)
			}
			seen[n] = true
			for _, word := range strings.Fields(strings.ToLower(n)) {
				for _, real := range realNames {
					if word == real {
						t.Errorf("seed %d: %s sounds like a real place", seed, n)
					}
				}
			}
		}
		for i := range w.Waters {
			name(w.Waters[i].Body.Name)
		}
		for i := range w.Launches {
			name(w.Launches[i].Body.Name)
		}
		for _, list := range [][]Worker{w.Stewards, w.Technicians, {w.Manager, w.Biologist}} {
			for i := range list {
				name(list[i].Body.Name)
				if !strings.Contains(list[i].Body.Name, "demo") {
					t.Errorf("%s does not say that it is demo", list[i].Body.Name)
				}
			}
		}
	}
}

func TestLaunchesStandOnTheirShore(t *testing.T) {
	w := region(t, 1)
	for i := range w.Launches {
		l := &w.Launches[i]
		if err := l.Body.Validate(); err != nil {
			t.Fatalf("%s: %v", l.Body.Name, err)
		}
		near := math.Inf(1)
		for _, p := range w.Waters[l.Water].Body.Outline[0] {
			near = math.Min(near, greatCircleKM(p, l.Body.At))
		}
		if near > 0.01 {
			t.Errorf("%s stands %.0f m from its shore", l.Body.Name, near*1000)
		}
	}
}

func TestRoads(t *testing.T) {
	w := region(t, 1)
	for i := range w.Waters {
		for j := range w.Waters {
			km, line := w.RoadKM[i][j], greatCircleKM(w.Waters[i].Body.Centre, w.Waters[j].Body.Centre)
			switch {
			case km != w.RoadKM[j][i]:
				t.Errorf("%d to %d: %g there, %g back", i, j, km, w.RoadKM[j][i])
			case i == j && km != 0, i != j && (km < 1.14*line || km > 1.61*line):
				t.Errorf("%d to %d: %g km by road, %.1f as the crow flies", i, j, km, line)
			}
		}
	}
}

func TestGreatCircle(t *testing.T) {
	const source = "haversine on R = 6,371.0088 km, computed apart: 46 N 94 W to 44 N 93 W is 235.874897 km"
	got := greatCircleKM(thwart.Point{-94, 46}, thwart.Point{-93, 44})
	if math.Abs(got-235.874897) > 1e-4 {
		t.Errorf("%.6f km (%s)", got, source)
	}
}

func TestOptionsThatCannotBe(t *testing.T) {
	for _, opt := range []Options{{Scale: -0.1}, {Scale: 1.5}, {Scale: math.NaN()}, {Year: 1500}} {
		_, _, err := Generate(opt)
		var fields thwart.FieldErrors
		if !errors.As(err, &fields) || fields[0].Accepted == "" {
			t.Errorf("%+v: %v", opt, err)
		}
	}
}

// The drawing is XML with every lake in it. Give -svg to keep it and look at it.
func TestDrawnRegion(t *testing.T) {
	w := region(t, 1)
	path := *svgPath
	if path == "" {
		path = filepath.Join(t.TempDir(), "region.svg")
	}
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.WriteSVG(f, w.Last); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lakes := 0
	for d := xml.NewDecoder(strings.NewReader(string(text))); ; {
		tok, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if e, ok := tok.(xml.StartElement); ok && e.Name.Local == "path" {
			lakes++
		}
	}
	if lakes != len(w.Waters)+1 { // and the hatching
		t.Errorf("%d outlines drawn for %d waters", lakes-1, len(w.Waters))
	}
}
