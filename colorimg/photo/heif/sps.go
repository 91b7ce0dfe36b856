package heif

import "bytes"

// coded is what a coded picture's own header says of its samples.
type coded struct {
	width, height int
	chroma        int  // 0: grey, 1: 4:2:0, 2: 4:2:2, 3: 4:4:4
	bits          int  // of luma
	full          bool // 0 to 255, not 16 to 235
	codes         CodePoints
}

// readCoded reads the sequence parameter set of a decoder configuration
// record; false where there is none that can be read.
//
// Source: ISO/IEC 14496-15 section 8.3.3.1 (the record), ITU-T H.265 sections
// 7.3.2.2 and E.2.1 (the set); from memory.
func readCoded(hvcC []byte) (coded, bool) {
	r := &bytesIn{b: hvcC}
	r.take(22)
	for range r.number(1) { // arrays
		kind := r.number(1) & 63
		for range r.number(2) {
			nal := r.take(int(r.number(2)))
			if r.short {
				return coded{}, false
			}
			if kind == 33 && len(nal) > 2 {
				return readSPS(&bitsIn{b: bytes.ReplaceAll(nal[2:], []byte{0, 0, 3}, []byte{0, 0})})
			}
		}
	}
	return coded{}, false
}

func readSPS(r *bitsIn) (coded, bool) {
	c := coded{codes: CodePoints{2, 2, 2}}
	r.skip(4)
	layers := r.bits(3)
	r.skip(1)
	r.profileTierLevel(layers)
	r.ue() // id
	c.chroma = r.ue()
	if c.chroma == 3 && r.flag() {
		c.chroma = 0 // three grey pictures
	}
	c.width, c.height = r.ue(), r.ue()
	if r.flag() { // conformance window, in chroma units
		sx, sy := 1, 1
		if c.chroma == 1 || c.chroma == 2 {
			sx = 2
		}
		if c.chroma == 1 {
			sy = 2
		}
		left, right, top, bottom := r.ue(), r.ue(), r.ue(), r.ue()
		c.width -= sx * (left + right)
		c.height -= sy * (top + bottom)
	}
	c.bits = 8 + r.ue()
	r.ue() // chroma depth
	pocBits := 4 + r.ue()
	first := layers
	if r.flag() {
		first = 0
	}
	for range layers - first + 1 {
		r.ue()
		r.ue()
		r.ue()
	}
	for range 6 { // block sizes
		r.ue()
	}
	if r.flag() { // scaling lists are used,
		if r.flag() { // and not the standard's own
			r.scalingLists()
		}
	}
	r.skip(2)
	if r.flag() { // PCM
		r.skip(8)
		r.ue()
		r.ue()
		r.skip(1)
	}
	r.referenceSets()
	if r.flag() { // long-term references
		for range min(r.ue(), 33) {
			r.skip(pocBits + 1)
		}
	}
	r.skip(2)
	if r.flag() {
		r.colors(&c)
	}
	ok := !r.short && c.width > 0 && c.height > 0 && c.chroma <= 3 && c.bits <= 16
	return c, ok
}

// colors reads the beginning of the usability information.
func (r *bitsIn) colors(c *coded) {
	if r.flag() && r.bits(8) == 255 { // shape of pixels
		r.skip(32)
	}
	if r.flag() {
		r.skip(1)
	}
	if !r.flag() {
		return
	}
	r.skip(3)
	c.full = r.flag()
	if r.flag() {
		c.codes.Primaries, c.codes.Transfer, c.codes.Matrix = r.bits(8), r.bits(8), r.bits(8)
	}
}

func (r *bitsIn) profileTierLevel(layers int) {
	r.skip(96)
	if layers == 0 {
		return
	}
	present := make([][2]bool, 8)
	for i := range 8 {
		if i < layers {
			present[i] = [2]bool{r.flag(), r.flag()}
		} else {
			r.skip(2)
		}
	}
	for _, p := range present {
		if p[0] {
			r.skip(88)
		}
		if p[1] {
			r.skip(8)
		}
	}
}

func (r *bitsIn) scalingLists() {
	for size := range 4 {
		step := 1
		if size == 3 {
			step = 3
		}
		for i := 0; i < 6; i += step {
			if !r.flag() {
				r.ue()
				continue
			}
			if size > 1 {
				r.ue()
			}
			for range min(64, 1<<(4+2*size)) {
				r.ue()
			}
		}
	}
}

func (r *bitsIn) referenceSets() {
	n := r.ue()
	deltas := 0
	for i := range min(n, 65) {
		if r.short {
			return
		}
		if i > 0 && r.flag() { // told by the set before
			r.skip(1)
			r.ue()
			k := 0
			for range deltas + 1 {
				used, delta := r.flag(), true
				if !used {
					delta = r.flag()
				}
				if used || delta {
					k++
				}
			}
			deltas = k
			continue
		}
		neg, pos := r.ue(), r.ue()
		if neg > 16 || pos > 16 {
			r.short = true
			return
		}
		deltas = neg + pos
		for range deltas {
			r.ue()
			r.skip(1)
		}
	}
}

// bitsIn reads bits, highest first. Reading past the end gives zeros and sets
// short.
type bitsIn struct {
	b     []byte
	at    int
	short bool
}

func (r *bitsIn) bits(n int) int {
	v := 0
	for range n {
		v <<= 1
		if r.at>>3 >= len(r.b) {
			r.short = true
			continue
		}
		v |= int(r.b[r.at>>3]>>(7-r.at&7)) & 1
		r.at++
	}
	return v
}

func (r *bitsIn) flag() bool { return r.bits(1) == 1 }

func (r *bitsIn) skip(n int) {
	r.at += n
	r.short = r.short || r.at > 8*len(r.b)
}

// ue reads an Exp-Golomb number; one of more than 24 bits is damage.
func (r *bitsIn) ue() int {
	n := 0
	for !r.flag() {
		if n++; n > 24 || r.short {
			r.short = true
			return 0
		}
	}
	return 1<<n - 1 + r.bits(n)
}
