package practice

import (
	"strings"
	"time"

	"thwart"
	"thwart/advice"
	"thwart/tongue"
)

// scene is a craft in a few sentences and as a case.
type scene struct {
	says []string
	cs   thwart.Case
}

// scene draws a craft. Everything that is not said is as it should be.
func (a *asker) scene() scene {
	r := a.r
	type kind struct {
		words  tongue.Text
		class  string
		drive  thwart.Drive
		spaces []thwart.Space
	}
	kinds := []kind{
		{"an open aluminium boat with an outboard", "open_aluminium_fishing", thwart.DriveOutboard, []thwart.Space{{Kind: thwart.SpaceLiveWell, Count: 1}, {Kind: thwart.SpaceBilge, Count: 1}}},
		{"a runabout with a sterndrive", "runabout", thwart.DriveSterndrive, []thwart.Space{{Kind: thwart.SpaceBilge, Count: 1}}},
		{"a wake boat with one ballast bag", "wake_boat", thwart.DriveInboard, []thwart.Space{{Kind: thwart.SpaceBallastBag, Count: 1}, {Kind: thwart.SpaceBilge, Count: 1}}},
		{"a canoe, on a roof rack", "canoe_kayak", thwart.DriveHand, []thwart.Space{}},
	}
	k := kinds[r.IntN(len(kinds))]
	trailer := thwart.TrailerBunk
	if k.class == "canoe_kayak" {
		trailer = thwart.TrailerNone
	}
	s := scene{says: []string{tongue.Say("{craft}.", tongue.Capital(tongue.Say(k.words)))}}
	in := &s.cs.Inspection
	*in = thwart.Inspection{
		Water: "here", Direction: "launching", StartedAt: a.order.At, PlugsOut: thwart.Yes, DriveLowered: thwart.Yes, StrainerOut: thwart.Yes, OutOfRegion: thwart.No,
		Setup:  thwart.Setup{Class: k.class, Drives: []thwart.Drive{k.drive}, Spaces: k.spaces, Gear: []string{}, Trailer: trailer},
		Others: &thwart.Check{Looked: thwart.Yes, Felt: thwart.Yes, Opened: thwart.Yes, RanDry: thwart.Yes, Wet: thwart.WetDry},
	}
	s.cs.Protocol = a.p
	s.cs.Waters = []thwart.Water{{ID: "here", Name: tongue.Say("this water"), Others: thwart.StatusNotFound}}
	a.history(&s)
	return s
}

// history says where it was.
func (a *asker) history(s *scene) {
	in := &s.cs.Inspection
	d := []int{0, 2, 5, 12, 40}[a.r.IntN(5)]
	out := a.order.At.Add(-time.Duration(d*24+3) * time.Hour)
	when := tongue.Say("{n} days ago", tongue.Int(d))
	if d == 0 {
		when = tongue.Say("{n} hours ago", "3")
	}
	water := thwart.Water{ID: "there", Name: tongue.Say("Water A"), Status: map[string]thwart.WaterStatus{}, Others: thwart.StatusNotFound}
	v := thwart.Visit{Water: "there", OutAt: &out, Stay: thwart.StayDay}
	switch a.r.IntN(4) {
	case 0:
		s.says = append(s.says, tongue.Say("It came out of Water A {when}. Nothing is known to live there that should not.", when))
	case 1:
		water.Status["zebra_mussel"] = thwart.StatusInfested
		s.says = append(s.says, tongue.Say("It came out of Water A {when}, which has zebra mussels.", when))
	case 2:
		water.Status["spiny_water_flea"] = thwart.StatusInfested
		s.says = append(s.says, tongue.Say("It came out of Water A {when}, which has spiny water fleas.", when))
	default:
		s.says = append(s.says, tongue.Say("Nobody can say where it was last."))
		in.LastWaters = []thwart.Visit{{}}
		return
	}
	s.cs.Waters = append(s.cs.Waters, water)
	in.LastWaters = []thwart.Visit{v}
}

// water puts something in the way of being drained, or nothing.
func (a *asker) water(s *scene) {
	in := &s.cs.Inspection
	places, _ := advice.Places(in.Setup)
	var at *thwart.Place
	for i := range places {
		if p := &places[i]; !p.Hidden && p.Holds != thwart.HoldsNone && (at == nil || a.r.IntN(3) == 0) {
			at = p
		}
	}
	wet := func(w thwart.Wetness, words tongue.Text) {
		if at == nil {
			return
		}
		in.Checks = append(in.Checks, thwart.Check{Place: at.ID, Looked: thwart.Yes, Felt: thwart.Yes, Opened: thwart.Yes, RanDry: thwart.Yes, Wet: w})
		s.says = append(s.says, tongue.Say("{place}: {what}. All else is dry.", at.Name, tongue.Say(words)))
	}
	switch a.r.IntN(7) {
	case 0:
		in.PlugsOut = thwart.No
		s.says = append(s.says, tongue.Say("The drain plug is in. All places are dry."))
	case 1:
		in.PlugsOut = thwart.Unknown
		s.says = append(s.says, tongue.Say("Nobody has seen whether the plugs are out. All places are dry."))
	case 2:
		in.DriveLowered = thwart.No
		s.says = append(s.says, tongue.Say("The drive was not lowered. All places are dry."))
	case 3:
		wet(thwart.WetWater, "water stands in it")
	case 4:
		wet(thwart.WetFilm, "a film of water that a cloth takes up")
	case 5:
		wet(thwart.WetDamp, "damp to the hand, nothing to wipe")
	default:
		s.says = append(s.says, tongue.Say("Plugs out, drive down, everything dry to the hand."))
	}
}

func (a *asker) drained() (*asking, error) {
	s := a.scene()
	a.water(&s)
	v, err := advice.Judge(s.cs)
	if err != nil {
		return nil, err
	}
	standard, ask := thwart.Drained, tongue.Text("Does it count as drained?")
	if a.r.IntN(2) == 0 {
		standard, ask = thwart.Dry, "Does it count as dry?"
	}
	answers := map[thwart.Answer]string{
		thwart.Yes: tongue.Say("Yes"), thwart.No: tongue.Say("No"), thwart.Unknown: tongue.Say("It cannot be said, so it does not"),
	}
	x := &asking{topic: "drained", fixed: true, text: strings.Join(s.says, " ") + " " + tongue.Say(ask), options: []string{answers[thwart.Yes], answers[thwart.No], answers[thwart.Unknown]}}
	var why []string
	for _, j := range v.Standards {
		if j.Standard == standard {
			x.right = answers[j.Met]
		}
	}
	for _, r := range v.Reasons {
		if r.Standard == standard {
			why = append(why, r.Text)
		}
	}
	if len(why) == 0 {
		why = []string{tongue.Say("Nothing is in, up or wet.")}
	}
	x.why = strings.Join(why[:min(len(why), 3)], " ")
	if x.right == "" {
		return nil, nil // a protocol that does not judge it
	}
	return x, nil
}

// find puts something on it, or nothing.
func (a *asker) find(s *scene) {
	in := &s.cs.Inspection
	places, _ := advice.Places(in.Setup)
	var open []*thwart.Place
	for i := range places {
		if !places[i].Hidden && places[i].Asks(thwart.TaskLook) {
			open = append(open, &places[i])
		}
	}
	p := open[a.r.IntN(len(open))]
	add := func(f thwart.Finding, words tongue.Text) {
		f.Place = p.ID
		in.Findings = append(in.Findings, f)
		s.says = append(s.says, tongue.Say("{place}: {what}.", p.Name, tongue.Say(words)))
	}
	switch a.r.IntN(7) {
	case 0:
		add(thwart.Finding{Matter: thwart.MatterPlant, Removed: thwart.RemovedNone}, "a piece of a water plant, still on it")
	case 1:
		add(thwart.Finding{Matter: thwart.MatterAttached, Organism: "zebra_mussel", Vitality: thwart.VitalityDead, Removed: thwart.RemovedNone}, "dead zebra mussels, still on it")
	case 2:
		add(thwart.Finding{Matter: thwart.MatterAttached, Removed: thwart.RemovedNone}, "something hard is attached that nobody can name")
	case 3:
		add(thwart.Finding{Matter: thwart.MatterMud, Removed: thwart.RemovedNone}, "mud, still on it")
	case 4:
		in.Checks = append(in.Checks, thwart.Check{Place: p.ID, Looked: thwart.No, Reason: tongue.Say("out of reach")})
		s.says = append(s.says, tongue.Say("{place}: nobody could look there.", p.Name))
	default:
		s.says = append(s.says, tongue.Say("Looked at and felt all over: nothing found, plugs out, everything dry."))
	}
}

func (a *asker) verdict() (*asking, error) {
	s := a.scene()
	a.find(&s)
	v, err := advice.Judge(s.cs)
	if err != nil {
		return nil, err
	}
	x := &asking{topic: "verdict", fixed: true, right: advice.Plate(v.Outcome), text: strings.Join(s.says, " ") + " " + tongue.Say("What is the verdict?")}
	for _, o := range thwart.Outcomes {
		x.options = append(x.options, advice.Plate(o))
	}
	var why []string
	for _, r := range v.Reasons[:min(len(v.Reasons), 2)] {
		why = append(why, r.Text)
	}
	x.why = strings.Join(why, " ")
	return x, nil
}
