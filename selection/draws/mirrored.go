package draws

import "math/rand/v2"

// Mirrored are random numbers, or those that lie opposite them: two runs that begin so, one too low where the other is too high, tell
// about as much as three that do not.
//
// Source: Hammersley and Morton 1956, Proc. Camb. Phil. Soc. 52:449, antithetic variates.
type Mirrored struct {
	*rand.Rand
	Sign float64 // 1, or -1: the opposite
}

// Normal is a standard normal number.
func (m *Mirrored) Normal() float64 { return m.Sign * m.NormFloat64() }

// Uniform is a number from 0 to 1.
func (m *Mirrored) Uniform() float64 { return 0.5 + m.Sign*(m.Float64()-0.5) }
