package cut

// choice is a set of stations under change, with what each water would add or take.
type choice struct {
	g           *Graph
	chosen      []bool
	gain        []float64 // weight that only this node would stop, or (for a chosen one) only it stops
	cost, value float64
	money       float64
}

func (g *Graph) improve(chosen []bool, budget float64) point {
	c := &choice{g: g, chosen: chosen, gain: make([]float64, len(g.nodes)), money: budget}
	c.cost, c.value = g.worth(chosen)
	for k := range g.arcs {
		t, h := g.flow.tail[k], g.flow.head[k]
		if !chosen[h] {
			c.gain[t] += g.arcs[k].Weight
		}
		if !chosen[t] {
			c.gain[h] += g.arcs[k].Weight
		}
	}
	for c.cost > c.money { // too dear: the least missed per money goes
		worst := -1
		for v, on := range c.chosen {
			if on && (worst < 0 || c.gain[v]*g.cost[g.nodes[worst]] < c.gain[worst]*g.cost[g.nodes[v]]) {
				worst = v
			}
		}
		c.flip(worst)
	}
	c.fill(-1)
	const rounds = 40
	for range rounds {
		if !c.swap() {
			break
		}
	}
	c.cost, c.value = g.worth(c.chosen) // without the sums' rounding
	return point{cost: c.cost, value: c.value, chosen: c.chosen}
}

// flip watches a water or stops watching it.
func (c *choice) flip(v int) {
	g, f := c.g, c.g.flow
	sign := 1.0
	if c.chosen[v] {
		sign = -1
	}
	c.value += sign * c.gain[v]
	c.cost += sign * g.cost[g.nodes[v]]
	c.chosen[v] = !c.chosen[v]
	for _, a := range f.adj[f.first[v]:f.first[v+1]] {
		c.gain[f.other(a, int32(v))] -= sign * g.arcs[a].Weight
	}
}

// fill adds the best per money as long as something fits, but for one node.
func (c *choice) fill(not int) {
	for {
		best, most := -1, 0.0
		for v, on := range c.chosen {
			price := c.g.cost[c.g.nodes[v]]
			if on || v == not || c.cost+price > c.money*(1+1e-12) {
				continue
			}
			if r := c.gain[v] / price; r > most {
				best, most = v, r
			}
		}
		if best < 0 || most <= 1e-12*c.g.total {
			return
		}
		c.flip(best)
	}
}

// swap takes each station out in turn and fills up again, and keeps the first change that stops more.
func (c *choice) swap() bool {
	better := false
	for v := range c.chosen {
		if !c.chosen[v] {
			continue
		}
		before := append([]bool(nil), c.chosen...)
		value := c.value
		c.flip(v)
		c.fill(v)
		if c.value > value*(1+1e-12) {
			c.fill(-1)
		}
		if c.value > value*(1+1e-12) {
			better = true
			continue
		}
		for u := range before {
			if before[u] != c.chosen[u] {
				c.flip(u)
			}
		}
	}
	return better
}
