package advice

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"thwart"
	"thwart/engine/drying"
	"thwart/engine/risk"
	"thwart/lean"
	"thwart/refdata"
	"thwart/tongue"
)

// riskDraws is how often the uncertain rates are drawn. 100 settle the ends of the interval to about an eighth of their
// distance; more would only cost the phone's battery.
const riskDraws = 100

// topContributors is how many of the largest contributors are listed.
const topContributors = 8

// seenClasses orders the detection classes for the engine, which knows them by number.
var seenClasses = refdata.DetectionClasses

// lookSkill gives, per detection class, the chance that this person's full look finds what is there: what the case says of
// her for that class, else the published figure for trained inspectors, and her own planted objects, which are seen or
// felt. What hides in water or mud is no matter of skill.
func lookSkill(sk thwart.Skill) []risk.Beta {
	out := make([]risk.Beta, len(seenClasses))
	for i, c := range seenClasses {
		p, _ := refdata.DetectionPriorFor(c, refdata.Steward)
		out[i] = risk.Beta{A: p.Alpha, B: p.Beta}
		if known := slices.IndexFunc(sk.Classes, func(k thwart.SkillOf) bool { return k.Class == string(c) }); known >= 0 {
			out[i] = risk.Beta{A: sk.Classes[known].Alpha, B: sk.Classes[known].Beta}
		} else if c == refdata.PlantsSeen || c == refdata.SmallFelt {
			out[i] = out[i].Update(float64(sk.Found), float64(sk.Trials-sk.Found))
		}
	}
	return out
}

// checkSkill refuses a class that the library does not know: it would count for nothing without a word.
func checkSkill(sk thwart.Skill) (errs thwart.FieldErrors) {
	for i, k := range sk.Classes {
		if !slices.Contains(refdata.DetectionClasses, refdata.DetectionClass(k.Class)) {
			errs = append(errs, fieldError(fmt.Sprintf("skill.classes[%d].class", i), k.Class, "one of "+list(refdata.DetectionClasses)))
		}
	}
	return errs
}

// riskOf chains carrying, looking and surviving for every organism of the waters at risk and every place of the craft.
func riskOf(s *situation) (thwart.Risk, error) {
	out := thwart.Risk{Level: risk.Level, Seed: s.cs.Seed, Draws: riskDraws}
	p := &riskCase{situation: s}
	p.build()
	if len(p.hazards) == 0 {
		out.Notes = append(out.Notes, tongue.Say("No water at risk within the look-back and nothing found: there is nothing to compute. It is no promise that nothing is aboard."))
		return out, nil
	}
	res, err := risk.Posterior(p.hazards, s.skill, riskDraws, s.cs.Seed)
	if err != nil {
		return out, fmt.Errorf("risk: %w", err)
	}
	out.Chance = thwart.Range(res.Any)
	var largest contributors
	for h := range p.hazards {
		out.ByOrganism = append(out.ByOrganism, thwart.OrganismRisk{
			Organism: p.of[h].organism, Chance: thwart.Range(res.ByHazard[h]), Basis: p.of[h].basis,
		})
		for i, c := range res.Site[h] {
			if c > 0 {
				site := p.of[h].sites[i]
				largest.add(c, p.of[h].organism, string(stagesOf(p.of[h].organism)[site.stage].Name), s.places[site.place].ID)
			}
		}
	}
	out.Contributors = largest.ranked()
	lean.SortStable(out.ByOrganism, func(a, b thwart.OrganismRisk) int { return cmp.Compare(b.Chance.Mid, a.Chance.Mid) })
	out.Notes = append(out.Notes, p.notes()...)
	return out, nil
}

// contributors keeps the largest few of all the chances, in order.
type contributors struct {
	top   []thwart.Contributor
	total float64
}

func (c *contributors) add(chance float64, organism, stage, place string) {
	c.total += chance
	if len(c.top) == topContributors && chance < c.top[len(c.top)-1].Chance {
		return
	}
	n := thwart.Contributor{Organism: organism, Stage: stage, Place: place, Chance: chance}
	at, _ := slices.BinarySearchFunc(c.top, n, func(a, b thwart.Contributor) int {
		return cmp.Or(cmp.Compare(b.Chance, a.Chance), cmp.Compare(a.Organism, b.Organism), cmp.Compare(a.Place, b.Place), cmp.Compare(a.Stage, b.Stage))
	})
	c.top = slices.Insert(c.top, at, n)
	if len(c.top) > topContributors {
		c.top = c.top[:topContributors]
	}
}

func (c *contributors) ranked() []thwart.Contributor {
	for i := range c.top {
		c.top[i].Share = c.top[i].Chance / c.total
	}
	return c.top
}

// riskCase builds the engine's input.
type riskCase struct {
	*situation
	hazards []risk.Hazard
	of      []hazardOf
	takes   []carriageSet
	done    [][]float64 // per detection class and place: the part of a full look that was given
	wet     []bool      // per place
	sites   []risk.Site // of all hazards, in one piece of memory
	siteOf  []siteOf
	guessed bool // a carrying rate had no published share behind it
}

type hazardOf struct {
	organism, basis string
	sites           []siteOf
}

// siteOf says which place and stage a site of the engine stands for, by their numbers in the craft and the library.
type siteOf struct{ place, stage int32 }

func (c *riskCase) build() {
	c.looks()
	organisms := c.carried()
	c.hazards = make([]risk.Hazard, 0, len(organisms))
	c.of = make([]hazardOf, 0, len(organisms))
	n := 0
	for _, o := range organisms {
		n += len(stagesOf(o)) * len(c.places)
	}
	c.sites, c.siteOf = make([]risk.Site, 0, n), make([]siteOf, 0, n)
	for _, o := range organisms {
		c.hazard(o)
	}
}

// carried lists the organisms that may be aboard: those of the waters at risk and those that were found.
func (c *riskCase) carried() []string {
	list := slices.Clone(c.history.organisms)
	for i := range c.in.Findings {
		f := &c.in.Findings[i]
		o := f.Organism
		if o == "" && (f.Matter == thwart.MatterAttached || f.Matter == thwart.MatterUnknown) {
			o = "dreissenid" // an attached animal nobody named may be a mussel
		}
		if o != "" && o != organismOther && !slices.Contains(list, o) {
			list = append(list, o)
		}
	}
	slices.Sort(list)
	return list
}

// looks works out, once for all organisms, how well every place was looked at and whether it is wet.
func (c *riskCase) looks() {
	n := len(c.places)
	c.wet, c.takes = make([]bool, n), make([]carriageSet, n)
	c.done = make([][]float64, len(seenClasses))
	all := make([]float64, n*len(seenClasses))
	for k := range seenClasses {
		c.done[k] = all[k*n : (k+1)*n]
	}
	j := judge{situation: c.situation}
	for i := range c.places {
		p := &c.places[i]
		check := c.in.CheckOf(p.ID)
		w, _, _ := j.wetnessOf(p, &check)
		c.wet[i] = w >= isFilm
		c.takes[i] = carriagesOf(p.Carries)
		for k := range seenClasses {
			c.done[k][i] = lookDone(p, &check, lookRate(c.skill[k], p))
		}
	}
}

// hazard adds one organism: how likely it is carried, and every place and stage it may ride as.
func (c *riskCase) hazard(o string) {
	stages := stagesOf(o)
	h := hazardOf{organism: o}
	z := risk.Hazard{Name: o}
	z.Carry, h.basis = c.carry(o, stages)
	shares, _ := refdata.CarryingSharesFor(o)
	washed := (&judge{situation: c.situation}).washedSince()
	crew := hotWaterCrew()
	first := len(c.sites)
	var total float64
	for si := range stages {
		st := &stages[si]
		class := max(slices.Index(seenClasses, st.Detection), 0)
		ways := rideWeights(&shares, st)
		dryLo, dryHi := c.aliveDry(st)
		wetLo, wetHi := c.aliveWet(st)
		left := c.leftOf(o, st.Name)
		for i := range c.places {
			w := ways.at(c.takes[i]) * c.places[i].Weight
			if w == 0 {
				continue
			}
			site := risk.Site{Share: w, Class: class, Done: c.done[class][i], AliveLo: dryLo, AliveHi: dryHi, Left: -1}
			if c.wet[i] {
				site.AliveLo, site.AliveHi = wetLo, wetHi
			}
			if washed {
				site.AliveLo, site.AliveHi = 0, site.AliveHi*(1-crew)
			}
			if left != nil && left[i] >= 0 {
				site.Left = left[i]
			}
			total += w
			c.sites = append(c.sites, site)
			c.siteOf = append(c.siteOf, siteOf{int32(i), int32(si)})
		}
	}
	z.Sites, h.sites = c.sites[first:], c.siteOf[first:]
	for i := range z.Sites {
		z.Sites[i].Share /= total
	}
	c.hazards = append(c.hazards, z)
	c.of = append(c.of, h)
}

// carry gives the chance that a craft leaving such a water carries the organism: the highest of the published shares that
// apply to how it lay there, since the same craft may have picked it up either way.
func (c *riskCase) carry(organism string, stages []refdata.Stage) (risk.Beta, string) {
	exposures := []refdata.Exposure{refdata.DayUse}
	if c.history.moored {
		exposures = append(exposures, refdata.Moored)
	}
	if slices.ContainsFunc(stages, func(st refdata.Stage) bool { return slices.Contains(st.Carried, refdata.InWater) }) && c.holdsWater() {
		exposures = append(exposures, refdata.WaterAboard)
	}
	var best risk.Beta
	basis := ""
	for _, e := range exposures {
		p, ok := refdata.CarryingPriorFor(organism, e)
		if !ok {
			continue
		}
		if b := (risk.Beta{A: p.Alpha, B: p.Beta}); basis == "" || b.Mean() > best.Mean() {
			best = b
			basis = tongue.Data(p.Derivation)
			if p.Assumption {
				basis = tongue.Say("assumption: {basis}", basis)
				c.guessed = true
			}
		}
	}
	if basis == "" {
		return risk.Beta{A: 1, B: 1}, tongue.Say("not known: anything from none to all")
	}
	return best, basis
}

func (c *riskCase) holdsWater() bool {
	return slices.ContainsFunc(c.places, func(p thwart.Place) bool { return p.Holds != thwart.HoldsNone })
}

// ways is how an organism's carrying divides between the ways a stage can ride, in the order of thwart.Carriages.
type ways [4]float64

func rideWeights(shares *refdata.CarryingShares, st *refdata.Stage) (w ways) {
	for i, way := range thwart.Carriages {
		if slices.Contains(st.Carried, refdata.Carriage(way)) {
			w[i] = shares.Weights[refdata.Carriage(way)]
		}
	}
	return w
}

// at is the share of the ways of riding that a place allows.
func (w *ways) at(takes carriageSet) float64 {
	var sum float64
	for i := range w {
		if takes&(1<<i) != 0 {
			sum += w[i]
		}
	}
	return sum
}

// lookDone is the part of a full look that a place was given, at a rate of finding.
func lookDone(p *thwart.Place, k *thwart.Check, rate float64) float64 {
	if code, _ := undone(p, k); code != "" || k.Looked != thwart.Yes || p.Hidden {
		return 0
	}
	if k.Seconds == 0 || p.Seconds == 0 {
		return 1
	}
	return math.Min(1, math.Expm1(-rate*k.Seconds)/math.Expm1(-rate*p.Seconds))
}

// lookRate is how fast looking at a place finds what is there, per second, such that the usual time of a full look there
// finds it as often as this person's full looks do (random search: Koopman 1956).
func lookRate(full risk.Beta, p *thwart.Place) float64 {
	if p.Seconds <= 0 {
		return 0
	}
	return -math.Log1p(-full.Mean()) / p.Seconds
}

// aliveDry bounds the share of a stage still alive on a dry place: both drying curves for mussels, all or nothing by the
// clearing dose for the rest. Where nothing is known, anything up to all may live.
func (c *riskCase) aliveDry(st *refdata.Stage) (lo, hi float64) {
	if c.history.outAt == nil {
		return 1, 1
	}
	begin := c.in.StartedAt.Add(-c.pastHours())
	if c.history.outAt.After(begin) {
		begin = *c.history.outAt
	}
	models, _, _ := c.models(st)
	if len(models) == 0 {
		return 1, 1
	}
	spells := c.weather(begin).Between(begin, c.in.StartedAt)
	lo, hi = 1, 0
	for _, m := range models {
		switch m := m.(type) {
		case drying.Mussels:
			r, err := m.Assess(spells)
			if err != nil {
				return 1, 1
			}
			lo, hi = math.Min(lo, r.Survival.Lo), math.Max(hi, r.Survival.Hi)
		case drying.Dose:
			r, err := m.Assess(spells)
			if err != nil || r.State != drying.DoseCleared {
				return 0, 1
			}
			lo = 0
		}
	}
	return lo, math.Max(lo, hi)
}

// aliveWet bounds the share alive where it has stayed wet: all, but for larvae, which no water left aboard keeps longer
// than the longest life on record.
func (c *riskCase) aliveWet(st *refdata.Stage) (lo, hi float64) {
	if st.WaterLeft.Kind != refdata.ModelResidual || c.history.outAt == nil || len(c.cs.Weather) == 0 {
		return 1, 1
	}
	row, ok := refdata.ResidualModelByID(st.WaterLeft.ID)
	if !ok || !row.MayClear() {
		return 1, 1
	}
	m := drying.Residual{A: row.LnDaysAt0C, BPerC: row.SlopePerK, MinC: row.MinTempC, MaxC: row.MaxTempC}
	if m.Share(c.weather(*c.history.outAt).Between(*c.history.outAt, c.in.StartedAt)) >= 1 {
		return 0, 0
	}
	return 0, 1
}

// leftOf gives, per place, what is left of an organism that was found there: all of it until it is removed, and after
// removal by hand what the published trials leave. A finding nobody named counts for every organism it may be. Below
// zero, and nil: none was found.
func (c *riskCase) leftOf(organism string, stage refdata.StageName) []float64 {
	var left []float64
	for i := range c.in.Findings {
		f := &c.in.Findings[i]
		at, ok := c.byID[f.Place]
		if !ok || !mayBe(f, organism) || (f.Stage != "" && f.Stage != string(stage)) {
			continue
		}
		if left == nil {
			left = make([]float64, len(c.places))
			for k := range left {
				left[k] = -1
			}
		}
		remains := 1.0
		if f.Removed == thwart.RemovedAll {
			remains = 1 - handRemoval(f.Matter)
		}
		if f.Vitality == thwart.VitalityDead {
			remains = 0
		}
		left[at] = math.Max(left[at], remains)
	}
	return left
}

// mayBe reports whether a finding may be an organism: the one it is named as, or any of its kind where nobody named it.
func mayBe(f *thwart.Finding, organism string) bool {
	if f.Organism != "" {
		return f.Organism == organism
	}
	group := organismIndex().groups[organism]
	plant := group == refdata.GroupPlant || group == refdata.GroupAlga
	switch f.Matter {
	case thwart.MatterWater, thwart.MatterMud, thwart.MatterBait:
		return false
	case thwart.MatterPlant:
		return plant
	case thwart.MatterAttached, thwart.MatterLoose:
		return !plant && group != refdata.GroupPathogen
	}
	return true
}

// hotWaterCrew is the mean effectiveness of hot-water crews on staged boats: 84.4 % (Angell et al. 2024), read from the
// library. A recorded wash leaves at most the rest alive.
func hotWaterCrew() float64 {
	for _, r := range removals() {
		if r.Method == "hot_water_crew" && r.Mean != nil {
			return *r.Mean
		}
	}
	return 0
}

// handRemoval is the share that hand removal takes off: 88 ± 5 % of plants, 65 ± 4 % of small animals (Rothlisberger et
// al. 2010, Fisheries 35:121-132), read from the library.
func handRemoval(m thwart.Matter) float64 {
	target := "small_bodied"
	if m == thwart.MatterPlant {
		target = "macrophytes"
	}
	for _, r := range removals() {
		if r.Method == "visual_hand_removal" && r.Target == target && r.Mean != nil {
			return *r.Mean
		}
	}
	return 0
}

func (c *riskCase) notes() []string {
	var out []string
	if c.guessed {
		out = append(out, tongue.Say("For some organisms no published carrying rate is known; a wide one is taken, so the interval is wide."))
	}
	if c.history.unknown {
		out = append(out, tongue.Say("A water is not known, so every organism of the library counts."))
	}
	if (&judge{situation: c.situation}).washedSince() {
		out = append(out, tongue.Say("A wash is on record; what it leaves is taken from staged boats, on which hot-water crews removed 84 % (Angell et al. 2024)."))
	}
	if c.sealed {
		out = append(out, tongue.Say("The accepted seal is not taken into account here: papers do not find mussels."))
	}
	return append(out, tongue.Say("The risk informs. It does not pass a craft that fails a standard, nor fail one that meets all three."))
}
