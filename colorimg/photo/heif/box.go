package heif

import (
	"encoding/binary"
	"errors"
	"fmt"
)

var errContainer = errors.New("damaged container")

func badContainer(format string, a ...any) error {
	return fmt.Errorf("%w: "+format, append([]any{errContainer}, a...)...)
}

// eachBox calls f with the boxes of b in order. The last box may be cut short
// where cut is set; f then sees what is there.
//
// Source: ISO/IEC 14496-12 section 4.2; from memory.
func eachBox(b []byte, cut bool, f func(kind string, at int, data []byte) error) error {
	at := 0
	for n := 0; len(b) >= 8; n++ {
		if n == mostBoxes {
			return badContainer("more than %d boxes", mostBoxes)
		}
		size, head := uint64(binary.BigEndian.Uint32(b)), uint64(8)
		switch {
		case size == 1 && len(b) >= 16:
			size, head = binary.BigEndian.Uint64(b[8:]), 16
		case size == 0: // to the end
			size = uint64(len(b))
		}
		if size < head {
			return badContainer("box of %d bytes", size)
		}
		if size > uint64(len(b)) {
			if !cut {
				return badContainer("box %q lies outside", b[4:8])
			}
			size = uint64(len(b))
		}
		if err := f(string(b[4:8]), at+int(head), b[head:size]); err != nil {
			return err
		}
		b, at = b[size:], at+int(size)
	}
	return nil
}

// bytesIn reads big-endian numbers one after the other. Reading past the end
// gives zeros and sets short.
type bytesIn struct {
	b     []byte
	short bool
}

func (r *bytesIn) take(n int) []byte {
	if n < 0 || n > len(r.b) {
		r.b, r.short = nil, true
		return make([]byte, min(max(n, 0), 8))
	}
	t := r.b[:n]
	r.b = r.b[n:]
	return t
}

// number reads n bytes, 0 to 8.
func (r *bytesIn) number(n int) uint64 {
	v := uint64(0)
	for _, x := range r.take(n) {
		v = v<<8 | uint64(x)
	}
	return v
}

func (r *bytesIn) kind() string { return string(r.take(4)) }

// full reads a full box's version and flags.
func (r *bytesIn) full() (version uint8, flags uint32) {
	v := uint32(r.number(4))
	return uint8(v >> 24), v & 0xffffff
}
