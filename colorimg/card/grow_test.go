package card

import (
	"math/rand/v2"
	"testing"
)

// mottled is a packed picture of patches of a few colours, with noise.
func mottled(w, h int, seed uint64) []uint64 {
	rnd := rand.New(rand.NewPCG(seed, 5))
	f := make([]uint64, w*h)
	for i := range f {
		base := float32(20 + 9*((i%w)/17+(i/w)/13)%50)
		at := func() float32 { return base + 6*rnd.Float32() }
		f[i] = pack(at(), at(), at())
	}
	return f
}

// TestBounds compares the three comparisons at once with three by themselves.
func TestBounds(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 7))
	for range 200_000 {
		at := func() float32 { return 130 * rnd.Float32() }
		p := pack(at(), at(), at())
		v := unpack(p)
		var m [3]float32
		for c := range 3 {
			m[c] = v[c] + perUnit*8*(rnd.Float32()-0.5)
		}
		step := 8 * rnd.Float32()
		b := around(m, step)
		want := true
		for c := range 3 {
			d := v[c] - m[c]
			want = want && d < step*perUnit && -d < step*perUnit
		}
		if got := b.hold(p); got != want {
			t.Fatalf("around(%v, %v).hold(%v) = %v, want %v", m, step, v, got, want)
		}
	}
}

// TestFloodSlow compares areas with the definition: all pixels within the
// bounds that can be reached from the seed by steps to one of four
// neighbours, without entering the rim, or what was marked before.
func TestFloodSlow(t *testing.T) {
	const w, h = 97, 71
	inside := 0
	for seed := range uint64(40) {
		f := mottled(w, h, seed)
		g := newGrower(w, h, f)
		rnd := rand.New(rand.NewPCG(seed, 6))
		slow := make([]bool, w*h)
		for range 25 {
			x, y := 4+rnd.IntN(w-8), 4+rnd.IntN(h-8)
			if slow[y*w+x] {
				continue
			}
			near := around(unpack(f[y*w+x]), 3+5*rnd.Float32())
			n, edge := 0, false
			left, right := [h]int32{}, [h]int32{}
			for i := range left {
				left[i], right[i] = w, -1
			}
			slow[y*w+x] = true
			todo := [][2]int{{x, y}}
			for len(todo) > 0 {
				p := todo[0]
				todo = todo[1:]
				n++
				left[p[1]], right[p[1]] = min(left[p[1]], int32(p[0])), max(right[p[1]], int32(p[0]))
				for _, q := range [][2]int{{p[0] + 1, p[1]}, {p[0] - 1, p[1]}, {p[0], p[1] + 1}, {p[0], p[1] - 1}} {
					i := q[1]*w + q[0]
					if slow[i] || !near.hold(f[i]) {
						continue
					}
					if q[0] < rim || q[1] < rim || q[0] >= w-rim || q[1] >= h-rim {
						edge = true
						continue
					}
					slow[i] = true
					todo = append(todo, q)
				}
			}
			if !edge {
				inside++
			}
			if got := g.flood(x, y, near); got != edge || g.area.n != n {
				t.Fatalf("picture %d: flood(%d, %d) = %v with %d pixels, want %v with %d", seed, x, y, got, g.area.n, edge, n)
			}
			for i := range slow {
				if slow[i] != g.mark[i] {
					t.Fatalf("picture %d: mark at %d, %d is %v, want %v", seed, i%w, i/w, g.mark[i], slow[i])
				}
			}
			for i := range h {
				if g.area.left[i] != left[i] || g.area.right[i] != right[i] {
					t.Fatalf("picture %d: row %d reaches from %d to %d, want %d to %d", seed, i, g.area.left[i], g.area.right[i], left[i],
						right[i])
				}
			}
		}
	}
	if inside < 20 {
		t.Errorf("only %d areas did not reach the rim", inside)
	}
}
