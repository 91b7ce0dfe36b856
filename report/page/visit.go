package page

import (
	"slices"
	"sync"
	"sync/atomic"

	"hueward/report/page/door"
	"hueward/report/page/refill"
)

// recent are things by their keys; when they weigh too much, those that were asked for longest ago are forgotten.
type recent[K comparable, V any] struct {
	most   int
	weight func(V) int // nil: each weighs 1
	mu     sync.Mutex
	by     map[K]V
	order  []K // that which was asked for last at the end
	weighs int
}

// of is the thing of that key; where there is none it is made, or nothing.
func (r *recent[K, V]) of(key K, made func() V) V {
	r.mu.Lock()
	defer r.mu.Unlock()
	v, ok := r.by[key]
	if !ok && made == nil {
		return v
	}
	if !ok {
		v = made()
	}
	r.keep(key, v)
	return v
}

// put keeps a thing in place of another of that key.
func (r *recent[K, V]) put(key K, v V) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.keep(key, v)
}

func (r *recent[K, V]) keep(key K, v V) {
	r.forget(key)
	if r.by == nil {
		r.by = map[K]V{}
	}
	r.by[key], r.order, r.weighs = v, append(r.order, key), r.weighs+r.heft(v)
	for r.weighs > r.most && len(r.order) > 1 {
		r.forget(r.order[0])
	}
}

func (r *recent[K, V]) forget(key K) {
	if v, ok := r.by[key]; ok {
		delete(r.by, key)
		r.weighs -= r.heft(v)
		r.order = slices.DeleteFunc(r.order, func(k K) bool { return k == key })
	}
}

func (r *recent[K, V]) heft(v V) int {
	if r.weight == nil {
		return 1
	}
	return r.weight(v)
}

// device is one browser that was let in, and what it is at.
type device struct {
	*door.Device
	looks atomic.Pointer[lookedAt]     // nil: at nothing yet
	said  atomic.Pointer[said]         // told on its next page
	typed atomic.Pointer[refill.Typed] // what was typed into a form that was not taken, for its next page
}

// lookedAt is the line and season that a device looked at last.
type lookedAt struct{ line, season string }

// said is what was just done, with its number in the book's history where it can be taken back.
type said struct {
	Text   string
	Wrong  bool
	Part   bool // some of it was done all the same
	Change int64
}

const mostVisits = 400 // devices that are at something; who is forgotten begins at the first line again
