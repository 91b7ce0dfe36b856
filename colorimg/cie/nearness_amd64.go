package cie

import "golang.org/x/sys/cpu"

// fours fills in the distances of so many times four colours, as [Nearness.few] does, to the last bit: products are rounded before
// they are added. Not a number: it is left to DeltaE2000. The chroma of n must be more than a thousandth. It needs AVX2.
//
//go:noescape
func fours(n *Nearness, away *float64, x *Lab, times int)

var hasFours = cpu.X86.HasAVX2
