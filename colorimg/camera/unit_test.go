package camera

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/cie"
)

// The local form of Delta E 2000 is that formula for small differences.
func TestUnit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := cie.Lab{L: rapid.Float64Range(5, 95).Draw(t, "L"), A: rapid.Float64Range(-70, 70).Draw(t, "a"),
			B: rapid.Float64Range(-70, 70).Draw(t, "b")}
		if math.Hypot(c.A, c.B) < 1 {
			c.A, c.B = 0, 0 // at grey itself the formula is smooth; close by it is not quite
		}
		d := [3]float64{rapid.Float64Range(-0.3, 0.3).Draw(t, "dL"), rapid.Float64Range(-0.3, 0.3).Draw(t, "da"),
			rapid.Float64Range(-0.3, 0.3).Draw(t, "db")}
		want := cie.DeltaE2000(c, cie.Lab{L: c.L + d[0], A: c.A + d[1], B: c.B + d[2]})
		u, got := unitOf(c), 0.0
		for i := range 3 {
			s := u[i][0]*d[0] + u[i][1]*d[1] + u[i][2]*d[2]
			got += s * s
		}
		if got = math.Sqrt(got); math.Abs(got-want) > 0.01+0.08*want {
			t.Fatalf("near %v, %v away: %.4f, want %.4f", c, d, got, want)
		}
	})
}
