//go:build !amd64

package cie

// fours is not there: hasFours is false.
func fours(*Nearness, *float64, *Lab, int) {}

var hasFours = false
