package demo

import (
	"fmt"
	"iter"
	"math/rand/v2"
	"time"

	"thwart"
	"thwart/advice"
	"thwart/engine/heat"
	"thwart/engine/num"
)

// Name of the demo programme, to be shown wherever a programme's name is.
const Name = "Withy Lakes (demo)"

// The region keeps one time the year round: three hours behind UTC, as its longitude would have it.
var zone = time.FixedZone("", -3*3600)

const zoneName = "Etc/GMT+3" // the IANA name for UTC-3; its sign is turned round

// Options say which season is made.
type Options struct {
	Seed uint64
	// Scale is the share of the planned shifts that are worked, in (0, 1]; 0 means 1. Region, traffic and people stay the
	// same, so the truth does too.
	Scale float64
	Year  int // of the season, 2000 to 2100; 0 means 2026
}

// World is the region and its people, and the truth behind the records.
type World struct {
	Seed   uint64
	Scale  float64
	Year   int
	Opened time.Time // when the programme began to write its records
	First  time.Time // first day of the season, 00:00
	Last   time.Time // last day, 00:00

	Waters      []Water // those inside the region first
	Launches    []Launch
	Kits        []Kit
	Stewards    []Worker
	Technicians []Worker
	Manager     Worker
	Biologist   Worker
	Protocol    thwart.Protocol // as the programme wrote it; its tables are named, not filled in
	ProtocolID  string          // subject of its entry
	RoadKM      [][]float64     // between waters, by road, symmetric

	Truth Truth

	expanded thwart.Protocol // with its tables filled in
	rounds   map[string]*craftRound
	index    map[string]int // of waters by id
	stages   map[string]stage
	washing  [][][2]time.Time // per unit, when it is busy today
}

// Generate makes the world of a seed and the season's entries, in the order in which they were made. The sequence may be
// walked more than once and is the same each time; walking it fills [Truth.Met].
//
// The sequence panics only where the generator makes a record that the program itself would refuse, which is a mistake in
// this package.
func Generate(opt Options) (*World, iter.Seq[thwart.Entry], error) {
	if opt.Scale == 0 {
		opt.Scale = 1
	}
	if opt.Year == 0 {
		opt.Year = 2026
	}
	var errs thwart.FieldErrors
	if !(opt.Scale > 0 && opt.Scale <= 1) {
		errs = append(errs, thwart.FieldError{Field: "scale", Value: fmt.Sprint(opt.Scale), Accepted: "a number above 0 and up to 1"})
	}
	if opt.Year < 2000 || opt.Year > 2100 {
		errs = append(errs, thwart.FieldError{Field: "year", Value: fmt.Sprint(opt.Year), Accepted: "2000 to 2100"})
	}
	if errs != nil {
		return nil, nil, errs
	}
	w := &World{
		Seed: opt.Seed, Scale: opt.Scale, Year: opt.Year, rounds: map[string]*craftRound{},
		Opened: time.Date(opt.Year, time.April, 6, 9, 0, 0, 0, zone),
		First:  time.Date(opt.Year, time.May, 1, 0, 0, 0, 0, zone),
		Last:   time.Date(opt.Year, time.September, 30, 0, 0, 0, 0, zone),
	}
	w.drawRegion()
	w.index = map[string]int{}
	for i := range w.Waters {
		w.index[w.Waters[i].ID] = i
	}
	w.stages = stagesSeen()
	w.hire()
	w.declareStatuses()
	w.setTraffic()
	w.guessBusy()
	if err := w.writeProtocol(); err != nil {
		return nil, nil, err
	}
	w.buyKits()
	return w, w.entries, nil
}

// Days of the season.
func (w *World) Days() int { return int(w.Last.Sub(w.First).Hours()/24) + 1 }

// writeProtocol makes the programme's own rules from the library's starting point. They are not confirmed: every verdict of
// the demo says so.
func (w *World) writeProtocol() error {
	for _, p := range advice.Protocols() {
		if p.ID == "own-rules" {
			w.Protocol = p
		}
	}
	p := &w.Protocol
	p.ID, p.Version, p.Title = "withy-lakes", fmt.Sprintf("%d.1", w.Year), "Withy Lakes rules (demo)"
	p.TextDate = "none: invented for the demo"
	p.Summary = "The rules of an invented programme: the library's starting point, but a craft that goes straight back to the water it left owes nothing for it. Not a law anywhere."
	p.Confirmed, p.SameWaterExempt = false, true
	p.Wash = nil // the table is named; whoever judges fills it in
	var err error
	w.expanded, err = advice.Expand(*p)
	w.ProtocolID = newID(w.Opened.Add(3*time.Hour), num.Stream(w.Seed, "protocol"))
	return err
}

func (w *World) protocolRef() string { return w.Protocol.ID + "@" + w.Protocol.Version }

// buyKits places the three wash units: two that stand, one that is driven about.
func (w *World) buyKits() {
	r := num.Stream(w.Seed, "kits")
	specs := []struct {
		name   string
		post   int
		mobile bool
		burner burner
		tankL  float64
	}{
		{"Owlmere unit (demo)", 1, false, burner{heat.Burner{RatedKW: 62, Efficiency: 0.86, MinFlowLPerMin: 6, MaxOutlet: 71}, 11.5, 7}, 0},
		{"Pikehollow unit (demo)", 2, false, burner{heat.Burner{RatedKW: 55, Efficiency: 0.84, MinFlowLPerMin: 6, MaxOutlet: 70}, 11, 7}, 0},
		{"Trailer unit (demo)", 0, true, burner{heat.Burner{RatedKW: 50, Efficiency: 0.80, MinFlowLPerMin: 6, MaxOutlet: 69}, 11, 5.5}, 900},
	}
	for i, s := range specs {
		k := Kit{ID: newID(w.Opened.Add(4*time.Hour+time.Duration(i)*time.Minute), r), Post: s.post, heat: s.burner}
		pm := []float64{0.5, 0.5, 0.8}[i]
		k.Body = thwart.Kit{
			Name: s.name,
			Unit: thwart.WashUnit{
				BurnerKW: s.burner.RatedKW, Efficiency: s.burner.Efficiency, FlowLPerMin: s.burner.flow, MinFlowLPerMin: s.burner.MinFlowLPerMin, TankL: s.tankL,
				Fuel: "diesel", PassWidthM: 0.3, GaugePlusMinusC: &pm,
			},
		}
		if !s.mobile {
			k.Body.Launch = w.Launches[s.post].ID
		}
		k.Body.Calibrations = append(k.Body.Calibrations, w.calibration(w.Opened.AddDate(0, 0, -3), pm, r))
		w.Kits = append(w.Kits, k)
	}
}

// calibration is one check of a unit: its thermometer against a reference, and its spray at two distances.
func (w *World) calibration(on time.Time, plusMinus float64, r *rand.Rand) thwart.Calibration {
	near := round(between(r, 60.5, 63), 1)
	return thwart.Calibration{
		On: on, PlusMinusC: plusMinus, OffsetC: round(between(r, -0.3, 0.4), 1), By: w.Technicians[0].Body.Name,
		Spray: &thwart.SprayCheck{
			NearM: 0.15, NearC: celsius(near), FarM: 0.45, FarC: celsius(round(near-between(r, 5, 8), 1)), AirC: celsius(round(between(r, 9, 19), 1)),
		},
	}
}
