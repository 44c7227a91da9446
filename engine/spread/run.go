package spread

import (
	"context"
	"math"
	"math/bits"
	"math/rand/v2"
	"runtime"
	"sync"
	"sync/atomic"
)

// The two courses of events that are simulated on the same luck.
const (
	Without = 0 // the plan
	With    = 1
)

// Run simulates. Each run has a stream of its own from the seed and its number, and counts are whole numbers, so the answer does
// not depend on how runs are shared out. It ends early with the context's error when the context ends.
//
// How one run goes: every clear water draws an exponential clock T. Its hazard in a year is h = (αN)^c, and it falls in the first
// year at whose end the hazards add up to T, which has exactly the chance 1 - exp(-h) in each year. Hazards change only when a
// water that sends craft there falls, so a run touches the waters at the frontier once at its start and the targets of waters
// that fall; both courses read the same clocks, so a plan that stops something never makes a water fall earlier.
func Run(ctx context.Context, net *Network, opt Options) (*Result, error) {
	if err := opt.check(net); err != nil {
		return nil, err
	}
	m := prepare(net, &opt)
	workers := opt.Workers
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	workers = min(workers, (opt.Runs+chunk-1)/chunk)
	var next, done atomic.Int64
	var told sync.Mutex
	var wg sync.WaitGroup
	all := make([]*worker, workers)
	for k := range all {
		w := m.worker()
		all[k] = w
		wg.Go(func() {
			for ctx.Err() == nil {
				from := int(next.Add(chunk)) - chunk
				if from >= opt.Runs {
					return
				}
				to := min(from+chunk, opt.Runs)
				for r := from; r < to; r++ {
					w.run(uint64(r))
				}
				n := done.Add(int64(to - from))
				if opt.Tell != nil {
					told.Lock()
					opt.Tell(float64(n) / float64(opt.Runs))
					told.Unlock()
				}
			}
		})
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return m.result(all), nil
}

// chunk is how many runs a worker takes at a time.
const chunk = 16

// model is what all workers read.
type model struct {
	opt     *Options
	waters  int
	courses int
	// Passages between waters that are clear at the start, as in a [Network].
	start []int32
	arcs  [2][]arc // by course
	// frontier lists clear waters that get risky passages at the start; pressure is how many, by water, and logSuits ln of suits.
	frontier []int32
	pressure [2][]float64
	logSuits []float64
	// rates are the hazards of a year at the start, where α and c are the same in every run; nil otherwise.
	rates [2][]float64
	// fallen counts new infestations by run and year, one row of years per run.
	fallen [2][]int32
}

func prepare(net *Network, opt *Options) *model {
	m := &model{opt: opt, waters: net.Waters(), courses: 1}
	if net.Stopped != nil {
		m.courses = 2
	}
	for s := range m.courses {
		m.fallen[s] = make([]int32, opt.Runs*opt.Years)
		m.pressure[s] = make([]float64, m.waters)
	}
	m.start = append(make([]int32, 0, m.waters+1), 0)
	for i := range m.waters {
		for k := net.Start[i]; k < net.Start[i+1]; k++ {
			m.arc(net, i, k)
		}
		m.start = append(m.start, int32(len(m.arcs[Without])))
	}
	if opt.Suits != nil {
		m.logSuits = make([]float64, m.waters)
		for i, s := range opt.Suits {
			m.logSuits[i] = math.Log(s)
		}
	}
	if opt.Prior == nil {
		m.cacheRates()
	}
	for j, x := range m.pressure[Without] {
		if x > 0 && !opt.Infested[j] {
			m.frontier = append(m.frontier, int32(j))
		}
	}
	return m
}

// arc takes the passages k out of water i: into what starts the years with, or into what may come.
func (m *model) arc(net *Network, i int, k int32) {
	j := net.To[k]
	if m.opt.Infested[j] || net.Risky[k] == 0 {
		return
	}
	x := [2]float32{net.Risky[k]}
	if net.Stopped != nil {
		x[With] = float32(float64(x[Without]) * (1 - float64(net.Stopped[k])*m.opt.Compliance))
	}
	for s := range m.courses {
		if m.opt.Infested[i] {
			m.pressure[s][j] += float64(x[s])
		} else {
			m.arcs[s] = append(m.arcs[s], arc{j, x[s]})
		}
	}
}

// arc is what is let through from one water to another.
type arc struct {
	to    int32
	risky float32
}

// water is what a worker knows of a water in the course it is at: half a line of the cache, for passages reach waters in no order.
type water struct {
	pressure float64
	rate     float64 // hazard of a year as things stood when since began
	spent    float64 // hazard used up by then
	mark     uint32  // number of the course that all other fields belong to
	since    uint8   // year until whose end spent reckons
	due      uint8   // year in which it falls as things stand; 0 = not within the years
	fell     bool
	known    bool // rate is set
}

// worker has the working memory of one goroutine. Nothing is allocated while runs go on, once its lists have grown.
type worker struct {
	m      *model
	falls  [2][]int32 // new infestations by year and water
	pcg    rand.PCG
	rng    *rand.Rand
	number uint32 // of the course, from 1
	waters []water
	byYear [][]int32 // waters that may fall, by year
	dirty  []uint64  // targets of waters that fell this year, a bit for each: they are gone through in the order of memory
}

func (m *model) worker() *worker {
	w := &worker{m: m, waters: make([]water, m.waters), byYear: make([][]int32, m.opt.Years+1), dirty: make([]uint64, (m.waters+63)/64)}
	for s := range m.courses {
		w.falls[s] = make([]int32, m.opt.Years*m.waters)
	}
	w.rng = rand.New(&w.pcg)
	return w
}

// run is one repetition of all years, for each course.
func (w *worker) run(number uint64) {
	m := w.m
	w.pcg.Seed(m.opt.Seed, number)
	key := w.pcg.Uint64()
	alpha, c := m.opt.Alpha, m.opt.C
	if p := m.opt.Prior; p != nil {
		alpha *= math.Exp(w.rng.NormFloat64() * math.Log(p.AlphaFactor) / 1.96)
		c = math.Max(0.1, c+(2*w.rng.Float64()-1)*p.CHalf)
	}
	for s := range m.courses {
		w.course(s, number, key, math.Log(alpha), c)
	}
}

// unit is the luck of a water in a run: a number above 0 and below 1 that depends on both alone. It is the finaliser of SplitMix64
// (Steele, Lea & Flood 2014, OOPSLA) on the run's key and the water's number.
func unit(key uint64, water int32) float64 {
	z := key + (uint64(water)+1)*0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	z ^= z >> 31
	return (float64(z>>11) + 0.5) * 0x1p-53
}

func (w *worker) course(s int, number, key uint64, logAlpha, c float64) {
	m := w.m
	years := int32(m.opt.Years)
	w.number++ // each course of each run has its own mark
	for y := range w.byYear {
		w.byYear[y] = w.byYear[y][:0]
	}
	for _, j := range m.frontier {
		n := m.pressure[s][j]
		if n == 0 {
			continue
		}
		h := m.startRate(s, j, n, logAlpha, c)
		u := unit(key, j)
		if u > h*float64(years) { // the chance 1-exp(-hy) is below hy: it cannot fall from this alone
			continue
		}
		if y := -math.Log1p(-u) / h; y <= float64(years) {
			w.waters[j] = water{mark: w.number, pressure: n, rate: h, known: true}
			w.plan(j, fallYear(y, years))
		}
	}
	fallen := m.fallen[s][int(number)*int(years):]
	for y := int32(1); y <= years; y++ {
		for at := 0; at < len(w.byYear[y]); at++ {
			j := w.byYear[y][at]
			x := &w.waters[j]
			if x.fell || int32(x.due) != y {
				continue
			}
			x.fell = true
			fallen[y-1]++
			w.falls[s][int(y-1)*m.waters+int(j)]++
			if y < years {
				w.send(s, j)
			}
		}
		for at, set := range w.dirty {
			for ; set != 0; set &= set - 1 {
				w.reckon(s, int32(at<<6+bits.TrailingZeros64(set)), y, years, key, logAlpha, c)
			}
			w.dirty[at] = 0
		}
	}
}

func (w *worker) plan(j, year int32) {
	w.waters[j].due = uint8(year)
	w.byYear[year] = append(w.byYear[year], j)
}

// fallYear is the year in which a clock of so many years ends, from 1.
func fallYear(y float64, years int32) int32 { return min(years, max(1, int32(math.Ceil(y)))) }

func (m *model) hazard(j int32, n, logAlpha, c float64) float64 {
	if m.opt.Prior == nil && m.logSuits == nil { // the usual powers without logarithms
		switch x := m.opt.Alpha * n; c {
		case 1:
			return x
		case 1.5:
			return x * math.Sqrt(x)
		case 2:
			return x * x
		}
	}
	x := logAlpha + math.Log(n)
	if m.logSuits != nil {
		x += m.logSuits[j]
	}
	return math.Exp(c * x)
}

func (m *model) cacheRates() {
	logAlpha := math.Log(m.opt.Alpha)
	for s := range m.courses {
		m.rates[s] = make([]float64, m.waters)
		for j, n := range m.pressure[s] {
			if n > 0 {
				m.rates[s][j] = m.hazard(int32(j), n, logAlpha, m.opt.C)
			}
		}
	}
}

// startRate is the hazard of a year at the start.
func (m *model) startRate(s int, j int32, n, logAlpha, c float64) float64 {
	if m.rates[s] != nil {
		return m.rates[s][j]
	}
	return m.hazard(j, n, logAlpha, c)
}

// send adds what goes out of a water that fell, for the years after.
func (w *worker) send(s int, from int32) {
	m, mark := w.m, w.number
	before := m.pressure[s]
	waters, dirty := w.waters, w.dirty
	for _, a := range m.arcs[s][m.start[from]:m.start[from+1]] {
		x := &waters[a.to]
		if x.mark != mark {
			*x = water{mark: mark, pressure: before[a.to]}
		}
		x.pressure += float64(a.risky)
		dirty[a.to>>6] |= 1 << (a.to & 63)
	}
}

// reckon finds when a water falls whose pressure changes after year y.
func (w *worker) reckon(s int, j, y, years int32, key uint64, logAlpha, c float64) {
	m, x := w.m, &w.waters[j]
	if x.fell {
		return
	}
	if !x.known {
		x.known = true
		if before := m.pressure[s][j]; before > 0 {
			x.rate = m.startRate(s, j, before, logAlpha, c)
		}
	}
	x.spent += x.rate * float64(y-int32(x.since))
	x.since = uint8(y)
	x.due = 0
	x.rate = m.hazard(j, x.pressure, logAlpha, c)
	most := x.rate * float64(years-y)
	u := unit(key, j)
	if u > x.spent+most { // the clock, -ln(1-u), lies beyond u, so there is no need to look at it
		return
	}
	if left := -math.Log1p(-u) - x.spent; left <= most {
		w.plan(j, y+fallYear(left/x.rate, years-y))
	}
}
