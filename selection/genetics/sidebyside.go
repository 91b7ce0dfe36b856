package genetics

import (
	"runtime"
	"sync"
)

// SideBySide calls f for 0 to n-1, on all processors at once, and returns when all are
// done. What f makes of a place must depend on nothing but the place.
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
