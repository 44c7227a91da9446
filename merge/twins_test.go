package merge_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"thwart"
	"thwart/merge"
)

func TestTwinsRule(t *testing.T) {
	a := merge.Look{
		Subject: "a", At: noon, Launch: "L", Class: "bass_boat", LengthM: 5.4, Mark: "m1", LastWater: "w1",
		Direction: "launching", Steward: "s1", Outcome: thwart.Launch,
	}
	for _, c := range []struct {
		name   string
		change func(a, b *merge.Look)
		want   bool
	}{
		{"everything agrees", func(_, _ *merge.Look) {}, true},
		{"20 minutes apart", func(_, b *merge.Look) { b.At = noon.Add(20 * time.Minute) }, true},
		{"more than 20 minutes apart", func(_, b *merge.Look) { b.At = noon.Add(20*time.Minute + time.Second) }, false},
		{"another launch", func(_, b *merge.Look) { b.Launch = "M" }, false},
		{"another class", func(_, b *merge.Look) { b.Class = "pontoon" }, false},
		{"class not known", func(a, b *merge.Look) { a.Class, b.Class = "", "" }, false},
		{"registration alone", func(_, b *merge.Look) { b.LengthM, b.LastWater, b.Direction = 9, "w2", "leaving" }, true},
		{"registrations differ, lengths not near", func(_, b *merge.Look) { b.Mark, b.LengthM = "m2", 5.8 }, false},
		{"no registration, lengths differ", func(a, b *merge.Look) { a.Mark, b.LengthM = "", 6 }, false},
		{"no registration, water differs, not near", func(a, b *merge.Look) { a.Mark, b.LastWater, b.At = "", "w2", noon.Add(11*time.Minute) }, false},
		{"no registration, direction differs, near", func(a, b *merge.Look) { a.Mark, b.Direction, b.LengthM = "", "leaving", 5.7 }, true},
		{"no registration, length 0.5 m apart and direction, water not known", func(a, b *merge.Look) { a.Mark, b.LengthM, b.LastWater = "", 5.9, "" }, true},
		{"no registration, direction alone", func(a, b *merge.Look) { a.Mark, b.LengthM, b.LastWater = "", 6.0, "w2" }, false},
		{"no registration, water and direction, length not known", func(a, b *merge.Look) { a.Mark, b.LengthM = "", 0 }, true},
		{"nothing known but launch and class", func(a, b *merge.Look) {
			a.Mark, a.LengthM, a.LastWater, a.Direction = "", 0, "", ""
			b.Mark, b.LengthM, b.LastWater, b.Direction = "", 0, "", ""
		}, false},
		{"registrations differ, all else agrees", func(_, b *merge.Look) { b.Mark = "m2" }, true},
		{"registrations differ, two agree", func(_, b *merge.Look) { b.Mark, b.LengthM = "m2", 9 }, false},
		{"one person made both", func(a, b *merge.Look) { a.Mark, b.Steward = "", "s1" }, false},
		{"one person made both, one registration", func(_, b *merge.Look) { b.Steward = "s1" }, true},
		{"who looked is not known", func(a, b *merge.Look) { a.Mark, a.Steward = "", "" }, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			x, y := a, a
			y.Subject, y.At, y.Steward, y.Outcome = "b", noon.Add(6*time.Minute), "s2", thwart.FixHere
			c.change(&x, &y)
			pairs := merge.Twins([]merge.Look{y, x})
			if (len(pairs) == 1) != c.want {
				t.Fatalf("%d pairs, want one: %t", len(pairs), c.want)
			}
			if c.want && (pairs[0].A != "a" || pairs[0].B != "b" || pairs[0].Outcome != thwart.FixHere) {
				t.Errorf("%+v: the earlier comes first and the stricter outcome governs", pairs[0])
			}
		})
	}
}

func TestGoverning(t *testing.T) {
	for _, c := range []struct{ a, b, want thwart.Outcome }{
		{thwart.Launch, thwart.FixHere, thwart.FixHere},
		{thwart.Wash, thwart.DryOut, thwart.DryOut},
		{thwart.Launch, thwart.Launch, thwart.Launch},
		{thwart.Launch, "", ""},
		{"", "", ""},
		{"", thwart.Hold, thwart.Hold},
		{"go", thwart.Launch, ""},
	} {
		if x, y := merge.Governing(c.a, c.b), merge.Governing(c.b, c.a); x != c.want || y != c.want {
			t.Errorf("%q and %q: %q, %q; want %q", c.a, c.b, x, y, c.want)
		}
	}
}

// Anything that Twins says must not hang on the order of the records, and a pair must be two known records.
func TestTwinsLaws(t *testing.T) {
	word := func(t *rapid.T, label string) string { return rapid.SampledFrom([]string{"", "x", "y"}).Draw(t, label) }
	rapid.Check(t, func(t *rapid.T) {
		var looks []merge.Look
		for i := range rapid.IntRange(0, 12).Draw(t, "n") {
			looks = append(looks, merge.Look{
				Subject: fmt.Sprint(i), At: noon.Add(time.Duration(rapid.IntRange(0, 40).Draw(t, "minute")) * time.Minute),
				Launch: word(t, "launch"), Class: word(t, "class"), LengthM: rapid.SampledFrom([]float64{0, 5, 5.4, 8}).Draw(t, "length"),
				Mark: word(t, "mark"), LastWater: word(t, "water"), Direction: word(t, "direction"), Steward: word(t, "steward"),
			})
		}
		pairs := merge.Twins(looks)
		again := merge.Twins(rapid.Permutation(looks).Draw(t, "order"))
		if !slices.EqualFunc(pairs, again, func(a, b merge.Pair) bool { return a.A == b.A && a.B == b.B && a.Score == b.Score }) {
			t.Fatalf("%v, then %v", pairs, again)
		}
		for _, p := range pairs {
			if p.A == p.B || p.Apart < 0 || p.Apart > merge.TwinWithin {
				t.Fatalf("%+v", p)
			}
		}
	})
}

// A season on paper: what a programme of 45 launches over 120 days might record. Every number below is an assumption; none is
// published. How many doubles can be found, and how many singles are taken for doubles, depends on how much is written down,
// so there are two programmes: one that asks every motor craft for its registration, and one that writes little down. The aims
// (95 % found, 2 % of singles) are for the first; the second shows what is lost.
const (
	simLaunches  = 45
	simDays      = 120
	simWaters    = 40
	lengthSDM    = 0.15 // of one person's guess, metres
	typoShare    = 0.03 // of written registrations, misread: the hash differs wholly
	waterSlip    = 0.04 // told differently to the second person
	slipShare    = 0.02 // direction ticked wrongly
	classSlip    = 0.01 // class ticked differently by the second person
	leavingShare = 0.30
)

// habits say how much of what is asked is written down.
type habits struct {
	name                string
	mark, length, water float64 // share noted; paddle craft have no registration
	found, wrong        float64 // least share of doubles proposed, most share of singles proposed
}

// classes with their share and length (mean, sd, metres).
var simClasses = []struct {
	name           string
	share, mean, s float64
	paddle         bool
}{
	{"runabout", .26, 5.6, .6, false}, {"bass_boat", .16, 5.7, .4, false}, {"pontoon", .13, 6.8, .7, false},
	{"utility", .14, 4.4, .4, false}, {"kayak", .12, 3.4, .5, true}, {"pwc", .07, 3.1, .2, false},
	{"wake_boat", .05, 6.7, .4, false}, {"canoe", .04, 4.9, .3, true}, {"sailboat", .03, 6.0, 1.2, false},
}

type season struct {
	habits
	rng   *rand.Rand
	looks []merge.Look
	twin  map[string]string
}

// met draws one craft at one launch and time.
func (s *season) met(n int) merge.Look {
	r := s.rng
	l := merge.Look{Subject: id(n)}
	// Busy launches are much busier: the k-th of them has a share of 1/k^0.8.
	launch := int(math.Floor(simLaunches * math.Pow(r.Float64(), 2.5)))
	l.Launch = fmt.Sprintf("launch%02d", launch)
	// Week-ends carry three times a weekday, mornings and late afternoons the most.
	day := r.IntN(simDays)
	for day%7 < 5 && r.Float64() > 1.0/3 {
		day = r.IntN(simDays)
	}
	hour := 6 + 3*math.Abs(r.NormFloat64())
	if r.Float64() < .4 {
		hour = 16 + 2*r.NormFloat64()
	}
	l.At = noon.AddDate(0, 0, day).Add(time.Duration((hour-12)*3600) * time.Second)
	x, class := r.Float64(), simClasses[0]
	for _, c := range simClasses {
		class = c
		if x -= c.share; x < 0 {
			break
		}
	}
	l.Class = class.name
	l.LengthM = class.mean + class.s*r.NormFloat64()
	if !class.paddle {
		l.Mark = fmt.Sprintf("%032x", n)
	}
	// Half come from the water they are about to enter again; the rest from waters near and far.
	water := launch % simWaters
	if r.Float64() > .5 {
		water = int(math.Floor(simWaters * math.Pow(r.Float64(), 2)))
	}
	l.LastWater = fmt.Sprintf("water%02d", water)
	l.Direction = "launching"
	if r.Float64() < leavingShare {
		l.Direction = "leaving"
	}
	// The first fifteen launches have two stewards on duty, the rest one.
	l.Steward = fmt.Sprintf("%s-%d-0", l.Launch, day)
	if launch < 15 && r.Float64() < .5 {
		l.Steward = fmt.Sprintf("%s-%d-1", l.Launch, day)
	}
	return l
}

// noted is what one person writes down of a craft.
func (s *season) noted(l merge.Look) merge.Look {
	r := s.rng
	switch {
	case r.Float64() > s.mark:
		l.Mark = ""
	case l.Mark != "" && r.Float64() < typoShare:
		l.Mark = fmt.Sprintf("%032x", r.Uint64())
	}
	l.LengthM = math.Round(10*(l.LengthM+lengthSDM*r.NormFloat64())) / 10
	if r.Float64() > s.length {
		l.LengthM = 0
	}
	if r.Float64() > s.water {
		l.LastWater = ""
	} else if r.Float64() < waterSlip {
		l.LastWater = fmt.Sprintf("water%02d", r.IntN(simWaters))
	}
	if r.Float64() < slipShare {
		l.Direction = map[string]string{"launching": "leaving", "leaving": "launching"}[l.Direction]
	}
	return l
}

func simulate(h habits, seed uint64, singles, doubles int) *season {
	s := &season{habits: h, rng: rand.New(rand.NewPCG(seed, 6)), twin: map[string]string{}}
	n := 0
	for range singles {
		n++
		s.looks = append(s.looks, s.noted(s.met(n)))
	}
	for range doubles {
		n += 2
		craft := s.met(n - 1)
		first, second := s.noted(craft), s.noted(craft)
		second.Subject = id(n)
		second.Steward += "b" // the second phone at the ramp
		second.At = first.At.Add(time.Duration(s.rng.Float64() * float64(15*time.Minute)))
		if s.rng.Float64() < classSlip {
			second.Class = "utility"
		}
		s.looks = append(s.looks, first, second)
		s.twin[first.Subject], s.twin[second.Subject] = second.Subject, first.Subject
	}
	return s
}

func TestTwinsFindsWhatWasRecordedTwice(t *testing.T) {
	const singles, doubles = 50_000, 1_000
	for _, h := range []habits{
		{"registrations asked", 0.85, 0.97, 0.96, 0.95, 0.02},
		{"little written down", 0.55, 0.90, 0.92, 0.90, 0.04},
	} {
		for seed := range uint64(4) {
			s := simulate(h, seed, singles, doubles)
			before := slices.Clone(s.looks)
			begin := time.Now()
			pairs := merge.Twins(s.looks)
			took := time.Since(begin)
			found, wrong, touched := 0, 0, map[string]bool{}
			for _, p := range pairs {
				if s.twin[p.A] == p.B {
					found++
					continue
				}
				wrong++
				for _, x := range []string{p.A, p.B} {
					if s.twin[x] == "" {
						touched[x] = true
					}
				}
			}
			t.Logf("%s, seed %d: %d of %d pairs proposed, %d other proposals; %.2f %% of %d singles are in one; %s",
				h.name, seed, found, doubles, wrong, 100*float64(len(touched))/singles, singles, took.Round(time.Millisecond))
			if float64(found) < h.found*doubles {
				t.Errorf("%s, seed %d: %d of %d pairs proposed, want %g", h.name, seed, found, doubles, h.found)
			}
			if float64(len(touched)) > h.wrong*singles {
				t.Errorf("%s, seed %d: %d of %d singles proposed, want at most %g", h.name, seed, len(touched), singles, h.wrong)
			}
			if !slices.Equal(before, s.looks) {
				t.Error("the records were changed")
			}
		}
	}
}
