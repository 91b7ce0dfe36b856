package genetics

import (
	"runtime"
	"sync"
)

// SideBySide calls f with 0 to n-1, on all processors at once, and returns when all calls are
// done. For the same result on any machine, each call must depend on i alone.
func SideBySide(n int, f func(i int)) {
	workers := min(runtime.GOMAXPROCS(0), n)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for i := w; i < n; i += workers {
				f(i)
			}
		})
	}
	wg.Wait()
}
