package season

// pile is a list that grows without being copied.
type pile[T any] struct {
	blocks [][]T
	n      int
}

const pileBlock = 4096

func (p *pile[T]) add(t T) int32 {
	if p.n%pileBlock == 0 {
		size := pileBlock
		if p.n == 0 {
			size = 64 // most piles stay small; the first block grows
		}
		p.blocks = append(p.blocks, make([]T, 0, size))
	}
	last := len(p.blocks) - 1
	p.blocks[last] = append(p.blocks[last], t)
	p.n++
	return int32(p.n - 1)
}

func (p *pile[T]) at(i int32) *T { return &p.blocks[i/pileBlock][i%pileBlock] }

// symbols numbers texts.
type symbols struct {
	of    map[string]int32
	names []string
}

func (s *symbols) get(name string) int32 {
	if n, ok := s.of[name]; ok {
		return n
	}
	n := int32(len(s.names))
	s.of[name] = n
	s.names = append(s.names, name)
	return n
}
