package photo

import (
	"bytes"
	"compress/gzip"
	"context"
	_ "embed"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"
)

// heifWasm is libheif with libde265 as one WebAssembly module; where it comes
// from and its licence: libheif/README.md. It runs in a sandbox of its own
// memory, gives the same bytes on every machine, and needs no library there.
//
//go:embed libheif/heif.wasm.gz
var heifWasm []byte

// decoder is the module, unpacked and compiled at the first HEIC photo: about
// one second, once in the life of the program.
var decoder = sync.OnceValues(loadDecoder)

func loadDecoder() (*decoderModule, error) {
	z, err := gzip.NewReader(bytes.NewReader(heifWasm))
	if err != nil {
		return nil, fmt.Errorf("unpack the HEIC decoder: %w", err)
	}
	code, err := io.ReadAll(z)
	if err != nil {
		return nil, fmt.Errorf("unpack the HEIC decoder: %w", err)
	}
	d := &decoderModule{code: code, cache: wazero.NewCompilationCache()}
	ctx := context.Background()
	rt := wazero.NewRuntimeWithConfig(ctx, wazero.NewRuntimeConfig().WithCompilationCache(d.cache))
	defer rt.Close(ctx)
	if _, err := rt.CompileModule(ctx, code); err != nil {
		return nil, fmt.Errorf("compile the HEIC decoder: %w", err)
	}
	return d, nil
}

type decoderModule struct {
	code  []byte
	cache wazero.CompilationCache
}

// memoryFor bounds what the decoder may use for a picture, in bytes: about twice
// what the largest samples took (10 bytes a pixel at 8 bits 4:2:0, 16 at 10 bits 4:2:2).
func memoryFor(f *heif, file int) uint64 {
	perPixel := uint64(16)
	if f.coded.bits > 8 {
		perPixel *= 2
	}
	if f.coded.chroma == 3 {
		perPixel *= 2
	}
	return min(48<<20+2*uint64(file)+perPixel*uint64(f.pixels), 2<<30)
}

// patience is how long a picture may take: many times what a slow laptop needs.
func patience(f *heif) time.Duration {
	return time.Minute + time.Duration(f.pixels/1e6)*10*time.Second
}

// Colour spaces and chroma as libheif numbers them.
const (
	heifYCbCr = 0
	heifRGB   = 1
	heifGray  = 2

	heif420 = 1
	heif422 = 2
	heif444 = 3
)

// rawHEIC is what the decoder wrote: planes of 8 bits one after the other, with
// their strides.
type rawHEIC struct {
	w, h          int
	space, chroma uint32
	pix           []byte
	stride        int // of Y, grey, or RGBA
	cstride, ch   int // of Cb and Cr, and their rows
}

// runHEIC decodes in a goroutine of its own: the decoder cannot be told to
// stop (checking for that would make it five times slower), but ctx can end
// the wait for it.
func runHEIC(ctx context.Context, b []byte, f *heif) (*rawHEIC, error) {
	d, err := decoder()
	if err != nil {
		return nil, err
	}
	type result struct {
		raw *rawHEIC
		err error
	}
	done := make(chan result, 1)
	go func() {
		var r result
		defer func() {
			if p := recover(); p != nil {
				r = result{nil, fmt.Errorf("heic decoder: %v", p)}
			}
			done <- r
		}()
		r.raw, r.err = d.decode(b, f)
	}()
	t := time.NewTimer(patience(f))
	defer t.Stop()
	select {
	case r := <-done:
		return r.raw, r.err
	case <-ctx.Done():
		return nil, ctx.Err()
	case <-t.C:
		return nil, errors.New("heic decoder: no end in sight")
	}
}

// decode runs the module once, in fresh memory.
func (d *decoderModule) decode(b []byte, f *heif) (*rawHEIC, error) {
	const page = 65536
	ctx := context.Background()
	rt := wazero.NewRuntimeWithConfig(ctx, wazero.NewRuntimeConfig().WithCompilationCache(d.cache).
		WithMemoryLimitPages(uint32(memoryFor(f, len(b))/page)).WithMemoryCapacityFromMax(true))
	defer rt.Close(ctx)
	if _, err := wasi_snapshot_preview1.Instantiate(ctx, rt); err != nil {
		return nil, fmt.Errorf("heic decoder: %w", err)
	}
	code, err := rt.CompileModule(ctx, d.code) // from the cache; to close it would empty that
	if err != nil {
		return nil, fmt.Errorf("heic decoder: %w", err)
	}
	mod, err := rt.InstantiateModule(ctx, code, wazero.NewModuleConfig()) // its output goes nowhere
	if err != nil {
		return nil, fmt.Errorf("heic decoder: %w", err)
	}
	s := &sandbox{ctx: ctx, mod: mod}
	raw := s.run(b, f)
	if s.err != nil {
		return nil, fmt.Errorf("heic decoder: %w", s.err)
	}
	return raw, nil
}

// sandbox calls the module; after an error the calls do nothing.
type sandbox struct {
	ctx context.Context
	mod api.Module
	err error
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
	res, err := s.mod.ExportedFunction(name).Call(s.ctx, a...)
	if err != nil {
		s.err = err
		return 0
	}
	return uint32(res[0])
}

// alloc sets memory aside inside the sandbox.
func (s *sandbox) alloc(n int) uint32 {
	p := s.call("malloc", uint64(n))
	if p == 0 {
		s.fail("out of memory")
	}
	return p
}

// run does what the module's one function wants: the file in, then once for
// the sizes and once for the pixels.
func (s *sandbox) run(b []byte, f *heif) *rawHEIC {
	in := s.alloc(len(b))
	out5 := s.alloc(4 * 5) // width, height, colour space, chroma, premultiplied
	if s.err == nil && !s.mod.Memory().Write(in, b) {
		s.fail("no room for the file")
	}
	if s.err == nil && len(b) >= 12 {
		// The module takes no other main brand, though it opens the files: mif1, msf1 …
		s.mod.Memory().Write(in+8, []byte("heic"))
	}
	decode := func(sizes, pixels uint32) bool {
		p := uint64(out5)
		return s.call("decode", uint64(in), uint64(len(b)), uint64(sizes), p, p+4, p+8, p+12, p+16, uint64(pixels)) == 1
	}
	if !decode(1, 0) {
		s.fail("the container is refused")
		return nil
	}
	v, ok := s.mod.Memory().Read(out5, 20)
	if !ok {
		s.fail("no answer")
		return nil
	}
	at := func(i int) uint32 { return binary.LittleEndian.Uint32(v[4*i:]) }
	raw := &rawHEIC{w: int(at(0)), h: int(at(1)), space: at(2), chroma: at(3)}
	if raw.w != f.w || raw.h != f.h {
		s.fail(fmt.Sprintf("the picture is %d × %d, its container says %d × %d", raw.w, raw.h, f.w, f.h))
		return nil
	}
	n := raw.layout()
	if n == 0 {
		s.fail(fmt.Sprintf("colour space %d, chroma %d", raw.space, raw.chroma))
		return nil
	}
	out := s.alloc(n)
	if !decode(0, out) {
		s.fail("a picture cannot be decoded")
		return nil
	}
	pix, ok := s.mod.Memory().Read(out, uint32(n))
	if !ok {
		s.fail("no picture")
		return nil
	}
	raw.pix = bytes.Clone(pix) // so that the sandbox's memory can go
	return raw
}

// layout works out the strides, and returns how many bytes there are; 0 for a
// kind that is not known. libheif gives a plane an even width of at least 64
// and rows of a multiple of 16 bytes.
//
// Source: libheif 1.18.2, pixelimage.cc, HeifPixelImage::ImagePlane::alloc.
func (r *rawHEIC) layout() int {
	stride := func(w, bytes int) int { return (max(64, (w+1)&^1)*bytes + 15) &^ 15 }
	switch r.space {
	case heifGray:
		r.stride = stride(r.w, 1)
		return r.stride * r.h
	case heifRGB:
		r.stride = stride(r.w, 4)
		return r.stride * r.h
	case heifYCbCr:
		r.stride = stride(r.w, 1)
		switch r.chroma {
		case heif420:
			r.cstride, r.ch = stride((r.w+1)/2, 1), (r.h+1)/2
		case heif422:
			r.cstride, r.ch = stride((r.w+1)/2, 1), r.h
		case heif444:
			r.cstride, r.ch = stride(r.w, 1), r.h
		default:
			return 0
		}
		return r.stride*r.h + 2*r.cstride*r.ch
	}
	return 0
}
