package figures

import (
	"slices"

	"thwart"
	"thwart/season"
)

// spec is a figure that counts craft: among those that are in the denominator, those that are a case. A spec without a case
// counts the denominator.
type spec struct {
	id, label, of, how string
	in, hit            func(e *season.Encounter) bool
}

func met(*season.Encounter) bool                 { return true }
func arriving(e *season.Encounter) bool          { return e.Arrives() }
func leaving(e *season.Encounter) bool           { return e.Direction == season.Leaving }
func refused(e *season.Encounter) bool           { return e.Refused }
func inspected(e *season.Encounter) bool         { return !e.Refused }
func found(e *season.Encounter) bool             { return len(e.Findings) > 0 }
func judged(e *season.Encounter) bool            { return e.LeftWith() != "" }
func overruled(e *season.Encounter) bool         { return e.Overruled }
func lastKnown(e *season.Encounter) bool         { return e.From() != season.None }
func arrivingInspected(e *season.Encounter) bool { return arriving(e) && inspected(e) }

// listed reports whether a finding is named as an organism of the library; other is a living thing that is none of them.
func listed(f *season.Finding) bool { return f.Organism != "" && f.Organism != "other" }

func organism(e *season.Encounter) bool {
	return slices.ContainsFunc(e.Findings, func(f season.Finding) bool { return listed(&f) })
}

// alive counts what is not known to be dead.
func alive(e *season.Encounter) bool {
	return slices.ContainsFunc(e.Findings, func(f season.Finding) bool {
		return listed(&f) && f.Vitality != thwart.VitalityDead
	})
}

func matter(m thwart.Matter) func(*season.Encounter) bool {
	return func(e *season.Encounter) bool {
		return slices.ContainsFunc(e.Findings, func(f season.Finding) bool { return f.Matter == m })
	}
}

func known(r func(*season.Encounter) season.Reply) func(*season.Encounter) bool {
	return func(e *season.Encounter) bool { return arrivingInspected(e) && r(e) != season.NoReply }
}

func said(r func(*season.Encounter) season.Reply, want season.Reply) func(*season.Encounter) bool {
	return func(e *season.Encounter) bool { return r(e) == want }
}

func cleanReply(e *season.Encounter) season.Reply   { return e.Clean }
func drainedReply(e *season.Encounter) season.Reply { return e.Drained }
func dryReply(e *season.Encounter) season.Reply     { return e.Dry }
func plugsReply(e *season.Encounter) season.Reply   { return e.PlugsOut }

// allThree is yes where all three were met, no where one was not, and not known otherwise.
func allThree(e *season.Encounter) season.Reply {
	switch {
	case e.Clean == season.SaidNo || e.Drained == season.SaidNo || e.Dry == season.SaidNo:
		return season.SaidNo
	case e.Clean == season.SaidYes && e.Drained == season.SaidYes && e.Dry == season.SaidYes:
		return season.SaidYes
	}
	return season.NoReply
}

const (
	ofMet      = "craft met"
	ofSeen     = "craft inspected"
	ofArriving = "craft inspected on their way to launch"
	countHow   = "records that count: craft with planted objects and second records of one craft are left out"
)

// specs lists the figures that count craft, in the order in which they are shown.
var specs = func() []spec {
	list := []spec{
		{"met", "Craft met", "", countHow, met, nil},
		{"arriving", "Craft met on their way to launch", "", countHow + "; a craft whose direction is not written down counts as launching", arriving, nil},
		{"leaving", "Craft met on leaving", "", countHow, leaving, nil},
		{"inspected", "Craft inspected", "", "craft met, less those whose boater declined", inspected, nil},
		{"refused", "Boater declined", ofMet, "records marked as refused, of craft met", met, refused},
		{"found", "Anything found", ofSeen, "craft with at least one finding of any kind, of craft inspected", inspected, found},
		{"organism", "A listed organism found", ofSeen, "craft with a finding named as an organism of the library, as the steward named it, of craft inspected", inspected, organism},
		{"alive", "A listed organism found that was not seen to be dead", ofSeen, "as above, leaving out findings seen to be dead", inspected, alive},
		{"plant", "Plants found", ofSeen, "craft with a finding of plant matter, listed or not, of craft inspected", inspected, matter(thwart.MatterPlant)},
		{"animal", "Attached animals found", ofSeen, "craft with a finding of attached animals, of craft inspected", inspected, matter(thwart.MatterAttached)},
		{"water", "Water found", ofSeen, "craft with a finding of standing water, of craft inspected", inspected, matter(thwart.MatterWater)},
		{"mud", "Mud found", ofSeen, "craft with a finding of mud, of craft inspected", inspected, matter(thwart.MatterMud)},
	}
	for _, c := range []struct {
		id, label string
		r         func(*season.Encounter) season.Reply
	}{
		{"clean", "Arrived clean", cleanReply}, {"drained", "Arrived drained", drainedReply}, {"dry", "Arrived dry", dryReply},
		{"clean_drained_dry", "Arrived clean, drained and dry", allThree}, {"plugs_out", "Arrived with drain plugs out", plugsReply},
	} {
		list = append(list, spec{c.id, c.label, ofArriving + " for which it was settled", "as judged by the rules in force, of craft inspected on their way to launch for which an answer is on record",
			known(c.r), said(c.r, season.SaidYes)})
	}
	list = append(list,
		spec{"last_known", "Last water known", ofArriving, "the record names a water of the programme's register", arrivingInspected, lastKnown},
		spec{"at_risk", "Came from a water at risk", ofArriving, "judged by the rules in force to come from a water at risk; a water that is not known counts as one", arrivingInspected,
			func(e *season.Encounter) bool { return e.AtRisk }},
	)
	for _, o := range thwart.Outcomes {
		list = append(list, spec{"outcome_" + string(o), "Left with: " + outcomeLabels[o], "craft judged", "the outcome the craft left with, a person's departure from the computed one included; a craft whose boater declined is held too and counts as declined alone",
			judged, func(e *season.Encounter) bool { return e.LeftWith() == o }})
	}
	return append(list,
		spec{"stopped", "Left with another outcome than launch", "craft judged", "put right on the spot, sent to a wash, to dry or held; a craft whose boater declined counts as declined alone",
			judged, func(e *season.Encounter) bool { return e.LeftWith() != thwart.Launch }},
		spec{"overruled", "A person departed from the computed outcome", "craft judged", "records with a departure and its reason", judged, overruled},
	)
}()

var outcomeLabels = map[thwart.Outcome]string{
	thwart.Launch: "launch", thwart.FixHere: "put right on the spot", thwart.Wash: "wash", thwart.DryOut: "dry", thwart.Hold: "hold",
}

func specByID(id string) (spec, bool) {
	i := slices.IndexFunc(specs, func(s spec) bool { return s.id == id })
	if i < 0 {
		return spec{}, false
	}
	return specs[i], true
}
