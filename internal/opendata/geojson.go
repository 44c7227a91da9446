package opendata

import (
	"cmp"
	"io"
	"maps"
	"math"
	"slices"
	"strings"

	"thwart"
	"thwart/engine/num"
	"thwart/internal/exchange"
)

// mapFiles writes GeoJSON: the waters with what is known of them, the launches with what was done at each, and where craft came
// from as lines between waters.
type mapFiles struct {
	flows map[waterPair]int

	w          *walker
	at         map[string]*launchSums
	waterRows  []string
	launchRows []string
}

type waterPair struct{ from, to string }

type launchSums struct {
	inspections, found int
	hours              float64
}

func (w *walker) openMaps() *mapFiles {
	return &mapFiles{w: w, at: map[string]*launchSums{}, flows: map[waterPair]int{}}
}

func (m *mapFiles) sums(launch string) *launchSums {
	s := m.at[launch]
	if s == nil {
		s = &launchSums{}
		m.at[launch] = s
	}
	return s
}

func (m *mapFiles) look(l *look) error {
	s := m.sums(l.Launch)
	s.inspections++
	if len(l.Findings) > 0 {
		s.found++
	}
	if m.w.region.waters[l.LastWater] != nil && m.w.region.waters[l.Water] != nil && l.LastWater != l.Water && l.Direction != "leaving" {
		m.flows[waterPair{l.LastWater, l.Water}]++
	}
	return nil
}

func (m *mapFiles) wash(string, string, *thwart.WashDone) error { return nil }

func (m *mapFiles) session(s *session) error {
	m.sums(s.Launch).hours += s.Hours
	return nil
}

func (m *mapFiles) place(waters bool, id string, _ *region) error {
	if waters {
		m.waterRows = append(m.waterRows, id)
	} else {
		m.launchRows = append(m.launchRows, id)
	}
	return nil
}

// counted gives a count as a map may show it: one below the smallest cell is no number.
func (m *mapFiles) counted(n int) any {
	if m.w.opt.Copy == Public && n < exchange.SmallCell {
		return nil
	}
	return n
}

func (m *mapFiles) close(p *pack) error {
	r := m.w.region
	rows := 0
	write := func(name string, walk func(func(exchange.Feature) error) error) error {
		err := p.add(name, func(w io.Writer) (err error) {
			rows, err = exchange.WriteFeatures(w, walk)
			return err
		})
		p.parts[len(p.parts)-1].Rows = int64(rows)
		return err
	}
	err := write("waters.geojson", func(do func(exchange.Feature) error) error {
		for _, id := range m.waterRows {
			if err := do(exchange.WaterFeature(id, r.waters[id])); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	if err := write("flows.geojson", m.lines); err != nil {
		return err
	}
	return write("launches.geojson", func(do func(exchange.Feature) error) error {
		for _, id := range m.launchRows {
			f := exchange.LaunchFeature(id, r.launches[id])
			s := m.sums(id)
			f.Properties["inspections"] = m.counted(s.inspections)
			f.Properties["with_findings"] = m.counted(s.found)
			f.Properties["steward_hours"] = math.Round(s.hours*10) / 10
			if err := do(f); err != nil {
				return err
			}
		}
		return nil
	})
}

// lines gives craft met by the water they came from, as a line to the water they were launched into. The interval is that of a
// Poisson mean, for craft that came in hours like those that were staffed; it says nothing of other hours. In a public copy
// streams of fewer than the smallest cell are left out.
func (m *mapFiles) lines(do func(exchange.Feature) error) error {
	keys := slices.SortedFunc(maps.Keys(m.flows), func(a, b waterPair) int {
		return cmp.Or(strings.Compare(a.from, b.from), strings.Compare(a.to, b.to))
	})
	for _, k := range keys {
		n := m.flows[k]
		if m.w.opt.Copy == Public && n < exchange.SmallCell {
			continue
		}
		i, err := num.Garwood(n, flowLevel)
		if err != nil {
			return err
		}
		from, to := m.w.region.waters[k.from], m.w.region.waters[k.to]
		err = do(exchange.Feature{
			Type: "Feature", Geometry: exchange.Geometry{Type: "LineString", Coordinates: [2]thwart.Point{from.Centre, to.Centre}},
			Properties: map[string]any{"last_water": k.from, "last_water_name": from.Name, "water": k.to, "water_name": to.Name,
				"craft_met": n, "craft_met_lo": hundredths(i.Lo), "craft_met_hi": hundredths(i.Hi)},
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// flowLevel of the intervals of streams.
const flowLevel = 0.95

func hundredths(x float64) float64 { return math.Round(100*x) / 100 }
