package demo

import (
	"crypto/sha256"
	"encoding/json"
	"math"
	"strconv"
	"sync"
	"testing"
	"time"

	"thwart"
	"thwart/refdata"
)

// season is a part of a season, decoded.
type season struct {
	w       *World
	entries []thwart.Entry
	bodies  []thwart.Body // of entries, nil for a removal
	// heads holds the last entry of every subject that was not removed.
	heads map[string]int
}

var sample = sync.OnceValues(func() (*season, error) {
	w, seq, err := Generate(Options{Seed: 7, Scale: 0.3})
	if err != nil {
		return nil, err
	}
	s := &season{w: w, heads: map[string]int{}}
	for e := range seq {
		body, err := e.Decode()
		if err != nil {
			return nil, err
		}
		s.entries, s.bodies = append(s.entries, e), append(s.bodies, body)
		s.heads[e.Subject] = len(s.entries) - 1
		if e.Removed {
			s.bodies[len(s.bodies)-1] = nil
			delete(s.heads, e.Subject)
		}
	}
	return s, nil
})

func theSeason(t *testing.T) *season {
	t.Helper()
	s, err := sample()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// first gives the encounters as they were first written, trials and refusals left out.
func (s *season) first() (ids []string, list []*thwart.Encounter) {
	for i, e := range s.entries {
		if x, ok := s.bodies[i].(*thwart.Encounter); ok && e.Supersedes == "" && !x.Test && !x.Inspection.Refused {
			ids, list = append(ids, e.ID), append(list, x)
		}
	}
	return ids, list
}

func TestEveryEntryHolds(t *testing.T) {
	s := theSeason(t)
	kinds, known, seq := map[thwart.Kind]int{}, map[string]thwart.Kind{}, map[string]int64{}
	must := func(e thwart.Entry, what, id string, kind thwart.Kind) {
		if known[id] != kind {
			t.Errorf("%s %s: its %s %s is not among the entries before it", e.Kind, e.ID, what, id)
		}
	}
	for i, e := range s.entries {
		if err := e.Validate(); err != nil {
			t.Fatalf("%s %s: %v", e.Kind, e.ID, err)
		}
		if known[e.ID] != "" {
			t.Fatalf("the id %s is given twice", e.ID)
		}
		known[e.ID] = e.Kind
		kinds[e.Kind]++
		if e.Origin != thwart.OriginDemo {
			t.Errorf("%s %s: origin %s", e.Kind, e.ID, e.Origin)
		}
		if e.Supersedes != "" {
			must(e, "older entry", e.Supersedes, e.Kind)
		}
		if e.Device != "" {
			if e.Seq != seq[e.Device]+1 {
				t.Errorf("device %s: %d follows %d", e.Device, e.Seq, seq[e.Device])
			}
			seq[e.Device] = e.Seq
		}
		if e.Person != s.w.Manager.ID {
			must(e, "person", e.Person, thwart.KindPerson)
		}
		switch b := s.bodies[i].(type) {
		case *thwart.Ramp:
			must(e, "water", b.Water, thwart.KindWater)
		case *thwart.Shift:
			must(e, "launch", b.Launch, thwart.KindLaunch)
			for _, p := range b.People {
				must(e, "person", p, thwart.KindPerson)
			}
		case *thwart.Encounter:
			must(e, "shift", b.Shift, thwart.KindShift)
			must(e, "launch", b.Inspection.Launch, thwart.KindLaunch)
			for _, v := range b.Inspection.LastWaters {
				must(e, "last water", v.Water, thwart.KindWater)
			}
		case *thwart.WashDone:
			must(e, "encounter", b.Encounter, thwart.KindInspection)
			must(e, "kit", b.Kit, thwart.KindUnit)
		case *thwart.Tally:
			must(e, "shift", b.Shift, thwart.KindShift)
		case *thwart.Trial:
			if b.Encounter != "" { // objects of the course are planted on training craft
				must(e, "encounter", b.Encounter, thwart.KindInspection)
			}
			must(e, "steward", b.Steward, thwart.KindPerson)
		case *thwart.Drill:
			must(e, "person", b.Person, thwart.KindPerson)
		case *thwart.Certified:
			must(e, "person", b.Person, thwart.KindPerson)
			must(e, "curriculum", b.Curriculum, thwart.KindCurriculum)
		case *thwart.SecondLook:
			must(e, "encounter", b.Encounter, thwart.KindInspection)
			must(e, "person", b.Person, thwart.KindPerson)
		}
	}
	for _, k := range []thwart.Kind{thwart.KindWater, thwart.KindLaunch, thwart.KindUnit, thwart.KindPerson, thwart.KindProtocol,
		thwart.KindShift, thwart.KindInspection, thwart.KindWash, thwart.KindTally, thwart.KindTrial, thwart.KindProgramme,
		thwart.KindDrill, thwart.KindSecondLook, thwart.KindCurriculum, thwart.KindCertificate} {
		if kinds[k] == 0 {
			t.Errorf("no entry of kind %s", k)
		}
	}
}

// A count without its hours is useless: every encounter lies inside its shift, once both clocks are put right.
func TestEveryEncounterLiesInItsShift(t *testing.T) {
	s := theSeason(t)
	skew := func(e thwart.Entry) time.Duration {
		return time.Duration(s.w.Truth.ClockSkewMS[e.Device]) * time.Millisecond
	}
	skewed := 0
	for i, e := range s.entries {
		x, ok := s.bodies[i].(*thwart.Encounter)
		if !ok || e.Supersedes != "" {
			continue
		}
		head, ok := s.heads[x.Shift]
		if !ok {
			t.Fatalf("encounter %s has no shift", e.ID)
		}
		sh := s.bodies[head].(*thwart.Shift)
		if sh.To == nil || sh.Launch != x.Inspection.Launch {
			t.Fatalf("shift %s: still open, or at another launch than its encounter", x.Shift)
		}
		by := skew(s.entries[head])
		from, to := sh.From.Add(-by), sh.To.Add(-by)
		start, end := x.Inspection.StartedAt.Add(-skew(e)), x.Inspection.EndedAt.Add(-skew(e))
		if start.Before(from) || end.After(to.Add(3*time.Minute)) {
			t.Errorf("encounter %s runs from %v to %v, its shift from %v to %v", e.ID, start, end, from, to)
		}
		if skew(e) != 0 {
			skewed++
		}
	}
	if skewed == 0 {
		t.Error("no phone's clock was off")
	}
}

func TestSameSeedSameBytes(t *testing.T) {
	sum := func(seed uint64, walks int) (last [32]byte) {
		w, seq, err := Generate(Options{Seed: seed, Scale: 0.03})
		if err != nil {
			t.Fatal(err)
		}
		for range walks {
			h := sha256.New()
			for e := range seq {
				if err := json.NewEncoder(h).Encode(e); err != nil {
					t.Fatal(err)
				}
			}
			if err := json.NewEncoder(h).Encode(w.Truth); err != nil {
				t.Fatal(err)
			}
			h.Sum(last[:0])
		}
		return last
	}
	one := sum(3, 1)
	if sum(3, 1) != one || sum(3, 2) != one {
		t.Error("the same seed gave another season")
	}
	if sum(4, 1) == one {
		t.Error("another seed gave the same season")
	}
}

// A walk may be broken off at any entry.
func TestWalkCanStop(t *testing.T) {
	_, seq, err := Generate(Options{Seed: 3, Scale: 0.02})
	if err != nil {
		t.Fatal(err)
	}
	for _, stop := range []int{1, 100, 400} {
		n := 0
		for range seq {
			if n++; n == stop {
				break
			}
		}
		if n != stop {
			t.Fatalf("stopped at %d, wanted %d", n, stop)
		}
	}
}

// tooFar is how many standard errors a figure of the season may lie from its truth: with some hundred comparisons, four are
// passed by luck in less than one seed in a hundred.
const tooFar = 4.0

func far(t *testing.T, what string, got, want, variance float64) {
	t.Helper()
	if z := (got - want) / math.Sqrt(variance); math.Abs(z) > tooFar {
		t.Errorf("%s: %.1f, the truth says %.1f (%.1f standard errors)", what, got, want, z)
	}
}

func TestArrivalsFollowTheTruth(t *testing.T) {
	s := theSeason(t)
	met := &s.w.Truth.Met
	var came, expected, chi, df float64
	for l := range met.Came {
		came, expected = came+float64(met.Came[l]), expected+met.Expected[l]
		if met.Expected[l] >= 5 {
			d := float64(met.Came[l]) - met.Expected[l]
			chi, df = chi+d*d/met.Expected[l], df+1
		}
	}
	far(t, "all arrivals", came, expected, expected)
	far(t, "chi-square over launches", chi, df, 2*df)
	// What came was met, passed by or turned away: nothing is lost. Leaving craft and duplicates come on top.
	_, list := s.first()
	launching := 0
	for _, x := range list {
		if x.Inspection.Direction == "launching" {
			launching++
		}
	}
	refused := 0
	for i, e := range s.entries {
		if x, ok := s.bodies[i].(*thwart.Encounter); ok && e.Supersedes == "" && x.Inspection.Refused {
			refused++
		}
	}
	total := launching + refused - len(met.Duplicates) + met.PassedBy + met.TurnedAway
	if total < int(came) || total > int(came*1.05)+20 { // those passed by include some that were leaving
		t.Errorf("%d met, passed by or turned away of %d that came", total, int(came))
	}
}

func TestTruthRates(t *testing.T) {
	tr := &theSeason(t).w.Truth
	sum := func(list []float64) (x float64) {
		for _, v := range list {
			x += v
		}
		return x
	}
	if d := sum(tr.DayShare); math.Abs(d-1) > 1e-9 {
		t.Errorf("the days share %g of the season", d)
	}
	for k := range tr.Hours {
		if h := sum(tr.Hours[k][:]); math.Abs(h-1) > 1e-9 {
			t.Errorf("the hours share %g of a day", h)
		}
	}
	var season, flows float64
	for d := range tr.DayShare {
		for h := range 24 {
			season += tr.Rate(0, d, h)
		}
	}
	if math.Abs(season/tr.Arrivals[0]-1) > 1e-9 {
		t.Errorf("hour by hour %g, for the season %g", season, tr.Arrivals[0])
	}
	for i := range tr.Passages {
		flows += sum(tr.Passages[i])
	}
	if math.Abs(flows/sum(tr.Arrivals)-1) > 1e-9 {
		t.Errorf("%g passages, %g arrivals", flows, sum(tr.Arrivals))
	}
	g := &tr.Gravity
	want := math.Exp(g.Intercept) * math.Pow(4180, g.Origin) * math.Pow(2950, g.Destination) * math.Pow(tr.RoadKM[brackenholt][owlmere], -g.Distance)
	if got := tr.Mean[brackenholt][owlmere]; math.Abs(got/want-1) > 1e-9 {
		t.Errorf("mean passages %g, the stated model gives %g", got, want)
	}
}

func TestClassMix(t *testing.T) {
	s := theSeason(t)
	_, list := s.first()
	count := map[string]float64{}
	for _, x := range list {
		count[x.Inspection.Setup.Class]++
	}
	total := 0.0
	for _, c := range classShares {
		total += c.share
		want := c.share * float64(len(list))
		far(t, c.class, count[c.class], want, want*(1-c.share))
	}
	if math.Abs(total-1) > 1e-9 {
		t.Errorf("the shares of the classes add up to %g", total)
	}
}

// Where craft come from follows the true passages into the water they enter.
func TestLastWaters(t *testing.T) {
	s := theSeason(t)
	tr := &s.w.Truth
	_, list := s.first()
	n, same := len(s.w.Waters), 0.0
	seen, want := make([]float64, n), make([]float64, n)
	met := 0.0
	for _, x := range list {
		if x.Inspection.Direction != "launching" || len(x.Inspection.LastWaters) == 0 {
			continue
		}
		from, to := s.w.index[x.Inspection.LastWaters[0].Water], s.w.index[x.Inspection.Water]
		seen[from]++
		if from == to {
			same++
		}
		met++
		var into float64
		for i := range n {
			into += tr.Passages[i][to]
		}
		for i := range n {
			want[i] += tr.Passages[i][to] / into
		}
	}
	for i := range n {
		far(t, "craft last in "+s.w.Waters[i].Body.Name, seen[i], want[i], want[i]+1)
	}
	if share := same / met; share < 0.4 || share > 0.95 {
		t.Errorf("%.2f of craft go back to the water they left", share)
	}
}

// What was found of what was aboard follows each steward's true skill, for every kind of thing.
func TestFindingsFollowSkill(t *testing.T) {
	s := theSeason(t)
	type sum struct{ found, want, variance float64 }
	per := map[string]*sum{}
	add := func(key string, it *Item) {
		if per[key] == nil {
			per[key] = &sum{}
		}
		p := per[key]
		if it.Found {
			p.found++
		}
		p.want += it.Chance
		p.variance += it.Chance * (1 - it.Chance)
	}
	findings := map[string]int{}
	ids, list := s.first()
	for i, id := range ids {
		findings[id] = len(list[i].Inspection.Findings)
	}
	for _, a := range s.w.Truth.Met.Aboard {
		found := 0
		for i := range a.Items {
			add(string(a.Items[i].Class), &a.Items[i])
			add(a.Steward, &a.Items[i])
			if a.Items[i].Found {
				found++
			}
		}
		if n, ok := findings[a.Encounter]; ok && (n < found || n > found+1) {
			t.Errorf("encounter %s: %d things found, %d written down", a.Encounter, found, n)
		}
	}
	for key, p := range per {
		far(t, key, p.found, p.want, p.variance+1)
	}
	// Planted objects say the same: all of them together are found as often as skill says.
	skills := map[string]TrueSkill{}
	for _, k := range s.w.Truth.Stewards {
		skills[k.Person] = k
	}
	var found, want, variance float64
	for i := range s.entries {
		if tr, ok := s.bodies[i].(*thwart.Trial); ok {
			k := skills[tr.Steward]
			p := 1 - math.Pow(1-k.Finds[refdata.DetectionClass(tr.Like)], math.Min(k.Pace, 1.5))
			want, variance = want+p, variance+p*(1-p)
			if tr.Found == thwart.Yes {
				found++
			}
		}
	}
	if want == 0 {
		t.Fatal("no trials")
	}
	// A round takes the steward's pace only on average, so that a little is left for the spread between rounds.
	far(t, "planted objects", found, want, variance+math.Pow(0.02*want, 2))
}

// Craft from an infested water carry what lives there as often as the truth says.
func TestCarrying(t *testing.T) {
	s := theSeason(t)
	aboard := map[string]map[string]bool{}
	for _, a := range s.w.Truth.Met.Aboard {
		aboard[a.Encounter] = map[string]bool{}
		for _, it := range a.Items {
			aboard[a.Encounter][it.What] = true
		}
	}
	carried, want := map[string]float64{}, map[string]float64{}
	ids, list := s.first()
	for k, x := range list {
		v := x.Inspection.LastWaters
		if len(v) != 1 || v[0].OutAt == nil || x.Inspection.StartedAt.Sub(*v[0].OutAt) > 100*24*time.Hour {
			continue
		}
		for _, really := range s.w.Waters[s.w.index[v[0].Water]].really {
			want[really.Organism] += rateOf(s.w.Truth.Carrying, really.Organism, v[0].Stay == thwart.StayMoored)
			if aboard[ids[k]][really.Organism] {
				carried[really.Organism]++
			}
		}
	}
	for _, o := range demoOrganisms {
		if want[o] == 0 {
			t.Errorf("nothing came from a water with %s", o)
			continue
		}
		// A few craft have no place where it could ride; a second record of a craft counts twice.
		far(t, o, carried[o], want[o], want[o]+math.Pow(0.03*want[o], 2)+1)
	}
}

// Fenwillow is declared on 18 July and suspected since 1 June. Verdicts given before rest on what was known then.
func TestDeclarationInMidSeason(t *testing.T) {
	s := theSeason(t)
	water := &s.w.Waters[fenwillow]
	before, after := 0, 0
	_, list := s.first()
	for _, x := range list {
		v := x.Inspection.LastWaters
		if len(v) != 1 || v[0].Water != water.ID || v[0].OutAt == nil || x.Inspection.Direction != "launching" || x.Inspection.Water == water.ID {
			continue
		}
		days := x.Inspection.StartedAt.Sub(*v[0].OutAt).Hours() / 24
		switch {
		case x.Inspection.StartedAt.Before(water.LaterAt.Add(-2 * time.Hour)):
			before++
			if x.Verdict.AtRisk {
				t.Errorf("%v: at risk before anybody knew", x.Inspection.StartedAt)
			}
		case x.Inspection.StartedAt.After(water.LaterAt.Add(2*time.Hour)) && days < 30:
			after++
			if !x.Verdict.AtRisk {
				t.Errorf("%v: not at risk after the declaration", x.Inspection.StartedAt)
			}
		}
	}
	if before == 0 || after == 0 {
		t.Errorf("%d craft from there before, %d after", before, after)
	}
}

// The season is of a believable size and make. The bands are wide: they are to catch a slip of the decimal point.
func TestPlausible(t *testing.T) {
	s := theSeason(t)
	_, list := s.first()
	n, invader, mussel, plug, hours := 0.0, 0.0, 0.0, 0.0, 0.0
	outcomes := map[thwart.Outcome]float64{}
	for _, x := range list {
		n++
		outcomes[x.Given()]++
		named, fouled := false, false
		for _, f := range x.Inspection.Findings {
			named = named || f.Organism != "" && f.Organism != "other" || f.Matter == thwart.MatterAttached
			fouled = fouled || f.Matter == thwart.MatterAttached
		}
		if named {
			invader++
		}
		if fouled {
			mussel++
		}
		if x.Inspection.PlugsOut == thwart.No {
			plug++
		}
	}
	for i := range s.heads {
		if sh, ok := s.bodies[s.heads[i]].(*thwart.Shift); ok {
			for _, p := range sh.People {
				for k := range s.w.Stewards {
					if s.w.Stewards[k].ID == p {
						hours += sh.To.Sub(sh.From).Hours()
					}
				}
			}
		}
	}
	refused := 0.0
	for i, e := range s.entries {
		if x, ok := s.bodies[i].(*thwart.Encounter); ok && e.Supersedes == "" && x.Inspection.Refused {
			refused++
		}
	}
	for _, c := range []struct {
		what        string
		got, lo, hi float64
		source      string
	}{
		{"inspections of a whole season", n / 0.3, 12500, 18000, "about 15,000, as the demo is meant to be"},
		{"inspections per steward-hour", n / hours, 1, 2.5, "1.48: Hubbard County, Minnesota, 2016 program report"},
		{"craft with a named invader or an attached animal", invader / n, 0.01, 0.04, "2.10 % with matter attached: Hubbard County, Minnesota, 2016 program report"},
		{"craft with an attached animal", mussel / n, 0.0002, 0.006, "0.07 %: British Columbia, 2016 season; 0.22 %: Hubbard County, 2016; more here on purpose"},
		{"plugs in", plug / n, 0.003, 0.02, "1.15 %: Hubbard County, Minnesota, 2016 program report"},
		{"refusals", refused / n, 0.001, 0.05, "none at most ramps, 15.6 % at two: Massachusetts, 2004 boater survey"},
		{"may launch at once", outcomes[thwart.Launch] / n, 0.6, 0.93, "invented"},
		{"fix here", outcomes[thwart.FixHere] / n, 0.02, 0.2, "invented"},
		{"wash", outcomes[thwart.Wash] / n, 0.01, 0.15, "invented: 10.98 % came from infested water in Hubbard County, and these rules wash or dry all of those"},
		{"dry", outcomes[thwart.DryOut] / n, 0.01, 0.15, "invented"},
		{"hold", outcomes[thwart.Hold] / n, 0.002, 0.04, "invented"},
	} {
		if c.source == "" {
			t.Errorf("%s: no source", c.what)
		}
		if !(c.got >= c.lo && c.got <= c.hi) {
			t.Errorf("%s: %.4g, believable from %g to %g (%s)", c.what, c.got, c.lo, c.hi, c.source)
		}
	}
}

// Washes are logged and judged: most lines are met, some fall short and say why.
func TestWashesAreProved(t *testing.T) {
	s := theSeason(t)
	met, short := 0, 0
	for i := range s.entries {
		x, ok := s.bodies[i].(*thwart.WashDone)
		if !ok {
			continue
		}
		if len(x.Steps) == 0 || x.WaterL <= 0 || x.FuelL <= 0 {
			t.Fatalf("wash %s: %d steps, %g L of water, %g L of fuel", s.entries[i].ID, len(x.Steps), x.WaterL, x.FuelL)
		}
		for _, st := range x.Steps {
			if st.Proof == nil || (st.Outcome == "met") != (st.Proof.Protocol == "met") {
				t.Fatalf("wash %s, %s: %s, but the proof says otherwise", s.entries[i].ID, st.Claim.Part, st.Outcome)
			}
			if st.Outcome == "met" {
				met++
			} else {
				short++
			}
		}
	}
	if met == 0 || short == 0 || short > met/2 {
		t.Errorf("%d lines met, %d short", met, short)
	}
}

func TestOddRecordsAreThere(t *testing.T) {
	s := theSeason(t)
	met := &s.w.Truth.Met
	if len(met.Duplicates) == 0 || len(met.Rushed) == 0 || len(met.Corrected) == 0 {
		t.Errorf("%d pairs, %d rushed, %d corrected", len(met.Duplicates), len(met.Rushed), len(met.Corrected))
	}
	ids, list := s.first()
	at := map[string]*thwart.Encounter{}
	for i, id := range ids {
		at[id] = list[i]
	}
	for _, p := range met.Duplicates {
		a, b := at[p[0]], at[p[1]]
		if a == nil || b == nil || a.Inspection.Steward == b.Inspection.Steward || a.Shift != b.Shift ||
			a.Inspection.Setup.LengthM != b.Inspection.Setup.LengthM {
			t.Errorf("%v is no pair", p)
		}
	}
	for _, id := range met.Rushed {
		if d := at[id].Inspection.EndedAt.Sub(at[id].Inspection.StartedAt); d > 50*time.Second {
			t.Errorf("%s took %v", id, d)
		}
	}
}

func TestIDsAreVersion7OfTheirMoment(t *testing.T) {
	for i, e := range theSeason(t).entries {
		if i%17 != 0 || e.Kind != thwart.KindInspection {
			continue
		}
		ms, err := strconv.ParseInt(e.ID[:8]+e.ID[9:13], 16, 64)
		if err != nil || !thwart.IsID(e.ID) {
			t.Fatalf("%s: %v", e.ID, err)
		}
		if d := e.MadeAt.Sub(time.UnixMilli(ms)); d < 0 || d > time.Hour {
			t.Errorf("%s was made %v after its id says", e.ID, d)
		}
	}
}

func BenchmarkSeason(b *testing.B) {
	for b.Loop() {
		_, seq, err := Generate(Options{Seed: 1})
		if err != nil {
			b.Fatal(err)
		}
		n, size := 0, 0
		for e := range seq {
			n++
			size += len(e.Body)
		}
		b.ReportMetric(float64(n), "entries")
		b.ReportMetric(float64(size)/1e6, "MB")
	}
}

func BenchmarkRegion(b *testing.B) {
	for b.Loop() {
		if _, _, err := Generate(Options{Seed: 1}); err != nil {
			b.Fatal(err)
		}
	}
}
