package page

import (
	"net/url"
)

// typed is what was filled into a form that could not be taken, until it is shown again
// (see package refill).
type typed struct {
	method, path string // that the form was sent with, and to
	values       url.Values
}

// keep keeps what was typed for the device's next page.
func (v *device) keep(t *typed) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.typed = t
}

func (v *device) kept() *typed {
	v.mu.Lock()
	defer v.mu.Unlock()
	t := v.typed
	v.typed = nil
	return t
}
