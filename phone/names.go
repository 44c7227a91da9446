package phone

import (
	"fmt"
	"math"

	"thwart/names"
	"thwart/tongue"
)

func init() {
	// Tells the engine the waters that can be typed; a second call takes the place of the first.
	add("waters.load", loadWaters)
	// Waters by what was typed of a name, slips and all; nearest first among equals.
	add("waters.find", findWaters)
}

type waterIndex struct {
	index *names.Index
	list  []WaterName
}

// WaterName is a water that can be typed.
type WaterName struct {
	ID   string      `json:"id"`
	Name string      `json:"name"`
	Also []string    `json:"also,omitempty"` // other names people use
	At   *[2]float64 `json:"at,omitempty"`   // longitude, latitude
}

// LoadWatersIn is the list of waters.
type LoadWatersIn struct {
	Waters []WaterName `json:"waters"`
}

// LoadWatersOut says how many were taken.
type LoadWatersOut struct {
	Count int `json:"count"`
}

func loadWaters(e *Engine, in LoadWatersIn) (LoadWatersOut, error) {
	if len(in.Waters) > names.MaxEntries {
		return LoadWatersOut{}, bad("waters", fmt.Sprint(len(in.Waters)), tongue.Say("at most {n} waters", tongue.Int(names.MaxEntries)))
	}
	list := make([]names.Entry, len(in.Waters))
	for i, w := range in.Waters {
		list[i] = names.Entry{ID: w.ID, Name: w.Name, Also: w.Also, At: w.At}
	}
	e.waters = &waterIndex{index: names.New(list), list: in.Waters}
	return LoadWatersOut{Count: len(list)}, nil
}

// FindWatersIn is what was typed, and where.
type FindWatersIn struct {
	Query string      `json:"query"`
	Near  *[2]float64 `json:"near,omitempty"`  // longitude, latitude of the launch
	Limit int         `json:"limit,omitempty"` // 0 = 8
}

// FoundWater is a water that may be meant.
type FoundWater struct {
	ID      string   `json:"id"`
	Name    string   `json:"name"`
	Matched string   `json:"matched"` // the name that was matched, where it is another one
	Score   float64  `json:"score"`   // 0 to 1, orders the list
	ApartKM *float64 `json:"apartKm,omitempty"`
}

// FindWatersOut lists them, the best first. "Not sure" is always offered beside it.
type FindWatersOut struct {
	Waters []FoundWater `json:"waters"`
}

func findWaters(e *Engine, in FindWatersIn) (FindWatersOut, error) {
	if e.waters == nil {
		return FindWatersOut{}, bad("waters", "", "a list given by waters.load before the first search")
	}
	if in.Limit < 0 || in.Limit > 200 {
		return FindWatersOut{}, bad("limit", fmt.Sprint(in.Limit), "1 to 200, or 0 for 8")
	}
	if in.Limit == 0 {
		in.Limit = 8
	}
	out := FindWatersOut{Waters: []FoundWater{}}
	for _, h := range e.waters.index.Find(in.Query, in.Near, in.Limit) {
		w := &e.waters.list[h.Entry]
		f := FoundWater{ID: w.ID, Name: w.Name, Score: math.Round(h.Score*1000) / 1000}
		if h.Name != w.Name {
			f.Matched = h.Name
		}
		if !math.IsNaN(h.ApartKM) {
			km := math.Round(h.ApartKM*10) / 10
			f.ApartKM = &km
		}
		out.Waters = append(out.Waters, f)
	}
	return out, nil
}
