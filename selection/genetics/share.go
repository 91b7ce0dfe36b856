package genetics

import "slices"

// Share returns components that share extra between Additive and the rest in proportion to their other variance. extra is a covariance
// that c.Plant includes, or c.Residual where there is no c.Plant. Where the outcome would not be positive definite, Share returns c.
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
