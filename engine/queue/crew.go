package queue

import (
	"fmt"

	"thwart/engine/num"
)

// Goal is what a crew has to keep: a share of all who come waits at most the target.
type Goal struct {
	TargetMin float64 `json:"targetMin"`
	Share     float64 `json:"share"` // such as 0.95
	Most      int     `json:"most"`  // people at once, at most; 0 = 20
}

func (g *Goal) fill() error {
	if g.Most == 0 {
		g.Most = 20
	}
	if err := num.Within("target wait in minutes", g.TargetMin, 0, 1440); err != nil {
		return err
	}
	if err := share("share within the target", g.Share); err != nil {
		return err
	}
	return wholeWithin("people at most", g.Most, 1, MaxServers)
}

// TooFew says that no crew up to the largest allowed keeps the goal.
type TooFew struct {
	Most int
	Late float64 // share that the largest crew leaves late
}

func (t *TooFew) Error() string {
	return fmt.Sprintf("even %d people leave %.0f %% waiting longer than the target; accepted: a longer wait, a smaller share or more people", t.Most, 100*t.Late)
}

// SmallestCrew is the fewest servers, the same in every open hour, that keep the goal on a day. Hours of d.Servers that are 0 stay
// closed. [TooFew] says that none does.
func SmallestCrew(d Day, g Goal) (servers []int, r DayResult, err error) {
	if err := g.fill(); err != nil {
		return nil, r, err
	}
	open := d.Servers
	for c := 1; c <= g.Most; c++ {
		d.Servers = make([]int, len(open))
		for h, n := range open {
			if n > 0 {
				d.Servers[h] = c
			}
		}
		if r, err = d.Compute(g.TargetMin / 60); err != nil {
			return nil, r, err
		}
		if r.Late <= 1-g.Share {
			return d.Servers, r, nil
		}
	}
	return nil, r, &TooFew{g.Most, r.Late}
}

// SmallestCrews looks for the fewest person-hours by hour that keep the goal on a day: from the smallest even crew it takes away
// one person-hour after another, each where it hurts least, as long as the goal is kept. Every open hour keeps at least one. The
// answer keeps the goal, and no single person-hour can be taken from it; that no other split needs fewer is not proved.
func SmallestCrews(d Day, g Goal) (servers []int, r DayResult, err error) {
	if err := g.fill(); err != nil {
		return nil, r, err
	}
	servers, r, err = SmallestCrew(d, g)
	if err != nil {
		return nil, r, err
	}
	d.Servers = servers
	target := g.TargetMin / 60
	for {
		at, best := -1, r
		for h, n := range servers {
			if n < 2 {
				continue
			}
			servers[h]--
			x, err := d.Compute(target)
			servers[h]++
			if err != nil {
				return nil, r, err
			}
			if x.Late <= 1-g.Share && (at < 0 || x.Late < best.Late) {
				at, best = h, x
			}
		}
		if at < 0 {
			break
		}
		servers[at]--
		r = best
	}
	return servers, r, nil
}
