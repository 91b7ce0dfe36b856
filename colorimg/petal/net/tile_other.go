//go:build !amd64

package net

// multiplyTiles does nothing and returns 0, as there is no assembly for this processor.
func multiplyTiles(c *conv, x, out []float32, n, at, wide int) int { return 0 }
