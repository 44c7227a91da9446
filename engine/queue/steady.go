package queue

import (
	"errors"
	"math"

	"thwart/engine/num"
)

// ErlangB is the chance that all c servers are busy when nobody waits (a yard without a queue), for an offered load of a
// erlangs: arrivals per hour times mean service in hours. Recursion B₀ = 1, B_k = a·B_{k-1}/(k + a·B_{k-1}) of Erlang's loss
// formula. A load that is negative or no number, or c below 0, gives NaN.
func ErlangB(a float64, c int) float64 {
	if !(a >= 0) || c < 0 {
		return math.NaN()
	}
	b := 1.0
	for k := 1; k <= c; k++ {
		b = a * b / (float64(k) + a*b)
	}
	return b
}

// ErlangC is the chance to wait at all with c servers and an endless yard, for an offered load of a erlangs. a >= c is [Grows].
func ErlangC(a float64, c int) (float64, error) {
	if err := errors.Join(num.NotNegative("load", a), wholeWithin("servers", c, 1, MaxServers)); err != nil {
		return math.NaN(), err
	}
	rho := a / float64(c)
	if rho >= 1 {
		return math.NaN(), &Grows{rho}
	}
	b := ErlangB(a, c)
	return b / (1 - rho*(1-b)), nil
}

// LoadForBlocking is the offered load in erlangs at which [ErlangB] with c servers is p: the number of an Erlang B table.
func LoadForBlocking(p float64, c int) (float64, error) {
	if err := errors.Join(share("blocking", p), wholeWithin("servers", c, 1, MaxServers)); err != nil {
		return math.NaN(), err
	}
	lo, hi := 0.0, 1.0
	for ErlangB(hi, c) < p {
		hi *= 2
	}
	for range 200 {
		mid := (lo + hi) / 2
		if ErlangB(mid, c) < p {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, nil
}

// Steady is a queue that has settled. Times are hours, lengths are craft.
type Steady struct {
	Utilisation float64 // share of the servers' time that is spent serving
	PEmpty      float64 // chance that nobody is there
	PWait       float64 // chance that a craft which arrives, and stays, has to wait
	PBlocked    float64 // chance that a craft finds the yard full
	Left        float64 // share of arrivals that drive away without being served, blocked ones not counted
	WaitH       float64 // mean wait of those who get in, before service or driving away
	Waiting     float64 // mean number waiting
	Present     float64 // mean number waiting or being served
	tailRate    float64 // of the waiting time, per hour; M/M/c only
}

// MMC is the queue of Erlang: arrivals at random at a rate per hour, exponential service at a rate per server, c servers, an
// endless yard. Utilisation of 1 or more is [Grows].
func MMC(arrivalsPerH, servedPerH float64, c int) (Steady, error) {
	if err := errors.Join(num.NotNegative("arrivals per hour", arrivalsPerH), num.Positive("served per hour", servedPerH)); err != nil {
		return Steady{}, err
	}
	a := arrivalsPerH / servedPerH
	wait, err := ErlangC(a, c)
	if err != nil {
		return Steady{}, err
	}
	rate := float64(c)*servedPerH - arrivalsPerH
	s := Steady{Utilisation: a / float64(c), PWait: wait, WaitH: wait / rate, tailRate: rate}
	s.Waiting = arrivalsPerH * s.WaitH
	s.Present = s.Waiting + a
	// p₀ from the chance that all servers are busy: C = p_c/(1-ρ), p_c = p₀·aᶜ/c!.
	logPc := math.Log(wait * (1 - s.Utilisation))
	lg, _ := math.Lgamma(float64(c) + 1)
	s.PEmpty = 1
	if a > 0 {
		s.PEmpty = math.Exp(logPc - float64(c)*math.Log(a) + lg)
	}
	return s, nil
}

// Over is the chance that a craft waits longer than some hours, P(W > t) = C·exp(-(cμ-λ)t); for [MMC] only.
func (s Steady) Over(hours float64) float64 {
	if hours < 0 {
		return 1
	}
	return s.PWait * math.Exp(-s.tailRate*hours)
}

// Within is the wait in hours that a share p of craft does not exceed; for [MMC] only.
func (s Steady) Within(p float64) float64 {
	if !(p >= 0 && p <= 1) {
		return math.NaN()
	}
	if 1-p >= s.PWait {
		return 0
	}
	return math.Log(s.PWait/(1-p)) / s.tailRate
}

// ErlangA is [MMC] with people who drive away after an exponential patience, left per hour of waiting each. It always settles.
func ErlangA(arrivalsPerH, servedPerH, leavePerH float64, c int) (Steady, error) {
	if err := num.Positive("drive away per hour", leavePerH); err != nil {
		return Steady{}, err
	}
	return birthDeath(arrivalsPerH, servedPerH, leavePerH, c, 0)
}

// MMCK is [MMC] with room for so many craft in all, in service and waiting. It always settles; who finds it full is blocked.
func MMCK(arrivalsPerH, servedPerH float64, c, places int) (Steady, error) {
	if err := wholeWithin("places", places, c, MaxPlaces); err != nil {
		return Steady{}, err
	}
	return birthDeath(arrivalsPerH, servedPerH, 0, c, places)
}

// birthDeath solves the balance equations. places 0 stands for an endless yard, cut off where nothing is left to add.
func birthDeath(lambda, mu, theta float64, c, places int) (Steady, error) {
	if err := errors.Join(num.NotNegative("arrivals per hour", lambda), num.Positive("served per hour", mu), wholeWithin("servers", c, 1, MaxServers)); err != nil {
		return Steady{}, err
	}
	limit := places
	if places == 0 {
		limit = 1 << 22
	}
	// Weights are relative to the largest so far, so that no power of the load overflows.
	weights := []float64{1}
	largest := 1.0
	for n := 1; n <= limit; n++ {
		busy := float64(min(n, c))
		w := weights[n-1] * lambda / (busy*mu + float64(n-min(n, c))*theta)
		weights = append(weights, w)
		if w > 1e200 {
			for i := range weights {
				weights[i] *= 1e-200
			}
			w *= 1e-200
			largest *= 1e-200
		}
		largest = math.Max(largest, w)
		if places == 0 && n > c && w < largest*1e-18 {
			break
		}
	}
	var sum float64
	for _, w := range weights {
		sum += w
	}
	s := Steady{PEmpty: weights[0] / sum}
	var busy, wait float64
	for n, w := range weights {
		p := w / sum
		busy += p * float64(min(n, c))
		s.Waiting += p * float64(n-min(n, c))
		if n >= c && n != places {
			wait += p
		}
	}
	if places > 0 {
		s.PBlocked = weights[places] / sum
	}
	in := lambda * (1 - s.PBlocked)
	s.Utilisation = busy / float64(c)
	s.PWait = wait / (1 - s.PBlocked)
	s.Present = s.Waiting + busy
	if in > 0 {
		s.WaitH = s.Waiting / in
		s.Left = theta * s.Waiting / lambda
	}
	return s, nil
}

// PollaczekKhinchine is the mean wait in hours at one server with random arrivals and any service time: its mean in hours and
// squared coefficient of variation (0 = always the same, 1 = exponential, 1/12 = uniform from 2 to 6 minutes). Utilisation of 1
// or more is [Grows]. Pollaczek 1930, Khinchine 1932.
func PollaczekKhinchine(arrivalsPerH, serviceH, cv2 float64) (float64, error) {
	if err := errors.Join(num.NotNegative("arrivals per hour", arrivalsPerH), num.Positive("service in hours", serviceH), num.NotNegative("squared variation of service", cv2)); err != nil {
		return math.NaN(), err
	}
	rho := arrivalsPerH * serviceH
	if rho >= 1 {
		return math.NaN(), &Grows{rho}
	}
	return rho * serviceH * (1 + cv2) / (2 * (1 - rho)), nil
}

// AllenCunneen approximates the mean wait in hours at c servers with any arrivals and service by the wait of [MMC] times half
// the sum of their squared coefficients of variation. At two servers and fixed service it is about 2 % low. Allen 1990,
// Probability, Statistics and Queueing Theory.
func AllenCunneen(arrivalsPerH, serviceH, arrivalCV2, serviceCV2 float64, c int) (float64, error) {
	if err := errors.Join(num.Positive("service in hours", serviceH), num.NotNegative("squared variation of arrivals", arrivalCV2), num.NotNegative("squared variation of service", serviceCV2)); err != nil {
		return math.NaN(), err
	}
	s, err := MMC(arrivalsPerH, 1/serviceH, c)
	return s.WaitH * (arrivalCV2 + serviceCV2) / 2, err
}

// HalfinWhitt is the chance to wait with a + β√a servers for a large load a: 1/(1 + βΦ(β)/φ(β)). Halfin & Whitt 1981, Oper.
// Res. 29:567-588.
func HalfinWhitt(beta float64) float64 {
	return 1 / (1 + beta*distribution(beta)/density(beta))
}

// HalfinWhittBeta is the β at which [HalfinWhitt] is p.
func HalfinWhittBeta(p float64) (float64, error) {
	if err := share("chance to wait", p); err != nil {
		return math.NaN(), err
	}
	lo, hi := 0.0, 10.0
	for range 200 {
		mid := (lo + hi) / 2
		if HalfinWhitt(mid) > p {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, nil
}

// ServersFor is the fewest servers with which a chance to wait is at most p for a load of a erlangs.
func ServersFor(a, p float64) (int, error) {
	if err := errors.Join(num.NotNegative("load", a), share("chance to wait", p)); err != nil {
		return 0, err
	}
	for c := max(1, int(a)); c <= MaxServers; c++ {
		if wait, err := ErlangC(a, c); err == nil && wait <= p {
			return c, nil
		}
	}
	return 0, &num.RangeError{Field: "load", Value: a, Accepted: "a load that 1000 servers can carry"}
}
