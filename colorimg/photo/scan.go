package photo

import "encoding/binary"

// A flipped byte in the coded picture of a JPEG is not seen by its decoder: what follows is read out of step, until code and
// picture fall into step again, some blocks too early or too late. All colours after that are others. But the picture is
// full before the code ends, or the other way round, which the decoder takes for an error. So it is counted here how much
// code is left when the picture is full; that takes a sixth of the time of decoding, beside it.

// leftOver is how many bytes of code may be left where a picture is full: some programs fill up.
const leftOver = 3

// outOfStep reports whether a JPEG in one scan, not a progressive one, has code left when its picture is full. What is damaged
// so that it cannot be told, or is written in another way, is left to the decoder.
//
// Source: ITU-T T.81 sections A.2, B.1.1.5, B.2.4.2, F.2.2 and annex C.
func outOfStep(b []byte) bool {
	var frame []byte
	var codes [2][4]*huffman
	interval, end := 0, 2
	for m, seg := range jpegSegments(b) {
		end = cap(b) - cap(seg) + len(seg)
		switch {
		case m == 0xc0 || m == 0xc1:
			frame = seg
		case m == 0xdd && len(seg) >= 2:
			interval = int(binary.BigEndian.Uint16(seg))
		case m == 0xc4:
			for len(seg) > 17 {
				class, at := seg[0]>>4&1, seg[0]&3
				h, n := newHuffman(seg[1:], class == 0)
				if codes[class][at] = h; h == nil {
					return false
				}
				seg = seg[1+n:]
			}
		}
	}
	for end < len(b) && b[end] != 0xda {
		end++
	}
	if len(frame) < 9 || len(frame) < 6+3*int(frame[5]) || end+4 > len(b) || int(b[end+3]) != int(frame[5]) || end+4+2*int(frame[5]) > len(b) {
		return false
	}
	across, down, most := int(binary.BigEndian.Uint16(frame[3:])), int(binary.BigEndian.Uint16(frame[1:])), [2]int{1, 1}
	type block struct{ dc, ac *huffman }
	var unit []block // of what is coded again and again
	for c := range int(frame[5]) {
		h, v, tables := int(frame[7+3*c]>>4), int(frame[7+3*c]&15), b[end+5+2*c]
		if frame[5] == 1 {
			h, v = 1, 1
		}
		most = [2]int{max(most[0], h), max(most[1], v)}
		for range h * v {
			unit = append(unit, block{codes[0][tables>>4&3], codes[1][tables&3]})
		}
		if last := unit[len(unit)-1:]; h*v == 0 || last[0].dc == nil || last[0].ac == nil {
			return false
		}
	}
	units := ((across + 8*most[0] - 1) / (8 * most[0])) * ((down + 8*most[1] - 1) / (8 * most[1]))
	r := bits{b: b, at: end + 1 + int(binary.BigEndian.Uint16(b[end+1:]))}
	for i := range units {
		if interval > 0 && i > 0 && i%interval == 0 && !r.restart() {
			return true
		}
		for _, k := range unit {
			if !r.skip(k.dc, k.ac) {
				return false
			}
		}
		if r.pad > r.n { // it went on beyond the code
			return false
		}
	}
	return r.left() > leftOver
}

// bits is code that is read bit by bit; at a marker it goes on with zeros.
type bits struct {
	b      []byte
	at     int // of the next byte
	acc    uint64
	n, pad int // bits in acc; those of them, and used ones, that are zeros after a marker
}

func (r *bits) fill() {
	for r.n <= 32 {
		if r.at+4 <= len(r.b) {
			// No byte of four is 0xff.
			if w := binary.BigEndian.Uint32(r.b[r.at:]); (^w-0x01010101)&w&0x80808080 == 0 {
				r.acc, r.n, r.at = r.acc<<32|uint64(w), r.n+32, r.at+4
				return
			}
		}
		if r.at+1 >= len(r.b) || r.b[r.at] == 0xff && r.b[r.at+1] != 0 {
			r.acc, r.n, r.pad = r.acc<<8, r.n+8, r.pad+8
			continue
		}
		c := r.b[r.at]
		if r.at++; c == 0xff {
			r.at++
		}
		r.acc, r.n = r.acc<<8|uint64(c), r.n+8
	}
}

// left is how many whole bytes of code there are before the next marker.
func (r *bits) left() int {
	n := max(0, r.n-r.pad) / 8
	for at := r.at; at+1 < len(r.b) && !(r.b[at] == 0xff && r.b[at+1] != 0); at++ {
		n++
	}
	return n
}

// restart goes on after a restart marker; false: there is none here.
func (r *bits) restart() bool {
	if r.left() > leftOver {
		return false
	}
	for r.at+1 < len(r.b) && (r.b[r.at] != 0xff || r.b[r.at+1] == 0 || r.b[r.at+1] == 0xff) {
		r.at++
	}
	if r.at+1 >= len(r.b) || r.b[r.at+1]&^7 != 0xd0 {
		return false
	}
	*r = bits{b: r.b, at: r.at + 2}
	return true
}

// skip reads over a block; false: it is no code, or there is none left.
func (r *bits) skip(dc, ac *huffman) bool {
	h := dc
	for k := 0; k < 64; h = ac {
		if r.n < 32 {
			r.fill()
		}
		s := h.short[r.acc<<(64-r.n)>>(64-shortBits)]
		if s == 0 {
			if s, _ = h.find(int32(r.acc << (64 - r.n) >> 48)); s == 0 {
				return false
			}
		}
		k, r.n = k+int(s&0xff), r.n-int(s>>8)
	}
	return true
}

// huffman is a table of codes. What it says of one is how many bits it and the number after it take << 8 | how many places
// of the block they fill; 0: there is no such code.
type huffman struct {
	short  [1 << shortBits]uint16 // by the first bits; 0: it is longer
	limit  [17]int32              // by length: above the last code, in 16 bits
	first  [17]int32              // by length: value's place less code
	values []byte
	mean   bool // of blocks' means
}

const shortBits = 10

// newHuffman reads a table, which takes n bytes; nil: it is none.
func newHuffman(b []byte, mean bool) (h *huffman, n int) {
	h = &huffman{mean: mean}
	code, at := int32(0), int32(0)
	for size := 1; size <= 16; size++ {
		count := int32(b[size-1])
		h.first[size] = at - code
		code, at = code+count, at+count
		h.limit[size] = code << (16 - size)
		if code > 1<<size {
			return nil, 0
		}
		code <<= 1
	}
	if n = 16 + int(at); n > len(b) {
		return nil, 0
	}
	h.values = b[16:n]
	for i := range h.short {
		if s, size := h.find(int32(i) << (16 - shortBits)); size <= shortBits {
			h.short[i] = s
		}
	}
	return h, n
}

// find is what is said of the code that 16 bits begin with, and how long it is.
func (h *huffman) find(bits int32) (s uint16, size int) {
	for size = 1; size <= 16; size++ {
		if bits >= h.limit[size] {
			continue
		}
		v := h.values[h.first[size]+bits>>(16-size)]
		number, places := int(v&15), int(v>>4)+1
		switch {
		case h.mean:
			number, places = min(int(v), 16), 1
		case number == 0 && places < 16: // the rest of the block is even
			places = 64
		}
		return uint16(size+number)<<8 | uint16(places), size
	}
	return 0, 0
}
