package net

import (
	"unsafe"

	"golang.org/x/sys/cpu"
)

// tiles adds the weights w times x to n tiles of out, side by side. A tile has tileRows rows of tileWide numbers, x has in rows,
// and w has tileRows rows of in weights; strides are in bytes. Products are rounded before they are added, in the order of
// the rows of x, so that the sums equal those of blas32.Axpy to the last bit. It needs AVX2.
//
//go:noescape
func tiles(out *float32, outStride uintptr, x *float32, xStride uintptr, w *float32, wStride uintptr, in, n int)

const tileRows, tileWide = 4, 16

var hasTiles = cpu.X86.HasAVX2

// multiplyTiles is multiply for wide pixels from at on. It returns the number of rows of out that are done: those in whole tiles.
func multiplyTiles(c *conv, x, out []float32, n, at, wide int) int {
	in, rows := len(c.w)/c.out, c.out/tileRows*tileRows
	if !hasTiles || rows == 0 || wide < tileWide || in == 0 {
		return 0
	}
	const size = unsafe.Sizeof(x[0])
	stride, end := uintptr(n)*size, at+wide
	_, _, _ = x[(in-1)*n+end-1], out[(rows-1)*n+end-1], c.w[rows*in-1] // bounds checks for tiles, which has none
	rest := wide % tileWide
	var last [tileRows][tileWide]float32 // a tile that ends at the last pixel; only its last rest pixels are used
	for k := 0; k < rows; k += tileRows {
		for r := range last {
			copy(last[r][:], out[(k+r)*n+end-tileWide:])
		}
		w := &c.w[k*in]
		tiles(&out[k*n+at], stride, &x[at], stride, w, uintptr(in)*size, in, wide/tileWide)
		if rest > 0 {
			tiles(&last[0][0], tileWide*size, &x[end-tileWide], stride, w, uintptr(in)*size, in, 1)
			for r := range last {
				copy(out[(k+r)*n+end-rest:][:rest], last[r][tileWide-rest:])
			}
		}
	}
	return rows
}
