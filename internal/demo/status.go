package demo

import (
	"time"

	"thwart"
)

// Infestation is what really lives in a water, whether or not the programme knows.
type Infestation struct {
	Water    string    `json:"water"`
	Organism string    `json:"organism"`
	Since    time.Time `json:"since"`
}

// Organisms that the demo season is about.
const (
	zebra     = "zebra_mussel"
	quagga    = "quagga_mussel"
	spiny     = "spiny_water_flea"
	milfoil   = "eurasian_watermilfoil"
	stonewort = "starry_stonewort"
)

// demoOrganisms lists them in the order the truth is drawn in.
var demoOrganisms = []string{zebra, quagga, spiny, milfoil, stonewort}

// declareStatuses fills in what the programme knows of each water and, beside it, what is so.
func (w *World) declareStatuses() {
	day := func(y int, m time.Month, d int) time.Time { return time.Date(w.Year+y, m, d, 12, 0, 0, 0, zone) }
	really := func(i int, organism string, since time.Time) {
		w.Truth.Infested = append(w.Truth.Infested, Infestation{w.Waters[i].ID, organism, since})
		w.Waters[i].really = append(w.Waters[i].really, Infestation{w.Waters[i].ID, organism, since})
	}
	status := func(i int, organism string, s thwart.WaterStatus, from time.Time, evidence string) {
		b := &w.Waters[i].Body
		b.Statuses = append(b.Statuses, thwart.DatedStatus{
			Organism: organism, Status: s, From: from, Evidence: evidence, DeclaredBy: "agency biologist (demo)",
		})
	}
	ranked := w.bySize()
	// Looked for last summer and not found, unless something else is said below.
	for i := range w.Waters {
		w.Waters[i].Body.Others = thwart.StatusNotFound
	}
	status(owlmere, quagga, thwart.StatusInfested, day(-3, time.August, 11), "adults on buoy chains, confirmed by two taxonomists")
	really(owlmere, quagga, day(-5, time.June, 1))
	status(pikehollow, spiny, thwart.StatusInfested, day(-2, time.July, 3), "net hauls at five stations")
	really(pikehollow, spiny, day(-3, time.June, 1))
	status(ranked[7], milfoil, thwart.StatusInfested, day(-6, time.July, 20), "rake survey, beds mapped")
	really(ranked[7], milfoil, day(-8, time.June, 1))
	status(ranked[14], milfoil, thwart.StatusInfested, day(-4, time.August, 2), "rake survey")
	really(ranked[14], milfoil, day(-5, time.June, 1))
	status(ranked[11], stonewort, thwart.StatusInfested, day(-1, time.September, 9), "bulbils found by a volunteer, confirmed")
	really(ranked[11], stonewort, day(-2, time.June, 1))
	status(ranked[18], stonewort, thwart.StatusPositive, day(-1, time.September, 30), "one plant at the launch; not found again")
	really(ranked[18], stonewort, day(-1, time.June, 1))
	status(ranked[20], spiny, thwart.StatusSuspect, day(-1, time.October, 4), "one spine in a fish stomach, not confirmed")
	status(ranked[10], milfoil, thwart.StatusEradicated, day(-1, time.October, 12), "hand-pulled for three years; two clean surveys")
	// Nobody has looked at these: not the same as clean. One of them has something.
	for _, i := range []int{ranked[22], ranked[26], ranked[29], grindle} {
		w.Waters[i].Body.Others = thwart.StatusNotLooked
	}
	really(ranked[26], milfoil, day(-1, time.June, 1))
	// Outside the region: three known sources, one nobody has looked at, two looked at.
	out := watersInside
	status(out, zebra, thwart.StatusInfested, day(-9, time.July, 1), "state list (demo)")
	really(out, zebra, day(-10, time.June, 1))
	status(out, milfoil, thwart.StatusInfested, day(-9, time.July, 1), "state list (demo)")
	really(out, milfoil, day(-10, time.June, 1))
	status(out+1, zebra, thwart.StatusInfested, day(-4, time.July, 1), "state list (demo)")
	really(out+1, zebra, day(-5, time.June, 1))
	status(out+3, quagga, thwart.StatusInfested, day(-7, time.July, 1), "state list (demo)")
	really(out+3, quagga, day(-8, time.June, 1))
	w.Waters[out+5].Body.Others = thwart.StatusNotLooked

	// Fenwillow: mussels since last year, suspected from 1 June, declared on 18 July.
	really(fenwillow, zebra, day(-1, time.July, 1))
	later := w.Waters[fenwillow].Body
	suspected := time.Date(w.Year, time.June, 1, 0, 0, 0, 0, zone)
	w.Waters[fenwillow].LaterAt = time.Date(w.Year, time.July, 18, 5, 0, 0, 0, zone)
	later.Statuses = append([]thwart.DatedStatus(nil), later.Statuses...)
	later.Statuses = append(later.Statuses, thwart.DatedStatus{
		Organism: zebra, Status: thwart.StatusInfested, From: time.Date(w.Year, time.July, 18, 0, 0, 0, 0, zone), SuspectedSince: &suspected,
		Evidence: "adults on a dock post, confirmed; larvae in the June samples on a second look", DeclaredBy: "agency biologist (demo)",
	})
	w.Waters[fenwillow].Later = &later
}
