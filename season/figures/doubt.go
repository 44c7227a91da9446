package figures

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"thwart"
	"thwart/season"
)

// Doubt is a kind of record that looks wrong, and the records that do. It accuses nobody: a slip of the pen, a clock and a
// hurried hour look alike. Somebody has to look; a record that was looked at in the office and kept with a reason is doubted
// no longer.
type Doubt struct {
	ID       string   `json:"id"`
	Label    string   `json:"label"`
	How      string   `json:"how"`
	Count    int      `json:"count"`
	Of       int      `json:"of"` // records that were looked through
	Field    string   `json:"field,omitempty" doc:"what of a record is doubted; empty where it is not one record"`
	Mends    bool     `json:"mends" doc:"a fix can be proposed: what is doubted is taken as not known, or as the stricter answer"`
	Evidence []Clue   `json:"evidence"`
	Records  []string `json:"records"` // of encounters, washes, tallies or shifts
	// Inspections is how many of the records are encounters.
	Inspections int `json:"inspections" doc:"how many of the records are inspections; the list of encounters has them by doubt"`
}

// Clue is why one record is among a doubt's.
type Clue struct {
	Record string `json:"record"`
	Words  string `json:"words"`
}

func (d *Doubt) add(of *season.About, format string, args ...any) {
	if of.Seen {
		return
	}
	record := of.Subject
	d.Count++
	d.Records = append(d.Records, record)
	if len(d.Evidence) < maxClues {
		d.Evidence = append(d.Evidence, Clue{record, fmt.Sprintf(format, args...)})
	}
}

// Doubts, by their ids.
const (
	DoubtRushed    = "rushed"
	DoubtVolumes   = "volumes"
	DoubtTwoPlaces = "two_places"
	DoubtWetDry    = "wet_dry"
	DoubtHeaped    = "heaped"
	DoubtTwice     = "sheet_twice"
	DoubtUnprinted = "sheet_unprinted"
	DoubtBoatless  = "wash_without_boat"
)

// InspectionDoubts are those that may be of an inspection; the others are of washes or of a person's habit.
var InspectionDoubts = []string{DoubtRushed, DoubtVolumes, DoubtTwoPlaces, DoubtWetDry, DoubtTwice, DoubtUnprinted}

// maxClues is how many records of a doubt are explained one by one.
const maxClues = 50

// Thresholds of what looks wrong. They are our own choice, to be wide of what a careful person does.
const (
	rushedS      = 40.0 // a whole round of a motor craft with trailer
	fewestPlaces = 12   // answers that a whole round of such a craft has at least, one by one or by "all the rest"
	mostLPerMin  = 60.0 // of one wash unit; the published tables ask for far less
	mostWaterOnL = 3000 // standing water in one place of a trailered craft: more than any ballast system holds
	moveMin      = 10.0 // between two launches
	heapShare    = 0.5  // of starts on a full five minutes, where 0.2 is what chance gives
	heapMinimum  = 40   // records before a share is looked at
)

// handCraft are small enough to be looked over in seconds.
var handCraft = []string{"canoe_kayak", "paddleboard", "float_tube", "row_utility", "inflatable"}

func (w *worker) doubts() []Doubt {
	all := append([]Doubt{w.rushed(), w.volumes(), w.twoPlaces(), w.wetDry(), w.heaped()}, w.paperDoubts()...)
	for k := range all {
		for _, id := range all[k].Records {
			if i := w.book.Index(id); i != season.None && int(i) < len(w.book.Encounters) && w.book.Encounters[i].Subject == id {
				all[k].Inspections++
			}
		}
	}
	return all
}

func (w *worker) rushed() Doubt {
	d := Doubt{Evidence: []Clue{}, Records: []string{}, ID: DoubtRushed, Field: "inspection.checks", Mends: true, Label: "Whole rounds in no time", How: fmt.Sprintf("every place is said to be looked at within less than %.0f s, on craft that are not carried by hand", rushedS)}
	for _, i := range w.enc {
		e := &w.book.Encounters[i]
		if e.Refused || e.Seconds <= 0 || slices.Contains(handCraft, e.Class) || e.Others == nil && len(e.Checks) < fewestPlaces {
			continue
		}
		d.Of++
		if whole(e) && e.Seconds < rushedS {
			d.add(&e.About, "%s in %.0f s", spoken.Replace(e.Class), e.Seconds)
		}
	}
	return d
}

// spoken turns the id of a class or a place into words: hull.bottom is "hull, bottom".
var spoken = strings.NewReplacer("_", " ", ".", ", ")

// whole reports whether every place is said to be looked at.
func whole(e *season.Encounter) bool {
	if e.Others != nil && e.Others.Looked != season.SaidYes {
		return false
	}
	return !slices.ContainsFunc(e.Checks, func(c season.Check) bool { return c.Looked != season.SaidYes })
}

func (w *worker) volumes() Doubt {
	d := Doubt{Evidence: []Clue{}, Records: []string{}, ID: DoubtVolumes, Field: "waterL, inspection.findings.volumeL", Mends: true, Label: "Volumes that cannot be", How: fmt.Sprintf("a wash that used more than %.0f L a minute, or water found of more than %d L in one place", mostLPerMin, mostWaterOnL)}
	for i := range w.book.Washes {
		x := &w.book.Washes[i]
		if !w.has(x.Encounter) || x.WaterL <= 0 {
			continue
		}
		d.Of++
		minutes := x.To.HoursSince(x.From) * 60
		if float64(x.WaterL) > mostLPerMin*max(minutes, 0) {
			d.add(&x.About, "%.0f L in %.1f min", x.WaterL, minutes)
		}
	}
	for _, i := range w.enc {
		e := &w.book.Encounters[i]
		for k := range e.Findings {
			if v := e.Findings[k].VolumeL; v > 0 {
				d.Of++
				if v > mostWaterOnL {
					d.add(&e.About, "%.0f L at %s", v, spoken.Replace(e.Findings[k].Place))
				}
			}
		}
	}
	return d
}

// twoPlaces finds people who were at two launches at one time.
func (w *worker) twoPlaces() Doubt {
	d := Doubt{Evidence: []Clue{}, Records: []string{}, ID: DoubtTwoPlaces, Field: "inspection.steward, inspection.launch", Label: "One person at two launches", How: fmt.Sprintf("two craft inspected by one person at two launches within %.0f minutes", moveMin)}
	last := map[int32]int32{}
	for _, i := range w.enc { // in time order
		e := &w.book.Encounters[i]
		if e.Steward == season.None || e.Launch == season.None {
			continue
		}
		d.Of++
		before, ok := last[e.Steward]
		last[e.Steward] = i
		if !ok {
			continue
		}
		o := &w.book.Encounters[before]
		if gap := e.At.HoursSince(o.At)*60 - float64(o.Seconds)/60; o.Launch != e.Launch && gap < moveMin {
			d.add(&e.About, "%.0f min after a craft at another launch (%s)", max(gap, 0), o.Subject)
		}
	}
	return d
}

func (w *worker) wetDry() Doubt {
	d := Doubt{Evidence: []Clue{}, Records: []string{}, ID: DoubtWetDry, Field: "verdict.standards.dry", Mends: true, Label: "Water aboard, and marked dry", How: "the craft is judged dry although water or a film of it is written down at a place, or water was found"}
	for _, i := range w.enc {
		e := &w.book.Encounters[i]
		if e.Dry == season.NoReply {
			continue
		}
		d.Of++
		if e.Dry != season.SaidYes {
			continue
		}
		for k := range e.Checks {
			if c := &e.Checks[k]; c.Wet == thwart.WetWater || c.Wet == thwart.WetFilm {
				d.add(&e.About, "%s at %s", c.Wet, spoken.Replace(c.Place))
				break
			}
		}
	}
	return d
}

// heaped finds devices of habit: starts written down on the full five minutes far more often than chance would have it.
func (w *worker) heaped() Doubt {
	d := Doubt{Evidence: []Clue{}, Records: []string{}, ID: DoubtHeaped, Label: "Times written down in round numbers", How: fmt.Sprintf("shifts of one person with at least %d craft of which at least %.0f in 100 began on a full five minutes; chance gives 20", heapMinimum, heapShare*100)}
	round, all := map[int32]int{}, map[int32]int{}
	for _, i := range w.enc {
		e := &w.book.Encounters[i]
		if e.Steward == season.None {
			continue
		}
		all[e.Steward]++
		if e.At.MS%300_000 == 0 {
			round[e.Steward]++
		}
	}
	for _, p := range sortedKeys(all) {
		if all[p] < heapMinimum {
			continue
		}
		d.Of++
		if share := float64(round[p]) / float64(all[p]); share >= heapShare {
			d.add(&season.About{Subject: w.book.People[p].Subject}, "%d of %d starts", round[p], all[p])
		}
	}
	slices.SortFunc(d.Evidence, func(a, b Clue) int { return cmp.Compare(a.Record, b.Record) })
	return d
}
