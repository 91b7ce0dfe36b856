package petal

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// sums is the mean and the variance of a normal variable between two bounds, by
// adding up its density in small steps.
func sums(m, sd, least, most float64) (mean, variance float64) {
	const n = 200000
	least, most = max(least, m-12*sd), min(most, m+12*sd)
	var s0, s1, s2 float64
	for i := range n {
		x := least + (most-least)*(float64(i)+0.5)/n
		z := (x - m) / sd
		p := math.Exp(-z * z / 2)
		s0, s1, s2 = s0+p, s1+p*x, s2+p*x*x
	}
	mean = s1 / s0
	return mean, s2/s0 - mean*mean
}

func TestBetween(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct{ m, sd, least, most float64 }{
		{0, 1, 0, inf}, {0, 1, -inf, 0}, {0.1, 0.05, 0, 0.2}, {-0.1, 0.05, 0, 0.2},
		{0.3, 0.05, 0, 0.2}, {-0.19, 0.05, 0, 0.2}, {-0.5, 0.2, -1, 0}, {0, 0.5, -0.1, 0.1},
	} {
		mean, variance := between(c.m, c.sd, c.least, c.most)
		wm, wv := sums(c.m, c.sd, c.least, c.most)
		if math.Abs(mean-wm) > 1e-4*c.sd || math.Abs(variance-wv) > 1e-3*c.sd*c.sd {
			t.Errorf("between(%v) = %.5f, %.6f, want %.5f, %.6f", c, mean, variance, wm, wv)
		}
	}
	// The mean of the positive half of a standard normal variable is sqrt(2/π), a
	// textbook value, from memory.
	if mean, _ := between(0, 1, 0, inf); math.Abs(mean-0.79788) > 1e-5 {
		t.Errorf("positive half: mean %.5f, want 0.79788", mean)
	}
	// Far out it is nearly exponential: within a twelfth of the true distance.
	for _, m := range []float64{-0.25, -0.4} {
		mean, _ := between(m, 0.05, 0, 0.3)
		if want, _ := sums(m, 0.05, 0, 0.3); math.Abs(mean-want) > want/12 {
			t.Errorf("far out, m %g: mean %.5f, want about %.5f", m, mean, want)
		}
	}
}

func TestNearCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.Float64Range(-1, 1).Draw(t, "m")
		sd := rapid.Float64Range(0.005, 0.4).Draw(t, "sd")
		v := rapid.Float64Range(math.Log(brightest), 0.02).Draw(t, "v")
		most := rapid.Float64Range(-0.2, 1).Draw(t, "most")
		mean, variance := nearCut(m, sd, v, most)
		if !(mean >= min(v, 0)-3*readingError-1e-9 && mean <= max(most, 0)+1e-9) || !(variance >= 0) {
			t.Fatalf("nearCut = %g, %g", mean, variance)
		}
	})
	for _, c := range []struct {
		name       string
		m, v, most float64
		low, high  float64
	}{
		{"what others say is plainly above", 0.2, 0, 1, 0.19, 0.21},
		{"but not above all light", 0.2, 0, 0.1, 0.05, 0.1},
		{"plainly below, and read so", -0.06, -0.06, 1, -0.07, -0.05},
		{"at the cut: somewhat above", 0, 0, 1, 0, 0.04},
	} {
		if got, _ := nearCut(c.m, 0.03, c.v, c.most); got < c.low || got > c.high {
			t.Errorf("%s: %.3f, want %.2f to %.2f", c.name, got, c.low, c.high)
		}
	}
}

// petalsOf draws native pixels of one colour in light and shade, red scattering
// by a tenth about what green and blue say, and cuts them at 1.
func petalsOf(rng *rand.Rand, light float64) (whole, read [][3]float64, bits []uint8) {
	for range 4000 {
		k := light * math.Exp(-rng.Float64()*0.7)
		p := [3]float64{0.9 * k * math.Exp(0.1*rng.NormFloat64()), 0.4 * k, 0.1 * k}
		q := p
		for c := range q {
			q[c] = min(q[c], 1)
		}
		whole, read, bits = append(whole, p), append(read, q), append(bits, cut(q))
	}
	return whole, read, bits
}

// TestRestoreUnbiased: restored pixels are neither too weak nor too strong in
// the channel that was cut off, on the whole, however many were.
func TestRestoreUnbiased(t *testing.T) {
	for _, light := range []float64{1.1, 1.4, 1.8} {
		want, read, bits := petalsOf(rand.New(rand.NewPCG(1, 2)), light)
		r, ok := newRestorer(read, bits, [3]float64{3, 3, 3})
		if !ok {
			t.Fatal("too few")
		}
		off, n := 0.0, 0.0
		for i := range read {
			if bits[i] == 0 {
				continue
			}
			got, sure := r.restore(read[i], bits[i])
			if !sure {
				t.Fatal("one channel is cut off, not three")
			}
			off += math.Log(got[0] / want[i][0])
			n++
		}
		share := n / float64(len(read))
		t.Logf("%.0f %% cut off: red off by %.1f %% in the mean", 100*share, 100*off/n)
		if off = math.Abs(off / n); off > 0.02 {
			t.Errorf("%.0f %% cut off: red is off by %.1f %% in the mean, want at most 2", 100*share, 100*off)
		}
	}
}

// TestRestoreNoBrighterThanWhite: what is restored stays below all light.
func TestRestoreNoBrighterThanWhite(t *testing.T) {
	_, read, bits := petalsOf(rand.New(rand.NewPCG(3, 4)), 1.8)
	r, _ := newRestorer(read, bits, [3]float64{1.2, 1.2, 1.2})
	for i := range read {
		if got, _ := r.restore(read[i], bits[i]); got[0] > 1.2+1e-9 {
			t.Fatalf("red = %.3f, above a white's 1.2", got[0])
		}
	}
}
