package petal

import (
	"math"
	"testing"

	"hueward/colorimg/petal/net"
)

// seen are probabilities in a view of 64 × 64, each pixel of one class.
func seen(class func(x, y float64) int) *chances {
	p := &chances{view: view{scale: 1, w: 64, h: 64}}
	for c := range p.p {
		p.p[c] = make([]float32, 64*64)
	}
	for i := range 64 * 64 {
		p.p[class(float64(i%64), float64(i/64))][i] = 1
	}
	return p
}

// TestOneDisc parts two blooms that touch by their discs, and leaves a bloom with one, or with
// one behind a petal, as it is.
func TestOneDisc(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		second float64 // where the second disc's middle lies
		parts  bool
	}{{50, true}, {32, false}, {14, false}} {
		p := seen(func(x, y float64) int {
			if math.Hypot(x-14, y-32) < 8 || math.Hypot(x-c.second, y-32) < 8 {
				return net.Disc
			}
			return net.Petal
		})
		p.oneDisc([2]float64{20, 40})
		if other := p.p[net.Other][32*64+60] == 1 && p.p[net.Disc][32*64+50] == 0; other != c.parts {
			t.Errorf("discs at 14 and %.0f: parted %v, want %v", c.second, other, c.parts)
		}
		if p.p[net.Petal][40*64+20] != 1 {
			t.Errorf("discs at 14 and %.0f: the bloom that is meant lost its petals", c.second)
		}
	}
}

// TestLikeliest takes a bloom's breadth of petals before a long strip of them, however sure that is.
func TestLikeliest(t *testing.T) {
	t.Parallel()
	p := seen(func(x, y float64) int {
		if y < 8 || math.Hypot(x-32, y-45) < 11 {
			return net.Petal
		}
		return net.None
	})
	for i := 8 * 64; i < 64*64; i++ {
		p.p[net.Petal][i] *= 0.8
	}
	if at, chance := p.likeliest(); math.Hypot(float64(at%64)-32, float64(at/64)-45) > 5 || chance < 0.7 {
		t.Errorf("likeliest at %d, %d with %.2f, want about 32, 45 with 0.8", at%64, at/64, chance)
	}
}
