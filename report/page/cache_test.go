package page

import (
	"errors"
	"sync"
	"testing"
)

// What panics while it is worked out is an error for those who wait for it, and is worked
// out anew for whoever asks next, of the same book.
func TestCacheAfterPanic(t *testing.T) {
	t.Parallel()
	c := newCache()
	begun, goOn := make(chan bool), make(chan bool)
	var wg sync.WaitGroup
	wg.Go(func() {
		defer func() {
			if recover() == nil {
				t.Error("the panic was swallowed")
			}
		}()
		c.get("1", "rank", func() (any, error) {
			close(begun)
			<-goOn
			panic("a fault of ours")
		})
	})
	<-begun
	wg.Go(func() {
		// Either it waited for the first, or came after it was forgotten.
		v, err := c.get("1", "rank", func() (any, error) { return "ranked", nil })
		if !(v == nil && errors.Is(err, errBrokeOff) || v == "ranked" && err == nil) {
			t.Errorf("who waits gets %v, %v", v, err)
		}
	})
	close(goOn)
	wg.Wait()
	if v, err := c.get("1", "rank", func() (any, error) { return "ranked", nil }); v != "ranked" || err != nil {
		t.Errorf("the next gets %v, %v", v, err)
	}
}
