package flows

import (
	"math"

	"thwart"
	"thwart/season"
)

// Carried is what an organism rides on: risky passages between every two waters, whether the first holds it or not.
type Carried struct {
	Organism string
	Waters   []Site
	Outside  []bool               // of the programme's care: a source only
	Status   []thwart.WaterStatus // as the season ends
	// PerPassage is the mean chance that a passage from a water that holds it brings it alive.
	PerPassage float64
	Find       float64   // mean chance that a look finds it
	Met        []float64 // share of craft arriving at each water that were looked over last season
	Assumed    bool      // no published share of craft that carry it is known
	Basis      string    // of the share that carries it
}

// Carried lists, for each pair of waters, the passages of a season and those that would bring the organism alive if the first water
// held it. each is called row by row.
func (m *Model) Carried(organism string, each func(from, to int, passages, risky float64)) (*Carried, error) {
	if m.why != nil {
		return nil, m.why
	}
	o, info, err := m.organism(organism)
	if err != nil {
		return nil, err
	}
	c := &Carried{Organism: organism, PerPassage: o.Carry.Mean() * (o.AliveLo + o.AliveHi) / 2, Find: o.Find.Mean(), Assumed: info.Assumed, Basis: info.Basis}
	at := m.lastMoment()
	row := make([]float64, len(m.waters))
	for i, w := range m.waters {
		c.Waters = append(c.Waters, m.water(i))
		c.Outside = append(c.Outside, !m.data.Inside[i])
		c.Status = append(c.Status, m.book.WaterAt(w, at).Of(organism))
		c.Met = append(c.Met, math.Min(1, m.share[w]*m.seen[w]))
		m.table.LogKM(i, row)
		for j := range m.waters {
			if i != j && m.data.Inside[j] {
				n := m.fit.Flow(i, j, row[j], m.counts[[2]int32{int32(i), int32(j)}]).Passages.Mid
				each(i, j, n, n*c.PerPassage)
			}
		}
	}
	return c, nil
}

// LaunchesOf lists the launches of a water, by their place in the book, with each one's share of its craft.
func (m *Model) LaunchesOf(water int) (launches []int32, share []float64) {
	w := &m.book.Waters[m.waters[water]]
	var all float64
	for _, l := range w.Launches {
		all += m.arrived.Launches[l].Season.Mid
	}
	for _, l := range w.Launches {
		s := 1 / float64(len(w.Launches))
		if all > 0 {
			s = m.arrived.Launches[l].Season.Mid / all
		}
		launches, share = append(launches, l), append(share, s)
	}
	return launches, share
}

// DaysOf counts the season's days of a kind.
func (m *Model) DaysOf(t season.DayType) (n float64) {
	for _, d := range m.dayInfo {
		if season.DayType(d.Type) == t {
			n++
		}
	}
	return n
}
