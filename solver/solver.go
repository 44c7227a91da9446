// Package solver runs the HiGHS mixed-integer solver inside this process: the solver is a WebAssembly module, run by wazero,
// so the program stays one file without C, and a crash, an abort or too little memory inside the solver is an error here and
// never the end of the process.
//
// Start with [Open]; the [Engine] is a [mip.Solver] for models of package mip. Every solve has its own instance of the module
// with its own memory, so solves may run at the same time; each runs on one core.
package solver

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"time"

	"github.com/tetratelabs/wazero"

	"thwart/engine/mip"
	"thwart/solver/highs"
)

// Settings of an engine.
type Settings struct {
	// CacheDir keeps the module's machine code between runs of the program: the first start takes seconds, later ones a
	// fraction of one. Empty: kept in memory only.
	CacheDir string
	// MemoryMB is what one solve may take; 0 means 1024. At most 2048: the module's own limit.
	MemoryMB int
}

// Engine holds the compiled module. Use [Open]; close it when done.
type Engine struct {
	runtime wazero.Runtime
	cache   wazero.CompilationCache
	module  wazero.CompiledModule
}

var _ mip.Solver = (*Engine)(nil)

// Open compiles the solver, or loads what was compiled before. It fails when the module is not the one whose names are
// known, or when the cache folder cannot be used.
func Open(ctx context.Context, set Settings) (*Engine, error) {
	if sum := sha256.Sum256(highs.Module); hex.EncodeToString(sum[:]) != highs.SHA256 {
		return nil, fmt.Errorf("%w: the module is not the one its table of names was made for", mip.ErrSolver)
	}
	if set.MemoryMB == 0 {
		set.MemoryMB = 1024
	}
	if set.MemoryMB < 64 || set.MemoryMB > 2048 {
		return nil, fmt.Errorf("memory of %d MB is not accepted; accepted: 64 to 2048", set.MemoryMB)
	}
	e := &Engine{cache: wazero.NewCompilationCache()}
	if set.CacheDir != "" {
		var err error
		if e.cache, err = wazero.NewCompilationCacheWithDir(set.CacheDir); err != nil {
			return nil, fmt.Errorf("folder for the compiled solver: %w", err)
		}
	}
	const pagesPerMB = 16 // a page of WebAssembly memory has 64 KiB
	config := wazero.NewRuntimeConfig().WithMemoryLimitPages(uint32(set.MemoryMB * pagesPerMB)).WithCompilationCache(e.cache)
	e.runtime = wazero.NewRuntimeWithConfig(ctx, config)
	if err := e.compile(ctx); err != nil {
		return nil, errors.Join(err, e.Close(ctx))
	}
	return e, nil
}

func (e *Engine) compile(ctx context.Context) (err error) {
	if e.module, err = e.runtime.CompileModule(ctx, highs.Module); err != nil {
		return fmt.Errorf("%w: %v", mip.ErrSolver, err)
	}
	return provide(ctx, e.runtime, e.module)
}

// Close frees the compiled module.
func (e *Engine) Close(ctx context.Context) error {
	return errors.Join(e.runtime.Close(ctx), e.cache.Close(ctx))
}

// Version names the solver, such as "HiGHS of npm package highs 1.15.3".
func (e *Engine) Version() string { return "HiGHS of npm package highs " + highs.Version }

// grace is how long after a cancelled context the solver may take to come to a halt by itself.
const grace = 20 * time.Second

// Solve runs the solver. When the context ends or the time is up, the best point so far comes back with its bound as
// [mip.Stopped]. The error wraps [mip.ErrSolver] when the module broke down; then there is no point.
func (e *Engine) Solve(ctx context.Context, m *mip.Model, opt mip.Options) (sol mip.Solution, err error) {
	if err := m.Check(); err != nil {
		return sol, err
	}
	if opt.Start != nil && len(opt.Start) != len(m.Vars) {
		return sol, fmt.Errorf("a start of %d values is not accepted for %d variables", len(opt.Start), len(m.Vars))
	}
	if len(m.Vars) == 0 {
		return mip.Solution{Status: mip.Optimal, HasPoint: true, Objective: m.Offset, Bound: m.Offset}, nil
	}
	began := time.Now()
	// The solve itself never sees the caller's context end: the clock it reads jumps ahead instead, it takes that for its own
	// time limit, and hands over what it has. Only if it does not, it is stopped the hard way.
	inner, stop := context.WithCancelCause(context.WithoutCancel(ctx))
	defer stop(nil)
	h := &host{began: began, done: ctx.Done(), hard: inner, log: opt.Log, progress: opt.Progress}
	release := context.AfterFunc(ctx, func() {
		timer := time.AfterFunc(grace, func() { stop(context.Cause(ctx)) })
		context.AfterFunc(inner, func() { timer.Stop() })
	})
	defer release()
	sol, err = e.solve(context.WithValue(inner, hostKey{}, h), h, m, opt)
	sol.Seconds = time.Since(began).Seconds()
	if err != nil && ctx.Err() != nil {
		return mip.Solution{Status: mip.Stopped, Bound: worst(m), Seconds: sol.Seconds, Why: "cancelled before a plan was found"}, nil
	}
	return sol, err
}

func worst(m *mip.Model) float64 {
	if m.Maximise {
		return mip.Inf
	}
	return -mip.Inf
}

func (e *Engine) solve(ctx context.Context, h *host, m *mip.Model, opt mip.Options) (sol mip.Solution, err error) {
	c, err := e.instance(ctx)
	if err != nil {
		return sol, err
	}
	defer c.close()
	defer func() {
		// A call that fails leaves the panic value of [call.must]; anything else is a mistake of ours and goes on up.
		if r := recover(); r != nil {
			broke, ok := r.(breakdown)
			if !ok {
				panic(r)
			}
			sol, err = mip.Solution{}, fmt.Errorf("%w: %s", mip.ErrSolver, h.explain(broke.err))
		}
	}()
	c.options(opt)
	if status := c.pass(m, opt.Relax); status == statusError {
		return sol, fmt.Errorf("%w: it refused the model %q", mip.ErrSolver, m.Name)
	}
	if opt.Start != nil {
		c.start(opt.Start)
	}
	c.must("Highs_run", c.model)
	return c.read(m, opt), nil
}

// Codes of HiGHS: HighsStatus, HighsModelStatus and others of its C header.
const (
	statusError = -1

	modelOptimal           = 7
	modelInfeasible        = 8
	modelUnboundedOrInfeas = 9
	modelUnbounded         = 10
	modelTimeLimit         = 13
	modelIterationLimit    = 14
	modelInterrupt         = 17
	modelMemoryLimit       = 18

	primalFeasible          = 2
	matrixRowwise           = 2
	minimise, maximise      = 1, -1
	continuous, wholeNumber = 0, 1
)

// unlimitedS is the time limit when none was asked for, in seconds.
const unlimitedS = 1e6
