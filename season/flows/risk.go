package flows

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"thwart"
	"thwart/advice"
	chain "thwart/engine/flows"
	"thwart/engine/num"
	"thwart/engine/traffic"
	"thwart/refdata"
	"thwart/season"
)

// RiskyPassages is risky passages of a season: craft that arrive with the organism alive aboard.
type RiskyPassages struct {
	Arriving num.Interval `json:"arriving" doc:"at the ramp"`
	Through  num.Interval `json:"through" doc:"that no look finds there"`
}

// SiteRisk is the risk at, or from, one place.
type SiteRisk struct {
	Site
	RiskyPassages
}

// PairRisk is the risk between two waters.
type PairRisk struct {
	From     string  `json:"from" doc:"id of the water"`
	To       string  `json:"to" doc:"id of the water"`
	Passages float64 `json:"passages"`
	RiskyPassages
}

// OrganismFlow is the risk of one organism.
type OrganismFlow struct {
	Organism  string        `json:"organism"`
	Total     RiskyPassages `json:"total"`
	Published num.Interval  `json:"carryPublished" doc:"chance that a craft from a water where it lives carries it, before the programme's own finds"`
	Carry     num.Interval  `json:"carry" doc:"the same, after them"`
	Basis     string        `json:"carryBasis"`
	Assumed   bool          `json:"carryAssumed,omitempty" doc:"no published share of this kind is known"`
	Evidence  FindEvidence  `json:"evidence"`
	AliveLo   float64       `json:"aliveLo" doc:"least share alive on arrival, over the times craft had been out of the water"`
	AliveHi   float64       `json:"aliveHi" doc:"largest share"`
	Timed     int           `json:"timed" doc:"craft whose time out of the water is behind this"`
	Find      num.Interval  `json:"find" doc:"chance that a look finds it: the programme's own where ten planted objects and second looks tell, else published"`
	OwnFind   bool          `json:"findOwn,omitempty" doc:"find is the programme's own"`
	Sources   []SiteRisk    `json:"sources" doc:"waters it comes from, the largest first"`
	Waters    []SiteRisk    `json:"waters" doc:"waters it is carried to, the largest first"`
	Launches  []SiteRisk    `json:"launches" doc:"launches it is carried to, the largest first"`
	Pairs     []PairRisk    `json:"pairs" doc:"the largest first, as many as were asked for"`
	NotLooked float64       `json:"notLooked" doc:"passages from waters where nobody has looked for it; not in the risk, and not safe"`
	Unlooked  int           `json:"watersNotLooked" doc:"how many such waters"`
}

// RiskFlows is where the risk comes from.
type RiskFlows struct {
	From      season.Day     `json:"from"`
	To        season.Day     `json:"to"`
	Organisms []OrganismFlow `json:"organisms" doc:"by what gets through, the most first"`
	Assumed   []string       `json:"assumed"`
	Warnings  []Caveat       `json:"warnings"`
	Seed      uint64         `json:"seed"`
	Draws     int            `json:"draws"`
}

// RiskOptions of [RiskFlows].
type RiskOptions struct {
	Organisms []string // nil = all that any water holds
	Top       int      // pairs listed; 0 = 20
}

var assumed = []string{
	"Of suspected waters one in two is taken to be infested (an assumption). Waters where nobody looked are shown apart.",
	"What is alive on arrival is worked out for bare parts in steady air of 20 °C and 60 % humidity, unless other air was given (an assumption); parts that stay wet keep things alive longer.",
	"The chance that a look finds what is aboard is that of the programme's own trials where it has ten of the kind, else the published one for trained people.",
	"Craft that are met and refuse, are passed by or are turned away stop nothing.",
}

// Risk chains passages with the organisms.
func (m *Model) Risk(opt RiskOptions) (RiskFlows, error) {
	r := RiskFlows{From: m.first, To: m.first + season.Day(m.days-1), Assumed: assumed, Warnings: m.warnings, Seed: m.opt.Seed, Draws: m.opt.Draws, Organisms: []OrganismFlow{}}
	if m.why != nil {
		return r, m.why
	}
	names := opt.Organisms
	if names == nil {
		names = m.organisms()
	}
	for _, name := range names {
		o, info, err := m.organism(name)
		if err != nil {
			return r, err
		}
		res, err := m.compute([]chain.Organism{o}, cmp.Or(opt.Top, 20))
		if err != nil {
			return r, err
		}
		m.fill(&info, &o, &res[0])
		r.Organisms = append(r.Organisms, info)
	}
	slices.SortStableFunc(r.Organisms, func(a, b OrganismFlow) int { return cmp.Compare(b.Total.Through.Mid, a.Total.Through.Mid) })
	return r, nil
}

// EachDraw tells, for every draw of the season's risk, what arrives between two waters (by their ids) with an organism alive aboard.
// Means over the draws are those of [Model.Risk].
func (m *Model) EachDraw(organism string, each func(draw int, from, to string, arriving float64)) error {
	if m.why != nil {
		return m.why
	}
	o, _, err := m.organism(organism)
	if err != nil {
		return err
	}
	_, err = m.computeWith([]chain.Organism{o}, 0, func(draw, _, from, to int, arriving float64) { each(draw, m.id(from), m.id(to), arriving) })
	return err
}

// Draws is how many draws of the season's risk there are.
func (m *Model) Draws() int { return m.opt.Draws }

// organism gathers what the chain needs of one.
func (m *Model) organism(name string) (chain.Organism, OrganismFlow, error) {
	e := m.evidence(name)
	published, carry, find, basis, guess, err := m.carrying(name, e)
	if err != nil {
		return chain.Organism{}, OrganismFlow{}, fmt.Errorf("%s: %w", name, err)
	}
	lo, hi, timed := m.aliveOnArrival(name)
	_, own, _ := advice.FindingChance(name, m.team)
	o := chain.Organism{Name: name, Infested: make([]float64, len(m.waters)), Carry: carry, AliveLo: lo, AliveHi: hi, Find: find}
	at := m.lastMoment()
	info := OrganismFlow{
		Organism: name, Published: betaInterval(published), Carry: betaInterval(carry), Basis: basis, Assumed: guess, Evidence: e,
		AliveLo: lo, AliveHi: hi, Timed: timed, Find: betaInterval(find), OwnFind: own,
	}
	row := make([]float64, len(m.waters))
	for i, w := range m.waters {
		s := m.book.WaterAt(w, at).Of(name)
		o.Infested[i] = Infested(s)
		if notLooked(s) {
			info.Unlooked++
			m.table.LogKM(i, row)
			for j := range m.waters {
				if j != i && m.data.Inside[j] {
					info.NotLooked += m.fit.Passages(i, j, row[j], m.counts[[2]int32{int32(i), int32(j)}])
				}
			}
		}
	}
	return o, info, nil
}

func (m *Model) compute(list []chain.Organism, top int) ([]chain.Result, error) {
	return m.computeWith(list, top, nil)
}

func (m *Model) computeWith(list []chain.Organism, top int, each func(draw, organism, from, to int, arriving float64)) ([]chain.Result, error) {
	met := make([]float64, len(m.waters))
	for i, w := range m.waters {
		met[i] = math.Min(1, m.share[w]*m.seen[w])
	}
	p, err := m.passages()
	if err != nil {
		return nil, err
	}
	return chain.Compute(chain.Input{Passages: p, Organisms: list, Met: met, Draws: m.opt.Draws, Seed: m.opt.Seed, Top: top, Each: each})
}

// passages draws flows: the coefficients once per draw, and each pair's own luck given its count.
type passages struct {
	m      *Model
	coef   []traffic.Coefficients
	logKM  []float64
	filled int
}

func (m *Model) passages() (*passages, error) {
	p := &passages{m: m, logKM: make([]float64, len(m.waters)), filled: -1}
	r := num.Stream(m.opt.Seed, "coefficients of traffic")
	for range m.opt.Draws {
		c, err := m.fit.Draw(r)
		if err != nil {
			return nil, err
		}
		p.coef = append(p.coef, c)
	}
	return p, nil
}

// Row fills one water's passages in one draw.
func (p *passages) Row(draw, i int, r *rand.Rand, row []float64) {
	if p.filled != i {
		p.m.table.LogKM(i, p.logKM)
		p.filled = i
	}
	c := &p.coef[draw]
	for j := range row {
		row[j] = 0
		if j == i || !p.m.data.Inside[j] {
			continue
		}
		mean := p.m.fit.Mean(c, i, j, p.logKM[j])
		if math.IsInf(c.Theta, 1) {
			row[j] = mean
			continue
		}
		shape := c.Theta + p.m.counts[[2]int32{int32(i), int32(j)}]
		row[j] = num.Gamma(r, shape) / (c.Theta/mean + p.m.data.Effort[j])
	}
}

// fill writes a result with names.
func (m *Model) fill(info *OrganismFlow, o *chain.Organism, r *chain.Result) {
	info.Total = RiskyPassages(r.Total)
	info.Sources, info.Waters, info.Launches, info.Pairs = []SiteRisk{}, []SiteRisk{}, []SiteRisk{}, []PairRisk{}
	for i := range m.waters {
		if r.From[i].Arriving.Mid > 0 {
			info.Sources = append(info.Sources, SiteRisk{m.water(i), RiskyPassages(r.From[i])})
		}
		if r.Into[i].Arriving.Mid > 0 {
			info.Waters = append(info.Waters, SiteRisk{m.water(i), RiskyPassages(r.Into[i])})
			info.Launches = append(info.Launches, m.byLaunch(i, r.Into[i].Arriving, o.Find.Mean())...)
		}
	}
	for _, list := range [][]SiteRisk{info.Sources, info.Waters, info.Launches} {
		slices.SortStableFunc(list, func(a, b SiteRisk) int { return cmp.Compare(b.Through.Mid, a.Through.Mid) })
	}
	for _, p := range r.Pairs {
		info.Pairs = append(info.Pairs, PairRisk{From: m.id(p.From), To: m.id(p.To), Passages: p.Passages, RiskyPassages: RiskyPassages(p.Amount)})
	}
}

// byLaunch divides what reaches a water over its launches as craft do, and takes off what is found at each.
func (m *Model) byLaunch(i int, arriving num.Interval, find float64) []SiteRisk {
	w := &m.book.Waters[m.waters[i]]
	var all float64
	for _, l := range w.Launches {
		all += m.arrived.Launches[l].Season.Mid
	}
	var out []SiteRisk
	for _, l := range w.Launches {
		lau := &m.book.Launches[l]
		a := &m.arrived.Launches[l]
		here := arriving.Scale(a.Season.Mid / all)
		out = append(out, SiteRisk{
			Site{lau.Subject, lau.Body.Name, lau.Body.At.Lon(), lau.Body.At.Lat()},
			RiskyPassages{here, here.Scale(1 - math.Min(1, a.Share*m.seen[m.waters[i]])*find)},
		})
	}
	return out
}

// DeclarationEffect is what the infestation of one water would change.
type DeclarationEffect struct {
	Water    Site          `json:"water"`
	Organism string        `json:"organism"`
	Was      string        `json:"was" doc:"its status now; empty = not known"`
	Before   RiskyPassages `json:"before" doc:"risky passages of all sources, as things are known now"`
	Added    RiskyPassages `json:"added" doc:"what this water adds"`
	Share    float64       `json:"share" doc:"what it adds as a share of what gets through then"`
	Waters   []SiteRisk    `json:"waters" doc:"where the added risk goes, the most first"`
	Launches []SiteRisk    `json:"launches"`
	Pairs    []PairRisk    `json:"pairs"`
	Warnings []Caveat      `json:"warnings"`
}

// Declare works out what changes when a water is declared infested with an organism. Unknown ids are [thwart.FieldErrors].
func (m *Model) Declare(water, organism string) (DeclarationEffect, error) {
	d := DeclarationEffect{Organism: organism, Warnings: m.warnings}
	if m.why != nil {
		return d, m.why
	}
	k := m.book.Index(water)
	var errs thwart.FieldErrors
	if k == season.None || int(k) >= len(m.book.Waters) || m.book.Waters[k].Subject != water {
		errs = append(errs, thwart.FieldError{Field: "water", Value: water, Accepted: "the id of a water of the programme"})
	} else if m.at[k] == season.None {
		errs = append(errs, thwart.FieldError{Field: "water", Value: water, Accepted: "a water whose position is known"})
	}
	if _, ok := refdata.OrganismByID(organism); !ok {
		errs = append(errs, thwart.FieldError{Field: "organism", Value: organism, Accepted: "an organism of the library (list them with: thwart organisms)"})
	}
	if errs != nil {
		return d, errs
	}
	i := int(m.at[k])
	o, info, err := m.organism(organism)
	if err != nil {
		return d, err
	}
	before, err := m.compute([]chain.Organism{o}, 0)
	if err != nil {
		return d, err
	}
	more := o
	more.Infested = make([]float64, len(m.waters))
	more.Infested[i] = 1 - o.Infested[i]
	added, err := m.compute([]chain.Organism{more}, 20)
	if err != nil {
		return d, err
	}
	m.fill(&info, &more, &added[0])
	d.Water, d.Was = m.water(i), string(m.book.WaterAt(k, m.lastMoment()).Of(organism))
	d.Before, d.Added = RiskyPassages(before[0].Total), RiskyPassages(added[0].Total)
	if all := d.Added.Through.Mid + d.Before.Through.Mid; all > 0 {
		d.Share = d.Added.Through.Mid / all
	}
	d.Waters, d.Launches, d.Pairs = info.Waters, info.Launches, info.Pairs
	return d, nil
}
