package server

import (
	"context"
	"path/filepath"
	"sync"

	"thwart/engine/mip"
	"thwart/solver"
)

// solvers opens the solver when the first computation needs it and keeps it: it takes a second to load and stays the same. Its
// machine code is kept beside the records, so that later starts are quick.
type solvers struct {
	dir string

	mu     sync.Mutex
	engine *solver.Engine
}

func (s *solvers) open(ctx context.Context) (mip.Solver, func(), error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.engine == nil {
		set := solver.Settings{}
		if s.dir != "" {
			set.CacheDir = filepath.Join(s.dir, "solver")
		}
		e, err := solver.Open(context.WithoutCancel(ctx), set)
		if err != nil {
			return nil, nil, err
		}
		s.engine = e
	}
	return s.engine, func() {}, nil
}

func (s *solvers) close(ctx context.Context) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.engine == nil {
		return nil
	}
	return s.engine.Close(ctx)
}
