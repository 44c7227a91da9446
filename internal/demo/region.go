package demo

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"thwart"
	"thwart/engine/num"
	"thwart/unit"
)

// Size of the region in kilometres, and of the belt around it where the waters outside lie.
const (
	regionWideKM = 120.0
	regionHighKM = 90.0
	beltKM       = 62.0
)

// Water is a lake of the region, or one outside it that craft come from.
type Water struct {
	ID    string
	Basin string // kettle, compound, finger or reservoir
	// Body is the record as it stood when the season opened.
	Body thwart.WaterBody
	// Later is the record after a declaration in mid-season, in force from LaterAt; nil for most.
	Later   *thwart.WaterBody
	LaterAt time.Time
	at      xy
	really  []Infestation
}

// Known is the record as the programme had it at a moment.
func (w *Water) Known(t time.Time) *thwart.WaterBody {
	if w.Later != nil && !t.Before(w.LaterAt) {
		return w.Later
	}
	return &w.Body
}

// Launch is a ramp of the region.
type Launch struct {
	ID    string
	Water int // index in World.Waters
	Body  thwart.Ramp
	share float64 // of its water's traffic
}

// Kit is a wash unit. A mobile one stands at Post on the days it works.
type Kit struct {
	ID   string
	Body thwart.Kit
	Post int // index in World.Launches
	heat burner
}

// plan is one water before it is drawn.
type plan struct {
	name    string
	basin   string
	areaHa  float64
	outside bool
}

// The waters that play a part of their own in the season, with the launches best known there below.
var namedWaters = []plan{
	{"Brackenholt Lake", basinCompound, 4180, false},
	{"Owlmere Reservoir", basinReservoir, 2950, false},
	{"Pikehollow Lake", basinFinger, 1460, false},
	{"Fenwillow Lake", basinCompound, 910, false},
	{"Grindle Pond", basinKettle, 46, false},
}

var namedLaunches = []struct {
	name  string
	water int
	lanes int
	share float64
}{
	{"Alder Point", 0, 4, 0.55}, {"Bittern Landing", 1, 3, 0.60}, {"Cobble Cove", 2, 2, 0.62}, {"Drumlin Ramp", 0, 3, 0.30},
	{"Esker Beach", 3, 2, 0.70},
}

const (
	watersInside  = 36
	watersOutside = 6
	launchCount   = 50
)

// Indices of the waters that have a part of their own.
const (
	brackenholt = iota
	owlmere
	pikehollow
	fenwillow
	grindle
)

func (w *World) drawRegion() {
	r := num.Stream(w.Seed, "region")
	names := &namer{num.Stream(w.Seed, "names"), map[string]bool{}}
	plans := slices.Clone(namedWaters)
	for len(plans) < watersInside {
		// Lake sizes are spread like a log-normal: many small, few large (invented median 330 ha).
		ha := math.Exp(math.Log(330) + 1.0*r.NormFloat64())
		ha = round(math.Max(22, math.Min(1800, ha)), 0)
		p := plan{areaHa: ha}
		switch k := r.Float64(); {
		case ha < 80:
			p.basin = basinKettle
		case k < 0.20:
			p.basin = basinFinger
		case k < 0.34:
			p.basin = basinReservoir
		default:
			p.basin = basinCompound
		}
		p.name = names.from(nameBegins, nameEnds, "") + kindWord(p.basin, ha, r)
		plans = append(plans, p)
	}
	for i := range watersOutside {
		p := plan{basin: []string{basinReservoir, basinCompound, basinFinger}[i%3], areaHa: round(between(r, 2200, 6500), 0), outside: true}
		p.name = names.from(nameBegins, nameEnds, "") + kindWord(p.basin, p.areaHa, r)
		plans = append(plans, p)
	}
	w.Waters = make([]Water, len(plans))
	placed := make([]disc, len(plans))
	for _, i := range bySize(plans) {
		w.Waters[i] = w.drawWater(i, plans[i], placed)
	}
	w.drawLaunches(names)
	w.layRoads()
}

func kindWord(basin string, ha float64, r *rand.Rand) string {
	switch {
	case basin == basinReservoir:
		return " Reservoir"
	case ha < 80:
		return " Pond"
	case r.Float64() < 0.12:
		return " Water"
	}
	return " Lake"
}

// bySize lists the larger first: they are the hardest to find room for.
func bySize(plans []plan) []int {
	order := make([]int, len(plans))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(plans[b].areaHa, plans[a].areaHa) })
	return order
}

type disc struct {
	at xy
	r  float64
}

// drawWater shapes a lake, turns and scales it to its area and finds it a place clear of all others.
func (w *World) drawWater(i int, p plan, placed []disc) Water {
	r := num.Stream(w.Seed, fmt.Sprintf("water %d", i))
	rings := shoreline(basin(p.basin, r))
	for rings == nil || !whole(rings[0]) {
		rings = shoreline(basin(p.basin, r))
	}
	size := area(rings[0])
	for _, ring := range rings[1:] {
		size += area(ring)
	}
	scale := math.Sqrt(p.areaHa / 100 / size)
	sin, cos := math.Sincos(between(r, 0, 2*math.Pi))
	mid := openWater(rings)
	reach := 0.0
	for _, ring := range rings {
		for k, q := range ring {
			q = q.minus(mid).turned(cos, sin)
			ring[k] = xy{q.x * scale, q.y * scale}
			reach = math.Max(reach, math.Hypot(ring[k].x, ring[k].y))
		}
	}
	at := room(r, reach, p.outside, placed)
	placed[i] = disc{at, reach}
	out := Water{ID: newID(w.Opened.Add(time.Duration(i)*time.Second), r), Basin: p.basin, at: at}
	body := thwart.WaterBody{Name: p.name, Centre: toPoint(at), AreaHa: p.areaHa, Outside: p.outside}
	for _, ring := range rings {
		var line []thwart.Point
		for _, q := range ring {
			pt := toPoint(xy{q.x + at.x, q.y + at.y})
			if len(line) == 0 || line[len(line)-1] != pt {
				line = append(line, pt)
			}
		}
		body.Outline = append(body.Outline, append(line, line[0]))
	}
	// Shallow water warms more (invented): 24 to 29 °C at the height of summer.
	t := unit.Celsius(round(between(r, 24, 26.5)+2.5*math.Exp(-p.areaHa/400), 1))
	body.MaxTempC = &t
	out.Body = body
	return out
}

// whole reports whether a lake lies inside the grid it was drawn on, so that no shore is the grid's edge.
func whole(ring []xy) bool {
	for _, p := range ring {
		if math.Abs(p.x) > shoreSpan*0.97 || math.Abs(p.y) > shoreSpan*0.97 {
			return false
		}
	}
	return true
}

// room finds a spot for a lake of a given reach. Lakes may come as near as their discs allow, and outside lakes lie in the
// belt.
func room(r *rand.Rand, reach float64, outside bool, placed []disc) xy {
	for gap := 1.5; ; gap *= 0.97 {
		p := xy{between(r, -0.5, 0.5) * regionWideKM, between(r, -0.5, 0.5) * regionHighKM}
		fits := math.Abs(p.x)+reach < regionWideKM/2 && math.Abs(p.y)+reach < regionHighKM/2
		if outside {
			p = xy{p.x * (1 + 2*beltKM/regionWideKM), p.y * (1 + 2*beltKM/regionHighKM)}
			fits = (math.Abs(p.x)-reach > regionWideKM/2+8 || math.Abs(p.y)-reach > regionHighKM/2+8) &&
				math.Abs(p.x)+reach < regionWideKM/2+beltKM && math.Abs(p.y)+reach < regionHighKM/2+beltKM
		}
		for _, d := range placed {
			fits = fits && (d.r == 0 || p.dist(d.at) > 0.86*(d.r+reach)+math.Max(gap, 0.2))
		}
		if fits {
			return p
		}
	}
}

func (w *World) drawLaunches(names *namer) {
	r := num.Stream(w.Seed, "launches")
	add := func(name string, water, lanes int, share float64) {
		b := &w.Waters[water].Body
		l := Launch{Water: water, share: share, ID: newID(w.Opened.Add(time.Hour+time.Duration(len(w.Launches))*time.Second), r)}
		l.Body = thwart.Ramp{
			Name: name, Water: w.Waters[water].ID, At: w.shoreSpot(water, r), Lanes: lanes, Opens: "05:00", Closes: "21:30",
			Zone: zoneName, Partner: partnerOf(b.Name, r), Power: yesNo(chance(r, 0.35)), Signal: yesNo(chance(r, 0.6)),
		}
		if chance(r, 0.2) {
			l.Body.Opens, l.Body.Closes = "06:00", "20:00"
		}
		w.Launches = append(w.Launches, l)
	}
	for _, n := range namedLaunches {
		add(n.name, n.water, n.lanes, n.share)
	}
	for i := range watersInside {
		if i == brackenholt || i == owlmere || i == pikehollow || i == fenwillow {
			continue
		}
		add(names.from(launchBegins, launchEnds, " "), i, lanesFor(w.Waters[i].Body.AreaHa, r), between(r, 0.5, 1))
	}
	// The largest waters get the launches that are left.
	rest := []int{brackenholt, owlmere, fenwillow, pikehollow}
	rest = append(rest, w.bySize()...)
	for k := 0; len(w.Launches) < launchCount; k++ {
		i := rest[k%len(rest)]
		add(names.from(launchBegins, launchEnds, " "), i, lanesFor(w.Waters[i].Body.AreaHa/2, r), between(r, 0.15, 0.4))
	}
	// Shares of one water add up to one.
	total := make([]float64, len(w.Waters))
	for i := range w.Launches {
		total[w.Launches[i].Water] += w.Launches[i].share
	}
	for i := range w.Launches {
		w.Launches[i].share /= total[w.Launches[i].Water]
	}
}

// bySize lists the waters of the region that have no part of their own, the largest first.
func (w *World) bySize() []int {
	order := make([]int, 0, watersInside)
	for i := len(namedWaters); i < watersInside; i++ {
		order = append(order, i)
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(w.Waters[b].Body.AreaHa, w.Waters[a].Body.AreaHa) })
	return order
}

func lanesFor(ha float64, r *rand.Rand) int {
	return max(1, min(4, int(math.Round(math.Log10(ha)-0.9+between(r, -0.4, 0.4)))))
}

func partnerOf(water string, r *rand.Rand) string {
	switch k := r.Float64(); {
	case k < 0.55:
		return water + " Association (demo)"
	case k < 0.8:
		return "Withy Lakes Parks (demo)"
	}
	return "Withy Boaters' Club (demo)"
}

func yesNo(b bool) thwart.Answer {
	if b {
		return thwart.Yes
	}
	return thwart.No
}

// shoreSpot picks a point of the shore, away from the launches that the water has already.
func (w *World) shoreSpot(water int, r *rand.Rand) thwart.Point {
	ring := w.Waters[water].Body.Outline[0]
	best, far := ring[r.IntN(len(ring)-1)], -1.0
	for range 12 {
		p := ring[r.IntN(len(ring)-1)]
		near := math.Inf(1)
		for i := range w.Launches {
			if w.Launches[i].Water == water {
				near = math.Min(near, greatCircleKM(p, w.Launches[i].Body.At))
			}
		}
		if near > far {
			best, far = p, near
		}
		if math.IsInf(near, 1) {
			break
		}
	}
	return best
}

// layRoads works out road distances between waters: great circle times a detour factor, the same both ways. Roads are about
// a third longer than the line between their ends (invented: 1.33 on average, 1.15 to 1.6).
func (w *World) layRoads() {
	r := num.Stream(w.Seed, "roads")
	n := len(w.Waters)
	w.RoadKM = make([][]float64, n)
	for i := range w.RoadKM {
		w.RoadKM[i] = make([]float64, n)
	}
	for i := range n {
		for j := range i {
			detour := math.Max(1.15, math.Min(1.6, 1.33+0.09*r.NormFloat64()))
			km := round(greatCircleKM(w.Waters[i].Body.Centre, w.Waters[j].Body.Centre)*detour, 1)
			w.RoadKM[i][j], w.RoadKM[j][i] = km, km
		}
	}
}

// roadBetween is the distance between two launches by the usual detour.
func (w *World) roadBetween(a, b int) float64 {
	if a == b {
		return 0
	}
	return 1.33 * greatCircleKM(w.Launches[a].Body.At, w.Launches[b].Body.At)
}
