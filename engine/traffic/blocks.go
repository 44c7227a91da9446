package traffic

import (
	"runtime"
	"sync"
)

// blockRows is how many origins one piece of work takes. It is fixed, and pieces are added up in their order, so that sums do
// not depend on how many processors there are.
const blockRows = 32

// inBlocks runs do over pieces of 0..n-1 on all processors. worker numbers who does it, from 0.
func inBlocks(n int, do func(from, to, worker int)) {
	blocks := (n + blockRows - 1) / blockRows
	workers := min(workerCount(), blocks)
	if workers <= 1 {
		for b := range blocks {
			do(b*blockRows, min(n, (b+1)*blockRows), 0)
		}
		return
	}
	var next struct {
		sync.Mutex
		b int
	}
	var wait sync.WaitGroup
	for w := range workers {
		wait.Go(func() {
			for {
				next.Lock()
				b := next.b
				next.b++
				next.Unlock()
				if b >= blocks {
					return
				}
				do(b*blockRows, min(n, (b+1)*blockRows), w)
			}
		})
	}
	wait.Wait()
}

func workerCount() int { return runtime.GOMAXPROCS(0) }
