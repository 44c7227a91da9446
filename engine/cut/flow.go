package cut

// flow is a maximum-flow problem on source → left → right → sink that is solved again and again with dearer and dearer
// boundary arcs. The middle arcs keep their capacity, so what flows at one price is still a flow at a higher one, and the
// next solve goes on from there.
//
// It is the first phase of Goldberg & Tarjan's push-relabel method (J. ACM 35 (1988) 921-940) with highest labels first, the
// gap heuristic and global relabelling: after it the value of the flow and a minimum cut are known, and that is all that is
// needed. Capacities are whole numbers, so nothing is lost and the end is certain.
type flow struct {
	left, nodes int
	// Arcs in order of their left node: arc a goes from tail[a] to head[a]. first[v] … first[v+1] are the places in adj of
	// node v's arcs.
	tail, head []int32
	first      []int32
	adj        []int32 // arc numbers
	cap, on    []int64 // of the middle arcs: capacity, flow
	outside    []int64 // capacity of each node's arc to source (left) or sink (right)
	through    []int64 // flow on it
	excess     []int64
	level      []int32
	current    []int32
	buckets    [][]int32 // active nodes by level
	count      []int32   // nodes by level
	queue      []int32
	top        int32
	work       int
}

func newFlow(left, right int, tail, head []int32, capacity []int64) *flow {
	n := left + right
	f := &flow{
		left: left, nodes: n, tail: tail, head: head, cap: capacity, on: make([]int64, len(capacity)),
		first: make([]int32, n+1), adj: make([]int32, 2*len(capacity)),
		outside: make([]int64, n), through: make([]int64, n), excess: make([]int64, n),
		level: make([]int32, n), current: make([]int32, n), buckets: make([][]int32, n+2), count: make([]int32, n+2),
	}
	for a := range tail {
		f.first[tail[a]+1]++
		f.first[head[a]+1]++
	}
	for v := range n {
		f.first[v+1] += f.first[v]
	}
	next := append([]int32(nil), f.first[:n]...)
	for a := range tail {
		for _, v := range [2]int32{tail[a], head[a]} {
			f.adj[next[v]] = int32(a)
			next[v]++
		}
	}
	return f
}

// snapshot of a flow, to go on from.
type snapshot struct{ on, through, excess []int64 }

func (f *flow) save() *snapshot {
	clone := func(v []int64) []int64 { return append([]int64(nil), v...) }
	return &snapshot{clone(f.on), clone(f.through), clone(f.excess)}
}

// load puts a saved flow back; nil empties the network.
func (f *flow) load(s *snapshot) {
	if s == nil {
		clear(f.on)
		clear(f.through)
		clear(f.excess)
		return
	}
	copy(f.on, s.on)
	copy(f.through, s.through)
	copy(f.excess, s.excess)
}

// run raises the boundary capacities, which may not shrink, and pushes as much as goes through. It returns what reaches the
// sink. Afterwards [flow.toSink] tells the sides of a minimum cut.
func (f *flow) run(outside []int64) int64 {
	copy(f.outside, outside)
	for v := range f.left { // all the source can give lies at the left nodes
		f.excess[v] += f.outside[v] - f.through[v]
		f.through[v] = f.outside[v]
	}
	f.relabelAll()
	for f.top >= 0 {
		b := f.buckets[f.top]
		if len(b) == 0 {
			f.top--
			continue
		}
		v := b[len(b)-1]
		f.buckets[f.top] = b[:len(b)-1]
		if f.level[v] != f.top || f.excess[v] == 0 {
			continue // raised by a gap since it was put here
		}
		f.discharge(v)
		if f.work > 12*f.nodes+len(f.cap) {
			f.relabelAll()
		}
	}
	f.relabelAll()
	var value int64
	for v := f.left; v < f.nodes; v++ {
		value += f.through[v]
	}
	return value
}

// toSink reports whether the sink can still be reached from a node: the sink's side of the cut.
func (f *flow) toSink(v int) bool { return f.level[v] < f.far() }

// far is the level of nodes out of play: beyond the longest way to the sink, which passes every node.
func (f *flow) far() int32 { return int32(f.nodes) + 1 }

// room is how much more an arc takes from one of its ends.
func (f *flow) room(a, from int32) int64 {
	if f.tail[a] == from {
		return f.cap[a] - f.on[a]
	}
	return f.on[a]
}

func (f *flow) other(a, v int32) int32 {
	if f.tail[a] == v {
		return f.head[a]
	}
	return f.tail[a]
}

// relabelAll sets every level to the exact distance to the sink, by a search from there. Nodes that cannot reach it are put
// out of play.
func (f *flow) relabelAll() {
	f.work = 0
	far := f.far()
	q := f.queue[:0]
	for v := range f.level {
		f.level[v] = far
	}
	for v := f.left; v < f.nodes; v++ {
		if f.outside[v] > f.through[v] {
			f.level[v] = 1
			q = append(q, int32(v))
		}
	}
	for i := 0; i < len(q); i++ {
		v := q[i]
		for _, a := range f.adj[f.first[v]:f.first[v+1]] {
			if u := f.other(a, v); f.level[u] == far && f.room(a, u) > 0 {
				f.level[u] = f.level[v] + 1
				q = append(q, u)
			}
		}
	}
	f.queue = q
	for i := range f.buckets {
		f.buckets[i] = f.buckets[i][:0]
	}
	clear(f.count)
	copy(f.current, f.first[:f.nodes])
	f.top = -1
	for v := range f.level {
		f.count[f.level[v]]++
		if f.excess[v] > 0 && f.level[v] < far {
			f.activate(int32(v))
		}
	}
}

func (f *flow) activate(v int32) {
	l := f.level[v]
	f.buckets[l] = append(f.buckets[l], v)
	f.top = max(f.top, l)
}

// discharge pushes a node's excess on until none is left or it is out of play.
func (f *flow) discharge(v int32) {
	for {
		if int(v) >= f.left && f.level[v] == 1 {
			if d := min(f.excess[v], f.outside[v]-f.through[v]); d > 0 {
				f.through[v] += d
				f.excess[v] -= d
			}
			if f.excess[v] == 0 {
				return
			}
		}
		end := f.first[v+1]
		for f.current[v] < end {
			a := f.adj[f.current[v]]
			u := f.other(a, v)
			if f.level[u] == f.level[v]-1 {
				if f.push(a, v, u); f.excess[v] == 0 {
					return
				}
			}
			f.current[v]++
		}
		if !f.raise(v) {
			return
		}
	}
}

func (f *flow) push(a, v, u int32) {
	d := min(f.excess[v], f.room(a, v))
	if d == 0 {
		return
	}
	if f.tail[a] == v {
		f.on[a] += d
	} else {
		f.on[a] -= d
	}
	if f.excess[u] == 0 {
		f.activate(u)
	}
	f.excess[u] += d
	f.excess[v] -= d
}

// raise lifts a node above its lowest neighbour with room; false when it is out of play.
func (f *flow) raise(v int32) bool {
	old, lowest := f.level[v], f.far()
	if int(v) >= f.left && f.outside[v] > f.through[v] {
		lowest = 0
	}
	for _, a := range f.adj[f.first[v]:f.first[v+1]] {
		if u := f.other(a, v); f.level[u] < lowest && f.room(a, v) > 0 {
			lowest = f.level[u]
		}
	}
	f.work += int(f.first[v+1]-f.first[v]) + 4
	f.count[old]--
	f.level[v] = min(lowest+1, f.far())
	f.count[f.level[v]]++
	f.current[v] = f.first[v]
	if f.count[old] == 0 {
		f.gap(old)
	}
	return f.level[v] < f.far()
}

// gap puts every node above an empty level out of play: none of them can reach the sink.
func (f *flow) gap(empty int32) {
	far := f.far()
	for v := range f.level {
		if l := f.level[v]; l > empty && l < far {
			f.count[l]--
			f.level[v] = far
			f.count[far]++
		}
	}
}
