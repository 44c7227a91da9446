package opendata

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strconv"
	"strings"
	"time"

	"thwart"
	"thwart/refdata"
)

func targetsOf(named map[string]bool) []string {
	var out []string
	for _, o := range refdata.Organisms() {
		if named[o.ID] {
			out = append(out, o.ID)
		}
	}
	return out
}

// look is one craft met, as far as a copy shows it. An empty field was not asked or is left out; Withheld names the latter.
type look struct {
	ID, Session string
	Week        string
	Started     time.Time // zero in the public copy
	Ended       time.Time
	Launch      string
	Water       string // of the launch
	Steward     string // a made-up id
	Direction   string
	Class       string
	LastWater   string
	LastStatus  string // at_risk, no_invader_known, not_known
	PlugsOut    thwart.Answer
	Outcome     thwart.Outcome
	Protocol    string
	Refused     bool
	Complete    bool // every place was looked at
	Findings    []thwart.Finding
	Withheld    []string
}

// maker turns encounters into looks.
type maker struct {
	opt    Options
	region *region
	cells  *cells // of the public copy; nil for the agency's
}

// newID gives the id that a record has in the copy: its own in the agency's, and in the public one the first 80 bits of
// HMAC-SHA-256 (RFC 2104) of it, because an id of the programme holds the time to the millisecond at which it was made.
func (m *maker) newID(prefix, id string) string {
	if m.opt.Copy == Agency {
		return id
	}
	return m.madeUp(prefix, id)
}

func (m *maker) madeUp(prefix, id string) string {
	h := hmac.New(sha256.New, m.opt.Key)
	h.Write([]byte(prefix + " " + id))
	return prefix + "-" + hex.EncodeToString(h.Sum(nil))[:20]
}

// wanted reports whether an encounter is among what is published: a real craft, in the chosen time.
func (m *maker) wanted(e *thwart.Encounter) bool {
	at := e.Inspection.StartedAt
	return !e.Test && (m.opt.From.IsZero() || !at.Before(m.opt.From)) && (m.opt.To.IsZero() || at.Before(m.opt.To))
}

// count takes an encounter into the cells.
func (m *maker) count(e *thwart.Encounter) { m.cells.count[m.cell(e)]++ }

func (m *maker) cell(e *thwart.Encounter) cell {
	in := &e.Inspection
	return m.cells.at(weekOf(m.region.local(in.Launch, in.StartedAt)), in.Launch, in.Setup.Class, m.statusOf(in), lastWater(in))
}

func lastWater(in *thwart.Inspection) string {
	if len(in.LastWaters) == 0 {
		return ""
	}
	return in.LastWaters[0].Water
}

// session names the session of a public copy: a launch and a week.
func (m *maker) sessionOf(launch, week string) string { return m.madeUp("session", launch+" "+week) }

// look makes the record of an encounter; ok is false where it is left out altogether.
func (m *maker) look(id string, e *thwart.Encounter) (look, bool) {
	in := &e.Inspection
	start := m.region.local(in.Launch, in.StartedAt)
	l := look{
		ID: m.newID("inspection", id), Week: weekOf(start), Launch: in.Launch, Direction: orUnknown(in.Direction), Class: in.Setup.Class,
		LastWater: lastWater(in), PlugsOut: in.PlugsOut, Outcome: e.Given(), Protocol: e.Protocol, Refused: in.Refused, Complete: complete(in),
		Findings: in.Findings,
	}
	if r := m.region.launches[in.Launch]; r != nil {
		l.Water = r.Water
	}
	l.LastStatus = m.statusOf(in)
	if m.opt.Copy == Agency {
		l.Session, l.Started = e.Shift, start
		if in.EndedAt != nil {
			l.Ended = m.region.local(in.Launch, *in.EndedAt)
		}
		if in.Steward != "" && len(m.opt.Key) >= minKeyBytes {
			l.Steward = m.madeUp("steward", in.Steward)
		}
		return l, true
	}
	l.Session = m.sessionOf(l.Launch, l.Week)
	h := m.cells.hide[m.cell(e)]
	if h >= hideClass {
		l.Class = ""
		l.Withheld = append(l.Withheld, "class")
	}
	if h >= hideWater {
		l.LastWater = ""
		l.Withheld = append(l.Withheld, "last_water")
	}
	if h >= hideStatus {
		l.LastStatus = ""
		l.Withheld = append(l.Withheld, "last_water_status")
	}
	if h >= hideLaunch {
		l.Launch, l.Water, l.Session = "", "", ""
		l.Withheld = append(l.Withheld, "launch", "water")
	}
	if h >= hideWeek {
		l.Week = ""
		l.Withheld = append(l.Withheld, "week")
	}
	return l, h < hideRecord
}

func orUnknown(s string) string {
	if s == "" {
		return "unknown"
	}
	return s
}

// complete reports whether every place of the round was looked at. Only then does nothing found mean anything.
func complete(in *thwart.Inspection) bool {
	if in.Refused || in.Others == nil && len(in.Checks) == 0 || in.Others != nil && in.Others.Looked != thwart.Yes {
		return false
	}
	return !slices.ContainsFunc(in.Checks, func(c thwart.Check) bool { return c.Looked != thwart.Yes })
}

// statusOf says what was known of the last water when the craft came out of it.
func (m *maker) statusOf(in *thwart.Inspection) string {
	w := m.region.waters[lastWater(in)]
	if w == nil {
		return "not_known"
	}
	at := in.StartedAt
	if out := in.LastWaters[0].OutAt; out != nil {
		at = *out
	}
	then := w.At("", at)
	known := len(then.Status) > 0
	for _, s := range then.Status {
		switch s {
		case thwart.StatusSuspect, thwart.StatusPositive, thwart.StatusInfested:
			return "at_risk"
		case thwart.StatusNotFound, thwart.StatusEradicated:
		default:
			known = false
		}
	}
	if known && then.Others != thwart.StatusUnknown && then.Others.AtRisk() {
		known = false
	}
	if known {
		return "no_invader_known"
	}
	return "not_known"
}

// living reports whether a finding can be an organism.
func living(f *thwart.Finding) bool {
	switch f.Matter {
	case thwart.MatterWater, thwart.MatterMud:
		return f.Organism != ""
	}
	return true
}

// named gives how a finding is named in Darwin Core.
type named struct{ name, rank, common, taxonID, verbatim, qualifier string }

func nameOf(f *thwart.Finding) named {
	n := named{verbatim: strings.TrimSpace(f.Organism + " " + orUnknown(string(f.Matter)))}
	if o, ok := refdata.OrganismByID(f.Organism); ok {
		n.name, n.common = strings.TrimSpace(o.Scientific+" "+o.Authority), o.Common
		n.rank = rankOf(o)
		if o.GBIFKey > 0 {
			n.taxonID = "gbif:" + strconv.Itoa(o.GBIFKey)
		}
		switch f.Confidence {
		case "likely":
			n.qualifier = "cf."
		case "unsure":
			n.qualifier = "?"
		}
		return n
	}
	switch f.Matter {
	case thwart.MatterPlant:
		n.name, n.rank = "Plantae", "kingdom"
	case thwart.MatterAttached, thwart.MatterLoose, thwart.MatterBait:
		n.name, n.rank = "Animalia", "kingdom"
	default:
		n.name = "incertae sedis"
	}
	return n
}

func rankOf(o refdata.Organism) string {
	switch {
	case o.Group == refdata.GroupPathogen:
		return ""
	case strings.Contains(o.Scientific, " "):
		return "species"
	}
	return "genus"
}

// pathwayOf gives the value of the Darwin Core pathway vocabulary (TDWG, 2025-07-10) for where on the craft a thing rode.
func pathwayOf(f *thwart.Finding) string {
	switch {
	case strings.Contains(f.Place, "ballast"):
		return "ballastWater"
	case f.Matter == thwart.MatterAttached:
		return "hullFouling"
	case strings.Contains(f.Place, "bait") || strings.Contains(f.Place, "tackle") || strings.Contains(f.Place, "net"):
		return "fishingEquipment"
	}
	return "hitchhikersShip"
}
