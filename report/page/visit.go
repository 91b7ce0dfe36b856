package page

import (
	"net/url"
	"sync"

	"hueward/report/page/door"
)

// held is a value that many requests look at and change.
type held[T any] struct {
	mu sync.Mutex
	v  T
}

// change lets f change the value, and returns what it is then.
func (h *held[T]) change(f func(v *T)) T {
	h.mu.Lock()
	defer h.mu.Unlock()
	f(&h.v)
	return h.v
}

func (h *held[T]) get() T  { return h.change(func(*T) {}) }
func (h *held[T]) set(v T) { h.change(func(now *T) { *now = v }) }

// take returns the value, and leaves none.
func (h *held[T]) take() (v T) {
	h.change(func(now *T) { v, *now = *now, v })
	return v
}

// few are things by their keys; when there are too many, all are forgotten.
type few[K comparable, V any] struct {
	held[map[K]V]
	most int
}

// of is the thing of that key; where there is none it is made, or nothing.
func (f *few[K, V]) of(key K, made func() V) (v V) {
	f.change(func(by *map[K]V) {
		var ok bool
		if v, ok = (*by)[key]; !ok && made != nil {
			v = made()
			f.keep(by, key, v)
		}
	})
	return v
}

// put keeps a thing in place of another of that key.
func (f *few[K, V]) put(key K, v V) { f.change(func(by *map[K]V) { f.keep(by, key, v) }) }

func (f *few[K, V]) keep(by *map[K]V, key K, v V) {
	if *by == nil || len(*by) >= f.most {
		*by = map[K]V{}
	}
	(*by)[key] = v
}

// device is one browser that was let in, and what it is at.
type device struct {
	*door.Device
	looks held[lookedAt]
	said  held[*said]  // told on its next page
	typed held[*typed] // what was typed into a form that was not taken, for its next page
}

// lookedAt is the line and season that a device looked at last.
type lookedAt struct{ line, season string }

// said is what was just done, with its number in the book's history where it can be
// taken back.
type said struct {
	Text   string
	Wrong  bool
	Part   bool // some of it was done all the same
	Change int64
}

// typed is what was filled into a form that could not be taken, until it is shown again
// (see package refill).
type typed struct {
	method, path string // that the form was sent with, and to
	values       url.Values
}

const mostVisits = 400 // devices that are at something; who is forgotten begins at the first line again
