package rows

import (
	"slices"
	"sync/atomic"
	"testing"
)

// TestSplit: every row is done once, of any number of them.
func TestSplit(t *testing.T) {
	for _, h := range []int{0, 1, 2, 7, 1000} {
		done := make([]int32, h)
		Split(h, func(y0, y1 int) {
			for y := y0; y < y1; y++ {
				atomic.AddInt32(&done[y], 1)
			}
		})
		if i := slices.IndexFunc(done, func(n int32) bool { return n != 1 }); i >= 0 {
			t.Errorf("of %d rows, row %d was done %d times", h, i, done[i])
		}
	}
}
