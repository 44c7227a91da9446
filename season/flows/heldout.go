package flows

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"thwart/engine/arrivals"
	"thwart/engine/glm"
	"thwart/engine/traffic"
	"thwart/season"
)

// ModelScore is how well one model foretold the weeks held out.
type ModelScore struct {
	Name     string  `json:"name"`
	LogScore float64 `json:"logScore" doc:"mean logarithm of the chance it gave each pair's count; larger is better"`
	Hits     int     `json:"hits" doc:"of the k pairs with the most craft, how many it had among its k largest"`
	HitRate  float64 `json:"hitRate"`
	Bias     float64 `json:"bias" doc:"craft foretold divided by craft counted"`
}

// HeldOutTest is a test on weeks that the fit did not see: every fourth week of the season.
type HeldOutTest struct {
	Weeks  int          `json:"weeks"`
	Days   int          `json:"daysStaffed"`
	Craft  float64      `json:"craft" doc:"counted in them that came from another water"`
	Pairs  int          `json:"pairs"`
	K      int          `json:"k"`
	Scores []ModelScore `json:"scores" doc:"the model, then simpler ones, then the one with zeros of their own where it can be fitted"`
	Better bool         `json:"better" doc:"the model foretold better than every simpler one"`
	Note   string       `json:"note,omitempty" doc:"why there is no test"`
}

// heldWeek reports whether a day of the season is held out.
func heldWeek(day int) bool { return day/7%4 == 3 }

const hitPairs = 20

// heldOut fits arrivals and traffic to three weeks of four and foretells the fourth.
func (m *Model) heldOut() *HeldOutTest {
	h := &HeldOutTest{K: hitPairs, Scores: []ModelScore{}}
	if m.fit.Pairs > maxChecked {
		h.Note = "not tried: too many pairs"
		return h
	}
	var train, test []arrivals.Hour
	days := map[int]bool{}
	for _, x := range m.hours {
		if heldWeek(x.Day) {
			test = append(test, x)
			days[x.Day] = true
		} else {
			train = append(train, x)
		}
	}
	h.Days = len(days)
	for w := range m.days/7 + 1 {
		if heldWeek(w * 7) {
			h.Weeks++
		}
	}
	data := m.arrivalsData(train)
	withoutWeather(data, heldWeek) // nobody knows the weather of a week ahead
	a, err := arrivals.Fit(data)
	if err != nil || len(test) == 0 {
		h.Note = "the season is too short to hold weeks out"
		return h
	}
	d := *m.data
	d.Effort = m.effortOf(a, train, false)
	ahead := m.effortOf(a, test, true)
	d.Return = make([]float64, len(m.waters))
	inTrain := func(held bool) func(*season.Encounter) bool {
		return func(e *season.Encounter) bool {
			day := int(e.At.Day() - m.first)
			to := m.at[e.Water]
			if to == season.None {
				return false
			}
			if held {
				return heldWeek(day) && ahead[to] > 0
			}
			return !heldWeek(day) && d.Effort[to] > 0
		}
	}
	d.Cells, _ = m.cells(inTrain(false), d.Return)
	_, seen := m.cells(inTrain(true), make([]float64, len(m.waters)))
	list := m.pairsAhead(ahead, seen)
	h.Pairs = len(list)
	for _, p := range list {
		h.Craft += p.y
	}
	if h.Craft < 10 {
		h.Note = fmt.Sprintf("only %.0f craft from other waters were met in the weeks held out", h.Craft)
		return h
	}
	for _, c := range []struct {
		name string
		opt  traffic.Options
	}{
		{"gravity, negative binomial", traffic.Options{}}, {"gravity, Poisson", traffic.Options{Poisson: true}},
		{"distance alone", traffic.Options{Without: []int{1, 2}}}, {"equal shares", traffic.Options{Without: []int{1, 2, 3}}},
	} {
		e, err := traffic.Fit(&d, c.opt)
		if err != nil {
			h.Note = c.name + ": " + err.Error()
			return h
		}
		h.Scores = append(h.Scores, score(c.name, foretold(e), list, h.Craft))
	}
	if f := m.zeroHeavy(&d); f != nil {
		h.Scores = append(h.Scores, score("gravity, zero-inflated", f, list, h.Craft))
	}
	best := h.Scores[0]
	h.Better = true
	for _, s := range h.Scores[2:4] { // the two simpler ones; other counts are no simpler model
		h.Better = h.Better && best.LogScore > s.LogScore
	}
	return h
}

// ahead is one pair in the weeks held out.
type ahead struct {
	i, j      int
	logKM     float64
	effort, y float64
}

func (m *Model) pairsAhead(effort []float64, seen map[[2]int32]float64) []ahead {
	var out []ahead
	row := make([]float64, len(m.waters))
	for i := range m.waters {
		m.table.LogKM(i, row)
		for j := range m.waters {
			if i != j && m.data.Inside[j] && effort[j] > 0 {
				out = append(out, ahead{i, j, row[j], effort[j], seen[[2]int32{int32(i), int32(j)}]})
			}
		}
	}
	return out
}

// effortOf is the share of each water's season that some hours could have met, under arrivals fitted to other hours: usual
// takes days as they usually are, for days whose own luck must not be known.
func (m *Model) effortOf(a *arrivals.Estimate, hours []arrivals.Hour, usual bool) []float64 {
	met := make([]float64, len(m.book.Launches))
	days := a.DayShare
	if usual {
		days = a.DayUsual
	}
	for _, h := range hours {
		met[h.Launch] += h.Exposure * days[h.Day] * a.HourShare[min(m.dayInfo[h.Day].Type, 1)][h.Hour]
	}
	out := make([]float64, len(m.waters))
	for k, w := range m.waters {
		if m.book.Waters[w].Body.Outside {
			continue
		}
		var part, all float64
		for _, l := range m.book.Waters[w].Launches {
			part += a.Launches[l].Season.Mid * met[l]
			all += a.Launches[l].Season.Mid
		}
		if all > 0 {
			out[k] = math.Min(1, part/all*m.answered[w])
		}
	}
	return out
}

// foretelling gives what a model expects of a pair, and the log chance of what was seen.
type foretelling func(p *ahead) (mean, logP float64)

func foretold(e *traffic.Estimate) foretelling {
	at := e.At()
	return func(p *ahead) (float64, float64) {
		mean := p.effort * e.Mean(&at, p.i, p.j, p.logKM)
		return mean, glm.NegBinLogP(p.y, mean, e.Theta)
	}
}

// zeroHeavy is the form with a share of zeros of their own, fitted to the weeks before; nil where it cannot be fitted or is not tried.
func (m *Model) zeroHeavy(d *traffic.Data) foretelling {
	if m.fit.Pairs > maxDense || m.opt.NoEffort {
		return nil
	}
	counts := map[[2]int32]float64{}
	for _, c := range d.Cells {
		counts[[2]int32{c.From, c.To}] += c.Count
	}
	c := m.dense(d, counts)
	c.NegBin = !math.IsInf(m.fit.Theta, 1)
	f, err := glm.FitZeroInflated(c)
	if err != nil {
		return nil
	}
	own := 1 / (1 + math.Exp(-f.Zero.Coef[0])) // the share of zeros of their own
	b := f.Count.Coef
	return func(p *ahead) (float64, float64) {
		usual := p.effort * math.Exp(b[0]+b[1]*math.Log(d.Origin[p.i])+b[2]*math.Log(d.Pull[p.j])-b[3]*p.logKM)
		logP := glm.NegBinLogP(p.y, usual, f.Theta)
		if p.y == 0 {
			return (1 - own) * usual, math.Log(own + (1-own)*math.Exp(logP))
		}
		return (1 - own) * usual, math.Log1p(-own) + logP
	}
}

func score(name string, model foretelling, list []ahead, craft float64) ModelScore {
	s := ModelScore{Name: name}
	mu := make([]float64, len(list))
	total := 0.0
	for k := range list {
		var logP float64
		mu[k], logP = model(&list[k])
		total += mu[k]
		s.LogScore += logP
	}
	s.LogScore /= float64(len(list))
	s.Bias = total / craft
	order := func(value func(int) float64) []int {
		idx := make([]int, len(list))
		for i := range idx {
			idx[i] = i
		}
		slices.SortStableFunc(idx, func(a, b int) int { return cmp.Compare(value(b), value(a)) })
		return idx[:min(hitPairs, len(idx))]
	}
	seen, told := order(func(i int) float64 { return list[i].y }), order(func(i int) float64 { return mu[i] })
	for _, i := range seen {
		if slices.Contains(told, i) {
			s.Hits++
		}
	}
	s.HitRate = float64(s.Hits) / float64(len(seen))
	return s
}
