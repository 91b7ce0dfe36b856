package draws

import "math/rand/v2"

// Mirrored is a source of random numbers, or of their mirror images: antithetic variates. Two runs that begin with opposite numbers
// are about as precise as three independent ones.
//
// Source: Hammersley and Morton 1956, Proc. Camb. Phil. Soc. 52:449, antithetic variates.
type Mirrored struct {
	*rand.Rand
	Sign float64 // 1, or -1 for the mirror images
}

// Normal returns a standard normal number.
func (m *Mirrored) Normal() float64 { return m.Sign * m.NormFloat64() }

// Uniform returns a number from 0 to 1.
func (m *Mirrored) Uniform() float64 { return 0.5 + m.Sign*(m.Float64()-0.5) }
