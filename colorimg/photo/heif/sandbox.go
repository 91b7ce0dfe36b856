package heif

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/experimental"
)

// sandbox is one running copy of the decoder with its memory. After an error its calls do nothing. The memory is allocated at
// once: if it grew by copies, the garbage collector would run, and spin until the decoder, which it cannot stop, is done.
type sandbox struct {
	memory []byte
	limit  uint64
	mod    api.Module
	err    error
	used   int // pictures decoded

	in, out, five uint32 // set aside for a file, for its picture, and for the five numbers that decode answers
}

// Allocate is called when the decoder starts.
func (s *sandbox) Allocate(uint64, uint64) experimental.LinearMemory {
	clear(s.memory)
	s.memory = s.memory[:0]
	return s
}

// Reallocate returns the first n bytes of the memory; nil: that is over the limit.
func (s *sandbox) Reallocate(n uint64) []byte {
	if n > s.limit {
		return nil
	}
	s.memory = slices.Grow(s.memory, int(n)-len(s.memory))[:n]
	return s.memory
}

// Free does nothing: the memory may serve again.
func (s *sandbox) Free() {}

// start starts the decoder afresh; in the end it must be closed.
func (s *sandbox) start(m *module) error {
	s.close()
	*s = sandbox{memory: s.memory, limit: s.limit}
	// It has no name, so that there may be several, and its output goes nowhere.
	ctx := experimental.WithMemoryAllocator(context.Background(), s)
	mod, err := m.rt.InstantiateModule(ctx, m.compiled, wazero.NewModuleConfig().WithName(""))
	if err != nil {
		return err
	}
	s.mod = mod
	for _, name := range []string{"malloc", "free", "decode"} {
		if mod.ExportedFunction(name) == nil {
			return fmt.Errorf("the module has no function %s", name)
		}
	}
	return nil
}

func (s *sandbox) close() {
	if s.mod != nil {
		s.mod.Close(context.Background())
	}
}

func (s *sandbox) fail(what string) {
	if s.err == nil {
		s.err = errors.New(what)
	}
}

func (s *sandbox) call(name string, a ...uint64) uint32 {
	if s.err != nil {
		return 0
	}
	res, err := s.mod.ExportedFunction(name).Call(context.Background(), a...)
	if err != nil {
		s.err = err
		return 0
	}
	if len(res) == 0 {
		return 0
	}
	return uint32(res[0])
}

// room allocates n bytes in the sandbox's memory, in place of those at *at, and sets *at to them.
func (s *sandbox) room(at *uint32, n int) {
	if *at != 0 {
		s.call("free", uint64(*at))
	}
	if *at = s.call("malloc", uint64(n)); *at == 0 {
		s.fail("out of memory")
	}
}

// decode decodes a file of one picture of w × h, as [Picture.single] makes it. The samples returned lie in the
// sandbox's memory: they are good until its next call.
func (s *sandbox) decode(file []byte, w, h int) (layout, []byte, error) {
	s.used++
	l := s.run(file, w, h)
	pix, ok := s.mod.Memory().Read(s.out, uint32(l.size()))
	if !ok {
		s.fail("no picture")
	}
	return l, pix, s.err
}

// run does what the module's one function wants: the file in, then once for
// the sizes and once for the pixels.
func (s *sandbox) run(file []byte, w, h int) (l layout) {
	s.room(&s.five, 20) // width, height, colour space, chroma, premultiplied
	s.room(&s.in, len(file))
	if s.err == nil && !s.mod.Memory().Write(s.in, file) {
		s.fail("no room for the file")
	}
	decode := func(sizes, pixels uint32) bool {
		p := uint64(s.five)
		return s.call("decode", uint64(s.in), uint64(len(file)), uint64(sizes), p, p+4, p+8, p+12, p+16, uint64(pixels)) == 1
	}
	if !decode(1, 0) {
		s.fail("the container is refused")
		return l
	}
	v, ok := s.mod.Memory().Read(s.five, 20)
	if !ok {
		s.fail("no answer")
		return l
	}
	at := func(i int) int { return int(binary.LittleEndian.Uint32(v[4*i:])) }
	if at(0) != w || at(1) != h {
		s.fail(fmt.Sprintf("the picture is %d × %d, its container says %d × %d", at(0), at(1), w, h))
		return l
	}
	if l, ok = layoutOf(w, h, at(2), at(3)); !ok {
		s.fail(fmt.Sprintf("colour space %d, chroma %d", at(2), at(3)))
		return l
	}
	s.room(&s.out, l.size())
	if !decode(0, s.out) {
		s.fail("a picture cannot be decoded")
	}
	return l
}

// Colour spaces and chroma as libheif numbers them.
const (
	libYCbCr = 0
	libRGB   = 1
	libGray  = 2

	lib420 = 1
	lib422 = 2
	lib444 = 3
)

// layout is how a picture lies in memory: planes of 8 bits one after the other.
type layout struct {
	kind    Kind
	h       int
	stride  int // of Y, grey, or RGBA
	cstride int // of Cb and Cr
	ch      int // their rows
}

func (l layout) size() int { return l.stride*l.h + 2*l.cstride*l.ch }

// layoutOf works out the strides; false for a kind that is not known. libheif gives a plane an even width of at least 64
// and rows of a multiple of 16 bytes.
//
// Source: libheif 1.18.2, pixelimage.cc, HeifPixelImage::ImagePlane::alloc.
func layoutOf(w, h, space, chroma int) (layout, bool) {
	stride := func(w, bytes int) int { return (max(64, (w+1)&^1)*bytes + 15) &^ 15 }
	l := layout{h: h, stride: stride(w, 1)}
	switch {
	case space == libGray:
		l.kind = Gray
	case space == libRGB:
		l.kind, l.stride = RGBA, stride(w, 4)
	case space == libYCbCr && chroma == lib420:
		l.kind, l.cstride, l.ch = YCbCr420, stride((w+1)/2, 1), (h+1)/2
	case space == libYCbCr && chroma == lib422:
		l.kind, l.cstride, l.ch = YCbCr422, stride((w+1)/2, 1), h
	case space == libYCbCr && chroma == lib444:
		l.kind, l.cstride, l.ch = YCbCr444, stride(w, 1), h
	default:
		return l, false
	}
	return l, true
}
