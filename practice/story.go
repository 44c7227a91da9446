package practice

import (
	"time"

	"thwart"
	"thwart/refdata"
	"thwart/tongue"
)

// story invents where the craft was. The names are letters, so that nobody takes them for a lake.
func (m *maker) story() Story {
	r := m.r
	m.moored = m.chance(0.15)
	ids, weights := afloat(m.moored)
	first := m.pick(weights)
	m.organism = []string{ids[first]}
	if m.chance(0.3) {
		weights[first] = 0
		m.organism = append(m.organism, ids[m.pick(weights)])
	}
	at := m.order.At
	from := thwart.Water{ID: "water-a", Name: tongue.Say("Water A"), Status: map[string]thwart.WaterStatus{}, Others: thwart.StatusNotFound}
	for _, o := range m.organism {
		from.Status[o] = thwart.StatusInfested
	}
	here := thwart.Water{ID: "water-here", Name: tongue.Say("this water"), Status: map[string]thwart.WaterStatus{}, Others: thwart.StatusNotFound}
	hours := 2 + 90*r.Float64()*r.Float64()
	out := at.Add(-time.Duration(hours * float64(time.Hour))).Truncate(30 * time.Minute)
	v := thwart.Visit{Water: from.ID, OutAt: &out, Stay: thwart.StayDay}
	stay := tongue.Text("for the day")
	if m.moored {
		v.Stay, stay = thwart.StayMoored, "for three weeks, on a mooring"
	}
	s := Story{Visits: []thwart.Visit{v}, Waters: []thwart.Water{from, here}, Here: here.ID}
	s.Says = append(s.Says, tongue.Say("It was last in Water A {stay}, and came out {when}.", tongue.Say(stay), ago(hours)))
	for _, o := range m.organism {
		s.Says = append(s.Says, tongue.Say("Water A is known to hold {organism}.", organismName(o)))
	}
	if m.chance(0.1) {
		s.Visits, s.Waters, m.moored = []thwart.Visit{{}}, []thwart.Water{here}, false
		s.Says = []string{tongue.Say("The driver borrowed it and cannot say where it was last.")}
	}
	return s
}

func ago(hours float64) string {
	switch {
	case hours < 20:
		return tongue.Say("{n} hours ago", tongue.Num(hours, 'f', 0))
	case hours < 36:
		return tongue.Say("yesterday")
	}
	return tongue.Say("{n} days ago", tongue.Num(hours/24, 'f', 0))
}

func organismName(id string) string {
	if o, ok := refdata.OrganismByID(id); ok {
		return tongue.Data(o.Common)
	}
	return id
}
