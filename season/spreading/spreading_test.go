package spreading_test

import (
	"context"
	"errors"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"thwart"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
	"thwart/season/flows"
	"thwart/season/spreading"
	"thwart/season/waiting"
)

var model = sync.OnceValue(func() *flows.Model {
	_, book := demotest.Book(demo.Options{Seed: 1, Scale: 0.03})
	m, err := flows.New(book, flows.Options{Seed: 1, Draws: 20})
	if err != nil {
		panic(err)
	}
	return m
})

func TestForecastOfTheDemo(t *testing.T) {
	m := model()
	q := spreading.Question{Organism: "eurasian_watermilfoil", Years: 5, Runs: 600, Seed: 4}
	told := 0.0
	r, err := spreading.Forecast(t.Context(), m, q, func(f float64, _ string) { told = f })
	if err != nil {
		t.Fatal(err)
	}
	if told < 0.999 || len(r.Years) != 5 || len(r.Cases) < 6 || r.Sources == 0 || len(r.Assumed) < 5 || !strings.Contains(r.Sentence, "5 years") {
		t.Errorf("told %g, %d years, %d cases, %d sources, %q", told, len(r.Years), len(r.Cases), r.Sources, r.Sentence)
	}
	clear, sources, unlooked := 0, 0, 0
	for _, w := range r.Waters {
		switch w.Start {
		case "clear":
			clear++
			if w.Last.Mid != w.Without[4] || w.LastW.Mid > w.Last.Mid || !slices.IsSorted(w.Without) || w.Risky <= 0 {
				t.Errorf("%+v", w)
			}
		case "not_looked":
			unlooked++
			if w.Without[0] != 1 {
				t.Errorf("%s: nobody looked, and it counts as clear", w.Name)
			}
		case "source":
			sources++
		}
	}
	if clear != r.Clear || sources != r.Sources || unlooked != r.Unlooked {
		t.Errorf("%d clear, %d sources, %d not looked at: %+v", clear, sources, unlooked, r)
	}
	if again, err := spreading.Forecast(t.Context(), m, q, nil); err != nil || !reflect.DeepEqual(r, again) {
		t.Errorf("the same seed gave another answer, %v", err)
	}
	// To take for clear what nobody looked at leaves fewer sources, and says so.
	q.UnlookedClear = true
	if open, err := spreading.Forecast(t.Context(), m, q, nil); err != nil || open.Clear < r.Clear || r.Unlooked > 0 && !strings.Contains(strings.Join(open.Warnings, " "), "taken for clear") {
		t.Errorf("%+v, %v", open, err)
	}
}

func TestForecastRefuses(t *testing.T) {
	for field, q := range map[string]spreading.Question{
		"organism": {Organism: "kraken"},
		"years":    {Organism: "zebra_mussel", Years: 99},
		"runs":     {Organism: "zebra_mussel", Runs: 3},
		"alpha":    {Organism: "zebra_mussel", Alpha: -1},
		"plan":     {Organism: "zebra_mussel", Runs: 100, Plan: "none such"},
	} {
		var errs thwart.FieldErrors
		if _, err := spreading.Forecast(t.Context(), model(), q, nil); !errors.As(err, &errs) || errs[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := spreading.Forecast(ctx, model(), spreading.Question{Organism: "zebra_mussel"}, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

func TestWaitsOfTheDemo(t *testing.T) {
	q := waiting.Question{Times: 3, TargetMin: 8, Seed: 2}
	r, err := waiting.Answer(model(), q)
	if err != nil {
		t.Fatal(err)
	}
	if r.Launch.Name == "" || len(r.Rates) != 14 || len(r.Looks) < 3 || len(r.Shown.Hours) != 14 || len(r.Shown.Sample) == 0 {
		t.Errorf("%+v", r)
	}
	for i := 1; i < len(r.Staffings); i++ {
		a, b := r.Staffings[i-1], r.Staffings[i]
		if b.WaitMin.Mid > a.WaitMin.Mid || b.Late.Mid > a.Late.Mid || b.Utilisation >= a.Utilisation {
			t.Errorf("%d stewards do worse than %d", b.Stewards, a.Stewards)
		}
	}
	if last := r.Staffings[len(r.Staffings)-1]; !last.Keeps || len(r.Smallest) != 14 || r.SmallLate > 0.05 {
		t.Errorf("%+v, %v late %g", last, r.Smallest, r.SmallLate)
	}
	q.Times = 20
	if r, err = waiting.Answer(model(), q); err != nil || !r.Staffings[0].Grows || !strings.Contains(r.Staffings[0].Words, "queue grows without limit") {
		t.Errorf("%+v, %v", r, err)
	}
	for field, q := range map[string]waiting.Question{
		"day": {Day: "doomsday"}, "launch": {Launch: "nowhere"}, "stewards": {Stewards: []int{1, 2}}, "to": {From: 9, To: 8}, "times": {Times: 99},
	} {
		var errs thwart.FieldErrors
		if _, err := waiting.Answer(model(), q); !errors.As(err, &errs) || errs[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
}
