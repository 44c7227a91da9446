package siting

import (
	"fmt"
	"math"
	"strings"

	"thwart/engine/num"
)

// Policy says where craft are met.
type Policy string

// Met on arrival, on leaving, or both.
const (
	Arrival   Policy = "arrival"
	Departure Policy = "departure"
	Both      Policy = "both"
)

// Launch is where a team can stand.
type Launch struct {
	Name    string
	Partner string  // the association that runs it; may be empty
	Setup   float64 // money once a season, if anything is done here at all
	Refuse  float64 // share of craft whose people decline
}

// DayType is a kind of day, such as a Saturday, and how many of them the season has.
type DayType struct {
	Name string
	Days float64
}

// Block is a part of the day.
type Block struct {
	Name  string
	Hours float64
}

// Team is a size of team: what it costs, finds and gets through.
type Team struct {
	People  int
	Find    float64 // chance that the organism is found and the craft made safe, given that it is inspected
	PerHour float64 // craft it can inspect
	Cost    float64 // money an hour, for the whole team
}

// Flow is risky traffic from one launch to another.
type Flow struct {
	From, To int       // launches; -1 for outside the programme
	Arrive   []float64 // craft a season by cell of arrival (see Stations.Cell)
	Leave    []float64 // share by cell of leaving, adding up to 1; nil: leaves and arrives in the same cell
	Risk     []float64 // risk one craft brings, by organism
}

// Stations is a season to plan.
type Stations struct {
	Launches []Launch
	DayTypes []DayType
	Blocks   []Block
	Teams    []Team
	Policy   Policy

	Organisms []string
	Weights   []float64   // what a unit of risk of each organism counts
	Craft     [][]float64 // craft a team would see in one block of one day, all kinds: launch, cell
	Flows     []Flow

	// A duty lasts one block, or up to LongestDuty blocks in a row at one launch (0 means 1). With Moves, a team may also work
	// one block here and the next there, and MoveLoss is the share of the second block that moving takes.
	LongestDuty int
	Moves       bool
	MoveLoss    float64

	Washing *Washing
	Limits  Limits
}

// Washing describes wash units that may be placed. A craft that fails is made safe on the spot with chance ByHand; otherwise it
// has to be washed, and goes to a unit with a chance that falls with the detour.
type Washing struct {
	ByHand     float64
	Fail       float64     // share of inspected craft that have to be washed: what fills a unit
	Sites      []int       // launches where a unit can stand
	Units      int         // how many there are at most
	Cost       float64     // money for placing a unit for the season
	HourCost   float64     // money an hour for its crew
	People     int         // its crew
	PerHour    float64     // craft it washes
	DetourKM   [][]float64 // from launch to launch
	HalfKM     float64     // detour at which half of them still go
	ReachKM    float64     // beyond it nobody goes
	HereChance float64     // that they go when the unit stands at this launch
}

// Goes is the chance that a craft sent to a unit at a detour goes there: HereChance · 2^(−detour/HalfKM), 0 beyond reach.
func (w *Washing) Goes(km float64) float64 {
	if km > w.ReachKM {
		return 0
	}
	return w.HereChance * math.Exp2(-km/w.HalfKM)
}

// Limits are what the plan must keep. Zero values do not bind.
type Limits struct {
	Money    float64 // math.Inf(1) for none; 0 is 0
	Hours    float64 // of work by all people in the season
	People   int     // on duty at once, any cell
	AtOnce   []int   // the same by cell, where it differs; nil otherwise
	Minimum  []Presence
	Partners []Contract
	// Even asks that each partner's hours are its agreed share of all partners' hours, give or take Even.Within (a share).
	Even  *Even
	Fixed []Fixed
}

// Presence asks for hours at a launch over the season.
type Presence struct {
	Launch int
	Hours  float64
}

// Contract bounds the hours at one partner's launches.
type Contract struct {
	Partner string
	Lo, Hi  float64 // Hi 0: no upper limit
}

// Even is fairness between partners.
type Even struct {
	Share  map[string]float64
	Within float64
}

// Fixed is a duty decided by hand: a launch staffed (or not) in a cell.
type Fixed struct {
	Launch, Cell int
	In           bool
}

// Cells is the number of cells: kinds of day times blocks.
func (s *Stations) Cells() int { return len(s.DayTypes) * len(s.Blocks) }

// Cell numbers a kind of day and a block.
func (s *Stations) Cell(day, block int) int { return day*len(s.Blocks) + block }

// Split is the inverse of [Stations.Cell].
func (s *Stations) Split(cell int) (day, block int) {
	return cell / len(s.Blocks), cell % len(s.Blocks)
}

// CellName is a cell in words, such as "Saturday morning".
func (s *Stations) CellName(cell int) string {
	d, b := s.Split(cell)
	return strings.TrimSpace(s.DayTypes[d].Name + " " + s.Blocks[b].Name)
}

// Kind of a choice.
type Kind string

// Kinds of choices.
const (
	Duty   Kind = "duty"   // a team on site
	Open   Kind = "open"   // a launch set up
	Unit   Kind = "unit"   // a wash unit placed
	Washes Kind = "washes" // a wash unit working
)

// Leg is one block of a duty.
type Leg struct {
	Launch int     `json:"launch"`
	Cell   int     `json:"cell"`
	Share  float64 `json:"share"` // of the block on site
}

// Shift says what a choice of the problem stands for.
type Shift struct {
	Kind   Kind    `json:"kind"`
	Legs   []Leg   `json:"legs,omitempty"`
	Team   int     `json:"team"`   // index of Stations.Teams
	Site   int     `json:"site"`   // launch of the unit the duty sends craft to, or of the unit; -1 for none
	Cell   int     `json:"cell"`   // of a unit at work
	Hours  float64 `json:"hours"`  // on site or under way, a season
	People int     `json:"people"` // at once
}

// check refuses what means nothing.
func (s *Stations) check() error {
	n, c := len(s.Launches), s.Cells()
	if n == 0 || c == 0 || len(s.Teams) == 0 {
		return fmt.Errorf("a plan needs launches, kinds of day, parts of the day and teams; got %d, %d, %d and %d", n, len(s.DayTypes), len(s.Blocks), len(s.Teams))
	}
	if len(s.Weights) != len(s.Organisms) {
		return fmt.Errorf("%d weights for %d organisms", len(s.Weights), len(s.Organisms))
	}
	if len(s.Craft) != n {
		return fmt.Errorf("craft given for %d of %d launches", len(s.Craft), n)
	}
	for l := range s.Craft {
		if len(s.Craft[l]) != c {
			return fmt.Errorf("%s: craft given for %d of %d parts of the week", s.Launches[l].Name, len(s.Craft[l]), c)
		}
		for _, v := range s.Craft[l] {
			if err := num.NotNegative("craft at "+s.Launches[l].Name, v); err != nil {
				return err
			}
		}
		if err := num.Within("refusals at "+s.Launches[l].Name, s.Launches[l].Refuse, 0, 1); err != nil {
			return err
		}
	}
	for _, t := range s.Teams {
		if err := num.Within(fmt.Sprintf("chance that a team of %d finds", t.People), t.Find, 0, 1); err != nil {
			return err
		}
		if err := num.Positive(fmt.Sprintf("craft an hour of a team of %d", t.People), t.PerHour); err != nil {
			return err
		}
	}
	switch s.Policy {
	case Arrival, Departure, Both:
	default:
		return fmt.Errorf("policy %q is not accepted; accepted: arrival, departure, both", s.Policy)
	}
	return s.checkFlows()
}

func (s *Stations) checkFlows() error {
	n, c := len(s.Launches), s.Cells()
	for i, f := range s.Flows {
		if f.From < -1 || f.From >= n || f.To < -1 || f.To >= n || len(f.Arrive) != c || f.Leave != nil && len(f.Leave) != c || len(f.Risk) != len(s.Organisms) {
			return fmt.Errorf("flow %d: from %d to %d with %d cells and %d risks; accepted: launches -1 to %d, %d cells, %d risks", i, f.From, f.To, len(f.Arrive), len(f.Risk), n-1, c, len(s.Organisms))
		}
		for _, v := range [][]float64{f.Arrive, f.Leave, f.Risk} {
			for _, x := range v {
				if err := num.NotNegative(fmt.Sprintf("flow %d", i), x); err != nil {
					return err
				}
			}
		}
	}
	if w := s.Washing; w != nil {
		if err := num.Within("share made safe by hand", w.ByHand, 0, 1); err != nil {
			return err
		}
		if err := num.Positive("detour at which half still go", w.HalfKM); err != nil {
			return err
		}
		if len(w.DetourKM) != n {
			return fmt.Errorf("detours given for %d of %d launches", len(w.DetourKM), n)
		}
	}
	return nil
}
