package render

import (
	"math/rand/v2"
	"sync"

	"hueward/colorimg/cie"
)

// Smooth random fields come from one fixed table of values in -1..1, read
// with smooth interpolation; it repeats every 256 cells, as a byte does.
const tableSize = 256

var table [tableSize * tableSize]float32

// fill fills the tables before the first picture: most runs of the program draw none.
var fill = sync.OnceFunc(func() {
	r := rand.New(rand.NewPCG(20, 26))
	for i := range table {
		table[i] = float32(2*r.Float64() - 1)
	}
	r = rand.New(rand.NewPCG(20, 27))
	for i := range normals {
		normals[i] = float32(r.NormFloat64())
	}
	for i := range codes {
		codes[i] = float32(255 * cie.Encode(float64(i)/(1<<14)))
	}
})

// noise is a smooth random field in -1..1 with cells of size 1.
func noise(x, y float32) float32 {
	ix, iy := floor(x), floor(y)
	fx, fy := x-float32(ix), y-float32(iy)
	fx *= fx * (3 - 2*fx)
	fy *= fy * (3 - 2*fy)
	x0, x1 := uint16(uint8(ix)), uint16(uint8(ix+1))
	y0, y1 := uint16(iy<<8), uint16((iy+1)<<8)
	a, b := table[y0|x0], table[y1|x0]
	a += (table[y0|x1] - a) * fx
	b += (table[y1|x1] - b) * fx
	return a + (b-a)*fy
}

// noiseRow is the noise along one row: noise(x, y) for the y of [newNoiseRow].
type noiseRow struct {
	upper, lower *[tableSize]float32
	fy           float32
}

func newNoiseRow(y float32) noiseRow {
	iy := floor(y)
	fy := y - float32(iy)
	row := func(i int) *[tableSize]float32 { return (*[tableSize]float32)(table[int(uint8(i))*tableSize:]) }
	return noiseRow{row(iy), row(iy + 1), fy * (fy * (3 - 2*fy))}
}

func (r *noiseRow) at(x float32) float32 {
	ix := floor(x)
	fx := x - float32(ix)
	fx *= fx * (3 - 2*fx)
	x0, x1 := uint8(ix), uint8(ix+1)
	a, b := r.upper[x0], r.lower[x0]
	a += (r.upper[x1] - a) * fx
	b += (r.lower[x1] - b) * fx
	return a + (b-a)*r.fy
}

// floor is right for x above -16384, give or take a thousandth.
func floor(x float32) int { return int(x+16384) - 16384 }

// normals holds evenly likely values of a standard normal variable.
var normals [1 << 14]float32

// scatter is a stream of random bits for one row of pixels (SplitMix64), so that rows can be drawn in any order.
type scatter uint64

func (s *scatter) next() uint64 {
	*s += 0x9e3779b97f4a7c15
	z := uint64(*s)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}
