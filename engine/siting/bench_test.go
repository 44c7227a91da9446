package siting_test

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"thwart/engine/num"
	"thwart/engine/siting"
)

// region is a large invented programme: heavy-tailed launches, gravity flows, partners, minimum presence, people, hours, money.
func region(launches, flows int, days []siting.DayType, blocks []siting.Block, seed uint64) *siting.Stations {
	r := num.Stream(seed, "region")
	s := &siting.Stations{
		DayTypes: days, Blocks: blocks, Policy: siting.Both, Organisms: []string{"mussel", "plant"}, Weights: []float64{1, .2},
		Teams: []siting.Team{{People: 1, Find: .75, PerHour: 10, Cost: 25}},
	}
	pull := make([]float64, launches)
	sum := make([]float64, launches+1)
	for l := range pull {
		pull[l] = math.Pow(1-r.Float64(), -1/1.4)
		sum[l+1] = sum[l] + pull[l]
		s.Launches = append(s.Launches, siting.Launch{Name: fmt.Sprint("launch ", l), Partner: fmt.Sprint("partner ", l%8), Setup: 300})
		s.Craft = append(s.Craft, make([]float64, s.Cells()))
	}
	draw := func() int {
		u := r.Float64() * sum[launches]
		lo, hi := 0, launches
		for lo+1 < hi {
			if mid := (lo + hi) / 2; sum[mid] <= u {
				lo = mid
			} else {
				hi = mid
			}
		}
		return lo
	}
	var season float64
	for _, d := range days {
		season += d.Days
	}
	for range flows {
		from, to := draw(), draw()
		if from == to {
			to = (to + 1) % launches
		}
		f := siting.Flow{From: from, To: to, Risk: []float64{.02 * r.Float64(), .1 * r.Float64()}}
		craft := 1 + 20*r.ExpFloat64()
		for c := range s.Cells() {
			d, _ := s.Split(c)
			n := craft * days[d].Days / season / float64(len(blocks)) * (0.5 + r.Float64())
			f.Arrive = append(f.Arrive, n)
			s.Craft[to][c] += 4 * n / days[d].Days // risky craft are a part of all
			s.Craft[from][c] += 4 * n / days[d].Days
		}
		s.Flows = append(s.Flows, f)
	}
	return s
}

func sideConditions(s *siting.Stations, hours float64) {
	s.Limits = siting.Limits{Money: 25 * hours * 1.1, Hours: hours, People: len(s.Launches) / 12, Even: &siting.Even{Share: map[string]float64{}, Within: .05}}
	for i := range 8 {
		s.Limits.Even.Share[fmt.Sprint("partner ", i)] = 1.0 / 8
	}
	for l := range 20 {
		s.Limits.Minimum = append(s.Limits.Minimum, siting.Presence{Launch: 7 * l % len(s.Launches), Hours: 40})
	}
	s.Limits.Partners = []siting.Contract{{Partner: "partner 0", Lo: hours / 12}}
}

// BenchmarkThousandLaunches: 1,000 launches, 4 shifts each, 20,000 flows, both ends, with side conditions, until at most 1 %
// better is possible.
func BenchmarkThousandLaunches(b *testing.B) {
	s := region(1000, 20000, []siting.DayType{{Name: "weekday", Days: 90}, {Name: "free day", Days: 45}}, []siting.Block{{Name: "morning", Hours: 5}, {Name: "afternoon", Hours: 5}}, 5)
	sideConditions(s, 60000)
	for b.Loop() {
		built := build(b, s)
		plan, err := built.Problem.Prove(context.Background(), engine, siting.Proof{Gap: .01, TimeLimit: 50 * time.Second})
		if err != nil {
			b.Fatal(err)
		}
		if !plan.Kept {
			b.Fatal("rules broken: ", built.Problem.Broken(built.Problem.Set(plan.Chosen)))
		}
		b.ReportMetric(100*plan.Better(), "%could-be-better")
		b.ReportMetric(float64(len(built.Problem.Passages)), "passages")
		b.ReportMetric(float64(len(plan.Chosen)), "chosen")
	}
}

// BenchmarkTenBudgets: 60 launches, 14 parts of the week, 10 budgets.
func BenchmarkTenBudgets(b *testing.B) {
	var days []siting.DayType
	for _, n := range []string{"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"} {
		days = append(days, siting.DayType{Name: n, Days: 20})
	}
	s := region(60, 1200, days, []siting.Block{{Name: "morning", Hours: 5}, {Name: "afternoon", Hours: 5}}, 6)
	s.Limits.Money = 0
	var budgets []float64
	for i := range 10 {
		budgets = append(budgets, float64(20000*(i+1)))
	}
	for b.Loop() {
		built := build(b, s)
		worst := 0.0
		plans, err := built.Problem.Frontier(context.Background(), budgets, siting.Effort{}, nil)
		if err != nil {
			b.Fatal(err)
		}
		for _, plan := range plans {
			worst = math.Max(worst, plan.Better())
		}
		b.ReportMetric(100*worst, "%could-be-better")
		b.ReportMetric(float64(len(built.Problem.Passages)), "passages")
	}
}
