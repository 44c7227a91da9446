package advice

import (
	"math"
	"slices"
	"strings"

	"thwart"
	"thwart/engine/lethal"
	"thwart/refdata"
	"thwart/tongue"
	"thwart/unit"
)

// heatProfile is a published thermal-death profile made ready for the engine.
type heatProfile struct {
	lethal.Profile
	row refdata.HeatProfile
}

// profileFor chooses the published profile for a stage and a way of application, or none where nobody has measured one.
// Spray and immersion are never mixed. The profile for animals used to cold water stands in only where every water they
// may come from is known to be cold: animals used to warm water live longer at the same temperature (Rajagopal et al. 2005).
func profileFor(st *refdata.Stage, immersed, cold bool) (heatProfile, bool) {
	application := refdata.Spray
	if immersed {
		application = refdata.Immersion
	}
	row, ok := refdata.HeatProfileByID(st.Heat(application))
	if !ok || !row.MayClear() {
		return heatProfile{}, false
	}
	if cold {
		for _, alt := range refdata.HeatAlternatives(row.ID) {
			if alt.MayClear() && alt.MaxSourceWaterC != nil && *alt.MaxSourceWaterC >= coldAcclimatedC {
				row = alt
			}
		}
	}
	p := lethal.Profile{
		Name: row.ID, RefC: row.RefTempC, RefS: row.RefTimeS, MinC: row.MinTempC, FloorS: row.FloorS,
	}
	if row.ZBelowK != nil {
		p.ZLowC = *row.ZBelowK
	}
	if row.ZAboveK != nil {
		p.ZHighC = *row.ZAboveK
	}
	return heatProfile{Profile: p, row: row}, true
}

// factor is the dose asked for: the programme's safety factor, or the profile's own where that is stricter.
func (p heatProfile) factor(protocol *thwart.Protocol) float64 {
	return math.Max(protocol.SafetyFactor, p.row.MinFactor)
}

// ridesOn reports whether a stage can sit on or in a part of the craft.
func ridesOn(st *refdata.Stage, part thwart.Part) bool {
	for _, c := range st.Carried {
		switch c {
		case refdata.InWater:
			switch part {
			case thwart.PartBallast, thwart.PartWell, thwart.PartBilge, thwart.PartEngine, thwart.PartGear, thwart.PartInside:
				return true
			}
		case refdata.InMud:
			switch part {
			case thwart.PartHull, thwart.PartTrailer, thwart.PartGear, thwart.PartBilge, thwart.PartInside:
				return true
			}
		case refdata.Tangled:
			switch part {
			case thwart.PartBallast, thwart.PartEngine:
			default:
				return true
			}
		default:
			return true
		}
	}
	return false
}

// speciesNeeds says, for every organism the craft may carry on a part, whether the protocol's line is shown to kill it and
// what the published data would ask for. Stages that share a profile share a line, and so do those nobody has measured.
func (s *situation) speciesNeeds(row *thwart.WashRow) []thwart.SpeciesNeed {
	immersed := row.Method.Immersed() || row.Method == thwart.MethodLowOrFlush
	type line struct {
		profile heatProfile
		known   bool
		first   *refdata.Stage
		names   []string
	}
	var lines []line
	for _, o := range s.history.organisms {
		stages := stagesOf(o)
		for k := range stages {
			st := &stages[k]
			if !ridesOn(st, row.Part) {
				continue
			}
			p, known := profileFor(st, immersed, s.history.coldest)
			i := slices.IndexFunc(lines, func(l line) bool {
				return l.known == known && l.profile.Name == p.Name && (known || l.first.HandRemoval == st.HandRemoval)
			})
			if i < 0 {
				i = len(lines)
				lines = append(lines, line{profile: p, known: known, first: st})
			}
			lines[i].names = append(lines[i].names, nameAndStage(o, st.Name))
		}
	}
	needs := make([]thwart.SpeciesNeed, len(lines))
	for i, l := range lines {
		needs[i] = s.speciesNeed(row, l.first, l.profile, l.known)
		needs[i].Text = tongue.Say("{stages}: {need}", strings.Join(l.names, "; "), needs[i].Text)
	}
	return needs
}

func (s *situation) speciesNeed(row *thwart.WashRow, st *refdata.Stage, p heatProfile, known bool) thwart.SpeciesNeed {
	n := thwart.SpeciesNeed{Organism: st.Organism, Stage: string(st.Name)}
	if !known {
		n.Shown, n.Text = "not_known", tongue.Say("not known to be killed this way.")
		if st.HandRemoval {
			n.Text += " " + tongue.Say("Take it off by hand.")
		}
		return n
	}
	n.Source, n.Known = p.row.Cite(), string(p.row.Known)
	need := p.T100S(row.TempC) * p.factor(s.protocol)
	switch {
	case math.IsInf(need, 1):
		n.Shown, n.TempC, n.ContactS = "no", p.RefC, p.RefS*p.factor(s.protocol)
		n.Text = tongue.Say("{temperature} is not shown to kill at any time. The data ask for {asked} for {time}.",
			temp(row.TempC), temp(n.TempC), unit.Duration(n.ContactS))
	case need > longestWashS && need > row.ContactS:
		n.Shown, n.TempC, n.ContactS = "no", row.TempC, need
		n.Text = tongue.Say("no practical wash is shown to kill it.")
	case row.ContactS >= need-1e-9:
		n.Shown, n.TempC, n.ContactS = "yes", row.TempC, need
		n.Text = tongue.Say("met by this line ({time} at {temperature}).", unit.Duration(need), temp(row.TempC))
	default:
		n.Shown, n.TempC, n.ContactS = "longer", row.TempC, need
		n.Text = tongue.Say("hold {time} at {temperature} for this one: {trial} in the trials, times the margin of {margin}.",
			unit.Duration(need), temp(row.TempC), unit.Duration(p.T100S(row.TempC)), tongue.Short(p.factor(s.protocol)))
	}
	return n
}

// longestWashS is beyond what anybody holds hot water on a craft: two hours (assumption).
const longestWashS = 7200.0

// testedPairs gathers the exposures that left every adult mussel dead in a published trial, under one way of application:
// quagga mussel for spray, zebra mussel for immersion, where trials were made. Pairs that other trials contradict are
// among them; they never clear a craft by themselves, and whoever shows one says so.
func testedPairs(immersed bool) (pairs []lethal.Pair) {
	application, organism := refdata.Spray, "quagga_mussel"
	if immersed {
		application, organism = refdata.Immersion, "zebra_mussel"
	}
	for _, e := range refdata.HeatEvidences() {
		all := e.Result == refdata.FirstAllDead || e.Result == refdata.AllDead
		if !all || e.Organism != organism || e.Stage != refdata.StageAdult || e.Application != application {
			continue
		}
		if e.Known == refdata.Published && e.TempC != nil && e.ExposureS != nil {
			pairs = append(pairs, lethal.Pair{TempC: *e.TempC, ContactS: *e.ExposureS, Source: e.Cite()})
		}
	}
	return pairs
}
