package solver

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"

	"thwart/engine/mip"
	"thwart/solver/highs"
)

// call is one instance of the module and the model in it.
type call struct {
	ctx   context.Context
	mod   api.Module
	mem   api.Memory
	fn    map[string]api.Function
	model uint64 // the solver's handle
}

// breakdown is what must panics with; Engine.solve turns it into an error.
type breakdown struct{ err error }

func (e *Engine) instance(ctx context.Context) (*call, error) {
	mod, err := e.runtime.InstantiateModule(ctx, e.module, wazero.NewModuleConfig().WithName("").WithStartFunctions())
	if err != nil {
		return nil, fmt.Errorf("%w: %v", mip.ErrSolver, err)
	}
	c := &call{ctx: ctx, mod: mod, mem: mod.ExportedMemory(highs.Exports["memory"]), fn: map[string]api.Function{}}
	for name, short := range highs.Exports {
		if name != "memory" {
			c.fn[name] = mod.ExportedFunction(short)
		}
	}
	if _, err := c.fn["call_ctors"].Call(ctx); err != nil {
		c.close()
		return nil, fmt.Errorf("%w: %v", mip.ErrSolver, err)
	}
	out, err := c.fn["Highs_create"].Call(ctx)
	if err != nil {
		c.close()
		return nil, fmt.Errorf("%w: %v", mip.ErrSolver, err)
	}
	c.model = out[0]
	return c, nil
}

func (c *call) close() { _ = c.mod.Close(context.WithoutCancel(c.ctx)) }

// must calls a function of the module and gives its 32-bit result.
func (c *call) must(name string, args ...uint64) int32 {
	out, err := c.fn[name].Call(c.ctx, args...)
	if err != nil {
		panic(breakdown{err})
	}
	if len(out) == 0 {
		return 0
	}
	return int32(uint32(out[0]))
}

func (c *call) alloc(bytes int) uint32 {
	p := uint32(c.must("malloc", uint64(max(bytes, 8))))
	if p == 0 {
		panic(breakdown{errMemory})
	}
	return p
}

// put copies bytes into the module's memory.
func (c *call) put(b []byte) uint64 {
	p := c.alloc(len(b))
	if !c.mem.Write(p, b) {
		panic(breakdown{errMemory})
	}
	return uint64(p)
}

func (c *call) text(s string) uint64 { return c.put(append([]byte(s), 0)) }

func (c *call) floats(v []float64) uint64 {
	b := make([]byte, 8*len(v))
	for i, x := range v {
		binary.LittleEndian.PutUint64(b[8*i:], math.Float64bits(x))
	}
	return c.put(b)
}

func (c *call) ints(v []int32) uint64 {
	b := make([]byte, 4*len(v))
	for i, x := range v {
		binary.LittleEndian.PutUint32(b[4*i:], uint32(x))
	}
	return c.put(b)
}

func (c *call) readFloats(at uint32, n int) []float64 {
	b, ok := c.mem.Read(at, uint32(8*n))
	if !ok {
		panic(breakdown{errMemory})
	}
	out := make([]float64, n)
	for i := range out {
		out[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
	}
	return out
}

func (c *call) free(pointers ...uint64) {
	for _, p := range pointers {
		c.must("free", p)
	}
}

func (c *call) setFloat(name string, v float64) {
	p := c.text(name)
	c.must("Highs_setDoubleOptionValue", c.model, p, api.EncodeF64(v))
	c.free(p)
}

func (c *call) setInt(name string, v int) {
	p := c.text(name)
	c.must("Highs_setIntOptionValue", c.model, p, uint64(uint32(v)))
	c.free(p)
}

// relGap is the solver's own default, kept for models where everything is proved: what is left is below its tolerances.
const relGap = 1e-9

func (c *call) options(opt mip.Options) {
	limit := unlimitedS
	if opt.TimeLimit > 0 {
		limit = opt.TimeLimit.Seconds()
	}
	c.setFloat("time_limit", limit)
	c.setFloat("mip_rel_gap", math.Max(opt.Gap, relGap))
	c.setFloat("mip_min_logging_interval", 0.5)
	c.setInt("threads", 1)
	c.setInt("random_seed", opt.Seed)
}

// pass hands the model over, row by row.
func (c *call) pass(m *mip.Model, relax bool) int32 {
	cost, lo, hi, whole := make([]float64, len(m.Vars)), make([]float64, len(m.Vars)), make([]float64, len(m.Vars)), make([]int32, len(m.Vars))
	for i, v := range m.Vars {
		cost[i], lo[i], hi[i], whole[i] = v.Cost, v.Lo, v.Hi, continuous
		if v.Integer && !relax {
			whole[i] = wholeNumber
		}
	}
	rowLo, rowHi, starts := make([]float64, len(m.Rows)), make([]float64, len(m.Rows)), make([]int32, len(m.Rows)+1)
	n := m.Entries()
	index, value := make([]int32, 0, n), make([]float64, 0, n)
	for i, r := range m.Rows {
		rowLo[i], rowHi[i] = r.Lo, r.Hi
		for _, t := range r.Terms {
			index, value = append(index, int32(t.Var)), append(value, t.Coef)
		}
		starts[i+1] = int32(len(index))
	}
	sense := int32(minimise)
	if m.Maximise {
		sense = maximise
	}
	p := []uint64{c.floats(cost), c.floats(lo), c.floats(hi), c.floats(rowLo), c.floats(rowHi), c.ints(starts), c.ints(index), c.floats(value), c.ints(whole)}
	args := append([]uint64{
		c.model, uint64(len(m.Vars)), uint64(len(m.Rows)), uint64(n), matrixRowwise, api.EncodeI32(sense), api.EncodeF64(m.Offset),
	}, p...)
	status := c.must("Highs_passMip", args...)
	c.free(p...)
	return status
}

// start offers a point. The solver completes or drops it; either way the answer stays right, so a refusal is no error.
func (c *call) start(x []float64) {
	p := c.floats(x)
	c.must("Highs_setSolution", c.model, p, 0, 0, 0)
	c.free(p)
}

func (c *call) info(kind, name string) (float64, int64) {
	p, at := c.text(name), c.alloc(8)
	c.must("Highs_get"+kind+"InfoValue", c.model, p, uint64(at))
	b, _ := c.mem.ReadUint64Le(at)
	c.free(p, uint64(at))
	return math.Float64frombits(b), int64(b)
}

func (c *call) infoInt(name string) int32 {
	_, v := c.info("Int", name)
	return int32(v) // the low half: the rest of the eight bytes is not ours
}

// read collects what the solver found.
func (c *call) read(m *mip.Model, opt mip.Options) mip.Solution {
	sol := mip.Solution{Bound: worst(m)}
	mixed := false
	for _, v := range m.Vars {
		mixed = mixed || v.Integer && !opt.Relax
	}
	switch status := c.must("Highs_getModelStatus", c.model); status {
	case modelOptimal:
		sol.Status = mip.Optimal
	case modelInfeasible:
		sol.Status = mip.Infeasible
	case modelUnbounded, modelUnboundedOrInfeas:
		sol.Status = mip.Unbounded
	default:
		sol.Status, sol.Why = mip.Stopped, reason(status)
	}
	if c.infoInt("primal_solution_status") == primalFeasible {
		c.readPoint(m, &sol, !mixed)
	}
	if mixed {
		_, sol.Nodes = c.info("Int64", "mip_node_count")
		if bound, _ := c.info("Double", "mip_dual_bound"); sol.Status != mip.Infeasible && math.Abs(bound) < math.MaxFloat64 {
			sol.Bound = bound
		}
	} else if sol.Status == mip.Optimal {
		sol.Bound = sol.Objective
	}
	return sol
}

func (c *call) readPoint(m *mip.Model, sol *mip.Solution, duals bool) {
	nv, nr := len(m.Vars), len(m.Rows)
	x, xd, r, rd := c.alloc(8*nv), c.alloc(8*nv), c.alloc(8*nr), c.alloc(8*nr)
	c.must("Highs_getSolution", c.model, uint64(x), uint64(xd), uint64(r), uint64(rd))
	sol.HasPoint, sol.Values = true, c.readFloats(x, nv)
	if duals && nr > 0 {
		sol.Duals = c.readFloats(rd, nr)
	}
	for i, v := range m.Vars {
		if v.Integer && math.Abs(sol.Values[i]-math.Round(sol.Values[i])) < 1e-5 {
			sol.Values[i] = math.Round(sol.Values[i])
		}
	}
	sol.Objective = m.Value(sol.Values)
	c.free(uint64(x), uint64(xd), uint64(r), uint64(rd))
}

func reason(status int32) string {
	switch status {
	case modelTimeLimit:
		return "the time was up"
	case modelMemoryLimit:
		return "the memory was used up"
	case modelIterationLimit:
		return "the number of iterations was used up"
	case modelInterrupt:
		return "it was interrupted"
	}
	return fmt.Sprintf("the solver ended with status %d", status)
}
