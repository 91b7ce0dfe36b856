// Package rows spreads work on a picture's rows over the processors.
package rows

import (
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
)

// Split calls f for bands of rows, from y0 to before y1, that cover 0 to h-1, on all processors, and waits. A panic of
// f comes back to the caller, who alone could recover it.
func Split(h int, f func(y0, y1 int)) {
	n := min(runtime.GOMAXPROCS(0)*4, h)
	next := make(chan int, n)
	for i := range n {
		next <- i
	}
	close(next)
	var wg sync.WaitGroup
	var failed atomic.Value
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			defer func() {
				if r := recover(); r != nil {
					failed.CompareAndSwap(nil, fmt.Sprint(r))
				}
			}()
			for i := range next {
				f(h*i/n, h*(i+1)/n)
			}
		})
	}
	wg.Wait()
	if r := failed.Load(); r != nil {
		panic(r)
	}
}
