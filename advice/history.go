package advice

import (
	"slices"
	"time"

	"thwart"
	"thwart/refdata"
)

// history is where the craft comes from, as far as it matters for a verdict.
type history struct {
	atRisk    bool     // a stay within the look-back in a water that is not known to be free
	organisms []string // what the craft may carry from there, in the order of the library
	status    map[string]thwart.WaterStatus
	waters    []string   // names of the waters at risk
	unknown   bool       // a water nobody could name is among them
	daysOut   *float64   // since the latest stay; nil = not known
	outAt     *time.Time // of the latest stay
	moored    bool
	sameWater bool // it goes straight back to the only water it came from
	inWater   bool // something at risk travels in water left aboard
	coldest   bool // every water at risk is known to be at 10 °C or colder
}

// coldAcclimatedC is the water temperature up to which animals count as used to cold: the laboratory animals behind the
// cold-acclimated profile came from 5-10 °C water (Columbia River Basin Team 2011, appendix D-1).
const coldAcclimatedC = 10.0

func historyOf(cs *thwart.Case, p *thwart.Protocol) history {
	in := &cs.Inspection
	h := history{status: map[string]thwart.WaterStatus{}, coldest: true}
	visits := in.LastWaters
	if len(visits) == 0 {
		visits = []thwart.Visit{{}}
	}
	h.sameWater = in.Water != ""
	for i := range visits {
		v := &visits[i]
		if v.Water == "" || v.Water != in.Water {
			h.sameWater = false
		}
		var days float64
		known := v.OutAt != nil
		if known {
			days = in.StartedAt.Sub(*v.OutAt).Hours() / 24
			if h.outAt == nil || v.OutAt.After(*h.outAt) {
				h.outAt = v.OutAt
			}
		}
		if v.Stay != thwart.StayDay {
			h.moored = true
		}
		if known && p.LookBackDays > 0 && days > p.LookBackDays {
			continue
		}
		h.addWater(waterOf(cs, v.Water), v.Water == "")
	}
	h.daysOut = daysSince(visits, in.StartedAt)
	if h.daysOut == nil {
		h.outAt = nil
	}
	if !h.atRisk {
		h.coldest = false
	}
	for _, o := range organismIDs() {
		if _, ok := h.status[o]; !ok {
			continue
		}
		h.organisms = append(h.organisms, o)
		for _, st := range stagesOf(o) {
			h.inWater = h.inWater || slices.Contains(st.Carried, refdata.InWater)
		}
	}
	return h
}

// daysSince is the time since the latest stay. One stay without a time makes it unknown, since that stay may be today's.
func daysSince(visits []thwart.Visit, at time.Time) *float64 {
	var least *float64
	for i := range visits {
		if visits[i].OutAt == nil {
			return nil
		}
		d := at.Sub(*visits[i].OutAt).Hours() / 24
		if least == nil || d < *least {
			least = &d
		}
	}
	return least
}

func waterOf(cs *thwart.Case, id string) *thwart.Water {
	for i := range cs.Waters {
		if cs.Waters[i].ID == id {
			return &cs.Waters[i]
		}
	}
	return nil
}

// addWater takes up every organism that the water may hold. A water that is not in the case may hold all of them.
func (h *history) addWater(w *thwart.Water, unnamed bool) {
	risky := false
	for _, o := range organismIDs() {
		s := thwart.StatusUnknown
		if w != nil {
			s = w.Of(o)
		}
		if !s.AtRisk() {
			continue
		}
		risky = true
		if old, ok := h.status[o]; !ok || worse(s, old) {
			h.status[o] = s
		}
	}
	if !risky {
		return
	}
	h.atRisk = true
	h.unknown = h.unknown || unnamed || w == nil
	if w != nil {
		h.waters = append(h.waters, w.Name)
	}
	if w == nil || w.MaxTempC == nil || float64(*w.MaxTempC) > coldAcclimatedC {
		h.coldest = false
	}
}

// worse reports whether status a says more about an infestation than b; both are at risk.
func worse(a, b thwart.WaterStatus) bool {
	rank := func(s thwart.WaterStatus) int {
		switch s {
		case thwart.StatusInfested:
			return 4
		case thwart.StatusPositive:
			return 3
		case thwart.StatusSuspect:
			return 2
		case thwart.StatusNotLooked:
			return 1
		}
		return 0
	}
	return rank(a) > rank(b)
}

// organismIDs lists the organisms a craft may carry, in the order of the library. The slice is shared: do not change it.
func organismIDs() []string { return organismIndex().ids }

func stagesOf(organism string) []refdata.Stage { return organismIndex().stages[organism] }

type organismTable struct {
	ids    []string
	names  map[string]string
	groups map[string]refdata.Group
	stages map[string][]refdata.Stage
}
