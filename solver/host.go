package solver

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"

	"thwart/engine/mip"
	"thwart/solver/highs"
)

// host is what the module finds outside: a clock, a place for its lines, and nothing else. No file, no environment.
type host struct {
	began    time.Time
	done     <-chan struct{}
	hard     context.Context
	log      func(string)
	progress func(mip.Progress)
	line     []byte
	last     string // the last line that told of something going wrong
	jumps    int    // of the clock, see now
	full     bool   // the module asked for more memory than it may have
}

type hostKey struct{}

var (
	errMemory = errors.New("out of memory")
	errAbort  = errors.New("the module aborted")
)

func (h *host) explain(err error) string {
	switch {
	case h.full || errors.Is(err, errMemory):
		return "it needs more memory than it may have"
	case h.last != "":
		return h.last
	}
	return strings.SplitN(err.Error(), "\n", 2)[0]
}

// jump is by how much the clock goes ahead, each time it is read, once the caller has had enough: beyond every time limit,
// from whichever moment the solver counts.
const (
	jump     = 2 * unlimitedS * time.Second
	maxJumps = 4000 // keeps the clock within its range
)

// now is the module's clock, which begins at a fixed moment.
func (h *host) now() time.Duration {
	select {
	case <-h.hard.Done():
		panic(errors.New("stopped"))
	case <-h.done:
		h.jumps = min(h.jumps+1, maxJumps)
	default:
	}
	return time.Since(h.began) + time.Duration(h.jumps)*jump
}

// Error numbers of WASI and of Emscripten's system calls.
const (
	badFile    = 8
	noEntry    = -44
	noTerminal = -59
)

// provide defines what the module imports. Every function is named in the table; a module with an unknown import is refused.
func provide(ctx context.Context, r wazero.Runtime, module wazero.CompiledModule) error {
	builders := map[string]wazero.HostModuleBuilder{}
	for _, def := range module.ImportedFunctions() {
		in, short, _ := def.Import()
		name := highs.Imports[short]
		do, ok := services[name]
		if !ok {
			return fmt.Errorf("%w: it wants %q (%s), which is not provided", mip.ErrSolver, name, short)
		}
		if builders[in] == nil {
			builders[in] = r.NewHostModuleBuilder(in)
		}
		results := len(def.ResultTypes())
		f := api.GoModuleFunc(func(ctx context.Context, mod api.Module, stack []uint64) {
			got := do(ctx.Value(hostKey{}).(*host), mod, stack)
			if results > 0 {
				stack[0] = got
			}
		})
		builders[in].NewFunctionBuilder().WithGoModuleFunction(f, def.ParamTypes(), def.ResultTypes()).Export(short)
	}
	for _, b := range builders {
		if _, err := b.Instantiate(ctx); err != nil {
			return fmt.Errorf("%w: %v", mip.ErrSolver, err)
		}
	}
	return nil
}

type service func(h *host, mod api.Module, a []uint64) uint64

func answer(v int32) service {
	return func(*host, api.Module, []uint64) uint64 { return api.EncodeI32(v) }
}

func abort(h *host, _ api.Module, _ []uint64) uint64 { panic(errAbort) }

// services are the functions of Emscripten's runtime which the build imports.
var services = map[string]service{
	"___cxa_throw": abort, "__abort_js": abort, "_exit": abort, "_proc_exit": abort,
	"___syscall_fcntl64": answer(0), "___syscall_ioctl": answer(noTerminal), "___syscall_openat": answer(noEntry),
	"__emscripten_runtime_keepalive_clear": answer(0), "__setitimer_js": answer(0), "__tzset_js": answer(0),
	"_fd_close": answer(0), "_fd_read": answer(badFile), "_fd_seek": answer(badFile),
	"_environ_get":            answer(0),
	"_environ_sizes_get":      environment,
	"_emscripten_date_now":    milliseconds,
	"_emscripten_get_now":     milliseconds,
	"_clock_time_get":         clock,
	"_emscripten_resize_heap": grow,
	"_fd_write":               write,
}

func environment(_ *host, mod api.Module, a []uint64) uint64 {
	mod.Memory().WriteUint32Le(uint32(a[0]), 0)
	mod.Memory().WriteUint32Le(uint32(a[1]), 0)
	return 0
}

func milliseconds(h *host, _ api.Module, _ []uint64) uint64 {
	return api.EncodeF64(float64(h.now()) / float64(time.Millisecond))
}

func clock(h *host, mod api.Module, a []uint64) uint64 {
	mod.Memory().WriteUint64Le(uint32(a[2]), uint64(h.now()))
	return 0
}

// grow gives the memory asked for and a fifth more, so that a growing model does not come back for each piece.
func grow(h *host, mod api.Module, a []uint64) uint64 {
	const page = 65536
	mem := mod.Memory()
	have, want := uint64(mem.Size()), uint64(uint32(a[0]))
	for _, size := range []uint64{max(want, have+have/5), want} {
		if size <= have {
			return 1
		}
		if _, ok := mem.Grow(uint32((size - have + page - 1) / page)); ok {
			return 1
		}
	}
	h.full = true
	return 0
}

func write(h *host, mod api.Module, a []uint64) uint64 {
	mem := mod.Memory()
	var total uint32
	for i := range uint32(a[2]) {
		at, _ := mem.ReadUint32Le(uint32(a[1]) + 8*i)
		n, _ := mem.ReadUint32Le(uint32(a[1]) + 8*i + 4)
		b, _ := mem.Read(at, n)
		h.print(b)
		total += n
	}
	mem.WriteUint32Le(uint32(a[3]), total)
	return 0
}

func (h *host) print(b []byte) {
	for _, c := range b {
		if c != '\n' {
			h.line = append(h.line, c)
			continue
		}
		line := string(h.line)
		h.line = h.line[:0]
		if h.log != nil {
			h.log(line)
		}
		if strings.HasPrefix(line, "ERROR") || strings.Contains(line, "bad_alloc") {
			h.last = strings.TrimSpace(line)
		}
		if h.progress != nil {
			if p, ok := parseProgress(line); ok {
				p.Seconds = time.Since(h.began).Seconds()
				h.progress(p)
			}
		}
	}
}

// parseProgress reads a line of the solver's table of branch and bound: source, nodes, queue, leaves, share explored, bound,
// best, gap and so on. Other lines are none of ours.
func parseProgress(line string) (p mip.Progress, ok bool) {
	f := strings.Fields(line)
	if len(f) > 0 && len(f[0]) == 1 && (f[0][0] < '0' || f[0][0] > '9') {
		f = f[1:]
	}
	if len(f) < 10 || !strings.HasSuffix(f[len(f)-1], "s") || !strings.HasSuffix(f[3], "%") {
		return p, false
	}
	nodes, err := strconv.ParseInt(f[0], 10, 64)
	if err != nil {
		return p, false
	}
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return math.NaN()
		}
		return v
	}
	p = mip.Progress{Nodes: nodes, Bound: number(f[4]), Best: number(f[5])}
	p.HasPoint = !math.IsNaN(p.Best) && !math.IsInf(p.Best, 0)
	return p, true
}
