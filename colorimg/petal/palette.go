package petal

import (
	"math"
	"math/rand/v2"

	"hueward/colorimg/cie"
)

// paletteSize is how many colours the map is reduced to.
const paletteSize = 40

// reduce chooses the palette by k-means on a grid of pixels. The start is by k-means++ with a fixed seed: the same picture always
// gives the same palette.
//
// Source: Arthur, Vassilvitskii 2007 (k-means++), from memory.
func (s *scene) reduce() {
	rng := rand.New(rand.NewPCG(1, 2))
	var pts []cie.Lab
	step := max(1, len(s.lab)/2500)
	for i := step / 2; i < len(s.lab); i += step {
		if !s.skip[i] {
			pts = append(pts, s.lab[i])
		}
	}
	if len(pts) == 0 {
		pts = s.lab[:1]
	}
	dist, label := make([]float64, len(pts)), make([]int, len(pts))
	for i := range dist {
		dist[i] = math.Inf(1)
	}
	next := pts[rng.IntN(len(pts))]
	for len(s.palette) < paletteSize {
		s.palette = append(s.palette, next)
		total := 0.0
		for i := range pts {
			p := &pts[i]
			dl, da, db := lightWeight*(p.L-next.L), p.A-next.A, p.B-next.B
			if d := dl*dl + da*da + db*db; d < dist[i] {
				dist[i] = d
				label[i] = len(s.palette) - 1
			}
			total += dist[i]
		}
		if total < 1e-9 {
			break
		}
		u := rng.Float64() * total
		for i, d := range dist {
			if u -= d; u <= 0 {
				next = pts[i]
				break
			}
		}
	}
	k := len(s.palette)
	for range 5 {
		sum, n := make([]cie.Lab, k), make([]float64, k)
		order := neighboursOf(s.palette)
		for i, p := range pts {
			j := order.nearest(p, label[i])
			label[i] = j
			sum[j].L += p.L
			sum[j].A += p.A
			sum[j].B += p.B
			n[j]++
		}
		for j := range k {
			if n[j] > 0 {
				s.palette[j] = cie.Lab{L: sum[j].L / n[j], A: sum[j].A / n[j], B: sum[j].B / n[j]}
			}
		}
	}
	s.like = make([][]float64, k)
	for i := range k {
		s.like[i] = make([]float64, k)
		for j := range k {
			d := apart(s.palette[i], s.palette[j]) / 4
			s.like[i][j] = math.Exp(-d * d / 2)
		}
	}
}

// tell labels every pixel with its palette entry.
func (s *scene) tell() {
	s.label = make([]uint8, len(s.lab))
	order := neighboursOf(s.palette)
	parallel(s.h, func(y int) {
		j := 0 // a pixel's neighbour is likely to have the same
		for i := y * s.w; i < (y+1)*s.w; i++ {
			if !s.skip[i] {
				j = order.nearest(s.lab[i], j)
				s.label[i] = uint8(j)
			}
		}
	})
}

// neighbours lists, for each of a palette's colours, all of them, the nearest
// to it first.
type neighbours [][]neighbour

type neighbour struct {
	l, a, b float64 // l times lightWeight
	half    float64 // the square of half the way there
	j       int
}

func neighboursOf(palette []cie.Lab) neighbours {
	n := make(neighbours, len(palette))
	all := make([]neighbour, len(palette)*len(palette))
	for i, p := range palette {
		n[i], all = all[:0:len(palette)], all[len(palette):]
		for j, q := range palette {
			d := apart(p, q) / 2
			at := neighbour{l: lightWeight * q.L, a: q.A, b: q.B, half: d * d, j: j}
			k := len(n[i])
			n[i] = append(n[i], at)
			for ; k > 0 && n[i][k-1].half > at.half; k-- {
				n[i][k] = n[i][k-1]
			}
			n[i][k] = at
		}
	}
	return n
}

// nearest is what [scene.nearest] is. guess is any entry; the nearer it
// is, the less has to be looked at: an entry further from the guess than p is from
// the guess and from the nearest so far, taken together, cannot be nearer to p.
func (n neighbours) nearest(p cie.Lab, guess int) int {
	pl := lightWeight * p.L
	from, at := &n[guess][0], guess
	dl, da, db := pl-from.l, p.A-from.a, p.B-from.b
	best := dl*dl + da*da + db*db
	reach, away := best, math.Sqrt(best)
	for i := 1; i < len(n[guess]); i++ {
		q := &n[guess][i]
		if q.half > reach {
			break
		}
		dl, da, db := pl-q.l, p.A-q.a, p.B-q.b
		if d := dl*dl + da*da + db*db; d < best {
			best, at = d, q.j
			half := (away + math.Sqrt(d)) / 2
			reach = half * half
		}
	}
	return at
}

// spreadTally shares each entry's tally with the entries like it.
func (s *scene) spreadTally(t []float64) []float64 {
	out := make([]float64, len(t))
	for i, row := range s.like {
		for j, l := range row {
			out[i] += l * t[j]
		}
	}
	return out
}
