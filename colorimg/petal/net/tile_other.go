//go:build !amd64

package net

// multiplyTiles does nothing: blas32 does all.
func multiplyTiles(c *conv, x, out []float32, n, at, wide int) int { return 0 }
