package advice_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"testing"

	"thwart"
	"thwart/advice"
	"thwart/internal/casegen"
)

// The promises that hold for every case, checked on seeded cases drawn over all classes, protocols, answers and findings.
// A failure prints the case number; the same number gives the same case.
const seededCases = 100_000

// eachCase runs f on every seeded case, in parallel.
func eachCase(t *testing.T, f func(t *testing.T, r *rand.Rand, cs thwart.Case) error) {
	t.Helper()
	n := seededCases
	if testing.Short() {
		n /= 20
	}
	if runtime.GOOS == "js" { // a tenth of the speed; the two builds are held against each other besides
		n /= 20
	}
	const workers = 4
	var wg sync.WaitGroup
	failed := make(chan error, workers)
	for w := range workers {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := w; i < n; i += workers {
				r := casegen.Rand(i)
				if err := f(t, r, drawCase(r)); err != nil {
					failed <- fmt.Errorf("case %d: %w", i, err)
					return
				}
			}
		}()
	}
	wg.Wait()
	close(failed)
	for err := range failed {
		t.Error(err)
	}
}

// The generator's words, short.
var (
	start       = casegen.Start
	protocolIDs = casegen.ProtocolIDs
	maybe       = casegen.Maybe
	drawFinding = casegen.Finding
	drawCase    = casegen.Draw
)

func pick[T any](r *rand.Rand, list ...T) T { return casegen.Pick(r, list...) }

func clone(cs thwart.Case) thwart.Case {
	b, err := json.Marshal(cs)
	if err != nil {
		panic(err)
	}
	var out thwart.Case
	if err := json.Unmarshal(b, &out); err != nil {
		panic(err)
	}
	if out.Inspection.Setup.Spaces == nil {
		out.Inspection.Setup.Spaces = []thwart.Space{}
	}
	return out
}

// forget replaces one answer of a case by unknown and says which.
func forget(r *rand.Rand, cs *thwart.Case) string {
	in := &cs.Inspection
	acts := []func() string{
		func() string { in.PlugsOut = ""; return "plugsOut" },
		func() string { in.DriveLowered = ""; return "driveLowered" },
		func() string { in.StrainerOut = ""; return "strainerOut" },
		func() string { in.OutOfRegion = ""; return "outOfRegion" },
		func() string { in.Water = ""; return "water" },
		func() string { in.LastWaters = nil; return "lastWaters" },
		func() string { in.WashedAt = nil; return "washedAt" },
		func() string { in.CleanedAt = nil; return "cleanedAt" },
		func() string { in.DryToTouchAt = nil; return "dryToTouchAt" },
		func() string { in.Others = nil; return "others" },
		func() string { cs.Unit = nil; return "unit" },
		func() string { cs.Weather = nil; return "weather" },
		func() string { in.Setup.Drives[0] = thwart.DriveUnknown; return "drives[0]" },
		func() string { in.Setup.Trailer = thwart.TrailerUnknown; return "trailer" },
		func() string { in.Setup.Paint = thwart.PaintUnknown; return "paint" },
	}
	for i := range in.Setup.Spaces {
		acts = append(acts, func() string { in.Setup.Spaces[i].Count = thwart.CountUnknown; return "spaces.count" })
	}
	for i := range in.LastWaters {
		v := &in.LastWaters[i]
		acts = append(acts, func() string { v.Water = ""; return "visit.water" }, func() string { v.OutAt = nil; return "visit.outAt" },
			func() string { v.Stay = ""; return "visit.stay" })
	}
	for i := range in.Checks {
		k := &in.Checks[i]
		acts = append(acts, func() string { k.Looked = ""; return "looked" }, func() string { k.Felt = ""; return "felt" },
			func() string { k.Opened = ""; return "opened" }, func() string { k.Wet = ""; return "wet" },
			func() string { k.RanDry = ""; return "ranDry" }, func() string { *k = thwart.Check{Place: k.Place}; return "check" })
	}
	if in.Others != nil {
		acts = append(acts, func() string { in.Others.Wet = ""; return "others.wet" }, func() string { in.Others.RanDry = ""; return "others.ranDry" })
	}
	for i := range in.Findings {
		f := &in.Findings[i]
		acts = append(acts, func() string { f.Matter = ""; return "matter" }, func() string { f.Organism = ""; return "organism" },
			func() string { f.Confidence = ""; return "confidence" }, func() string { f.Vitality = ""; return "vitality" },
			func() string { f.Removed = ""; return "removed" }, func() string { f.Amount = ""; return "amount" },
			func() string { f.VolumeL = 0; return "volumeL" })
	}
	for i := range cs.Waters {
		w := &cs.Waters[i]
		acts = append(acts, func() string { w.Others = ""; return "water.others" }, func() string { w.MaxTempC = nil; return "water.maxTempC" })
		for o := range w.Status {
			acts = append(acts, func() string { w.Status[o] = ""; return "water.status" })
		}
	}
	if s := in.Seal; s != nil {
		acts = append(acts, func() string { s.Kind = ""; return "seal.kind" }, func() string { s.Issuer = ""; return "seal.issuer" },
			func() string { s.Intact = ""; return "seal.intact" }, func() string { s.Receipt = ""; return "seal.receipt" },
			func() string { s.FittedBy = ""; return "seal.fittedBy" }, func() string { s.Launched = ""; return "seal.launched" },
			func() string { s.RemovedSoon = ""; return "seal.removedEarly" }, func() string { s.HoldEndsAt = nil; return "seal.holdEndsAt" },
			func() string { s.ForWater = ""; return "seal.forWater" })
	}
	return acts[r.IntN(len(acts))]()
}

// Four laws of every verdict:
//
//   - replacing any answer by unknown never gives a milder outcome;
//   - a further finding never improves one;
//   - the order in which answers were written down means nothing;
//   - a launch rests on every standard that the protocol asks for.
func TestLawsOfAVerdict(t *testing.T) {
	var mu sync.Mutex
	forgotten := map[string]int{}
	launches, n := 0, 0
	eachCase(t, func(t *testing.T, r *rand.Rand, cs thwart.Case) error {
		before, err := advice.Judge(cs)
		if err != nil {
			return err
		}
		what, err := unknownNeverHelps(r, cs, before)
		if err != nil {
			return err
		}
		mu.Lock()
		n++
		forgotten[what]++
		if before.Outcome == thwart.Launch {
			launches++
		}
		mu.Unlock()
		if before.Outcome == thwart.Launch {
			for _, s := range before.Standards {
				if s.Required && s.Met != thwart.Yes {
					return fmt.Errorf("launch with %s %q\n%s", s.Standard, s.Met, dump(cs))
				}
			}
		}
		if err := orderMeansNothing(cs, before); err != nil {
			return err
		}
		return findingsNeverHelp(r, cs, before)
	})
	if len(forgotten) < 40 {
		t.Errorf("only %d kinds of answer were forgotten: %v", len(forgotten), forgotten)
	}
	if launches < n/200 {
		t.Errorf("only %d launches among %d cases: too few to try the law", launches, n)
	}
}

func unknownNeverHelps(r *rand.Rand, cs thwart.Case, before thwart.Verdict) (what string, err error) {
	after := clone(cs)
	what = forget(r, &after)
	got, err := advice.Judge(after)
	if err != nil {
		// An unknown drive or trailer changes which places there are; a check of a place that is gone is refused.
		if what == "drives[0]" || what == "trailer" || what == "spaces.count" {
			return what, nil
		}
		return what, fmt.Errorf("%s unknown: %w", what, err)
	}
	if got.Outcome.Rank() < before.Outcome.Rank() {
		return what, fmt.Errorf("%s unknown turned %s into %s under %s\n%s", what, before.Outcome, got.Outcome, cs.ProtocolID, dump(cs))
	}
	return what, nil
}

func findingsNeverHelp(r *rand.Rand, cs thwart.Case, before thwart.Verdict) error {
	places, err := advice.Places(cs.Inspection.Setup)
	if err != nil {
		return err
	}
	cs.Inspection.Findings = append(slices.Clone(cs.Inspection.Findings), drawFinding(r, pick(r, places...).ID))
	got, err := advice.Judge(cs)
	if err != nil {
		return err
	}
	if got.Outcome.Rank() < before.Outcome.Rank() {
		return fmt.Errorf("a finding turned %s into %s\n%s", before.Outcome, got.Outcome, dump(cs))
	}
	return nil
}

func orderMeansNothing(cs thwart.Case, before thwart.Verdict) error {
	turned := clone(cs)
	in := &turned.Inspection
	slices.Reverse(turned.Waters)
	slices.Reverse(in.Checks)
	slices.Reverse(in.LastWaters)
	slices.Reverse(in.Setup.Spaces)
	got, err := advice.Judge(turned)
	if err != nil {
		return err
	}
	if a, b := codes(before), codes(got); !slices.Equal(a, b) || got.Outcome != before.Outcome || got.Now != before.Now {
		return fmt.Errorf("order changed %s %v into %s %v\n%s", before.Outcome, a, got.Outcome, b, dump(cs))
	}
	return nil
}

func codes(v thwart.Verdict) []string {
	var out []string
	for _, r := range v.Reasons {
		out = append(out, fmt.Sprintf("%s %s %s", r.Code, r.Place, r.Outcome))
	}
	slices.Sort(out)
	return out
}

func dump(cs thwart.Case) string {
	b, _ := json.Marshal(cs)
	return string(b)
}
