package advice

import (
	"math"
	"slices"

	"thwart"
	"thwart/engine/drying"
	"thwart/engine/risk"
	"thwart/refdata"
)

// RidesAs is the stage of an organism that a steward's look is about: the first that can be seen or felt, else its first.
// ok is false for an organism that is not in the library.
func RidesAs(organism string) (stage refdata.Stage, ok bool) {
	stages := stagesOf(organism)
	for i := range stages {
		if stages[i].Detection == refdata.PlantsSeen || stages[i].Detection == refdata.SmallFelt {
			return stages[i], true
		}
	}
	if len(stages) == 0 {
		return refdata.Stage{}, false
	}
	return stages[0], true
}

// FindingChance is the chance that a full look finds an organism that is aboard, for the stage of [RidesAs]: what sk says of
// that kind of thing, else the published figure for trained stewards. own reports the former.
func FindingChance(organism string, sk thwart.Skill) (find risk.Beta, own, ok bool) {
	st, ok := RidesAs(organism)
	i := slices.Index(seenClasses, st.Detection)
	if !ok || i < 0 {
		return risk.Beta{}, false, false
	}
	own = slices.ContainsFunc(sk.Classes, func(k thwart.SkillOf) bool { return k.Class == string(st.Detection) })
	return lookSkill(sk)[i], own, true
}

// CarryingChance is the published chance that a craft that left an infested water carries the organism, by how it lay there.
func CarryingChance(organism string, e refdata.Exposure) (prior risk.Beta, basis string, assumed, ok bool) {
	p, ok := refdata.CarryingPriorFor(organism, e)
	return risk.Beta{A: p.Alpha, B: p.Beta}, p.Derivation, p.Assumption, ok
}

// AliveOnTheWay bounds the share of an organism still alive on a dry, bare part of a craft that has been out of the water for
// some hours in steady air, for the stage of [RidesAs]: both drying curves for mussels, all or nothing by the clearing dose
// for the rest. Where nothing is known, anything up to all may live. Parts that stay wet keep things alive longer.
func AliveOnTheWay(organism string, hours float64, a thwart.Air) (lo, hi float64) {
	st, ok := RidesAs(organism)
	if !ok || !(hours >= 0) {
		return 1, 1
	}
	spells := []drying.Spell{{Hours: hours, TempC: a.TempC, RHPct: a.RHPct, Wet: a.Wet}}
	switch st.Drying.Kind {
	case refdata.ModelWeibull:
		m, found := musselModel(refdata.DryingScale(st.Drying.ID), drying.Surface{})
		if r, err := m.Assess(spells); found && err == nil {
			return r.Survival.Lo, r.Survival.Hi
		}
	case refdata.ModelDose:
		d, found := refdata.DryingDoseByID(st.Drying.ID)
		if !found || d.ClearKPaH == nil || !d.MayClear() {
			return 1, 1
		}
		m := drying.Dose{LastAliveKPaH: math.NaN(), ClearKPaH: *d.ClearKPaH, MinHours: *d.MinH}
		if d.LastAliveKPaH != nil {
			m.LastAliveKPaH = *d.LastAliveKPaH
		}
		if r, err := m.Assess(spells); err == nil {
			switch {
			case r.State == drying.DoseCleared:
				return 0, 0
			case d.LastAliveKPaH != nil && r.KPaH <= *d.LastAliveKPaH:
				return 1, 1
			}
			return 0, 1
		}
	}
	return 1, 1
}

// MayBe reports whether a finding may be an organism: the one it is named as, or any of its kind where nobody named it. An
// attached animal that was named no closer than the mussels' genus counts for each of them.
func MayBe(f thwart.Finding, organism string) bool {
	if f.Organism == "dreissenid" && slices.Contains([]string{"zebra_mussel", "quagga_mussel"}, organism) {
		return true
	}
	return mayBe(&f, organism)
}
