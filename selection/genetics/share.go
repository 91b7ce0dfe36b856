package genetics

import "slices"

// Share are components of which the rest, what stays with a plant or else the residual, holds extra, a covariance: it is shared between
// the additive and the rest as they share all other variance.
func (c Components) Share(extra []float64) Components {
	t := 1
	for t*t < len(extra) {
		t++
	}
	rest := &c.Residual
	all := slices.Clone(c.Additive)
	addTo(all, 1, c.Residual)
	if c.Plant != nil {
		rest = &c.Plant
		addTo(all, 1, c.Plant)
	}
	inv, _, ok := invert(all, t)
	if !ok {
		return c
	}
	part := product(product(c.Additive, inv, t), extra, t)
	additive, left := slices.Clone(c.Additive), slices.Clone(*rest)
	for i := range t {
		for j := range t {
			x := (part[i*t+j] + part[j*t+i]) / 2
			additive[i*t+j] += x
			left[i*t+j] -= x
		}
	}
	if _, _, ok := invert(left, t); !ok {
		return c
	}
	c.Additive, *rest = additive, left
	return c
}
