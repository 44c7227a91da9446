package api_test

import (
	"context"
	"fmt"
	"net/http"
	"sync"
	"testing"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/store/storetest"
)

// TestTwoServersOverOneDatabase runs two servers with one key over one PostgreSQL database: phones hand in to either, the
// same batches to both at once, and what one knows the other knows.
func TestTwoServersOverOneDatabase(t *testing.T) {
	dsn := storetest.Postgres(t).DSN(t)
	one := open(t, dsn, nil)
	two := open(t, dsn, nil)
	// Set up once, whichever server is asked.
	got := make([]int, 2)
	var wg sync.WaitGroup
	for i, w := range []*world{one, two} {
		wg.Go(func() {
			got[i] = w.browser().do("POST", "/api/setup", obj{"code": setupCode, "name": "M", "login": fmt.Sprint("m", i), "password": password}).status
		})
	}
	wg.Wait()
	if got[0]+got[1] != http.StatusCreated+http.StatusConflict {
		t.Fatalf("set-ups answered %v", got)
	}
	login := map[bool]string{true: "m0", false: "m1"}[got[0] == http.StatusCreated]
	m := one.browser()
	var me api.SignedIn
	m.want(http.StatusOK, "POST", "/api/sign-in", obj{"login": login, "password": password}).into(t, &me)
	m.person = me.Person
	if page, err := one.store.Subjects(t.Context(), thwart.SubjectQuery{Kind: thwart.KindPerson}); err != nil || len(page.Items) != 1 {
		t.Errorf("%d people after two set-ups at once, %v", len(page.Items), err)
	}
	s := m.season()

	const phones, batches, size = 3, 6, 8
	entered := map[string]bool{}
	var mu sync.Mutex
	for range phones {
		p := m.enrol(m.addPerson("Steward", thwart.RoleSteward), thwart.AccessSteward)
		wg.Go(func() {
			for range batches {
				shift := p.shift(s.launch)
				batch := []any{shift}
				mu.Lock()
				entered[shift.ID] = true
				mu.Unlock()
				for range size {
					e := p.entry(thwart.KindInspection, p.canoe(s, shift.Subject))
					mu.Lock()
					entered[e.ID] = true
					mu.Unlock()
					batch = append(batch, e)
				}
				body := batchOf(t, batch...)
				var both sync.WaitGroup
				for _, w := range []*world{one, two} {
					both.Go(func() {
						q := *p
						q.url = w.srv.URL
						a, err := q.call("POST", "/api/sync", body)
						if err != nil || a.status != http.StatusOK {
							t.Errorf("%v, status %d: %.200s", err, a.status, a.body)
						}
					})
				}
				both.Wait()
			}
		})
	}
	wg.Wait()
	have := map[string]bool{}
	for after := int64(0); ; {
		entries, next, err := two.store.Changes(t.Context(), []thwart.Kind{thwart.KindShift, thwart.KindInspection}, after, 1000)
		if err != nil {
			t.Fatal(err)
		}
		if len(entries) == 0 {
			break
		}
		for _, e := range entries {
			if have[e.ID] || !entered[e.ID] {
				t.Errorf("%s is there twice or was never entered", e.ID)
			}
			have[e.ID] = true
		}
		after = next
	}
	if len(have) != len(entered) || len(have) != phones*batches*(size+1) {
		t.Errorf("%d entries kept of %d", len(have), len(entered))
	}

	// A session of one server holds on the other, and a sign-out on one is noticed by the other within seconds.
	elsewhere := two.browser()
	elsewhere.header.Set("Cookie", cookieOf(m))
	elsewhere.want(http.StatusOK, "GET", "/api/me", nil)
	m.want(http.StatusNoContent, "POST", "/api/sign-out", nil)
	two.clock.add(api.SessionIdle / 2)
	elsewhere.want(http.StatusUnauthorized, "GET", "/api/me", nil)
}

// BenchmarkSync measures whole requests over the loopback, with signature, validation and the verdict computed again, for
// batches of 50 inspections; BenchmarkPut the same rows put into the store directly.
func BenchmarkSync(b *testing.B) {
	_, _, s, p := field(b, nil)
	shift := p.shift(s.launch)
	p.sync(shift)
	for _, judged := range []bool{false, true} {
		b.Run(fmt.Sprintf("judged=%t", judged), func(b *testing.B) {
			bodies := make([][]byte, b.N)
			for i := range bodies {
				bodies[i] = batchOf(b, benchEntries(p, s, shift.Subject, judged)...)
			}
			b.ResetTimer()
			for _, body := range bodies {
				if a, err := p.call("POST", "/api/sync", body); err != nil || a.status != http.StatusOK {
					b.Fatalf("%v, status %d: %.200s", err, a.status, a.body)
				}
			}
			b.ReportMetric(float64(50*b.N)/b.Elapsed().Seconds(), "entries/s")
		})
	}
}

func benchEntries(p *phone, s season, shift string, judged bool) []any {
	batch := make([]any, 50)
	for i := range batch {
		e := p.canoe(s, shift)
		if judged {
			e.Verdict = &thwart.Verdict{Outcome: thwart.Launch}
		}
		batch[i] = p.entry(thwart.KindInspection, e)
	}
	return batch
}

func BenchmarkPut(b *testing.B) {
	w, _, s, p := field(b, nil)
	shift := p.shift(s.launch)
	p.sync(shift)
	batches := make([][]thwart.Kept, b.N)
	for i := range batches {
		for _, e := range benchEntries(p, s, shift.Subject, false) {
			batches[i] = append(batches[i], thwart.Kept{Entry: e.(thwart.Entry), ReceivedAt: w.clock.Now()})
		}
	}
	b.ResetTimer()
	for _, batch := range batches {
		if _, err := w.store.Put(context.Background(), batch); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(50*b.N)/b.Elapsed().Seconds(), "entries/s")
}

// BenchmarkList measures a page of 100 encounters of a season of 10,000, over the loopback.
func BenchmarkList(b *testing.B) {
	w, m, s, p := field(b, nil)
	shift := p.shift(s.launch)
	p.sync(shift)
	for range 200 {
		var batch []thwart.Kept
		for _, e := range benchEntries(p, s, shift.Subject, false) {
			batch = append(batch, thwart.Kept{Entry: e.(thwart.Entry), ReceivedAt: w.clock.Now()})
		}
		if _, err := w.store.Put(context.Background(), batch); err != nil {
			b.Fatal(err)
		}
	}
	b.ResetTimer()
	for b.Loop() {
		m.want(http.StatusOK, "GET", "/api/encounters?limit=100", nil)
	}
}
