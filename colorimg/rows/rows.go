// Package rows distributes work on a picture's rows over the processors: see [Split].
package rows

import (
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
)

// Split calls f for bands of rows, from y0 up to y1, y1 excluded, that cover 0 to h-1, on all processors, and waits. It
// passes a panic of f on to the caller, who could not recover it otherwise.
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
